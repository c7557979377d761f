"""After-repair readings held against the prediction made before, and what a difference suggests."""

from __future__ import annotations

import math
from collections.abc import Sequence

from causebook import quantity as qty
from causebook.casefile.model import Case
from causebook.measured import Measured
from causebook.sizing.model import Compared, Option, Predicted
from causebook.survey.model import ReadingSet, Survey

SUGGESTS = {
    # Reading, higher (+1) or lower (-1) than predicted -> what to look at first.  Expert estimates.
    ("airflow", -1): "something in the way takes more than it was drawn for, or the blower gives less than its table",
    ("airflow", 1): "the new parts take less than they were drawn for, or air goes past the taps",
    ("rise", 1): "less air or more gas than predicted: clock the gas, then look at the drops",
    ("rise", -1): "more air or less gas than predicted, or room air mixed in before the probe: clock the gas",
    ("external static", 1): "more resistance than drawn, if the airflow is short; a stronger blower, if it is not",
    (
        "external static",
        -1,
    ): "less resistance than drawn, if the airflow is more; a weaker blower or an open panel, if it is less",
    ("return drop", 1): "the return takes more than drawn: a tight boot, a closed damper, a smaller grille",
    ("filter drop", 1): "not the filter that was planned, or not clean",
    ("coil drop", 1): "the coil is not clean, or it is wet",
    ("supply drop", 1): "registers or dampers closed, or a run not as drawn",
}


def compare(surveyed: Survey, options: Sequence[Option]) -> tuple[Compared, ...]:
    """Readings after repair against what the option that was done had promised.

    That is the option the author marks as chosen, if it was computed, else the recommended one.
    """
    after, option = surveyed.after, done(surveyed.case, options)
    if after is None or option is None:
        return ()
    flow = after.best_airflow
    if flow is not None and flow.method.by_rise and option.furnace is not None:
        flow = None  # worked out with the heat of the furnace that is gone
    pairs: list[tuple[Predicted | None, Measured | None]] = [
        (option.airflow, flow),
        (option.rise, after.rise),
        (option.static, after.static),
    ]
    pairs += [(p, _drop(after, p.name.removesuffix(" drop"))) for p in option.drops]
    whose = "" if option.by_author else f"; held against “{option.name}”, since what was done was not computed"
    return tuple(_compared(p, r, whose) for p, r in pairs if p is not None and r is not None)


def done(case: Case, options: Sequence[Option]) -> Option | None:
    """The option whose prediction the readings after repair are held against."""
    chosen = {o.name for v in case.file.visits for o in v.options if o.chosen}
    computed = [o for o in options if o.airflow is not None]
    mine = next((o for o in computed if o.by_author and o.name in chosen and not o.not_understood), None)
    return mine or next((o for o in computed if o.recommended), None)


def _drop(after: ReadingSet, part: str) -> Measured | None:
    drop = next((d for d in after.drops if d.part == part), None)
    return None if drop is None else Measured.of(drop.value, drop.sd, qty.AIR_PRESSURE)


def _compared(predicted: Predicted, read: Measured, whose: str) -> Compared:
    spread, gap = qty.spread_kind(predicted.kind), read.si - predicted.si
    both = max(math.hypot(predicted.sd_si, read.sd_si), 1e-12)
    inside = abs(gap) <= 2 * both
    size = qty.show(qty.from_si(abs(gap), spread), spread)
    told = (
        f"{size} {'more' if gap > 0 else 'less'} than predicted, where twice the uncertainty of both is "
        f"{qty.show(qty.from_si(2 * both, spread), spread)}"
    )
    if not inside and (hint := SUGGESTS.get((predicted.name, 1 if gap > 0 else -1))):
        told += f"; {hint}"
    return Compared(predicted.name, predicted, read.value, inside, told + whose)
