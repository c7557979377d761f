"""Ducts: friction by Darcy-Weisbach and Colebrook, shapes, fittings, flex, building cavities, and their sizing.

Friction follows the ASHRAE Handbook, Fundamentals, chapter "Duct Design": pressure loss by Darcy-Weisbach, the
friction factor by Colebrook, from the roughness and the density that are really there.  Two ways through a shape
that is not round agree and may not be mixed: the equal-friction diameter with the airflow, or the hydraulic diameter
with the true velocity.  The functions that take a `Shape` use the second.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Protocol

import numpy as np
from scipy.optimize import brentq

from causebook.physics.air import STANDARD_DENSITY
from causebook.quantity import (
    AIR_PRESSURE,
    AIRFLOW,
    AREA,
    DENSITY,
    FRICTION_RATE,
    LENGTH,
    RATIO,
    ROUGHNESS,
    SHARE,
    SMALL_AREA,
    SMALL_LENGTH,
    VELOCITY,
    Param,
    Quantity,
    from_si,
    physical,
    show,
    si,
)

FOOT = 0.3048
INCH = 0.0254
VISCOSITY = 1.826e-5
"""Dynamic viscosity of air at about 70 °F [Pa·s]."""
STANDARD = si(STANDARD_DENSITY, DENSITY)
"""Rating density of ducts [kg/m³]."""
LAMINAR = 2000.0
"""Reynolds number below which flow in a duct is laminar; above it Colebrook is used at once, on the safe side."""

ROUGHNESSES: Mapping[str, float] = MappingProxyType(
    {
        # ASHRAE Handbook, Fundamentals, chapter "Duct Design", table of roughness categories [m].
        "smooth": 0.0001 * FOOT,
        "medium smooth": 0.00015 * FOOT,
        "average": 0.0003 * FOOT,
        "medium rough": 0.003 * FOOT,
        "rough": 0.01 * FOOT,
    }
)
GALVANIZED = ROUGHNESSES["average"]
"""Galvanised sheet metal with seams every 4 ft [m]."""
FLEX = ROUGHNESSES["medium rough"]
"""Flexible duct pulled tight, at the rough end of the published range [m]; slack is added by `flex_factor`."""
FRAMING = ROUGHNESSES["rough"]
"""Joists, studs and sheathing used as a duct [m]; common practice, no source: nails, splinters and gaps."""


_FLOW = Param(AIRFLOW, 0.0, 50.0, open_low=True)
_SIZE = Param(SMALL_LENGTH, 0.0, 5.0, open_low=True)
_ROUGH = Param(ROUGHNESS, 0.0, 0.02)
_DENSITY = Param(DENSITY, 0.2, 3.0)
_RATE = Param(FRICTION_RATE, 0.0, 1000.0, open_low=True)
_PRESSURE = Param(AIR_PRESSURE, 0.0, 5000.0)


# ------------------------------------------------------------------------------------------------- shapes


class Shape(Protocol):
    """A duct's cross section; bare numbers are SI."""

    @property
    def area_si(self) -> float:
        """Free area [m²]."""

    @property
    def perimeter_si(self) -> float:
        """Wetted perimeter [m]."""

    @property
    def equal_friction_si(self) -> float:
        """Diameter of the round duct with the same friction at the same airflow [m]."""


@dataclass(frozen=True, slots=True)
class Round:
    """A round duct by its diameter [m]."""

    diameter: float

    @property
    def area_si(self) -> float:
        """Free area [m²]."""
        return math.pi / 4 * self.diameter**2

    @property
    def perimeter_si(self) -> float:
        """Wetted perimeter [m]."""
        return math.pi * self.diameter

    @property
    def equal_friction_si(self) -> float:
        """Its own diameter [m]."""
        return self.diameter


@dataclass(frozen=True, slots=True)
class Rectangular:
    """A rectangular duct by its two sides [m]."""

    width: float
    height: float

    @property
    def area_si(self) -> float:
        """Free area [m²]."""
        return self.width * self.height

    @property
    def perimeter_si(self) -> float:
        """Wetted perimeter [m]."""
        return 2 * (self.width + self.height)

    @property
    def equal_friction_si(self) -> float:
        """1.30·(ab)^0.625 / (a+b)^0.25 [m]; ASHRAE Handbook, Fundamentals, "Duct Design" (Huebscher)."""
        return 1.30 * (self.width * self.height) ** 0.625 / (self.width + self.height) ** 0.25


