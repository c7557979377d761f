"""Heat: input by the clock, efficiency and rise."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from causebook import quantity as qty
from causebook.casefile.model import Case, Taken
from causebook.knowledge.model import Knowledge
from causebook.physics.air import air_state
from causebook.physics.gas import clocked_input, meter_correction
from causebook.survey import numbers
from causebook.survey.model import Estimate, Heat, Method, RunLog

ROOM = qty.q(70.0, "degF")
#: State of a step whose temperatures were read when the limit opened, before the rise was steady.
AT_TRIP = "at trip"


def heat_of(case: Case, knowledge: Knowledge) -> Heat:
    """Air at the furnace inlet, efficiency and plate input of a case."""
    site, plate_of = case.file.site, case.file.furnace
    returns = [r.value for s in case.steps for r in s.readings if r.reading == "return-air" and not r.void]
    room = site.room if site.room is not None else ROOM
    elevation = site.elevation if site.elevation is not None else qty.q(0.0, "foot")
    humidity = site.relative_humidity if site.relative_humidity is not None else qty.q(0.30, "")
    # The humidity is that of the rooms: warming on the way back, or a mistyped return, adds no water.
    air = replace(air_state(room, elevation, humidity), temperature=returns[0] if returns else room)
    sensible = qty.si(air.sensible_factor, qty.SENSIBLE_FACTOR)
    plate = adjusted = output = None
    share, note = numbers.constant(knowledge, "efficiency-non-condensing"), "usual for its kind"
    if plate_of is not None:
        plate = qty.si(plate_of.input, qty.HEAT_RATE)
        adjusted = numbers.optional_si(plate_of.adjusted_input, qty.HEAT_RATE) or plate
        if plate_of.efficiency is not None:
            share, note = qty.si(plate_of.efficiency, qty.SHARE), "stated for this furnace"
        elif plate_of.output is not None:
            share, note = qty.si(plate_of.output, qty.HEAT_RATE) / plate, "plate output over plate input"
        elif plate_of.kind == "condensing":
            share = numbers.constant(knowledge, "efficiency-condensing")
        output = share * adjusted
    spread = numbers.constant(knowledge, "efficiency-spread")
    efficiency = Estimate(share, spread, qty.SHARE, Method.EFFICIENCY, note=note)
    return Heat(air, sensible, efficiency, adjusted, output)


def gas_correction(case: Case) -> float | None:
    """Gas at the standard conditions of its heating value, to gas as the meter passes it; None when metered so."""
    site = case.file.site
    if site.heating_value_is != "at standard conditions":
        return None
    return qty.si(
        meter_correction(
            site.meter_pressure if site.meter_pressure is not None else qty.q(0.25, "psi"),
            qty.q(60.0, "degF"),
            site.elevation if site.elevation is not None else qty.q(0.0, "foot"),
        ),
        qty.RATIO,
    )


def input_of(case: Case, readings: Mapping[str, Taken], knowledge: Knowledge) -> Estimate | None:
    """Heat input by clocking the meter, with its uncertainty: from a timed dial and a heating value, else as stated."""
    site, time = case.file.site, readings.get("meter-time")
    if time is None or site.meter_dial is None or site.heating_value is None:
        return _stated_input(readings.get("clocked-input"), knowledge)
    correction = gas_correction(case)
    note = "heating value as metered here" if correction is None else "heating value corrected to the meter's pressure"
    seconds, spread = numbers.value(time, knowledge), numbers.sd(time, knowledge)
    heat = qty.si(clocked_input(site.meter_dial, time.value, site.heating_value, correction or 1.0), qty.HEAT_RATE)
    share = math.hypot(spread / seconds, numbers.constant(knowledge, "heating-value-spread"))
    return Estimate(heat, heat * share, qty.HEAT_RATE, Method.CLOCKED, ("meter-time",), note)


def _stated_input(stated: Taken | None, knowledge: Knowledge) -> Estimate | None:
    return stated_as(stated, Method.CLOCKED, knowledge, "worked out by the author") if stated else None


def stated_as(taken: Taken, method: Method, knowledge: Knowledge, note: str = "") -> Estimate:
    """A reading that is itself the value looked for."""
    read = numbers.measured(taken, knowledge)
    return Estimate(*read.pair, read.kind, method, (taken.reading,), note)


def rise_of(readings: Mapping[str, Taken], state: str, log: RunLog | None, knowledge: Knowledge) -> Estimate | None:
    """Steady rise: from a log (extrapolated when it tripped early), else supply less return, else a stated rise."""
    if log is not None and log.steady_rise is not None:
        return log.steady_rise
    supply, back = readings.get("supply-air"), readings.get("return-air")
    if supply is not None and back is not None and state != AT_TRIP:
        return _less(supply, back, Method.SUPPLY_LESS_RETURN, knowledge)
    stated = readings.get("rise")
    return stated_as(stated, Method.AS_READ, knowledge) if stated else None


def rise_at_trip(readings: Mapping[str, Taken], state: str, knowledge: Knowledge) -> Estimate | None:
    """Rise at the moment the limit opened: a lower bound for the steady rise."""
    supply = readings.get("supply-air-at-trip") or (readings.get("supply-air") if state == AT_TRIP else None)
    back = readings.get("return-air")
    return None if supply is None or back is None else _less(supply, back, Method.AT_TRIP, knowledge)


def _less(supply: Taken, back: Taken, method: Method, knowledge: Knowledge) -> Estimate | None:
    """One temperature less another; None where it is no rise."""
    high, low = numbers.measured(supply, knowledge), numbers.measured(back, knowledge)
    rise, spread = high.si - low.si, math.hypot(high.sd_si, low.sd_si)
    if rise <= 0:
        return None
    return Estimate(rise, spread, qty.TEMPERATURE_DIFFERENCE, method, (supply.reading, back.reading))
