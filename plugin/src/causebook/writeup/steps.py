"""The steps of a case in the order they were done, each with what it read, what it meant, and what it did to belief."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from causebook.belief.posterior import COMPLAINT
from causebook.belief.verdict import Spoke, StepWeight
from causebook.casefile.model import CaseStep
from causebook.knowledge.sentences import said
from causebook.survey.model import State
from causebook.workup import StepCaution, StopNotice, Workup
from causebook.writeup import words
from causebook.writeup.answer import SERIOUS
from causebook.writeup.photos import Picture

SHOWN_SUSPECTS = 4
TOLD_SUSPECTS = 3
"""As many suspects a step's one line on belief names."""
RISKY = ("high",)
"""Risks of a look from which on a caution stands in full at its step."""
WORTH_A_LINE = 0.02
"""Change of a probability that a reader is told of."""


@dataclass(frozen=True, slots=True)
class ReadLine:
    """One reading of a step; `void` holds the reason when it does not count."""

    name: str
    value: Markup
    text: str
    void: str = ""


@dataclass(frozen=True, slots=True)
class Shift:
    """What a step did to one suspect: the weight of its evidence [deciban] and the belief before and after."""

    name: str
    decibans: float | None
    before: float | None
    after: float

    @property
    def change(self) -> float:
        """How far the belief moved; nothing where it was not weighed before."""
        return 0.0 if self.before is None else self.after - self.before

    @property
    def line(self) -> str:
        """In short: "Undersized return 12 % → 48 %", or "Undersized return at 48 %" where it was not weighed before."""
        was = " at" if self.before is None else f" {words.percent(self.before)} →"
        return f"{self.name}{was} {words.percent(self.after)}"


@dataclass(frozen=True, slots=True)
class CautionLine:
    """A caution at a step."""

    caution: StepCaution
    told: int
    """The step where it already stood; 0 at its first place."""
    full: bool
    """Is its whole text due here: a stop fired, or the step is risky?"""

    @property
    def action(self) -> str:
        """What it asks for, in its first sentence."""
        return re.split(r"(?<=[.!?])\s", self.caution.text.strip(), maxsplit=1)[0]


@dataclass(frozen=True, slots=True)
class StepView:
    """One step ready to be shown."""

    step: CaseStep
    cautions: tuple[CautionLine, ...]
    stops: tuple[StopNotice, ...]
    state: str
    read: tuple[ReadLine, ...]
    seen: Mapping[str, tuple[str, ...]]
    """What was looked for, by its answer: yes, no (looked for and not there), unclear."""
    means: tuple[str, ...]
    """What its readings showed: findings present or unclear, each with its numbers, the most telling first."""
    not_so: tuple[str, ...]
    """What was looked at by a reading and is absent."""
    shifts: tuple[Shift, ...]
    """The suspects it moved, most believed first."""
    despite: tuple[str, ...]
    """Of suspects it spoke against though it showed one of their signs: the sign, and the rival it speaks for."""
    weighed: bool
    """Was it weighed at all?  Weighed without shifts: it moved nothing."""
    pictures: tuple[Picture, ...]

    @property
    def number(self) -> int:
        """Its number over all visits."""
        return self.step.number

    @property
    def belief(self) -> str:
        """In one line what it did to belief: the suspects it moved most; empty when that is not worth a line."""
        most = sorted(
            (s for s in self.shifts if s.before is None or abs(s.change) >= WORTH_A_LINE), key=lambda s: -abs(s.change)
        )[:TOLD_SUSPECTS]
        return "; ".join(s.line for s in self.shifts if s in most)

    @property
    def meaning(self) -> str:
        """What it means, in one sentence: the most telling finding; where nothing was found, what it clears."""
        told = next(iter((*self.means, *self.not_so)), "")
        return words.sentence(told) if told else ""

    @property
    def reveals(self) -> bool:
        """Is there something to predict, and something to reveal?"""
        return bool(self.step.step.expect and (self.read or self.seen or self.step.step.told))


