"""The 24-volt circuit against hand calculation and against a net of nodes solved another way."""

from __future__ import annotations

import numpy as np
import pytest

from causebook.equipment.furnace.start.circuit import (
    CLOSED,
    METER,
    NO_LOAD,
    OPEN,
    SOURCE,
    STRING,
    Ladder,
    healthy,
    parallel,
)


def volts(reading: str, commanded: bool = False, **made: bool) -> float:
    told = healthy({name.replace("_", "-"): is_made for name, is_made in made.items()}, commanded).read(reading)
    assert told is not None
    return float(told)


def test_a_40_va_transformer_gives_24_volts_at_its_rated_current() -> None:
    """Class 2 transformer, 40 VA at 24 V: 1.67 A.  Source: volt-amperes over volts; rating from memory."""
    rated = 40 / 24
    assert NO_LOAD - SOURCE * rated == pytest.approx(24, abs=0.1)
    assert 24 < volts("secondary-volts", commanded=True) < volts("secondary-volts") < NO_LOAD


@pytest.mark.parametrize("device", STRING)
def test_full_volts_stand_across_the_only_open_switch(device: str) -> None:
    open_ = {device.replace("-", "_"): False}
    assert volts(f"volts-across-{device}", **open_) > 0.97 * volts(f"volts-to-common-before-{device}", **open_)
    assert volts(f"volts-to-common-after-{device}", **open_) < 0.1
    for other in STRING:
        if other != device:
            assert volts(f"volts-across-{other}", **open_) < 0.1


def test_two_open_switches_hide_each_other() -> None:
    """With a second switch open no current passes the meter, so neither shows the full volts.  Voltage divider."""
    both = {"limit": False, "rollout_switch": False}
    assert volts("volts-across-limit", **both) < 2 and volts("volts-across-rollout-switch", **both) < 2
    assert volts("volts-to-common-before-limit", **both) > 25


def test_a_dead_feed_leaves_nothing_anywhere() -> None:
    assert volts("call-volts", fuse=False) < 0.1 and volts("volts-to-common-before-limit", fuse=False) < 0.1
    assert volts("volts-across-fuse", fuse=False) > 25


def test_a_ladder_is_solved_like_any_net() -> None:
    """Against the nodal equations as a matrix (Kirchhoff's current law), with the meter as one more load."""
    series, loads = (2.0, 0.05, 30.0), (150.0, OPEN, 60.0)
    ladder = Ladder(tuple(np.asarray(r) for r in series), loads)
    for point in (1, 2, 3):
        matrix, right = np.zeros((3, 3)), np.zeros(3)
        for n, (r, load) in enumerate(zip(series, loads, strict=True)):
            matrix[n, n] += 1 / r + 1 / load + (1 / METER if n == point - 1 else 0)
            if n:
                matrix[n - 1, n - 1] += 1 / r
                matrix[n, n - 1] -= 1 / r
                matrix[n - 1, n] -= 1 / r
            else:
                right[0] += 24 / r
        assert float(ladder.to_common(np.asarray(24.0), point)) == pytest.approx(
            np.linalg.solve(matrix, right)[point - 1]
        )


def test_a_poor_joint_is_a_resistance_under_load() -> None:
    """20 ohms before a load of 60 take a quarter of the volts.  Voltage divider."""
    poor = Ladder((np.asarray(20.0),), (60.0,))
    assert float(poor.across(np.asarray(24.0), 0)) == pytest.approx(6.0, rel=1e-3)
    assert float(parallel(CLOSED, CLOSED)) == pytest.approx(CLOSED / 2)
