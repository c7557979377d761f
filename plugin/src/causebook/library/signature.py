"""What a cause of the air path does to the readings of a usual furnace: computed at three sizes, beside the clean one.

The furnace is invented and usual: 80,000 Btu/h in, a rise plate of 35 to 65 °F, a blower without electronics, a path
with the usual clean drops of the knowledge.  A cause changes it as its `effects` say, at three sizes between worth
finding and gross (`SIZES`); what is then read is solved by the physics.  Nothing here is a diagnosis.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from causebook import quantity as qty
from causebook.knowledge.model import Cause, Effect, Knowledge
from causebook.physics.airpath import AirPath, Part
from causebook.physics.fan import Fan, fan_table, scaled
from causebook.physics.whatif import Heat, Limit, Plate, ScaleInput, ScalePart, System, apply, told_by

BEFORE, AFTER = ("return", "filter", "inlet"), ("coil", "supply")
COUNTED = ("return", "filter", "coil", "supply")
"""The parts that the plate's static counts."""
SIZES = (("mild", 0.15), ("middling", 0.35), ("gross", 0.6))
"""Name of a size, and how far it lies on the way from worth finding to the grossest there is (expert estimates)."""
INPUT, EFFICIENCY = 80_000.0, 0.80
"""Btu/h, and the steady efficiency of a non-condensing furnace."""
RISE_RANGE = (35.0, 65.0)
LIMIT_OPENS, ROOM = 200.0, 70.0
"""°F."""
SENSIBLE = 1.08
"""Btu/(h·cfm·°F) at sea level and 70 °F: ASHRAE Fundamentals 2017 ch. 1, from eq. 26 and 30."""
FAN = ((0.1, 1.13), (0.3, 1.07), (0.5, 1.0), (0.7, 0.91), (0.9, 0.78), (1.1, 0.58), (1.3, 0.3))
"""External static [in. w.c.] and airflow as a share of that at 0.5: a split-capacitor blower (expert estimate)."""

LEAST_AIR = 0.25
"""Share of the clean airflow below which the limit opens before anything is steady (expert estimate)."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading of a signature: its name, unit, decimals, and what two of them must differ by to be told apart."""

    id: str
    name: str
    unit: str
    digits: int
    error: float


READINGS = (
    Reading("return", "Return drop", "in. w.c.", 2, 0.02),
    Reading("filter", "Filter drop", "in. w.c.", 2, 0.02),
    Reading("inlet", "Drop from filter to blower", "in. w.c.", 2, 0.02),
    Reading("coil", "Coil drop", "in. w.c.", 2, 0.02),
    Reading("supply", "Supply drop", "in. w.c.", 2, 0.02),
    Reading("static", "External static", "in. w.c.", 2, 0.03),
    Reading("rise", "Rise", "°F", 0, 2.0),
    Reading("input", "Clocked input, share of the plate", "%", 0, 3.0),
    Reading("warm", "Return air above the rooms", "°F", 0, 2.0),
    Reading("speed", "Motor speed, share of its setting", "%", 0, 3.0),
    Reading("opens", "Limit opens at", "°F", 0, 7.0),
)
"""What a technician reads of it, with two standard uncertainties of a difference (expert estimates)."""


@dataclass(frozen=True, slots=True)
class Shown:
    """What one furnace shows [US units]."""

    name: str
    airflow: float
    """cfm."""
    margin: float
    """Opening temperature of the limit less that of its body [°F]; below zero it opens."""
    taps: tuple[float, ...]
    """Gauge pressure in the room, after return, filter and inlet, before and after the coil, and in the room."""
    readings: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Signature:
    """A cause beside the clean furnace."""

    cause: Cause
    clean: Shown
    sizes: tuple[Shown, ...]

    @property
    def middling(self) -> Shown:
        """The one of middling size."""
        return self.sizes[1]

    def span(self, reading: Reading) -> tuple[float, float]:
        """Between which values a reading lies, from mild to gross."""
        values = [shown.readings[reading.id] for shown in self.sizes]
        return min(values), max(values)


def signature(cause: Cause, knowledge: Knowledge) -> Signature | None:
    """The signature of a cause; None where it does nothing to air or heat, or leaves no steady fire to read."""
    if all(effect.on == "delay" for effect in cause.effects):
        return None
    clean = _shown("clean", _clean(knowledge), 1.0)
    sizes = tuple(
        _shown(name, _with(cause.effects, share, knowledge), _speed(cause.effects, share, knowledge))
        for name, share in SIZES
    )
    return Signature(cause, clean, sizes) if sizes[1].airflow > LEAST_AIR * clean.airflow else None


def signatures(knowledge: Knowledge) -> Mapping[str, Signature]:
    """Cause id -> its signature, of the causes that have one.  Worked out once for each knowledge."""
    if knowledge.version not in _worked_out:
        _worked_out.clear()
        found = {id_: signature(cause, knowledge) for id_, cause in knowledge.causes.items()}
        _worked_out[knowledge.version] = {id_: one for id_, one in found.items() if one}
    return _worked_out[knowledge.version]


_worked_out: dict[str, Mapping[str, Signature]] = {}


def told_apart(one: Signature, other: Signature) -> Reading | None:
    """The reading that parts two causes best whatever their sizes; None where in each their sizes overlap."""

    def gap(reading: Reading) -> float:
        (low, high), (lower, higher) = one.span(reading), other.span(reading)
        return max(low - higher, lower - high) / reading.error

    best = max(READINGS, key=gap)
    return best if gap(best) > 1 else None


def most_moved(one: Shown, other: Shown) -> Reading:
    """The reading in which two furnaces differ most, by its error."""
    return max(READINGS, key=lambda r: abs(one.readings[r.id] - other.readings[r.id]) / r.error)


