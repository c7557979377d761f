"""What an open stop's own words rule out is proposed nowhere: each `do` is held against each proposal.

What the words rule out is read here anew, phrase by phrase; a stop whose words hold none of the phrases fails.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from causebook.belief.barred import barred, may_be_looked_for
from causebook.belief.stops import stops
from causebook.casefile.read import read_case
from causebook.knowledge import load
from causebook.knowledge.model import Stop
from causebook.knowledge.model import Test as Trial
from causebook.library.asking import as_text as found_as_text
from causebook.library.find import Query, find
from causebook.library.stopping import not_now
from causebook.survey.survey import survey
from causebook.workup import Workup, cautions, work_up
from causebook.writeup.page import case_page
from causebook.writeup.terminal import as_text, next_as_text
from firing import FIRING
from library.records import make_records
from made import make_case
from make_library import DEMO

OURS = load()
RULES: Mapping[str, Callable[[Trial], bool]] = {
    r"Everybody (out|waits outside)": lambda test: True,
    r"Touch nothing": lambda test: bool(test.runs),
    r"power off|Shut off the power|Lock out the power": lambda test: bool(set(test.runs) - {"hands"}),
    r"Shut (it down|the burner off|that appliance off|off every)|Out of service": lambda test: "burner" in test.runs,
}
"""Words of a `do`, and the tests that they rule out."""
STEP = {stop: step for step, stop in reversed(FIRING)}
RECORDS = make_records(150, OURS, seed=3)


def ruled_out(stop: Stop) -> set[str]:
    rules = [rule for words, rule in RULES.items() if re.search(words, stop.do)]
    assert rules, f"{stop.id}: nothing here reads {stop.do!r}"
    return {t.id for t in OURS.tests.values() if any(rule(t) for rule in rules)} - set(stop.allows)


@pytest.fixture(scope="module")
def worked() -> Callable[[str], Workup]:
    told: dict[str, Workup] = {}

    def of(stop: str) -> Workup:
        if stop not in told:
            told[stop] = work_up(make_case(OURS, STEP[stop]), OURS)
        return told[stop]

    return of


@pytest.mark.parametrize("stop", OURS.stops.values(), ids=lambda s: s.id)
def test_what_its_words_rule_out_is_barred(stop: Stop, worked: Callable[[str], Workup]) -> None:
    told, out = worked(stop.id), ruled_out(stop)
    assert stop.id in [s.id for s in told.stops if s.open]
    assert out and out <= barred(survey(told.case, OURS), told.stops, OURS)
    assert not out & {t.id for t in told.verdict.next_tests}
    assert not [s for s in told.verdict.would_settle if any(s.startswith(OURS.tests[t].name) for t in out)]


@pytest.mark.parametrize("stop", OURS.stops.values(), ids=lambda s: s.id)
def test_no_text_proposes_it(stop: Stop, worked: Callable[[str], Workup]) -> None:
    told = worked(stop.id)
    names = [OURS.tests[t].name for t in ruled_out(stop)]
    texts = {"work --next": next_as_text(told), "work": as_text(told), "page": case_page(told).markdown}
    for where, text in texts.items():
        flat = " ".join(text.split())
        assert not [n for n in names if n in flat], (where, stop.id)
        for words in (stop.do, stop.way_on.confirm, stop.way_on.meanwhile, stop.way_on.ends):
            assert " ".join(words.split()) in re.sub(r"&#39;", "'", flat), (where, words)
    if stop.leave:
        assert not told.verdict.next_tests and not told.verdict.would_settle and not told.options
        assert "leave, and call from outside. Nothing else is proposed." in " ".join(next_as_text(told).split())


@pytest.mark.parametrize("finding", [f for f in OURS.findings.values() if f.stop], ids=lambda f: f.id)
def test_nor_does_a_search(finding: object, worked: Callable[[str], Workup]) -> None:
    stop = OURS.stops[finding.stop]
    out = ruled_out(stop)
    assert out <= not_now([stop.id], OURS)
    for family in ("high-limit", "no-ignition", "co-odor"):
        found = find(RECORDS, Query(family, {finding.id: True}), OURS)
        assert list(found.stops) == [stop.id]
        assert all(may_be_looked_for(a.finding, out, OURS) for a in found.apart)
        assert not found.first
        if stop.leave:
            assert not found.like and not found.apart
            assert found_as_text(found, len(RECORDS), OURS).rstrip().endswith("Nothing else is proposed until then.")


def test_of_two_notices_about_one_danger_the_higher_stands() -> None:
    for reading, level in ((8.9, None), (9, "co-indoors"), (35, "co-indoors-raised"), (70, "co-indoors-high")):
        told = work_up(make_case(OURS, {"read": {"co-indoors": f"{reading} ppm"}}), OURS)
        assert [s.id for s in told.stops] == ([level] if level else []), reading
    rising = make_case(OURS, {"read": {"co-indoors": "20 ppm"}}, {"read": {"co-indoors": "120 ppm"}})
    assert [s.id for s in work_up(rising, OURS).stops] == ["co-indoors-high"]
    assert [s.id for s in work_up(rising, OURS, upto=1).stops] == ["co-indoors"]


def test_another_danger_is_not_silenced() -> None:
    both = make_case(OURS, {"seen": {"gas-smell": "yes", "crack-seen": "yes"}, "read": {"co-indoors": "80 ppm"}})
    assert {s.id for s in work_up(both, OURS).stops} == {"gas", "breach", "co-indoors-high"}


def test_no_proposal_is_lost_without_a_stop() -> None:
    told = work_up(make_case(OURS, {"read": {"co-indoors": "0 ppm"}, "seen": {"limit-fault-stored": "yes"}}), OURS)
    assert told.verdict.next_tests and not told.stops
    found = find(RECORDS, Query("high-limit", {"limit-fault-stored": True}), OURS)
    assert found.like and found.apart


def test_the_ladder_of_the_handbook_is_that_of_the_data() -> None:
    page = (Path(__file__).parents[2] / "docs" / "handbook" / "stop-use.md").read_text(encoding="utf-8")
    rows = [
        line.strip("|\n ").split(" | ") for line in page.splitlines() if line.startswith(("| 9 ", "| 35 ", "| 70 "))
    ]
    rungs = [OURS.stops[id_] for id_ in OURS.cautions["carbon-monoxide"].ladder]
    assert rows == [[stop.level, stop.do, stop.technician] for stop in rungs]


def test_the_caution_shows_each_rung_once() -> None:
    # In full where a stop fired; elsewhere a line with the way to the page of cautions.
    told = work_up(make_case(OURS, {"read": {"co-outdoors": "0 ppm", "co-indoors": "20 ppm"}}), OURS)
    (caution,) = [c for c in told.cautions if c.id == "carbon-monoxide"]
    assert [level for level, _ in caution.rows] == [
        OURS.stops[i].level for i in OURS.cautions["carbon-monoxide"].ladder
    ]
    flat = case_page(told).markdown
    assert all(do in flat for _, do in caution.rows)


@pytest.mark.parametrize(
    ("case", "step", "caution"), [("silent-relay", 2, "firing-without-air"), ("bent-flame", 1, "co-alarm")]
)
def test_a_step_that_a_reader_might_copy_carries_its_caution(case: str, step: int, caution: str) -> None:
    told, _ = read_case(DEMO / case, OURS)
    assert told is not None
    fired = stops(told, survey(told, OURS), (), OURS)
    assert caution in [c.id for c in cautions(told, fired, OURS) if c.step == step]
