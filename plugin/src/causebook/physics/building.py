"""The house around the furnace: the heat it loses, the air the burner needs, where return air comes from and how much.

Legal floors and good design stand apart: a function or table named for a rule gives the least the rule allows,
and `area_for_velocity` what works quietly.  The adopted local code decides.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from causebook.physics.limits import read_table
from causebook.quantity import (
    AIR_CHANGES,
    AIRFLOW,
    AIRFLOW_PER_CAPACITY,
    AREA,
    COOLING_CAPACITY,
    DEGREE_DAYS,
    DENSITY,
    ENERGY,
    HEAT_LOSS_RATE,
    HEAT_RATE,
    LENGTH,
    RATIO,
    ROOM_PRESSURE,
    SENSIBLE_FACTOR,
    SHARE,
    SMALL_AREA,
    TEMPERATURE,
    U_VALUE,
    VELOCITY,
    VOLUME,
    OutOfRange,
    Param,
    Quantity,
    from_si,
    parse,
    physical,
    q,
    show,
)

BTU_PER_HOUR = 1055.05585262 / 3600  # W
CUBIC_FOOT = 0.3048**3  # m³

_HEAT = Param(HEAT_RATE, 0, 3e6)
_SOME_HEAT = Param(HEAT_RATE, 0, 3e6, open_low=True)
_RATE = Param(HEAT_LOSS_RATE, 0, 1e5, open_low=True)
_EFFICIENCY = Param(SHARE, 0.3, 1.0)
_ROOM = Param(TEMPERATURE, 273.15, 313.15)
_OUTDOOR = Param(TEMPERATURE, 213.15, 313.15)
_AIRFLOW = Param(AIRFLOW, 0, 20)
_SOME_AREA = Param(SMALL_AREA, 0, 20, open_low=True)
_SOME_VELOCITY = Param(VELOCITY, 0, 30, open_low=True)
_FREE = Param(SHARE, 0, 1, open_low=True)

# ---------------------------------------------------------------- heat loss from the envelope


@dataclass(frozen=True, slots=True)
class Surface:
    """A part of the envelope: its area and heat transmission (the inverse of its R-value)."""

    area: Quantity
    u_value: Quantity


def envelope_heat_loss_rate(surfaces: Sequence[Surface]) -> Quantity:
    """Heat lost through the envelope for each degree, the sum of area × U over its surfaces.

    Raises OutOfRange for a negative area or U.
    Source: ASHRAE Fundamentals 2017 ch. 17 and 18, steady conduction.
    """
    area, u_value = Param(AREA, 0, 1e5), Param(U_VALUE, 0, 20)
    return from_si(
        math.fsum(area.read("area", s.area) * u_value.read("u value", s.u_value) for s in surfaces), HEAT_LOSS_RATE
    )


@physical(AIRFLOW, volume=Param(VOLUME, 0, 1e5), air_changes=Param(AIR_CHANGES, 0, 20 / 3600))
def infiltration_by_air_change(volume: float, air_changes: float) -> float:
    """Outdoor air that enters a volume at a number of air changes.

    Source: definition of the air change.
    """
    return volume * air_changes


def _count(name: str, value: float, highest: int) -> None:
    if value not in range(1, highest + 1):
        raise OutOfRange(name, f"{value}", f"a whole number from 1 to {highest}")


@physical(HEAT_LOSS_RATE, airflow=_AIRFLOW, sensible_factor=Param(SENSIBLE_FACTOR, 100, 2000))
def airflow_heat_loss_rate(airflow: float, sensible_factor: float) -> float:
    """Heat that an exchange of air carries out for each degree; `sensible_factor` is `air.sensible_factor`.

    Source: ASHRAE Fundamentals 2017 ch. 16, sensible load of infiltration.
    """
    return airflow * sensible_factor


@physical(HEAT_RATE, heat_loss_rate=_RATE, balance_point=_ROOM, outdoor=_OUTDOOR)
def design_heat_loss(heat_loss_rate: float, balance_point: float, outdoor: float) -> float:
    """Heat the furnace must bring at an outdoor temperature; nothing above the balance point.

    Take the indoor temperature for `balance_point` to count no gains, as design calculations do.
    Source: steady balance.
    """
    return heat_loss_rate * max(balance_point - outdoor, 0.0)


# ---------------------------------------------------------------- heat loss from what the furnace did


@physical(HEAT_RATE, heat_input=_HEAT, efficiency=_EFFICIENCY, run_share=Param(SHARE, 0, 1))
def delivered_heat(heat_input: float, efficiency: float, run_share: float = 1.0) -> float:
    """Mean heat from a furnace that runs a share of the time.

    Source: definition of steady-state efficiency; cycling losses are not in it.
    """
    return heat_input * efficiency * run_share


@physical(HEAT_LOSS_RATE, delivered=_HEAT, indoor=_ROOM, outdoor=_OUTDOOR, gains=_HEAT)
def heat_loss_rate_from_run_time(delivered: float, indoor: float, outdoor: float, gains: float = 0.0) -> float:
    """Heat loss for each degree, from the mean heat a furnace delivered at steady indoor and outdoor temperatures.

    `gains` is the heat of people, appliances and sun.  Best on a cold, dull, calm night; refused with less than
    5 K between indoors and outdoors.
    Source: steady balance.
    """
    if indoor - outdoor < 5:
        raise OutOfRange(
            "outdoor",
            show(from_si(outdoor, TEMPERATURE), TEMPERATURE),
            f"at most {show(from_si(indoor - 5, TEMPERATURE), TEMPERATURE)}, 9 °F below indoors",
        )
    return (delivered + gains) / (indoor - outdoor)


@physical(TEMPERATURE, indoor=_ROOM, heat_loss_rate=_RATE, gains=_HEAT)
def balance_point(indoor: float, heat_loss_rate: float, gains: float) -> float:
    """Outdoor temperature above which the gains alone keep the house warm.

    Source: steady balance; ASHRAE Fundamentals 2017 ch. 19.
    """
    return indoor - gains / heat_loss_rate


@physical(
    HEAT_LOSS_RATE,
    fuel=Param(ENERGY, 0, 1e13),
    efficiency=_EFFICIENCY,
    degree_days=Param(DEGREE_DAYS, 0, 1e9, open_low=True),
    base_load=Param(ENERGY, 0, 1e13),
)
def heat_loss_rate_from_fuel(fuel: float, efficiency: float, degree_days: float, base_load: float = 0.0) -> float:
    """Heat loss for each degree, from the fuel burnt over a heating season.

    `base_load` is what hot water and cooking took of it; `degree_days` to the base that is the balance point.
    Raises OutOfRange when the base load is more than the fuel.
    Source: variable-base degree-day method, ASHRAE Fundamentals 2017 ch. 19.
    """
    if base_load > fuel:
        raise OutOfRange(
            "base load",
            show(from_si(base_load, ENERGY), ENERGY),
            f"at most the fuel burnt, {show(from_si(fuel, ENERGY), ENERGY)}",
        )
    return (fuel - base_load) * efficiency / degree_days


# ---------------------------------------------------------------- replacement


@physical(RATIO, output=_SOME_HEAT, design_loss=_SOME_HEAT)
def oversizing(output: float, design_loss: float) -> float:
    """Furnace output over design heat loss.

    Source: definition; `limits.LIMITS["oversizing_furnace"]` holds a ceiling in print.
    """
    return output / design_loss


# ---------------------------------------------------------------- cooling side


@physical(
    AIRFLOW,
    capacity=Param(COOLING_CAPACITY, 0, 1e5, open_low=True),
    airflow_per_capacity=Param(AIRFLOW_PER_CAPACITY, 0, 2e-4, open_low=True),
)
def cooling_airflow(capacity: float, airflow_per_capacity: float) -> float:
    """Airflow that a cooling coil asks for; 350 to 450 cfm/ton is usual, by the equipment's own table.

    Source: definition.
    """
    return capacity * airflow_per_capacity


_AIRFLOW_SHARE = Param(SHARE, 0.5, 1.2)


@physical(SHARE, airflow_share=_AIRFLOW_SHARE)
def cooling_capacity_share(airflow_share: float) -> float:
    """Cooling capacity that is left at a share of the rated airflow (50 to 120 %).

    Source: NREL/TP-5500-56354 curve of residential air conditioners; 5 % as physics.
    """
    return 0.718605468 + 0.410099989 * airflow_share - 0.128705457 * airflow_share**2


# ---------------------------------------------------------------- combustion air

STANDARD_VOLUME = 50 * CUBIC_FOOT / (1000 * BTU_PER_HOUR)  # m³/W
_LEAST_CHANGE = 0.40 / 3600  # 1/s, below which the standard method may not be used
_INFILTRATION = Param(AIR_CHANGES, 0.10 / 3600, 0.60 / 3600 * (1 + 1e-9))


@physical(VOLUME, heat_input=_HEAT, air_changes=Param(AIR_CHANGES, _LEAST_CHANGE * (1 - 1e-9)))
def combustion_volume_standard(heat_input: float, air_changes: float | None = None) -> float:
    """Indoor volume for all combustion air by the standard method: 50 ft³ for each 1000 Btu/h of all inputs in it.

    Refused when the house is known to change less than 0.40 of its air an hour.
    Source: NFPA 54 9.3.2.1, IFGC 304.5.1.
    """
    return STANDARD_VOLUME * heat_input


@physical(VOLUME, air_changes=_INFILTRATION, natural_draft=_HEAT, fan_assisted=_HEAT)
def combustion_volume_by_infiltration(
    air_changes: float, natural_draft: float = 0.0, fan_assisted: float = 0.0
) -> float:
    """Indoor volume for all combustion air at a known infiltration (0.10 to 0.60 air changes an hour).

    `natural_draft` is the input of appliances without a fan, `fan_assisted` of those with one; sealed combustion
    counts for neither.
    Source: NFPA 54 9.3.2.2, IFGC 304.5.2: 21 and 15 ft³/ACH for each 1000 Btu/h.  The floor of 0.10 is that of
    makers' tables.
    """
    hourly = air_changes * 3600
    return (21 * natural_draft + 15 * fan_assisted) / hourly * CUBIC_FOOT / (1000 * BTU_PER_HOUR)


@dataclass(frozen=True, slots=True)
class OpeningRule:
    """Openings that bring combustion air: how many, the input (Btu/h) that one square inch serves, a least area."""

    words: str
    count: int
    input_per_square_inch: float
    least_square_inches: float
    source: str


OPENINGS: Mapping[str, OpeningRule] = MappingProxyType(
    {
        "joining spaces": OpeningRule(
            "two openings to a space on the same storey, one high and one low", 2, 1000, 100, "NFPA 54 9.3.2.3"
        ),
        "outdoors, direct": OpeningRule("two openings or vertical ducts to the outdoors", 2, 4000, 0, "NFPA 54 9.3.3"),
        "outdoors, horizontal ducts": OpeningRule("two horizontal ducts to the outdoors", 2, 2000, 0, "NFPA 54 9.3.3"),
        "outdoors, single": OpeningRule("one opening to the outdoors near the top", 1, 3000, 0, "NFPA 54 9.3.3"),
    }
)


def opening_area(heat_input: Quantity, rule: str) -> Quantity:
    """Least free area of each opening for combustion air under the named rule of OPENINGS.

    `heat_input` is that of all appliances in the space.  Raises KeyError for an unknown rule.
    """
    if rule not in OPENINGS:
        raise KeyError(f"no rule {rule!r}; known are {', '.join(map(repr, OPENINGS))}")
    found = OPENINGS[rule]
    inches = _HEAT.read("heat input", heat_input) / BTU_PER_HOUR / found.input_per_square_inch
    return q(max(inches, found.least_square_inches), "inch**2")


# ---------------------------------------------------------------- return air: where from


@dataclass(frozen=True, slots=True)
class ReturnPlace:
    """A place return air might be taken from: never, or under a condition; the least distance and height if any."""

    id: str
    place: str
    permitted: str
    condition: str
    distance: Quantity | None
    height: Quantity | None
    share: Quantity | None
    code: str
    status: str


def _place(name: str, entry: Mapping[str, str]) -> ReturnPlace:
    distance, height = (parse(entry[key], LENGTH) if key in entry else None for key in ("distance", "height"))
    share = parse(entry["share"], SHARE) if "share" in entry else None
    return ReturnPlace(
        name,
        entry["place"],
        entry["permitted"],
        entry.get("condition", ""),
        distance,
        height,
        share,
        entry["code"],
        entry["status"],
    )


RETURN_PLACES: Mapping[str, ReturnPlace] = MappingProxyType(
    {name: _place(name, entry) for name, entry in read_table("return_places.yml").items()}
)

# ---------------------------------------------------------------- return air: legal floors


@dataclass(frozen=True, slots=True)
class CaliforniaReturn:
    """One row of California's return tables: cooling capacity, duct diameters, gross grille area, table."""

    capacity: Quantity
    ducts: tuple[Quantity, ...]
    grille_area: Quantity
    table: str


