"""What was found before a repair is not how the furnace is found after it."""

from __future__ import annotations

import pytest

from causebook.diagnosis import diagnose
from causebook.survey.model import Method
from causebook.survey.survey import survey
from causebook.workup import work_up
from causebook.writeup.charts import airpath, blower
from causebook.writeup.charts.model import Missing
from survey.small import KNOWN, case, step

FOUND = {
    "supply-air": "150 degF",
    "return-air": "70 degF",
    "meter-time": "45 s",
    "tap-before-filter": "-0.12 inH2O",
    "tap-after-filter": "-0.62 inH2O",
    "tap-before-coil": "0.24 inH2O",
    "tap-after-coil": "0.10 inH2O",
}
LEFT = {
    "tap-before-filter": "-0.14 inH2O",
    "tap-after-filter": "-0.20 inH2O",
    "supply-air": "146 degF",
    "return-air": "70 degF",
}
AGAIN = {"supply-air": "148 degF", "return-air": "70 degF", "meter-time": "45 s"}
VISITS = {"visits": [{"date": f"2024-01-{day}", "steps": [{"do": "x"}]} for day in (24, 31)]}


def taps(*steps):
    merged = survey(case(steps, **VISITS), KNOWN).found
    return {t.number: t.value.m_as("inwc") for t in merged.taps if t.value is not None}, merged


def test_a_callback_starts_from_what_the_repair_left():
    found, merged = taps(step(1, FOUND), step(2, LEFT, after="repair"), step(3, AGAIN, visit=2))
    assert {n: round(p, 2) for n, p in found.items()} == {2: -0.14, 3: -0.20}
    assert {d.part: round(d.value.m_as("inwc"), 2) for d in merged.drops} == {"return": 0.14, "filter": 0.06}
    assert round(merged.rise.value.m_as("delta_degF"), 6) == 78 and merged.steps == (2, 3)


def test_the_part_repaired_is_no_longer_the_root():
    """The filter was exchanged and takes little; it is as hot as before."""
    steps = [
        step(1, FOUND, {"filter-dirty": "yes"}),
        step(2, LEFT, after="repair"),
        step(3, AGAIN, {"filter-dirty": "no"}, visit=2),
    ]
    first = diagnose(case(steps[:1], **VISITS), KNOWN, show_steps=False).posterior.marginal["filter-loaded"]
    back = diagnose(case(steps, **VISITS), KNOWN, show_steps=False).posterior.marginal["filter-loaded"]
    assert first > 0.9 and back < 0.3


def test_the_repair_alone_changes_nothing_of_how_it_was_found():
    found, _ = taps(step(1, FOUND), step(2, LEFT, after="repair"))
    assert round(found[3], 2) == -0.62


def test_visits_without_a_repair_between_are_one():
    found, merged = taps(step(1, FOUND), step(2, {"tap-before-coil": "0.30 inH2O"}, visit=2))
    assert {n: round(p, 2) for n, p in found.items()} == {2: -0.12, 3: -0.62, 5: 0.30, 6: 0.10}
    assert merged.rise is not None and merged.input is not None


def test_one_method_read_twice_is_one_method():
    """The rise read again replaces the first, with the input that was clocked then: nothing was repaired between."""
    again = {"supply-air": "146 degF", "return-air": "70 degF"}
    surveyed = survey(case([step(1, FOUND), step(2, again, visit=2)], table=None, **VISITS), KNOWN)
    (flow,) = surveyed.found.airflow
    first = next(s for s in surveyed.sets if s.visit == 1).best_airflow
    assert flow is surveyed.found.best_airflow and flow.method is Method.RISE_CLOCKED and surveyed.found.agree is None
    assert flow.si / first.si == pytest.approx(80 / 76, rel=1e-3)
    assert flow.share == pytest.approx(first.share, rel=0.05)  # no surer for having been read twice


def test_the_page_shows_what_an_earlier_visit_read():
    """A second visit that reads less takes nothing away: page and diagnosis speak of the same readings."""
    steps = [step(1, FOUND), step(2, {"supply-air": "146 degF", "return-air": "70 degF"}, visit=2)]
    once, twice = (work_up(case(some, **VISITS), KNOWN) for some in (steps[:1], steps))
    for workup in (once, twice):
        assert "no pressure was read" not in str(airpath.chart(workup))
        assert {d.part for d in workup.survey.found.drops} == {"return", "filter", "coil", "supply"}
        assert not isinstance(blower.chart(workup), Missing)


def test_a_path_opened_before_the_repair_tells_nothing_of_after():
    opened = {"supply-air": "130 degF", "return-air": "70 degF"}
    steps = [
        step(1, FOUND),
        step(2, opened, with_={"filter": "removed"}),
        step(3, LEFT, after="repair"),
        step(4, AGAIN, visit=2),
    ]
    surveyed = survey(case(steps, **VISITS), KNOWN)
    assert survey(case(steps[:2]), KNOWN).finding("filter-out-rise-falls") is not None
    assert surveyed.finding("filter-out-rise-falls") is None


def test_looks_that_disagree_stay_open_and_are_not_proof():
    def told(*looks):
        steps = [step(n, {}, {"wheel-dirty": look}) for n, look in enumerate(looks, 1)]
        return survey(case(steps), KNOWN).finding("wheel-dirty").probability

    assert told("yes", "yes") == 1.0 and told("no", "unclear") == 0.0
    assert told("yes", "no") == 0.5 and 0.5 < told("yes", "yes", "no") < 1


def test_what_is_read_after_the_rod_was_cleaned_is_as_found_but_for_its_current():
    """Cleaning a flame rod changes the current it gives, not the gas pressure nor the bond."""
    plate = {"inlet_range": "4.5 to 10.5 inH2O"}
    steps = [
        step(1, {"flame-current": "0.4 uA"}),
        step(2, changed={"flame rod": "wiped clean"}),
        step(
            3,
            {
                "flame-current": "2.9 uA",
                "neutral-to-burner": "4.2 V",
                "gas-inlet-all-on": "2.1 inH2O",
                "meter-time": "45 s",
            },
        ),
    ]
    surveyed = survey(case(steps, plate=plate), KNOWN)
    found = surveyed.found
    assert found.readings["flame-current"].value.m_as("uA") == 0.4 and found.input is not None
    for finding in ("bond-bad", "gas-inlet-low", "flame-current-restored"):
        assert surveyed.finding(finding).probability > 0.9, finding
