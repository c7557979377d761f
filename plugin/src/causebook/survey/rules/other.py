"""Flame signal, suction of the inducer, rooms and load."""

from __future__ import annotations

import math

from causebook import quantity as qty
from causebook.knowledge.model import Finding
from causebook.measured import chance_above
from causebook.survey import numbers
from causebook.survey.model import RuleContext
from causebook.survey.rules.common import Judged, limit_of, over, registry

RULES, rule = registry()


def _flame_bounds(facts: RuleContext) -> tuple[float, float]:
    """The control's least flame current and half of the usual one, where it is known [A]."""
    furnace = facts.case.file.furnace
    least = furnace.flame_current_minimum if furnace else None
    usual = furnace.flame_current_usual if furnace else None
    return (
        facts.constant("flame-current-least") * 1e-6 if least is None else qty.si(least, qty.FLAME_CURRENT),
        0.0 if usual is None else qty.si(usual, qty.FLAME_CURRENT) / 2,
    )


@rule("flame-current-low")
def _flame_low(facts: RuleContext, known: Finding) -> Judged | None:
    read = facts.taken("flame-current", "flame-current-at-start")
    return (
        None
        if read is None
        else over(
            (numbers.value(read, facts.knowledge), numbers.sd(read, facts.knowledge)),
            max(_flame_bounds(facts)),
            qty.FLAME_CURRENT,
            "flame current",
            "low below",
            (read.reading,),
            below=True,
        )
    )


@rule("flame-current-restored")
def _flame_restored(facts: RuleContext, known: Finding) -> Judged | None:
    before = facts.gauge("flame-current")
    cleaned = next(
        (
            s
            for s in facts.sets
            if s.phase == "changed" and "flame-current" in s.readings and any("rod" in part for part in s.state)
        ),
        None,
    )
    least, half = _flame_bounds(facts)
    # What was not low cannot be brought back.
    if before is None or cleaned is None or before[0] > max(least, half):
        return None
    after, kind = cleaned.readings["flame-current"], qty.FLAME_CURRENT
    return over(
        (numbers.value(after, facts.knowledge), numbers.sd(after, facts.knowledge)),
        max(limit_of(known, qty.RATIO) * least, half),
        kind,
        f"rod cleaned: {qty.show(qty.from_si(before[0], kind), kind)} became",
        "restored above",
        ("flame-current",),
    )


@rule("bond-bad")
def _bond_bad(facts: RuleContext, known: Finding) -> Judged | None:
    read = facts.gauge("neutral-to-burner")
    return (
        None
        if read is None
        else over(
            read,
            limit_of(known, qty.VOLTAGE),
            qty.VOLTAGE,
            "neutral to burner",
            "looked at above",
            ("neutral-to-burner",),
        )
    )


@rule("suction-low")
def _suction_low(facts: RuleContext, known: Finding) -> Judged | None:
    furnace = facts.case.file.furnace
    switch = furnace.pressure_switch if furnace else None
    read = facts.taken("suction-at-pressure-switch", "suction-at-start", "suction-at-end")
    if switch is None or read is None:
        return None
    value = abs(numbers.value(read, facts.knowledge)), numbers.sd(read, facts.knowledge)
    limit = abs(qty.si(switch.closes, qty.GAS_PRESSURE))
    return over(value, limit, qty.AIR_PRESSURE, "suction", "switch closes at", (read.reading,), below=True)


@rule("switch-open-with-suction")
def _switch_open(facts: RuleContext, known: Finding) -> Judged | None:
    volts = facts.gauge("volts-across-pressure-switch")
    suction = facts.taken("suction-at-pressure-switch", "suction-at-start")
    furnace = facts.case.file.furnace
    switch = furnace.pressure_switch if furnace else None
    if volts is None or suction is None or switch is None:
        return None
    closes = abs(qty.si(switch.closes, qty.GAS_PRESSURE))
    given = abs(numbers.value(suction, facts.knowledge)), numbers.sd(suction, facts.knowledge)
    if chance_above(*given, closes) < 0.5:  # too weak for it: an open switch does its duty
        return None
    return over(
        volts,
        limit_of(known, qty.VOLTAGE),
        qty.VOLTAGE,
        "across the pressure switch at enough suction",
        "open above",
        ("volts-across-pressure-switch", suction.reading),
    )


@rule("suction-fades")
def _suction_fades(facts: RuleContext, known: Finding) -> Judged | None:
    start, end = facts.gauge("suction-at-start"), facts.gauge("suction-at-end")
    if start is None or end is None:
        return None
    lost = abs(start[0]) - abs(end[0]), math.hypot(start[1], end[1])
    return over(
        lost,
        limit_of(known, qty.RATIO) * abs(start[0]),
        qty.AIR_PRESSURE,
        "suction lost in the run",
        "looked at above",
        ("suction-at-start", "suction-at-end"),
    )


@rule("room-pressure")
def _room_pressure(facts: RuleContext, known: Finding) -> Judged | None:
    read = facts.gauge("room-pressure")
    return (
        None
        if read is None
        else over(
            read,
            limit_of(known, qty.ROOM_PRESSURE),
            qty.ROOM_PRESSURE,
            "shut room above hall",
            "looked at above",
            ("room-pressure",),
        )
    )


@rule("room-flow-low")
def _room_flow_low(facts: RuleContext, known: Finding) -> Judged | None:
    flow, share = facts.gauge("room-flow-open"), facts.gauge("room-share")
    if flow is None or share is None:
        return None
    return over(
        flow,
        limit_of(known, qty.RATIO) * share[0],
        qty.AIRFLOW,
        "room flow",
        "four fifths of its share",
        ("room-flow-open", "room-share"),
        below=True,
    )


@rule("door-open-helps")
def _door_open(facts: RuleContext, known: Finding) -> Judged | None:
    open_, shut = facts.gauge("room-flow-open"), facts.gauge("room-flow-closed")
    if open_ is None or shut is None:
        return None
    readings = ("room-flow-open", "room-flow-closed")
    if shut[0] == 0:  # no share of nothing: any flow at all is help
        return over(
            (open_[0], max(open_[1], shut[1])),
            0.0,
            qty.AIRFLOW,
            "room flow with the door open",
            "nothing with it shut, helps above",
            readings,
        )
    ratio = open_[0] / shut[0]
    return over(
        (ratio, 0.05 * ratio),
        1 + limit_of(known, qty.RATIO),
        qty.SHARE,
        "room flow with the door open",
        "helps above",
        readings,
        of="that with it shut",
    )


@rule("oversize")
def _oversize(facts: RuleContext, known: Finding) -> Judged | None:
    loss = facts.case.file.site.design_heat_loss
    read = facts.gauge("design-heat-loss")
    watts = read[0] if read else numbers.optional_si(loss, qty.HEAT_RATE)
    if not watts or facts.heat.output is None:
        return None
    ratio = facts.heat.output / watts
    return over(
        (ratio, 0.1 * ratio),
        limit_of(known, qty.RATIO),
        qty.SHARE,
        "output",
        "oversized above",
        ("design-heat-loss",) if read else (),
        of="the design heat loss",
    )
