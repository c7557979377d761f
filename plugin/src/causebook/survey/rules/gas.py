"""Gas input and combustion."""

from __future__ import annotations

import math
from collections.abc import Mapping

from causebook import quantity as qty
from causebook.casefile.model import Taken
from causebook.knowledge.model import Finding, Knowledge
from causebook.measured import chance_above
from causebook.physics.combustion import air_free_monoxide
from causebook.survey import numbers
from causebook.survey.model import RuleContext
from causebook.survey.rules.common import Judged, limit_of, over, registry

RULES, rule = registry()


def _plate(facts: RuleContext) -> str:
    """What the clocked input is a share of, in words."""
    furnace = facts.case.file.furnace
    adjusted = furnace is not None and furnace.adjusted_input is not None
    return "the plate at this altitude" if adjusted else "the plate"


def _input(facts: RuleContext, known: Finding, below: bool) -> Judged | None:
    clocked, plate = facts.found.input, facts.heat.plate_input
    if clocked is None or not plate:
        return None
    watts, spread = clocked.pair
    return over(
        (watts / plate, spread / plate),
        limit_of(known, qty.RATIO),
        qty.SHARE,
        "clocked input",
        "low below" if below else "high above",
        clocked.readings,
        below,
        _plate(facts),
    )


@rule("input-high")
def _input_high(facts: RuleContext, known: Finding) -> Judged | None:
    return _input(facts, known, below=False)


@rule("input-low")
def _input_low(facts: RuleContext, known: Finding) -> Judged | None:
    return _input(facts, known, below=True)


def _manifold(facts: RuleContext, known: Finding, below: bool) -> Judged | None:
    furnace, read = facts.case.file.furnace, facts.gauge("manifold")
    if furnace is None or furnace.manifold is None or read is None:
        return None
    limit = qty.si(furnace.manifold, qty.GAS_PRESSURE) + limit_of(known, qty.GAS_PRESSURE)
    return over(read, limit, qty.GAS_PRESSURE, "manifold", "low below" if below else "high above", ("manifold",), below)


@rule("manifold-high")
def _manifold_high(facts: RuleContext, known: Finding) -> Judged | None:
    return _manifold(facts, known, below=False)


@rule("manifold-low")
def _manifold_low(facts: RuleContext, known: Finding) -> Judged | None:
    return _manifold(facts, known, below=True)


@rule("gas-inlet-high")
def _inlet_high(facts: RuleContext, known: Finding) -> Judged | None:
    furnace, read = facts.case.file.furnace, facts.taken("gas-inlet-at-rest", "gas-inlet")
    if furnace is None or furnace.inlet_range is None or read is None:
        return None
    value = numbers.value(read, facts.knowledge), numbers.sd(read, facts.knowledge)
    return over(
        value,
        qty.si(furnace.inlet_range[1], qty.GAS_PRESSURE),
        qty.GAS_PRESSURE,
        "gas inlet",
        "plate maximum",
        (read.reading,),
    )


@rule("gas-inlet-low")
def _inlet_low(facts: RuleContext, known: Finding) -> Judged | None:
    furnace = facts.case.file.furnace
    if furnace is None or furnace.inlet_range is None:
        return None
    least = qty.si(furnace.inlet_range[0], qty.GAS_PRESSURE)
    taken = [
        t for t in (facts.taken("gas-inlet-all-on", "gas-inlet"), facts.taken("gas-inlet-at-rest")) if t is not None
    ]
    told = [
        over(
            (numbers.value(t, facts.knowledge), numbers.sd(t, facts.knowledge)),
            least,
            qty.GAS_PRESSURE,
            "gas inlet",
            "plate minimum",
            (t.reading,),
            below=True,
        )
        for t in taken
    ]
    # Too little at rest is too little; enough at rest says nothing of what is left when all burns.
    return next((one for one in told if one.probability > 0.5 or one.readings != ("gas-inlet-at-rest",)), None)


