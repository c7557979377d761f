"""What a library's cases add up to, each count with what it is a share of.

Small numbers stay numbers: a count is shown as dots, one a case, and no share is given as a percentage.  What was
not looked for is counted and said, since a tally of what was found is otherwise a tally of what was looked for.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median, quantiles

from causebook.knowledge.model import Knowledge
from causebook.library.record import Record

MOST_DOTS = 24
"""A count above this is drawn as a line instead, to the scale of its table."""
LEAST_CASES = 3
"""With fewer cases than these a complaint has no table of its own."""
_MOVED = 0.5
"""A test told something when it moved the suspects by this on average [decibans]."""


@dataclass(frozen=True, slots=True)
class Row:
    """One count: how many, of how many, and of those how many said nothing."""

    id: str
    name: str
    count: int
    of: int
    silent: int = 0


@dataclass(frozen=True, slots=True)
class TestRow:
    """What one test told, over the cases in which it was done."""

    id: str
    name: str
    minutes: float
    done: int
    told: float
    """Mean of how far it moved the suspects [decibans]."""
    nothing: int
    """In how many cases it moved nothing."""


@dataclass(frozen=True, slots=True)
class Times:
    """Minutes over some cases; `low` and `high` are the quartiles, with four cases and more."""

    name: str
    cases: int
    of: int
    median: float
    low: float | None
    high: float | None
    each: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Tallies:
    """All tallies of one library."""

    cases: int
    roots: tuple[tuple[str, int, int, tuple[Row, ...]], ...]
    """Complaint family id, its cases, those without a root, and its roots."""
    tests: tuple[TestRow, ...]
    proven: tuple[Row, ...]
    """Part: proven good, of the cases in which it was suspected."""
    readings: tuple[tuple[Row, Row], ...]
    """Reading: taken as found, taken after the repair (of the corrected cases)."""
    findings: tuple[Row, ...]
    """Finding: present, of the cases that looked; `silent`: not looked for."""
    times: tuple[Times, ...]


def tallies(records: Sequence[Record], knowledge: Knowledge) -> Tallies:
    """Count a library."""
    return Tallies(
        len(records),
        _roots(records, knowledge),
        _tests(records, knowledge),
        _proven(records, knowledge),
        _readings(records, knowledge),
        _findings(records, knowledge),
        _times(records, knowledge),
    )


def _roots(records: Sequence[Record], knowledge: Knowledge) -> tuple[tuple[str, int, int, tuple[Row, ...]], ...]:
    out = []
    for family in knowledge.families:
        here = [r for r in records if r.families[0] == family]
        counts = Counter(root for r in here for root in r.roots if root in knowledge.causes)
        if here:
            rows = (Row(c, knowledge.causes[c].name, n, len(here)) for c, n in _most(counts))
            out.append((family, len(here), sum(not r.roots for r in here), tuple(rows)))
    return tuple(sorted(out, key=lambda row: -row[1]))


def _tests(records: Sequence[Record], knowledge: Knowledge) -> tuple[TestRow, ...]:
    told: dict[str, list[float]] = {}
    for record in records:
        for test, moved in record.account.told.items():
            told.setdefault(test, []).append(moved)
    rows = (
        TestRow(
            t,
            knowledge.tests[t].name,
            knowledge.tests[t].minutes,
            len(all_),
            sum(all_) / len(all_),
            sum(moved < _MOVED for moved in all_),
        )
        for t, all_ in told.items()
        if t in knowledge.tests
    )
    return tuple(sorted(rows, key=lambda row: (-row.told, row.id)))


def _proven(records: Sequence[Record], knowledge: Knowledge) -> tuple[Row, ...]:
    suspected = Counter(part for r in records for part in r.account.suspected)
    good = Counter(part for r in records for part in r.account.suspected if part in r.account.proven)
    rows = (Row(part, part.capitalize(), good[part], n) for part, n in suspected.items())
    return tuple(sorted(rows, key=lambda row: (-row.count, -row.of, row.id)))


def _readings(records: Sequence[Record], knowledge: Knowledge) -> tuple[tuple[Row, Row], ...]:
    found = Counter(reading for r in records for reading in r.account.read)
    after = Counter(reading for r in records for reading in r.account.read_after)
    again = sum(bool(r.account.read_after) for r in records)
    return tuple(
        (
            Row(id_, knowledge.readings[id_].name, n, len(records), len(records) - n),
            Row(id_, knowledge.readings[id_].name, after[id_], again, again - after[id_]),
        )
        for id_, n in _most(found)
        if id_ in knowledge.readings
    )


def _findings(records: Sequence[Record], knowledge: Knowledge) -> tuple[Row, ...]:
    looked = Counter(f for r in records for f in r.findings)
    present = Counter(f for r in records for f, is_present in r.findings.items() if is_present)
    rows = (
        Row(f, knowledge.findings[f].name, present[f], n, len(records) - n)
        for f, n in looked.items()
        if f in knowledge.findings
    )
    return tuple(sorted(rows, key=lambda row: (-row.count, -row.of, row.id)))


def _times(records: Sequence[Record], knowledge: Knowledge) -> tuple[Times, ...]:
    out = []
    for family, known in knowledge.families.items():
        here = [r for r in records if r.families[0] == family]
        minutes = sorted(m for r in here if (m := r.account.minutes_to_root) is not None)
        if minutes:
            low, _, high = quantiles(minutes, n=4, method="inclusive") if len(minutes) > 3 else (None, 0.0, None)
            out.append(Times(known.name, len(minutes), len(here), median(minutes), low, high, tuple(minutes)))
    return tuple(sorted(out, key=lambda row: (-row.cases, row.name)))


def _most(counts: Counter[str]) -> list[tuple[str, int]]:
    return sorted(counts.items(), key=lambda pair: (-pair[1], pair[0]))


def dots(count: int, of: int) -> str:
    """A count drawn (HTML, hidden from screen readers, which have the number): dots, or a line when there are many.

    Filled dots are the count; when they fit, hollow ones are the rest of what it is a share of.
    """
    if of <= MOST_DOTS:
        drawn = "●" * count + "○" * (of - count)
    elif count <= MOST_DOTS:
        drawn = "●" * count
    else:
        return f'<span class="cb-length" style="--cb-share:{count / of:.3f}" aria-hidden="true"></span>'
    return f'<span class="cb-dots" aria-hidden="true">{drawn}</span>'
