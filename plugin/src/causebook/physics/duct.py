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

FITTINGS: Mapping[str, float] = MappingProxyType(
    {
        # Loss coefficient on the velocity pressure in the duct.  ASHRAE Duct Fitting Database, from memory,
        # except the exit and the mitred elbow, which other handbooks share.
        "smooth elbow, r/D 1.5, 6 in": 0.14,
        "smooth elbow, r/D 1.5, 8 in and more": 0.11,
        "square elbow without vanes": 1.2,
        "exit into a plenum or a room": 1.0,
    }
)

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


@dataclass(frozen=True, slots=True)
class FlatOval:
    """A flat oval duct by its two outer dimensions [m]; the longer is `width`."""

    width: float
    height: float

    def __post_init__(self) -> None:
        if self.width < self.height:
            raise ValueError(
                f"the width of a flat oval duct is {self.width:g} m; valid is at least its height, {self.height:g} m"
            )

    @property
    def area_si(self) -> float:
        """Free area [m²]: two half circles and a rectangle."""
        return math.pi / 4 * self.height**2 + self.height * (self.width - self.height)

    @property
    def perimeter_si(self) -> float:
        """Wetted perimeter [m]."""
        return math.pi * self.height + 2 * (self.width - self.height)

    @property
    def equal_friction_si(self) -> float:
        """1.55·A^0.625 / P^0.25 [m]; ASHRAE Handbook, Fundamentals, "Duct Design" (Heyt and Diaz)."""
        return 1.55 * self.area_si**0.625 / self.perimeter_si**0.25


@physical(None, diameter=_SIZE)
def round_duct(diameter: float) -> Round:
    """A round duct."""
    return Round(diameter)


@physical(None, width=_SIZE, height=_SIZE)
def rectangular_duct(width: float, height: float) -> Rectangular:
    """A rectangular duct; also a joist or stud bay by its clear width and depth."""
    return Rectangular(width, height)


@physical(None, width=_SIZE, height=_SIZE)
def flat_oval_duct(width: float, height: float) -> FlatOval:
    """A flat oval duct; ValueError when `height` is more than `width`."""
    return FlatOval(width, height)


LUMBER_DEPTHS: Mapping[str, float] = MappingProxyType(
    {
        # Actual depth of nominal US lumber [m]; American Softwood Lumber Standard PS 20, from memory.
        "2x4": 3.5 * INCH,
        "2x6": 5.5 * INCH,
        "2x8": 7.25 * INCH,
        "2x10": 9.25 * INCH,
        "2x12": 11.25 * INCH,
    }
)
LUMBER_THICKNESS = 1.5 * INCH


@physical(None, spacing=_SIZE)
def framing_bay(lumber: str, spacing: float = 16 * INCH) -> Rectangular:
    """The cavity between two joists or studs of nominal size `lumber` ("2x10"), `spacing` centre to centre.

    KeyError with the known sizes named for any other lumber.
    """
    if lumber not in LUMBER_DEPTHS:
        raise KeyError(f"lumber is {lumber!r}; known are {', '.join(LUMBER_DEPTHS)}")
    return Rectangular(spacing - LUMBER_THICKNESS, LUMBER_DEPTHS[lumber])


def area(shape: Shape) -> Quantity:
    """Free area of a duct."""
    return from_si(shape.area_si, SMALL_AREA)


def hydraulic_diameter(shape: Shape) -> Quantity:
    """4·A/P.  True only together with the true velocity (airflow / area)."""
    return from_si(hydraulic_diameter_si(shape), SMALL_LENGTH)


def hydraulic_diameter_si(shape: Shape) -> float:
    """4·A/P [m]."""
    return 4 * shape.area_si / shape.perimeter_si


@physical(SMALL_LENGTH, width=_SIZE, height=_SIZE)
def equal_friction_diameter(width: float, height: float) -> float:
    """Round diameter with the friction of a rectangular duct at the same airflow, 1.30·(ab)^0.625/(a+b)^0.25."""
    return Rectangular(width, height).equal_friction_si


@physical(SMALL_LENGTH, width=_SIZE, height=_SIZE)
def equal_friction_diameter_oval(width: float, height: float) -> float:
    """Round diameter with the friction of a flat oval duct at the same airflow, 1.55·A^0.625/P^0.25."""
    return FlatOval(width, height).equal_friction_si


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


@physical(RATIO, upstream=Param(AREA, 0.0, 50.0, open_low=True), downstream=Param(AREA, 0.0, 50.0, open_low=True))
def sudden_expansion(upstream: float, downstream: float) -> float:
    """Loss coefficient on the upstream velocity pressure, (1 − A1/A2)² (Borda and Carnot).

    ValueError when the duct does not widen.
    """
    if upstream > downstream:
        raise ValueError(f"the area after a sudden expansion is {downstream:g} m²; valid is at least {upstream:g} m²")
    return (1 - upstream / downstream) ** 2


@physical(RATIO, upstream=Param(AREA, 0.0, 50.0, open_low=True), downstream=Param(AREA, 0.0, 50.0, open_low=True))
def sudden_contraction(upstream: float, downstream: float) -> float:
    """Loss coefficient on the downstream velocity pressure (Rennels and Hudson, Pipe Flow, sharp-edged contraction).

    0.0696·(1−β⁵)·λ² + (λ−1)² with λ = 1 + 0.622·(1 − 0.215β² − 0.785β⁵) and β² = A2/A1.  ValueError when the duct
    does not narrow.
    """
    if downstream > upstream:
        raise ValueError(f"the area after a sudden contraction is {downstream:g} m²; valid is at most {upstream:g} m²")
    beta = math.sqrt(downstream / upstream)
    jet = 1 + 0.622 * (1 - 0.215 * beta**2 - 0.785 * beta**5)
    return 0.0696 * (1 - beta**5) * jet**2 + (jet - 1) ** 2


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


@physical(AIRFLOW, diameter=_SIZE, rate=_RATE, roughness=_ROUGH, density=_DENSITY)
def capacity(diameter: float, rate: float, roughness: float = GALVANIZED, density: float = STANDARD) -> float:
    """Airflow that a round duct carries at the friction rate."""
    return capacity_of.si(Round(diameter), rate, roughness, density)


@physical(AIRFLOW, rate=_RATE, roughness=_ROUGH, density=_DENSITY)
def capacity_of(shape: Shape, rate: float, roughness: float = GALVANIZED, density: float = STANDARD) -> float:
    """Airflow that a duct of any shape carries at the friction rate."""
    log = brentq(
        lambda x: math.log(friction_rate_in.si(shape, math.exp(x), roughness, density) / rate),
        math.log(1e-7),
        math.log(1e4),
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