def flue_pairs(readings: Mapping[str, Taken]) -> list[tuple[Taken, Taken]]:
    """CO and oxygen readings of the flue that belong together."""
    names = (
        ("co-in-flue", "oxygen-in-flue"),
        ("co-in-flue-after-blower", "oxygen-in-flue-after-blower"),
        ("co-in-flue-before-blower", "oxygen-in-flue-before-blower"),
    )
    return [(readings[c], readings[o]) for c, o in names if c in readings and o in readings]


def air_free(pair: tuple[Taken, Taken], knowledge: Knowledge) -> tuple[float, float] | None:
    """CO free of air, with its uncertainty; None above 18 % oxygen, where it says nothing."""
    try:
        value = qty.si(air_free_monoxide(pair[0].value, pair[1].value), qty.CO_FRACTION)
    except ValueError:
        return None
    read, oxygen = numbers.value(pair[0], knowledge), numbers.value(pair[1], knowledge)
    share = math.hypot(
        numbers.sd(pair[0], knowledge) / max(read, 1e-9), numbers.sd(pair[1], knowledge) / max(0.209 - oxygen, 1e-3)
    )
    return value, value * share


def _co_flue(facts: RuleContext, limit: float) -> Judged | None:
    best = None
    for pair in flue_pairs(facts.found.readings):
        value = air_free(pair, facts.knowledge)
        if value is not None and (best is None or value[0] > best[0][0]):
            best = value, pair
    if best is None:
        return None
    return over(
        best[0], limit, qty.CO_FRACTION, "flue CO free of air", "looked at above", tuple(t.reading for t in best[1])
    )


@rule("co-flue-high")
def _co_high(facts: RuleContext, known: Finding) -> Judged | None:
    return _co_flue(facts, limit_of(known, qty.CO_FRACTION))


@rule("co-flue-very-high")
def _co_very_high(facts: RuleContext, known: Finding) -> Judged | None:
    return _co_flue(facts, limit_of(known, qty.CO_FRACTION))


@rule("oxygen-low")
def _oxygen_low(facts: RuleContext, known: Finding) -> Judged | None:
    taken = next((r for r in ("oxygen-in-flue", "oxygen-in-flue-before-blower") if facts.gauge(r)), "oxygen-in-flue")
    read = facts.gauge(taken)
    return (
        None
        if read is None
        else over(
            read,
            limit_of(known, qty.GAS_FRACTION),
            qty.GAS_FRACTION,
            "oxygen in flue",
            "low below",
            (taken,),
            below=True,
        )
    )


@rule("oxygen-shift")
def _oxygen_shift(facts: RuleContext, known: Finding) -> Judged | None:
    pairs = [
        (name, facts.gauge(f"{name}-before-blower"), facts.gauge(f"{name}-after-blower"), limit, kind)
        for name, limit, kind in (
            ("oxygen-in-flue", limit_of(known, qty.GAS_FRACTION), qty.GAS_FRACTION),
            ("co-in-flue", facts.constant("co-shift") * 1e-6, qty.CO_FRACTION),
        )
    ]
    best: Judged | None = None
    for name, before, after, limit, kind in pairs:
        if before is None or after is None:
            continue
        # The same cell a minute apart: only its noise counts, not its calibration.
        moved = after[0] - before[0] if name.startswith("oxygen") else abs(after[0] - before[0])
        chance = chance_above(moved, 0.35 * max(before[1], after[1]) + 1e-9, limit)
        words = (
            f"{name.replace('-', ' ')} {qty.show(qty.from_si(before[0], kind), kind)} before the blower, "
            f"{qty.show(qty.from_si(after[0], kind), kind)} after"
        )
        if best is None or chance > best.probability:
            best = Judged(chance, words, (f"{name}-before-blower", f"{name}-after-blower"))
    return best


@rule("co-room")
def _co_room(facts: RuleContext, known: Finding) -> Judged | None:
    inside, outside = facts.gauge("co-indoors"), facts.gauge("co-outdoors") or (0.0, 1e-6)
    if inside is None:
        return None
    return over(
        (inside[0] - outside[0], 1.5e-6),
        limit_of(known, qty.CO_FRACTION),
        qty.CO_FRACTION,
        "CO indoors above outdoors",
        "looked at above",
        ("co-indoors", "co-outdoors"),
    )
