"""Worked air path: taps, parts, blower against duct, filters, returns, duct sizes."""

from __future__ import annotations

from collections.abc import Mapping

from causebook import quantity as qty
from causebook.casefile.sizes import Size
from causebook.knowledge import load
from causebook.physics import airpath, building, duct, fan, furnace
from causebook.physics.air import air_state
from causebook.quantity import Quantity, q
from causebook.sizing.return_air import DUCT_VELOCITY, GRILLE_VELOCITY
from causebook.workings.airflow import AIRFLOW, ELEVATION, RETURN, SENSIBLE, factor_line
from causebook.workings.forms import Both, Free, Many, One, Opening, Table, words_of
from causebook.workings.model import Field, Line, Worked, Working

TAPS = {
    "1": "behind the return grille",
    "2": "before the filter",
    "3": "after the filter",
    "4": "in the blower box",
    "5": "at the furnace outlet",
    "6": "after the coil",
    "7": "at the end of the trunk",
    "8": "behind a register",
}
PARTS = {("2", "3"): "Filter", ("3", "4"): "Furnace inlet", ("5", "6"): "Coil"}
BOUNDARIES = {"filter and coil": ("3", "5"), "coil": ("2", "5"), "filter": ("3", "6"), "neither": ("2", "6")}
"""What the rating counts as external beside the ducts -> the last tap before the rated box and the first after it."""
DARCY = "Darcy-Weisbach and Colebrook, ASHRAE Handbook, Fundamentals, duct design"


def _taps(taps: Mapping[str, Quantity], external: str) -> Worked:
    unknown = sorted(set(taps) - set(TAPS))
    if unknown:
        raise ValueError(f"there is no tap {unknown[0]}; taps are 1 to 8, numbered with the air")
    first, last = BOUNDARIES[external]
    if missing := [tap for tap in (first, last) if tap not in taps]:
        raise ValueError(
            f"with {external} external, the rating counts from tap {first} to tap {last}; tap {missing[0]},"
            f" {TAPS[missing[0]]}, was not read"
        )
    read = {tap: qty.si(pressure, qty.AIR_PRESSURE) for tap, pressure in taps.items()}
    order = [tap for tap in TAPS if tap in read]
    for before, after in zip(order, order[1:], strict=False):
        if not int(before) <= 4 < int(after) and read[after] > read[before]:
            raise ValueError(
                f"the pressure rises from tap {before} to tap {after}, and no blower stands between them:"
                " a hose is swapped or a tap misplaced"
            )
    steps = [
        Line(name, _pressure(read[a] - read[b]), qty.AIR_PRESSURE, f"tap {a} − tap {b}")
        for (a, b), name in PARTS.items()
        if a in read and b in read
    ]
    if "2" in read:
        steps.insert(0, Line("Return, grille and duct", _pressure(-read["2"]), qty.AIR_PRESSURE, "room − tap 2"))
    if "6" in read:
        steps.append(Line("Supply, ducts and registers", _pressure(read["6"]), qty.AIR_PRESSURE, "tap 6 − room"))
    return Worked(
        (Line("External static", _pressure(read[last] - read[first]), qty.AIR_PRESSURE, f"tap {last} − tap {first}"),),
        tuple(steps),
        f"The rating counts {external.replace('neither', 'neither filter nor coil')} as external: it is compared"
        f" with tap {last} less tap {first}, and with nothing else.",
    )


def _pressure(pascals: float) -> Quantity:
    return qty.from_si(pascals, qty.AIR_PRESSURE)


def _drop_at_airflow(
    drop: Quantity, airflow: Quantity, at: Quantity, exponent: Quantity, clean: Quantity | None
) -> Worked:
    moved = airpath.drop_at(drop, airflow, at, exponent)
    results = [Line("Drop there", moved, qty.AIR_PRESSURE, "drop × (airflow there ÷ airflow)ⁿ")]
    if clean is not None:
        results.append(
            Line(
                "Times its clean drop",
                airpath.times_clean(drop, airflow, clean, at, exponent),
                qty.RATIO,
                "drop there ÷ clean drop there",
            )
        )
    return Worked(
        tuple(results),
        (
            Line(
                "Airflow ratio",
                q(qty.si(at, qty.AIRFLOW) / qty.si(airflow, qty.AIRFLOW), ""),
                qty.RATIO,
                "airflow there ÷ airflow",
            ),
        ),
    )


