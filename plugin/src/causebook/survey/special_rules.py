"""The findings that data cannot say: a few named rules, each for what `computed` names in the knowledge.

A rule returns how probable it is that the finding is present, a sentence with the numbers, and the readings behind
it; None when its readings were not taken (the finding then stays "not looked for").
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import replace

from causebook import quantity as qty
from causebook.knowledge.model import Finding
from causebook.knowledge.sentences import whole
from causebook.measured import Measured
from causebook.survey import numbers, path
from causebook.survey.model import Method, ReadingSet, RuleContext, manner
from causebook.survey.rule_value import EVEN, Judged, finding_of
from causebook.survey.values import CaseValues

Rule = Callable[[RuleContext, Finding], Judged | None]
RULES: dict[str, Rule] = {}
RISE = qty.TEMPERATURE_DIFFERENCE
RATIO_SPREAD = 0.05
"""Standard uncertainty of one room flow over another by the same hood, as a share; expert estimate."""
LOAD_SPREAD = 0.1
"""Standard uncertainty of a design heat loss, as a share; expert estimate."""


def rule(name: str) -> Callable[[Rule], Rule]:
    """Put a rule into the table under the name that the knowledge uses."""

    def keep(function: Rule) -> Rule:
        RULES[name] = function
        return function

    return keep


def limit_of(known: Finding, kind: qty.Kind) -> float:
    """The limit of a finding [SI of `kind`]; a share or a difference where its unit says so."""
    assert known.limit is not None, f"{known.id} needs a limit"
    return qty.si(qty.q(known.limit, known.limit_unit), kind)


def over(value: Measured, limit: float, readings: tuple[str, ...], below: bool = False) -> Judged:
    """Is a value over (or below) its limit?"""
    chance = value.above(limit)
    shown, bound = (qty.show(qty.from_si(x, value.kind), value.kind) for x in (value.si, limit))
    because = f"{shown}, limit {whole(bound)}"
    return Judged(1 - chance if below else chance, because, readings, shown, whole(bound))


def _read(context: RuleContext, *names: str) -> Measured | None:
    taken = context.taken(*names)
    return numbers.measured(taken, context.knowledge) if taken else None


def _data(context: RuleContext, finding: str) -> Judged | None:
    """Another finding, which data says."""
    return finding_of(context.knowledge.findings[finding], CaseValues(context), context.knowledge)


@rule("static-low-rise-high")
def _static_low(context: RuleContext, known: Finding) -> Judged | None:
    high, static = _data(context, "rise-high"), context.found.static
    flow = next((f for f in context.found.airflow if f.method.by_rise), None)
    table = next((f for f in context.found.airflow if f.method is Method.FAN_TABLE), None)
    if high is None or static is None or flow is None or table is None:
        return None
    midway = (1 + limit_of(known, qty.RATIO)) / 2
    low = 1 - (flow / table).above(midway)
    return Judged(
        low * high.probability,
        f"static {qty.show(static.value, qty.AIR_PRESSURE)} belongs to "
        f"{qty.show(table.value, qty.AIRFLOW)} by the fan table; the rise says "
        f"{qty.show(flow.value, qty.AIRFLOW)}",
        (*static.readings, *flow.readings),
    )


@rule("airflow-below-table")
def _below_table(context: RuleContext, known: Finding) -> Judged | None:
    table = next((f for f in context.found.airflow if f.method is Method.FAN_TABLE), None)
    other = next((f for f in context.found.airflow if f is not table), None)
    if table is None or other is None:
        return None
    return Judged(
        1 - (other / table).above(1 - limit_of(known, qty.RATIO)),
        f"{qty.show(other.value, qty.AIRFLOW)} by {other.how}, {qty.show(table.value, qty.AIRFLOW)} by {table.how}",
        (*other.readings, *table.readings),
    )


@rule("cooling-airflow-low")
def _cooling_low(context: RuleContext, known: Finding) -> Judged | None:
    coil, flow = context.case.file.coil, context.found.best_airflow
    if coil is None or coil.cooling is None or flow is None or context.found.mode not in ("cooling", "fan only"):
        return None
    least = (known.limit or 0.0) * qty.us(coil.cooling, qty.COOLING_CAPACITY) * qty.CFM
    return over(flow, least, flow.readings, below=True)


def _area_low(context: RuleContext, known: Finding, side: str) -> Judged | None:
    """Is the narrowest section of one side under the code's floor?"""
    section = path.section_of(context.case, context.found.readings, side, context.knowledge)
    if context.heat.output is None or section is None:
        return None
    reading = f"smallest-{side}-section"
    floor = (known.limit or 0.0) * context.heat.output / (1000 * qty.BTUH) * qty.INCH**2
    behind = (reading,) if reading in context.found.readings else ()
    return over(Measured(*section, qty.SMALL_AREA), floor, behind, below=True)


