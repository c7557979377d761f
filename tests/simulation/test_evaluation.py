"""The evaluation itself: calls are sound and repeatable, scores are what they say, and sixty calls stay within bounds.

The bounds are loose, since sixty calls are few; the figures that count come from the command in `evaluate`.
"""

from __future__ import annotations

import math
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from causebook.knowledge.loader import load

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.simulation import start_calls  # found through the line above
from tests.simulation.calls import condition, draw
from tests.simulation.evaluate import evaluate
from tests.simulation.files import on_disk
from tests.simulation.game import play
from tests.simulation.score import PRESSURE_SWITCHES, Answer, calibration_error, scores
from tests.simulation.start import Stage, State, complaint, start
from tests.simulation.start_visits import StartVisit
from tests.simulation.world import Condition, run
from tests.simulation.worlds import WORLDS


def test_the_world_balances_pressure_and_heat() -> None:
    """The blower makes what the parts take; the rise carries away what the burner gives."""
    for seed in range(12):
        house = draw(seed).house
        at = run(house, Condition(speed=0.9, times={"filter": 2.0}))
        made = house.density * house.blower.static(at.airflow, house.setting, 0.9 * house.blower.strength)
        inside = [p for p in house.ducts if p == "inlet" or p not in house.counted]
        clean = {
            p: house.ducts[p].clean * (at.airflow / house.middle) ** house.ducts[p].exponent * house.density
            for p in inside
        }
        assert sum(at.drops.values()) - sum(clean.values()) == pytest.approx(made, abs=1e-4)
        assert at.rise * house.carries * at.airflow == pytest.approx(at.input * house.true_share)


def test_calls_are_repeatable_and_true_to_their_word() -> None:
    for seed in range(30):
        call = draw(seed)
        assert call == draw(seed)
        assert len(call.faults) <= 4 and bool(call.faults) == bool(call.roots)
        sound = run(call.house, Condition())
        assert sound.margin > 0 and sound.rise < call.house.rise[1]
        assert call.hot == (bool(call.faults) and run(call.house, condition(call.house, call.sizes)).margin < 0)


def test_a_start_ends_at_the_first_part_that_does_not_do_its_duty() -> None:
    dead = {
        "line": Stage.POWER,
        "fuse": Stage.POWER,
        "call": Stage.CALL,
        "joint": Stage.STRING,
        "safety": Stage.STRING,
        "switch": Stage.SWITCH_AT_REST,
        "inducer_fed": Stage.SUCTION,
        "hose": Stage.SUCTION,
        "igniter": Stage.IGNITER,
        "igniter_fed": Stage.IGNITER,
        "valve": Stage.GAS,
        "inlet": Stage.GAS,
        "ports": Stage.LIGHT,
        "rod": Stage.SENSE,
        "bond": Stage.SENSE,
        "keeps": Stage.SUCTION_IN_RUN,
    }
    for seed in range(5):
        furnace = start_calls.draw(seed).furnace
        assert start(furnace, State()).sound
        for part, stage in dead.items():
            assert start(furnace, State(**{part: 0.0})).stage is stage
            assert start(furnace, State(**{part: 0.0, "igniter": 0.0})).stage is min(stage, Stage.IGNITER)
        breached, thin = start(furnace, State(breach=0.2)), start(furnace, State(air=0.6))
        assert breached.oxygen_blown > breached.oxygen + 1 and thin.oxygen < start(furnace, State()).oxygen
        # A weak inducer and a choked vent add up.
        little = 0.99 * (furnace.closes / furnace.suction) ** 0.5
        assert start(furnace, State(draws=little)).stage > Stage.SUCTION
        both = start_calls.state({"inducer-weak": {"draws": little}, "vent-blocked": {"draws": little}})
        assert start(furnace, both).stage is Stage.SUCTION


def test_starts_are_repeatable_and_true_to_their_word() -> None:
    for seed in range(60):
        call = start_calls.draw(seed)
        assert call == start_calls.draw(seed)
        assert len(call.faults) <= 4 and bool(call.faults) == bool(call.roots) and call.roots <= call.contributing
        found = start(call.furnace, start_calls.state(call.sizes))
        assert (complaint(found) or call.family) == call.family and found.sound == (not call.faults)
        ends = {f for f in call.faults if start(call.furnace, start_calls.state(call.sizes, {f})).sound}
        assert not ends or call.roots == ends


def test_where_a_start_ends_limits_what_can_be_read() -> None:
    knowledge = load()
    needs = {
        "igniter-volts": Stage.IGNITER,
        "manifold": Stage.GAS,
        "flame-current": Stage.SENSE,
        "neutral-to-burner": Stage.SENSE,
        "suction-at-start": Stage.SUCTION,
        "meter-time": Stage.SUCTION_IN_RUN,
        "suction-at-end": Stage.SUCTION_IN_RUN,
        "co-in-flue": Stage.SUCTION_IN_RUN,
    }
    shown: set[str] = set()
    for seed in range(60):
        visit = StartVisit(start_calls.draw(seed), knowledge)
        stage = visit.at.stage
        # Cleaning the rod may carry the start further, so it comes last.
        for test in (
            "suction-log",
            "igniter-test",
            "manifold-test",
            "bond-test",
            "combustion-air-test",
            "clock-gas",
            "flame-current-test",
        ):
            visit.test(test)
        read = {what for step in visit.steps for what in step["read"]}
        assert not {what for what, least in needs.items() if stage < least} & read
        shown |= read
    assert needs.keys() <= shown


