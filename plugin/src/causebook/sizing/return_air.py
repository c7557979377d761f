"""Return air: what the code asks at least, what the airflow needs, what was found, and what closes the gap.

The legal floor and the design value stand apart: two square inches for each 1000 Btu/h of output are a floor, and a
furnace at the middle of its rise range moves its air through them at more than 1300 fpm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from causebook import quantity as qty
from causebook.casefile.model import Case, Opening
from causebook.casefile.sizes import read_size
from causebook.physics.building import (
    RETURN_PLACES,
    ReturnPlace,
    area_for_velocity,
    california_return,
    combustion_volume_standard,
    face_velocity,
)
from causebook.physics.duct import Rectangular, Round, Shape, width_for
from causebook.physics.limits import LIMITS
from causebook.physics.whatif import AddParallel
from causebook.quantity import BTUH, CFM, FOOT, FPM, INCH, INWC, OutOfRange
from causebook.sizing.found import Found
from causebook.sizing.model import MeasuredOpening, Replacement, ReturnSize
from causebook.sizing.plan import Plan
from causebook.sizing.runs import CAVITY_LEAKAGE, RUN_SPREAD, Run
from causebook.sizing.shapes import PRACTICE, inches, shape_of, text, work
from causebook.survey.model import Heat, Survey, Work

DROP_MOST = 0.10 * INWC
"""Drop that the whole return, grilles included, should not pass at the airflow wanted [Pa]; common practice,
no source."""
DUCT_VELOCITY = 700 * FPM
"""Velocity in a return duct that keeps friction and noise low [m/s]; common practice (600 to 900), no source."""
GRILLE_VELOCITY = 300 * FPM
"""Velocity on the gross face of a grille that is hardly heard [m/s]; common practice, no source."""
ONE_SIDE_MOST = 1600 * CFM
"""Airflow up to which air may come in by one side of the cabinet [m³/s]; printed instructions of many furnaces, from
memory (1600 to 1800 cfm); the instructions of the furnace decide."""
NEARLY = 0.9
"""Share of the design area from which a return counts as enough; expert estimate."""
USUAL_LENGTH = 20 * FOOT
"""Length taken for a return that is not drawn yet [m]; estimate."""
ROUNDS = (8, 9, 10, 12, 14, 16, 18, 20)
"""Diameters of stock round duct [in.]."""
HEIGHTS = (8, 10)
"""Heights of rectangular duct that fit between and below framing [in.]."""
GRILLES = ((14, 10), (20, 14), (16, 20), (16, 25), (18, 24), (20, 25), (24, 24), (20, 30), (24, 30))
"""Stock return grilles [in.]."""


@dataclass(frozen=True, slots=True)
class Way:
    """One way to close the gap: new runs beside the old return."""

    run: Run
    grille: tuple[int, int]
    airflow: float
    """That the new runs carry together [m³/s]."""

    @property
    def words(self) -> str:
        """The sizes in words."""
        duct = inches(self.run.shape)
        w, h = self.grille
        if self.run.count == 1:
            return f"{duct} duct with a {w} × {h} in. grille"
        return f"two runs of {duct} duct, each with a {w} × {h} in. grille"


def design_airflow(surveyed: Survey, tons: float | None, new: Replacement | None = None) -> float | None:
    """The airflow the ducts must carry [m³/s]: that of mid-rise, or of cooling at 400 cfm/ton where that is more.

    With a furnace in the place of the old one, its own heating airflow stands for that of mid-rise.
    """
    heating = surveyed.middle_airflow if new is None else new.airflow
    wanted = [400 * tons * CFM] if tons else []
    if heating is not None:
        wanted.append(qty.si(heating, qty.AIRFLOW))
    return max(wanted, default=None)


# ------------------------------------------------------------------------------------------ what closes the gap


def ways(airflow: float, old: float | None, density: float, length: float = USUAL_LENGTH) -> tuple[Way, ...]:
    """Combinations of stock sizes with which the whole return keeps 0.10 in. w.c. at `airflow`, smallest first.

    `old` is the resistance of the return that stays [Pa/(m³/s)²], None where it was not measured and nothing is
    counted on it; `length` that of the new run [m].  Each duct also keeps its velocity and each grille its own.
    """
    carried = (DROP_MOST / old) ** 0.5 if old else 0.0
    new = airflow - carried
    if new <= 0.02 * airflow:
        return ()
    found = [
        _smallest([Round(d * INCH) for d in ROUNDS], new, 1, density, length),
        _smallest([Round(d * INCH) for d in ROUNDS], new, 2, density, length),
    ]
    found += [_smallest(list(_rectangles(h)), new, 1, density, length) for h in HEIGHTS]
    return tuple(way for way in found if way is not None)


def _rectangles(height: int) -> Iterator[Shape]:
    for diameter in ROUNDS:
        try:
            width = width_for.si(diameter * INCH, height * INCH)
        except ValueError:
            return
        even = 2 * -(-width / INCH // 2)
        yield Rectangular(max(even, height) * INCH, height * INCH)


def _smallest(shapes: Sequence[Shape], airflow: float, count: int, density: float, length: float) -> Way | None:
    each = airflow / count
    grille = next(
        (g for g in sorted(GRILLES, key=lambda g: g[0] * g[1]) if each / (g[0] * g[1] * INCH**2) <= GRILLE_VELOCITY),
        None,
    )
    if grille is None:
        return None
    for shape in shapes:
        run = Run(shape, length, grille=grille[0] * grille[1] * INCH**2, count=count)
        if each / shape.area_si <= DUCT_VELOCITY and run.drop(each, density) <= DROP_MOST:
            return Way(run, grille, airflow)
    return None


def added(found: Found, airflow: float, length: float | None) -> Plan | None:
    """The smallest single new return of stock size beside the old one; None where the old one is enough."""
    flow = found.moments.airflow.value
    old = found.drop("return", flow) / flow**2
    choice = ways(airflow, old, found.density, length or USUAL_LENGTH)
    if not choice:
        return None
    way = choice[0]
    part = way.run.part("new return", way.airflow, found.density)
    scope = (f"Second return: {way.words}, {text(way.run.length, qty.LENGTH)} long",)
    return Plan(
        "add-return",
        "Second return",
        scope,
        (AddParallel(("return",), part, RUN_SPREAD),),
        frozenset({"return"}),
        run_works("New return", way.run, way.airflow, found.density),
        effort=2,
    )


def run_works(name: str, run: Run, airflow: float, density: float) -> tuple[Work, ...]:
    """Velocity and drop of a run at its airflow [m³/s], and the face velocity of its grille, shown."""
    each = airflow / run.count
    losses = run.losses(each, density)
    out = [
        work(
            f"{name}: drop",
            "drop = friction × length + fittings + grille",
            {
                "airflow": text(each, qty.AIRFLOW),
                "duct": inches(run.shape),
                "velocity": text(each / run.shape.area_si, qty.VELOCITY),
                "length": text(run.length, qty.LENGTH),
            }
            | {what: text(loss, qty.AIR_PRESSURE, 3) for what, loss in losses.items()},
            text(sum(losses.values()), qty.AIR_PRESSURE),
            "ASHRAE Handbook—Fundamentals, Duct Design: Darcy-Weisbach and Colebrook; fitting and grille "
            "coefficients are expert estimates",
            "design: whole return at most 0.10 in. w.c. at this airflow",
        )
    ]
    if run.grille is not None:
        out.append(
            work(
                f"{name}: grille",
                "face velocity = airflow ÷ gross area",
                {"airflow": text(each, qty.AIRFLOW), "gross area": text(run.grille, qty.SMALL_AREA)},
                text(each / run.grille, qty.VELOCITY),
                "airflow over area",
                f"quiet up to 300 to 400 fpm ({PRACTICE})",
            )
        )
    return tuple(out)


# ------------------------------------------------------------------------------------------ found, floor, need


def size_return(surveyed: Survey, new: Replacement | None = None) -> ReturnSize | None:
    """Openings found against the legal floor and the design value of the furnace, or of the `new` one in its place,
    and what closes the gap.

    None where the plate gives no output or rise range, or no return was measured.
    """
    case, heat, tons = surveyed.case, surveyed.heat, tons_of(surveyed.case)
    flow = design_airflow(surveyed, tons, new)
    if new is not None:
        heat = replace(heat, output=qty.si(new.output, qty.HEAT_RATE))
    if heat.output is None or surveyed.middle_airflow is None or flow is None or not case.file.return_:
        return None
    ducts = [o for o in case.file.return_ if not is_grille(o)]
    area = sum(area_of(o) for o in ducts or case.file.return_)
    floor = surveyed.knowledge.constants["return-area-floor"].value * heat.output / (1000 * BTUH) * INCH**2
    needed = area_for_velocity.si(flow, DUCT_VELOCITY)
    drop = _drop_found(surveyed, flow)
    short = area < NEARLY * needed or (drop is not None and drop > DROP_MOST)
    old = _resistance_found(surveyed) or (ducts and _drawn(ducts, flow, heat) or None)
    density = qty.si(surveyed.air.density, qty.DENSITY)
    lengths = [qty.si(o.length, qty.LENGTH) for o in ducts if o.length is not None]
    closes = ways(flow, old, density, max(lengths, default=USUAL_LENGTH)) if short else ()
    share = sum(area_of(o) for o in case.file.return_ if is_grille(o))
    openings = tuple(_judged(o, flow, share if is_grille(o) else area, floor, density) for o in case.file.return_)
    return ReturnSize(
        qty.from_si(flow, qty.AIRFLOW),
        qty.from_si(area, qty.SMALL_AREA),
        qty.from_si(floor, qty.SMALL_AREA),
        "mechanical code family: 2 in² of duct for each 1000 Btu/h of output; a floor, the adopted local code decides",
        qty.from_si(needed, qty.SMALL_AREA),
        "700 fpm in the duct and 0.10 in. w.c. in all (common practice, no source)"
        + (", at the airflow the new furnace asks for, or its cooling coil where that is more" if new else ""),
        qty.from_si(flow / area, qty.VELOCITY),
        tuple(way.words for way in closes),
        openings,
        inlet_note(flow),
        tuple(not_from(case)),
        tuple(_works(flow, area, floor, needed, drop, heat, tons)),
    )


def tons_of(case: Case) -> float | None:
    """Cooling capacity of the coil [ton], None without one."""
    coil = case.file.coil
    return qty.us(coil.cooling, qty.COOLING_CAPACITY) if coil is not None and coil.cooling is not None else None


def is_grille(opening: Opening) -> bool:
    """Is a measured opening a grille?"""
    return "grille" in opening.of


def area_of(opening: Opening) -> float:
    """Area of a measured opening [m²], of all its like together."""
    return qty.si(read_size(opening.size).area, qty.SMALL_AREA) * opening.count


def _resistance_found(surveyed: Survey) -> float | None:
    """Resistance of the return as read [Pa/(m³/s)²]."""
    found = surveyed.found
    drop = next((d for d in found.drops if d.part == "return"), None)
    if drop is None or found.best_airflow is None:
        return None
    return max(qty.si(drop.value, qty.AIR_PRESSURE), 0.1) / found.best_airflow.si**2


def _drop_found(surveyed: Survey, airflow: float) -> float | None:
    resistance = _resistance_found(surveyed)
    return None if resistance is None else resistance * airflow**2


def _drawn(ducts: Sequence[Opening], airflow: float, heat: Heat) -> float:
    """Resistance of the return ducts by their sizes alone, where no drop was read [Pa/(m³/s)²]."""
    density = qty.si(heat.air.density, qty.DENSITY)
    total = 0.0
    for duct in ducts:
        drop = run_of(duct).drop(airflow / max(len(ducts), 1) / duct.count, density)
        total += duct.count * (airflow / max(len(ducts), 1) / duct.count) / max(drop, 1e-9) ** 0.5
    return 1 / total**2


def run_of(duct: Opening) -> Run:
    """A duct as measured, as a run with the usual fittings."""
    slack = qty.si(duct.compression, qty.SHARE) if duct.compression is not None else 0.0
    length = qty.si(duct.length, qty.LENGTH) if duct.length is not None else USUAL_LENGTH
    return Run(shape_of(duct.size), length, duct.of, slack, count=duct.count)


def _judged(opening: Opening, airflow: float, together: float, floor: float, density: float) -> MeasuredOpening:
    """One opening: what it would have to carry, how fast, and what speaks against it."""
    area = area_of(opening)
    part = airflow * area / together
    speed = part / area
    most = _allowed(opening)
    says = [
        f"carries {text(part, qty.AIRFLOW)} at {text(speed, qty.VELOCITY)}; good practice: {text(most, qty.VELOCITY)}"
    ]
    if not is_grille(opening):
        says.append(
            f"{'at least' if area >= floor else 'below'} the legal floor of {text(floor, qty.SMALL_AREA)}"
            if area == together
            else f"{area / floor:.0%} of the legal floor"
        )
        run = run_of(opening)
        if opening.length is not None:
            drop = run.drop(part / opening.count, density)
            says.append(f"about {text(drop, qty.AIR_PRESSURE)} with usual fittings")
    if opening.of in ("joist bay", "stud bay"):
        says.append(
            f"{CAVITY_LEAKAGE} ({PRACTICE}); {RETURN_PLACES['stud_or_joist_cavity'].condition} "
            f"({RETURN_PLACES['stud_or_joist_cavity'].code}; the local code decides)"
        )
    return MeasuredOpening(
        opening.what,
        qty.from_si(area, qty.SMALL_AREA),
        qty.from_si(part, qty.AIRFLOW),
        qty.from_si(speed, qty.VELOCITY),
        qty.from_si(most, qty.VELOCITY),
        "; ".join(says),
    )


def _allowed(opening: Opening) -> float:
    if opening.of == "filter grille":
        most = LIMITS["filter_face_velocity"].high
    elif opening.of == "grille":
        most = LIMITS["return_face_velocity"].high
    else:
        return DUCT_VELOCITY
    return qty.si(most, qty.VELOCITY) if most is not None else GRILLE_VELOCITY


# ------------------------------------------------------------------------------------------ inlet and places


def inlet_note(airflow: float) -> str:
    """Whether air may come in by one side of the cabinet at an airflow."""
    most = text(ONE_SIDE_MOST, qty.AIRFLOW)
    if airflow > ONE_SIDE_MOST:
        return (
            f"{text(airflow, qty.AIRFLOW)} is more than one side of the cabinet takes in most instructions "
            f"({most}, from memory): bring the air in by two sides or by the bottom"
        )
    return (
        f"One side or the bottom will do up to {most} in most instructions (from memory); those of the furnace decide"
    )


def inlet_break(airflow: float, sides: int | None) -> str | None:
    """The inlet rule broken by an airflow through a stated number of sides; None where kept or not stated."""
    if sides == 1 and airflow > ONE_SIDE_MOST:
        return f"one-side inlet at {text(airflow, qty.AIRFLOW)}, {text(ONE_SIDE_MOST, qty.AIRFLOW)} is the most"
    return None


def not_from(case: Case) -> Iterator[str]:
    """Where return air may not be taken from, or only on a condition, each with its code section."""
    for place in RETURN_PLACES.values():
        if place.id != "stud_or_joist_cavity":
            yield f"{place.place}: {_rule(place)} ({place.code}); the local code decides"
    furnace, volume = case.file.furnace, case.file.site.room_volume
    if furnace is not None and volume is not None:
        least = combustion_volume_standard(furnace.input)
        enough = volume.to("m**3") >= least.to("m**3")
        yield (
            f"the space that gives the burner its air: it holds {qty.show(volume, qty.VOLUME, 0)}, "
            f"{'enough for' if enough else 'less than'} the {qty.show(least, qty.VOLUME, 0)} that this input needs "
            "(NFPA 54 9.3.2.1); a return there draws on the burner's air; the local code decides"
        )


def _rule(place: ReturnPlace) -> str:
    words = "never" if place.permitted == "never" else place.condition
    if place.distance is not None:
        words += f", {qty.show(place.distance, qty.LENGTH)}"
    return words


def _works(
    airflow: float, area: float, floor: float, needed: float, drop: float | None, heat: Heat, tons: float | None
) -> Iterator[Work]:
    yield work(
        "Legal floor of the return",
        "floor = 2 in² × output ÷ 1000 Btu/h",
        {"output": text(heat.output or 0.0, qty.HEAT_RATE)},
        text(floor, qty.SMALL_AREA),
        "mechanical code family, least duct area",
        f"the airflow wanted would pass it at {text(airflow / floor, qty.VELOCITY)}: a floor is no design",
    )
    yield work(
        "Return area by velocity",
        "area = airflow ÷ velocity",
        {"airflow": text(airflow, qty.AIRFLOW), "velocity": text(DUCT_VELOCITY, qty.VELOCITY)},
        text(needed, qty.SMALL_AREA),
        PRACTICE,
    )
    yield work(
        "Velocity in the return found",
        "velocity = airflow ÷ area",
        {"airflow": text(airflow, qty.AIRFLOW), "area": text(area, qty.SMALL_AREA)},
        text(face_velocity.si(airflow, area), qty.VELOCITY),
        "airflow over area",
    )
    if drop is not None:
        yield work(
            "Drop of the return found, at the airflow wanted",
            "drop wanted = drop read × (airflow wanted ÷ airflow read)²",
            {"airflow wanted": text(airflow, qty.AIRFLOW)},
            text(drop, qty.AIR_PRESSURE),
            "loss of duct and fittings goes with the square of the airflow",
            "design: at most 0.10 in. w.c.",
        )
    if tons:
        try:
            row = california_return(qty.q(tons, "refrigeration_ton"), 2 if tons > 2.5 else 1)
        except OutOfRange:
            return
        yield work(
            "A published table beside it",
            "row of the table for the cooling capacity",
            {"capacity": f"{tons:g} ton"},
            " and ".join(f"{qty.show(d, qty.SMALL_LENGTH, 0)} round" for d in row.ducts)
            + f", {qty.show(row.grille_area, qty.SMALL_AREA)} of filter grille",
            f"California Energy Standards, Table {row.table}",
            "counts where it is adopted",
        )
