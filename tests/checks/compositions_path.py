"""Calls that a row of `rows_path.csv` needs more than one function for."""

from dataclasses import dataclass

from causebook.physics import air, duct, furnace
from causebook.physics.airpath import AirPath, operating_point, part_from_drop
from causebook.physics.fan import Fan, fan_table
from causebook.quantity import (
    AIR_PRESSURE,
    AIRFLOW,
    HEAT_RATE,
    LENGTH,
    ROUGHNESS,
    SHARE,
    SMALL_LENGTH,
    TEMPERATURE_DIFFERENCE,
    Quantity,
    parse,
    q,
)

ROOM = q(70, "degF")


@dataclass(frozen=True)
class RoundDuct:
    velocity: Quantity
    reynolds: float
    factor: float


def round_duct(airflow: str, diameter: str) -> RoundDuct:
    size, flow = parse(diameter, SMALL_LENGTH), parse(airflow, AIRFLOW)
    speed = duct.velocity(flow, duct.area(duct.round_duct(size)))
    reynolds = duct.STANDARD * speed.to("m/s").m * size.to("m").m / duct.VISCOSITY
    return RoundDuct(speed, reynolds, duct.friction_factor.si(reynolds, duct.GALVANIZED / size.to("m").m))


@dataclass(frozen=True)
class Section:
    equal_friction: Quantity
    hydraulic: Quantity
    area: Quantity
    round_area: Quantity


def roughness(category: str) -> Quantity:
    return Quantity(duct.ROUGHNESSES[category], "m")


def lies_within(constant: str, low: str, high: str) -> str:
    value = getattr(duct, constant)
    return "yes" if parse(low, ROUGHNESS).to("m").m <= value <= parse(high, ROUGHNESS).to("m").m * (1 + 1e-9) else "no"


@dataclass(frozen=True)
class TwoRoutes:
    equal_friction: Quantity
    hydraulic: Quantity


@dataclass(frozen=True)
class Design:
    available: Quantity
    rate: Quantity


def design(static: str, parts: str, effective_length: str) -> Design:
    drops = sum(float(part) for part in parts.split("+"))
    available = duct.available_static(parse(static, AIR_PRESSURE), q(drops, "inwc"))
    return Design(available, duct.design_friction_rate(available, parse(effective_length, LENGTH)))


def pressure_ratio(elevation: str) -> float:
    here = air.standard_pressure(parse(elevation, LENGTH))
    return float(here / air.standard_pressure(q(0, "foot")))


def factor_at(elevation: str) -> Quantity:
    return air.sensible_factor(ROOM, air.standard_pressure(parse(elevation, LENGTH)))


def rise(input: str, efficiency: str, airflow: str, elevation: str) -> Quantity:
    heat = furnace.output(parse(input, HEAT_RATE), parse(efficiency, SHARE))
    return furnace.rise(heat, parse(airflow, AIRFLOW), factor_at(elevation))


@dataclass(frozen=True)
class Airflow:
    right: Quantity
    from_input: Quantity


def airflow(input: str, efficiency: str, rise: str) -> Airflow:
    put_in, difference = parse(input, HEAT_RATE), parse(rise, TEMPERATURE_DIFFERENCE)
    heat = furnace.output(put_in, parse(efficiency, SHARE))
    return Airflow(
        furnace.airflow_from_rise(heat, difference, factor_at("0 ft")),
        furnace.airflow_from_rise(put_in, difference, factor_at("0 ft")),
    )


@dataclass(frozen=True)
class Window:
    low: Quantity
    high: Quantity


def window(output: str, rise_minimum: str, rise_maximum: str) -> Window:
    heat = parse(output, HEAT_RATE)
    low, high = (parse(text, TEMPERATURE_DIFFERENCE) for text in (rise_minimum, rise_maximum))
    return Window(
        furnace.minimum_airflow(heat, high, factor_at("0 ft")), furnace.airflow_from_rise(heat, low, factor_at("0 ft"))
    )


# A made-up blower, 0 to 1 in. w.c. in tenths, straight between the points.
GOLDEN = fan_table(
    [q(tenth / 10, "inwc") for tenth in range(11)],
    {"high": [q(cfm, "cfm") for cfm in (1490, 1450, 1400, 1340, 1270, 1190, 1090, 960, 790, 560, 0)]},
)
EXTERNAL = ("return", "filter", "coil", "supply")


@dataclass(frozen=True)
class Golden:
    airflow: Quantity
    return_static: Quantity
    supply_static: Quantity
    external: Quantity
    filter_drop: Quantity
    coil_drop: Quantity
    rise: Quantity
    supply: Quantity


def golden(
    filter: float = 0.10,
    return_: float = 0.08,
    coil: float = 0.20,
    supply: float = 0.10,
    input: str = "100000 Btu/h",
    speed: float = 1.0,
    times: float = 1.0,
    elevation: str = "0 ft",
) -> Golden:
    """Drops at 1200 cfm in standard air [in. w.c.]; 80 %, room at 70 °F."""
    drops = {"return": return_, "filter": filter, "coil": coil, "supply": supply}
    parts = [part_from_drop(name, q(times * drop, "inwc"), q(1200, "cfm")) for name, drop in drops.items()]
    density = pressure_ratio(elevation) * air.STANDARD_DENSITY
    point = operating_point(AirPath(tuple(parts[:2]), tuple(parts[2:])), Fan(GOLDEN, "high", speed), density)
    heat = furnace.output(parse(input, HEAT_RATE), q(80, "percent_"))
    difference = furnace.rise(heat, point.airflow, factor_at(elevation))
    return Golden(
        point.airflow,
        point.tap("after filter"),
        point.tap("before coil"),
        point.static(EXTERNAL),
        point.drop("filter"),
        point.drop("coil"),
        difference,
        furnace.outlet_temperature(ROOM, difference),
    )
