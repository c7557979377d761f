"""Find the past cases most like what somebody has in front of them, and what would tell the nearest two apart.

How near a case is stands in `likeness.py`.  The browser does the same with the exported index (`find_index.py`); the
tests hold both to the same order.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from causebook.belief.barred import may_be_looked_for
from causebook.knowledge.model import Knowledge, Test
from causebook.library.beginning import Fit, best_fitting, first_tests
from causebook.library.likeness import Asked, Measure, Neighbor, Reader, Weights, chances, features, nearest
from causebook.library.record import Record
from causebook.library.stopping import Way, fired, not_now
from causebook.library.typed import judge
from causebook.library.usual import Beyond, Contradiction, Plate, assumed, beyond, contradicted, plates_for

LEAST_GAP = 0.3
"""Two causes are told apart by a finding when its chances under them differ by this much."""
_APART = 3


@dataclass(frozen=True, slots=True)
class Query:
    """What is known of the case in front of somebody.  What is in none of these was not looked for."""

    family: str = ""
    seen: Mapping[str, bool] = field(default_factory=dict)
    """Finding id -> seen, or ruled out."""
    typed: Mapping[str, float] = field(default_factory=dict)
    """Ask id -> value [SI]."""
    facts: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Apart:
    """A finding not looked for yet that would tell the two nearest cases with different roots apart."""

    finding: str
    speaks_for: str
    """Id of the case it speaks for when it is present."""
    seen: bool
    """Both cases looked, and differ in it; otherwise it is what their roots usually show."""


@dataclass(frozen=True, slots=True)
class Found:
    """The nearest cases, and what to look at next."""

    findings: Mapping[str, bool]
    """All that is known: what was said, and what the numbers decide, on a usual plate where none was typed."""
    like: tuple[Neighbor, ...]
    other_root: Neighbor | None
    """The nearest case whose root is another than that of the nearest one that has a root."""
    apart: tuple[Apart, ...]
    stops: Mapping[str, Way]
    """Id of each stop that fires, and what fires it.  What was ruled out silences no number."""
    fits: tuple[Fit, ...]
    """The causes that fit best by the knowledge, with what would tell."""
    first: tuple[Test, ...] = ()
    """What to read first, where no case is like it and no stop fires."""
    assumed: tuple[str, ...] = ()
    """Of the findings those decided on usual plates ..."""
    plates: tuple[Plate, ...] = ()
    """... and these."""
    beyond: tuple[Beyond, ...] = ()
    """Numbers that are wrong on any plate."""
    contradicts: tuple[Contradiction, ...] = ()
    """What the readings rule out."""


def find(records: Sequence[Record], query: Query, knowledge: Knowledge, count: int = 5) -> Found:
    """The `count` cases most like the query, nearest first; what was said goes before what a number decides."""
    reader = Reader(knowledge)
    fuel = query.facts.get("fuel", "")
    judged, on_usual, wanted = understood(query, knowledge, reader)
    findings = {**on_usual, **judged, **dict.fromkeys(sorted(wanted.barred), False), **query.seen}
    stops = fired(
        {f: True for said in (judged, query.seen) for f, present in said.items() if present}, query.typed, knowledge
    )
    forbidden = not_now(stops, knowledge)
    found = Found(
        findings,
        (),
        None,
        (),
        stops,
        tuple(
            fit if may_be_looked_for(fit.tells, forbidden, knowledge) else replace(fit, tells="")
            for fit in best_fitting(query.family, findings, knowledge)
        ),
        () if stops else first_tests(query.family, knowledge),
        tuple(f for f in on_usual if f not in query.seen),
        plates_for(query.typed, fuel, reader.usual),
        beyond(query.typed, fuel, reader.usual),
        contradicted(query.typed, reader.usual),
    )
    if any(knowledge.stops[id_].leave for id_ in stops):
        return replace(found, fits=(), assumed=(), plates=(), contradicts=())  # nothing is proposed but leaving
    if not records or not (wanted.features or wanted.numbers):
        return found
    measure = Measure(records, knowledge)
    values = measure.nearness([wanted])[0]
    order = nearest(values, records)

    def neighbor(place: int) -> Neighbor:
        return Neighbor(records[place], float(values[place]), measure.likeness(wanted, place), wanted)

    one = next((records[i] for i in order if records[i].roots), None)
    other = next((i for i in order if one and records[i].roots and set(records[i].roots).isdisjoint(one.roots)), None)
    found = replace(found, like=tuple(neighbor(i) for i in order[:count]))
    if one is None or other is None:
        return found
    apart = tell_apart(one, records[other], findings, knowledge, measure.weights, forbidden)
    return replace(found, other_root=neighbor(other), apart=apart)


def understood(
    query: Query, knowledge: Knowledge, reader: Reader
) -> tuple[Mapping[str, bool], Mapping[str, bool], Asked]:
    """What the numbers decide, what they decide on usual plates, and all of it as what is asked."""
    judged = judge(query.typed, knowledge)
    on_usual = assumed(query.typed, query.facts.get("fuel", ""), reader.usual, lambda typed: judge(typed, knowledge))
    barred = reader.barred(query.typed, query.seen)
    known = {**on_usual, **judged, **dict.fromkeys(barred, False), **query.seen}
    told = features([query.family] if query.family else [], known, query.facts)
    return judged, on_usual, Asked(told, reader.points(query.typed), barred)


def tell_apart(
    one: Record,
    other: Record,
    known: Iterable[str],
    knowledge: Knowledge,
    weights: Weights,
    barred: Collection[str] = (),
) -> tuple[Apart, ...]:
    """Findings to look for next: first those in which the two cases differ, then those their roots differ in.

    `barred`: ids of tests that may not be done now; what only they show is left out.
    """
    left = sorted(f for f in set(knowledge.findings) - set(known) if may_be_looked_for(f, barred, knowledge))
    differing = [f for f in left if f in one.findings and f in other.findings and one.findings[f] != other.findings[f]]
    differing.sort(
        key=lambda f: (-round(sum(weights.weight(f"finding {f}", value) for value in ("present", "absent")), 9), f)
    )
    apart = [Apart(f, one.id if one.findings[f] else other.id, True) for f in differing]
    here, there = _shown(one.roots, knowledge), _shown(other.roots, knowledge)
    gaps = {f: here[f] - there[f] for f in left if f not in differing}
    expected = sorted(
        (f for f, gap in gaps.items() if abs(gap) >= LEAST_GAP), key=lambda f: (-round(abs(gaps[f]), 9), f)
    )
    apart += [Apart(f, one.id if gaps[f] > 0 else other.id, False) for f in expected]
    return tuple(apart[:_APART])


def _shown(roots: Iterable[str], knowledge: Knowledge) -> dict[str, float]:
    """Chance of each finding under the root that shows it most."""
    under = [chances(root, knowledge) for root in roots]
    return {f: max(chance[f] for chance in under) for f in knowledge.findings}