def _california(tons: float, inches: Sequence[float], area: float) -> CaliforniaReturn:
    ducts = tuple(q(diameter, "inch") for diameter in inches)
    table = "150.0-B" if len(ducts) == 1 else "150.0-C"
    return CaliforniaReturn(q(tons, "refrigeration_ton"), ducts, q(area, "inch**2"), table)


CALIFORNIA_RETURNS = (
    _california(1.5, (16,), 500),
    _california(2.0, (18,), 600),
    _california(2.5, (20,), 800),
    _california(1.5, (12, 10), 500),
    _california(2.0, (14, 12), 600),
    _california(2.5, (14, 14), 800),
    _california(3.0, (16, 14), 900),
    _california(3.5, (16, 16), 1000),
    _california(4.0, (18, 18), 1200),
    _california(5.0, (20, 20), 1500),
)


def california_return(capacity: Quantity, returns: int) -> CaliforniaReturn:
    """The row of California's tables for a cooling capacity with one or two returns: the next capacity up.

    Raises OutOfRange for a capacity beyond the table, or a number of returns the tables do not know.
    Source: California Energy Standards, Tables 150.0-B (one return) and 150.0-C (two); the row for 3 ton from memory.
    """
    _count("returns", returns, 2)
    rows = [row for row in CALIFORNIA_RETURNS if len(row.ducts) == returns]
    watts = [row.capacity.to("W").magnitude * (1 + 1e-9) for row in rows]
    wanted = Param(COOLING_CAPACITY, 0, watts[-1], open_low=True).read("capacity", capacity)
    return next(row for row, most in zip(rows, watts, strict=True) if most >= wanted)


