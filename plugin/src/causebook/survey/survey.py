"""The survey of a case: everything worked out from its readings before any cause is weighed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from causebook.casefile.model import Case, CaseStep
from causebook.knowledge.model import Knowledge
from causebook.knowledge.sentences import said
from causebook.survey import numbers
from causebook.survey.heat import heat_of
from causebook.survey.limit import limit_evidence, with_verdict
from causebook.survey.logs import run_log
from causebook.survey.model import (
    FindingState,
    Heat,
    ReadingSet,
    RuleContext,
    RunLog,
    State,
    Survey,
    Voided,
    since_repair,
)
from causebook.survey.reading_sets import at_airflow, group, reading_sets
from causebook.survey.rule_value import ABSENT, PRESENT
from causebook.survey.rules import judge
from causebook.survey.visits import as_found
from causebook.survey.voids import struck_looks, voided

SEEN = {"yes": 1.0, "no": 0.0, "unclear": 0.5}
_CLEAR: Mapping[State, bool | None] = {State.PRESENT: True, State.ABSENT: False, State.UNCLEAR: None}


def survey(case: Case, knowledge: Knowledge, upto: int | None = None) -> Survey:
    """Survey a case, or only its steps up to and including number `upto`."""
    steps = [s for s in case.steps if upto is None or s.number <= upto]
    heat = heat_of(case, knowledge)
    struck = voided(case, steps, knowledge)
    logs = _logs(steps, knowledge)
    sets = reading_sets(case, steps, logs, heat, [id(v.taken) for v in struck], knowledge)
    context = context_of(case, sets, struck, heat, knowledge)
    findings = _findings(context, steps)
    common = context.found.best_airflow
    return Survey(
        case,
        knowledge,
        heat,
        tuple(at_airflow(s, common, knowledge) for s in sets),
        at_airflow(context.found, common, knowledge),
        logs,
        with_verdict(context.limit, findings),
        findings,
        struck,
        struck_looks=struck_looks(steps, knowledge),
    )


def context_of(
    case: Case, sets: Sequence[ReadingSet], struck: Sequence[Voided], heat: Heat, knowledge: Knowledge
) -> RuleContext:
    """What findings follow from, where these are the sets that were taken."""
    found = as_found(sets, heat, knowledge)
    limit = limit_evidence(case, sets, struck, knowledge)
    return RuleContext(case, knowledge, heat, found, since_repair(sets), limit)


def _logs(steps: Sequence[CaseStep], knowledge: Knowledge) -> tuple[RunLog, ...]:
    out = []
    for step in steps:
        back = next((numbers.value(t, knowledge) for t in step.readings if t.reading == "return-air"), None)
        if (log := run_log(step, back)) is not None:
            out.append(log)
    return tuple(out)


def _findings(context: RuleContext, steps: Sequence[CaseStep]) -> tuple[FindingState, ...]:
    """Every finding that was looked for, seen or computed; of two that speak, the reading goes before the eye."""
    seen = _looks(steps, context.knowledge)
    when = {t.reading: s.number for s in steps for t in s.readings if not s.step.after}
    out = []
    for known in context.knowledge.findings.values():
        judged = judge(known, context)
        if judged is not None:
            state = (
                State.PRESENT
                if judged.probability > PRESENT
                else State.ABSENT
                if judged.probability < ABSENT
                else State.UNCLEAR
            )
            last = max((when.get(r, 0) for r in judged.readings), default=0)
            out.append(
                FindingState(
                    known.id,
                    known.name,
                    state,
                    judged.probability,
                    last,
                    judged.readings,
                    said(known, _CLEAR[state], judged.value, judged.limit, judged.because),
                    bool(known.physical),
                )
            )
        elif known.id in seen:
            looks = seen[known.id]
            told = tuple(SEEN[s.seen[known.id]] for s in looks)
            chance = _together(told)
            state = State.PRESENT if chance > 0.5 else State.ABSENT if chance < 0.5 else State.UNCLEAR
            out.append(
                FindingState(
                    known.id,
                    known.name,
                    state,
                    chance,
                    looks[-1].number,
                    (),
                    said(known, _CLEAR[state]),
                    bool(known.physical),
                    told,
                )
            )
    return tuple(sorted(out, key=lambda f: (f.step, f.id)))


def _looks(steps: Sequence[CaseStep], knowledge: Knowledge) -> dict[str, list[CaseStep]]:
    """Finding -> the steps whose looks at it count: the last, with those of the same visit where it stands still.

    What somebody has changed in the meantime does not unsay what was found before.
    """
    altered = {step.number for key, members in group(steps, knowledge).items() if key.state for step in members}
    struck = {(look.step, look.finding) for look in struck_looks(steps, knowledge)}
    out: dict[str, list[CaseStep]] = {}
    for step in steps:
        for finding in () if step.step.after else step.seen:
            if (step.number, finding) in struck:
                continue
            before = out.get(finding, [])
            goes_on = bool(before) and before[-1].visit == step.visit and knowledge.findings[finding].stands
            if not goes_on:
                out[finding] = [step]
            elif step.number not in altered:
                out[finding] = [*before, step]
    return out


def _together(looks: Sequence[float]) -> float:
    """Share of the clear looks that say it is there; as many for as against, or none that is clear, leave it open."""
    clear = [look for look in looks if look != 0.5]
    return sum(clear) / len(clear) if clear else 0.5
