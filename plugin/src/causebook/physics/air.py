"""Moist air at any pressure: density, heat, moisture, and what a volume of it carries.

The relations are those of the ASHRAE Handbook, Fundamentals (2017), chapter 1, with air as an ideal gas, written out
here rather than taken from a psychrometric library: they are a page of arithmetic, they work on arrays, and the
libraries then stand free to check them in the tests.  Against real-gas air the humidity ratio comes out at most
0.8 % low between 32 and 130 °F; the volume agrees within 0.1 %, and the sensible factor within 0.5 % in air with a
dew point up to 86 °F.

Enthalpy counts from dry air and liquid water at 0 °C (32 °F), for both systems of units.  Inch-pound tables
count dry air from 0 °F instead and so stand 7.69 Btu/lb higher; differences, which are all that is ever used,
are the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from causebook.quantity import (
    ABSOLUTE_PRESSURE,
    AIRFLOW,
    DENSITY,
    ENTHALPY,
    HUMIDITY_RATIO,
    LENGTH,
    SENSIBLE_FACTOR,
    SHARE,
    SPECIFIC_HEAT,
    SPECIFIC_VOLUME,
    TEMPERATURE,
    OutOfRange,
    Param,
    Quantity,
    from_si,
    physical,
    q,
    show,
    si,
)

STANDARD_PRESSURE = 101325.0  # Pa, at sea level
STANDARD_DENSITY = q(0.075, "lb/foot**3")  # the density at which fans and ducts are rated
FREEZING = 273.15  # K
TRIPLE_POINT = 273.16  # K; saturation is over ice below it
R_DRY_AIR = 287.042  # J/(kg K), Fundamentals 2017 ch. 1 eq. 1
MASS_RATIO = 0.621945  # molar mass of water over that of dry air, eq. 20
CP_DRY_AIR, CP_VAPOUR = 1006.0, 1860.0  # J/(kg K), eq. 28 to 30
VAPORISATION_AT_FREEZING = 2.501e6  # J/kg, eq. 30
TYPICAL_RELATIVE_HUMIDITY = 0.30  # a heated house in winter; common practice, no source

_ELEVATION = Param(LENGTH, -5000, 11000)
_TEMPERATURE = Param(TEMPERATURE, 173.15, 473.15)
_PRESSURE = Param(ABSOLUTE_PRESSURE, 20e3, 300e3)
_HUMIDITY = Param(HUMIDITY_RATIO, 0, 1)
_RELATIVE = Param(SHARE, 0, 1)


@physical(ABSOLUTE_PRESSURE, elevation=_ELEVATION)
def standard_pressure(elevation: float) -> float:
    """Pressure of the standard atmosphere at `elevation` above sea level (−5000 to 11,000 m).

    The weather moves the true pressure some 2 % about it.
    Source: ASHRAE Fundamentals 2017 ch. 1 eq. 3.
    """
    return STANDARD_PRESSURE * (1 - 2.25577e-5 * elevation) ** 5.2559


@physical(ABSOLUTE_PRESSURE, temperature=_TEMPERATURE)
def saturation_pressure(temperature: float) -> float:
    """Pressure of water vapour over ice (below 0.01 °C) or liquid water, −100 to 200 °C.

    Source: ASHRAE Fundamentals 2017 ch. 1 eq. 5 and 6 (Hyland and Wexler); tables agree within 0.03 %.
    """
    t = temperature
    over_ice = (
        -5.6745359e3 / t
        + 6.3925247
        - 9.677843e-3 * t
        + 6.2215701e-7 * t**2
        + 2.0747825e-9 * t**3
        - 9.484024e-13 * t**4
        + 4.1635019 * np.log(t)
    )
    over_water = (
        -5.8002206e3 / t
        + 1.3914993
        - 4.8640239e-2 * t
        + 4.1764768e-5 * t**2
        - 1.4452093e-8 * t**3
        + 6.5459673 * np.log(t)
    )
    return np.exp(np.where(t < TRIPLE_POINT, over_ice, over_water))[()]


@physical(TEMPERATURE, vapour_pressure=Param(ABSOLUTE_PRESSURE, 0.01, 1.5e6))
def saturation_temperature(vapour_pressure: float) -> float:
    """Temperature at which water vapour of this pressure begins to condense (or to form frost).

    Source: ASHRAE Fundamentals 2017 ch. 1 eq. 5 and 6, solved for the temperature.
    """
    return brentq(lambda t: float(np.log(saturation_pressure.si(t) / vapour_pressure)), 173.15, 473.15, xtol=1e-9)


@physical(HUMIDITY_RATIO, temperature=_TEMPERATURE, pressure=_PRESSURE)
def saturated_humidity_ratio(temperature: float, pressure: float) -> float:
    """Mass of water vapour with a mass of dry air when saturated; below the boiling point only.

    Raises OutOfRange at or above the boiling point.
    Source: ASHRAE Fundamentals 2017 ch. 1 eq. 21.
    """
    return _humidity_ratio(saturation_pressure.si(temperature), pressure)


@physical(HUMIDITY_RATIO, temperature=_TEMPERATURE, relative_humidity=_RELATIVE, pressure=_PRESSURE)
def humidity_ratio(temperature: float, relative_humidity: float, pressure: float) -> float:
    """Humidity ratio (water to dry air, by mass) from relative humidity (0 to 100 %).

    Source: ASHRAE Fundamentals 2017 ch. 1 eq. 12 and 20.
    """
    return _humidity_ratio(relative_humidity * saturation_pressure.si(temperature), pressure)


@physical(SHARE, temperature=_TEMPERATURE, humidity_ratio=_HUMIDITY, pressure=_PRESSURE)
def relative_humidity(temperature: float, humidity_ratio: float, pressure: float) -> float:
    """Vapour pressure as a share of that at saturation; above 100 % means fog.

    Source: ASHRAE Fundamentals 2017 ch. 1 eq. 12 and 20.
    """
    return vapour_pressure.si(humidity_ratio, pressure) / saturation_pressure.si(temperature)


@physical(ABSOLUTE_PRESSURE, humidity_ratio=_HUMIDITY, pressure=_PRESSURE)
def vapour_pressure(humidity_ratio: float, pressure: float) -> float:
    """Partial pressure of the water vapour in moist air.

    Source: ASHRAE Fundamentals 2017 ch. 1 eq. 36.
    """
    return pressure * humidity_ratio / (MASS_RATIO + humidity_ratio)


@physical(TEMPERATURE, humidity_ratio=Param(HUMIDITY_RATIO, 0, 1, open_low=True), pressure=_PRESSURE)
def dew_point(humidity_ratio: float, pressure: float) -> float:
    """Temperature to which the air must be cooled before it condenses; dry air has none and is refused.

    Source: ASHRAE Fundamentals 2017 ch. 1 eq. 36, solved on eq. 5 and 6.
    """
    return saturation_temperature.si(vapour_pressure.si(humidity_ratio, pressure))


@physical(TEMPERATURE, temperature=_TEMPERATURE, humidity_ratio=_HUMIDITY, pressure=_PRESSURE)
def wet_bulb(temperature: float, humidity_ratio: float, pressure: float) -> float:
    """Thermodynamic wet-bulb temperature.

    Raises OutOfRange for air that is already more than saturated.
    Source: ASHRAE Fundamentals 2017 ch. 1 eq. 33 and 35, solved for the wet bulb.
    """
    if relative_humidity.si(temperature, humidity_ratio, pressure) > 1 + 1e-9:
        raise OutOfRange(
            "humidity ratio",
            show(from_si(humidity_ratio, HUMIDITY_RATIO), HUMIDITY_RATIO),
            "at most that of saturated air",
        )
    return brentq(
        lambda t: _adiabatic_saturation(temperature, t, pressure) - humidity_ratio,
        temperature - 100,
        temperature + 1e-6,
        xtol=1e-7,
    )


@physical(SPECIFIC_VOLUME, temperature=_TEMPERATURE, pressure=_PRESSURE, humidity_ratio=_HUMIDITY)
def specific_volume(temperature: float, pressure: float, humidity_ratio: float = 0.0) -> float:
    """Volume of moist air for each unit mass of its dry air.

    Source: ASHRAE Fundamentals 2017 ch. 1 eq. 26.
    """
    return R_DRY_AIR * temperature * (1 + humidity_ratio / MASS_RATIO) / pressure


@physical(DENSITY, temperature=_TEMPERATURE, pressure=_PRESSURE, humidity_ratio=_HUMIDITY)
def density(temperature: float, pressure: float, humidity_ratio: float = 0.0) -> float:
    """Density of moist air, vapour included.

    Source: ASHRAE Fundamentals 2017 ch. 1 eq. 11 and 26.
    """
    return (1 + humidity_ratio) / specific_volume.si(temperature, pressure, humidity_ratio)


@physical(SPECIFIC_HEAT, humidity_ratio=_HUMIDITY)
def specific_heat(humidity_ratio: float = 0.0) -> float:
    """Heat to warm moist air by a degree, for each unit mass of its dry air.

    Source: ASHRAE Fundamentals 2017 ch. 1, the temperature term of eq. 30.
    """
    return CP_DRY_AIR + CP_VAPOUR * humidity_ratio


@physical(ENTHALPY, temperature=_TEMPERATURE, humidity_ratio=_HUMIDITY)
def enthalpy(temperature: float, humidity_ratio: float = 0.0) -> float:
    """Enthalpy of moist air for each unit mass of its dry air, from dry air and liquid water at 0 °C.

    Source: ASHRAE Fundamentals 2017 ch. 1 eq. 30.
    """
    celsius = temperature - FREEZING
    return CP_DRY_AIR * celsius + humidity_ratio * (VAPORISATION_AT_FREEZING + CP_VAPOUR * celsius)


@physical(SENSIBLE_FACTOR, temperature=_TEMPERATURE, pressure=_PRESSURE, humidity_ratio=_HUMIDITY)
def sensible_factor(temperature: float, pressure: float, humidity_ratio: float = 0.0) -> float:
    """Heat that warms a unit volume of this air by a degree: heat = factor × airflow × temperature difference.

    The airflow is the actual volume at this very state, so take the state where the flow was measured.  At sea
    level and 70 °F it is the trade's 1.08 Btu/(h·cfm·°F); it falls with altitude and with temperature.
    Source: ASHRAE Fundamentals 2017 ch. 1 eq. 26 and 30.
    """
    return specific_heat.si(humidity_ratio) / specific_volume.si(temperature, pressure, humidity_ratio)


@dataclass(frozen=True, slots=True)
class AirState:
    """Air at one place: its temperature, absolute pressure and humidity ratio; the rest follows from these."""

    temperature: Quantity
    pressure: Quantity
    humidity_ratio: Quantity

    @property
    def relative_humidity(self) -> Quantity:
        """Share of saturation."""
        return relative_humidity(self.temperature, self.humidity_ratio, self.pressure)

    @property
    def dew_point(self) -> Quantity:
        """Where it begins to condense."""
        return dew_point(self.humidity_ratio, self.pressure)

    @property
    def wet_bulb(self) -> Quantity:
        """Thermodynamic wet-bulb temperature."""
        return wet_bulb(self.temperature, self.humidity_ratio, self.pressure)

    @property
    def specific_volume(self) -> Quantity:
        """Volume for each unit mass of dry air."""
        return specific_volume(self.temperature, self.pressure, self.humidity_ratio)

    @property
    def density(self) -> Quantity:
        """Mass of moist air in a unit volume."""
        return density(self.temperature, self.pressure, self.humidity_ratio)

    @property
    def enthalpy(self) -> Quantity:
        """Heat content for each unit mass of dry air, from 0 °C."""
        return enthalpy(self.temperature, self.humidity_ratio)

    @property
    def sensible_factor(self) -> Quantity:
        """Heat that warms a unit of actual volume by a degree."""
        return sensible_factor(self.temperature, self.pressure, self.humidity_ratio)


@physical(None, temperature=_TEMPERATURE, elevation=_ELEVATION, relative_humidity=_RELATIVE)
def air_state(
    temperature: float, elevation: float = 0.0, relative_humidity: float = TYPICAL_RELATIVE_HUMIDITY
) -> AirState:
    """The state of air at a temperature and elevation, under standard pressure.

    Relative humidity is a winter house's 30 % unless given; between 0 and 60 % it moves the sensible factor by
    less than half a percent at 70 °F.
    Source: ASHRAE Fundamentals 2017 ch. 1 eq. 3, 12 and 20.
    """
    pressure = standard_pressure.si(elevation)
    moisture = humidity_ratio.si(temperature, relative_humidity, pressure)
    return AirState(
        from_si(temperature, TEMPERATURE), from_si(pressure, ABSOLUTE_PRESSURE), from_si(moisture, HUMIDITY_RATIO)
    )


@dataclass(frozen=True, slots=True)
class Stream:
    """Air on its way: its state and the actual volume of it that passes."""

    state: AirState
    airflow: Quantity


def mix(*streams: Stream) -> Stream:
    """The stream that several make when they join without gaining or losing heat, at one pressure.

    Mass, water and enthalpy are kept; volume is not.  Raises ValueError without a stream or when their pressures
    differ by more than 1 %, and OutOfRange for a negative airflow or none in all.
    Source: ASHRAE Fundamentals 2017 ch. 1, adiabatic mixing of two moist airstreams.
    """
    if not streams:
        raise ValueError("mixing needs at least one stream")
    pressure = si(streams[0].state.pressure, ABSOLUTE_PRESSURE)
    if any(abs(si(s.state.pressure, ABSOLUTE_PRESSURE) / pressure - 1) > 0.01 for s in streams):
        raise ValueError("the streams to be mixed stand at different pressures")
    flows = [Param(AIRFLOW, 0).read("airflow", s.airflow) for s in streams]
    if not sum(flows):
        raise OutOfRange("airflow", show(from_si(0.0, AIRFLOW), AIRFLOW), "above 0 cfm in at least one stream")
    masses = [flow / si(s.state.specific_volume, SPECIFIC_VOLUME) for flow, s in zip(flows, streams, strict=True)]
    moisture = _weighted([si(s.state.humidity_ratio, HUMIDITY_RATIO) for s in streams], masses)
    heat = _weighted([si(s.state.enthalpy, ENTHALPY) for s in streams], masses)
    celsius = (heat - moisture * VAPORISATION_AT_FREEZING) / specific_heat.si(moisture)
    temperature = celsius + FREEZING
    state = AirState(
        from_si(temperature, TEMPERATURE), from_si(pressure, ABSOLUTE_PRESSURE), from_si(moisture, HUMIDITY_RATIO)
    )
    return Stream(state, from_si(sum(masses) * specific_volume.si(temperature, pressure, moisture), AIRFLOW))


def _weighted(values: Sequence[float], weights: Sequence[float]) -> float:
    return sum(v * w for v, w in zip(values, weights, strict=True)) / sum(weights)


def _humidity_ratio(vapour: float, pressure: float) -> float:
    if np.any(vapour >= pressure):
        raise OutOfRange(
            "vapour pressure",
            show(from_si(np.max(vapour), ABSOLUTE_PRESSURE), ABSOLUTE_PRESSURE),
            f"below the total of {show(from_si(np.min(pressure), ABSOLUTE_PRESSURE), ABSOLUTE_PRESSURE)}",
        )
    return MASS_RATIO * vapour / (pressure - vapour)


def _adiabatic_saturation(temperature: float, wet_bulb: float, pressure: float) -> float:
    t, wet = temperature - FREEZING, wet_bulb - FREEZING
    saturated = saturated_humidity_ratio.si(wet_bulb, pressure)
    if wet >= 0:
        return float(((2501 - 2.326 * wet) * saturated - 1.006 * (t - wet)) / (2501 + 1.86 * t - 4.186 * wet))
    return float(((2830 - 0.24 * wet) * saturated - 1.006 * (t - wet)) / (2830 + 1.86 * t - 2.1 * wet))
