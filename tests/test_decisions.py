"""Where a decision turns: a case just over and one just under each bound, the bounds as numbers of their own here.

`tests/mutants.py` changes the deciding modules one place at a time and says which change no test sees.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from causebook import quantity as qty
from causebook.belief.noisy_or import NoisyOr, Seen
from causebook.belief.roles import roles
from causebook.belief.stops import stops
from causebook.belief.verdict import Belief, CauseBelief, Role, WhatIf
from causebook.casefile.model import Outcome
from causebook.diagnosis import _outcome, word
from causebook.knowledge import load
from causebook.measured import Measured
from causebook.physics import building
from causebook.sizing.judge import Judge, Solved, _enough, _word
from causebook.sizing.plan import NOTHING
from causebook.sizing.return_air import inlet_break
from causebook.survey.model import State
from causebook.survey.survey import survey
from causebook.writeup.charts.runlog import _burner
from made import PLATE, make_case

KNOWN = load()


# ---------------------------------------------------------------- words of belief


@pytest.mark.parametrize(
    ("chance", "confirmed", "said"),
    [
        (0.0099, False, Belief.RULED_OUT),
        (0.0101, False, Belief.UNLIKELY),
        (0.0999, True, Belief.UNLIKELY),
        (0.1001, True, Belief.POSSIBLE),
        (0.4999, True, Belief.POSSIBLE),
        (0.5001, True, Belief.LIKELY),
        (0.8999, True, Belief.LIKELY),
        (0.9001, False, Belief.LIKELY),
        (0.9001, True, Belief.SETTLED),
    ],
)
def test_the_word_of_a_belief(chance: float, confirmed: bool, said: Belief) -> None:
    assert word(chance, confirmed, KNOWN) is said


def cause(id_: str, chance: float, root_chance: float = 0.0, role: Role = Role.ROOT) -> CauseBelief:
    known = KNOWN.causes[id_]
    return CauseBelief(id_, known.name, chance, word(chance, False, KNOWN), role, "", root_chance, root_chance)


@pytest.mark.parametrize(
    ("chance", "outcome"), [(0.649, (False, Outcome.UNDETERMINED)), (0.651, (True, Outcome.LIKELY))]
)
def test_a_root_is_named_from_065(chance: float, outcome: tuple[bool, Outcome]) -> None:
    case = make_case(KNOWN, {"read": {"return-air": "70 degF"}})
    assert _outcome(case, [cause("filter-loaded", chance, chance)], survey(case, KNOWN), KNOWN, False) == outcome


def test_no_root_is_named_where_putting_right_all_that_is_believed_leaves_the_complaint() -> None:
    case = make_case(KNOWN, {"read": {"return-air": "70 degF"}})
    told = _outcome(case, [cause("filter-loaded", 0.9, 0.9)], survey(case, KNOWN), KNOWN, True)
    assert told == (False, Outcome.UNDETERMINED)


@pytest.mark.parametrize(("chance", "fires"), [(0.499, False), (0.501, True)])
@pytest.mark.parametrize("id_", sorted(c.id for c in KNOWN.causes.values() if c.stop))
def test_a_cause_more_likely_than_not_fires_its_stop(id_: str, chance: float, fires: bool) -> None:
    case = make_case(KNOWN, {"read": {"return-air": "70 degF"}})
    fired = stops(case, survey(case, KNOWN), [cause(id_, chance)], KNOWN)
    assert [s.id for s in fired] == ([KNOWN.causes[id_].stop] if fires else [])


# ---------------------------------------------------------------- roles


def row(margin: float | None, *repairs: str, airflow: float | None = None) -> WhatIf:
    return WhatIf(
        "it",
        repairs,
        None if airflow is None else qty.q(airflow, "cfm"),
        None,
        None if margin is None else qty.q(margin, "delta_degF"),
        None,
        None,
        None,
    )


@pytest.mark.parametrize(("wins", "role"), [(11.9, Role.ALSO_FOUND), (12.1, Role.HELPED_BY)])
def test_what_wins_an_eighth_of_all_repairs_helped(wins: float, role: Role) -> None:
    present = ["filter-loaded", "return-undersized"]
    table = (row(-50), row(40, "filter-loaded"), row(-50 + wins, "return-undersized"), row(50, *present))
    by = roles(present, "filter-loaded", table, KNOWN).by_cause
    assert by == {"filter-loaded": Role.ROOT, "return-undersized": role}


@pytest.mark.parametrize(("wins", "role"), [(1011.9, Role.ALSO_FOUND), (1012.1, Role.HELPED_BY)])
def test_without_a_limit_the_airflow_says_what_helped(wins: float, role: Role) -> None:
    present = ["filter-loaded", "return-undersized"]
    table = (
        row(None, airflow=1000),
        row(None, "filter-loaded", airflow=1090),
        row(None, "return-undersized", airflow=wins),
        row(None, *present, airflow=1100),
    )
    assert roles(present, "filter-loaded", table, KNOWN).by_cause["return-undersized"] is role


def test_a_second_look_counts_less_than_a_first() -> None:
    """In one of four it only repeats the first; by hand, with an error of 0.1: 0.9 × (0.75 × 0.9 + 0.25)."""
    there, gone = NoisyOr(KNOWN, ["filter-loaded"], np.array([[1.0]])).answers((1.0, 1.0), 0.1)
    assert there == pytest.approx(0.9 * 0.925) and gone == pytest.approx(0.1 * 0.325)


def test_of_two_views_of_one_thing_the_more_telling_counts() -> None:
    group = next(f.group for f in KNOWN.findings.values() if f.group)
    one, other = [f.id for f in KNOWN.findings.values() if f.group == group][:2]
    model = NoisyOr(
        KNOWN, ["filter-loaded"], np.array([[0.0], [1.0]]), lambda f: np.array([0.1, 0.9 - 0.5 * (f == other)])
    )
    ((kept, _),) = model.once_per_group([Seen(other, 1.0, 1), Seen(one, 1.0, 2)], np.array([0.5, 0.5]), 0.05)
    assert kept.finding == one


# ---------------------------------------------------------------- what may be recommended


def solved(complaint: float | None, reading: float | None) -> Solved:
    told: Any = None
    return Solved(NOTHING, told, complaint, reading, ())


@pytest.mark.parametrize(
    ("complaint", "reading", "enough"),
    [(0.61, 0.76, True), (0.59, 0.76, False), (0.61, 0.74, False), (None, 0.76, True), (None, 0.74, False)],
)
def test_an_option_ends_the_complaint_in_060_and_sets_the_reading_right_in_075(
    complaint: float | None, reading: float | None, enough: bool
) -> None:
    assert _enough(solved(complaint, reading)) is enough


@pytest.mark.parametrize(
    ("complaint", "reading", "said"),
    [
        (0.51, 0.51, "complaint and reading"),
        (0.51, 0.49, "complaint only"),
        (0.49, 0.51, "neither"),
        (None, 0.49, "complaint only"),
        (None, None, "not computed"),
    ],
)
def test_the_word_of_an_option(complaint: float | None, reading: float | None, said: str) -> None:
    assert _word(solved(complaint, reading)) == said


@pytest.mark.parametrize(("surer", "first"), [(0.099, "one"), (0.101, "other")])
def test_of_equal_work_the_first_goes_unless_another_is_surer_by_a_tenth(surer: float, first: str) -> None:
    judge: Any = Judge.__new__(Judge)
    judge.likely, judge.out_of_service = True, ()
    judge._may = lambda option: True
    judge._solved = {"one": solved(0.8, None), "other": solved(0.8 + surer, None)}
    options: Any = [SimpleNamespace(id="one"), SimpleNamespace(id="other")]
    best = judge.best(options)
    assert best is not None and best.id == first


@pytest.mark.parametrize(
    ("is_set", "put_in", "over"),
    [(True, 101.9, False), (True, 102.1, True), (False, 102.6, False), (False, 102.8, True)],
)
def test_an_input_over_the_plate_by_2_percent_is_over(is_set: bool, put_in: float, over: bool) -> None:
    """One left as found is over only in 0.75: 0.6745 of its spread (1 here) further on."""
    judge: Any = Judge.__new__(Judge)
    judge.job = SimpleNamespace(found=SimpleNamespace(evidence=SimpleNamespace(plate_input=100.0)))
    plan = replace(NOTHING, on=frozenset({"input"} if is_set else ()))
    told: Any = {"input": Measured(put_in, 1.0, qty.HEAT_RATE)}
    assert bool(list(judge._over_input(plan, told))) is over


@pytest.mark.parametrize(("cfm", "sides", "broken"), [(1590, 1, False), (1610, 1, True), (1610, 2, False)])
def test_one_side_of_the_cabinet_takes_1600_cfm(cfm: float, sides: int, broken: bool) -> None:
    assert bool(inlet_break(cfm * qty.CFM, sides)) is broken


# ---------------------------------------------------------------- numbers that decisions rest on


@pytest.mark.parametrize(("supply", "counts"), [(70.9, False), (71.1, True)])
def test_a_rise_under_one_degree_is_no_rise(supply: float, counts: bool) -> None:
    case = make_case(KNOWN, {"read": {"return-air": "70 degF", "supply-air": f"{supply} degF", "meter-time": "45 s"}})
    assert (survey(case, KNOWN).found.rise is not None) is counts


@pytest.mark.parametrize(("share", "left"), [(0.5, 0.8915), (0.75, 0.9538), (1.2, 1.0254)])
def test_cooling_left_at_a_share_of_the_airflow(share: float, left: float) -> None:
    """NREL/TP-5500-56354, capacity over the share of rated airflow: 0.7186 + 0.4101 x − 0.1287 x², by hand."""
    assert building.cooling_capacity_share.si(share) == pytest.approx(left, abs=1e-4)


def test_the_burner_is_out_from_each_trip_to_the_next_light() -> None:
    assert _burner([8.0, 15.0], [10.0, 18.0], 20.0) == ((0.0, 8.0), (10.0, 15.0), (18.0, 20.0))


@pytest.mark.parametrize(
    ("fuel", "plate", "read", "state"),
    [
        ("natural gas", "", "4.9 inH2O", None),
        ("natural gas", "", "5.3 inH2O", State.PRESENT),
        ("propane", "", "5.3 inH2O", None),
        ("propane", "", "11.9 inH2O", None),
        ("propane", "", "12.4 inH2O", State.PRESENT),
        ("natural gas", "3.5 inH2O", "3.7 inH2O", State.ABSENT),
        ("natural gas", "3.5 inH2O", "3.9 inH2O", State.PRESENT),
    ],
)
def test_a_manifold_is_too_high_by_its_plate_or_over_any_plate_for_its_gas(
    fuel: str, plate: str, read: str, state: State | None
) -> None:
    furnace = {**PLATE, "fuel": fuel, "manifold": plate or None}
    found = survey(make_case(KNOWN, {"read": {"manifold": read}}, furnace=furnace), KNOWN).finding(
        "manifold-above-plate"
    )
    assert (found and found.state) is state
