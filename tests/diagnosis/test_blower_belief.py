"""Motor and wheel: the air tells their product, a tachometer tells the motor's part.  Against integrals by hand."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from causebook.diagnosis.blower_belief import BLUNDER_SPREAD, BlowerBelief, blower_belief

from causebook.belief.roles import repaired
from causebook.casefile.model import Case
from causebook.diagnosis import diagnose
from causebook.equipment.furnace.evidence import Gauge
from causebook.equipment.furnace.system import system_of
from causebook.knowledge.model import Knowledge

CAUSES = ("capacitor-weak", "wheel-dirty")
SPREAD, BLUNDER = 0.08, 0.02
GRID = np.linspace(-3, 3, 6001)
STILL_AIR = {
    "read": {
        "return-air": "68 degF",
        "supply-air": "150 degF",
        "room-temperature": "68 degF",
        "meter-time": "93.2 s",
        "tap-before-filter": "-0.05 inH2O",
        "tap-after-filter": "-0.10 inH2O",
        "tap-before-coil": "0.11 inH2O",
        "tap-after-coil": "0.05 inH2O",
    },
    "seen": {"limit-fault-stored": "yes"},
}


def belief(knowledge: Knowledge, read: Gauge | None) -> BlowerBelief:
    return blower_belief({c: knowledge.causes[c].effects for c in CAUSES}, SPREAD, read, BLUNDER)


def normal(at: np.ndarray | float, mean: float, spread: float) -> np.ndarray:
    return np.exp(-0.5 * ((at - mean) / spread) ** 2) / spread / np.sqrt(2 * np.pi)


def by_hand(knowledge: Knowledge, held: frozenset[str], log_speed: float, read: Gauge) -> tuple[float, float]:
    """(density of the speed and the reading, expected motor part with the reading taken as true) by summing over how
    fast the motor turns."""
    motor, wheel = (knowledge.causes[c].effects[0] for c in CAUSES)
    share = (
        normal(GRID, np.log(motor.factor), motor.spread)
        if CAUSES[0] in held
        else ((GRID == GRID[3000]) / (GRID[1] - GRID[0]))
    )
    at, wide = (np.log(wheel.factor), np.hypot(SPREAD, wheel.spread)) if CAUSES[1] in held else (0.0, SPREAD)
    rest = normal(log_speed - GRID, at, wide)
    sees = normal(np.log(read.value), GRID, read.sd / read.value)
    step = GRID[1] - GRID[0]
    true = (share * rest * sees).sum() * step
    wrong = (share * rest).sum() * step * float(normal(np.log(read.value), 0.0, BLUNDER_SPREAD))
    expected = (GRID * share * rest * sees).sum() * step / true
    return (1 - BLUNDER) * true + BLUNDER * wrong, expected


@pytest.mark.parametrize("ratio", [0.7, 0.85, 1.0])
@pytest.mark.parametrize("log_speed", [-0.6, -0.3, 0.05])
def test_density_and_motor_part_agree_with_the_integral(ratio: float, log_speed: float, knowledge: Knowledge) -> None:
    read = Gauge(ratio, 0.04)
    told = belief(knowledge, read)
    for n, held in enumerate(told.states.causes):
        density, expected = by_hand(knowledge, held, log_speed, read)
        # Leaving out both factors of 1/√(2π) is the same for every state.
        assert told.density(n, np.array(log_speed)) / (2 * np.pi) == pytest.approx(density, rel=1e-3), held
        if held == frozenset(CAUSES):
            assert told.motor_at(n, np.array(log_speed)) == pytest.approx(expected, abs=1e-3)


def test_without_a_reading_the_slower_half_is_shared(knowledge: Knowledge) -> None:
    told = belief(knowledge, None)
    at = {held: n for n, held in enumerate(told.states.causes)}
    slow = np.array(-0.55)
    assert told.motor_at(at[frozenset()], slow) == 0
    assert told.motor_at(at[frozenset({"wheel-dirty"})], slow) == 0
    assert told.motor_at(at[frozenset({"capacitor-weak"})], slow) == slow
    assert slow < told.motor_at(at[frozenset(CAUSES)], slow) < 0
    assert told.motor_left(at[frozenset()]) == 0 < told.motor_left(at[frozenset(CAUSES)])


def weak(case: Case, knowledge: Knowledge) -> tuple[float, float]:
    told = diagnose(case, knowledge, show_steps=False).posterior.marginal
    return (
        sum(told[c] for c in ("capacitor-weak", "motor-failing", "low-volts-at-motor")),
        sum(told[c] for c in ("wheel-dirty", "wheel-loose")),
    )


def test_a_tachometer_tells_motor_from_wheel(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    def with_speed(read: str) -> Case:
        blower = {"motor": "split capacitor", "setting": "medium-high", "speed": "1050 rpm"}
        return make_case(STILL_AIR, {"read": {"motor-speed": read}}, blower=blower)

    motor, wheel = weak(with_speed("790 rpm"), knowledge)
    assert motor > 0.8 and wheel < 0.25
    motor, wheel = weak(with_speed("1060 rpm"), knowledge)
    assert wheel > 0.4 and motor < 0.1


def test_correcting_the_motor_leaves_the_wheel_as_it_is(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    blower = {"motor": "split capacitor", "setting": "medium-high", "speed": "1050 rpm"}
    case = make_case(STILL_AIR, {"read": {"motor-speed": "900 rpm"}}, blower=blower)
    told = diagnose(case, knowledge, show_steps=False)
    path = told.posterior.path
    assert path is not None
    moments = path.moments(frozenset(CAUSES))
    assert moments.speed.value < moments.motor.value - 0.05 < 0.95, "the motor is slow, and the wheel loses more"
    found = system_of(path, moments, knowledge, told.plate)
    speeds = {
        which: repaired(found, path, moments, which, knowledge).fan.speed
        for which in (("capacitor-weak",), ("wheel-dirty",), CAUSES)
    }
    assert speeds[CAUSES] == 1.0
    assert speeds["capacitor-weak",] == pytest.approx(found.fan.speed / moments.motor.value)
    assert speeds["wheel-dirty",] == pytest.approx(found.fan.speed * moments.motor.value / moments.speed.value)