@physical(None, diameter=_SIZE)
def round_duct(diameter: float) -> Round:
    """A round duct."""
    return Round(diameter)


@physical(None, width=_SIZE, height=_SIZE)
def rectangular_duct(width: float, height: float) -> Rectangular:
    """A rectangular duct; also a joist or stud bay by its clear width and depth."""
    return Rectangular(width, height)


def area(shape: Shape) -> Quantity:
    """Free area of a duct."""
    return from_si(shape.area_si, SMALL_AREA)


def hydraulic_diameter_si(shape: Shape) -> float:
    """4·A/P [m]."""
    return 4 * shape.area_si / shape.perimeter_si


# ----------------------------------------------------------------------------------------------- friction


@physical(RATIO, reynolds=Param(RATIO, 0.0, 1e9, open_low=True), relative_roughness=Param(RATIO, 0.0, 0.1))
def friction_factor(reynolds: Any, relative_roughness: Any) -> Any:
    """Darcy friction factor: Colebrook from Re 2000, 64/Re below (ASHRAE Fundamentals, "Duct Design").

    `relative_roughness` is roughness / hydraulic diameter.  Colebrook is solved by Newton's method on 1/√f from
    Haaland's explicit value; three steps reach machine precision.
    """
    turbulent = np.maximum(reynolds, LAMINAR)
    x = -1.8 * np.log10((relative_roughness / 3.7) ** 1.11 + 6.9 / turbulent)
    scale = 2.51 / turbulent
    for _ in range(3):
        inner = relative_roughness / 3.7 + scale * x
        residual = x + 2 * np.log10(inner)
        x = x - residual / (1 + 2 / math.log(10) * scale / inner)
    return np.where(reynolds < LAMINAR, 64 / np.asarray(reynolds), x**-2.0)[()]


@physical(VELOCITY, airflow=_FLOW, free_area=Param(AREA, 0.0, 50.0, open_low=True))
def velocity(airflow: Any, free_area: Any) -> Any:
    """Mean velocity, airflow / area."""
    return airflow / free_area


@physical(AIR_PRESSURE, speed=Param(VELOCITY, 0.0, 100.0), density=_DENSITY)
def velocity_pressure(speed: Any, density: Any = STANDARD) -> Any:
    """ρ·v²/2; in standard air (v / 4005 fpm)² in. w.c."""
    return density * speed**2 / 2


@physical(FRICTION_RATE, airflow=_FLOW, diameter=_SIZE, roughness=_ROUGH, density=_DENSITY)
def friction_rate(
    airflow: Any, diameter: Any, roughness: Any = GALVANIZED, density: Any = STANDARD, viscosity: float = VISCOSITY
) -> Any:
    """Pressure loss per length of a straight round duct, Darcy-Weisbach with Colebrook.

    `viscosity` is a bare number [Pa·s].
    """
    return _loss_per_length(airflow / (math.pi / 4 * diameter**2), diameter, roughness, density, viscosity)


@physical(FRICTION_RATE, airflow=_FLOW, roughness=_ROUGH, density=_DENSITY)
def friction_rate_in(
    shape: Shape, airflow: Any, roughness: Any = GALVANIZED, density: Any = STANDARD, viscosity: float = VISCOSITY
) -> Any:
    """Pressure loss per length of a straight duct of any shape: hydraulic diameter with the true velocity."""
    return _loss_per_length(airflow / shape.area_si, hydraulic_diameter_si(shape), roughness, density, viscosity)


def _loss_per_length(speed: Any, diameter: Any, roughness: Any, density: Any, viscosity: float) -> Any:
    reynolds = density * speed * diameter / viscosity
    return friction_factor.si(reynolds, roughness / diameter) / diameter * velocity_pressure.si(speed, density)