def _operating_point(
    fan_table: Mapping[Quantity, Quantity],
    parts: Mapping[str, tuple[Quantity, Quantity]],
    exponents: Mapping[str, Quantity] | None,
    beside: Mapping[str, tuple[Quantity, Quantity]] | None,
    external: tuple[str, ...] | None,
    speed: Quantity,
    output: Quantity | None,
    elevation: Quantity,
    return_air: Quantity,
) -> Worked:
    exponents, beside = exponents or {}, beside or {}
    for name in (*exponents, *beside, *(external or ())):
        if name not in parts:
            raise ValueError(f"there is no part {name!r}; the parts are {', '.join(parts)}")

    def element(name: str) -> airpath.Element:
        power = qty.si(exponents[name], qty.RATIO) if name in exponents else airpath.TURBULENT
        own = airpath.part_from_drop(name, *parts[name], q(power, ""))
        if name not in beside:
            return own
        return airpath.Parallel(
            f"{name} and the one beside it", (own, airpath.part_from_drop(f"second {name}", *beside[name]))
        )

    elements = {name: element(name) for name in parts}
    table = fan.fan_table(list(fan_table), {"as printed": list(fan_table.values())})
    blower = fan.Fan(table, "as printed", qty.si(speed, qty.SHARE))
    met = airpath.operating_point(
        airpath.AirPath((), tuple(elements.values())), blower, air_state(return_air, elevation).density
    )
    static = met.static(tuple(elements[name].name for name in external or parts))
    results = [
        Line("Airflow", met.airflow, qty.AIRFLOW, "where the blower's curve meets the sum of the drops"),
        Line("External static", static, qty.AIR_PRESSURE, f"drops of {', '.join(external or parts)}"),
    ]
    steps = [
        Line(f"Drop of the {name}", met.drop(part.name), qty.AIR_PRESSURE, "drop read × (airflow ÷ airflow read at)ⁿ")
        for name, part in elements.items()
    ]
    if output is not None:
        factor = factor_line(elevation, return_air)
        steps.append(factor)
        results.append(
            Line(
                "Rise",
                furnace.rise(output, met.airflow, factor.value),
                qty.TEMPERATURE_DIFFERENCE,
                "heat into the air ÷ (sensible factor × airflow)",
            )
        )
    return Worked(
        tuple(results),
        tuple(steps),
        "It lies beyond the printed fan table: an extrapolation." if met.beyond_table else "",
    )


def _filter_face(airflow: Quantity, size: Size, most: Quantity) -> Worked:
    return Worked(
        (
            Line("Face velocity", building.face_velocity(airflow, size.area), qty.VELOCITY, "airflow ÷ face area"),
            Line(
                "Area for the highest velocity",
                building.area_for_velocity(airflow, most),
                qty.SMALL_AREA,
                "airflow ÷ highest velocity",
            ),
        )
    )


def _return_size(
    airflow: Quantity,
    output: Quantity,
    opening: Size,
    duct_velocity: Quantity,
    face_velocity: Quantity,
    elevation: Quantity,
) -> Worked:
    floor = load().constants["return-area-floor"]
    least = (Quantity(floor.value, floor.unit) * output).to("inch**2")
    design = building.area_for_velocity(airflow, duct_velocity)
    density = air_state(q(70, "degF"), elevation).density
    speed, at_floor = (building.face_velocity(airflow, area) for area in (opening.area, least))
    loss = duct.velocity_pressure(speed, density)
    return Worked(
        (
            Line("Duct area by design", design, qty.SMALL_AREA, "airflow ÷ velocity in the duct"),
            Line("Legal floor of the duct", least, qty.SMALL_AREA, "2 in² for each 1000 Btu/h of output"),
            Line(
                "Grille by design",
                building.area_for_velocity(airflow, face_velocity),
                qty.SMALL_AREA,
                "airflow ÷ velocity on the grille, gross area",
            ),
        ),
        (
            Line("Velocity as found", speed, qty.VELOCITY, "airflow ÷ smallest area"),
            Line("Velocity pressure as found", loss, qty.AIR_PRESSURE, "density × velocity² ÷ 2"),
            Line("Velocity at the legal floor", at_floor, qty.VELOCITY, "airflow ÷ legal floor"),
        ),
        "The floor is what a code accepts, not what a blower can live with; local code decides.",
    )


