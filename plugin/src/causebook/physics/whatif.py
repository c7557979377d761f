"""The what-if engine: a furnace and its air path, identified from readings, then changed, then asked again.

`identify` turns readings into a `System` that reproduces them; `apply` makes the system after any set of changes;
`predict` says what would be read in it.  Uncertainty is carried by siblings: for each uncertain value (a tap pressure,
the airflow, the drop of a new part) one more system, identified and changed in the same way with that value moved by
one standard uncertainty.  A prediction's uncertainty is the root of the summed squares of what the siblings say
differently (GUM, JCGM 100:2008, 5.1.3 note 2), so that errors which cancel in a comparison do cancel.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from causebook.measured import Measured
from causebook.physics.airpath import AirPath, Element, IdentifiedPart, Parallel, Part, Series, solve
from causebook.physics.fan import Blower, ConstantAirflow, Fan, speed_ratio
from causebook.physics.furnace import limit_body, outlet_temperature, rise
from causebook.quantity import (
    AIR_PRESSURE,
    AIRFLOW,
    DENSITY,
    HEAT_RATE,
    RATIO,
    SENSIBLE_FACTOR,
    SHARE,
    TEMPERATURE,
    TEMPERATURE_DIFFERENCE,
    Param,
    Quantity,
    from_si,
    physical,
    show,
)

_HEAT = Param(HEAT_RATE, 0.0, 1e6, open_low=True)
_EFFICIENCY = Param(SHARE, 0.3, 1.0)
_FACTOR = Param(SENSIBLE_FACTOR, 500.0, 2000.0)
_LIFT = Param(RATIO, 1.0, 10.0)
_FLOW = Param(AIRFLOW, 0.0, 50.0, open_low=True)
_TEMPERATURE = Param(TEMPERATURE, 200.0, 600.0)
_DENSITY = Param(DENSITY, 0.2, 3.0)
_RISE = Param(TEMPERATURE_DIFFERENCE, 0.0, 200.0, open_low=True)


# ------------------------------------------------------------------------------------------------ system


@dataclass(frozen=True, slots=True)
class Heat:
    """Heat input [W], efficiency and sensible factor [J/(m³·K)]."""

    input: Any
    efficiency: Any
    sensible_factor: Any

    @property
    def output(self) -> Any:
        """Heat to the air [W]."""
        return self.input * self.efficiency


@dataclass(frozen=True, slots=True)
class Limit:
    """Where the limit opens and closes [K] and its body factor: body = return + factor × rise."""

    opens: Any
    closes: Any
    body_factor: Any


@dataclass(frozen=True, slots=True)
class Plate:
    """What the rating plate allows; bare SI numbers, None where it says nothing.  Build it with `plate`."""

    rise_minimum: float | None = None
    rise_maximum: float | None = None
    outlet_maximum: float | None = None
    static_maximum: float | None = None
    counted: tuple[str, ...] = ()
    """Parts that the static maximum counts as external: its boundary."""


@physical(None, opens=_TEMPERATURE, closes=_TEMPERATURE, body_factor=Param(RATIO, 0.5, 5.0))
def limit(opens: float, closes: float, body_factor: float) -> Limit:
    """A limit by its marking and its body factor.  ValueError when it closes above where it opens."""
    if closes >= opens:
        raise ValueError(
            f"the limit closes at {show(from_si(closes, TEMPERATURE), TEMPERATURE)}; valid is below where"
            f" it opens, {show(from_si(opens, TEMPERATURE), TEMPERATURE)}"
        )
    return Limit(opens, closes, body_factor)


@physical(
    None,
    rise_minimum=_RISE,
    rise_maximum=_RISE,
    outlet_maximum=_TEMPERATURE,
    static_maximum=Param(AIR_PRESSURE, 0.0, 5000.0, open_low=True),
)
def plate(
    rise_minimum: float | None = None,
    rise_maximum: float | None = None,
    outlet_maximum: float | None = None,
    static_maximum: float | None = None,
    counted: tuple[str, ...] = (),
) -> Plate:
    """A rating plate; ValueError when a static maximum comes without the parts it counts."""
    if static_maximum is not None and not counted:
        raise ValueError("the static maximum of the plate comes without its boundary: name the parts it counts")
    return Plate(rise_minimum, rise_maximum, outlet_maximum, static_maximum, tuple(counted))


@dataclass(frozen=True, slots=True)
class System:
    """A furnace with its blower and air path; bare SI numbers, which may be arrays of one shape."""

    path: AirPath
    fan: Blower
    density: Any
    """Of the air along the path [kg/m³]."""
    return_temperature: Any
    """At the furnace [K]."""
    heat: Heat | None = None
    """None for a blower run without the burner."""
    limit: Limit | None = None
    plate: Plate = Plate()
    siblings: tuple[System, ...] = field(default=(), repr=False)
    """The same system with one uncertain value moved by one standard uncertainty; no siblings of their own."""


# ----------------------------------------------------------------------------------------- identification


@dataclass(frozen=True, slots=True)
class Readings:
    """What a system is identified from.

    `before` and `after` name the parts on either side of the blower in the direction of flow.  `taps` holds signed
    gauge pressures by place, "after filter" or "before coil".  A part without a tap of its own on both sides must be
    in `known`.
    """

    before: tuple[str, ...]
    after: tuple[str, ...]
    taps: Mapping[str, Measured]
    airflow: Measured
    fan: Blower
    """At the setting found; its speed ratio, or a constant-airflow motor's airflow, is fitted to the readings."""
    density: Quantity
    return_temperature: Measured
    input: Measured | None = None
    efficiency: Measured | None = None
    sensible_factor: Quantity | None = None
    rise: Measured | None = None
    """Steady rise as read; where given, the efficiency becomes what closes the heat balance with it."""
    limit_opens: Measured | None = None
    limit_closes: Quantity | None = None
    body_factor: Measured | None = None
    plate: Plate = Plate()
    exponents: Mapping[str, float] = field(default_factory=dict)
    """Exponent of a part where it is not 2."""
    known: Mapping[str, IdentifiedPart] = field(default_factory=dict)
    """Parts known from elsewhere, with their uncertainty."""


