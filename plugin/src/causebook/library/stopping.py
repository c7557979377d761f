"""The stops that a searcher's own numbers and findings fire: the conditions of the knowledge, and nothing else.

As on a case's page nothing outvotes them: neither a finding said to be ruled out, nor that no past case is near.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from causebook import quantity as qty
from causebook.belief.barred import forbids
from causebook.knowledge.model import Knowledge, Stop

_HAIR = 1e-9
"""Share of a limit by which it may be missed in the sums: 20 less 11 ppm are 9 ppm."""


@dataclass(frozen=True, slots=True)
class Way:
    """One way a stop fires: `finding` is present, or `factor` x (`reading` - `minus`) is `least` or more [SI]."""

    finding: str = ""
    reading: str = ""
    minus: str = ""
    """Taken as 0 when it was not read."""
    factor: float = 1.0
    least: float = 0.0

    def fires(self, findings: Mapping[str, bool], typed: Mapping[str, float]) -> bool:
        """Does it, for these findings and these readings [SI]?"""
        if self.finding:
            return findings.get(self.finding, False)
        return self.reading in typed and self.factor * (typed[self.reading] - typed.get(self.minus, 0.0)) >= self.least


def ways(stop: Stop, knowledge: Knowledge) -> tuple[Way, ...]:
    """The ways in which a stop fires."""
    return tuple(_ways(stop, knowledge))


def _ways(stop: Stop, knowledge: Knowledge) -> Iterator[Way]:
    for condition in stop.any_of:
        if condition.finding:
            yield Way(condition.finding)
            continue
        kind = qty.KINDS[knowledge.readings[condition.reading].kind]
        for words, factor in ((condition.above, 1.0), (condition.below, -1.0)):
            if words:
                limit = factor * qty.si(qty.parse(words, kind), kind)
                yield Way("", condition.reading, condition.minus, factor, limit - _HAIR * abs(limit))


def fired(findings: Mapping[str, bool], typed: Mapping[str, float], knowledge: Knowledge) -> dict[str, Way]:
    """Id of each stop that fires and that no higher one silences, in the order of the knowledge, with the first way in
    which it does."""
    first = {
        id_: next((way for way in ways(stop, knowledge) if way.fires(findings, typed)), None)
        for id_, stop in knowledge.stops.items()
    }
    told = {id_: way for id_, way in first.items() if way}
    covered = {low for id_ in told for low in knowledge.stops[id_].covers}
    return {id_: way for id_, way in told.items() if id_ not in covered}


def not_now(stops: Iterable[str], knowledge: Knowledge) -> frozenset[str]:
    """Ids of the tests that these stops forbid."""
    open_ = [knowledge.stops[id_] for id_ in stops]
    return frozenset(t.id for t in knowledge.tests.values() if any(forbids(stop, t) for stop in open_))