# ---------------------------------------------------------------- return air: design values


@physical(VELOCITY, airflow=_AIRFLOW, area=_SOME_AREA, free_share=_FREE)
def face_velocity(airflow: float, area: float, free_share: float = 1.0) -> float:
    """Velocity on the face of a grille or filter, or through its free area where `free_share` is given.

    Source: airflow over area.
    """
    return airflow / (area * free_share)


@physical(SMALL_AREA, airflow=_AIRFLOW, velocity=_SOME_VELOCITY, free_share=_FREE)
def area_for_velocity(airflow: float, velocity: float, free_share: float = 1.0) -> float:
    """Gross area that keeps a velocity on the face, or through the free area where `free_share` is given.

    Source: airflow over velocity.
    """
    return airflow / (velocity * free_share)


@physical(
    SMALL_AREA, airflow=_AIRFLOW, pressure=Param(ROOM_PRESSURE, 0, 100, open_low=True), density=Param(DENSITY, 0.5, 2)
)
def transfer_area(airflow: float, pressure: float, density: float = 1.2) -> float:
    """Free area that passes air from a closed room at a pressure difference; about 0.55 in²/cfm at 3 Pa.

    Source: sharp-edged orifice with a discharge coefficient of 0.6, ASHRAE Fundamentals 2017 ch. 16.
    """
    return airflow / (0.6 * math.sqrt(2 * pressure / density))