def identify(readings: Readings) -> System:
    """The system that shows these readings, with a sibling for each value that is uncertain.

    ValueError, naming the part or the tap, where the readings cannot belong to one air path: a pressure that rises
    along the way, a part that no tap sets apart, a blower that no speed brings to its readings.
    """
    values = {f"tap {name}": term for name, term in readings.taps.items()}
    values |= {
        f"part {name}": Measured(known.part.resistance, known.resistance_sd, RATIO)
        for name, known in readings.known.items()
    }
    named = {
        "airflow": readings.airflow,
        "return": readings.return_temperature,
        "input": readings.input,
        "efficiency": readings.efficiency,
        "rise": readings.rise,
        "limit opens": readings.limit_opens,
        "body factor": readings.body_factor,
    }
    values |= {name: term for name, term in named.items() if term is not None}
    at = {name: term.si for name, term in values.items()}
    siblings = tuple(
        _system(readings, at | {name: at[name] + term.sd_si}, strict=False)
        for name, term in values.items()
        if term.sd_si
    )
    return replace(_system(readings, at, strict=True), siblings=siblings)


def _system(readings: Readings, at: Mapping[str, float], strict: bool) -> System:
    density = _DENSITY.read("density", readings.density)
    flow = _FLOW.read("airflow", from_si(at["airflow"], AIRFLOW))
    known = {name: replace(part.part, resistance=at[f"part {name}"]) for name, part in readings.known.items()}
    unused = set(readings.taps)
    before = _side(readings, readings.before, at, known, flow, density, unused, strict, inlet=True)
    after = _side(readings, readings.after, at, known, flow, density, unused, strict, inlet=False)
    if unused:
        raise ValueError(f"no such tap along the air path: {', '.join(sorted(unused))}")
    path = AirPath(before, after)
    return System(
        path,
        _fitted(readings.fan, flow, path.drop(flow, density), density),
        density,
        at["return"],
        _heat(readings, at, flow),
        _limit(readings, at),
        readings.plate,
    )


def _side(
    readings: Readings,
    names: tuple[str, ...],
    at: Mapping[str, float],
    known: Mapping[str, Part],
    flow: float,
    density: float,
    unused: set[str],
    strict: bool,
    inlet: bool,
) -> tuple[Part, ...]:
    """The parts of one side of the blower, from the pressures at its taps and the room's zero at its open end."""
    pressures: list[float | None] = [_pressure(names, place, at, unused) for place in range(len(names) + 1)]
    pressures[0 if inlet else -1] = 0.0
    parts: dict[str, Part] = {name: known[name] for name in names if name in known}
    start = 0
    for place in range(1, len(names) + 1):
        if pressures[place] is None and place < len(names):
            continue
        span = [name for name in names[start:place] if name not in known]
        ends = pressures[start], pressures[place]
        if len(span) > 1 or span and None in ends:
            raise ValueError(f"no tap sets {' and '.join(span)} apart; give the pressure there or the part itself")
        if span and ends[0] is not None and ends[1] is not None:
            rest = ends[0] - ends[1] - sum(known[n].at_flow(flow, density)[0] for n in names[start:place] if n in known)
            if rest < 0 and strict:
                raise ValueError(
                    f"the drop of {span[0]} is {show(from_si(rest, AIR_PRESSURE), AIR_PRESSURE)}; valid is"
                    " 0 or more: pressure rises along the way, so a tap is swapped or misplaced"
                )
            exponent = readings.exponents.get(span[0], 2.0)
            parts[span[0]] = Part(span[0], max(rest, 0.0) / flow**exponent, exponent, density)
        start = place
    return tuple(parts[name] for name in names)