def step_views(workup: Workup, pictures: Sequence[Picture] = ()) -> tuple[StepView, ...]:
    """All steps of a workup."""
    before: Mapping[str, float] = {}
    told: dict[str, int] = {}
    views = []
    for step in workup.case.steps:
        weighed = [w for w in workup.verdict.steps if w.step == step.number]
        means, not_so = _speaks(workup, step, weighed)
        cautions = tuple(c for c in workup.cautions if c.step == step.number)
        views.append(
            StepView(
                step=step,
                cautions=_cautions(workup, step, cautions, told),
                stops=tuple(s for s in workup.stops if s.step == step.number),
                state=_state(step),
                read=_read(workup, step),
                seen=_seen(workup, step),
                means=means,
                not_so=not_so,
                shifts=_shifts(workup, weighed, before),
                despite=tuple(_despite(workup, weighed, before)),
                weighed=bool(weighed),
                pictures=_pictures(step, pictures),
            )
        )
        for caution in cautions:
            told.setdefault(caution.id, step.number)
        before = weighed[-1].after if weighed else before
    return tuple(views)


def _cautions(
    workup: Workup, step: CaseStep, cautions: Sequence[StepCaution], told: Mapping[str, int]
) -> tuple[CautionLine, ...]:
    """The cautions of a step; in full where a stop fired on it, or at their first place where the step is risky."""
    fired = any(stop.step == step.number for stop in workup.stops)
    looked_for = [workup.knowledge.findings[f] for f in step.seen if f in workup.knowledge.findings]
    risky = any(known.risk in RISKY for known in looked_for)
    return tuple(
        CautionLine(c, told.get(c.id, 0), not told.get(c.id) and (risky or (fired and _of_stop(workup, c, step))))
        for c in cautions
    )


def _of_stop(workup: Workup, caution: StepCaution, step: CaseStep) -> bool:
    """Does the caution speak of what fired a stop on this step?"""
    known = workup.knowledge.cautions.get(caution.id)
    found = {f for f, answer in step.seen.items() if answer == "yes"} | {t.reading for t in step.readings}
    return known is not None and bool(found & set(known.triggers))


def finding_name(workup: Workup, id_: str) -> str:
    """The name of a finding; one the knowledge does not hold is shown as words."""
    known = workup.knowledge.findings.get(id_)
    return known.name if known else id_.replace("-", " ")


def finding_said(workup: Workup, id_: str, there: bool | None) -> str:
    """What somebody saw, as a sentence: present, absent, or not clear."""
    known = workup.knowledge.findings.get(id_)
    return said(known, there) if known else finding_name(workup, id_)


def _seen(workup: Workup, step: CaseStep) -> Mapping[str, tuple[str, ...]]:
    answers = (
        (answer, tuple(finding_said(workup, id_, there) for id_, told in step.seen.items() if told == answer))
        for answer, there in (("yes", True), ("no", False), ("unclear", None))
    )
    return {answer: names for answer, names in answers if names}


