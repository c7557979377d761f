"""How much a finding or a reading would tell, against closed forms and an independent library."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from causebook.belief.information import entropy, of_answer, of_reading

chances = st.lists(st.floats(0.01, 1), min_size=2, max_size=6)


def joint_of(shares: list[float]) -> np.ndarray:
    """As many sets as roots, each set with its own root."""
    return np.diag(np.array(shares) / sum(shares))


@given(chances)
def test_entropy_is_that_of_scipy(shares: list[float]) -> None:
    p = np.array(shares) / sum(shares)
    assert entropy(p) == pytest.approx(stats.entropy(p, base=2))


def test_a_finding_that_names_the_root_tells_all_and_a_coin_nothing() -> None:
    joint = joint_of([1, 1])
    assert of_answer(joint, np.array([1.0, 0.0])) == pytest.approx(1)
    assert of_answer(joint, np.array([0.5, 0.5])) == pytest.approx(0, abs=1e-12)


def test_eyes_that_err_are_a_noisy_channel() -> None:
    """Capacity of a binary symmetric channel, 1 − H(error): Cover and Thomas, Elements of Information Theory, section
    7.1.4, from memory."""
    for error in (0.02, 0.11, 0.3):
        lost = -error * math.log2(error) - (1 - error) * math.log2(1 - error)
        assert of_answer(joint_of([1, 1]), np.array([1 - error, error])) == pytest.approx(1 - lost)


def test_a_reading_tells_by_how_far_apart_it_is_foreseen() -> None:
    joint, spread = joint_of([1, 1]), np.array([1.0, 1.0])
    told = [of_reading(joint, np.array([0.0, apart]), spread) for apart in (0.0, 1.0, 2.0, 4.0, 12.0)]
    assert told[0] == pytest.approx(0, abs=1e-9) and told[-1] == pytest.approx(1, abs=1e-3)
    assert all(a < b for a, b in zip(told, told[1:], strict=False))
    # Two unit normals two apart share 0.486 bit of one (numerical integral of the mixture's entropy).
    places = np.linspace(-12, 14, 20001)
    mixed = 0.5 * (stats.norm.pdf(places) + stats.norm.pdf(places, loc=2))
    whole = -np.trapezoid(mixed * np.log2(mixed), places)
    assert told[2] == pytest.approx(whole - stats.norm.entropy() / math.log(2), abs=0.005)


@given(chances, st.integers(0, 10**6))
def test_never_more_than_is_open_and_never_less_than_nothing(shares: list[float], seed: int) -> None:
    rng = np.random.default_rng(seed)
    joint = joint_of(shares)
    open_ = entropy(joint.sum(axis=0))
    assert 0 <= of_answer(joint, rng.random(len(shares))) <= open_ + 1e-9
    assert 0 <= of_reading(joint, rng.normal(size=len(shares)), rng.random(len(shares)) + 0.01) <= open_ + 1e-9
