"""The what-if engine: a furnace and its air path, changed, then asked what would be read in it.

`apply` makes the system after any set of changes, `told_by` says what would be read.  Numbers may be arrays of one
shape, a variant in each row.  Uncertainty is carried so: row 0 is the best estimate, each further row has one uncertain
value moved by its standard uncertainty (`in_rows`), and `rows_differ` is the root of the summed squares of what the
rows say differently (GUM, JCGM 100:2008, 5.1.3 note 2), so that errors which cancel in a comparison do cancel.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from causebook.physics.airpath import AirPath, Element, Parallel, Part, Series, solve
from causebook.physics.fan import Blower, Fan
from causebook.physics.furnace import limit_body, outlet_temperature, rise
from causebook.quantity import HEAT_RATE, RATIO, SHARE, TEMPERATURE, Param, Quantity

_HEAT = Param(HEAT_RATE, 0.0, 1e6, open_low=True)
_EFFICIENCY = Param(SHARE, 0.3, 1.0)
_LIFT = Param(RATIO, 1.0, 10.0)
_TEMPERATURE = Param(TEMPERATURE, 200.0, 600.0)


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
    """What the rating plate allows; bare SI numbers, None where it says nothing."""

    rise_minimum: float | None = None
    rise_maximum: float | None = None
    outlet_maximum: float | None = None
    static_maximum: float | None = None
    counted: tuple[str, ...] = ()
    """Parts that the static maximum counts as external: its boundary."""


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
        system = _changed(system, change)
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


# ------------------------------------------------------------------------------------------------ readings


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


def across(systems: Sequence[System], column: Callable[..., Any]) -> System:
    """One system of what `column` makes of each number of systems of one form: its values in them -> the new value."""
    first = systems[0]

    def of(read: Callable[[Any], Any]) -> Any:
        return column(*(read(system) for system in systems))

    heat, limit, fan = first.heat, first.limit, first.fan
    if not isinstance(fan, Fan):
        raise TypeError("only the blower of a fan table stands in rows")
    return replace(
        first,
        path=first.path.each(lambda part: replace(part, resistance=of(lambda s: s.path.part(part.name).resistance))),
        fan=replace(fan, speed=of(lambda s: s.fan.speed)),
        heat=heat and replace(heat, input=of(lambda s: s.heat.input), efficiency=of(lambda s: s.heat.efficiency)),
        limit=limit
        and replace(
            limit,
            opens=of(lambda s: s.limit.opens),
            closes=of(lambda s: s.limit.closes),
            body_factor=of(lambda s: s.limit.body_factor),
        ),
        return_temperature=of(lambda s: s.return_temperature),
    )


def in_rows(systems: Sequence[System]) -> System:
    """Systems of one form as one whose numbers are arrays, a row for each."""
    return across(systems, lambda *values: np.array(values, dtype=float))


def with_rows(system: System, extra: int) -> System:
    """The same rows and `extra` more of row 0."""
    return across([system], lambda rows: np.concatenate([rows, np.repeat(rows[:1], extra)]))


def rows_differ(rows: Any) -> float:
    """Standard uncertainty of row 0: the root of the summed squares of what the other rows say differently."""
    off = np.ravel(rows) - np.ravel(rows)[0]
    return math.sqrt(float(off @ off))
