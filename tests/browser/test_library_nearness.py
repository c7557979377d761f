"""The browser ranks past cases exactly as Python does: on the demo cases and on a thousand generated ones."""

from __future__ import annotations

import json
import math
import random
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import causebook
from causebook import knowledge
from causebook.library.find import Query, find
from causebook.library.find_index import find_script
from causebook.library.record import Record, newest_first
from causebook.library.stopping import ways
from causebook.library.typed import NEVER_BELOW, asks, judge, lines, wrong
from causebook.library.vectors import kept
from library.records import make_records

ASSETS = Path(causebook.__file__).parent / "site" / "theme" / "assets"


@pytest.fixture(scope="module")
def known():
    return knowledge.load()


@pytest.fixture(scope="module")
def opened(browser):
    """Opens the measure over an index in an empty page."""
    contexts = []

    def over(records: list[Record], known):
        context = browser.new_context()
        contexts.append(context)
        page = context.new_page()
        page.add_script_tag(content=find_script(records, known))
        for script in ("vectors.js", "nearness.js"):
            page.add_script_tag(path=ASSETS / script)
        ids = [r.id for r in newest_first(records)]
        page.evaluate("ids => { window.ids = ids; window.near = causebookNearness(causebookFindings, ids); }", ids)
        return page

    yield over
    for context in contexts:
        context.close()


def queries(records: list[Record], known, count: int, seed: int) -> list[Query]:
    """What somebody might know: a case's own findings, some of them turned round, and numbers about its limits."""
    dice = random.Random(seed)
    chosen = []
    for _ in range(count):
        one = dice.choice(records)
        seen = {f: present != (dice.random() < 0.1) for f, present in one.findings.items() if dice.random() < 0.6}
        typed = {id_: value * dice.uniform(0.9, 1.1) for id_, value in one.read.items() if dice.random() < 0.5}
        facts = dict(one.facts) if dice.random() < 0.5 else {}
        chosen.append(Query(one.families[0] if dice.random() < 0.7 else "", seen, typed, facts))
    return chosen


def with_readings(record: Record, known) -> Record:
    """The record with readings that can be, the same for the same id."""
    dice, read = random.Random(record.id), {}
    for ask in asks(known):
        if dice.random() < 0.3:
            low = max(ask.bounds.low, -1e3)
            read[ask.id] = kept(low + dice.random() * (min(ask.bounds.high, 1e3) - low) / 10)
    return replace(record, read=read)


def asked(query: Query) -> dict[str, Any]:
    return {"family": query.family, "seen": dict(query.seen), "typed": dict(query.typed), "facts": dict(query.facts)}


def same_order(page, records: list[Record], known, chosen: list[Query]) -> None:
    for query in chosen:
        mine = find(records, query, known, 20)
        theirs = page.evaluate(
            """query => { const found = near.find(query, 20); return {
            like: found.like.map(n => [ids[n.i], n.word, n.same, n.differ]), stops: found.stops.map(s => s[0].id),
            other: found.other && ids[found.other.i], assumed: found.assumed,
            fits: found.fits.map(f => [f.cause, f.tells]),
            beyond: found.beyond.map(b => b.says), contradicts: found.contradicts.map(c => c.says),
            findings: found.findings, apart: found.apart.map(a => [a.finding, ids[a.speaksFor], a.seen]) } }""",
            asked(query),
        )
        assert theirs["findings"] == mine.findings
        assert theirs["like"] == [
            [n.record.id, n.word, list(n.likeness.same), list(n.likeness.differ)] for n in mine.like
        ]
        assert theirs["stops"] == list(mine.stops)
        assert theirs["assumed"] == list(mine.assumed)
        assert theirs["fits"] == [[fit.cause.id, fit.tells] for fit in mine.fits]
        assert theirs["beyond"] == [one.says for one in mine.beyond]
        assert theirs["contradicts"] == [one.says for one in mine.contradicts]
        assert theirs["other"] == (mine.other_root.record.id if mine.other_root else None)
        assert theirs["apart"] == [[a.finding, a.speaks_for, a.seen] for a in mine.apart]


