"""What every reading would show in a start, and how far a sound meter may be from that.

Means are (sets, draws) in the units of `sequence`; the spread holds the instrument and what the model leaves out.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from causebook import quantity as qty
from causebook.equipment.furnace.start.devices import Array
from causebook.equipment.furnace.start.sequence import AIR_OXYGEN, HOLD, IGNITER, SENSE, Start
from causebook.quantity import Kind

LINE = 119.0
"""Usual line voltage [V]."""
BROKEN = 1e7
"""An igniter that is open, as a meter may show it [ohm]."""
BLUNDER = 0.025
"""Share of readings that are blunders."""


@dataclass(frozen=True)
class Shown:
    """How one reading comes about."""

    mean: Callable[[Start], Array]
    relative: float
    fixed: float
    most: float
    """As far as a meter can show: over this a blunder is spread."""
    kind: Kind


def _when(there: Array, value: Array | float) -> Array:
    return np.where(there, value, 0.0).astype(np.float32)


def _resistance(start: Start) -> Array:
    # As a logarithm of its own: sound ones lie between 11 and 150 ohm, broken ones show no end.
    return np.where(start.igniter_whole, 42.0, BROKEN)


def _at_some_time(start: Start) -> Array:
    """Suction where nobody said when: faded by as much as the run is old, if it runs."""
    runs = start.comes_to(HOLD)
    return _when(
        start.inducer_runs, np.where(runs, start.suction * start.devices("keeps") ** start.sound.minutes, start.suction)
    )


def _steady_current(start: Start) -> Array:
    return _when(start.comes_to(SENSE), np.where(start.comes_to(HOLD), start.blown, start.current))


def _bond(start: Start) -> Array:
    return _when(start.comes_to(SENSE), 0.15 + 8.0 * (1 - start.devices("bond")))


def _inlet(start: Start) -> Array:
    return np.where(start.comes_to(SENSE), start.inlet, start.inlet_at_rest)


def _all_on(start: Start) -> Array:
    return start.inlet_all_on


def _minutes_of_pint(start: Start) -> Array:
    return 18.0 / start.devices("drain")


def _dilute(part: Array) -> Array:
    return np.clip(part, 0.0, AIR_OXYGEN)


PLAIN: Mapping[str, Shown] = {
    "line-volts": Shown(lambda s: LINE * (s.devices("line") > 0.5), 0.03, 2.0, 250, qty.VOLTAGE),
    "inducer-volts": Shown(lambda s: _when(s.inducer_told, LINE), 0.03, 2.0, 250, qty.VOLTAGE),
    "igniter-volts": Shown(lambda s: _when(s.comes_to(IGNITER) & s.igniter_fed, LINE), 0.03, 2.0, 250, qty.VOLTAGE),
    "neutral-to-burner": Shown(_bond, 0.45, 0.3, 120, qty.VOLTAGE),
    "suction-at-pressure-switch": Shown(_at_some_time, 0.05, 0.02, 2, qty.AIR_PRESSURE),
    "suction-at-start": Shown(lambda s: _when(s.inducer_runs, s.suction), 0.05, 0.02, 2, qty.AIR_PRESSURE),
    "suction-at-end": Shown(
        lambda s: _when(s.inducer_runs, np.where(s.comes_to(HOLD), np.maximum(s.kept, 0.97 * s.lets_go), s.suction)),
        0.05,
        0.02,
        2,
        qty.AIR_PRESSURE,
    ),
    "pressure-switch-opened-at": Shown(lambda s: np.broadcast_to(s.lets_go, s.shape), 0.06, 0.02, 2, qty.AIR_PRESSURE),
    "gas-inlet-at-rest": Shown(lambda s: s.inlet_at_rest, 0.03, 0.12, 14, qty.GAS_PRESSURE),
    "gas-inlet": Shown(_inlet, 0.04, 0.15, 14, qty.GAS_PRESSURE),
    "gas-inlet-all-on": Shown(_all_on, 0.05, 0.2, 14, qty.GAS_PRESSURE),
    "manifold": Shown(lambda s: _when(s.commanded, s.manifold), 0.03, 0.1, 10, qty.GAS_PRESSURE),
    "flame-current-at-start": Shown(lambda s: _when(s.comes_to(SENSE), s.current), 0.35, 0.1, 10, qty.FLAME_CURRENT),
    "flame-current": Shown(_steady_current, 0.1, 0.08, 10, qty.FLAME_CURRENT),
    "oxygen-in-flue": Shown(lambda s: _dilute(s.oxygen_blown), 0.02, 0.5, 20, qty.GAS_FRACTION),
    "oxygen-in-flue-before-blower": Shown(lambda s: _dilute(s.oxygen), 0.02, 0.5, 20, qty.GAS_FRACTION),
    "oxygen-in-flue-after-blower": Shown(lambda s: _dilute(s.oxygen_blown), 0.02, 0.5, 20, qty.GAS_FRACTION),
    "co-in-flue": Shown(lambda s: s.monoxide_blown, 0.45, 12, 1500, qty.CO_FRACTION),
    "co-in-flue-before-blower": Shown(lambda s: s.monoxide, 0.45, 12, 1500, qty.CO_FRACTION),
    "co-in-flue-after-blower": Shown(lambda s: s.monoxide_blown, 0.45, 12, 1500, qty.CO_FRACTION),
    "co-indoors": Shown(lambda s: s.in_rooms, 0.6, 2.0, 150, qty.CO_FRACTION),
}
"""Readings outside the 24 V circuit; those in it come from `Start.volts`."""
LOGARITHMIC: Mapping[str, Shown] = {
    "igniter-resistance": Shown(_resistance, 0.7, 0.0, 14.0, qty.RESISTANCE),
    "drain-pint-time": Shown(_minutes_of_pint, 0.6, 0.0, 6.0, qty.DURATION),
}
"""Readings that spread by factors."""
VOLTS = Shown(lambda s: s.secondary, 0.04, 0.35, 40, qty.VOLTAGE)
"""Any reading of the 24 V circuit."""
DIFFERENCES: Mapping[str, tuple[str, str, float]] = {
    "oxygen-in-flue-after-blower": ("oxygen-in-flue-before-blower", "oxygen", 0.35)
}
"""Reading -> (the one a minute before it by the same cell, its name, what their difference is uncertain by)."""


def shown(reading: str) -> Shown | None:
    """How a reading comes about; None for one that no start shows."""
    if reading in PLAIN:
        return PLAIN[reading]
    if reading in LOGARITHMIC:
        return LOGARITHMIC[reading]
    return VOLTS if reading == "secondary-volts" or reading == "call-volts" or reading.startswith("volts-") else None


def expected(reading: str, start: Start) -> Array | None:
    """What a sound meter would show, by set and draw; None where this start has no such reading."""
    if reading in PLAIN:
        return PLAIN[reading].mean(start)
    if reading in LOGARITHMIC:
        return LOGARITHMIC[reading].mean(start)
    return start.volts(reading)


def likelihood(reading: str, value: float, mean: Array) -> Array:
    """Density of what was read under each expectation: a normal error, and now and then a blunder anywhere."""
    known = shown(reading)
    assert known is not None
    if reading in LOGARITHMIC:
        off = (np.log(max(value, 1e-3)) - np.log(mean)) / known.relative
        wide = np.float32(known.relative)
    else:
        wide = np.hypot(known.relative * mean, known.fixed)
        off = (value - mean) / wide
    dense = np.exp(-0.5 * np.minimum(off * off, 60.0)) / wide * np.float32(0.3989)
    return (1 - BLUNDER) * dense + BLUNDER / known.most
