"""Stops err on the safe side: they fire on what is struck, changed, after the repair, and again after they were closed.

The cases are invented; what stops a furnace is common practice or a standard named in the data.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from types import MappingProxyType

import pytest

from causebook.belief.barred import barred
from causebook.belief.verdict import StopNotice
from causebook.casefile.model import Case, CaseStep, Conclusion, Visit
from causebook.diagnosis import diagnose
from causebook.knowledge.model import Knowledge
from causebook.survey.survey import survey
from causebook.workup import closing_problems
from firing import FIRING, RICH

Make = Callable[..., Case]

AROUND = {
    "as found": {},
    "after the repair": {"after": "repair"},
    "at the follow-up": {"after": "follow-up"},
    "with the filter out": {"with": {"filter": "removed"}},
    "meter zeroed indoors": {"with": {"meter zero": "indoors"}},
    "not steady": {"with": {"fire": "not steady"}},
    "panel off": {"with": {"panel": "off"}},
    "struck by the author": {"void": "probe slipped"},
}
CLEAN = {"read": {"co-in-flue": "20 ppm", "oxygen-in-flue": "8 %", "co-indoors": "0 ppm", "gas-detector": "0 %"}}


def fired(case: Case, knowledge: Knowledge, stop: str) -> list[StopNotice]:
    return [s for s in diagnose(case, knowledge, show_steps=False).stops if s.id == stop]


def on_visits(case: Case, *visits: int, closed: Mapping[int, Mapping[str, str] | str] = MappingProxyType({})) -> Case:
    """The same case with its steps on these visits, and with how the stops were closed on some of them."""
    steps: list[CaseStep] = [s.model_copy(update={"visit": v}) for s, v in zip(case.steps, visits, strict=True)]
    kept = tuple(
        Visit(
            date=dt.date(2026, 1, v),
            steps=tuple(s.step for s in steps if s.visit == v),
            concluded=Conclusion(stop_closed=closed[v]) if v in closed else None,
        )
        for v in range(1, max(visits) + 1)
    )
    return case.model_copy(update={"steps": tuple(steps), "file": case.file.model_copy(update={"visits": kept})})


def test_every_stop_is_tried_here(knowledge: Knowledge) -> None:
    assert {stop for _, stop in FIRING} == set(knowledge.stops)


@pytest.mark.parametrize("around", AROUND)
@pytest.mark.parametrize(("step", "stop"), FIRING)
def test_it_fires_in_whatever_state(step: dict, stop: str, around: str, knowledge: Knowledge, make_case: Make) -> None:
    (notice,) = fired(make_case(CLEAN, {**step, **AROUND[around]}), knowledge, stop)
    assert notice.open and notice.step == 2 and not notice.suspected


@pytest.mark.parametrize(("step", "stop"), FIRING)
def test_a_better_look_later_does_not_unsay_it(step: dict, stop: str, knowledge: Knowledge, make_case: Make) -> None:
    calm = {
        k: {"co": "0 ppm", "oxygen": "7 %", "spillage": "1 min", "gas": "0 %", "limit": "195 degF"}[k.split("-")[0]]
        for k in step.get("read", ())
    }
    for after in ("", "repair"):
        later = {"read": calm, "seen": dict.fromkeys(step.get("seen", ()), "no"), "after": after}
        (notice,) = fired(make_case(step, later), knowledge, stop)
        assert notice.open and notice.step == 1


@pytest.mark.parametrize(("step", "stop"), FIRING)
def test_it_fires_again_after_it_was_closed(step: dict, stop: str, knowledge: Knowledge, make_case: Make) -> None:
    case = make_case(step, step)
    first, second = {stop: "put right"}, {stop: "and again"}
    (notice,) = fired(on_visits(case, 1, 1, closed={1: first}), knowledge, stop)
    assert not notice.open and notice.closed_by == "put right"
    before, again = fired(on_visits(case, 1, 2, closed={1: first}), knowledge, stop)
    assert (before.open, before.step, again.open, again.step) == (False, 1, True, 2)
    ended = fired(on_visits(case, 1, 2, closed={1: first, 2: second}), knowledge, stop)
    assert [(s.open, s.closed_by) for s in ended] == [(False, "put right"), (False, "and again")]


def closing(case: Case, knowledge: Knowledge) -> tuple[set[str], list[str]]:
    """Ids of the notices that are open, and what the review says of how they were closed."""
    notices = diagnose(case, knowledge, show_steps=False).stops
    return {s.id for s in notices if s.open}, [p.found for p in closing_problems(case, notices)]


def test_words_alone_end_one_notice_and_never_another_beside_it(knowledge: Knowledge, make_case: Make) -> None:
    """A joint made tight ends the gas and not the crack that was seen on the same day."""
    gas, crack = {"seen": {"gas-smell": "yes"}}, {"seen": {"crack-seen": "yes"}}
    words = {1: "joint made tight"}
    assert closing(on_visits(make_case(gas, {}), 1, 1, closed=words), knowledge) == (set(), [])
    both = make_case(gas, crack)
    assert closing(on_visits(both, 1, 1, closed=words), knowledge) == (
        {"gas", "breach"},
        ["does not say which it ends of: gas, breach"],
    )
    assert closing(on_visits(both, 1, 1, closed={1: {"gas": "joint made tight"}}), knowledge) == ({"breach"}, [])
    assert closing(on_visits(both, 1, 2, closed=words), knowledge) == ({"breach"}, []), "the crack came later"


@pytest.mark.parametrize("named", ["breech", "breach"])
def test_a_closing_that_names_no_notice_is_said(named: str, knowledge: Knowledge, make_case: Make) -> None:
    case = on_visits(
        make_case({"seen": {"gas-smell": "yes"}}, {"seen": {"crack-seen": "yes"}}),
        1,
        2,
        closed={1: {"gas": "joint made tight", named: "exchanger replaced"}},
    )
    assert closing(case, knowledge) == ({"breach"}, ["no such notice had fired"])


def test_a_limit_that_opens_spoils_no_flue_gas(knowledge: Knowledge, make_case: Make) -> None:
    case = make_case({**RICH, "seen": {"limit-opened-while-watched": "yes"}})
    assert not survey(case, knowledge).voided and fired(case, knowledge, "co-in-flue")


@pytest.mark.parametrize(
    "read",
    [
        {"co-in-flue": "900 ppm", "oxygen-in-flue": "18.5 %"},
        {"co-in-flue": "500 ppm"},
        {"co-in-flue-after-blower": "500 ppm"},
    ],
)
def test_without_a_figure_free_of_air_the_flue_is_judged_as_read(
    read: dict, knowledge: Knowledge, make_case: Make
) -> None:
    assert fired(make_case({"read": read}), knowledge, "co-in-flue")


def test_co_and_oxygen_may_stand_in_two_steps(knowledge: Knowledge, make_case: Make) -> None:
    one, two = ({"read": {k: v}} for k, v in RICH["read"].items())
    assert [s.step for s in fired(make_case(one, two), knowledge, "co-in-flue")] == [2]
    assert not fired(make_case(one, {**two, "after": "repair"}), knowledge, "co-in-flue"), "another fire"


def test_a_meter_zeroed_indoors_clears_nothing(knowledge: Knowledge, make_case: Make) -> None:
    read = {
        "co-indoors": "2 ppm",
        "co-in-flue": "30 ppm",
        "oxygen-in-flue": "8 %",
        "co-in-flue-after-blower": "30 ppm",
        "oxygen-in-flue-after-blower": "8 %",
    }
    told = survey(make_case({"read": read, "with": {"meter zero": "indoors"}}), knowledge)
    assert not {"co-in-rooms", "co-flue-high", "co-flue-very-high"} & {f.id for f in told.findings}


def test_what_is_subtracted_has_to_count(knowledge: Knowledge, make_case: Make) -> None:
    """CO outdoors that was read beside a running engine, or on another day, hides nothing indoors."""
    inside, outside = {"read": {"co-indoors": "20 ppm"}}, {"read": {"co-outdoors": "15 ppm"}}
    assert not fired(make_case(outside, inside), knowledge, "co-indoors")
    assert fired(make_case({**outside, "void": "beside a running engine"}, inside), knowledge, "co-indoors")
    assert [s.step for s in fired(on_visits(make_case(outside, inside), 1, 2), knowledge, "co-indoors")] == [2]


def test_belief_fires_as_of_what_speaks_for_it(knowledge: Knowledge, demo_cases: list[Case]) -> None:
    """A breach believed in as found is not fired anew by the visit that put another furnace in."""
    case = next(c for c in demo_cases if c.id == "bent-flame")
    assert [s.open for s in fired(case, knowledge, "breach")] == [False]
    (suspected,) = fired(case.upto(3), knowledge, "breach")
    assert suspected.suspected and suspected.open


# ---------------------------------------------------------------- what may be tested meanwhile


@pytest.mark.parametrize(("step", "stop"), FIRING)
def test_no_burner_is_lit_while_a_stop_is_open(step: dict, stop: str, knowledge: Knowledge, make_case: Make) -> None:
    case = make_case(step)
    told = diagnose(case, knowledge, show_steps=False)
    burning = {t.id for t in knowledge.tests.values() if "burner" in t.runs}
    out = barred(survey(case, knowledge), told.stops, knowledge)
    proposed = {t.id for t in told.verdict.next_tests}
    assert burning - out <= {"short-firing"} and not burning & proposed - {"short-firing"}
    assert ("short-firing" in out) == (stop != "co-indoors")
    if stop in ("shock", "wet-electrics"):
        assert {t.id for t in knowledge.tests.values() if {"burner", "blower", "power"} & set(t.runs)} <= out


def test_what_is_only_suspected_is_left_to_licensed_tests(knowledge: Knowledge, demo_cases: list[Case]) -> None:
    """Furnace left over as the source, nothing seen yet: the short firing decides; once it has, nothing is lit."""
    case = next(c for c in demo_cases if c.id == "bent-flame")
    listed = [
        [t.id for t in diagnose(case.upto(n), knowledge, show_steps=False).verdict.next_tests] for n in (1, 2, 3, 4)
    ]
    assert [tests[0] for tests in listed[:3]] == ["arrive-with-co-meter", "short-firing", "short-firing"]
    lit = [[t for t in tests if "burner" in knowledge.tests[t].runs] for tests in listed]
    assert lit == [[], ["short-firing"], ["short-firing"], []]
    assert knowledge.tests["short-firing"].licensed


def test_the_co_meter_is_walked_in_before_any_burner_is_lit(knowledge: Knowledge, make_case: Make) -> None:
    """Answers on the telephone are no reading."""
    asked = {"seen": {"people-ill": "no", "gas-smell": "no", "limit-fault-stored": "yes"}}
    proposed = [t.id for t in diagnose(make_case(asked), knowledge, show_steps=False).verdict.next_tests]
    assert proposed[0] == "arrive-with-co-meter"
    assert not [t for t in proposed if "burner" in knowledge.tests[t].runs]
    read = make_case(asked, {"read": {"co-indoors": "0 ppm"}})
    proposed = [t.id for t in diagnose(read, knowledge, show_steps=False).verdict.next_tests]
    assert "arrive-with-co-meter" not in proposed and [t for t in proposed if "burner" in knowledge.tests[t].runs]


@pytest.mark.parametrize("finding", ["blower-stands-still", "hums-without-starting"])
def test_nothing_that_needs_moving_air_is_proposed_while_the_blower_stands(
    finding: str, knowledge: Knowledge, make_case: Make
) -> None:
    steps = [
        {"read": {"co-indoors": "0 ppm"}, "seen": {"limit-fault-stored": "yes", finding: said}}
        for said in ("yes", "no")
    ]
    still, runs = (
        [t.id for t in diagnose(make_case(one), knowledge, show_steps=False).verdict.next_tests] for one in steps
    )
    assert still and not [t for t in still if {"burner", "blower"} & set(knowledge.tests[t].runs)]
    assert "static-map" in runs