# ---------------------------------------------------------------------------------------------- the usual furnace


def _clean(knowledge: Knowledge) -> System:
    airflow = INPUT * EFFICIENCY / (SENSIBLE * sum(RISE_RANGE) / 2)
    flow = qty.si(qty.q(airflow, "cfm"), qty.AIRFLOW)
    parts = {
        id_: Part(id_, qty.si(qty.q(of.clean_drop, "inwc"), qty.AIR_PRESSURE) / flow**of.exponent, of.exponent)
        for id_, of in knowledge.parts.items()
    }
    path = AirPath(tuple(parts[p] for p in BEFORE), tuple(parts[p] for p in AFTER))
    table = fan_table([qty.q(s, "inwc") for s, _ in FAN], {"heat": [qty.q(airflow * share, "cfm") for _, share in FAN]})
    density = table.density
    printed = Fan(table, "heat").flow(path.drop(flow, density), density)
    fan = Fan(scaled(table, flow / float(printed)), "heat")
    factor = knowledge.constants["limit-body-factor"].value
    differential = knowledge.constants["limit-differential"].value
    opens, closes = (_kelvin(t) for t in (LIMIT_OPENS, LIMIT_OPENS - differential))
    heat = Heat(
        qty.si(qty.q(INPUT, "btu_it/hour"), qty.HEAT_RATE),
        EFFICIENCY,
        qty.si(qty.q(SENSIBLE, "btu_it/(hour*cfm*delta_degF)"), qty.SENSIBLE_FACTOR),
    )
    low, high = (qty.si(qty.q(r, "delta_degF"), qty.TEMPERATURE_DIFFERENCE) for r in RISE_RANGE)
    plate = Plate(low, high, counted=COUNTED)
    return System(path, fan, density, _kelvin(ROOM), heat, Limit(opens, closes, factor), plate)


def _kelvin(fahrenheit: float) -> float:
    return qty.si(qty.q(fahrenheit, "degF"), qty.TEMPERATURE)


# ---------------------------------------------------------------------------------------------------- what is changed


def _size(effect: Effect, share: float) -> float:
    """The size of an effect so far on the way from worth finding to gross: shifts by their size, factors by its
    logarithm."""
    if effect.on == "limit":
        return effect.least + share * (effect.most - effect.least)
    return float(effect.least * (effect.most / effect.least) ** share)


def _speed(effects: tuple[Effect, ...], share: float, knowledge: Knowledge) -> float:
    """Speed of the motor over that of its setting."""
    turned = [_size(e, share) for e in effects if e.on == "motor"]
    turned += [_slowed(_size(e, share), knowledge) for e in effects if e.on == "capacitor"]
    return math.prod(turned)


def _slowed(capacitance: float, knowledge: Knowledge) -> float:
    return 1 - knowledge.constants["capacitor-slowing"].value * (1 - capacitance)


def _with(effects: tuple[Effect, ...], share: float, knowledge: Knowledge) -> System:
    system = _clean(knowledge)
    for effect in effects:
        size = _size(effect, share)
        system = _changed(system, effect.on, _slowed(size, knowledge) if effect.on == "capacitor" else size)
    return system


def _changed(system: System, on: str, size: float) -> System:
    """The furnace with one unknown changed by its factor."""
    fan, limit = system.fan, system.limit
    assert isinstance(fan, Fan) and limit is not None
    match on:
        case "motor" | "setting" | "capacitor":
            return replace(system, fan=replace(fan, speed=fan.speed * size))
        case "blower":
            return replace(system, fan=replace(fan, table=scaled(fan.table, size)))
        case "orifice" | "derate":
            return apply(system, [ScaleInput(size)])
        case "manifold":
            return apply(system, [ScaleInput(math.sqrt(size))])
        case "delay":
            return system  # it changes nothing that is read of a steady run
        case "limit":
            return replace(system, limit=replace(limit, opens=limit.opens + size / 1.8))
        case "hot-spot":
            return replace(system, limit=replace(limit, body_factor=limit.body_factor * size))
        case "recirculation":
            # Return = (1 - share) × room + share × supply, and supply = return + rise.
            warmer = size / (1 - size) * told_by(system)["rise"]
            return replace(system, return_temperature=system.return_temperature + warmer)
        case part:
            return apply(system, [ScalePart(part, size)])


def _shown(name: str, system: System, speed: float) -> Shown:
    told = told_by(system)

    def inches(key: str) -> float:
        return qty.us(qty.from_si(float(told[key]), qty.AIR_PRESSURE), qty.AIR_PRESSURE)

    def degrees(kelvin: float) -> float:
        return 1.8 * float(kelvin)

    assert system.limit is not None
    places = ["tap before return", *(f"tap after {p}" for p in BEFORE), "tap before coil", "tap after coil"]
    readings = {p: inches(f"drop {p}") for p in (*BEFORE, *AFTER)} | {
        "static": inches("static"),
        "rise": degrees(told["rise"]),
        "input": 100 * qty.us(qty.from_si(float(told["input"]), qty.HEAT_RATE), qty.HEAT_RATE) / INPUT,
        "warm": degrees(system.return_temperature - _kelvin(ROOM)),
        "speed": 100 * speed,
        "opens": qty.us(qty.from_si(float(system.limit.opens), qty.TEMPERATURE), qty.TEMPERATURE),
    }
    airflow = qty.us(qty.from_si(float(told["airflow"]), qty.AIRFLOW), qty.AIRFLOW)
    taps = (*(inches(place) for place in places), 0.0)
    return Shown(name, airflow, degrees(told["limit margin"]), taps, readings)
