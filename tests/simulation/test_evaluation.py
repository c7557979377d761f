"""The evaluation itself: calls are sound and repeatable, scores are what they say, and sixty calls stay within bounds.

The bounds are loose, since sixty calls are few; the figures that count come from the command in `evaluate`.
"""

from __future__ import annotations

import math
import sys
from pathlib import Path

import pytest

from causebook.knowledge.loader import load

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.simulation.calls import condition, draw  # found through the line above
from tests.simulation.evaluate import evaluate
from tests.simulation.game import play
from tests.simulation.score import Answer, calibration_error, scores
from tests.simulation.visits import visit_of
from tests.simulation.world import Condition, run


def test_the_world_balances_pressure_and_heat() -> None:
    """The blower makes what the parts take; the rise carries away what the burner gives."""
    for seed in range(12):
        house = draw(seed).house
        at = run(house, Condition(speed=0.9, times={"filter": 2.0}))
        made = house.density * house.blower.static(at.airflow, house.setting, 0.9 * house.blower.strength)
        inside = [p for p in house.ducts if p == "inlet" or p not in house.counted]
        clean = {p: house.ducts[p].clean * (at.airflow / house.middle) ** house.ducts[p].exponent * house.density
                 for p in inside}
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


def test_more_than_half_is_left_out() -> None:
    knowledge = load()
    visits = [visit_of(draw(seed), knowledge) for seed in range(25)]
    left, written = sum(v.left_out for v in visits), sum(v.written for v in visits)
    assert left > written


def test_scores_by_hand() -> None:
    told = [Answer(1, frozenset({"a", "b"}), frozenset({"a"}), frozenset({"a", "b"}), ("a", "b", "c"), 0.9,
                   frozenset({"b"}), sides=frozenset({"return"})),
            Answer(2, frozenset({"b"}), frozenset({"b"}), frozenset({"b"}), ("limit-weak", "c", "b"), 0.8, frozenset(),
                   sides=frozenset({"return", "blower"})),
            Answer(3, frozenset(), frozenset(), frozenset(), ("a",), 0.2, frozenset(), rests=False)]
    got = scores(told)
    assert got["right root"] == 0.5 and got["among first three"] == 1.0
    assert got["contributing, precision"] == 1.0 and got["contributing, recall"] == 0.5
    assert got["good limits condemned"] == pytest.approx(1 / 3) and got["fault-free called faulty"] == 0
    assert got["answered at 0.85"] == pytest.approx(1 / 3) and got["right when answered at 0.85"] == 1.0
    assert got["calibration error"] == pytest.approx((0.1 + 0.8) / 2)
    assert math.isnan(got["bad limits missed"])
    assert got["right root, return side"] == 0.5 and got["right root, blower side"] == 0.0


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


def test_a_game_ends_with_an_answer() -> None:
    games = [play(3_000_000 + n) for n in range(6)]
    for played in games:
        assert played.named and len(played.tests) <= 8 and len(set(played.tests)) == len(played.tests)
        assert (played.minutes > 0) == bool(played.tests)
    assert any(played.tests for played in games) and any(played.sure for played in games)
