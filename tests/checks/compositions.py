"""Short chains of the project's own functions, where a published value needs more than one call."""

import math
from dataclasses import dataclass

from causebook.physics import air, building, circuit, combustion, duct, gas, limits
from causebook.quantity import (
    AIRFLOW,
    AIRFLOW_PER_CAPACITY,
    COOLING_CAPACITY,
    DEGREE_DAYS,
    DENSITY,
    ENERGY,
    ENTHALPY,
    GAS_FLOW,
    GAS_FRACTION,
    GAS_PRESSURE,
    HEAT_RATE,
    KINDS,
    LENGTH,
    RATIO,
    SENSIBLE_FACTOR,
    SHARE,
    SMALL_LENGTH,
    TEMPERATURE,
    TEMPERATURE_DIFFERENCE,
    VELOCITY,
    Param,
    Quantity,
    parse,
    physical,
    q,
)

# Inch-pound tables count dry air from 0 °F: 0.2403 Btu/(lb·°F) over the 32 °F to the freezing point.
INCH_POUND_DATUM = q(7.689, "btu_it/lb")


def convert(amount: str, kind: str, to: str) -> float:
    """The number that `amount`, as an author writes it, is in the unit `to`."""
    return float(parse(amount, KINDS[kind]).to(to).magnitude)


def inch_basis_error(published_pascals: float) -> Quantity:
    """How far the project's inch of water stands above another one."""
    return q(convert("1 inH2O", "air pressure", "Pa") / published_pascals - 1, "")


@physical(ENTHALPY, temperature=Param(TEMPERATURE), relative_humidity=Param(SHARE), elevation=Param(LENGTH))
def inch_pound_enthalpy(temperature: float, relative_humidity: float, elevation: float) -> float:
    """Enthalpy as inch-pound tables count it."""
    moisture = air.humidity_ratio.si(temperature, relative_humidity, air.standard_pressure.si(elevation))
    return air.enthalpy.si(temperature, moisture) + INCH_POUND_DATUM.to("J/kg").magnitude


@physical(
    TEMPERATURE,
    temperature=Param(TEMPERATURE),
    airflow=Param(AIRFLOW),
    other_temperature=Param(TEMPERATURE),
    other_airflow=Param(AIRFLOW),
)
def mixed_temperature(temperature: float, airflow: float, other_temperature: float, other_airflow: float) -> float:
    """Temperature of two dry streams joined at sea level."""
    parts = ((temperature, airflow), (other_temperature, other_airflow))
    streams = [air.Stream(air.air_state(q(t, "K"), q(0, "m"), q(0, "")), q(flow, "m**3/s")) for t, flow in parts]
    return float(air.mix(*streams).state.temperature.magnitude)


# ---------------------------------------------------------------- fuel gas and combustion

FUELS = {fuel.name: fuel for fuel in (gas.METHANE, gas.PROPANE, gas.NATURAL_GAS)}


def fuel(name: str) -> gas.Fuel:
    """A fuel by name."""
    return FUELS[name]


def gross_over_net(name: str) -> Quantity:
    """Ratio of the two heating values."""
    return FUELS[name].gross_heating_value / FUELS[name].net_heating_value


@physical(GAS_FLOW, manifold=Param(GAS_PRESSURE), specific_gravity=Param(RATIO))
def drill_flow(number: float, manifold: float, specific_gravity: float) -> float:
    """Flow of an orifice drilled with a number drill."""
    diameter = gas.drill_diameter(int(number)).to("m").magnitude
    return gas.orifice_flow.si(diameter, manifold, specific_gravity)


@physical(None, elevation=Param(LENGTH))
def derate(elevation: float, rule: str) -> Quantity:
    """Share of the rating by a rule."""
    return gas.derated_share(q(elevation, "m"), rule)


@physical(None, elevation=Param(LENGTH))
def derated_hundred_thousand(elevation: float, rule: str) -> Quantity:
    """What remains of 100,000 Btu/h."""
    return gas.derated_input(q(100_000, "btu_it/hour"), q(elevation, "m"), rule)


@physical(RATIO, oxygen=Param(GAS_FRACTION))
def fuel_factor(name: str, oxygen: float) -> float:
    """The plausibility ratio (20.9 − O2) / CO2."""
    return (0.209 - oxygen) / combustion.carbon_dioxide_at.si(oxygen, FUELS[name])


@dataclass(frozen=True)
class FlueGas:
    """Two figures that go with an oxygen reading."""

    excess_air: Quantity
    carbon_dioxide: Quantity


@physical(None, oxygen=Param(GAS_FRACTION))
def flue_gas(name: str, oxygen: float) -> FlueGas:
    """What goes with an oxygen reading."""
    reading = q(oxygen, "")
    return FlueGas(combustion.excess_air(reading, FUELS[name]), combustion.carbon_dioxide_at(reading, FUELS[name]))


@physical(TEMPERATURE, oxygen=Param(GAS_FRACTION))
def flue_dew_point(name: str, oxygen: float) -> float:
    """Dew point of the flue gas at sea level."""
    return combustion.flue_dew_point.si(oxygen, FUELS[name])


@dataclass(frozen=True)
class Stack:
    """Loss and efficiency, gross basis."""

    loss: Quantity
    efficiency: Quantity


