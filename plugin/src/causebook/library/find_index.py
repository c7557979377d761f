"""The index behind "find by readings": what the browser needs to rank all cases as `find.py` does.

A classic script like the facet table, and in its order of cases, which it is read beside.  A pair of feature and
value stands once with its weight; a case is the list of the numbers of its pairs.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict
from typing import Any

from causebook import quantity as qty
from causebook.belief.barred import forbids
from causebook.knowledge.model import Knowledge
from causebook.library.addresses import cause_source
from causebook.library.facets import script
from causebook.library.find import LEAST_GAP
from causebook.library.likeness import (
    ALONE,
    CLOSE,
    FAR,
    LEAST_CHANCE,
    NEARNESS_WORDS,
    NUMBER,
    OTHER_COMPLAINT,
    SUMS,
    TRUST,
    features_of,
    weights_of,
)
from causebook.library.record import Record, newest_first
from causebook.library.stopping import ways
from causebook.library.typed import NEVER_BELOW, Ask, asks, lines
from causebook.library.usual import UNSAID_FUEL, usual
from causebook.library.vectors import axes, kept
from causebook.quantity import Kind
from causebook.survey.rule_value import ABSENT, PRESENT
from causebook.writeup import prose

SOURCE = "find/findings.js"
_SPELLED = {
    "in. w.c.": ["inwg", "inh2o", "iwc", "wc", "in"],
    "°F": ["degf"],
    "°C": ["degc"],
    "K": ["c", "degc"],
    "Btu/h": ["btu", "btuhr"],
    "V": ["volt", "volts", "vac"],
    "A": ["amp", "amps"],
    "µF": ["mfd"],
    "%": ["percent"],
    "min": ["minutes"],
}
"""How else a unit is typed behind its number: small letters, digits and % only."""


def find_script(
    records: Iterable[Record], knowledge: Knowledge, address: Callable[[str], str] = lambda source: source
) -> str:
    """The script that sets `causebookFindings`; `address`: where the page of a source path stands on the site."""
    cases = newest_first(records)
    known = [features_of(r) for r in cases]
    weights = weights_of(known)
    pairs = sorted(weights.of)
    number = {pair: i for i, pair in enumerate(pairs)}
    roots = sorted({root for r in cases for root in r.roots})
    index = {
        "pairs": [[feature, value, weights.of[feature, value]] for feature, value in pairs],
        "rare": dict(sorted(weights.rare.items())),
        "of": [[number[pair] for pair in sorted(case.items())] for case in known],
        "root": {"ids": roots, "of": [[roots.index(root) for root in r.roots] for r in cases]},
        "read": _columns([r.read for r in cases]),
        "axes": [
            {
                "id": axis.id,
                "ways": [asdict(way) for way in axis.ways],
                "usual": axis.usual,
                "log": axis.log,
                "least": axis.least,
            }
            for axis in axes()
        ],
        "usual": asdict(usual({ask.id: ask.kind for ask in asks(knowledge)})) | {"fuel": UNSAID_FUEL},
        "number": NUMBER,
        "trust": TRUST,
        "close": CLOSE,
        "far": FAR,
        "sums": SUMS,
        "alone": ALONE,
        "other": OTHER_COMPLAINT,
        "least": LEAST_CHANCE,
        "gap": LEAST_GAP,
        "words": NEARNESS_WORDS,
        "present": PRESENT,
        "absent": ABSENT,
        "asks": [_ask(ask) for ask in asks(knowledge)],
        "lines": [asdict(line) for line in lines(knowledge)],
        "neverBelow": NEVER_BELOW,
        "stops": [
            {
                "id": stop.id,
                "name": prose.plain(stop.name),
                "do": prose.plain(stop.do),
                "technician": prose.plain(stop.technician),
                "wayOn": [prose.plain(t) for t in (stop.way_on.confirm, stop.way_on.meanwhile, stop.way_on.ends)],
                "leave": stop.leave,
                "covers": stop.covers,
                "bars": [n for n, test in enumerate(knowledge.tests.values()) if forbids(stop, test)],
                "ways": [asdict(way) for way in ways(stop, knowledge)],
            }
            for stop in knowledge.stops.values()
        ],
        "looks": _looks(knowledge),
        "findings": {
            f.id: [prose.plain(f.name), prose.plain(f.how), f.minutes, f.leak] for f in knowledge.findings.values()
        },
        "families": {f.id: prose.plain(f.name) for f in knowledge.families.values()},
        "tests": _tests(knowledge),
        "causes": {
            cause.id: [
                prose.plain(cause.name),
                dict(cause.links),
                {} if cause.residual else dict(cause.priors),
                address(cause_source(cause)),
            ]
            for cause in knowledge.causes.values()
        },
    }
    return script("causebookFindings", index)


def _looks(knowledge: Knowledge) -> dict[str, list[int]]:
    """The tests, by their place in the knowledge, that show each finding which any shows."""
    looks: dict[str, list[int]] = {}
    for number, test in enumerate(knowledge.tests.values()):
        for finding in test.reveals:
            looks.setdefault(finding, []).append(number)
    return looks


def _tests(knowledge: Knowledge) -> list[list[Any]]:
    """Every finding under the first test that yields it: what was never met before may be what is met now."""
    left = dict.fromkeys(knowledge.findings)
    tests = []
    for test in knowledge.tests.values():
        here = [f for f in test.reveals if f in left]
        for finding in here:
            del left[finding]
        if here:
            tests.append([prose.plain(test.name), here])
    return tests + ([["Other findings", list(left)]] if left else [])


def _ask(ask: Ask) -> dict[str, Any]:
    bounds = ask.bounds
    return {
        "id": ask.id,
        "name": ask.name,
        "group": ask.group,
        "where": ask.where,
        "units": units_of(ask.kind),
        "relative": ask.relative,
        "fixed": ask.fixed,
        "sense": ask.sense,
        "above": bounds.above,
        "low": bounds.low if math.isfinite(bounds.low) else None,
        "high": bounds.high if math.isfinite(bounds.high) else None,
    }


def units_of(kind: Kind) -> list[list[Any]]:
    """The US and the SI unit: what people read, slope and zero to SI, the decimals to show, and how it is typed."""
    us, si = (
        [text, *_line(unit, kind), digits, _SPELLED.get(text, [])]
        for text, unit, digits in (
            (kind.us_text, kind.us, kind.us_digits),
            (kind.si_text, kind.si_shown, kind.si_digits),
        )
    )
    return [us] if us[0] == si[0] else [us, si]


def _line(unit: str, kind: Kind) -> tuple[float, float]:
    """Slope and zero of a unit: SI value = slope x number + zero."""
    zero, one = (qty.si(qty.q(number, unit), kind) for number in (0.0, 1.0))
    return one - zero, zero


def _columns(cases: Sequence[Mapping[str, float]]) -> dict[str, list[list[float]]]:
    """Sparse columns: ask id -> [numbers of the cases that have it, each less the one before; their values]."""
    columns: dict[str, list[list[float]]] = {}
    for i, case in enumerate(cases):
        for id_, value in case.items():
            columns.setdefault(id_, [[], []])
            columns[id_][0].append(i)
            columns[id_][1].append(kept(value))
    for which, _ in columns.values():
        which[1:] = [after - before for before, after in itertools.pairwise(which)]
    return columns
