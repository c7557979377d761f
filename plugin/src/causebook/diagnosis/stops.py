"""Stops: rules outside all probabilities.  They always fire and nothing outvotes them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from causebook import quantity as qty
from causebook.casefile.model import Case, CaseStep, Taken
from causebook.diagnosis.model import CauseBelief, StopNotice
from causebook.knowledge.model import Condition, Knowledge, Stop
from causebook.survey.model import FindingState, State, Survey


def stops(case: Case, surveyed: Survey, causes: Iterable[CauseBelief], knowledge: Knowledge) -> tuple[StopNotice, ...]:
    """Every stop that fired, in the order of the knowledge, each once, with what fired it first."""
    steps = case.steps
    out = []
    for stop in knowledge.stops.values():
        fired = min(_fired(stop, steps, surveyed, causes, knowledge), key=lambda f: f[0], default=None)
        if fired is not None:
            closed = _closed(case, fired[0])
            out.append(StopNotice(stop.id, stop.name, stop.notice, stop.do, fired[1], fired[0], stop.out_of_service,
                                  not closed, closed))
    return tuple(out)


def _fired(stop: Stop, steps: Sequence[CaseStep], surveyed: Survey, causes: Iterable[CauseBelief],
           knowledge: Knowledge) -> Iterator[tuple[int, str]]:
    """(step, because) of each thing that fires a stop."""
    seen_yes = {(s.number, f) for s in steps for f, said in s.seen.items() if said == "yes"}
    wanted = {c.finding for c in stop.any_of if c.finding} | {
        f.id for f in knowledge.findings.values() if f.stop == stop.id}
    for number, finding in sorted(seen_yes):
        if finding in wanted:
            yield number, knowledge.findings[finding].name
    for state in surveyed.findings:
        if state.id in wanted and state.state is State.PRESENT and state.readings:
            yield state.step, _said(state)
    for condition in stop.any_of:
        if condition.reading:
            yield from _read(condition, steps, knowledge)
    for cause in causes:
        if knowledge.causes[cause.id].stop == stop.id and cause.probability >= knowledge.constants["likely-from"].value:
            yield max((s.number for s in steps), default=0), f"{cause.name} is {cause.belief}"


def _said(state: FindingState) -> str:
    return f"{state.name}: {state.because}"


def _read(condition: Condition, steps: Sequence[CaseStep], knowledge: Knowledge) -> Iterator[tuple[int, str]]:
    """Readings beyond the limit of a condition.  A struck reading fires too: a stop is not talked away."""
    known = knowledge.readings[condition.reading]
    kind = qty.KINDS[known.kind]
    base = [t for s in steps for t in s.readings if t.reading == condition.minus]
    for step in steps:
        for taken in step.readings:
            if taken.reading != condition.reading:
                continue
            value = qty.si(taken.value, kind) - _nearest(base, taken, kind)
            over = condition.above and value >= qty.si(qty.parse(condition.above, kind), kind)
            under = condition.below and value <= qty.si(qty.parse(condition.below, kind), kind)
            if over or under:
                yield step.number, f"{known.name} {qty.show(taken.value, kind)}"


def _nearest(base: Sequence[Taken], taken: Taken, kind: qty.Kind) -> float:
    before = [t for t in base if t.step <= taken.step]
    return qty.si(before[-1].value, kind) if before else 0.0


def _closed(case: Case, step: int) -> str:
    """How a recorded conclusion of that visit or a later one ended the stop; empty while it is open."""
    visit = next((s.visit for s in case.steps if s.number == step), 1)
    return next((v.concluded.stop_closed for v in case.file.visits[visit - 1:]
                 if v.concluded is not None and v.concluded.stop_closed), "")
