"""The search in Python: every query finds its page, words are made alike, readings and codes are read as meant."""

from __future__ import annotations

import pytest

from causebook import knowledge
from causebook import quantity as qty
from causebook.library.find import Query, find
from causebook.library.search import Search, told
from causebook.library.seek_index import seek_index
from causebook.library.shelf import Shelf
from causebook.library.spoken import apart, stems
from library.asked import missed, queries
from make_library import ROOT


@pytest.fixture(scope="module")
def known():
    return knowledge.load()


@pytest.fixture(scope="module")
def records(demo, known):
    """What the build of the demo keeps of its cases."""
    entries = Shelf.within(demo.generated, demo.root / "casefiles", known).take().entries
    assert len(entries) >= 14
    return [entry.record for entry in entries]


@pytest.fixture(scope="module")
def search(records, known):
    docs = ROOT / "docs"
    handbook = {p.relative_to(docs).as_posix(): p.read_text(encoding="utf-8") for p in docs.rglob("*.md")}
    return Search(seek_index(records, known, handbook, lambda source: source))


def test_every_query_finds_its_page(search, records, known):
    lacks = {}
    for query in queries():
        answer = search.ask(query["ask"])
        found = find(records, Query(typed=answer.typed), known, 3) if answer.typed else None
        lacks[query["ask"]] = missed(
            query,
            {
                "pages": [f"{hit.kind} {hit.id}" for hit in answer.hits],
                "stops": [*answer.stops, *(found.stops if found else ())],
                "said": told(answer),
                "cases": [n.record.id for n in found.like] if found else [],
                "causes": [fit.cause.id for fit in found.fits] if found else [],
                "warns": [one.ask for one in found.beyond] if found else [],
            },
        )
    assert not {ask: why for ask, why in lacks.items() if why}
    assert len(lacks) >= 120


@pytest.mark.parametrize(
    ("typed", "alike"),
    [
        ("tripping", "trips"),
        ("The furnace won\u2019t light", "no light"),
        ("doesn't light", "no light"),
        ("t-stat", "tstat"),
        ("flashes", "flash"),
        ("plugged", "plug"),
        ("pressure switches", "pressure switch"),
    ],
)
def test_words_are_made_alike(typed, alike):
    assert stems(typed) == stems(alike)


def test_letters_apart():
    assert [apart("retrun", "return", 2), apart("fliter", "filter", 2), apart("cat", "filter", 2)] == [1, 1, 3]


@pytest.mark.parametrize(
    ("text", "ask", "value", "kind"),
    [
        ("rise 85", "rise", "85 delta_degF", qty.TEMPERATURE_DIFFERENCE),
        ("85 rise", "rise", "85 delta_degF", qty.TEMPERATURE_DIFFERENCE),
        ("tesp .8", "external-static", "0.8 inH2O", qty.AIR_PRESSURE),
        ("static 200 pa", "external-static", "200 Pa", qty.AIR_PRESSURE),
        ("clocked 116,000 btu", "clocked-input", "116000 Btu/h", qty.HEAT_RATE),
    ],
)
def test_readings_are_read_as_meant(search, text, ask, value, kind):
    typed, left = search.readings(text)
    assert left == "" and typed == pytest.approx({ask: qty.si(qty.parse(value, kind), kind)})


def test_a_number_without_a_reading_is_none(search):
    assert search.readings("3 amp fuse")[0] == {} and search.readings("merv 13")[0] == {}


def test_a_case_is_not_found_for_what_it_ruled_out(search, records, known):
    """No word of a suspect that was not it stands in the index for the case, unless the case says it elsewhere."""
    for record in records:
        doc = next(n for n, d in enumerate(search.docs) if d[:2] == ["case", record.id])
        said = " ".join(
            [record.title, record.words, *record.facts.values()]
            + [known.causes[c].name for role, ids in record.roles.items() if role != "not it" for c in ids]
            + [known.families[f].name for f in record.families]
            + [known.findings[f].name for f, there in record.findings.items() if there]
        )
        assert {term for term, of in search.terms.items() if doc in of} <= set(stems(said))


def test_missing_words_lower_a_page_and_do_not_end_the_search(search):
    one, more = search.ask("undersized return"), search.ask("undersized return xylophone")
    assert more.hits[0].id == one.hits[0].id == "return-undersized" and more.hits[0].score < one.hits[0].score
    assert more.instead == {"xylophon": ""} and not more.hits[0].whole


def test_a_company_adds_its_own_words_and_takes_no_alarm_away(tmp_path):
    (tmp_path / "ours.yml").write_text("complaints: {furnace hiccups: short-cycling}\n", encoding="utf-8")
    assert knowledge.load(tmp_path).complaints["furnace-hiccups"] == ("short-cycling",)
    for wrong, says in (
        ("alarms: {gas-smell: ~}", "taken away"),
        ("alarms: {gas-smell: shock}", "leaves out a stop"),
        ("culprits: {bad thing: no-such-cause}", "an id of causes"),
    ):
        (tmp_path / "ours.yml").write_text(wrong, encoding="utf-8")
        with pytest.raises(knowledge.KnowledgeError, match=says):
            knowledge.load(tmp_path)