def _friction_rate(
    static: Quantity,
    parts: Mapping[str, Quantity],
    length: Quantity,
    airflow: Quantity,
    height: Quantity | None,
    made_of: str,
) -> Worked:
    together = _pressure(sum(qty.si(p, qty.AIR_PRESSURE) for p in parts.values()))
    available = duct.available_static(static, together)
    rate = duct.design_friction_rate(available, length)
    size = duct.round_size(airflow, rate, q(ROUGHNESSES[made_of], "m"))
    results = [
        Line("Friction rate", rate, qty.FRICTION_RATE, "static left ÷ effective length"),
        Line("Round duct", size, qty.SMALL_LENGTH, "the size with that friction at this airflow"),
    ]
    if height is not None:
        results.append(
            Line(
                "Width of a rectangular duct",
                duct.width_for(size, height),
                qty.SMALL_LENGTH,
                "equal friction at the same airflow",
            )
        )
    return Worked(
        tuple(results),
        (
            Line("Drops of the parts", together, qty.AIR_PRESSURE, "added up"),
            Line("Static left for the ducts", available, qty.AIR_PRESSURE, "static − parts"),
            Line(
                "Velocity in the round duct",
                duct.velocity(airflow, duct.area(duct.round_duct(size))),
                qty.VELOCITY,
                "airflow ÷ area",
            ),
        ),
    )


ROUGHNESSES = {"sheet metal": duct.GALVANIZED, "flex, pulled tight": duct.FLEX, "joists and studs": duct.FRAMING}
ROUGHNESS = Field("made-of", "Made of", words_of(*ROUGHNESSES, what="a duct material"), otherwise="sheet metal")


def _shape(size: Size) -> duct.Shape:
    if size.diameter is not None:
        return duct.round_duct(size.diameter)
    if size.width is None or size.height is None:
        raise ValueError("an area has no friction; give the sides, such as '14 x 8 in', or '12 in round'")
    return duct.rectangular_duct(size.width, size.height)


def _duct_run(airflow: Quantity, size: Size, length: Quantity, made_of: str, elevation: Quantity) -> Worked:
    shape = _shape(size)
    density = air_state(q(70, "degF"), elevation).density
    rate = duct.friction_rate_in(shape, airflow, q(ROUGHNESSES[made_of], "m"), density)
    return Worked(
        (
            Line("Drop", duct.loss_over(rate, length), qty.AIR_PRESSURE, "friction rate × effective length"),
            Line("Velocity", duct.velocity(airflow, size.area), qty.VELOCITY, "airflow ÷ area"),
        ),
        (Line("Friction rate", rate, qty.FRICTION_RATE, "friction factor ÷ hydraulic diameter × velocity pressure"),),
    )


def _flex_compression(airflow: Quantity, diameter: Quantity, length: Quantity, compression: Quantity) -> Worked:
    rate = duct.friction_rate(airflow, diameter, q(duct.FLEX, "m"))
    factor = duct.flex_factor(diameter, compression)
    tight = duct.loss_over(rate, length)
    return Worked(
        (
            Line("Drop as it lies", tight * factor.magnitude, qty.AIR_PRESSURE, "drop pulled tight × factor"),
            Line("Factor of the slack", factor, qty.RATIO, "1 + 0.58 × slack in % × e^(−0.126 × diameter in inches)"),
        ),
        (Line("Drop pulled tight", tight, qty.AIR_PRESSURE, "friction rate × length"),),
        "Measured ducts scatter by 20 % about the factor.",
    )


def _closed_door(airflow: Quantity, pressure: Quantity, opening: Size) -> Worked:
    held, _ = airpath.opening("door", opening.area).at_flow(qty.si(airflow, qty.AIRFLOW), duct.STANDARD)
    return Worked(
        (
            Line(
                "Free area needed",
                building.transfer_area(airflow, pressure),
                qty.SMALL_AREA,
                "airflow ÷ (0.6 × √(2 × pressure ÷ density))",
            ),
            Line(
                "Room pressure with what there is",
                qty.from_si(held, qty.ROOM_PRESSURE),
                qty.ROOM_PRESSURE,
                "density ÷ 2 × (airflow ÷ (0.6 × area))²",
            ),
        )
    )


def _fpm(meters_per_second: float) -> str:
    return f"{qty.us(qty.from_si(meters_per_second, qty.VELOCITY), qty.VELOCITY):.0f} fpm"


EXPONENT = Field("exponent", "Exponent n", One(qty.RATIO), otherwise="2")
_DROP_AT = Both(qty.AIR_PRESSURE, "at", qty.AIRFLOW)

