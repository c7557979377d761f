"""The survey of a case: everything worked out from its readings before any cause is weighed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from causebook import quantity as qty
from causebook.casefile.model import Case, CaseStep
from causebook.knowledge.model import Knowledge, slug
from causebook.knowledge.sentences import said
from causebook.survey import numbers
from causebook.survey.heat import heat_of
from causebook.survey.limit import limit_evidence, with_verdict
from causebook.survey.logs import run_log
from causebook.survey.model import FindingState, ReadingSet, RunLog, State, Survey
from causebook.survey.rules import Facts, judge
from causebook.survey.sets import combine, group, reading_sets
from causebook.survey.voids import voided

OUTSIDE: Mapping[str, frozenset[str]] = {
    "flame-rod": frozenset({"flame-current", "flame-current-at-start", "lights-held"}),
    "thermostat": frozenset({"air-at-thermostat", "call-volts", "call-length"}),
}
"""Parts outside heat and air -> the readings that show a change of theirs; all else read then is as found."""
SEEN = {"yes": 1.0, "no": 0.0, "unclear": 0.5}
_CLEAR: Mapping[State, bool | None] = {State.PRESENT: True, State.ABSENT: False, State.UNCLEAR: None}
SHUT = frozenset({"panel"})
"""Parts that may be off or on while somebody looks: what he looks at stays as found."""


def survey(case: Case, knowledge: Knowledge, upto: int | None = None) -> Survey:
    """Survey a case, or only its steps up to and including number `upto`."""
    steps = [s for s in case.steps if upto is None or s.number <= upto]
    heat = heat_of(case, knowledge)
    struck = voided(steps, knowledge)
    logs = _logs(steps, knowledge)
    sets = reading_sets(case, steps, logs, heat, [id(v.taken) for v in struck], knowledge)
    limit = limit_evidence(case, sets, struck, knowledge)
    found = merged_found(sets, knowledge)
    facts = Facts(case, knowledge, heat, found, since_repair(sets), limit)
    furnace = case.file.furnace
    least = middle = None
    if heat.output is not None and furnace is not None and furnace.rise is not None:
        low, high = (qty.si(r, qty.TEMPERATURE_DIFFERENCE) for r in furnace.rise)
        least = qty.from_si(heat.output / (heat.sensible * high), qty.AIRFLOW)
        middle = qty.from_si(heat.output / (heat.sensible * (low + high) / 2), qty.AIRFLOW)
    findings = _findings(facts, steps)
    return Survey(
        heat.air,
        sets,
        logs,
        with_verdict(limit, findings),
        findings,
        struck,
        None if heat.plate_input is None else qty.from_si(heat.plate_input, qty.HEAT_RATE),
        heat.efficiency,
        least,
        middle,
    )


def _logs(steps: Sequence[CaseStep], knowledge: Knowledge) -> tuple[RunLog, ...]:
    out = []
    for step in steps:
        back = next((numbers.value(t, knowledge) for t in step.readings if t.reading == "return-air"), None)
        if (log := run_log(step, back)) is not None:
            out.append(log)
    return tuple(out)


def merged_found(sets: Sequence[ReadingSet], knowledge: Knowledge) -> ReadingSet:
    """The as-found readings of all visits since the last repair as one set, the later over the earlier.

    What was read at the end of that repair is how the furnace was left, and so how it was found when somebody came
    back to it.
    """
    found = [one for s in since_repair(sets) if (one := _as_found(s)) is not None]
    if not found:
        return ReadingSet("as found", {}, (), "found", 1, {})
    best = found[0]
    for one in found[1:]:
        flows = {f.method.split(" at ")[0]: f for f in (*best.airflow, *one.airflow)}
        airflow = tuple(flows.values())
        together, agree = combine(airflow, knowledge)
        taps = {t.number: t for t in (*best.taps, *(t for t in one.taps if t.value is not None))}
        drops = {d.part: d for d in (*best.drops, *one.drops)}
        best = replace(
            one,
            readings={**best.readings, **one.readings},
            rise=one.rise or best.rise,
            input=one.input or best.input,
            airflow=airflow,
            best_airflow=together,
            agree=agree,
            taps=tuple(taps[n] for n in sorted(taps)),
            drops=tuple(drops.values()),
            static=one.static or best.static,
            static_note=one.static_note if one.static else best.static_note,
            steps=(*best.steps, *one.steps),
            mode=one.mode if one.airflow or one.drops else best.mode,
        )
    return replace(best, phase="found")


def _as_found(one: ReadingSet) -> ReadingSet | None:
    """What a set tells of the furnace as found; None where its state says that it tells nothing of that."""
    if one.phase == "found" or (one.phase == "after" and not one.state):
        return one
    changed = [slug(part) for part in one.state]
    if one.phase != "changed" or not OUTSIDE.keys() >= set(changed):
        return None
    shown = frozenset[str]().union(*(OUTSIDE[part] for part in changed))
    return replace(one, readings={r: taken for r, taken in one.readings.items() if r not in shown})


def since_repair(sets: Sequence[ReadingSet]) -> tuple[ReadingSet, ...]:
    """The sets that tell of the furnace as it was last found: none from before a repair that it was found after."""
    last = max((s.repairs for s in sets if s.phase == "found"), default=0)
    return tuple(s for s in sets if s.repairs == last)


def _findings(facts: Facts, steps: Sequence[CaseStep]) -> tuple[FindingState, ...]:
    """Every finding that was looked for, seen or computed; of two that speak, the reading goes before the eye."""
    seen = _looks(steps, facts.knowledge)
    when = {t.reading: s.number for s in steps for t in s.readings if not s.step.after}
    out = []
    for known in facts.knowledge.findings.values():
        judged = judge(known, facts) if known.computed else None
        if judged is not None:
            state = (
                State.PRESENT
                if judged.probability > 0.8
                else State.ABSENT
                if judged.probability < 0.2
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
    altered = {
        step.number for key, members in group(steps).items() if dict(key.state).keys() - SHUT for step in members
    }
    out: dict[str, list[CaseStep]] = {}
    for step in steps:
        for finding in () if step.step.after else step.seen:
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
