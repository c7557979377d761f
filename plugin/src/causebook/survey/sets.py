"""Reading sets: the steps' readings grouped by the state they were taken in, each with what follows from it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from causebook import quantity as qty
from causebook.casefile.model import Case, CaseStep, FanTable, Taken
from causebook.knowledge.model import Knowledge
from causebook.survey import heat, numbers, path
from causebook.survey.heat import Heat
from causebook.survey.model import Estimate, ReadingSet, RunLog

INWC = 249.08891
LEAST_RISE = 5 / 9
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
        if not readings and log is None:
            continue
        sets.append(_set(case, key, members, readings, log, facts, knowledge))
    return _at_one_airflow(tuple(sets), knowledge)


def _set(
    case: Case,
    key: _Key,
    members: list[CaseStep],
    readings: dict[str, Taken],
    log: RunLog | None,
    facts: Heat,
    knowledge: Knowledge,
) -> ReadingSet:
    state = next((s.step.state for s in reversed(members) if any(t.reading == "supply-air" for t in s.readings)), "")
    rise = _with_fire(heat.rise_of(readings, state, log, knowledge))
    clocked = heat.input_of(case, readings, knowledge)
    coil = case.file.coil is not None and not case.file.coil.none
    taps = path.taps_of(readings, knowledge)
    static, why = path.static_of(case, readings, taps, knowledge)
    facts = facts.at_return(readings)
    flows = [
        heat.airflow_by_rise(facts, clocked, rise, knowledge) if key.mode == "heating" else None,
        by_fan_table(case, dict(key.state), static, facts.density_ratio, knowledge),
        _stated(readings, knowledge),
    ]
    airflow = tuple(f for f in flows if f is not None)
    best, agree = combine(airflow, knowledge)
    return ReadingSet(
        name_of(key.phase, dict(key.state)),
        dict(key.state),
        tuple(s.number for s in members),
        key.phase,
        key.visit,
        readings,
        rise,
        clocked,
        airflow,
        best,
        agree,
        taps,
        path.drops_of(readings, taps, knowledge, coil),
        static,
        why,
        key.mode,
        key.repairs,
    )


def _with_fire(rise: Estimate | None) -> Estimate | None:
    """The rise where the burner made one; in cooling, or without a flame, there is none to reckon with."""
    return rise if rise is not None and numbers.si_of(rise)[0] >= LEAST_RISE else None


def setting_of(case: Case, state: Mapping[str, str]) -> str:
    """The blower setting in force: the one a step says it was set to, else the one found."""
    found = case.file.blower.setting if case.file.blower else ""
    return state.get("blower", found).removeprefix("set to ").removeprefix("setting ").strip()


def curve_of(table: FanTable, setting: str, density_ratio: float) -> tuple[np.ndarray, np.ndarray] | None:
    """(airflow [m³/s] rising, static [Pa] falling) of one setting at this air density.

    None for an unknown setting, and for a motor that holds one airflow over the whole table: no curve tells it.
    """
    printed = table.curve(setting)
    if printed is None or not printed[0]:
        return None
    static = np.asarray(printed[0], float) * INWC * density_ratio
    # Airflow that a motor holds may be printed a little higher further down; the curve takes it as held.
    flow = np.minimum.accumulate(np.asarray(printed[1], float)) * 0.3048**3 / 60
    # Two rows may print one airflow where the curve is steep: the higher static stands for both.
    order = np.lexsort((-static, flow))
    flow, static = flow[order], static[order]
    first = np.concatenate([[True], np.diff(flow) > 0])
    return (flow[first], static[first]) if first.sum() > 1 else None


def by_fan_table(
    case: Case, state: Mapping[str, str], static: Estimate | None, density_ratio: float, knowledge: Knowledge
) -> Estimate | None:
    """Airflow by the fan table at the static read, for the setting in force."""
    table = case.fan_table
    setting = setting_of(case, state)
    curve = curve_of(table, setting, density_ratio) if table is not None else None
    if curve is None or static is None:
        return None
    flow, pressure = curve
    value, spread = numbers.si_of(static)
    if not pressure.min() - 0.03 * INWC <= value <= pressure.max() + 0.03 * INWC:
        return None
    order = np.argsort(pressure)
    here, up, down = (
        float(np.interp(p, pressure[order], flow[order])) for p in (value, value + spread, value - spread)
    )
    sd = float(np.hypot(here * numbers.constant(knowledge, "fan-table-spread"), (down - up) / 2))
    return numbers.estimate(here, sd, qty.AIRFLOW, f"fan table at setting {setting}", static.readings)


def _stated(readings: Mapping[str, Taken], knowledge: Knowledge) -> Estimate | None:
    taken = readings.get("flow-grid-airflow")
    if taken is None:
        return None
    return numbers.estimate(
        numbers.value(taken, knowledge),
        numbers.sd(taken, knowledge),
        qty.AIRFLOW,
        knowledge.readings[taken.reading].name,
        (taken.reading,),
    )


def combine(flows: Sequence[Estimate], knowledge: Knowledge) -> tuple[Estimate | None, bool | None]:
    """The airflow to go by, and whether the methods agree.

    The weighted mean where they do.  Else what was measured in the air itself, by rise or grid: the fan table is good
    only for a sound blower at its speed, which is what then stands in doubt.
    """
    if not flows:
        return None, None
    if len(flows) == 1:
        return flows[0], None
    values = np.array([numbers.si_of(f) for f in flows])
    limit = numbers.constant(knowledge, "airflow-methods-agree")
    mean = float(np.mean(values[:, 0]))
    gap = float(values[:, 0].max() - values[:, 0].min())
    agree = gap <= limit * mean
    if not agree:
        return next((f for f in flows if not f.method.startswith("fan table")), flows[0]), False
    weights = 1 / values[:, 1] ** 2
    together = float((weights * values[:, 0]).sum() / weights.sum())
    return numbers.estimate(
        together,
        float(weights.sum() ** -0.5),
        qty.AIRFLOW,
        "the methods together",
        tuple(dict.fromkeys(r for f in flows for r in f.readings)),
    ), True


def _at_one_airflow(sets: tuple[ReadingSet, ...], knowledge: Knowledge) -> tuple[ReadingSet, ...]:
    """The same sets with every drop also given at the as-found airflow, where both airflows are known."""
    common = next((s.best_airflow for s in reversed(sets) if s.phase == "found" and s.best_airflow), None)
    if common is None:
        return sets
    return tuple(
        replace(s, drops=tuple(path.at_airflow(d, s.best_airflow, common, knowledge) for d in s.drops))
        if s.best_airflow
        else s
        for s in sets
    )
