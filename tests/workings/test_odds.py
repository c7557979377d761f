"""Odds and weights of evidence."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from causebook.belief import odds

CHANCE = st.floats(0.001, 0.999)


def test_ten_decibans_are_ten_times_the_odds_and_three_double_them() -> None:
    """Good, Probability and the Weighing of Evidence (1950), from memory."""
    assert odds.decibans(10) == pytest.approx(10)
    assert odds.decibans(2) == pytest.approx(3.0103, rel=1e-4)
    assert odds.moved(0.5, 10) == pytest.approx(10 / 11)


@given(CHANCE, st.floats(-20, 20), st.floats(-20, 20))
def test_weights_add_up(before: float, one: float, other: float) -> None:
    assert odds.moved(odds.moved(before, one), other) == pytest.approx(odds.moved(before, one + other), rel=1e-6)


@given(CHANCE)
def test_odds_and_chance_are_each_others_inverse(before: float) -> None:
    assert odds.chance(odds.odds(before)) == pytest.approx(before)


@pytest.mark.parametrize("certain", [0.0, 1.0])
def test_certainty_has_no_odds(certain: float) -> None:
    with pytest.raises(ValueError, match="above 0 and below 1"):
        odds.odds(certain)