def _pressure(names: tuple[str, ...], place: int, at: Mapping[str, float], unused: set[str]) -> float | None:
    called = [f"after {names[place - 1]}"] if place else []
    called += [f"before {names[place]}"] if place < len(names) else []
    found = [name for name in called if f"tap {name}" in at]
    unused.difference_update(found)
    return at[f"tap {found[0]}"] if found else None


def _fitted(fan: Blower, flow: float, static: float, density: float) -> Blower:
    if isinstance(fan, Fan):
        return replace(fan, speed=speed_ratio.si(fan, flow, static, density))
    if isinstance(fan, ConstantAirflow):
        if flow >= fan.airflow or static < fan.limit:
            return ConstantAirflow(flow, max(fan.limit, static))
        return ConstantAirflow(fan.airflow, flow * static / fan.airflow)
    raise TypeError(f"a {type(fan).__name__} cannot be fitted to readings; give a Fan or a ConstantAirflow")


def _heat(readings: Readings, at: Mapping[str, float], flow: float) -> Heat | None:
    if readings.input is None or readings.sensible_factor is None or not {"efficiency", "rise"} & set(at):
        return None
    factor = _FACTOR.read("sensible factor", readings.sensible_factor)
    put_in = _HEAT.read("input", from_si(at["input"], HEAT_RATE))
    if "rise" in at:
        difference = _RISE.read("rise", from_si(at["rise"], TEMPERATURE_DIFFERENCE))
        return Heat(put_in, factor * flow * difference / put_in, factor)
    return Heat(put_in, _EFFICIENCY.read("efficiency", from_si(at["efficiency"], SHARE)), factor)


def _limit(readings: Readings, at: Mapping[str, float]) -> Limit | None:
    if "limit opens" not in at or "body factor" not in at:
        return None
    closes = (
        _TEMPERATURE.read("closing temperature of the limit", readings.limit_closes)
        if readings.limit_closes is not None
        else at["limit opens"]
    )
    return Limit(at["limit opens"], closes, at["body factor"])


# ------------------------------------------------------------------------------------------------ changes


@dataclass(frozen=True, slots=True)
class ReplacePart:
    """A part replaced by another (a deep-media filter, a cleaned coil with a known drop)."""

    name: str
    part: Part
    relative_sd: float = 0.0
    """Standard uncertainty of its resistance, as a share."""


@dataclass(frozen=True, slots=True)
class ScalePart:
    """A part with `factor` (a number or an array) times its resistance: 1 / (times clean) cleans it."""

    name: str
    factor: Any
    relative_sd: float = 0.0


@dataclass(frozen=True, slots=True)
class RemovePart:
    """A part taken out, its place left open to the air (filter out)."""

    name: str


@dataclass(frozen=True, slots=True)
class AddParallel:
    """Another way beside parts that stand next to each other: a second return, an opening at the filter slot."""

    beside: tuple[str, ...]
    element: Part | Series
    relative_sd: float = 0.0


@dataclass(frozen=True, slots=True)
class SetSetting:
    """Another setting of the same blower; what it lacked against its table it goes on lacking."""

    setting: str


@dataclass(frozen=True, slots=True)
class LiftSpeed:
    """The blower faster by a factor, up to its printed speed (a new capacitor, a clean wheel).

    One that is faster already stays; several lift by their product, in any order.
    """

    factor: float


@dataclass(frozen=True, slots=True)
class SetInput:
    """Another heat input, the efficiency kept."""

    input: Quantity
    relative_sd: float = 0.0


@dataclass(frozen=True, slots=True)
class ScaleInput:
    """`factor` (a number or an array) times the heat input, the efficiency kept (other orifices, manifold pressure).

    Several scale it by their product, in any order.
    """

    factor: Any
    relative_sd: float = 0.0


