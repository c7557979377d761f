"""The manager's screen: what the cases of a library say to whoever runs the company, each number with its cases."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from causebook.knowledge.model import Cause, Family, Knowledge, Test
from causebook.library.record import Record, newest_first

MONTHS = 12
"""How many of the last months that had a case are drawn."""
TESTS = 8
_MOVED = 0.5
"""A test told something when it moved the suspects by this on average [decibans]."""


@dataclass(frozen=True, slots=True)
class Complaint:
    """One complaint's cases."""

    family: Family
    cases: tuple[Record, ...]
    callbacks: tuple[Record, ...]
    open: tuple[Record, ...]
    """Not cleared."""
    minutes: float | None
    """Median minutes of work until the readings made the root likely for good; None where none has them."""
    timed: int


@dataclass(frozen=True, slots=True)
class Told:
    """What one test told."""

    test: Test
    done: tuple[Record, ...]
    nothing: tuple[Record, ...]
    """The cases in which it moved no suspect."""


@dataclass(frozen=True, slots=True)
class Screen:
    """All of it."""

    cases: int
    months: tuple[tuple[str, tuple[Record, ...]], ...]
    """Month as "2026-01" -> its cases, oldest first."""
    complaints: tuple[Complaint, ...]
    callbacks: tuple[Record, ...]
    """Cases with a callback, or a first answer that was wrong."""
    open: tuple[Record, ...]
    """Not cleared."""
    due: tuple[Record, ...]
    """With something still to do, those with a day first, by day."""
    wasted: tuple[tuple[Cause, tuple[Record, ...]], ...]
    """Causes that were corrected first and were not it, with their cases."""
    told: tuple[Told, ...]


def screen(records: Sequence[Record], knowledge: Knowledge) -> Screen:
    """Look at a library as its manager does."""
    newest = newest_first(records)
    months: dict[str, list[Record]] = {}
    for record in newest:
        months.setdefault(record.date[:7], []).append(record)
    wasted: dict[str, list[Record]] = {}
    for record in newest:
        for cause in record.handled.first_said:
            wasted.setdefault(cause, []).append(record)
    due = [r for r in newest if r.handled.open or r.handled.due]
    return Screen(
        len(newest),
        tuple((month, tuple(months[month])) for month in sorted(months)[-MONTHS:]),
        _complaints(newest, knowledge),
        tuple(r for r in newest if r.handled.callback or r.handled.first_said),
        tuple(r for r in newest if r.handled.why_open),
        tuple(sorted(due, key=lambda r: r.handled.due or "9999")),
        tuple((knowledge.causes[c], tuple(of)) for c, of in wasted.items() if c in knowledge.causes),
        _told(newest, knowledge),
    )


def _complaints(records: Sequence[Record], knowledge: Knowledge) -> tuple[Complaint, ...]:
    out = []
    for family in knowledge.families.values():
        here = tuple(r for r in records if r.families[0] == family.id)
        minutes = [m for r in here if (m := r.account.minutes_to_root) is not None]
        if here:
            out.append(
                Complaint(
                    family,
                    here,
                    tuple(r for r in here if r.handled.callback),
                    tuple(r for r in here if r.handled.why_open),
                    median(minutes) if minutes else None,
                    len(minutes),
                )
            )
    return tuple(sorted(out, key=lambda c: (-len(c.cases), c.family.id)))


def _told(records: Sequence[Record], knowledge: Knowledge) -> tuple[Told, ...]:
    done: dict[str, list[Record]] = {}
    for record in records:
        for test in record.account.told:
            done.setdefault(test, []).append(record)
    rows = [
        Told(knowledge.tests[t], tuple(of), tuple(r for r in of if r.account.told[t] < _MOVED))
        for t, of in done.items()
        if t in knowledge.tests
    ]
    return tuple(sorted(rows, key=lambda row: (len(row.nothing) - len(row.done), row.test.id))[:TESTS])
