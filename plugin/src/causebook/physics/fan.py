"""Blowers: what airflow they give against a static pressure.

A `Fan` is a printed table at one setting and one speed ratio; a `ConstantAirflow` is a motor that holds its airflow up
to its limit.  Both answer `flow(static, density)`, which never rises with the static pressure, so that a blower and
an air path meet in one point.  Nothing is extrapolated in silence: `beyond_table` says so.

Fan laws and density: ASHRAE Handbook, HVAC Systems and Equipment, chapter "Fans".  A fan moves the same volume at any
density; its pressure and power scale with the density.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, Protocol

import numpy as np
from scipy.optimize import brentq

from causebook.physics.air import STANDARD_DENSITY
from causebook.quantity import AIR_PRESSURE, AIRFLOW, DENSITY, RATIO, Param, Quantity, from_si, physical, show, si

STANDARD = si(STANDARD_DENSITY, DENSITY)
"""Rating density of fans [kg/m³]."""
LEVEL = 0.03
"""A printed airflow that rises with static by up to this share is read as level: constant-airflow motors hunt so."""

_FLOW = Param(AIRFLOW, 0.0, 50.0)
_STATIC = Param(AIR_PRESSURE, -500.0, 5000.0)
_DENSITY = Param(DENSITY, 0.2, 3.0)
_RATIO = Param(RATIO, 0.05, 5.0)


class Blower(Protocol):
    """Anything that moves air against a static pressure.  Bare numbers are SI; arrays broadcast."""

    def flow(self, static: Any, density: Any) -> Any:
        """Airflow [m³/s] against `static` [Pa]; never rises with it, never below zero."""

    def beyond_table(self, static: Any, density: Any) -> Any:
        """Is this static pressure outside what is printed?"""

    def at_limit(self, static: Any, density: Any) -> Any:
        """Has a constant-airflow motor reached its limit here?"""


@dataclass(frozen=True)
class Curve:
    """Airflow [m³/s] at rising static pressures [Pa] for one setting at full speed, straight between the points."""

    statics: tuple[float, ...]
    flows: tuple[float, ...]

    @cached_property
    def _extended(self) -> tuple[np.ndarray, np.ndarray]:
        """The points with one more at either end: the end slopes carried on to zero static and to zero airflow."""
        x, y = list(self.statics), list(self.flows)
        if x[0] > 0:
            first = (y[1] - y[0]) / (x[1] - x[0])
            x, y = [0.0, *x], [y[0] - first * x[0], *y]
        last = (y[-1] - y[-2]) / (x[-1] - x[-2])
        if last < 0 < y[-1]:
            x, y = [*x, x[-1] - y[-1] / last], [*y, 0.0]
        return np.array(x), np.array(y)

    def flow(self, static: Any) -> Any:
        """Airflow at a static pressure; beyond the ends the end slopes are carried on."""
        return np.interp(static, *self._extended)

    def beyond(self, static: Any) -> Any:
        """Is the static pressure outside the printed points?"""
        return (static < self.statics[0]) | (static > self.statics[-1])


@dataclass(frozen=True)
class FanTable:
    """Airflow by static pressure and setting, as printed; `density` [kg/m³] is the one it was printed for."""

    curves: Mapping[str, Curve]
    density: float = STANDARD

    @property
    def settings(self) -> tuple[str, ...]:
        """The settings it holds, as printed."""
        return tuple(self.curves)

    def curve(self, setting: str) -> Curve:
        """The curve of one setting; KeyError naming the known ones."""
        if setting not in self.curves:
            raise KeyError(f"setting is {setting!r}; the fan table holds {', '.join(self.curves)}")
        return self.curves[setting]


def fan_table(
    statics: Sequence[Quantity], airflows: Mapping[str, Sequence[Quantity | None]], density: Quantity = STANDARD_DENSITY
) -> FanTable:
    """A table from its columns: one airflow per static pressure for each setting, None where nothing is printed.

    ValueError, naming the setting and the static pressure, when a column is short, has fewer than two points, or its
    airflow rises with the static pressure by more than `LEVEL` (a slip in copying).
    """
    pressures = [_STATIC.read("static pressure", static) for static in statics]
    curves = {}
    for setting, column in airflows.items():
        if len(column) != len(pressures):
            raise ValueError(f"setting {setting!r} has {len(column)} airflows for {len(pressures)} static pressures")
        flows = [None if flow is None else _FLOW.read(f"airflow at setting {setting!r}", flow) for flow in column]
        points = sorted((p, f) for p, f in zip(pressures, flows, strict=True) if f is not None)
        curves[setting] = _curve(setting, points)
    return FanTable(curves, _DENSITY.read("density", density))


def _curve(setting: str, points: list[tuple[float, float]]) -> Curve:
    if len(points) < 2 or len({p for p, _ in points}) < len(points):
        raise ValueError(f"setting {setting!r} needs airflows at two or more different static pressures")
    flows: list[float] = []
    for static, flow in points:
        if flows and flow > flows[-1] * (1 + LEVEL):
            raise ValueError(
                f"setting {setting!r}: airflow is {show(from_si(flow, AIRFLOW), AIRFLOW)} at"
                f" {show(from_si(static, AIR_PRESSURE), AIR_PRESSURE)}; valid is at most that at the"
                f" static pressure before, {show(from_si(flows[-1], AIRFLOW), AIRFLOW)}"
            )
        flows.append(min(flow, flows[-1]) if flows else flow)
    if not flows[0] > 0:
        raise ValueError(f"setting {setting!r} has no airflow at its lowest static pressure")
    return Curve(tuple(p for p, _ in points), tuple(flows))


def scaled(table: FanTable, flow_factor: float) -> FanTable:
    """The same table with every airflow times `flow_factor`, for a blower known to give a share of its table."""
    factor = _RATIO.read("flow factor", flow_factor)
    return FanTable(
        {
            setting: Curve(curve.statics, tuple(factor * flow for flow in curve.flows))
            for setting, curve in table.curves.items()
        },
        table.density,
    )


@dataclass(frozen=True)
class Fan:
    """A blower with a printed table, at a setting and a speed ratio (1 = as printed; a number or an array)."""

    table: FanTable
    setting: str
    speed: Any = 1.0

    def __post_init__(self) -> None:
        self.table.curve(self.setting)

    def flow(self, static: Any, density: Any = STANDARD) -> Any:
        """Airflow [m³/s] at a static pressure [Pa], by the fan laws from the printed curve."""
        return self.speed * self.table.curve(self.setting).flow(self._printed(static, density))

    def beyond_table(self, static: Any, density: Any = STANDARD) -> Any:
        """Is the static pressure, brought back to the printed speed and density, outside the printed points?"""
        return self.table.curve(self.setting).beyond(self._printed(static, density))

    def at_limit(self, static: Any, density: Any = STANDARD) -> Any:
        """Never: this motor holds no airflow."""
        return np.zeros(np.shape(static), dtype=bool)[()]

    def _printed(self, static: Any, density: Any) -> Any:
        return static * (self.table.density / density) / self.speed**2


@dataclass(frozen=True)
class ConstantAirflow:
    """A motor that holds `airflow` [m³/s] up to `limit` [Pa] of static pressure, then gives what its power allows.

    Beyond the limit the air power (airflow × pressure) stays what it was at the limit.
    """

    airflow: Any
    limit: Any

    def flow(self, static: Any, density: Any = STANDARD) -> Any:
        """Airflow [m³/s] at a static pressure [Pa]."""
        return self.airflow * np.minimum(1.0, self.limit / np.maximum(static, 1e-9))

    def beyond_table(self, static: Any, density: Any = STANDARD) -> Any:
        """Never: the airflow is set, not read from a table."""
        return np.zeros(np.shape(static), dtype=bool)[()]

    def at_limit(self, static: Any, density: Any = STANDARD) -> Any:
        """Is the static pressure at or above what the motor can hold its airflow against?"""
        return static >= self.limit


# ------------------------------------------------------------------------------------- reading a table


@physical(RATIO, airflow=Param(AIRFLOW, 0.0, 50.0, open_low=True), static=_STATIC, density=_DENSITY)
def speed_ratio(fan: Fan, airflow: float, static: float, density: float = STANDARD) -> float:
    """The speed ratio at which a fan gives `airflow` at `static`: how strong a blower really is.

    1 is the table; 0.7 a blower that turns at seven tenths, or gives its air as if it did.  ValueError outside 0.2
    to 2, where the readings and the table cannot belong together.
    """

    def short(ratio: float) -> float:
        return float(replace(fan, speed=ratio).flow(static, density)) - airflow

    if short(0.2) > 0 or short(2.0) < 0:
        raise ValueError(
            f"airflow is {show(from_si(airflow, AIRFLOW), AIRFLOW)} at"
            f" {show(from_si(static, AIR_PRESSURE), AIR_PRESSURE)}; setting {fan.setting!r} gives that at"
            " no speed from 0.2 to 2 times the printed one"
        )
    return float(brentq(short, 0.2, 2.0, xtol=1e-13, rtol=1e-13))


# --------------------------------------------------------------------------------------------- fan laws
