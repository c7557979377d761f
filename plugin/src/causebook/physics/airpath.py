"""The air path: named parts in the order air meets them, each with its resistance, and where a blower meets them.

A part's drop is R·Qⁿ·(ρ/ρref).  Parts follow one another (`Series`) or lie side by side (`Parallel`: two returns, an
opening beside a duct).  Bare numbers are SI and may be arrays, so that one solve answers one house or ten thousand
variants of it.  Pressures at the taps are gauge pressures against the room, negative before the blower.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from causebook.physics.fan import STANDARD, Blower
from causebook.quantity import AIR_PRESSURE, AIRFLOW, AREA, DENSITY, RATIO, Param, Quantity, from_si, physical

TURBULENT = 2.0
"""Exponent of a part whose loss follows the velocity pressure."""
NEXT_TO_NOTHING = 1e-9
"""Resistance taken for a removed part where an airflow is asked from a drop [Pa/(m³/s)ⁿ]."""

_FLOW = Param(AIRFLOW, 0.0, 50.0, open_low=True)
_DROP = Param(AIR_PRESSURE, 0.0, 5000.0)
_DENSITY = Param(DENSITY, 0.2, 3.0)
_EXPONENT = Param(RATIO, 1.0, 2.0)


# -------------------------------------------------------------------------------------------------- parts


@dataclass(frozen=True, slots=True)
class Part:
    """One part: drop = `resistance`·Q^`exponent`·(ρ/`reference_density`); SI, numbers or arrays.

    The exponent lies between 1 (laminar, fine filter media) and 2 (fittings, grilles, openings).  ValueError for
    another one or a negative resistance.
    """

    name: str
    resistance: Any
    exponent: float = TURBULENT
    reference_density: float = STANDARD

    def __post_init__(self) -> None:
        if not np.all(np.isfinite(self.resistance)) or np.any(np.less(self.resistance, 0)):
            raise ValueError(f"the resistance of {self.name} is {self.resistance}; valid is 0 or more")
        if not 1 <= self.exponent <= 2:
            raise ValueError(f"the exponent of {self.name} is {self.exponent}; valid is 1 to 2")

    @property
    def parts(self) -> tuple[Part, ...]:
        """Itself."""
        return (self,)

    def at_flow(self, flow: Any, density: Any) -> tuple[Any, Any]:
        """Drop [Pa] at an airflow [m³/s], and d ln(drop) / d ln(flow)."""
        return self.resistance * flow**self.exponent * (density / self.reference_density), self.exponent

    def at_drop(self, drop: Any, density: Any) -> tuple[Any, Any]:
        """Airflow [m³/s] at a drop [Pa], and d ln(drop) / d ln(flow)."""
        resistance = _pick(self.resistance, NEXT_TO_NOTHING, largest=True)
        return (drop * self.reference_density / (density * resistance)) ** (1 / self.exponent), self.exponent

    def each(self, change: Callable[[Part], Part]) -> Part:
        """The part that `change` makes of it."""
        return change(self)


@dataclass(frozen=True, slots=True)
class Series:
    """Elements one after the other: the same air passes all, the drops add up."""

    name: str
    elements: tuple[Element, ...]

    @property
    def parts(self) -> tuple[Part, ...]:
        """The parts in it, in order."""
        return tuple(part for element in self.elements for part in element.parts)

    def at_flow(self, flow: Any, density: Any) -> tuple[Any, Any]:
        """Drop [Pa] at an airflow [m³/s], and d ln(drop) / d ln(flow): the exponents weighted by the drops."""
        total, weighted = 0.0, 0.0
        for element in self.elements:
            drop, slope = element.at_flow(flow, density)
            total, weighted = total + drop, weighted + drop * slope
        return total, weighted / _pick(total, 1e-300, largest=True)

    def at_drop(self, drop: Any, density: Any) -> tuple[Any, Any]:
        """Airflow [m³/s] at a drop [Pa], and d ln(drop) / d ln(flow)."""
        start = self.elements[0].at_drop(drop, density)[0]
        for element in self.elements[1:]:
            start = _pick(start, element.at_drop(drop, density)[0])
        return _log_newton(lambda flow: self.at_flow(flow, density), drop, start)

    def each(self, change: Callable[[Part], Part]) -> Series:
        """The same with every part changed."""
        return replace(self, elements=tuple(element.each(change) for element in self.elements))


@dataclass(frozen=True, slots=True)
class Parallel:
    """Branches side by side: the same drop over all, the airflows add up.

    With equal exponents 1/R^(1/n) is the sum of the branches' 1/R^(1/n); with unequal ones it is solved.
    ValueError for a branch without any resistance, beside which nothing would flow.
    """

    name: str
    branches: tuple[Element, ...]

    def __post_init__(self) -> None:
        for branch in self.branches:
            if not np.all(sum(np.asarray(part.resistance) for part in branch.parts) > 0):
                raise ValueError(f"the resistance of {branch.name}, a branch of {self.name}, is 0; valid is above 0")

    @property
    def parts(self) -> tuple[Part, ...]:
        """The parts in all branches, in order."""
        return tuple(part for branch in self.branches for part in branch.parts)

    def at_flow(self, flow: Any, density: Any) -> tuple[Any, Any]:
        """Drop [Pa] at an airflow [m³/s], and d ln(drop) / d ln(flow)."""
        start = self.branches[0].at_flow(flow / len(self.branches), density)[0]
        for branch in self.branches[1:]:
            start = _pick(start, branch.at_flow(flow / len(self.branches), density)[0])

        def flow_at(drop: Any) -> tuple[Any, Any]:
            found, slope = self.at_drop(drop, density)
            return found, 1 / slope

        drop, slope = _log_newton(flow_at, flow, start)
        return drop, 1 / slope

    def at_drop(self, drop: Any, density: Any) -> tuple[Any, Any]:
        """Airflow [m³/s] at a drop [Pa], and d ln(drop) / d ln(flow)."""
        total, weighted = 0.0, 0.0
        for branch in self.branches:
            flow, slope = branch.at_drop(drop, density)
            total, weighted = total + flow, weighted + flow / slope
        return total, total / weighted

    def split(self, flow: Any, density: Any = STANDARD) -> dict[str, Any]:
        """Airflow [m³/s] of each branch when `flow` passes all of them together."""
        drop, _ = self.at_flow(flow, density)
        return {branch.name: branch.at_drop(drop, density)[0] for branch in self.branches}

    def each(self, change: Callable[[Part], Part]) -> Parallel:
        """The same with every part changed."""
        return replace(self, branches=tuple(branch.each(change) for branch in self.branches))


Element = Part | Series | Parallel


def _pick(one: Any, other: Any, largest: bool = False) -> Any:
    """The smaller (or larger) of two, number by number; plain numbers stay plain, which is ten times as fast."""
    if isinstance(one, float) and isinstance(other, float):
        return max(one, other) if largest else min(one, other)
    return np.maximum(one, other) if largest else np.minimum(one, other)


def _log_newton(function: Callable[[Any], tuple[Any, Any]], target: Any, start: Any) -> tuple[Any, Any]:
    """Where a function reaches `target`, and its logarithmic slope there, by Newton's method in logarithms.

    `function` gives its value and its logarithmic slope.  One step is exact for a power law.  The slopes of parts lie
    within a factor two of each other, so that the steps contract; the error left is of the order of the last step's
    square.
    """
    place = start
    for _ in range(60):
        value, slope = function(place)
        ratio = target / value
        if isinstance(ratio, float):
            step = math.log(ratio) / slope
            place, far = place * math.exp(step), abs(step)
        else:
            step = np.log(ratio) / slope
            place, far = place * np.exp(step), np.max(np.abs(step))
        if far < 1e-8:
            break
    return place, slope


# --------------------------------------------------------------------------------------------------- path


@dataclass(frozen=True, slots=True)
class AirPath:
    """Elements before the blower, from the room on, and after it, back to the room, in the order air meets them.

    ValueError when two parts share a name.
    """

    before: tuple[Element, ...]
    after: tuple[Element, ...]

    def __post_init__(self) -> None:
        names = [part.name for part in self.parts]
        if double := {name for name in names if names.count(name) > 1}:
            raise ValueError(f"the air path holds more than one part called {', '.join(sorted(double))}")

    @property
    def elements(self) -> tuple[Element, ...]:
        """All elements in the direction of flow."""
        return self.before + self.after

    @property
    def parts(self) -> tuple[Part, ...]:
        """All parts in the direction of flow."""
        return tuple(part for element in self.elements for part in element.parts)

    def part(self, name: str) -> Part:
        """The part called `name`; KeyError naming those there are."""
        for part in self.parts:
            if part.name == name:
                return part
        raise KeyError(f"part is {name!r}; the air path holds {', '.join(part.name for part in self.parts)}")

    def drop(self, flow: Any, density: Any = STANDARD) -> Any:
        """Drop [Pa] of all elements at an airflow [m³/s]: what the blower has to give."""
        return self.at_flow(flow, density)[0]

    def at_flow(self, flow: Any, density: Any = STANDARD) -> tuple[Any, Any]:
        """Drop [Pa] of all elements at an airflow [m³/s], and d ln(drop) / d ln(flow)."""
        return Series("air path", self.elements).at_flow(flow, density)

    def each(self, change: Callable[[Part], Part]) -> AirPath:
        """The same path with every part changed."""
        return AirPath(
            tuple(element.each(change) for element in self.before),
            tuple(element.each(change) for element in self.after),
        )

    def scaled(self, multipliers: Mapping[str, Any]) -> AirPath:
        """The same path with the resistance of named parts multiplied, by numbers or by arrays of one shape."""
        for name in multipliers:
            self.part(name)
        return self.each(
            lambda part: (
                replace(part, resistance=part.resistance * multipliers[part.name]) if part.name in multipliers else part
            )
        )


@dataclass(frozen=True, slots=True)
class OperatingPoint:
    """Where blower and air path meet.  `*_si` are bare SI numbers, or arrays for many paths at once.

    `drops_si` holds every part, `Series` and `Parallel` by name; `taps_si` the gauge pressure "before" and "after" each
    of them.
    """

    airflow_si: Any
    drops_si: Mapping[str, Any]
    taps_si: Mapping[str, Any]
    beyond_table: Any
    """The static pressure lies outside the printed fan table: the airflow is extrapolated."""
    at_limit: Any
    """A constant-airflow motor no longer holds its airflow."""

    @property
    def airflow(self) -> Quantity:
        """Airflow."""
        return from_si(self.airflow_si, AIRFLOW)

    def drop(self, name: str) -> Quantity:
        """Pressure drop of a part, or of all branches side by side."""
        return from_si(self.drops_si[name], AIR_PRESSURE)

    def tap(self, name: str) -> Quantity:
        """Gauge pressure at a tap, such as "after filter" or "before coil"."""
        return from_si(self.taps_si[name], AIR_PRESSURE)

    def static(self, counted: tuple[str, ...]) -> Quantity:
        """Static pressure across a boundary: the summed drops of the parts it counts as external."""
        return from_si(self.static_si(counted), AIR_PRESSURE)

    def static_si(self, counted: tuple[str, ...]) -> Any:
        """The same as a bare number [Pa]."""
        return sum(self.drops_si[name] for name in counted)


@physical(None, density=_DENSITY)
def operating_point(path: AirPath, fan: Blower, density: float = STANDARD) -> OperatingPoint:
    """Where the blower and the air path meet, at one density of the air all along."""
    return solve(path, fan, density)


def solve(path: AirPath, fan: Blower, density: Any = STANDARD) -> OperatingPoint:
    """`operating_point` on bare SI numbers; resistances, speed and density may be arrays of one shape.

    The path is taken as the power law that it is at the last airflow, that law is met with the blower, and the path
    looked at again there; exact at once where all exponents are equal.
    """
    free = fan.flow(0.0, density)
    flow = free
    drop, slope = path.at_flow(flow, density)
    for _ in range(60):
        met = _meet(fan, free, flow, drop, slope, density)
        expected = drop * (met / flow) ** slope
        flow = met
        drop, slope = path.at_flow(flow, density)
        if np.all(np.abs(drop - expected) <= 1e-10 * drop):
            break
    drops: dict[str, Any] = {}
    taps: dict[str, Any] = {}
    pressure: Any = 0.0
    for element in path.before:
        pressure = _walk(element, flow, pressure, density, drops, taps)
    pressure = pressure + drop
    for element in path.after:
        pressure = _walk(element, flow, pressure, density, drops, taps)
    return OperatingPoint(flow, drops, taps, fan.beyond_table(drop, density), fan.at_limit(drop, density))


def _meet(fan: Blower, free: Any, flow: Any, drop: Any, slope: Any, density: Any) -> Any:
    """Airflow where a blower meets the power law that has `drop` and `slope` at `flow`.

    What the blower gives at the pressure an airflow needs, less that airflow, falls all the way and at least one for
    one, from `free` at zero: false position (Illinois variant) within zero and `free`, and what is left bounds the
    error.
    """

    def left(q: Any) -> Any:
        return fan.flow(drop * (q / flow) ** slope, density) - q

    low, high = free * 0.0, free
    at_low, at_high = free, left(free)
    enough = 1e-12 * np.max(free)
    side: Any = 0
    for _ in range(200):
        place = high - at_high * (high - low) / (at_high - at_low)
        found = left(place)
        if np.max(np.abs(found)) <= enough:
            break
        new_side = np.where(found > 0, 1, -1)
        again = new_side == side
        # The value at an end that stays for a second time is halved, so that both ends close in.
        at_high = np.where(found > 0, np.where(again, at_high / 2, at_high), found)
        at_low = np.where(found > 0, found, np.where(again, at_low / 2, at_low))
        low, high = np.where(found > 0, place, low), np.where(found > 0, high, place)
        side = new_side
    return place


def _walk(element: Element, flow: Any, pressure: Any, density: Any, drops: dict[str, Any], taps: dict[str, Any]) -> Any:
    """Note the drop of an element and all within it, and the pressures around each; the pressure after it."""
    drop, _ = element.at_flow(flow, density)
    drops[element.name] = drop
    taps[f"before {element.name}"], taps[f"after {element.name}"] = pressure, pressure - drop
    if isinstance(element, Series):
        within = pressure
        for inner in element.elements:
            within = _walk(inner, flow, within, density, drops, taps)
    elif isinstance(element, Parallel):
        for branch in element.branches:
            _walk(branch, branch.at_drop(drop, density)[0], pressure, density, drops, taps)
    return pressure - drop


# -------------------------------------------------------------------------------- parts from readings


@physical(None, drop=_DROP, airflow=_FLOW, exponent=_EXPONENT, density=_DENSITY)
def part_from_drop(name: str, drop: Any, airflow: Any, exponent: float = TURBULENT, density: float = STANDARD) -> Part:
    """The part that shows `drop` at `airflow` in air of `density`."""
    return Part(name, drop / airflow**exponent, exponent, density)


@physical(None, area=Param(AREA, 0.0, 10.0, open_low=True), coefficient=Param(RATIO, 0.3, 1.0), density=_DENSITY)
def opening(name: str, area: Any, coefficient: float = 0.6, density: float = STANDARD) -> Part:
    """A sharp-edged opening of free `area`: Δp = ρ/2·(Q/(C·A))² (orifice equation; C 0.6, common practice)."""
    return Part(name, density / 2 / (coefficient * area) ** 2, TURBULENT, density)


@physical(AIR_PRESSURE, drop=_DROP, airflow=_FLOW, at=_FLOW, exponent=_EXPONENT)
def drop_at(drop: Any, airflow: Any, at: Any, exponent: Any = TURBULENT) -> Any:
    """A drop read at one airflow, brought to another: drop·(Q2/Q1)ⁿ."""
    return drop * (at / airflow) ** exponent


@physical(
    RATIO,
    drop=_DROP,
    airflow=_FLOW,
    clean_drop=Param(AIR_PRESSURE, 0.0, 5000.0, open_low=True),
    clean_airflow=_FLOW,
    exponent=_EXPONENT,
)
def times_clean(drop: Any, airflow: Any, clean_drop: Any, clean_airflow: Any, exponent: Any = TURBULENT) -> Any:
    """How many times its clean drop a part has, both brought to one airflow; 1 is clean."""
    return drop / drop_at.si(clean_drop, clean_airflow, airflow, exponent)