def test_the_same_order_on_all_demo_cases(opened, demo, known):
    entries = sorted(p for p in (demo.generated / "kept").glob("*.json") if not p.name.endswith(".written.json"))
    records = [Record.from_json(json.loads(path.read_text(encoding="utf-8"))["record"]) for path in entries]
    assert len(records) >= 4
    whole = [Query(r.families[0], r.findings, r.read, r.facts) for r in records]
    same_order(opened(records, known), records, known, whole + queries(records, known, 60, 1))


def test_the_same_order_on_a_thousand_generated_cases(opened, known):
    records = [with_readings(r, known) for r in make_records(1000, known, seed=5)]
    same_order(opened(records, known), records, known, queries(records, known, 40, 2))


def test_what_a_stop_forbids_is_left_out_the_same_in_both(opened, known):
    records = make_records(200, known, seed=7)
    stopped = [f.id for f in known.findings.values() if f.stop]
    chosen = [
        Query(q.family, {**q.seen, finding: True}, q.typed, q.facts)
        for finding, q in zip(stopped, queries(records, known, len(stopped), 4), strict=True)
    ]
    same_order(opened(records, known), records, known, chosen)


def test_numbers_mean_the_same_in_both(opened, known):
    dice = random.Random(3)
    page = opened(make_records(3, known), known)
    known_asks = {ask.id: ask for ask in asks(known)}
    for line in lines(known):
        for _ in range(6):
            typed = {
                id_: dice.uniform(0.5, 1.5) * (abs(line.limit / factor) or 100) for id_, factor in line.terms.items()
            }
            assert page.evaluate("typed => near.judge(typed)", typed) == judge(typed, known)
        assert set(line.terms) <= set(known_asks)


def test_stops_and_impossible_numbers_are_the_same_in_both(opened, known):
    """At, just under and over every limit of a stop and every end of a range, and every finding by itself."""
    page = opened(make_records(3, known), known)
    tried = [Query(seen={finding: True}) for finding in known.findings]
    for stop in known.stops.values():
        for way in ways(stop, known):
            if way.reading:
                tried += [Query(typed={way.reading: way.least * by}) for by in (0.99, 1, 1.01)]
                tried += [
                    Query(typed={way.reading: way.least * by + 2e-6, way.minus: 2e-6})
                    for by in (0.99, 1, 1.01)
                    if way.minus
                ]
    for query in tried:
        theirs = page.evaluate(
            "query => near.find(query, 5).stops.map(s => [s[0].id, s[1].finding || s[1].reading])", asked(query)
        )
        assert theirs == [[id_, way.finding or way.reading] for id_, way in find([], query, known).stops.items()]
    for ask in asks(known):
        for value in (ask.bounds.low, ask.bounds.low - 1, ask.bounds.high, ask.bounds.high + 1):
            if math.isfinite(value):
                assert page.evaluate("typed => Object.keys(near.wrong(typed))", {ask.id: value}) == list(
                    wrong({ask.id: value}, known)
                )
    for upper, lower, _ in NEVER_BELOW:
        assert page.evaluate("typed => Object.keys(near.wrong(typed))", {upper: 300, lower: 301}) == list(
            wrong({upper: 300.0, lower: 301.0}, known)
        )


def test_ten_thousand_cases_are_ranked_in_a_fifth_of_a_second(opened, known):
    records = make_records(10_000, known)
    page = opened(records, known)
    took = page.evaluate(
        """query => { near.find(query, 5); const from = performance.now();
        for (let i = 0; i < 5; i += 1) near.find(query, 5); return (performance.now() - from) / 5; }""",
        asked(Query("high-limit", records[0].findings, {}, records[0].facts)),
    )
    assert took < 200, f"{took:.0f} ms"


def test_no_index_speaks_of_anything_but_features(known):
    script = find_script(make_records(50, known), known)
    assert not re.search(r"It stops|<", script)