@dataclass(frozen=True, slots=True)
class SetReturnTemperature:
    """Another temperature of the return at the furnace (recirculation ended, a cold leak closed)."""

    temperature: Quantity


@dataclass(frozen=True, slots=True)
class ReplaceFurnace:
    """Another furnace on the same air path; limit None where its limit is not known."""

    fan: Blower
    input: Quantity
    efficiency: Quantity
    plate: Plate
    limit: Limit | None = None


Change = (
    ReplacePart
    | ScalePart
    | RemovePart
    | AddParallel
    | SetSetting
    | LiftSpeed
    | SetInput
    | ScaleInput
    | SetReturnTemperature
    | ReplaceFurnace
)


def apply(system: System, changes: Sequence[Change]) -> System:
    """The system after the changes, one after the other; no change gives the same system.

    KeyError for a part or a setting it does not have; ValueError for a change that does not fit it.
    """
    for change in changes:
        alone = replace(system, siblings=())
        siblings = [_changed(sibling, change) for sibling in system.siblings]
        if (moved := _moved(change)) is not None:
            siblings.append(_changed(alone, moved))
        system = replace(_changed(alone, change), siblings=tuple(siblings))
    return system


def _changed(system: System, change: Change) -> System:
    match change:
        case ReplacePart(name, part):
            system.path.part(name)
            new = replace(part, name=name)
            return replace(system, path=system.path.each(lambda old: new if old.name == name else old))
        case ScalePart(name, factor):
            return replace(system, path=system.path.scaled({name: factor}))
        case RemovePart(name):
            return replace(system, path=system.path.scaled({name: 0.0}))
        case AddParallel(beside, element):
            return replace(system, path=_beside(system.path, beside, element))
        case SetSetting(setting):
            return replace(system, fan=replace(_table_fan(system), setting=setting))
        case LiftSpeed(factor):
            fan = _table_fan(system)
            lifted = np.minimum(fan.speed * _LIFT.read("factor on the speed", factor), 1.0)
            return replace(system, fan=replace(fan, speed=np.maximum(fan.speed, lifted)))
        case SetInput(put_in):
            return replace(system, heat=replace(_burning(system), input=_HEAT.read("input", put_in)))
        case ScaleInput(factor):
            heat = _burning(system)
            return replace(system, heat=replace(heat, input=heat.input * factor))
        case SetReturnTemperature(temperature):
            return replace(system, return_temperature=_TEMPERATURE.read("return temperature", temperature))
        case ReplaceFurnace(fan, put_in, efficiency, new_plate, new_limit):
            heat = replace(
                _burning(system),
                input=_HEAT.read("input", put_in),
                efficiency=_EFFICIENCY.read("efficiency", efficiency),
            )
            return replace(system, fan=fan, heat=heat, plate=new_plate, limit=new_limit)


def _moved(change: Change) -> Change | None:
    """The change with what is uncertain in it moved by one standard uncertainty; None where nothing is."""
    if isinstance(change, ReplacePart | ScalePart | AddParallel | SetInput | ScaleInput) and change.relative_sd:
        more = 1 + change.relative_sd

        def raised(part: Part) -> Part:
            return replace(part, resistance=part.resistance * more)

        match change:
            case ReplacePart():
                return replace(change, part=raised(change.part))
            case ScalePart() | ScaleInput():
                return replace(change, factor=change.factor * more)
            case AddParallel():
                return replace(change, element=change.element.each(raised))
            case SetInput():
                return replace(change, input=change.input * more)
    return None


def _table_fan(system: System) -> Fan:
    if not isinstance(system.fan, Fan):
        raise ValueError("the blower holds its airflow; it has no settings of a fan table")
    return system.fan


def _burning(system: System) -> Heat:
    if system.heat is None:
        raise ValueError("the heat input of the system is not known; identify it with the burner running")
    return system.heat


def _beside(path: AirPath, names: tuple[str, ...], element: Part | Series) -> AirPath:
    for name in names:
        path.part(name)
    for side in ("before", "after"):
        elements: tuple[Element, ...] = getattr(path, side)
        places = [i for i, e in enumerate(elements) if any(part.name in names for part in e.parts)]
        if not places:
            continue
        first, last = places[0], places[-1]
        if last - first + 1 != len(places) or not set(names) <= {p.name for i in places for p in elements[i].parts}:
            break
        old = elements[first : last + 1]
        if len(old) == 1 and isinstance(old[0], Parallel):
            new = replace(old[0], branches=(*old[0].branches, element))
        else:
            # Named after what it stands beside, so that taps and boundaries keep their names.
            name = " and ".join(e.name for e in old)
            new = Parallel(name, (old[0] if len(old) == 1 else Series(name, old), element))
        return replace(path, **{side: (*elements[:first], new, *elements[last + 1 :])})
    raise ValueError(f"{' and '.join(names)} do not stand next to each other on one side of the blower")


