"""Rise, temperatures, pressures and airflow."""

from __future__ import annotations

import functools
import math

from causebook import quantity as qty
from causebook.casefile.sizes import read_size
from causebook.knowledge.model import Finding
from causebook.measured import chance_above
from causebook.survey import path
from causebook.survey.heat import rise_at_trip
from causebook.survey.model import Method, RuleContext
from causebook.survey.rules.common import (
    RISE,
    Judged,
    estimate_over,
    limit_of,
    over,
    registry,
    return_above_room,
    rise_range,
)

RULES, rule = registry()


@rule("rise-high")
def _rise_high(facts: RuleContext, known: Finding) -> Judged | None:
    limits = rise_range(facts)
    if limits is None:
        return None
    if facts.found.rise is not None:
        return estimate_over(facts.found.rise, limits[1], "rise", "plate maximum")
    trip = rise_at_trip(facts.found.readings, "", facts.knowledge)
    if trip is None:
        return None
    # The limit opened before the rise was steady: the steady rise is higher by a known share.
    size, spread = trip.pair
    share = facts.constant("trip-to-steady")
    return over(
        (size / share, math.hypot(spread / share, 0.035 * size)),
        limits[1],
        RISE,
        "steady rise, worked out from the trip:",
        "plate maximum",
        trip.readings,
    )


@rule("rise-low")
def _rise_low(facts: RuleContext, known: Finding) -> Judged | None:
    limits = rise_range(facts)
    if limits is None or facts.found.rise is None:
        return None
    return estimate_over(facts.found.rise, limits[0], "rise", "plate minimum", below=True)


@rule("rise-ok-at-trip")
def _rise_ok_at_trip(facts: RuleContext, known: Finding) -> Judged | None:
    limits, trip = rise_range(facts), rise_at_trip(facts.found.readings, "", facts.knowledge)
    if limits is None or trip is None:
        return None
    return estimate_over(trip, limits[1], "rise at the trip", "plate maximum", below=True)


def _return_less_room(facts: RuleContext) -> tuple[float, float] | None:
    return return_above_room(facts.case, facts.found, facts.knowledge)


@rule("return-warm")
def _return_warm(facts: RuleContext, known: Finding) -> Judged | None:
    gap = _return_less_room(facts)
    return (
        None
        if gap is None
        else over(gap, limit_of(known, RISE), RISE, "return air less rooms", "looked at above", ("return-air",))
    )


@rule("return-cold")
def _return_cold(facts: RuleContext, known: Finding) -> Judged | None:
    gap = _return_less_room(facts)
    return (
        None
        if gap is None
        else over(
            gap, limit_of(known, RISE), RISE, "return air less rooms", "looked at below", ("return-air",), below=True
        )
    )


@rule("duct-loses-heat")
def _duct_loses_heat(facts: RuleContext, known: Finding) -> Judged | None:
    supply, register = facts.gauge("supply-air"), facts.gauge("register-air")
    if supply is None or register is None:
        return None
    return over(
        (supply[0] - register[0], math.hypot(supply[1], register[1])),
        limit_of(known, RISE),
        RISE,
        "lost between plenum and register",
        "looked at above",
        ("supply-air", "register-air"),
    )


@rule("stack-hot")
def _stack_hot(facts: RuleContext, known: Finding) -> Judged | None:
    stack = facts.gauge("stack")
    if stack is None or known.limit is None:
        return None
    return over(stack, limit_of(known, qty.TEMPERATURE), qty.TEMPERATURE, "stack", "usual at most", ("stack",))


@rule("static-high")
def _static_high(facts: RuleContext, known: Finding) -> Judged | None:
    furnace, static = facts.case.file.furnace, facts.found.static
    if furnace is None or furnace.static_maximum is None or static is None:
        return None
    return estimate_over(static, qty.si(furnace.static_maximum, qty.AIR_PRESSURE), "external static", "rating")


@rule("static-low-rise-high")
def _static_low(facts: RuleContext, known: Finding) -> Judged | None:
    high = _rise_high(facts, known)
    static, flow = facts.found.static, next((f for f in facts.found.airflow if f.method.by_rise), None)
    table = next((f for f in facts.found.airflow if f.method is Method.FAN_TABLE), None)
    if high is None or static is None or flow is None or table is None:
        return None
    here, there = flow.pair, table.pair
    midway = 0.5 * (1 + limit_of(known, qty.RATIO))
    low = 1 - chance_above(here[0] / there[0], math.hypot(here[1], there[1]) / there[0], midway)
    return Judged(
        low * high.probability,
        f"static {qty.show(static.value, qty.AIR_PRESSURE)} belongs to "
        f"{qty.show(table.value, qty.AIRFLOW)} by the fan table; the rise says "
        f"{qty.show(flow.value, qty.AIRFLOW)}",
        (*static.readings, *flow.readings),
    )


def _drop(facts: RuleContext, known: Finding, part: str, words: str) -> Judged | None:
    drop = next((d for d in facts.found.drops if d.part == part), None)
    if drop is None:
        return None
    value = qty.si(drop.value, qty.AIR_PRESSURE), qty.si(drop.sd, qty.AIR_PRESSURE)
    against, limit, spread = "looked at above", limit_of(known, qty.AIR_PRESSURE), 0.0
    other = _of_static(facts, part) if part in path.SIDES else _of_label(facts, part)
    if other is not None and other[1] < limit:
        against, limit, spread = other
    readings = tuple(r for r in facts.found.readings if facts.knowledge.readings[r].tap or r == f"drop-across-{part}")
    return over((value[0], math.hypot(value[1], spread)), limit, qty.AIR_PRESSURE, words, against, readings)


