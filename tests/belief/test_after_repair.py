"""Corrected is what was shown after the repair to be right again: what was not looked at shows nothing.

The cases are invented; that a repair is proven by the same readings afterwards is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from causebook import quantity as qty
from causebook.belief.after_repair import after_repair
from causebook.casefile.model import Case, Outcome
from causebook.knowledge.model import Knowledge
from causebook.survey.survey import survey
from causebook.workup import work_up

TRIPS = {
    "read": {"supply-air-at-trip": "150 degF", "return-air": "70 degF"},
    "seen": {"limit-opened-while-watched": "yes"},
}
LOW_SUCTION = {"read": {"suction-at-start": "-1.0 inH2O", "suction-at-end": "-0.5 inH2O"}}


def repaired(read: dict[str, str] | None = None, seen: dict[str, str] | None = None) -> dict[str, Any]:
    return {"read": read or {}, "seen": seen or {}, "after": "repair"}


def rise(size: int) -> dict[str, str]:
    return {"supply-air": f"{70 + size} degF", "return-air": "70 degF"}


@pytest.mark.parametrize(
    ("left", "shown"),
    [
        (repaired(rise(50), {"limit-opened-while-watched": "no"}), True),
        (repaired(rise(50)), True),
        (repaired(seen={"limit-opened-while-watched": "no"}), True),
        (repaired(rise(50), {"limit-opened-while-watched": "yes"}), False),
        (repaired({"meter-time": "93 s"}, {"limit-opened-while-watched": "yes"}), False),
        (repaired(rise(50), {"limit-opened-while-watched": "unclear"}), True),
        (repaired(rise(20), {"limit-opened-while-watched": "no"}), False),
        (repaired(rise(70), {"limit-opened-while-watched": "no"}), False),
        (repaired({"supply-air-at-trip": "155 degF", "return-air": "70 degF"}), False),
        (repaired({"co-at-departure": "0 ppm"}), False),
        (repaired({**rise(50), "co-in-flue": "1200 ppm", "oxygen-in-flue": "8 %"}), False),
        (repaired({**rise(50), "limit-opened-at": "260 degF"}), False),
        (repaired(rise(50), {"flame-moves-when-blower-starts": "yes"}), False),
        (repaired(), False),
    ],
)
def test_a_repair_is_corrected_when_what_was_looked_at_then_says_so(
    left: dict[str, Any], shown: bool, knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    case = make_case(TRIPS, left)
    assert after_repair(case, survey(case, knowledge), ["filter-loaded"], knowledge).gone is shown


def test_a_sound_rise_does_not_answer_a_complaint_of_another_kind(
    knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    for read, shown in (
        (rise(50), False),
        ({"suction-at-start": "-1.0 inH2O", "suction-at-end": "-0.99 inH2O"}, True),
        ({**rise(50), **LOW_SUCTION["read"]}, False),
    ):
        case = make_case(LOW_SUCTION, repaired(read), family="pressure-switch")
        assert after_repair(case, survey(case, knowledge), ["condensate-blocked"], knowledge).gone is shown, read


def test_what_stands_in_the_case_file_as_found_says_nothing_of_after(
    knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    """The narrow return is still written there; only what was read after the repair counts."""
    case = make_case(
        TRIPS,
        repaired({"co-at-departure": "0 ppm"}),
        **{"return": [{"what": "trunk", "size": "30 x 20 in", "length": "10 ft"}]},
    )
    assert not after_repair(case, survey(case, knowledge), ["return-undersized"], knowledge).gone


def test_a_later_visit_that_finds_it_again_unmakes_the_repair(
    knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    case = make_case(TRIPS, repaired(rise(50), {"limit-opened-while-watched": "no"}), TRIPS)
    again = case.model_copy(update={"steps": (*case.steps[:2], case.steps[2].model_copy(update={"visit": 2}))})
    assert not after_repair(again, survey(again, knowledge), ["filter-loaded"], knowledge).gone


def altered(case: Case, knowledge: Knowledge, read: dict[str, str], seen: dict[str, str]) -> Case:
    """The case with other readings and looks after the repair."""

    def change(step: Any) -> Any:
        readings = tuple(
            t.model_copy(update={"value": qty.parse(read[t.reading], qty.KINDS[knowledge.readings[t.reading].kind])})
            if t.reading in read
            else t
            for t in step.readings
        )
        return step.model_copy(update={"readings": readings, "seen": {**step.seen, **seen}})

    return case.model_copy(update={"steps": tuple(change(s) if s.step.after else s for s in case.steps)})


def test_the_outcome_is_settled_and_not_corrected_while_the_complaint_goes_on(
    knowledge: Knowledge, demo_cases: list[Case]
) -> None:
    case = next(c for c in demo_cases if c.id == "wrong-orifices")
    assert work_up(case, knowledge).verdict.outcome is Outcome.CORRECTED
    for read, seen in (({}, {"limit-opened-while-watched": "yes"}), ({"co-in-flue": "1200 ppm"}, {})):
        outcome = work_up(altered(case, knowledge, read, seen), knowledge).verdict.outcome
        assert outcome in (Outcome.NOT_CORRECTED, Outcome.STOPPED)
