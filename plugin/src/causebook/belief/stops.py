"""Stops: rules outside all probabilities.  They always fire and nothing outvotes them.

They err on the safe side: a reading fires them that is struck for the diagnosis, that was taken with something away or
after the repair, or that a later one contradicts.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

from causebook import quantity as qty
from causebook.belief.verdict import CauseBelief, StopNotice
from causebook.casefile.model import Case, CaseStep, Taken
from causebook.knowledge.model import Condition, Knowledge, Stop, slug
from causebook.knowledge.sentences import said
from causebook.survey.model import RuleContext, State, Survey
from causebook.survey.reading_sets import reading_sets
from causebook.survey.rules import judge
from causebook.survey.survey import context_of


def stops(case: Case, surveyed: Survey, causes: Iterable[CauseBelief], knowledge: Knowledge) -> tuple[StopNotice, ...]:
    """Every notice, in the order of the knowledge: one from what fired a stop first until a conclusion ended it, and
    another for what fired it after that.  While a higher notice about the same danger is open there is none of a lower,
    and what ends the higher ends both."""
    as_read = tuple(_as_read(case, surveyed, knowledge))
    visits = {s.number: s.visit for s in case.steps}
    ended = {n: v.concluded.stop_closed for n, v in enumerate(case.file.visits, 1) if v.concluded}
    found = {
        stop.id: {
            *_seen(stop, case.steps, knowledge),
            *_computed(stop, as_read),
            *_read(stop, case, surveyed, knowledge),
        }
        for stop in knowledge.stops.values()
    }
    fired = {
        id_: sorted(f.union(_believed(knowledge.stops[id_], case, surveyed, causes, knowledge)))
        for id_, f in found.items()
    }
    open_: dict[str, list[tuple[int, str]]] = {}
    notices = []

    def end(id_: str, how: str) -> None:
        stop, spell = knowledge.stops[id_], open_.pop(id_)
        notices.append(
            StopNotice(
                id_,
                stop.name,
                stop.notice,
                stop.do,
                spell[0][1],
                spell[0][0],
                stop.out_of_service,
                not how,
                how,
                found[id_].isdisjoint(spell),
                stop.technician,
                stop.leave,
                stop.way_on,
            )
        )

    for visit in sorted({1, *visits.values(), *ended}):
        for id_ in fired:
            if now := [one for one in fired[id_] if visits.get(one[0], 1) == visit]:
                open_.setdefault(id_, []).extend(now)
        for id_ in _covered(open_, found, knowledge):
            open_.pop(id_, None)
        for id_, how in _endings(ended.get(visit, ""), open_).items():
            end(id_, how)
    for id_ in tuple(open_):
        end(id_, "")
    order = list(knowledge.stops)
    return tuple(sorted(notices, key=lambda n: (order.index(n.id), n.step)))


def _covered(
    open_: Mapping[str, Sequence[tuple[int, str]]], found: Mapping[str, set[tuple[int, str]]], knowledge: Knowledge
) -> list[str]:
    """The open stops that a higher one about the same danger silences: one that was read or seen, not suspected."""
    return [low for high in open_ if not found[high].isdisjoint(open_[high]) for low in knowledge.stops[high].covers]


def _endings(said: Mapping[str, str] | str, open_: Collection[str]) -> dict[str, str]:
    """Which of the open stops a conclusion ended, and how.  Words that name none end the only one there is: of several
    they may not mean all."""
    if isinstance(said, str):
        return dict.fromkeys(open_, said) if said and len(open_) == 1 else {}
    return {slug(id_): how for id_, how in said.items() if how and slug(id_) in open_}


def _findings(stop: Stop) -> set[str]:
    return {c.finding for c in stop.any_of if c.finding}


def _seen(stop: Stop, steps: Sequence[CaseStep], knowledge: Knowledge) -> Iterator[tuple[int, str]]:
    for step in steps:
        for finding in sorted(_findings(stop)):
            if step.seen.get(finding) == "yes":
                yield step.number, said(knowledge.findings[finding], True)


def _computed(stop: Stop, as_read: Sequence[tuple[CaseStep, RuleContext]]) -> Iterator[tuple[int, str]]:
    """Findings worked out from readings, at each step that read something of them; at its limit one counts as over."""
    for step, facts in as_read:
        here = {t.reading for t in step.readings}
        for known in (facts.knowledge.findings[f] for f in sorted(_findings(stop))):
            judged = judge(known, facts)
            if judged is not None and not judged.probability < 0.5 and here.intersection(judged.readings):
                yield step.number, said(known, True, judged.value, judged.limit, judged.because)


def _as_read(case: Case, surveyed: Survey, knowledge: Knowledge) -> Iterator[tuple[CaseStep, RuleContext]]:
    """After each step that read something a stop may follow from: all that was read so far on its visit (before the
    repair, or since), taken as if it were as found and nothing were struck."""
    stopping = frozenset[str]().union(*(_findings(stop) for stop in knowledge.stops.values()))
    telling = {r.id for r in knowledge.readings.values() if stopping.intersection(r.shows)}
    kept: list[CaseStep] = []
    last = None
    for step in case.steps:
        if (now := (step.visit, step.step.after)) != last:
            kept, last = [], now
        bare = step.step.model_copy(update={"after": "", "with_": {}, "changed": {}})
        readings = tuple(t.model_copy(update={"void": ""}) for t in step.readings)
        kept.append(step.model_copy(update={"step": bare, "readings": readings}))
        if any(t.reading in telling for t in step.readings):
            sets = reading_sets(case, kept, surveyed.logs, surveyed.heat, (), knowledge)
            yield step, context_of(case, sets, (), surveyed.heat, knowledge)


def _read(stop: Stop, case: Case, surveyed: Survey, knowledge: Knowledge) -> Iterator[tuple[int, str]]:
    """Readings beyond the limit of a condition."""
    struck = {id(v.taken) for v in surveyed.voided}
    for condition in stop.any_of:
        base: list[Taken] = []
        visit = 0
        for step in case.steps:
            if step.visit != visit:
                visit, base = step.visit, []
            # What is subtracted speaks for going on, so that it has to count.
            base += [t for t in step.readings if t.reading == condition.minus and id(t) not in struck]
            for taken in step.readings:
                if taken.reading == condition.reading and _beyond(condition, taken, base, knowledge):
                    known = knowledge.readings[taken.reading]
                    yield step.number, f"{known.name} {qty.show(taken.value, qty.KINDS[known.kind])}"


def _beyond(condition: Condition, taken: Taken, base: Sequence[Taken], knowledge: Knowledge) -> bool:
    kind = qty.KINDS[knowledge.readings[taken.reading].kind]
    value = qty.si(taken.value, kind) - (qty.si(base[-1].value, kind) if base else 0.0)
    return bool(
        condition.above
        and value >= qty.si(qty.parse(condition.above, kind), kind)
        or condition.below
        and value <= qty.si(qty.parse(condition.below, kind), kind)
    )


def _believed(
    stop: Stop, case: Case, surveyed: Survey, causes: Iterable[CauseBelief], knowledge: Knowledge
) -> Iterator[tuple[int, str]]:
    """A cause believed likely, as of the last finding that speaks for it."""
    for cause in causes:
        known = knowledge.causes[cause.id]
        if known.stop == stop.id and cause.probability >= knowledge.constants["likely-from"].value:
            yield (
                max(
                    (f.step for f in surveyed.findings if f.id in known.links and f.state is State.PRESENT),
                    default=max((s.number for s in case.steps), default=0),
                ),
                f"{cause.name} is {cause.belief}",
            )
