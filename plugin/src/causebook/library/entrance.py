"""A complaint as an entrance: what stops the work, what to check first, what it may be, computed from the knowledge
and from the cases of the library, which are told apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from causebook.knowledge.model import Cause, Finding, Knowledge, Stop, Test
from causebook.library.beginning import best_fitting, first_tests
from causebook.library.likeness import chances
from causebook.library.record import Record

ALWAYS = ("gas", "co-indoors-high", "roll-out", "bypass")
"""Stops that are asked about at every complaint."""
_FINDINGS, _CAUSES = 3, 2
"""How many findings are named of a check, and how many causes each points to."""


@dataclass(frozen=True, slots=True)
class Points:
    """A finding that a check may show, and the causes it points to."""

    finding: Finding
    causes: tuple[Cause, ...]


@dataclass(frozen=True, slots=True)
class Check:
    """One of the first checks."""

    test: Test
    shows: tuple[Points, ...]


@dataclass(frozen=True, slots=True)
class Suspect:
    """A cause of the complaint."""

    cause: Cause
    here: int
    """Cases of this library with the complaint in which it was the root."""
    of: int
    """Cases with the complaint and a root."""
    share: float
    """Share of such calls by the knowledge."""
    tells: Finding | None
    """The one look that tells it from the others."""


@dataclass(frozen=True, slots=True)
class Entrance:
    """All of it."""

    stops: tuple[Stop, ...]
    checks: tuple[Check, ...]
    suspects: tuple[Suspect, ...]


def entrance(family: str, records: Sequence[Record], knowledge: Knowledge) -> Entrance:
    """The entrance of one complaint; `records`: all cases of the library."""
    suspects = _suspects(family, records, knowledge)
    named = {s.cause.stop for s in suspects if s.cause.stop}
    stops = tuple(s for id_, s in knowledge.stops.items() if id_ in ALWAYS or id_ in named)
    checks = tuple(Check(test, _points(test, suspects, knowledge)) for test in first_tests(family, knowledge))
    return Entrance(stops, checks, suspects)


def _suspects(family: str, records: Sequence[Record], knowledge: Knowledge) -> tuple[Suspect, ...]:
    rooted = [r for r in records if family in r.families and r.roots]
    found = [
        Suspect(
            fit.cause,
            sum(fit.cause.id in r.roots for r in rooted),
            len(rooted),
            fit.share,
            knowledge.findings.get(fit.tells),
        )
        for fit in best_fitting(family, {}, knowledge, len(knowledge.causes))
    ]
    return tuple(sorted(found, key=lambda s: (-s.here, -s.share, s.cause.id)))


def _points(test: Test, suspects: Sequence[Suspect], knowledge: Knowledge) -> tuple[Points, ...]:
    """What a check may show, the most telling first: the causes that then stand out from the others."""
    chance = {s.cause.id: chances(s.cause.id, knowledge) for s in suspects}
    points = []
    for id_ in test.reveals:
        mean = sum(s.share * chance[s.cause.id][id_] for s in suspects)
        raised = [s for s in suspects if s.cause.links.get(id_, 0.0) > 2 * mean]
        raised.sort(key=lambda s: (-s.share * chance[s.cause.id][id_], s.cause.id))
        if raised:
            worth = sum(s.share * chance[s.cause.id][id_] for s in raised)
            points.append((worth, Points(knowledge.findings[id_], tuple(s.cause for s in raised[:_CAUSES]))))
    return tuple(p for _, p in sorted(points, key=lambda pair: (-round(pair[0], 9), pair[1].finding.id))[:_FINDINGS])