def test_a_visit_to_a_start_is_a_case_file_without_fault(tmp_path: Path) -> None:
    knowledge = load()
    for seed in range(8):
        case, problems = on_disk(WORLDS["start"].call(seed, knowledge)[1], knowledge, tmp_path)
        assert case is not None and not problems


@pytest.mark.parametrize("world", WORLDS)
def test_more_than_half_is_left_out(world: str) -> None:
    knowledge = load()
    visits = [WORLDS[world].call(seed, knowledge)[1] for seed in range(25)]
    left, written = sum(v.left_out for v in visits), sum(v.written for v in visits)
    assert left > written


def test_scores_by_hand() -> None:
    told = [
        Answer(
            1,
            frozenset({"a", "b"}),
            frozenset({"a"}),
            frozenset({"a", "b"}),
            ("a", "b", "c"),
            0.9,
            frozenset({"b"}),
            sides=frozenset({"return"}),
        ),
        Answer(
            2,
            frozenset({"b"}),
            frozenset({"b"}),
            frozenset({"b"}),
            ("limit-weak", "c", "b"),
            0.8,
            frozenset(),
            sides=frozenset({"return", "blower"}),
        ),
        Answer(3, frozenset(), frozenset(), frozenset(), ("a",), 0.2, frozenset(), rests=False),
    ]
    got = scores(told)
    assert got["right root"] == 0.5 and got["among first three"] == 1.0
    assert got["contributing, precision"] == 1.0 and got["contributing, recall"] == 0.5
    assert got["good limits condemned"] == pytest.approx(1 / 3) and got["fault-free called faulty"] == 0
    assert got["answered at 0.85"] == pytest.approx(1 / 3) and got["right when answered at 0.85"] == 1.0
    assert got["calibration error"] == pytest.approx((0.1 + 0.8) / 2)
    assert math.isnan(got["bad limits missed"])
    assert got["right root, return side"] == 0.5 and got["right root, blower side"] == 0.0
    assert math.isnan(got["stopped where danger was read"])


def test_scores_of_several_complaints_by_hand() -> None:
    leak = Answer(
        1,
        frozenset({"gas-leak"}),
        frozenset({"gas-leak"}),
        frozenset({"gas-leak"}),
        ("gas-leak",),
        0.9,
        frozenset(),
        family="co-odour",
        danger=True,
        stopped=True,
    )
    hose = Answer(
        2,
        frozenset({"rod-dirty"}),
        frozenset({"rod-dirty"}),
        frozenset(),
        ("ps-or-hose", "a", "b"),
        0.6,
        frozenset(),
        family="flame-lost",
    )
    got = scores([leak, hose, replace(leak, stopped=False)], PRESSURE_SWITCHES)
    assert got["right root, co-odour"] == 1 and got["right root, flame-lost"] == 0
    assert got["good pressure switches condemned"] == pytest.approx(1 / 3)
    assert got["stopped where danger was read"] == 0.5


def test_calibration_error_of_the_well_calibrated_is_nothing() -> None:
    assert calibration_error([(0.75, n % 4 > 0) for n in range(400)]) == pytest.approx(0)


def test_sixty_calls() -> None:
    table, _, _ = evaluate(60, seed=3, jobs=1)
    told = table["diagnosis"]
    assert told["right root"] >= 0.55
    assert told["among first three"] >= 0.75
    assert told["good limits condemned"] <= 0.04
    assert told["right when answered at 0.85"] >= 0.75
    for name in ("noisy-OR, one cause", "noisy-OR, two causes"):
        assert told["right root"] > table[name]["right root"] - 0.02
        assert told["calibration error"] < table[name]["calibration error"] + 0.05


def test_sixty_starts() -> None:
    table, answers, _ = evaluate(60, seed=3, jobs=1, world="start")
    told = table["diagnosis"]
    assert {a.family for a in answers} == set(start_calls.FAMILIES)
    assert told["right root"] >= 0.35
    assert told["among first three"] >= 0.65
    assert told["good pressure switches condemned"] <= 0.06
    assert told["stopped where danger was read"] == 1.0


@pytest.mark.parametrize("world", WORLDS)
def test_a_game_ends_with_an_answer(world: str) -> None:
    games = [play(3_000_000 + n, world) for n in range(6)]
    for played in games:
        assert played.named and len(played.tests) <= 8 and len(set(played.tests)) == len(played.tests)
        assert (played.minutes > 0) == bool(played.tests)
    assert any(played.tests for played in games) and any(played.sure for played in games)
