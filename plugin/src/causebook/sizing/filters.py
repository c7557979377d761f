"""Filters: face velocity and clean drop by kind and size, and the cabinet that brings the drop down.

The label of a filter, at the airflow it will really see, goes before the usual values here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from causebook import quantity as qty
from causebook.casefile.model import Case
from causebook.casefile.sizes import Size, read_size
from causebook.knowledge.model import slug
from causebook.physics.airpath import Part
from causebook.physics.building import face_velocity
from causebook.physics.limits import LIMITS
from causebook.physics.whatif import ReplacePart
from causebook.quantity import FPM, INCH, INWC
from causebook.sizing.found import Found
from causebook.sizing.plan import Plan
from causebook.sizing.shapes import ESTIMATE, PRACTICE, text, work
from causebook.survey.model import Work

FACE = 300 * FPM
"""Face velocity at which the usual drops hold [m/s]."""
DROP_MOST = 0.10 * INWC
"""Clean drop that a filter should not pass at the airflow wanted [Pa]; common practice, no source."""
SPREAD = 0.25
"""Standard uncertainty of a usual drop, as a share; expert estimate."""


@dataclass(frozen=True, slots=True)
class Medium:
    """A kind of filter: the words that name it, its least depth, its usual clean drop at 300 fpm, its exponent."""

    name: str
    words: tuple[str, ...]
    deep: bool
    drop: float
    """[in. w.c.] at 300 fpm on the face."""
    exponent: float


MEDIA = (
    # Expert estimates of what labels of such filters say; a deep one folds four times the cloth into its face.
    Medium("deep media", ("deep", "media"), True, 0.09, 1.4),
    Medium("fine pleated", ("fine",), False, 0.24, 1.3),
    Medium("coarse pleated", ("coarse", "ordinary", "pleated"), False, 0.13, 1.4),
    Medium("fibre mat", ("fibre", "fiber", "glass", "mat", "flat", "washable"), False, 0.06, 1.3),
)
DEEP_FROM = 3.5 * INCH
"""Depth from which a pleated filter counts as deep [m]."""
CABINETS = ((16, 20), (16, 25), (20, 20), (20, 25), (24, 24))
"""Faces of usual cabinets for deep filters [in.]; common practice, no source."""


def medium_of(kind: str, size: Size | None) -> Medium | None:
    """The medium that an author's words and the depth of the size mean; None for words that name none."""
    depth = qty.si(size.depth, qty.SMALL_LENGTH) if size is not None and size.depth is not None else 0.0
    words = slug(kind).split("-")
    found = next((m for m in MEDIA if any(w in words for w in m.words)), None)
    return MEDIA[0] if found is not None and depth >= DEEP_FROM else found


def filter_part(medium: Medium, area: float, density: float, name: str = "filter") -> Part:
    """The clean filter of a face `area` [m²]: its usual drop at 300 fpm goes with the face velocity."""
    return Part(name, medium.drop * INWC / (area * FACE) ** medium.exponent, medium.exponent, density)


def filter_works(medium: Medium, area: float, airflow: float, density: float, words: str) -> tuple[Work, Work]:
    """Face velocity and clean drop of a filter at an airflow, shown."""
    speed = face_velocity.si(airflow, area)
    drop = filter_part(medium, area, density).at_flow(airflow, density)[0]
    most = LIMITS["filter_face_velocity"].high
    terms = {"airflow": text(airflow, qty.AIRFLOW), "face": f"{words}, {text(area, qty.SMALL_AREA)}"}
    return (
        work(
            "Face velocity of the filter",
            "velocity = airflow ÷ face area",
            terms,
            text(speed, qty.VELOCITY),
            "airflow over area",
            ""
            if most is None or medium.deep
            else f"one-inch pleated filters: at most {qty.show(most, qty.VELOCITY)} ({PRACTICE})",
        ),
        work(
            "Clean drop of the filter",
            "drop = drop at 300 fpm × (velocity ÷ 300 fpm)ⁿ",
            {
                "kind": medium.name,
                "drop at 300 fpm": f"{medium.drop:.2f} in. w.c.",
                "n": f"{medium.exponent:g}",
                "velocity": text(speed, qty.VELOCITY),
            },
            text(drop, qty.AIR_PRESSURE),
            f"{ESTIMATE}; the filter's own label goes before it",
            "design: at most 0.10 in. w.c. clean",
        ),
    )


