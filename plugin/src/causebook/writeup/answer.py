"""The answer of a case in one view: what the page, the customer's page and the terminal all put first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from causebook import quantity as qty
from causebook.belief.after_repair import AfterRepair
from causebook.belief.verdict import Belief, CauseBelief, Role
from causebook.casefile.model import Conclusion, Outcome
from causebook.knowledge.model import Knowledge
from causebook.quantity import Kind, Quantity
from causebook.survey.model import Estimate, ReadingSet
from causebook.workup import Workup
from causebook.writeup import words

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

    @property
    def beyond(self) -> str:
        """The bound still broken after the repair, as far as it shows: "at most 0.50 in. w.c."; else empty."""
        return "" if self.after is None else self._broken_by(self.after)

    @property
    def last(self) -> Estimate | None:
        """The latest value."""
        return self.after or self.before

    @property
    def last_told(self) -> str:
        """The latest value as text."""
        return qty.show(self.last.value, self.kind) if self.last else ""

    @property
    def broken(self) -> str:
        """The bound that the latest value breaks; else empty."""
        return self._broken_by(self.last) if self.last else ""

    @property
    def too_high(self) -> bool:
        """Is the latest value above what the plate allows?"""
        return self.last is not None and self.high is not None and self._shown(self.last.value) > self._shown(self.high)

    def _broken_by(self, found: Estimate) -> str:
        read = self._shown(found.value)
        if self.low is not None and read < self._shown(self.low):
            return f"at least {qty.show(self.low, self.kind)}"
        if self.high is not None and read > self._shown(self.high):
            return f"at most {qty.show(self.high, self.kind)}"
        return ""

    def _shown(self, value: Quantity) -> float:
        return round(qty.us(value, self.kind), self.kind.us_digits)


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
    damage: tuple[CauseBelief, ...]
    concluded: tuple[tuple[str, str, str], ...]
    """What was concluded on the job as root: cause id, name, reason."""
    differs: bool
    """Was another root concluded on the job than the readings point to, and not one that does that as damage?"""
    did_it: tuple[str, ...]
    """Names of what was concluded on the job as root and did, as damage, what the readings point to."""
    decided_by: str
    """What decided it, in its numbers."""
    decided_at: int
    """The step that showed it; 0 when that is not known."""
    repaired: bool
    """Was it put right, or something put in its place?"""
    fix: tuple[str, ...]
    moved: tuple[Moved, ...]
    put_out_of_use: tuple[str, ...]
    """What the conclusions of all visits say was put out of use and how that ended, in their order."""
    may_run: tuple[str, str]
    """What this page has to say to "OK to run?", in short and why; never more than the person on site decides."""
    spent: Spent

    @property
    def beyond(self) -> tuple[Moved, ...]:
        """What is still beyond the plate after the repair."""
        return tuple(moved for moved in self.moved if moved.beyond)


def answer(workup: Workup) -> Answer:
    """Gather the answer of one workup."""
    verdict, conclusion = workup.verdict, workup.case.conclusion
    roots = verdict.with_role(Role.ROOT) if verdict.answered else ()
    said = conclusion.root if conclusion else {}
    concluded = tuple((workup.knowledge.resolve(id_), cause_name(workup, id_), why) for id_, why in said.items())
    agreed = bool({c[0] for c in concluded} & {r.id for r in roots})
    did_it = () if agreed else _did(concluded, roots, workup.knowledge)
    outcome = workup.case.file.outcome or verdict.outcome
    decided_by, decided_at = decided(workup)
    moved = _moved(workup)
    return Answer(
        outcome=outcome,
        roots=roots,
        suspects=() if roots else verdict.causes[:3],
        underlying=verdict.with_role(Role.UNDERLYING),
        helpers=verdict.with_role(Role.HELPED_BY),
        damage=verdict.with_role(Role.DAMAGE),
        concluded=concluded,
        differs=bool(concluded) and bool(roots) and not agreed and not did_it,
        did_it=did_it,
        decided_by=decided_by,
        decided_at=decided_at,
        repaired=outcome in (Outcome.CORRECTED, Outcome.FIRST_WRONG, Outcome.STOPPED),
        fix=_fix(workup),
        moved=moved,
        put_out_of_use=_put_out_of_use(workup),
        may_run=_may_run(workup, outcome, moved),
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
    told: list[CauseBelief] = []
    further: list[CauseBelief] = []
    for cause in sorted(workup.verdict.causes, key=lambda c: order.index(c.role)):
        peak = max((step.after.get(cause.id, 0.0) for step in workup.verdict.steps), default=0.0)
        aside = cause.role is Role.NOT_IT or (cause.role is Role.OPEN and cause.belief in _UNLIKELY)
        serious = peak >= SERIOUS or cause.id in ruled_out
        (further if aside and not serious else told).append(cause)
    return tuple(told), tuple(further)


def role_word(workup: Workup, cause: CauseBelief) -> str:
    """The role of a cause in a word; where no root is determined, what would be it is only most believed."""
    return "most likely" if cause.role is Role.ROOT and not workup.verdict.answered else words.role(cause.role)


def told_suspects(workup: Workup, count: int) -> tuple[CauseBelief, ...]:
    """The few suspects whose course is told, in the order of belief: those of the story, then of those that ever were
    serious the most believed."""
    followed = [c for c in workup.verdict.causes if any(c.id in step.after for step in workup.verdict.steps)]
    story = (Role.ROOT, Role.HELPED_BY, Role.UNDERLYING)
    peak = {c.id: max(step.after.get(c.id, 0.0) for step in workup.verdict.steps) for c in followed}
    serious = [c for c in followed if c.role in story or peak[c.id] >= SERIOUS]
    kept = sorted(serious, key=lambda c: (c.role not in story, -peak[c.id]))[:count]
    return tuple(c for c in followed if c in kept)


def cause_name(workup: Workup, id_: str) -> str:
    """The name of a cause, by any of its ids; an id the knowledge does not hold is shown as words."""
    known = workup.knowledge.causes.get(workup.knowledge.resolve(id_))
    return known.name if known else id_.replace("-", " ")


def decided(workup: Workup) -> tuple[str, int]:
    """What decided it, parted from the name of its step."""
    told = workup.verdict.decided_by
    step = next((s for s in workup.verdict.steps if told.startswith(f"{s.did}: ")), None)
    return (told.removeprefix(f"{step.did}: "), step.step) if step else (told, 0)


YES, OPEN_ITEM, NOT_PROVEN, NO = "Yes.", "Yes, with this open item:", "Cause not proven.", "Do not run."
"""The answers to "OK to run?": it may, with something left to do; nobody knows yet; it must not."""
REPLACED = "Old furnace: do not run. New furnace: yes."
_CLEAR = "Nothing we measured or saw argues against running it."
_RUN = {
    Outcome.CORRECTED: (YES, _CLEAR),
    Outcome.FIRST_WRONG: (YES, _CLEAR),
    Outcome.NOT_CORRECTED: (OPEN_ITEM, "The cause was found and is not fixed yet."),
    Outcome.LIKELY: (NOT_PROVEN, "The cause is likely, and no test has settled it."),
    Outcome.UNDETERMINED: (NOT_PROVEN, "Nobody has found the cause yet."),
    Outcome.STOPPED: (NO, "It was stopped for safety."),
}
_CALLED_FIXED = (Outcome.CORRECTED, Outcome.FIRST_WRONG)


def _may_run(workup: Workup, outcome: Outcome, moved: tuple[Moved, ...]) -> tuple[str, str]:
    short, why = _runs(workup, outcome, moved)
    open_ = [stop for stop in workup.stops if stop.open]
    if workup.stops and not open_ and outcome is not Outcome.STOPPED and short != NO:
        why = f"It was stopped for safety. {why}"
    return short, " ".join(filter(None, (why, _ended(workup))))


def _runs(workup: Workup, outcome: Outcome, moved: tuple[Moved, ...]) -> tuple[str, str]:
    """May it run, and why, before what ended a notice is told."""
    open_ = [stop for stop in workup.stops if stop.open]
    if any(stop.out_of_service for stop in open_):
        return NO, "It is out of service, see the notice."
    if open_:
        return NO, "Not before the notice is met."
    if still_out_of_use(workup):
        return NO, "It was put out of use, and nothing here says how that ended."
    if outcome is Outcome.STOPPED:
        return (REPLACED if replaced(workup) else NO), _RUN[outcome][1]
    if outcome in _CALLED_FIXED and not workup.repair.gone:
        return NOT_PROVEN, _not_shown(workup.repair)
    hot = next((m for m in moved if m.kind is qty.TEMPERATURE_DIFFERENCE and m.too_high), None)
    if hot is not None and outcome in (*_CALLED_FIXED, Outcome.NOT_CORRECTED):
        return NO, words.sentence(f"Not before the rise is inside the plate: {hot.last_told}, {hot.broken}")
    short, why = _RUN[outcome]
    beyond = "; ".join(f"{m.name} {m.last_told}, {m.beyond}" for m in moved if m.beyond)
    if beyond and outcome in _CALLED_FIXED:
        return OPEN_ITEM, words.sentence(beyond)
    return short, f"{why} Still beyond the plate: {words.sentence(beyond)}" if beyond else why


def replaced(workup: Workup) -> bool:
    """Was a furnace that no repair can end put away, and another one looked at after it?"""
    ended = all(not stop.open for stop in workup.stops)
    final = any(workup.knowledge.stops[stop.id].no_repair for stop in workup.stops)
    return ended and final and any(step.step.after == "repair" for step in workup.case.steps)


def _did(
    concluded: Sequence[tuple[str, str, str]], roots: Sequence[CauseBelief], knowledge: Knowledge
) -> tuple[str, ...]:
    """Names of the concluded causes that did the damage the readings point to; none unless they did all of it."""
    does = {(edge.cause, edge.does) for edge in knowledge.damage}
    explained = all(any((c, r.id) in does for c, _, _ in concluded) for r in roots)
    return tuple(name for c, name, _ in concluded if any((c, r.id) in does for r in roots)) if explained else ()


def _not_shown(repair: AfterRepair) -> str:
    """Why a case called corrected is not shown to be."""
    if repair.goes_on:
        return f"After the repair it still showed: {'; '.join(repair.goes_on)}."
    return "Nothing read or seen after the repair shows that the fault is gone."


def _ended(workup: Workup) -> str:
    """What ended the notices, once none is open, unless the conclusions say it in the same words."""
    if any(stop.open for stop in workup.stops):
        return ""
    told = {how for c in _conclusions(workup) for how in c.endings}
    ended = "; ".join(dict.fromkeys(s.closed_by for s in workup.stops if s.closed_by and s.closed_by not in told))
    return f"What ended the notice: {words.sentence(ended)}" if ended else ""


def _conclusions(workup: Workup) -> list[Conclusion]:
    return [v.concluded for v in workup.case.file.visits if v.concluded]


def still_out_of_use(workup: Workup) -> bool:
    """Did a conclusion put something out of use, and neither it nor a later one say how that ended?"""
    told = [c.endings for c in _conclusions(workup) if c.stop or c.endings]
    return bool(told) and not told[-1]


def _put_out_of_use(workup: Workup) -> tuple[str, ...]:
    told = ((c.stop, f"How it ended: {'; '.join(c.endings)}" if c.endings else "") for c in _conclusions(workup))
    return tuple(words.sentence(one) for pair in told for one in pair if one)


def _fix(workup: Workup) -> tuple[str, ...]:
    chosen = tuple(o.name for v in workup.case.file.visits for o in v.options if o.chosen)
    changed = tuple(f"{part}: {what}" for s in workup.case.steps for part, what in s.step.changed.items())
    return chosen or changed


def _moved(workup: Workup) -> tuple[Moved, ...]:
    before, after, furnace = workup.survey.found, workup.survey.after, workup.case.file.furnace
    low, high = furnace.rise if furnace and furnace.rise else (None, None)
    rows = (
        Moved("temperature rise", qty.TEMPERATURE_DIFFERENCE, _of(before, "rise"), _of(after, "rise"), low, high),
        Moved("airflow", qty.AIRFLOW, _of(before, "best_airflow"), _of(after, "best_airflow"), least_airflow(workup)),
        Moved(
            "external static",
            qty.AIR_PRESSURE,
            _of(before, "static"),
            _of(after, "static"),
            None,
            furnace.static_maximum if furnace else None,
        ),
    )
    return tuple(row for row in rows if row.before or row.after)


def least_airflow(workup: Workup) -> Quantity | None:
    """The least airflow that is asked for: of the plate's rise, or of the coil where cooling was read."""
    found, coil = workup.survey.found, workup.case.file.coil
    if found is None or found.mode != "cooling" or coil is None or coil.cooling is None:
        return workup.survey.minimum_airflow
    per_ton = workup.knowledge.constants["cooling-airflow-least"]
    return coil.cooling * qty.q(per_ton.value, per_ton.unit)


def _of(found: ReadingSet | None, field: str) -> Estimate | None:
    return getattr(found, field) if found else None


def _spent(workup: Workup) -> Spent:
    steps = [s.step for s in workup.case.steps if not s.step.after]
    timed = [s.minutes for s in steps if s.minutes is not None]
    return Spent(sum(timed), len(steps), len(steps) - len(timed))
