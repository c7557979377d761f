"""Simulated calls: a sound house, one to four faults in it (seldom none), and the repairs that would restore it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator

from .faults import FAULTS
from .world import Blower, Condition, Duct, House, Running, run

COUNTS = {0: 0.03, 1: 0.36, 2: 0.33, 3: 0.21, 4: 0.07}
"""Number of faults at once -> share of calls."""
REAL_SHARE = 0.15
"""Share of the lost limit margin from which a fault counts as contributing."""
AS_GOOD = 0.7
"""Where no repair restores alone: one that wins this share of what the best wins is as good a root."""


@dataclass(frozen=True)
class Call:
    """One call: what is true of it."""

    house: House
    sizes: Mapping[str, Mapping[str, float]]
    """Fault -> what it acts on -> its size."""
    away: frozenset[str]
    """Faults that are not there while somebody reads."""
    roots: frozenset[str]
    """Faults any of which may be named as the root; empty when nothing is wrong."""
    contributing: frozenset[str]
    """Faults with a real share of the lost margin."""
    hot: bool
    """Does the limit open by heat?"""
    seed: int
    """From which everything read on this call is drawn."""

    @property
    def family(self) -> str:
        return "high-limit"

    @property
    def faults(self) -> frozenset[str]:
        return frozenset(self.sizes)

    def condition(self, repaired: Iterable[str] = (), as_read: bool = False) -> Condition:
        """The house with its faults, some of them repaired; as somebody reads it, without those that are away."""
        left_out = set(repaired) | (self.away if as_read else set())
        return condition(self.house, {f: s for f, s in self.sizes.items() if f not in left_out})


def condition(house: House, sizes: Mapping[str, Mapping[str, float]]) -> Condition:
    """What faults of given sizes make of a house."""
    times: dict[str, float] = {}
    speed, fired, recirculated, hot, shift, steps = 1.0, 1.0, 0.0, 1.0, 0.0, 0
    for does in sizes.values():
        for what, size in does.items():
            if what in house.ducts:
                times[what] = times.get(what, 1.0) * size
            elif what == "speed":
                speed *= size
            elif what == "setting":
                steps += int(size)
            elif what == "input":
                fired *= size
            elif what == "recirculated":
                recirculated = max(recirculated, size)
            elif what == "hot-spot":
                hot = max(hot, size)
            elif what == "limit":
                shift = min(shift, size)
    names = list(house.blower.settings)
    setting = names[min(names.index(house.setting) + steps, len(names) - 1)]
    return Condition(times, speed, setting, fired, recirculated, hot, shift)


# ---------------------------------------------------------------- sound houses


def sound_house(rng: Generator) -> House:
    """A house whose furnace runs within its plate and well below its limit."""
    while True:
        house = _house(rng)
        at = run(house, Condition())
        if house.rise[0] + 4 < at.rise < house.rise[1] - 3 and at.margin > 7:
            return house


def _house(rng: Generator) -> House:
    plate = float(rng.choice(np.arange(40, 125, 5))) * 1000
    condensing = bool(rng.random() < 0.4)
    share = float(rng.choice([0.95, 0.96])) if condensing else 0.80
    elevation = float(
        rng.choice([rng.uniform(0, 1900), rng.uniform(2000, 4500), rng.uniform(4500, 7200)], p=[0.75, 0.15, 0.1])
    )
    adjusted = plate * (1 - 0.04 * max(elevation, 0) / 1000) if elevation > 2000 else plate
    low = float(rng.choice([25, 30, 35, 40, 45]))
    rise = (low, low + float(rng.choice([25, 30, 30])))
    coil = bool(rng.random() < 0.85)
    ducts = {
        "return": Duct(_ln(rng, 0.125, 0.35), rng.normal(1.92, 0.05)),
        "filter": Duct(_ln(rng, 0.115, 0.35), rng.normal(1.5, 0.13)),
        "inlet": Duct(_ln(rng, 0.035, 0.4), rng.normal(1.95, 0.04)),
        "coil": Duct(_ln(rng, 0.19, 0.3), rng.normal(1.8, 0.06)),
        "supply": Duct(_ln(rng, 0.135, 0.35), rng.normal(1.88, 0.06)),
    }
    if not coil:
        del ducts["coil"]
    motor = str(rng.choice(["split capacitor", "constant torque"], p=[0.62, 0.38]))
    psc = motor == "split capacitor"
    shut = rng.uniform(1.15, 1.5) if psc else rng.uniform(1.4, 1.8)
    bend = rng.uniform(1.5, 2.2) if psc else rng.uniform(2.0, 3.0)
    density = (1 - 6.8754e-6 * elevation) ** 5.2559
    middle = adjusted * share / (1.083 * density * sum(rise) / 2)
    at_half = middle * rng.uniform(1.02, 1.4)
    speeds = (1.0, rng.uniform(0.85, 0.92), rng.uniform(0.72, 0.8), rng.uniform(0.58, 0.66))
    blower = Blower(
        motor,
        at_half / (1 - (0.5 / shut) ** bend),
        shut,
        bend,
        dict(zip(("high", "medium-high", "medium-low", "low"), speeds, strict=True)),
        _ln(rng, 1.0, 0.035),
    )
    body = rng.normal(1.60, 0.09)
    marking = 10 * round((70 + 1.62 * rise[1] * rng.normal(1.11, 0.05)) / 10)
    counted = ("return", "filter", "coil", "supply") if rng.random() < 0.85 else ("return", "coil", "supply")
    house = House(
        plate,
        adjusted,
        share,
        share + rng.normal(0, 0.012),
        condensing,
        2 if rng.random() < 0.3 else 1,
        bool(rng.random() < 0.15),
        int(2024 - rng.integers(1, 24)),
        elevation,
        rise,
        float(rng.choice([0.5, 0.5, 0.5, 0.8])),
        tuple(p for p in counted if p in ducts),
        ducts,
        blower,
        "high",
        marking,
        marking + rng.normal(0, 4),
        body,
        rng.uniform(100, 200),
        rng.uniform(15, 45),
        rng.uniform(64, 72),
        rng.uniform(0, 2),
    )
    # Whoever set it up took the setting nearest to the rise that he liked.
    liked = rng.uniform(rise[0] + 5, rise[1] - 8)
    best = min(blower.settings, key=lambda s: abs(run(house, Condition(setting=s)).rise - liked))
    return House(**{**house.__dict__, "setting": best})


def _ln(rng: Generator, median: float, spread: float) -> float:
    return float(median * np.exp(spread * rng.standard_normal()))


# ---------------------------------------------------------------- calls


def draw(seed: int) -> Call:
    """One call; the same seed gives the same call."""
    rng = np.random.default_rng(seed)
    count = int(rng.choice(list(COUNTS), p=list(COUNTS.values())))
    if count == 0:
        return Call(sound_house(rng), {}, frozenset(), frozenset(), frozenset(), False, seed)
    while True:
        names = _names(rng, count)
        # Sizes and house are drawn anew until the complaint happens, so that mild faults keep their frequency.
        for _ in range(40):
            call = _call(rng, names, seed)
            if call is not None:
                return call


def _names(rng: Generator, count: int) -> list[str]:
    ids = list(FAULTS)
    rates = np.array([FAULTS[f].rate for f in ids])
    return [ids[i] for i in rng.choice(len(ids), size=count, replace=False, p=rates / rates.sum())]


def _call(rng: Generator, names: list[str], seed: int) -> Call | None:
    house = sound_house(rng)
    if not all(FAULTS[f].fits(house) for f in names):
        return None
    if "speed-low" in names and list(house.blower.settings).index(house.setting) > 2:
        return None
    sizes = {}
    for name in names:
        sizes[name] = {
            what: max(size(rng), 1.15) if what in house.ducts else size(rng) for what, size in FAULTS[name].does.items()
        }
    if "altitude-not-derated" in names:
        sizes["altitude-not-derated"] = {"input": house.plate_input / house.adjusted_input}
    opened = [f for f in names if rng.random() < FAULTS[f].opens]
    hot = run(house, condition(house, sizes)).margin < 0
    if not hot and not opened:
        return None
    away = frozenset(f for f in names if rng.random() < FAULTS[f].away)
    roots, contributing = truth(house, sizes, hot, opened)
    return Call(house, sizes, away, roots, contributing, hot, seed)


def truth(
    house: House, sizes: Mapping[str, Mapping[str, float]], hot: bool, opened: list[str]
) -> tuple[frozenset[str], frozenset[str]]:
    """(roots that may be named, faults with a real share), by repairing one fault after another.

    A root is any whose repair, with an ordinary clean filter, restores: no trip, and the rise within the plate's range.
    """
    if not hot:
        return frozenset(opened), frozenset(opened)

    def without(*repaired: str) -> Running:
        return run(house, condition(house, {f: s for f, s in sizes.items() if f not in repaired}))

    found = without()
    lost = without(*sizes).margin - found.margin
    gains = {f: without(f).margin - found.margin for f in sizes}
    filters = [f for f, does in sizes.items() if "filter" in does]

    def restores(fault: str) -> bool:
        at = without(fault, *filters)
        return at.margin > 0 and at.rise <= house.rise[1] * 1.01

    best = max(gains.values())
    roots = {f for f in sizes if gains[f] > 0 and restores(f)} or {f for f in sizes if gains[f] >= AS_GOOD * best}
    return frozenset(roots | set(opened)), frozenset({f for f in sizes if gains[f] >= REAL_SHARE * lost} | set(opened))
