"""Heat: input by the clock, efficiency, rise, and the airflow that follows from them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from causebook import quantity as qty
from causebook.casefile.model import Case, Taken
from causebook.knowledge.model import Knowledge
from causebook.physics import furnace
from causebook.physics.air import STANDARD_DENSITY, AirState, air_state
from causebook.physics.gas import clocked_input, meter_correction
from causebook.physics.uncertain import Uncertain
from causebook.survey import numbers
from causebook.survey.model import Estimate, RunLog

ROOM = qty.q(70.0, "degF")
LARGEST_RISE = 200.0
"""Rise above which no airflow is worked out [K]."""


@dataclass(frozen=True, slots=True)
class Heat:
    """Facts of a furnace that hold for every reading set."""

    air: AirState
    sensible: float
    """Sensible factor at the furnace inlet [J/(m³·K)]."""
    efficiency: Estimate
    plate_input: float | None
    """[W], adjusted for altitude where the case says how."""
    output: float | None
    """Plate output [W], scaled with the adjusted input."""

    def at_return(self, readings: Mapping[str, Taken]) -> Heat:
        """The same with the air as warm as these readings found the return; humidity ratio and pressure stay."""
        back = readings.get("return-air")
        if back is None:
            return self
        air = replace(self.air, temperature=back.value)
        return replace(self, air=air, sensible=qty.si(air.sensible_factor, qty.SENSIBLE_FACTOR))

    @property
    def density_ratio(self) -> float:
        """Density of the air over that of standard air, for which fan tables are printed."""
        return qty.si(self.air.density, qty.DENSITY) / qty.si(STANDARD_DENSITY, qty.DENSITY)


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
    efficiency = numbers.estimate(
        share, numbers.constant(knowledge, "efficiency-spread"), qty.SHARE, "steady-state efficiency", note=note
    )
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
    return numbers.estimate(heat, heat * share, qty.HEAT_RATE, "clocked at the meter", ("meter-time",), note)


def _stated_input(stated: Taken | None, knowledge: Knowledge) -> Estimate | None:
    return (
        None
        if stated is None
        else numbers.estimate(
            numbers.value(stated, knowledge),
            numbers.sd(stated, knowledge),
            qty.HEAT_RATE,
            "clocked at the meter",
            (stated.reading,),
            "worked out by the author",
        )
    )


def rise_of(readings: Mapping[str, Taken], state: str, log: RunLog | None, knowledge: Knowledge) -> Estimate | None:
    """Steady rise: from a log (extrapolated when it tripped early), else supply less return, else a stated rise."""
    if log is not None and log.steady_rise is not None:
        return log.steady_rise
    supply, back = readings.get("supply-air"), readings.get("return-air")
    if supply is not None and back is not None and state != "at trip":
        number = numbers.value(supply, knowledge) - numbers.value(back, knowledge)
        spread = math.hypot(numbers.sd(supply, knowledge), numbers.sd(back, knowledge))
        return (
            numbers.estimate(
                number, spread, qty.TEMPERATURE_DIFFERENCE, "supply less return", ("supply-air", "return-air")
            )
            if number > 0
            else None
        )
    if (stated := readings.get("rise")) is not None:
        return numbers.estimate(
            numbers.value(stated, knowledge),
            numbers.sd(stated, knowledge),
            qty.TEMPERATURE_DIFFERENCE,
            "as read",
            ("rise",),
        )
    return None


def rise_at_trip(readings: Mapping[str, Taken], state: str, knowledge: Knowledge) -> Estimate | None:
    """Rise at the moment the limit opened: a lower bound for the steady rise."""
    supply = readings.get("supply-air-at-trip") or (readings.get("supply-air") if state == "at trip" else None)
    back = readings.get("return-air")
    if supply is None or back is None:
        return None
    number = numbers.value(supply, knowledge) - numbers.value(back, knowledge)
    if number <= 0:
        return None
    return numbers.estimate(
        number,
        math.hypot(numbers.sd(supply, knowledge), numbers.sd(back, knowledge)),
        qty.TEMPERATURE_DIFFERENCE,
        "supply at the trip less return",
        (supply.reading, "return-air"),
    )


def airflow_by_rise(
    heat: Heat, clocked: Estimate | None, rise: Estimate | None, knowledge: Knowledge
) -> Estimate | None:
    """Airflow = input × efficiency / (sensible factor × rise); with plate input when nobody clocked, and wider."""
    if rise is None or (clocked is None and heat.plate_input is None):
        return None
    if not 0 < numbers.si_of(rise)[0] <= LARGEST_RISE:
        # A log cut short while hardly any air moved points to no steady rise worth the name.
        return None
    watts, watts_sd = (
        numbers.si_of(clocked)
        if clocked
        else (
            heat.plate_input or 0.0,
            (heat.plate_input or 0.0) * numbers.constant(knowledge, "input-unclocked-spread"),
        )
    )
    flow = furnace.airflow_by_rise(
        Uncertain(watts, watts_sd, qty.HEAT_RATE),
        Uncertain(*numbers.si_of(heat.efficiency), qty.SHARE),
        Uncertain(*numbers.si_of(rise), qty.TEMPERATURE_DIFFERENCE),
        qty.from_si(heat.sensible, qty.SENSIBLE_FACTOR),
    )
    return numbers.estimate(
        flow.si,
        flow.sd_si,
        qty.AIRFLOW,
        "rise and clocked input" if clocked else "rise and plate input",
        (*rise.readings, *(clocked.readings if clocked else ())),
        "" if clocked else "nobody clocked the gas: the plate input is assumed",
    )