def _of_static(facts: RuleContext, part: str) -> tuple[str, float, float] | None:
    """The share of external static that a duct should leave to the rest: words, pressure, its uncertainty [Pa]."""
    furnace, static = facts.case.file.furnace, facts.found.static
    if static is None or furnace is None or part not in (furnace.counted_as_external or ()):
        return None
    share = facts.constant("drop-share-high")
    value, spread = static.pair
    return f"looked at above {100 * share:g} % of external static,", share * value, share * spread


def _of_label(facts: RuleContext, part: str) -> tuple[str, float, float] | None:
    """The drop that its label or table allows a part at this airflow, in the same terms; None where it has none."""
    plate = {"filter": facts.case.file.filter, "coil": facts.case.file.coil}.get(part)
    flow = facts.found.best_airflow
    if plate is None or plate.clean_drop is None or plate.at is None or flow is None:
        return None
    factor, exponent = facts.constant("label-factor-high"), facts.knowledge.parts[part].exponent
    here, spread = flow.pair
    allowed = (
        factor
        * qty.si(plate.clean_drop, qty.AIR_PRESSURE)
        * facts.heat.density_ratio
        * (here / qty.si(plate.at, qty.AIRFLOW)) ** exponent
    )
    return f"looked at above {factor:g} times its label at this airflow,", allowed, allowed * exponent * spread / here


for _part, _words in (
    ("return", "return duct takes"),
    ("filter", "filter takes"),
    ("inlet", "inlet takes"),
    ("coil", "coil takes"),
    ("supply", "supply duct takes"),
):
    RULES[f"{_part}-drop-high"] = functools.partial(_drop, part=_part, words=_words)


@rule("airflow-low")
def airflow_low(facts: RuleContext, known: Finding) -> Judged | None:
    """Is the airflow under the least that the plate's rise allows?"""
    limits, flow = rise_range(facts), facts.found.best_airflow
    if limits is None or flow is None or facts.heat.output is None or facts.found.mode == "cooling":
        return None
    least = facts.heat.output / (facts.heat.sensible * limits[1])
    return estimate_over(flow, least, "airflow", "least for the plate's rise", below=True)


@rule("airflow-below-table")
def _below_table(facts: RuleContext, known: Finding) -> Judged | None:
    table = next((f for f in facts.found.airflow if f.method is Method.FAN_TABLE), None)
    other = next((f for f in facts.found.airflow if f is not table), None)
    if table is None or other is None:
        return None
    here, there = other.pair, table.pair
    ratio = here[0] / there[0]
    spread = ratio * math.hypot(here[1] / here[0], there[1] / there[0])
    return Judged(
        1 - chance_above(ratio, spread, 1 - limit_of(known, qty.RATIO)),
        f"{qty.show(other.value, qty.AIRFLOW)} by {other.how}, {qty.show(table.value, qty.AIRFLOW)} by {table.how}",
        (*other.readings, *table.readings),
    )


@rule("cooling-airflow-low")
def _cooling_low(facts: RuleContext, known: Finding) -> Judged | None:
    coil, flow = facts.case.file.coil, facts.found.best_airflow
    if coil is None or coil.cooling is None or flow is None or facts.found.mode not in ("cooling", "fan only"):
        return None
    tons = qty.us(coil.cooling, qty.COOLING_CAPACITY)
    least = (known.limit or 0.0) * tons * qty.CFM
    return estimate_over(flow, least, "airflow", f"least for {tons:g} ton", below=True)


def _area_low(facts: RuleContext, known: Finding, side: str) -> Judged | None:
    """Is the narrowest section of one side under the code's floor?"""
    section = path.section_of(facts.case, facts.found.readings, side, facts.knowledge)
    if facts.heat.output is None or section is None:
        return None
    reading = f"smallest-{side}-section"
    floor = (known.limit or 0.0) * facts.heat.output / (1000 * qty.BTUH) * qty.INCH**2
    return over(
        section,
        floor,
        qty.SMALL_AREA,
        f"smallest {side} section",
        "code floor",
        (reading,) if reading in facts.found.readings else (),
        below=True,
    )


for _side in path.SIDES:
    RULES[f"{_side}-area-low"] = functools.partial(_area_low, side=_side)


@rule("filter-face-fast")
def _filter_fast(facts: RuleContext, known: Finding) -> Judged | None:
    filter_, flow = facts.case.file.filter, facts.found.best_airflow
    if filter_ is None or not filter_.size or flow is None:
        return None
    size = read_size(filter_.size)
    if size.depth is None or qty.us(size.depth, qty.SMALL_LENGTH) > 2.1:
        return None
    area = qty.si(size.area, qty.SMALL_AREA)
    here = flow.pair
    return over(
        (here[0] / area, here[1] / area),
        limit_of(known, qty.VELOCITY),
        qty.VELOCITY,
        "filter face velocity",
        "looked at above",
        flow.readings,
    )