def _fit(found: Found, medium: Medium, area: float, airflow: float) -> ReplacePart:
    return ReplacePart("filter", found.fitted(filter_part(medium, area, found.density), airflow), SPREAD)


def chosen(found: Found, kind: str, size_text: str, airflow: float) -> tuple[ReplacePart, tuple[Work, ...]] | None:
    """A clean filter of a kind and size, with its calculation; None for words that name no kind."""
    size = read_size(size_text)
    medium = medium_of(kind, size)
    if medium is None:
        return None
    area = qty.si(size.area, qty.SMALL_AREA)
    return _fit(found, medium, area, airflow), filter_works(medium, area, airflow, found.density, size_text)


def renewed(case: Case, found: Found, airflow: float) -> tuple[ReplacePart, tuple[Work, ...]] | None:
    """A new filter of the kind and size that is there, and no worse than the one found.

    None where its label gives the drop, or where kind and size do not: what is usual for such a furnace holds then.
    """
    known = case.file.filter
    if known is None or not known.size or "filter" in found.evidence.clean:
        return None
    same = chosen(found, known.kind, known.size, airflow)
    if same is None:
        return None
    change, works = same
    flow = found.moments.airflow.value
    worse = float(change.part.at_flow(flow, found.density)[0]) / found.drop("filter", flow)
    part = replace(change.part, resistance=change.part.resistance / max(worse, 1.0))
    return replace(change, part=part), works


def cabinet(found: Found, airflow: float) -> Plan:
    """The smallest usual cabinet, or two of them, whose clean deep filter stays within 0.10 in. w.c. at `airflow`."""
    medium, density = MEDIA[0], found.density
    choices = [(count, w, h) for count in (1, 2) for w, h in CABINETS]

    def drop(choice: tuple[int, int, int]) -> float:
        count, w, h = choice
        return float(filter_part(medium, count * w * h * INCH**2, density).at_flow(airflow, density)[0])

    count, w, h = next((c for c in choices if drop(c) <= DROP_MOST), choices[-1])
    area = count * w * h * INCH**2
    size = f"{'two of ' if count > 1 else ''}{w} × {h} × 4 in."
    return Plan(
        "filter-cabinet",
        "Deep filter cabinet",
        (f"Cabinet for a deep filter, {size}",),
        (_fit(found, medium, area, airflow),),
        frozenset({"filter"}),
        filter_works(medium, area, airflow, density, size),
        inlet_sides=count if count > 1 else None,
        effort=2,
    )


def ordinary(found: Found, size_text: str, airflow: float) -> Plan | None:
    """An ordinary clean pleated filter in the frame that is there; None where its size is not known."""
    if not size_text:
        return None
    size = read_size(size_text)
    area = qty.si(size.area, qty.SMALL_AREA)
    medium = MEDIA[2]
    speed = face_velocity.si(airflow, area)
    most = LIMITS["filter_face_velocity"].high
    fast = most is not None and speed > qty.si(most, qty.VELOCITY)
    return Plan(
        "ordinary-filter",
        "Ordinary clean filter in the same frame",
        (f"Coarse pleated filter, {size_text}",),
        (_fit(found, medium, area, airflow),),
        frozenset({"filter"}),
        filter_works(medium, area, airflow, found.density, size_text),
        short_of=(f"face velocity {text(speed, qty.VELOCITY)} where 300 is good practice",) if fast else (),
    )
