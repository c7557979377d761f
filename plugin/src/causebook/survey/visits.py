"""The visits as one: how the furnace was found, from all that was read since the last repair."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from causebook.knowledge.model import Knowledge, slug
from causebook.survey import airflow
from causebook.survey.model import Estimate, Heat, ReadingSet, since_repair

OUTSIDE: Mapping[str, frozenset[str]] = {
    "flame-rod": frozenset({"flame-current", "flame-current-at-start", "lights-held"}),
    "thermostat": frozenset({"air-at-thermostat", "call-volts", "call-length"}),
}
"""Parts outside heat and air -> the readings that show a change of theirs; all else read then is as found."""


def as_found(sets: Sequence[ReadingSet], heat: Heat, knowledge: Knowledge) -> ReadingSet:
    """The as-found readings of all visits since the last repair as one set, the later over the earlier.

    What was read at the end of that repair is how the furnace was left, and so how it was found when somebody came
    back to it.
    """
    found = [one for s in since_repair(sets) if (one := _as_found(s)) is not None]
    if not found:
        return ReadingSet("as found", {}, (), "found", 1, {})
    best = found[0]
    for one in found[1:]:
        best = _joined(best, one, heat, knowledge)
    return replace(best, phase="found")


def _joined(before: ReadingSet, later: ReadingSet, heat: Heat, knowledge: Knowledge) -> ReadingSet:
    readings = {**before.readings, **later.readings}
    rise, put_in = later.rise or before.rise, later.input or before.input
    flows = {_of_one_method(f): f for f in (*before.airflow, *later.airflow)}
    # The rise of one visit goes with the clocked input of another: nothing was repaired between them.
    again = airflow.by_rise(heat.at_return(readings), put_in, rise, knowledge) if later.rise or later.input else None
    if again is not None:
        flows[_of_one_method(again)] = again
    best, agree = airflow.combine(tuple(flows.values()), knowledge)
    taps = {t.number: t for t in (*before.taps, *(t for t in later.taps if t.value is not None))}
    return replace(
        later,
        readings=readings,
        rise=rise,
        input=put_in,
        airflow=tuple(flows.values()),
        best_airflow=best,
        agree=agree,
        taps=tuple(taps[n] for n in sorted(taps)),
        drops=tuple({d.part: d for d in (*before.drops, *later.drops)}.values()),
        static=later.static or before.static,
        static_note=later.static_note if later.static else before.static_note,
        steps=(*before.steps, *later.steps),
        mode=later.mode if later.airflow or later.drops else before.mode,
    )


def _of_one_method(flow: Estimate) -> str:
    """What a later reading of the same method replaces."""
    return "rise" if flow.method.by_rise else flow.method


def _as_found(one: ReadingSet) -> ReadingSet | None:
    """What a set tells of the furnace as found; None where its state says that it tells nothing of that."""
    if one.phase == "found" or (one.phase == "after" and not one.state):
        return one
    changed = [slug(part) for part in one.state]
    if one.phase != "changed" or not OUTSIDE.keys() >= set(changed):
        return None
    shown = frozenset[str]().union(*(OUTSIDE[part] for part in changed))
    return replace(one, readings={r: taken for r, taken in one.readings.items() if r not in shown})