# --------------------------------------------------------------------------------------------- prediction


@dataclass(frozen=True, slots=True)
class Prediction:
    """What would be read in a system, each with its uncertainty; None where the system does not say."""

    airflow: Measured
    rise: Measured | None
    outlet: Measured | None
    drops: Mapping[str, Measured]
    taps: Mapping[str, Measured]
    static: Measured | None
    """Over the plate's boundary."""
    limit_body: Measured | None
    limit_margin: Measured | None
    """Opening temperature less body temperature; negative: it opens."""
    trips: bool | None
    trip_probability: float | None
    rise_within: bool | None
    """Within the plate's rise range; None where either is not known."""
    outlet_within: bool | None
    static_within: bool | None
    beyond_table: bool
    """The operating point lies outside the printed fan table: the airflow is extrapolated."""
    at_limit: bool
    """A constant-airflow motor no longer holds its airflow."""

    @property
    def broken(self) -> tuple[str, ...]:
        """Which of the plate's limits would be broken, in words."""
        flags = {
            "rise": self.rise_within,
            "outlet temperature": self.outlet_within,
            "static pressure": self.static_within,
        }
        return tuple(name for name, within in flags.items() if within is False)


def predict(system: System) -> Prediction:
    """What would be read in the system, with uncertainty from its siblings."""
    told = told_by(system)
    others = [told_by(sibling) for sibling in system.siblings]
    terms = {
        name: Measured(
            float(value), math.sqrt(sum((float(other[name]) - float(value)) ** 2 for other in others)), _kind(name)
        )
        for name, value in told.items()
        if name not in ("beyond table", "at limit")
    }
    of = terms.get
    card = system.plate
    margin = of("limit margin")
    return Prediction(
        terms["airflow"],
        of("rise"),
        of("outlet"),
        {name.removeprefix("drop "): term for name, term in terms.items() if name.startswith("drop ")},
        {name.removeprefix("tap "): term for name, term in terms.items() if name.startswith("tap ")},
        of("static"),
        of("limit body"),
        margin,
        None if margin is None else margin.si < 0,
        None if margin is None else 1 - margin.above(0.0),
        _within(of("rise"), card.rise_minimum, card.rise_maximum),
        _within(of("outlet"), None, card.outlet_maximum),
        _within(of("static"), None, card.static_maximum),
        bool(told["beyond table"]),
        bool(told["at limit"]),
    )


def told_by(system: System) -> dict[str, Any]:
    """Every predicted reading of a system as bare SI numbers, or arrays where the system holds arrays.

    Keys: "airflow", "input", "rise", "outlet", "static", "limit body", "limit margin", "drop <part>", "tap <place>",
    "beyond table", "at limit".
    """
    point = solve(system.path, system.fan, system.density)
    told: dict[str, Any] = {"airflow": point.airflow_si, "beyond table": point.beyond_table, "at limit": point.at_limit}
    told |= {f"drop {name}": drop for name, drop in point.drops_si.items()}
    told |= {f"tap {name}": pressure for name, pressure in point.taps_si.items()}
    if system.plate.counted:
        told["static"] = point.static_si(system.plate.counted)
    if system.heat is not None:
        told["input"] = system.heat.input
        told["rise"] = rise.si(system.heat.output, point.airflow_si, system.heat.sensible_factor)
        told["outlet"] = outlet_temperature.si(system.return_temperature, told["rise"])
        if system.limit is not None:
            told["limit body"] = limit_body.si(system.return_temperature, told["rise"], system.limit.body_factor)
            told["limit margin"] = system.limit.opens - told["limit body"]
    return told


def _kind(name: str) -> Any:
    if name in ("outlet", "limit body"):
        return TEMPERATURE
    if name in ("rise", "limit margin"):
        return TEMPERATURE_DIFFERENCE
    return {"airflow": AIRFLOW, "input": HEAT_RATE}.get(name, AIR_PRESSURE)


def _within(term: Measured | None, low: float | None, high: float | None) -> bool | None:
    if term is None or low is None and high is None:
        return None
    return (low is None or term.si >= low) and (high is None or term.si <= high)
