"""Reading sets: the steps' readings grouped by the state they were taken in, each with what follows from it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from causebook import quantity as qty
from causebook.casefile.model import Case, CaseStep, Taken
from causebook.knowledge.model import Knowledge
from causebook.survey import airflow, heat, path
from causebook.survey.model import Estimate, Heat, ReadingSet, RunLog

LEAST_RISE = qty.DEGREE
"""Rise below which no fire heats the air, 1 °F [K]: supply and return then differ by no more than their probes do."""


@dataclass(frozen=True, slots=True)
class _Key:
    visit: int
    phase: str
    state: tuple[tuple[str, str], ...]
    mode: str
    repairs: int


def name_of(phase: str, state: Mapping[str, str]) -> str:
    """ "as found", "changed: filter removed", "after repair", "follow-up"."""
    if phase == "after":
        base = "after repair"
    elif phase == "follow-up":
        base = "follow-up"
    elif not state:
        return "as found"
    else:
        base = "changed"
    return base + (": " + ", ".join(f"{part} {how}" for part, how in state.items()) if state else "")


def group(steps: Iterable[CaseStep], knowledge: Knowledge) -> dict[_Key, list[CaseStep]]:
    """Steps by the state of the system, in order; lasting changes carry on to the later steps of the visit."""
    groups: dict[_Key, list[CaseStep]] = {}
    lasting: dict[str, str] = {}
    visit = before = 0
    repaired: set[int] = set()
    for step in steps:
        if step.visit != visit:
            visit, lasting, before = step.visit, {}, len(repaired)
        own = step.step
        phase = {"repair": "after", "follow-up": "follow-up"}.get(own.after, "")
        here = {part: how for part, how in own.with_.items() if not knowledge.leaves_as_found(part, how)}
        state = here if phase else {**lasting, **here}
        phase = phase or ("changed" if state else "found")
        if phase == "after":
            repaired.add(visit)
        key = _Key(step.visit, phase, tuple(state.items()), own.mode or "heating", before + (phase == "after"))
        groups.setdefault(key, []).append(step)
        lasting.update(own.changed)
    return groups


def reading_sets(
    case: Case,
    steps: Sequence[CaseStep],
    logs: Sequence[RunLog],
    facts: Heat,
    struck: Iterable[int],
    knowledge: Knowledge,
) -> tuple[ReadingSet, ...]:
    """Every reading set of the steps, with rise, input, airflow by each method, drops and static.

    `struck` are the ids (by `id()`) of readings that do not count.
    """
    void = set(struck)
    sets = []
    for key, members in group(steps, knowledge).items():
        readings = {t.reading: t for s in members for t in s.readings if not t.void and id(t) not in void}
        log = next((lg for lg in reversed(logs) if lg.step in {s.number for s in members}), None)
        if readings or log is not None:
            sets.append(_set(case, key, members, readings, log, facts, knowledge))
    return tuple(sets)


def _set(
    case: Case,
    key: _Key,
    members: list[CaseStep],
    readings: dict[str, Taken],
    log: RunLog | None,
    facts: Heat,
    knowledge: Knowledge,
) -> ReadingSet:
    taken_at = next((s.step.state for s in reversed(members) if any(t.reading == "supply-air" for t in s.readings)), "")
    state = dict(key.state)
    rise = _with_fire(heat.rise_of(readings, taken_at, log, knowledge))
    clocked = heat.input_of(case, readings, knowledge)
    coil = case.file.coil is not None and not case.file.coil.none
    taps = path.taps_of(readings, knowledge)
    static, why = path.static_of(case, readings, taps, knowledge)
    here = facts.at_return(readings)
    flows = [
        airflow.by_rise(here, clocked, rise, knowledge) if key.mode == "heating" else None,
        airflow.by_fan_table(case, state, static, here.density_ratio, knowledge),
        airflow.by_grid(readings, knowledge),
    ]
    known = tuple(f for f in flows if f is not None)
    best, agree = airflow.combine(known, knowledge)
    return ReadingSet(
        name=name_of(key.phase, state),
        state=state,
        steps=tuple(s.number for s in members),
        phase=key.phase,
        visit=key.visit,
        readings=readings,
        rise=rise,
        input=clocked,
        airflow=known,
        best_airflow=best,
        agree=agree,
        taps=taps,
        drops=path.drops_of(readings, taps, knowledge, coil),
        static=static,
        static_note=why,
        mode=key.mode,
        repairs=key.repairs,
    )


def _with_fire(rise: Estimate | None) -> Estimate | None:
    """The rise where the burner made one; in cooling, or without a flame, there is none to reckon with."""
    return rise if rise is not None and rise.si >= LEAST_RISE else None


def at_airflow(one: ReadingSet, common: Estimate | None, knowledge: Knowledge) -> ReadingSet:
    """The same set with every drop also given at a common airflow, where both airflows are known."""
    if common is None or one.best_airflow is None:
        return one
    flow = one.best_airflow
    return replace(one, drops=tuple(path.at_airflow(d, flow, common, knowledge) for d in one.drops))