KINDS = (
    Working(
        "taps",
        "The air path by its taps",
        (
            Field("taps", "Tap", Table(One(qty.AIR_PRESSURE))),
            Field(
                "external",
                "External by the plate, beside the ducts",
                words_of(*BOUNDARIES, what="what the rating counts as external"),
            ),
        ),
        _taps,
        "definition; the boundary is stated on the plate or under the airflow table",
    ),
    Working(
        "drop-at-airflow",
        "A drop brought to another airflow",
        (
            Field("drop", "Drop read", One(qty.AIR_PRESSURE)),
            Field("airflow", "Airflow when it was read", One(qty.AIRFLOW)),
            Field("at", "Airflow there", One(qty.AIRFLOW)),
            EXPONENT,
            Field("clean", "Clean drop at that airflow", One(qty.AIR_PRESSURE), needed=False),
        ),
        _drop_at_airflow,
        "power law of the part: 2 for fittings and coils, 1.2 to 1.7 for filter media (from memory)",
    ),
    Working(
        "operating-point",
        "Blower against air path",
        (
            Field("fan-table", "Blower", Table(One(qty.AIRFLOW), One(qty.AIR_PRESSURE))),
            Field("parts", "Drop of", Table(_DROP_AT)),
            Field("exponents", "Exponent of", Table(One(qty.RATIO)), needed=False),
            Field("beside", "Beside it, a second", Table(_DROP_AT), needed=False),
            Field("external", "Counted as external", Many(Free()), needed=False),
            Field("speed", "Speed against the table's", One(qty.SHARE), otherwise="100 %"),
            Field("output", "Heat into the air", One(qty.HEAT_RATE), needed=False),
            ELEVATION,
            RETURN,
        ),
        _operating_point,
        "fan laws, ASHRAE Handbook, HVAC Systems and Equipment, fans; drops by the power law of each"
        f" part; rise by {SENSIBLE}",
    ),
    Working(
        "filter-face",
        "Velocity on a filter",
        (
            AIRFLOW,
            Field("size", "Face", Opening()),
            Field("most", "Highest face velocity", One(qty.VELOCITY), otherwise="300 fpm"),
        ),
        _filter_face,
        "airflow over area; 300 fpm on 1 in. pleated media is common practice, no source",
    ),
    Working(
        "return-size",
        "Return: the legal floor and the design size",
        (
            AIRFLOW,
            Field("output", "Output on the plate", One(qty.HEAT_RATE)),
            Field("opening", "Smallest section as found", Opening()),
            Field("duct-velocity", "Velocity in the duct", One(qty.VELOCITY), otherwise=_fpm(DUCT_VELOCITY)),
            Field("face-velocity", "Velocity on the grille", One(qty.VELOCITY), otherwise=_fpm(GRILLE_VELOCITY)),
            ELEVATION,
        ),
        _return_size,
        "floor: mechanical codes of the International family; 700 and 300 fpm are common practice, no source",
    ),
    Working(
        "friction-rate",
        "Friction rate and duct size",
        (
            Field("static", "Static at the wanted airflow", One(qty.AIR_PRESSURE)),
            Field("parts", "Drop of", Table(One(qty.AIR_PRESSURE))),
            Field("length", "Total effective length", One(qty.LENGTH)),
            AIRFLOW,
            Field("height", "Height there is", One(qty.SMALL_LENGTH), needed=False),
            ROUGHNESS,
        ),
        _friction_rate,
        DARCY,
    ),
    Working(
        "duct-run",
        "A run of duct",
        (
            AIRFLOW,
            Field("size", "Section", Opening()),
            Field("length", "Effective length", One(qty.LENGTH)),
            ROUGHNESS,
            ELEVATION,
        ),
        _duct_run,
        DARCY,
    ),
    Working(
        "flex-compression",
        "Flexible duct with slack",
        (
            AIRFLOW,
            Field("diameter", "Diameter", One(qty.SMALL_LENGTH)),
            Field("length", "Length", One(qty.LENGTH)),
            Field("compression", "Slack, of the stretched length", One(qty.SHARE)),
        ),
        _flex_compression,
        f"{DARCY}; factor of the slack from memory",
    ),
    Working(
        "closed-door",
        "A bedroom with its door closed",
        (
            AIRFLOW,
            Field("pressure", "Highest pressure", One(qty.ROOM_PRESSURE), otherwise="3 Pa"),
            Field("opening", "Free area of undercut and grilles", Opening()),
        ),
        _closed_door,
        "sharp-edged orifice, ASHRAE Handbook, Fundamentals 2017, ch. 16; 3 Pa is common practice",
    ),
)
