"""Simulated calls for a fire that does not start or does not stay: a sound furnace, faults in it, and their repairs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator

from .start import PUNGENT, Furnace, Start, State, air_free, complaint, start
from .start_faults import FAULTS

FAMILIES = ("no-ignition", "flame-lost", "pressure-switch", "co-odour")
COUNTS = {0: 0.03, 1: 0.5, 2: 0.29, 3: 0.14, 4: 0.04}
"""Number of faults at once -> share of calls; one part usually ends a start, and others are found beside it."""
DEAD_BESIDE = 0.2
"""How much rarer a fault that ends every start is as the second one."""
AS_GOOD = 0.7
"""Where no repair does alone: one that brings this share of what the best brings is as good a root."""

Sizes = Mapping[str, Mapping[str, float]]
"""Fault -> field of the state -> its size."""


@dataclass(frozen=True)
class StartCall:
    """One call: what is true of it."""

    furnace: Furnace
    family: str
    sizes: Sizes
    away: frozenset[str]
    """Faults that are not there while somebody reads."""
    roots: frozenset[str]
    """Faults any of which may be named as the root; empty when nothing is wrong."""
    contributing: frozenset[str]
    """Faults that somebody would have to correct."""
    seed: int
    """From which everything read on this call is drawn."""

    @property
    def faults(self) -> frozenset[str]:
        return frozenset(self.sizes)

    @property
    def as_read(self) -> State:
        """The furnace as somebody meets it, without the faults that are away."""
        return state(self.sizes, self.away)


def state(sizes: Sizes, repaired: Iterable[str] = ()) -> State:
    """What faults of given sizes make of a furnace, some of them repaired: shares multiply, what is added adds up."""
    now: dict[str, float] = {}
    added = {"breach", "spills", "leaks"}
    for does in (does for fault, does in sizes.items() if fault not in repaired):
        for what, size in does.items():
            now[what] = now.get(what, 0.0) + size if what in added else now.get(what, 1.0) * size
    return State(**now)


def sound_furnace(rng: Generator) -> Furnace:
    """A furnace that starts and burns clean, and whose pressure switch opens before a choked vent makes it burn foul.

    That much a furnace has to prove before it is sold: ANSI Z21.47, blocked-vent test (from memory).
    """
    while True:
        condensing = bool(rng.random() < 0.55)
        closes = float(rng.uniform(0.55, 1.3) if condensing else rng.uniform(0.3, 0.8))
        least = float(rng.choice([0.3, 0.5, 0.5, 0.8, 1.0]))
        furnace = Furnace(
            condensing,
            int(2024 - rng.integers(1, 26)),
            float(rng.choice(np.arange(40, 125, 5))) * 1000,
            round(closes, 2),
            closes * float(rng.uniform(1.2, 1.75)),
            least * float(rng.uniform(3, 7)),
            least,
            float(rng.uniform(5.3, 8.5)),
            float(rng.uniform(5.6, 9.5)),
            float(rng.uniform(6, 50)),
            float(rng.uniform(0.0, 0.05)),
        )
        choked = start(furnace, State(draws=0.91 * furnace.closes / furnace.suction, switch=0.99))
        if start(furnace, State()).sound and air_free(choked.monoxide, choked.oxygen) < PUNGENT:
            return furnace


def draw(seed: int) -> StartCall:
    """One call; the same seed gives the same call.  The four complaints come evenly."""
    rng = np.random.default_rng([seed, 11])
    family = str(rng.choice(FAMILIES))
    count = int(rng.choice(list(COUNTS), p=list(COUNTS.values())))
    if count == 0:
        return StartCall(sound_furnace(rng), family, {}, frozenset(), frozenset(), frozenset(), seed)
    while True:
        # All is drawn anew until the complaint happens: a fault too mild for it seldom comes as its reason.
        names = _names(rng, count)
        furnace, sizes = sound_furnace(rng), {name: _size(rng, name) for name in names}
        if all(FAULTS[f].fits(furnace) for f in names) and complaint(start(furnace, state(sizes))) == family:
            away = frozenset(f for f in names if rng.random() < FAULTS[f].away)
            return StartCall(furnace, family, sizes, away, *truth(furnace, sizes, family), seed)


def _names(rng: Generator, count: int) -> list[str]:
    ids = list(FAULTS)
    rates = np.array([FAULTS[f].rate for f in ids])
    first = int(rng.choice(len(ids), p=rates / rates.sum()))
    rates = rates * [DEAD_BESIDE if FAULTS[f].dead else 1.0 for f in ids]
    rates[first] = 0
    others = rng.choice(len(ids), size=count - 1, replace=False, p=rates / rates.sum())
    return [ids[i] for i in (first, *others)]


def _size(rng: Generator, name: str) -> dict[str, float]:
    ways = FAULTS[name].does
    sizes = {what: size(rng) for what, size in ways[int(rng.integers(len(ways)))].items()}
    if "rod" in sizes:
        sizes["rod"] = min(sizes["rod"], 0.95)
    return sizes


def truth(furnace: Furnace, sizes: Sizes, family: str) -> tuple[frozenset[str], frozenset[str]]:
    """(roots that may be named, faults that somebody would have to correct), by repairing one after another.

    A root is any whose repair alone makes the start sound and clean; where none does, any that carries it furthest.
    """
    found = start(furnace, state(sizes))
    repaired = {f: start(furnace, state(sizes, {f})) for f in sizes}
    alone = {f for f in sizes if not start(furnace, state(sizes, set(sizes) - {f})).sound}
    roots = {f for f, at in repaired.items() if at.sound} or _furthest(found, repaired, family) or alone
    return frozenset(roots), frozenset(roots | alone)


def _furthest(found: Start, repaired: Mapping[str, Start], family: str) -> set[str]:
    """Faults whose repair takes most of the offence, or carries the start furthest; none where none does anything."""
    gains = {
        f: found.offence - at.offence if family == "co-odour" else at.reached - found.reached
        for f, at in repaired.items()
    }
    return {f for f, gain in gains.items() if gain > 0 and gain >= AS_GOOD * max(gains.values())}
