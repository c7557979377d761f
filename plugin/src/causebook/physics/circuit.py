"""Electricity as a meter shows it: what voltages say about switches, and what amps, volts and microfarads belong.

Voltages and currents are AC root-mean-square values unless a name says otherwise.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from causebook.quantity import (
    CAPACITANCE,
    CURRENT,
    FLAME_CURRENT,
    FREQUENCY,
    RESISTANCE,
    SHARE,
    VOLTAGE,
    Param,
    Quantity,
    from_si,
    physical,
    q,
    show,
    si,
)

# A megohm of leakage over an open switch still lets a 10 megohm meter show 0.91 of the supply behind it.
FULL = 0.95  # of the voltage expected: at least this is the full voltage
DEAD = 0.10  # of the supply: at most this is no voltage
CARRYING = 0.50  # of the supply at the end of the string: at least this and the load draws its current
POOR_CONTACT = 0.5  # V across a closed contact that carries its load; common practice, no source
CONTROL_LOAD = 60.0  # ohm, a gas valve and relay on 24 V
METER_RESISTANCE = 10e6  # ohm, of a usual digital meter; a low-impedance range has about 3 kilohm
USUAL_LOAD, USUAL_METER = q(CONTROL_LOAD, "ohm"), q(METER_RESISTANCE, "ohm")

_VOLTAGE = Param(VOLTAGE, 0, 600)
_SUPPLY = Param(VOLTAGE, 0, 600, open_low=True)
_CURRENT = Param(CURRENT, 0, 200)
_LOAD = Param(RESISTANCE, 0, 1e9, open_low=True)
_RESISTANCE = Param(RESISTANCE, 0, 1e12)
_METER = Param(RESISTANCE, 1e3, 1e12)
_FREQUENCY = Param(FREQUENCY, 40, 70)
_CAPACITANCE = Param(CAPACITANCE, 0, 1e-3)

# ---------------------------------------------------------------- switches in a string


@physical(VOLTAGE, supply=_SUPPLY, load_resistance=_LOAD, meter_resistance=_METER, other_resistance=_RESISTANCE)
def voltage_across_open_switch(
    supply: float,
    load_resistance: float = CONTROL_LOAD,
    meter_resistance: float = METER_RESISTANCE,
    other_resistance: float = 0.0,
) -> float:
    """What a meter shows across an open switch in series with a load and with the rest of the string.

    `other_resistance` is that of the rest: 0 when every other switch is closed; the leakage over a second open
    switch (megohms) otherwise, and then next to nothing is left to read.
    Source: voltage divider.
    """
    return supply * meter_resistance / (meter_resistance + load_resistance + other_resistance)


class Contact(StrEnum):
    """What the readings prove about one switch."""

    CLOSED = "closed"
    POOR = "poor contact"
    OPEN = "open"
    UNKNOWN = "cannot tell"


@dataclass(frozen=True, slots=True)
class SwitchState:
    """One switch of a string: what is proven of it and by which reading."""

    name: str
    state: Contact
    reason: str


def read_switches(
    names: Sequence[str],
    supply: Quantity,
    to_common: Sequence[Quantity | None] | None = None,
    across: Sequence[Quantity | None] | None = None,
    load_resistance: Quantity = USUAL_LOAD,
    meter_resistance: Quantity = USUAL_METER,
) -> tuple[SwitchState, ...]:
    """What voltages prove about each switch of a string that ends in one load.

    `names` are the switches in order from the supply.  `to_common` are the voltages to common before the first,
    between each two and after the last (one more than switches); `across` those over each switch; None where
    nothing was read.  All of it and the supply were read during the same call for heat.

    Full voltage across a switch proves it open and all others closed, since the meter's current had to pass them.
    Next to none across it proves nothing until current is known to pass: a closed switch reads so, and so does an
    open one while a second is open.  Leakage below half a megohm (water, a parallel circuit) makes an open switch
    look closed to a meter of high impedance: use its low-impedance range.
    Raises ValueError when the counts do not match, OutOfRange for a negative voltage or a meter below 1 kilohm.
    """
    to_common = [None] * (len(names) + 1) if to_common is None else to_common
    across = [None] * len(names) if across is None else across
    if not names or len(to_common) != len(names) + 1 or len(across) != len(names):
        raise ValueError(
            f"{len(names)} switches need {len(names) + 1} voltages to common and {len(names)} across;"
            f" found {len(to_common)} and {len(across)}"
        )
    volts = _SUPPLY.read("supply", supply)
    full = FULL * voltage_across_open_switch.si(
        volts, _LOAD.read("load resistance", load_resistance), _METER.read("meter resistance", meter_resistance)
    )
    points = [None if v is None else _VOLTAGE.read("voltage to common", v) for v in to_common]
    drops = [None if v is None else _VOLTAGE.read("voltage across", v) for v in across]
    reading = _String(tuple(names), volts, full, tuple(points), tuple(drops))
    return tuple(reading.state(i) for i in range(len(names)))


@dataclass(frozen=True, slots=True)
class _String:
    """A string of switches with what was read on it, in volts."""

    names: tuple[str, ...]
    supply: float
    full: float
    points: tuple[float | None, ...]
    drops: tuple[float | None, ...]

    def state(self, i: int) -> SwitchState:
        proofs = [proof for proof in (self._by_common(i), self._by_drop(i), self._by_others(i)) if proof]
        states = {state for state, _ in proofs}
        if Contact.OPEN in states and len(states) > 1:
            return SwitchState(self.names[i], Contact.UNKNOWN, "the readings contradict each other: read again")
        for state in (Contact.POOR, Contact.OPEN, Contact.CLOSED):
            for found, reason in proofs:
                if found is state:
                    return SwitchState(self.names[i], state, reason)
        return SwitchState(self.names[i], Contact.UNKNOWN, self._why_unknown(i))

    def _live(self, point: int) -> bool:
        volts = self.points[point]
        return volts is not None and volts >= FULL * self.supply

    def _by_common(self, i: int) -> tuple[Contact, str] | None:
        far = next((p for p in range(i + 1, len(self.points)) if self._live(p)), None)
        if far is not None:
            return Contact.CLOSED, f"the full voltage passes it: {_volts(self.points[far])} to common beyond it"
        after = self.points[i + 1]
        if self._live(i) and after is not None and after <= DEAD * self.supply:
            return Contact.OPEN, f"{_volts(self.points[i])} to common before it, {_volts(after)} after it"
        return None

    def _by_drop(self, i: int) -> tuple[Contact, str] | None:
        drop, end = self.drops[i], self.points[-1]
        if drop is not None and drop >= self.full:
            return Contact.OPEN, f"the full voltage, {_volts(drop)}, stands across it"
        if end is None or end < CARRYING * self.supply:
            return None
        if drop is not None and drop > POOR_CONTACT:
            return Contact.POOR, f"{_volts(drop)} is lost across it while it carries the load"
        before, after = self.points[i], self.points[i + 1]
        # Leakage over an open switch costs the meter more than that; a greater gap may be a floating wire.
        if before is not None and after is not None and before - after <= POOR_CONTACT:
            return Contact.CLOSED, f"{_volts(before)} to common before it, {_volts(after)} after it, with the load on"
        return None

    def _by_others(self, i: int) -> tuple[Contact, str] | None:
        for other, drop in enumerate(self.drops):
            if other != i and drop is not None and drop >= self.full:
                return Contact.CLOSED, (
                    f"the full voltage stands across {self.names[other]}, so the rest of the string conducts"
                )
        return None

    def _why_unknown(self, i: int) -> str:
        drop = self.drops[i]
        if drop is not None and drop <= DEAD * self.supply:
            return (
                f"{_volts(drop)} across it is what a closed switch shows, and also an open one while another in the"
                " string is open or no call is present"
            )
        if drop is not None:
            return f"{_volts(drop)} across it is neither full voltage nor none: a second open switch, or a poor contact"
        before = self.points[i]
        if before is not None and before <= DEAD * self.supply:
            return "no voltage reaches it"
        if before is not None and self.points[i + 1] is not None:
            return "a voltage between full and none: a floating wire or a poor contact; read it under load"
        return "not read on both sides"


def _volts(volts: float | None) -> str:
    return show(from_si(volts or 0.0, VOLTAGE), VOLTAGE)


# ---------------------------------------------------------------- transformer and wire


# ---------------------------------------------------------------- capacitor and motor


@physical(CAPACITANCE, current=_CURRENT, voltage=_SUPPLY, frequency=_FREQUENCY)
def capacitance(current: float, voltage: float, frequency: float = 60.0) -> float:
    """Capacitance from the current through a capacitor and the voltage across it, running.

    At 60 Hz it is 2652.6 µF·V/A; the voltage is the capacitor's own, not the line's.
    Source: I = 2π f C V.
    """
    return current / (2 * math.pi * frequency * voltage)


@dataclass(frozen=True, slots=True)
class Band:
    """From the lowest to the highest value that is accepted."""

    low: Quantity
    high: Quantity


@physical(None, marked=Param(CAPACITANCE, 0, 1e-3, open_low=True), tolerance=Param(SHARE, 0, 0.5))
def capacitor_band(marked: float, tolerance: float) -> Band:
    """The capacitances that the label accepts; the label states the tolerance (5, 6 and 10 % exist).

    Source: the capacitor's label.
    """
    return Band(from_si(marked * (1 - tolerance), CAPACITANCE), from_si(marked * (1 + tolerance), CAPACITANCE))


class Fit(StrEnum):
    """Where a value stands to its band."""

    LOW = "too low"
    WITHIN = "within"
    HIGH = "too high"


def judge_capacitor(measured: Quantity, marked: Quantity, tolerance: Quantity) -> Fit:
    """A measured capacitance against the label."""
    band = capacitor_band(marked, tolerance)
    farads = _CAPACITANCE.read("measured capacitance", measured)
    if farads < si(band.low, CAPACITANCE):
        return Fit.LOW
    return Fit.HIGH if farads > si(band.high, CAPACITANCE) else Fit.WITHIN


# ---------------------------------------------------------------- flame

FLAME_MARGIN = 1.5  # times the control's minimum that a steady flame should give; common practice, no source


class FlameSignal(StrEnum):
    """What a steady flame current says."""

    NONE = "none"
    BELOW_MINIMUM = "below the minimum"
    NEAR_MINIMUM = "near the minimum"
    BELOW_USUAL = "enough, but below the usual"
    USUAL = "usual"


def judge_flame_current(current: Quantity, minimum: Quantity, usual: Quantity) -> FlameSignal:
    """A steady flame current (DC) against the control's own minimum and the least that is usual for it.

    Raises OutOfRange for a negative current or a minimum of zero, ValueError when the usual is below the minimum.
    """
    read = Param(FLAME_CURRENT, 0, 1e-3)
    amperes = read.read("flame current", current)
    least = Param(FLAME_CURRENT, 0, 1e-3, open_low=True).read("minimum flame current", minimum)
    common = read.read("usual flame current", usual)
    if common < least:
        raise ValueError("the usual flame current is below the minimum")
    if amperes == 0:
        return FlameSignal.NONE
    if amperes < least:
        return FlameSignal.BELOW_MINIMUM
    if amperes < FLAME_MARGIN * least:
        return FlameSignal.NEAR_MINIMUM
    return FlameSignal.USUAL if amperes >= common else FlameSignal.BELOW_USUAL
