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
    HEAT_RATE,
    HEATING_VALUE,
    HUMIDITY_RATIO,
    MASS_FLOW,
    RATIO,
    SHARE,
    TEMPERATURE,
    OutOfRange,
    Param,
    Quantity,
    from_si,
    physical,
    show,
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


def stoichiometric_air(fuel: Fuel = NATURAL_GAS) -> Quantity:
    """Dry air that burns a volume of fuel completely, as a ratio of volumes at one state.

    Source: balance of atoms with 20.946 % oxygen in air.
    """
    return from_si(_burn(fuel).air, RATIO)


def ultimate_carbon_dioxide(fuel: Fuel = NATURAL_GAS) -> Quantity:
    """Carbon dioxide in dry flue gas when there is no air to spare: the most it can be.

    Source: balance of atoms with 20.946 % oxygen in air.
    """
    burnt = _burn(fuel)
    return from_si(burnt.carbon_dioxide / burnt.dry, GAS_FRACTION)


@physical(SHARE, oxygen=_OXYGEN)
def excess_air(oxygen: float, fuel: Fuel = NATURAL_GAS) -> float:
    """Air beyond the stoichiometric, from oxygen in dry flue gas (0 to 20.9 %).

    Not O2/(20.9 − O2), which is the share of air in the flue gas and stands higher.
    Source: balance of atoms with 20.946 % oxygen in air.
    """
    burnt = _burn(fuel)
    return oxygen * burnt.dry / (burnt.air * (OXYGEN_IN_AIR - oxygen))


@physical(SHARE, carbon_dioxide=Param(GAS_FRACTION, 0.002, 0.25))
def excess_air_from_carbon_dioxide(carbon_dioxide: float, fuel: Fuel = NATURAL_GAS) -> float:
    """Air beyond the stoichiometric, from carbon dioxide in dry flue gas.

    Raises OutOfRange above the ultimate carbon dioxide of the fuel.
    Source: balance of atoms with 20.946 % oxygen in air.
    """
    burnt = _burn(fuel)
    _refuse_more_than_ultimate(carbon_dioxide, burnt.carbon_dioxide / burnt.dry)
    return (burnt.carbon_dioxide / carbon_dioxide - burnt.dry) / burnt.air


@physical(GAS_FRACTION, excess=Param(SHARE, 0, 100))
def oxygen_at(excess: float, fuel: Fuel = NATURAL_GAS) -> float:
    """Oxygen in dry flue gas at an excess of air.

    Source: balance of atoms with 20.946 % oxygen in air.
    """
    burnt = _burn(fuel)
    return OXYGEN_IN_AIR * excess * burnt.air / (burnt.dry + excess * burnt.air)


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


@physical(
    CO_FRACTION,
    monoxide=_CO,
    carbon_dioxide=Param(GAS_FRACTION, 0, 0.25, open_low=True),
    ultimate=Param(GAS_FRACTION, 0.05, 0.25),
)
def air_free_monoxide_from_carbon_dioxide(monoxide: float, carbon_dioxide: float, ultimate: float) -> float:
    """The same from carbon dioxide and the fuel's ultimate carbon dioxide.

    Raises OutOfRange above the ultimate, and below the carbon dioxide that goes with 18 % oxygen.
    Source: CO × ultimate CO2 / CO2, dilution by excess air alone.
    """
    _refuse_more_than_ultimate(carbon_dioxide, ultimate)
    if carbon_dioxide < ultimate * (1 - AIR_FREE_LIMIT / ANALYZER_OXYGEN):
        raise OutOfRange(
            "carbon dioxide",
            show(from_si(carbon_dioxide, GAS_FRACTION), GAS_FRACTION),
            "at least what goes with 18 % oxygen",
        )
    return monoxide * ultimate / carbon_dioxide


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


@physical(MASS_FLOW, heat_input=Param(HEAT_RATE, 0, 3e6))
def water_formed(heat_input: float, fuel: Fuel = NATURAL_GAS) -> float:
    """Water that the hydrogen of the fuel becomes, at a gross heat input.

    Source: balance of atoms.
    """
    return heat_input / _gross(fuel) * _burn(fuel).water * WATER_MOLAR_MASS


@physical(
    MASS_FLOW,
    heat_input=Param(HEAT_RATE, 0, 3e6),
    flue_temperature=_FLUE,
    oxygen=_OXYGEN,
    pressure=_PRESSURE,
    humidity_ratio=_MOISTURE,
)
def condensate(
    heat_input: float,
    flue_temperature: float,
    oxygen: float,
    fuel: Fuel = NATURAL_GAS,
    pressure: float = STANDARD_PRESSURE,
    humidity_ratio: float = ROOM_HUMIDITY_RATIO,
) -> float:
    """Water condensed when flue gas leaves saturated at `flue_temperature`; none above its dew point.

    Real exchangers catch some 5 to 10 % less than this equilibrium.
    Source: balance of atoms; saturation from ASHRAE Fundamentals 2017 ch. 1 eq. 5 and 6.
    """
    dry, water = _flue(fuel, oxygen, humidity_ratio)
    left = _vapour_left(dry, water, flue_temperature, pressure)
    return heat_input / _gross(fuel) * (water - left) * WATER_MOLAR_MASS


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


@physical(SHARE, efficiency=Param(SHARE, 0, 1))
def efficiency_on_net_basis(efficiency: float, fuel: Fuel = NATURAL_GAS) -> float:
    """An efficiency on gross heating value as one on net heating value, which is higher and may pass 100 %.

    Analyzers set for Europe show this one; never compare it with a North American rating.
    Source: the same useful heat over the net heating value.
    """
    return efficiency * _gross(fuel) / _net(fuel)


@physical(SHARE, efficiency=Param(SHARE, 0, 1.12))
def efficiency_on_gross_basis(efficiency: float, fuel: Fuel = NATURAL_GAS) -> float:
    """The other way round: an efficiency on net heating value as one on gross heating value."""
    return efficiency * _net(fuel) / _gross(fuel)


def latent_share(fuel: Fuel = NATURAL_GAS) -> Quantity:
    """Share of the gross heating value that only condensing can recover."""
    return from_si(1 - _net(fuel) / _gross(fuel), SHARE)


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


def _net(fuel: Fuel) -> float:
    return si(fuel.net_heating_value, HEATING_VALUE) * MOLAR_VOLUME


def _refuse_more_than_ultimate(carbon_dioxide: float, ultimate: float) -> None:
    if carbon_dioxide > ultimate * (1 + 1e-9):
        raise OutOfRange(
            "carbon dioxide",
            show(from_si(carbon_dioxide, GAS_FRACTION), GAS_FRACTION),
            f"at most the fuel's ultimate {show(from_si(ultimate, GAS_FRACTION), GAS_FRACTION)}",
        )