for _side in path.SIDES:
    RULES[f"{_side}-area-low"] = functools.partial(_area_low, side=_side)


@rule("valve-shut")
def _valve_shut(context: RuleContext, known: Finding) -> Judged | None:
    commanded, manifold = _read(context, "volts-at-gas-valve"), _read(context, "manifold")
    inlet = context.taken("gas-inlet", "gas-inlet-all-on", "gas-inlet-at-rest")
    if commanded is None or manifold is None:
        return None
    least = limit_of(known, qty.GAS_PRESSURE)
    judged = over(manifold, least, ("volts-at-gas-valve", "manifold"), below=True)
    if judged.probability < EVEN:
        return judged
    if inlet is None:  # gas shut off before the valve shows the same
        return None
    given = commanded.above(context.constant("control-volts-low") / 2)
    given *= numbers.measured(inlet, context.knowledge).above(least)
    return replace(judged, probability=judged.probability * given, readings=(*judged.readings, inlet.reading))


@rule("amps-low")
def _amps_low(context: RuleContext, known: Finding) -> Judged | None:
    blower, low, amps = context.case.file.blower, _data(context, "airflow-low"), _read(context, "motor-amps")
    if blower is None or blower.full_load is None or low is None or amps is None:
        return None
    least = limit_of(known, qty.RATIO) * qty.si(blower.full_load, qty.CURRENT)
    few = over(amps, least, ("motor-amps",), below=True)
    words = f"motor current {few.value} (low below {few.limit}); airflow {low.value} (needs {low.limit})"
    return Judged(few.probability * low.probability, words, few.readings)


@rule("flame-current-restored")
def _flame_restored(context: RuleContext, known: Finding) -> Judged | None:
    values = CaseValues(context)
    before, needed, half = values("flame-current"), values("flame-current-needed"), values("half-usual-flame-current")
    cleaned = next(
        (
            s
            for s in context.sets
            if s.phase == "changed" and "flame-current" in s.readings and any("rod" in part for part in s.state)
        ),
        None,
    )
    # What was not low cannot be brought back.
    if before is None or needed is None or cleaned is None or before.si > needed.si:
        return None
    least = values("least-flame-current") or values("usual-least-flame-current")
    after = numbers.measured(cleaned.readings["flame-current"], context.knowledge)
    restored = max(limit_of(known, qty.RATIO) * (least.si if least else 0.0), half.si if half else 0.0)
    return over(after, restored, ("flame-current",))


@rule("opening-changes-nothing")
def _nothing(context: RuleContext, known: Finding) -> Judged | None:
    opened = next((s for s in reversed(context.sets) if s.phase == "changed" and _both_opened(s)), None)
    before, after = context.found.rise, opened.rise if opened else None
    if before is None or after is None:
        return None
    # Same probes, minutes apart: their common error drops out, half of their spread is kept.
    fall = before - after
    return over(Measured(fall.si, fall.sd_si / 2, RISE), limit_of(known, RISE), after.readings, below=True)


def _both_opened(one: ReadingSet) -> bool:
    return {"return", "supply"} <= {part for part, how in one.state.items() if manner(how) == "opened"}


@rule("speed-up-helps")
def _speed_up(context: RuleContext, known: Finding) -> Judged | None:
    most = CaseValues(context)("maximum-rise")
    faster = next((s.rise for s in context.sets if s.phase == "changed" and "blower" in s.state and s.rise), None)
    return None if most is None or faster is None else over(faster, most.si, faster.readings, below=True)


@rule("door-open-helps")
def _door_open(context: RuleContext, known: Finding) -> Judged | None:
    opened, shut = _read(context, "room-flow-open"), _read(context, "room-flow-closed")
    if opened is None or shut is None:
        return None
    readings = ("room-flow-open", "room-flow-closed")
    if shut.si == 0:  # no share of nothing: any flow at all is help
        return over(Measured(opened.si, max(opened.sd_si, shut.sd_si), qty.AIRFLOW), 0.0, readings)
    ratio = opened.si / shut.si
    return over(Measured(ratio, RATIO_SPREAD * ratio, qty.SHARE), 1 + limit_of(known, qty.RATIO), readings)


@rule("oversize")
def _oversize(context: RuleContext, known: Finding) -> Judged | None:
    read, loss = _read(context, "design-heat-loss"), context.case.file.site.design_heat_loss
    watts = read.si if read else numbers.optional_si(loss, qty.HEAT_RATE)
    if not watts or context.heat.output is None:
        return None
    ratio = context.heat.output / watts
    behind = ("design-heat-loss",) if read else ()
    return over(Measured(ratio, LOAD_SPREAD * ratio, qty.SHARE), limit_of(known, qty.RATIO), behind)