def _speaks(workup: Workup, step: CaseStep, weighed: Sequence[StepWeight]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What the readings of a step say, in what is so and what is not; what was seen stands by itself.

    What the plate and the sizes alone say was not read on the first step, though it is weighed with it.
    """
    first = workup.verdict.steps[0].step if workup.verdict.steps else 0
    taken = {t.reading for t in step.readings}
    behind = {f.id: set(f.readings) for f in workup.survey.findings}
    told = [
        e
        for w in weighed
        for e in w.evidence
        if e.finding not in step.seen and (step.number != first or behind.get(e.finding, set()) & taken)
    ]
    means = tuple(e.text for e in told if e.state in (State.PRESENT, State.UNCLEAR))
    return means, tuple(e.text for e in told if e.state is State.ABSENT)


def _state(step: CaseStep) -> str:
    """The state the step was done in: "filter removed, at trip"."""
    parts = [f"{part} {state}" for part, state in step.step.with_.items()]
    return ", ".join(filter(None, [*parts, step.step.state, step.step.mode]))


def _read(workup: Workup, step: CaseStep) -> tuple[ReadLine, ...]:
    void = {v.taken.reading: v for v in workup.survey.voided if v.taken.step == step.number}
    taken = {t.reading: t for t in step.readings} | {id_: v.taken for id_, v in void.items()}
    return tuple(
        ReadLine(
            workup.knowledge.readings[id_].name,
            words.reading(workup.knowledge, id_, t.value),
            words.text(t.value, words.kind_of(workup.knowledge, id_)),
            void[id_].why if id_ in void else t.void,
        )
        for id_, t in taken.items()
    )


def _shifts(workup: Workup, weighed: Sequence[StepWeight], before: Mapping[str, float]) -> tuple[Shift, ...]:
    if not weighed:
        return ()
    decibans: dict[str, float] = {}
    for weight in (w for one in weighed for w in one.weights):
        decibans[weight.cause] = decibans.get(weight.cause, 0.0) + weight.decibans
    after = weighed[-1].after
    names = {c.id: c.name for c in workup.verdict.causes}
    lines = (Shift(names[id_], decibans.get(id_), before.get(id_), after[id_]) for id_ in names if id_ in after)
    moved = sorted(filter(_moved, lines), key=lambda line: -max(line.after, line.before or 0.0))
    return tuple(moved[:SHOWN_SUSPECTS])


def _despite(workup: Workup, weighed: Sequence[StepWeight], before: Mapping[str, float]) -> Iterator[str]:
    """Why a step that shows a sign of a serious suspect may still speak against it.

    Either what was read before had let the sign be expected, or a rival explains the step better.
    """
    names = {c.id: c.name for c in workup.verdict.causes}
    for step in weighed:
        rival = max(step.weights, key=lambda w: w.decibans, default=None)
        for weight in (w for w in step.weights if w.decibans <= -words.WEAK and step.after[w.cause] >= SERIOUS):
            sign = next((s for s in step.evidence if _is_sign(workup, s, weight.cause)), None)
            if sign is None or rival is None:
                continue
            told = f"{words.sentence(sign.text)} That is a sign of {words.within(names[weight.cause])}"
            if abs(step.after[weight.cause] - before.get(weight.cause, 0.0)) < WORTH_A_LINE:
                yield f"{told} that was expected after the steps before, so that its belief hardly moves"
            elif rival.decibans >= words.WEAK:
                yield f"{told}, but the step as a whole speaks for {words.within(names[rival.cause])}"


def _is_sign(workup: Workup, spoke: Spoke, cause: str) -> bool:
    """Is it there, more often than not with this cause, and not the complaint itself?"""
    known, finding = workup.knowledge.causes.get(cause), workup.knowledge.findings.get(spoke.finding)
    return (
        spoke.state is State.PRESENT
        and known is not None
        and known.links.get(spoke.finding, 0.0) > 0.5
        and finding is not None
        and finding.group != COMPLAINT
    )


def _moved(line: Shift) -> bool:
    """Would a reader see that anything happened, to a suspect that is or was a serious one?"""
    serious = max(line.after, line.before or 0.0) >= SERIOUS
    spoke = line.decibans is not None and abs(line.decibans) >= words.WEAK
    return serious and (spoke or abs(line.change) >= WORTH_A_LINE)


def _pictures(step: CaseStep, pictures: Sequence[Picture]) -> tuple[Picture, ...]:
    """The pictures of a step; the later one of a pair brings the earlier along, so that both stand side by side."""
    own = [p for p in pictures if p.step == step.number]
    pairs = {p.photo.pair for p in own if p.photo.pair}
    earlier = [p for p in pictures if p.photo.pair in pairs and p.step < step.number]
    return (*earlier, *own)
