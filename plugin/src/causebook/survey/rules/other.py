"""Flame signal, suction of the inducer, rooms and load."""

from __future__ import annotations

import math

from causebook import quantity as qty
from causebook.knowledge.model import Finding
from causebook.survey import numbers
from causebook.survey.rules.common import Facts, Judged, limit_of, over, registry

RULES, rule = registry()


@rule("flame-current-low")
def _flame_low(facts: Facts, known: Finding) -> Judged | None:
    furnace, read = facts.case.file.furnace, facts.gauge("flame-current")
    if read is None:
        return None
    least = qty.si(furnace.flame_current_minimum, qty.FLAME_CURRENT) if furnace and furnace.flame_current_minimum \
        else facts.constant("flame-current-least") * 1e-6
    usual = qty.si(furnace.flame_current_usual, qty.FLAME_CURRENT) if furnace and furnace.flame_current_usual else 0.0
    return over(read, max(least, usual / 2), qty.FLAME_CURRENT, "flame current", "low below", ("flame-current",), True)


@rule("flame-current-restored")
def _flame_restored(facts: Facts, known: Finding) -> Judged | None:
    before = facts.gauge("flame-current")
    cleaned = next((s for s in facts.sets if s.phase == "changed" and "flame-current" in s.readings
                    and any("rod" in part for part in s.state)), None)
    furnace = facts.case.file.furnace
    if before is None or cleaned is None:
        return None
    after = numbers.value(cleaned.readings["flame-current"], facts.knowledge)
    usual = qty.si(furnace.flame_current_usual, qty.FLAME_CURRENT) if furnace and furnace.flame_current_usual else 2e-6
    kind = qty.FLAME_CURRENT
    return Judged(numbers.above(after, 0.1 * usual, 0.6 * usual),
                  f"rod cleaned: {qty.show(qty.from_si(before[0], kind), kind)} became "
                  f"{qty.show(qty.from_si(after, kind), kind)}, usual {qty.show(qty.from_si(usual, kind), kind)}",
                  ("flame-current",))


@rule("bond-bad")
def _bond_bad(facts: Facts, known: Finding) -> Judged | None:
    read = facts.gauge("neutral-to-burner")
    return None if read is None else over(read, limit_of(known, qty.VOLTAGE), qty.VOLTAGE, "neutral to burner",
                                          "looked at above", ("neutral-to-burner",))


@rule("suction-low")
def _suction_low(facts: Facts, known: Finding) -> Judged | None:
    furnace = facts.case.file.furnace
    switch = furnace.pressure_switch if furnace else None
    read = facts.taken("suction-at-pressure-switch", "suction-at-start", "suction-at-end")
    if switch is None or read is None:
        return None
    value = abs(numbers.value(read, facts.knowledge)), numbers.sd(read, facts.knowledge)
    limit = abs(qty.si(switch.closes, qty.GAS_PRESSURE))
    return over(value, limit, qty.AIR_PRESSURE, "suction", "switch closes at", (read.reading,), below=True)


@rule("suction-fades")
def _suction_fades(facts: Facts, known: Finding) -> Judged | None:
    start, end = facts.gauge("suction-at-start"), facts.gauge("suction-at-end")
    if start is None or end is None:
        return None
    lost = abs(start[0]) - abs(end[0]), math.hypot(start[1], end[1])
    return over(lost, limit_of(known, qty.RATIO) * abs(start[0]), qty.AIR_PRESSURE, "suction lost in the run",
                "looked at above", ("suction-at-start", "suction-at-end"))


@rule("room-pressure")
def _room_pressure(facts: Facts, known: Finding) -> Judged | None:
    read = facts.gauge("room-pressure")
    return None if read is None else over(read, limit_of(known, qty.ROOM_PRESSURE), qty.ROOM_PRESSURE,
                                           "shut room above hall", "looked at above", ("room-pressure",))


@rule("room-flow-low")
def _room_flow_low(facts: Facts, known: Finding) -> Judged | None:
    flow, share = facts.gauge("room-flow-open"), facts.gauge("room-share")
    if flow is None or share is None:
        return None
    return over(flow, limit_of(known, qty.RATIO) * share[0], qty.AIRFLOW, "room flow", "four fifths of its share",
                ("room-flow-open", "room-share"), below=True)


@rule("door-open-helps")
def _door_open(facts: Facts, known: Finding) -> Judged | None:
    open_, shut = facts.gauge("room-flow-open"), facts.gauge("room-flow-closed")
    if open_ is None or shut is None:
        return None
    readings = ("room-flow-open", "room-flow-closed")
    if shut[0] == 0:  # no share of nothing: any flow at all is help
        return over((open_[0], max(open_[1], shut[1])), 0.0, qty.AIRFLOW, "room flow with the door open",
                    "nothing with it shut, helps above", readings)
    ratio = open_[0] / shut[0]
    return over((ratio, 0.05 * ratio), 1 + limit_of(known, qty.RATIO), qty.SHARE, "room flow with the door open",
                 "helps above", readings, of="that with it shut")


@rule("oversize")
def _oversize(facts: Facts, known: Finding) -> Judged | None:
    loss = facts.case.file.site.design_heat_loss
    read = facts.gauge("design-heat-loss")
    watts = read[0] if read else numbers.optional_si(loss, qty.HEAT_RATE)
    if not watts or facts.heat.output is None:
        return None
    ratio = facts.heat.output / watts
    return over((ratio, 0.1 * ratio), limit_of(known, qty.RATIO), qty.SHARE, "output", "oversized above", (),
                 of="the design heat loss")
