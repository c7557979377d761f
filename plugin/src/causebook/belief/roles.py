"""Roles by what-if: each present cause is put right alone in the model, and the machine asked again.

Root: see `root_chance`; where no repair alone does, all of the smallest group that does together.  Contributing: a
real share of what all repairs win together, not enough alone.  Damage: only along known edges.  Causes that no model
knows take their role from belief and from the edges.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from causebook import quantity as qty
from causebook.belief.verdict import Role, WhatIf
from causebook.knowledge.model import Knowledge

SHARE_THAT_COUNTS = 0.12
"""Share of what all repairs win together from which one counts as contributing (expert estimate)."""


@dataclass(frozen=True, slots=True)
class Roles:
    """Role of each present cause, with the table that decided."""

    by_cause: Mapping[str, Role]
    table: tuple[WhatIf, ...]


def roles(
    present: Sequence[str],
    root: str | None,
    table: tuple[WhatIf, ...],
    knowledge: Knowledge,
    needed: Sequence[str] = (),
) -> Roles:
    """Roles of the causes believed present, most believed first; `root` is the one most likely to be the root, and
    `needed` all that have to be put right together with it."""
    if not table:
        return Roles(_by_belief(present, root, knowledge), ())
    gains: dict[str, float] = {}
    for row in table[1:]:
        if len(row.repairs) == 1:  # the first row of a cause is of it alone, a second with an ordinary clean filter
            gains.setdefault(row.repairs[0], _gain(table[0], row))
    together = next((_gain(table[0], row) for row in table[1:] if len(row.repairs) > 1), max(gains.values(), default=0))
    damage = damaged_by(present, knowledge)
    out: dict[str, Role] = {}
    for cause in present:
        if cause == root or cause in needed:
            out[cause] = Role.ROOT
        elif cause in damage and damage[cause] in present:
            out[cause] = Role.DAMAGE
        elif cause in gains:
            share = gains[cause] / together if together > 0 else 0.0
            out[cause] = Role.HELPED_BY if share >= SHARE_THAT_COUNTS else Role.ALSO_FOUND
        else:
            out[cause] = Role.HELPED_BY if "contributing" in knowledge.causes[cause].often else Role.ALSO_FOUND
    return Roles(out, table)


def _gain(found: WhatIf, changed: WhatIf) -> float:
    """What a repair wins [K of limit margin or of rise; of airflow, a tenth for each 3 %]."""
    if found.limit_margin is not None and changed.limit_margin is not None:
        difference = qty.TEMPERATURE_DIFFERENCE
        return qty.si(changed.limit_margin, difference) - qty.si(found.limit_margin, difference)
    if found.airflow is not None and changed.airflow is not None:
        before, after = (qty.si(row.airflow, qty.AIRFLOW) for row in (found, changed) if row.airflow is not None)
        return (after - before) / before * 30.0
    return 0.0


def damaged_by(present: Sequence[str], knowledge: Knowledge) -> dict[str, str]:
    """Cause that is damage -> the present cause that does it."""
    return {edge.does: edge.cause for edge in knowledge.damage if edge.does in present and edge.cause in present}


def _by_belief(present: Sequence[str], root: str | None, knowledge: Knowledge) -> dict[str, Role]:
    """Without a what-if: what is not the root and not damage of another may have helped."""
    damage = damaged_by(present, knowledge)
    return {c: Role.ROOT if c == root else Role.DAMAGE if c in damage else Role.HELPED_BY for c in present}