@physical(None, flue_temperature=Param(TEMPERATURE), oxygen=Param(GAS_FRACTION), air_temperature=Param(TEMPERATURE))
def stack(name: str, flue_temperature: float, oxygen: float, air_temperature: float) -> Stack:
    """Loss and efficiency on gross heating value."""
    inputs = (flue_temperature, oxygen, air_temperature, FUELS[name])
    return Stack(q(combustion.stack_loss.si(*inputs), ""), q(combustion.combustion_efficiency.si(*inputs), ""))


# ---------------------------------------------------------------- house, limits, return air


def limit(id: str) -> limits.Limit:
    """An entry of the limits in print."""
    return limits.LIMITS[id]


def tenth_of_lower_limit(id: str) -> Quantity:
    """A tenth of the lower end of a flammable range."""
    low = limits.LIMITS[id].low
    assert low is not None
    return low / 10


def return_place(id: str) -> building.ReturnPlace:
    """A place return air might be taken from."""
    return building.RETURN_PLACES[id]


@dataclass(frozen=True)
class CaliforniaRow:
    """A row as it is printed."""

    ducts: str
    grille_area: Quantity


@physical(None, capacity=Param(COOLING_CAPACITY))
def california_row(capacity: float, returns: float) -> CaliforniaRow:
    """A row of California's tables, its ducts as text."""
    row = building.california_return(q(capacity, "W"), int(returns))
    return CaliforniaRow(" + ".join(f"{duct.m:g}" for duct in row.ducts), row.grille_area)


@physical(None, airflow_per_capacity=Param(AIRFLOW_PER_CAPACITY))
def california_velocities(airflow_per_capacity: float) -> circuit.Band:
    """Lowest and highest grille velocity that California's tables lead to."""
    found = [
        building.face_velocity(
            building.cooling_airflow(row.capacity, q(airflow_per_capacity, "m**3/s/W")), row.grille_area
        )
        for row in building.CALIFORNIA_RETURNS
    ]
    return circuit.Band(min(found), max(found))


@physical(None, heat_input=Param(HEAT_RATE))
def opening(heat_input: float, rule: str) -> Quantity:
    """Each opening for combustion air by a rule."""
    return building.opening_area(q(heat_input, "W"), rule)


@physical(AIRFLOW, airflow=Param(AIRFLOW), elevation=Param(LENGTH))
def same_mass_airflow(airflow: float, elevation: float) -> float:
    """Volume at an elevation with the mass that `airflow` has at sea level, dry and equally warm."""
    return (
        airflow
        * air.density.si(294.0, air.standard_pressure.si(0.0))
        / air.density.si(294.0, air.standard_pressure.si(elevation))
    )


@physical(
    HEAT_RATE, airflow=Param(AIRFLOW), sensible_factor=Param(SENSIBLE_FACTOR), difference=Param(TEMPERATURE_DIFFERENCE)
)
def infiltration_loss(airflow: float, sensible_factor: float, difference: float) -> float:
    """Heat that infiltration carries out at a temperature difference."""
    return building.airflow_heat_loss_rate.si(airflow, sensible_factor) * difference


@physical(
    HEAT_RATE,
    fuel=Param(ENERGY),
    base_load=Param(ENERGY),
    efficiency=Param(SHARE),
    degree_days=Param(DEGREE_DAYS),
    base=Param(TEMPERATURE),
    outdoor=Param(TEMPERATURE),
)
def design_loss_from_fuel(
    fuel: float, base_load: float, efficiency: float, degree_days: float, base: float, outdoor: float
) -> float:
    """Design heat loss from a season's fuel."""
    rate = building.heat_loss_rate_from_fuel.si(fuel, efficiency, degree_days, base_load)
    return building.design_heat_loss.si(rate, base, outdoor)


@physical(VELOCITY, density=Param(DENSITY))
def velocity_for_an_inch(density: float) -> float:
    """Velocity whose velocity pressure is one inch of water."""
    return math.sqrt(q(1, "inwc").to("Pa").magnitude / duct.velocity_pressure.si(1.0, density))


@physical(RATIO, airflow=Param(AIRFLOW), diameter=Param(SMALL_LENGTH), elevation=Param(LENGTH))
def friction_share(airflow: float, diameter: float, elevation: float) -> float:
    """Friction at an elevation over that at sea level, same volume and temperature."""
    standard = air.STANDARD_DENSITY.to("kg/m**3").magnitude
    thin = standard * air.standard_pressure.si(elevation) / air.standard_pressure.si(0.0)
    return duct.friction_rate.si(airflow, diameter, density=thin) / duct.friction_rate.si(airflow, diameter)


@physical(None, width=Param(SMALL_LENGTH), height=Param(SMALL_LENGTH))
def bay_area(width: float, height: float) -> Quantity:
    """Free area of a framing bay."""
    return duct.area(duct.Rectangular(width, height))


@physical(RATIO, airflow=Param(AIRFLOW), diameter=Param(SMALL_LENGTH), temperature=Param(TEMPERATURE))
def friction_share_hot(
    airflow: float, diameter: float, temperature: float, viscosity: float, cold_viscosity: float
) -> float:
    """Friction of warm air over that of air at 70 °F, same volume at sea level; viscosities in Pa·s."""
    pressure = air.standard_pressure.si(0.0)
    hot, cold = (
        duct.friction_rate.si(airflow, diameter, density=air.density.si(t, pressure), viscosity=v)
        for t, v in ((temperature, viscosity), (529.67 / 1.8, cold_viscosity))
    )
    return hot / cold
