"""The answer of a case in one view: what the page, the customer's page and the terminal all put first."""

from __future__ import annotations

from dataclasses import dataclass

from causebook import quantity as qty
from causebook.casefile.model import Outcome
from causebook.diagnosis.model import Belief, CauseBelief, Role
from causebook.quantity import Kind, Quantity
from causebook.survey.model import Estimate, ReadingSet
from causebook.workup import Workup

SERIOUS = 0.10
"""Belief from which on a cause was once a serious suspect."""
_UNLIKELY = (Belief.RULED_OUT, Belief.UNLIKELY)


@dataclass(frozen=True, slots=True)
class Moved:
    """One quantity before and after the repair, with what the plate allows."""

    name: str
    kind: Kind
    before: Estimate | None
    after: Estimate | None
    low: Quantity | None = None
    high: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Spent:
    """Minutes of testing before any repair; `untimed` steps are not in it."""

    minutes: float
    steps: int
    untimed: int


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer box."""

    outcome: Outcome
    """As the case file says; where it says nothing, as the readings say."""
    roots: tuple[CauseBelief, ...]
    """The root; more than one where several repairs are each needed."""
    suspects: tuple[CauseBelief, ...]
    """When there is no root: the most believed causes."""
    underlying: tuple[CauseBelief, ...]
    helpers: tuple[CauseBelief, ...]
    concluded: tuple[tuple[str, str, str], ...]
    """What was concluded on the job as root: cause id, name, reason."""
    differs: bool
    """Was another root concluded on the job than the readings point to?"""
    fix: tuple[str, ...]
    moved: tuple[Moved, ...]
    spent: Spent


def answer(workup: Workup) -> Answer:
    """Gather the answer of one workup."""
    verdict, conclusion = workup.verdict, workup.case.conclusion
    roots = verdict.with_role(Role.ROOT) if verdict.answered else ()
    said = conclusion.root if conclusion else {}
    concluded = tuple((workup.knowledge.resolve(id_), cause_name(workup, id_), why) for id_, why in said.items())
    return Answer(
        outcome=workup.case.file.outcome or verdict.outcome,
        roots=roots,
        suspects=() if roots else verdict.causes[:3],
        underlying=verdict.with_role(Role.UNDERLYING),
        helpers=verdict.with_role(Role.HELPED_BY),
        concluded=concluded,
        differs=bool(concluded) and bool(roots) and not {c[0] for c in concluded} & {r.id for r in roots},
        fix=_fix(workup),
        moved=_moved(workup),
        spent=_spent(workup),
    )


def by_role(workup: Workup) -> tuple[tuple[CauseBelief, ...], tuple[CauseBelief, ...]]:
    """The causes in the order of the story, and apart from them those that never were serious suspects.

    A cause that is not it stands in the story when it was once believed more than a little, or when it was
    ruled out by name on the job.
    """
    conclusion = workup.case.conclusion
    ruled_out = {workup.knowledge.resolve(id_) for id_ in (conclusion.not_it if conclusion else ())}
    order = (*(r for r in Role if r is not Role.NOT_IT), Role.NOT_IT)
    told, further = [], []
    for cause in sorted(workup.verdict.causes, key=lambda c: order.index(c.role)):
        peak = max((step.after.get(cause.id, 0.0) for step in workup.verdict.steps), default=0.0)
        aside = cause.role is Role.NOT_IT or (cause.role is Role.OPEN and cause.belief in _UNLIKELY)
        serious = peak >= SERIOUS or cause.id in ruled_out
        (further if aside and not serious else told).append(cause)
    return tuple(told), tuple(further)


def cause_name(workup: Workup, id_: str) -> str:
    """The name of a cause, by any of its ids; an id the knowledge does not hold is shown as words."""
    known = workup.knowledge.causes.get(workup.knowledge.resolve(id_))
    return known.name if known else id_.replace("-", " ")


def _fix(workup: Workup) -> tuple[str, ...]:
    chosen = tuple(o.name for v in workup.case.file.visits for o in v.options if o.chosen)
    changed = tuple(f"{part}: {what}" for s in workup.case.steps for part, what in s.step.changed.items())
    return chosen or changed


def _moved(workup: Workup) -> tuple[Moved, ...]:
    before, after, furnace = workup.survey.found, workup.survey.after, workup.case.file.furnace
    low, high = (furnace.rise if furnace and furnace.rise else (None, None))
    rows = (
        Moved("temperature rise", qty.TEMPERATURE_DIFFERENCE, _of(before, "rise"), _of(after, "rise"), low, high),
        Moved("airflow", qty.AIRFLOW, _of(before, "best_airflow"), _of(after, "best_airflow"),
              workup.survey.minimum_airflow),
        Moved("external static", qty.AIR_PRESSURE, _of(before, "static"), _of(after, "static"), None,
              furnace.static_maximum if furnace else None),
    )
    return tuple(row for row in rows if row.before or row.after)


def _of(found: ReadingSet | None, field: str) -> Estimate | None:
    return getattr(found, field) if found else None


def _spent(workup: Workup) -> Spent:
    steps = [s.step for s in workup.case.steps if not s.step.after]
    timed = [s.minutes for s in steps if s.minutes is not None]
    return Spent(sum(timed), len(steps), len(steps) - len(timed))
