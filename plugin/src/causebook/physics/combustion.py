"""Burning fuel gas: the air it needs, what leaves through the flue, and the heat that leaves with it.

A balance of atoms and of enthalpy over complete combustion.  The analyzer reads dry gas; carbon monoxide is far
too little to matter in the balance.
"""

from __future__ import annotations

from dataclasses import dataclass

from causebook.physics.air import FREEZING, MASS_RATIO, STANDARD_PRESSURE, saturation_pressure, saturation_temperature
from causebook.physics.gas import GAS_BASE_TEMPERATURE, NATURAL_GAS, Fuel
from causebook.quantity import (
    ABSOLUTE_PRESSURE,
    CO_FRACTION,
    GAS_FRACTION,
    HEATING_VALUE,
    HUMIDITY_RATIO,
    SHARE,
    TEMPERATURE,
    Param,
    physical,
    si,
)

OXYGEN_IN_AIR = 0.20946  # of dry air, by volume
ANALYZER_OXYGEN = 0.209  # what analyzers and the air-free formula call fresh air
AIR_FREE_LIMIT = 0.18  # O2 above which the air-free figure is mostly the error of the reading
ROOM_HUMIDITY_RATIO = 0.0065  # of combustion air from indoors
GAS_CONSTANT = 8.314462618  # J/(mol K)
WATER_MOLAR_MASS = 0.01801528  # kg/mol
LIQUID_HEAT = 75.4  # J/(mol K), liquid water
MOLAR_VOLUME = GAS_CONSTANT * GAS_BASE_TEMPERATURE / STANDARD_PRESSURE  # m³/mol of a standard volume of gas

_CO = Param(CO_FRACTION, 0, 1)
_OXYGEN = Param(GAS_FRACTION, 0, ANALYZER_OXYGEN)
_FLUE = Param(TEMPERATURE, 273.15, 800)
_AIR = Param(TEMPERATURE, 233.15, 330)
_PRESSURE = Param(ABSOLUTE_PRESSURE, 50e3, 110e3)
_MOISTURE = Param(HUMIDITY_RATIO, 0, 0.03)

# ---------------------------------------------------------------- the balance


@dataclass(frozen=True, slots=True)
class _Stoichiometry:
    """Moles for one mole of fuel, burnt in just enough dry air."""

    carbon_dioxide: float
    water: float
    nitrogen: float
    air: float

    @property
    def dry(self) -> float:
        return self.carbon_dioxide + self.nitrogen


def _burn(fuel: Fuel) -> _Stoichiometry:
    # The carbon of carbon dioxide in the fuel is already burnt.
    carbon = fuel.mean("carbon")
    combustible = carbon - fuel.shares.get("carbon dioxide", 0.0)
    hydrogen = fuel.mean("hydrogen")
    air = (combustible + hydrogen / 4) / OXYGEN_IN_AIR
    return _Stoichiometry(carbon, hydrogen / 2, fuel.shares.get("nitrogen", 0.0) + air * (1 - OXYGEN_IN_AIR), air)


@physical(SHARE, oxygen=_OXYGEN)
def excess_air(oxygen: float, fuel: Fuel = NATURAL_GAS) -> float:
    """Air beyond the stoichiometric, from oxygen in dry flue gas (0 to 20.9 %).

    Not O2/(20.9 − O2), which is the share of air in the flue gas and stands higher.
    Source: balance of atoms with 20.946 % oxygen in air.
    """
    burnt = _burn(fuel)
    return oxygen * burnt.dry / (burnt.air * (OXYGEN_IN_AIR - oxygen))


@physical(GAS_FRACTION, oxygen=_OXYGEN)
def carbon_dioxide_at(oxygen: float, fuel: Fuel = NATURAL_GAS) -> float:
    """Carbon dioxide in dry flue gas that goes with an oxygen reading.

    Source: balance of atoms with 20.946 % oxygen in air.
    """
    burnt = _burn(fuel)
    return burnt.carbon_dioxide / burnt.dry * (1 - oxygen / OXYGEN_IN_AIR)


# ---------------------------------------------------------------- carbon monoxide


@physical(CO_FRACTION, monoxide=_CO, oxygen=Param(GAS_FRACTION, 0, AIR_FREE_LIMIT))
def air_free_monoxide(monoxide: float, oxygen: float) -> float:
    """Carbon monoxide as it would be without the excess air, from the reading and oxygen, both dry.

    Refused above 18 % oxygen, where a tenth of a point of oxygen changes the answer by several percent.
    Source: CO × 20.9 / (20.9 − O2), the form of 40 CFR 60 Appendix A, Method 19.
    """
    return monoxide * ANALYZER_OXYGEN / (ANALYZER_OXYGEN - oxygen)


# ---------------------------------------------------------------- water


@physical(TEMPERATURE, oxygen=_OXYGEN, pressure=_PRESSURE, humidity_ratio=_MOISTURE)
def flue_dew_point(
    oxygen: float,
    fuel: Fuel = NATURAL_GAS,
    pressure: float = STANDARD_PRESSURE,
    humidity_ratio: float = ROOM_HUMIDITY_RATIO,
) -> float:
    """Temperature at which flue gas begins to condense; `humidity_ratio` is that of the combustion air.

    Source: balance of atoms; saturation from ASHRAE Fundamentals 2017 ch. 1 eq. 5 and 6.
    """
    dry, water = _flue(fuel, oxygen, humidity_ratio)
    return saturation_temperature.si(pressure * water / (dry + water))