@physical(RATIO, diameter=Param(SMALL_LENGTH, 4 * INCH, 24 * INCH), compression=Param(SHARE, 0.0, 0.5))
def flex_factor(diameter: Any, compression: Any) -> Any:
    """How many times the loss of the stretched flexible duct: 1 + 0.58·K·e^(−0.126·D), K [%], D [in.].

    `compression` is the slack as a share of the stretched length; a duct laid flat and not pulled keeps about 4 %.
    ASHRAE Handbook, Fundamentals, "Duct Design", form from memory; tests scatter by 20 %.
    """
    return 1 + 0.58 * (100 * compression) * np.exp(-0.126 * diameter / INCH)


# ----------------------------------------------------------------------------------------------- fittings


@physical(AIR_PRESSURE, coefficient=Param(RATIO, 0.0, 100.0), speed=Param(VELOCITY, 0.0, 100.0), density=_DENSITY)
def fitting_loss(coefficient: Any, speed: Any, density: Any = STANDARD) -> Any:
    """Loss of a fitting, C times the velocity pressure."""
    return coefficient * velocity_pressure.si(speed, density)


@physical(
    LENGTH, coefficient=Param(RATIO, 0.0, 100.0), airflow=_FLOW, diameter=_SIZE, roughness=_ROUGH, density=_DENSITY
)
def equivalent_length(
    coefficient: Any, airflow: Any, diameter: Any, roughness: Any = GALVANIZED, density: Any = STANDARD
) -> Any:
    """Length of straight round duct with the loss of a fitting of coefficient C at the same airflow, C·D/f."""
    speed = airflow / (math.pi / 4 * diameter**2)
    return fitting_loss.si(coefficient, speed, density) / friction_rate.si(airflow, diameter, roughness, density)


@physical(AIR_PRESSURE, rate=_RATE, length=Param(LENGTH, 0.0, 1000.0))
def loss_over(rate: Any, length: Any) -> Any:
    """Loss of a length of duct, or of fittings given as equivalent length, at a friction rate."""
    return rate * length


# ------------------------------------------------------------------------------------------------- sizing


@physical(AIR_PRESSURE, static=_PRESSURE, parts=_PRESSURE)
def available_static(static: float, parts: float) -> float:
    """Static pressure left for the ducts: what the blower gives less the summed drops of the parts in the way.

    ValueError when the parts (coil, filter, registers, grilles) take it all.
    """
    if parts >= static:
        raise ValueError(
            f"the drop of the parts is {show(from_si(parts, AIR_PRESSURE), AIR_PRESSURE)}; valid is below"
            f" the static pressure there is, {show(from_si(static, AIR_PRESSURE), AIR_PRESSURE)}"
        )
    return static - parts


@physical(FRICTION_RATE, available=_PRESSURE, effective_length=Param(LENGTH, 0.0, 1000.0, open_low=True))
def design_friction_rate(available: float, effective_length: float) -> float:
    """Available static pressure over total effective length (straight length and fittings, return and supply)."""
    return available / effective_length


@physical(SMALL_LENGTH, airflow=_FLOW, rate=_RATE, roughness=_ROUGH, density=_DENSITY)
def round_size(airflow: float, rate: float, roughness: float = GALVANIZED, density: float = STANDARD) -> float:
    """Diameter of the round duct that carries `airflow` at the friction rate."""
    log = brentq(
        lambda x: math.log(friction_rate.si(airflow, math.exp(x), roughness, density) / rate),
        math.log(0.001),
        math.log(50.0),
        xtol=1e-12,
    )
    return math.exp(log)


@physical(SMALL_LENGTH, diameter=_SIZE, height=_SIZE)
def width_for(diameter: float, height: float) -> float:
    """Width of the rectangular duct of `height` with the friction of a round duct of `diameter`.

    ValueError when it would be more than eight times as wide as high, beyond which the equal-friction formula and
    good practice end.
    """

    def short(width: float) -> float:
        return Rectangular(width, height).equal_friction_si - diameter

    if short(8 * height) < 0:
        raise ValueError(
            f"the available height is {height / INCH:.3g} in.; a duct equal to {diameter / INCH:.3g} in."
            " round would be more than eight times as wide as high"
        )
    return float(brentq(short, 1e-6, 8 * height, xtol=1e-12))
