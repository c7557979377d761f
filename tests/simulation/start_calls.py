"""Calls for a start that fails or burns foul: a sound furnace, faults that bring one another, and who files them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from copy import copy
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator

from .start import End, Furnace, Parts, Seen, follow
from .start_faults import FAULTS

COUNTS = (0.56, 0.29, 0.15)
"""Share of calls with one, two and three faults drawn; harm adds to them.  Three calls of a hundred have none."""
FAULTLESS = 0.03
AS_GOOD = 0.7
"""Where no repair does alone: one that carries the start this share as far as the best is as good a root."""

FILED: Mapping[End, Mapping[str, float]] = {
    End.DEAD: {"no-ignition": 0.95, "pressure-switch": 0.03, "flame-lost": 0.02},
    End.UNCALLED: {"no-ignition": 0.94, "pressure-switch": 0.04, "flame-lost": 0.02},
    End.BROKEN_STRING: {"no-ignition": 0.8, "pressure-switch": 0.12, "flame-lost": 0.08},
    End.MADE_AT_REST: {"no-ignition": 0.5, "pressure-switch": 0.48, "flame-lost": 0.02},
    End.INDUCER_STILL: {"no-ignition": 0.62, "pressure-switch": 0.35, "flame-lost": 0.03},
    End.NO_SUCTION: {"no-ignition": 0.45, "pressure-switch": 0.5, "flame-lost": 0.05},
    End.NO_HEAT_AT_IGNITER: {"no-ignition": 0.9, "pressure-switch": 0.07, "flame-lost": 0.03},
    End.NO_GAS: {"no-ignition": 0.88, "pressure-switch": 0.03, "flame-lost": 0.09},
    End.NOT_LIT: {"no-ignition": 0.78, "pressure-switch": 0.03, "flame-lost": 0.19},
    End.UNSEEN: {"no-ignition": 0.22, "pressure-switch": 0.03, "flame-lost": 0.75},
    End.LOST_IN_RUN: {"no-ignition": 0.2, "pressure-switch": 0.5, "flame-lost": 0.3},
    End.WHOLE: {"no-ignition": 0.4, "pressure-switch": 0.3, "flame-lost": 0.3},
}
"""Where starts end -> what whoever takes the call files it under, knowing what the customer told him."""


@dataclass(frozen=True)
class StartCall:
    """One call: what is true of it."""

    furnace: Furnace
    family: str
    sizes: Mapping[str, Parts]
    """Fault -> parts with this fault alone."""
    away: frozenset[str]
    roots: frozenset[str]
    contributing: frozenset[str]
    seed: int

    @property
    def faults(self) -> frozenset[str]:
        return frozenset(self.sizes)

    @property
    def as_read(self) -> Parts:
        """The furnace as somebody meets it."""
        return joined(one for fault, one in self.sizes.items() if fault not in self.away)

    @property
    def whole(self) -> Seen:
        """A start with all that is wrong."""
        return follow(self.furnace, joined(self.sizes.values()))


def joined(faults: Iterable[Parts]) -> Parts:
    """Several faults in one furnace: what is broken stays broken, what is weak grows weaker."""
    out, sound = Parts(), Parts()
    for one in faults:
        for name, usual in vars(sound).items():
            mine, theirs = getattr(out, name), getattr(one, name)
            if theirs == usual:
                continue
            if isinstance(usual, bool) or mine == usual:
                both = theirs
            elif usual == 0.0:
                both = mine + theirs
            else:
                both = mine * theirs
            setattr(out, name, both)
    return out


def sound_furnace(rng: Generator) -> Furnace:
    """A furnace that starts, holds and burns clean."""
    while True:
        condensing = bool(rng.random() < 0.6)
        closes = float(rng.uniform(0.5, 1.25) if condensing else rng.uniform(0.28, 0.75))
        least = float(rng.choice([0.3, 0.5, 0.5, 0.8, 1.0]))
        passages = closes * float(rng.uniform(1.25, 1.8))
        furnace = Furnace(
            condensing=condensing,
            made=int(2025 - rng.integers(1, 24)),
            btu=float(rng.choice([40, 60, 70, 80, 90, 100, 120])) * 1000,
            closes=round(closes, 2),
            opens=round(closes * float(rng.uniform(0.78, 0.92)), 2),
            inducer_shutoff=passages * float(rng.uniform(2.2, 3.0)),
            passages=passages,
            vent=passages * float(rng.uniform(0.12, 0.45)),
            intake=passages * float(rng.uniform(0.03, 0.15)),
            igniter_ohms=float(rng.choice([rng.uniform(40, 90), rng.uniform(11, 20), rng.uniform(100, 180)])),
            spark=bool(rng.random() < 0.1),
            holds_inducer=bool(rng.random() < 0.5),
            string_after_call=bool(rng.random() < 0.3),
            flame_sound=least * float(rng.uniform(2.6, 8)),
            flame_least=least,
            street=float(rng.uniform(6.2, 8.2)),
            pipe=float(rng.uniform(0.15, 0.6)),
            manifold=3.5,
            oxygen=float(rng.uniform(5.8, 9.2)),
            monoxide=float(rng.uniform(5, 45)),
            secondary=float(rng.uniform(25.5, 29.0)),
            draft_back=float(rng.uniform(0.0, 0.04)),
        )
        if follow(furnace, Parts()).fine:
            return furnace


def draw(seed: int) -> StartCall:
    """One call; the same seed gives the same."""
    rng = np.random.default_rng([seed, 29])
    furnace = sound_furnace(rng)
    if rng.random() < FAULTLESS:
        return StartCall(
            furnace, str(rng.choice(list(FILED[End.WHOLE]))), {}, frozenset(), frozenset(), frozenset(), seed
        )
    while True:
        furnace = sound_furnace(rng)
        names = _names(rng, furnace)
        sizes = {name: _alone(rng, name) for name in names}
        seen = follow(furnace, joined(sizes.values()))
        if seen.fine:
            continue
        roots, contributing = truth(furnace, sizes)
        if not roots:
            continue
        away = frozenset(f for f in names if rng.random() < FAULTS[f].away)
        return StartCall(furnace, _family(rng, seen), sizes, away, roots, contributing, seed)


def _names(rng: Generator, furnace: Furnace) -> list[str]:
    able = [f for f in FAULTS if FAULTS[f].fits(furnace)]
    rates = np.array([FAULTS[f].rate for f in able])
    count = 1 + int(rng.choice(len(COUNTS), p=COUNTS))
    names = [str(n) for n in rng.choice(able, count, replace=False, p=rates / rates.sum())]
    for fault in list(names):
        names += [f for f, chance in FAULTS[fault].harms.items() if f not in names and rng.random() < chance]
    return names


def _alone(rng: Generator, name: str) -> Parts:
    parts = Parts()
    FAULTS[name].change(rng, parts)
    return parts


def _family(rng: Generator, seen: Seen) -> str:
    if seen.annoyance >= 1 and rng.random() < 0.88:
        return "co-odor"
    rows = FILED[seen.end]
    return str(rng.choice(list(rows), p=list(rows.values())))


def truth(furnace: Furnace, sizes: Mapping[str, Parts]) -> tuple[frozenset[str], frozenset[str]]:
    """(faults any of which may be named as the root, faults that somebody would have to correct)."""
    found = follow(furnace, joined(sizes.values()))
    repaired = {
        fault: follow(furnace, joined(one for other, one in sizes.items() if other != fault)) for fault in sizes
    }
    alone = {fault for fault, after in repaired.items() if after.fine}
    gains = {fault: _further(found, after) for fault, after in repaired.items()}
    most = max(gains.values())
    furthest = {fault for fault, gain in gains.items() if gain > 0 and gain >= AS_GOOD * most}
    needed = {f for f, one in sizes.items() if not follow(furnace, copy(one)).fine}
    return frozenset(alone or furthest), frozenset(alone | furthest | needed)


def _further(found: Seen, after: Seen) -> float:
    """How much a repair brings: stages won, and bad air taken away."""
    air = max(found.annoyance, 1.0) - max(after.annoyance, 1.0)
    return max(float(after.end - found.end), 0.0) + 2.0 * max(min(air, 2.0), 0.0)