# ---------------------------------------------------------------- heat


@physical(
    SHARE,
    flue_temperature=_FLUE,
    oxygen=Param(GAS_FRACTION, 0, AIR_FREE_LIMIT),
    air_temperature=_AIR,
    pressure=_PRESSURE,
    humidity_ratio=_MOISTURE,
)
def stack_loss(
    flue_temperature: float,
    oxygen: float,
    air_temperature: float,
    fuel: Fuel = NATURAL_GAS,
    pressure: float = STANDARD_PRESSURE,
    humidity_ratio: float = ROOM_HUMIDITY_RATIO,
) -> float:
    """Share of the gross input that leaves with the flue gas, sensible and latent; jacket loss is not in it.

    Below the dew point the gas leaves saturated and what has condensed gives up its heat.  `humidity_ratio` is that
    of the combustion air.
    Source: enthalpy balance about the combustion air's temperature; ideal-gas heat capacities of Poling,
    Prausnitz and O'Connell, The Properties of Gases and Liquids, 5th ed., App. A.
    """
    burnt = _burn(fuel)
    spare = excess_air.si(oxygen, fuel) * burnt.air
    warm = {
        "carbon dioxide": burnt.carbon_dioxide,
        "nitrogen": burnt.nitrogen + spare * (1 - OXYGEN_IN_AIR),
        "oxygen": spare * OXYGEN_IN_AIR,
    }
    sensible = sum(moles * _warming(gas, air_temperature, flue_temperature) for gas, moles in warm.items())
    dry, water = _flue(fuel, oxygen, humidity_ratio)
    vapour = _vapour_left(dry, water, flue_temperature, pressure)
    brought = water - burnt.water
    evaporation = WATER_MOLAR_MASS * (2.501e6 - 2361.0 * (air_temperature - FREEZING))
    wet = (
        vapour * (evaporation + _warming("water", air_temperature, flue_temperature))
        - brought * evaporation
        + (water - vapour) * LIQUID_HEAT * (flue_temperature - air_temperature)
    )
    return (sensible + wet) / _gross(fuel)


@physical(
    SHARE,
    flue_temperature=_FLUE,
    oxygen=Param(GAS_FRACTION, 0, AIR_FREE_LIMIT),
    air_temperature=_AIR,
    pressure=_PRESSURE,
    humidity_ratio=_MOISTURE,
)
def combustion_efficiency(
    flue_temperature: float,
    oxygen: float,
    air_temperature: float,
    fuel: Fuel = NATURAL_GAS,
    pressure: float = STANDARD_PRESSURE,
    humidity_ratio: float = ROOM_HUMIDITY_RATIO,
) -> float:
    """Share of the gross input that does not leave with the flue gas: the basis of ratings in North America.

    Source: see `stack_loss`.
    """
    return 1 - stack_loss.si(flue_temperature, oxygen, air_temperature, fuel, pressure, humidity_ratio)


# Ideal-gas heat capacity over the gas constant, a0 + a1 T + … + a4 T⁴, 50 to 1000 K (Poling et al., App. A).
_HEAT_CAPACITY = {
    "nitrogen": (3.539, -0.261e-3, 0.007e-5, 0.157e-8, -0.099e-11),
    "oxygen": (3.630, -1.794e-3, 0.658e-5, -0.601e-8, 0.179e-11),
    "carbon dioxide": (3.259, 1.356e-3, 1.502e-5, -2.374e-8, 1.056e-11),
    "water": (4.395, -4.186e-3, 1.405e-5, -1.564e-8, 0.632e-11),
}


def _warming(gas: str, low: float, high: float) -> float:
    """Heat in J/mol to warm `gas` from `low` to `high`; argon counts as nitrogen, 0.3 % too much for air."""
    return GAS_CONSTANT * sum(
        a * (high ** (i + 1) - low ** (i + 1)) / (i + 1) for i, a in enumerate(_HEAT_CAPACITY[gas])
    )


def _flue(fuel: Fuel, oxygen: float, humidity_ratio: float) -> tuple[float, float]:
    """Moles of dry flue gas and of water, before any condenses, for one mole of fuel."""
    burnt = _burn(fuel)
    excess = excess_air.si(oxygen, fuel)
    moisture = burnt.air * (1 + excess) * humidity_ratio / MASS_RATIO
    return burnt.dry + excess * burnt.air, burnt.water + moisture


def _vapour_left(dry: float, water: float, flue_temperature: float, pressure: float) -> float:
    saturated = float(saturation_pressure.si(flue_temperature))
    return water if saturated >= pressure else min(water, dry * saturated / (pressure - saturated))


def _gross(fuel: Fuel) -> float:
    """Gross heating value in J/mol."""
    return si(fuel.gross_heating_value, HEATING_VALUE) * MOLAR_VOLUME
