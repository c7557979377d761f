"""The heat-and-air model of a furnace: sizes, measured parts, slices in time, and what follows for the belief."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import made
from causebook.casefile.model import Case
from causebook.casefile.read import read_case
from causebook.diagnosis import diagnose
from causebook.equipment.furnace.air_path import PARTS, CleanPath
from causebook.equipment.furnace.blower import GENERIC_FAN, BlowerCurve
from causebook.equipment.furnace.evidence import Gauge
from causebook.equipment.furnace.heat_and_air import HeatAndAir
from causebook.equipment.furnace.likelihood import log_likelihood
from causebook.equipment.furnace.sizes import Piece, Range, sizes_of
from causebook.knowledge.loader import load
from causebook.knowledge.model import Knowledge

NOISE = 0.03
"""What the drawn furnaces leave uncertain of a belief."""
COMPLAINED: dict[str, Any] = {
    "read": {"return-air": "68 degF", "supply-air": "135 degF", "room-temperature": "68 degF"},
    "seen": {"limit-fault-stored": "yes"},
}


@pytest.fixture(scope="module")
def knowledge() -> Knowledge:
    return load()


@pytest.fixture(scope="module")
def case_of(knowledge: Knowledge) -> Callable[..., Case]:
    blower = {"motor": "split capacitor", "setting": "medium-high", "capacitor": "7.5 uF"}
    furnace = {**made.PLATE, "blower on delay": "30 s"}
    return lambda *steps: made.make_case(knowledge, *steps, blower=blower, furnace=furnace)


def believed(case: Case, knowledge: Knowledge, *causes: str) -> float:
    """Chance that any of these causes is present."""
    posterior = diagnose(case, knowledge, show_steps=False).posterior
    columns = [posterior.sets.causes.index(c) for c in causes]
    return float(posterior.chance @ (posterior.sets.members[:, columns].sum(axis=1) > 0))


SWEEPS = [
    (
        "limit-opened-at",
        ("198 degF", "180 degF", "160 degF", "140 degF", "118 degF", "100 degF"),
        ("limit-weak", "limit-wrong"),
    ),
    (
        "manifold",
        ("3.5 inH2O", "3.7 inH2O", "4.4 inH2O", "5.8 inH2O", "8.9 inH2O"),
        ("manifold-high", "regulator-high"),
    ),
    ("capacitor", ("7.5 uF", "7.0 uF", "6.4 uF", "5.7 uF", "4 uF"), ("capacitor-weak",)),
    ("blower-start-time", ("31 s", "60 s", "90 s", "120 s", "157 s"), ("fan-on-late",)),
]


@pytest.mark.parametrize(("reading", "values", "causes"), SWEEPS, ids=[s[0] for s in SWEEPS])
def test_more_extreme_is_never_believed_less(
    reading: str, values: tuple[str, ...], causes: tuple[str, ...], knowledge: Knowledge, case_of: Callable[..., Case]
) -> None:
    """From a sound part to the edge of what can be: belief that the part is off only rises, and ends settled."""
    chances = [believed(case_of(COMPLAINED, {"read": {reading: v}}), knowledge, *causes) for v in values]
    assert chances[0] < 0.1
    assert all(later >= earlier - NOISE for earlier, later in zip(chances, chances[1:], strict=False)), chances
    assert chances[-1] >= 0.9


def test_no_static_argues_with_the_meter_on_the_part(knowledge: Knowledge, case_of: Callable[..., Case]) -> None:
    """A capacitor at 5.7 of 7.5 µF is weak, whatever the static says; whether it is the root is another question."""
    static = {"read": {"tap-after-filter": "-0.60 inH2O", "tap-before-coil": "0.30 inH2O"}}
    case = case_of(COMPLAINED, static, {"read": {"capacitor": "5.7 uF"}})
    assert believed(case, knowledge, "capacitor-weak") >= 0.9


@pytest.fixture(scope="module")
def after_washing(knowledge: Knowledge) -> dict[str, float]:
    """Belief in a packed wheel, seen and washed, by how the furnace ran afterwards."""
    found = {
        "read": {"return-air": "69 degF", "supply-air": "146 degF"},
        "seen": {"limit-fault-stored": "yes", "wheel-dirty": "yes"},
    }
    ends = {
        "right": {
            "read": {"return-air": "70 degF", "supply-air": "126 degF"},
            "seen": {"limit-opened-while-watched": "no"},
        },
        "as before": {
            "read": {"return-air": "70 degF", "supply-air": "147 degF"},
            "seen": {"limit-opened-while-watched": "yes"},
        },
        "worse": {
            "read": {"return-air": "70 degF", "supply-air": "157 degF"},
            "seen": {"limit-opened-while-watched": "yes"},
        },
    }
    return {
        end: believed(
            made.make_case(knowledge, found, {"changed": {"wheel": "clean"}}, {"after": "repair", **seen}),
            knowledge,
            "wheel-dirty",
        )
        for end, seen in ends.items()
    }


def test_what_a_repair_did_is_evidence(after_washing: dict[str, float]) -> None:
    assert after_washing["right"] > after_washing["as before"] + 0.15
    assert after_washing["as before"] > after_washing["worse"] - NOISE
    assert after_washing["right"] > 0.7


def test_the_same_told_in_another_layout_is_the_same(knowledge: Knowledge, case_of: Callable[..., Case]) -> None:
    """Steps of one state joined, parted, and in another order."""
    taps = {"tap-before-filter": "-0.12 inH2O", "tap-after-filter": "-0.52 inH2O"}
    joined = case_of(
        {"read": {**COMPLAINED["read"], **taps}, "seen": {"limit-fault-stored": "yes", "filter-dirty": "yes"}}
    )
    parted = case_of({"seen": {"filter-dirty": "yes"}}, {"read": taps}, COMPLAINED)
    one, other = (diagnose(c, knowledge, show_steps=False).posterior.marginal for c in (joined, parted))
    assert one == pytest.approx(other, abs=0.01)


# ---------------------------------------------------------------- sizes

FAULT = Range(0.25, 3.0)
SOUND = Piece("filter", 0.3, (("loaded", FAULT), ("restrictive", Range(0.2, 1.8))))


def test_a_size_unmeasured_is_a_density_that_is_flat_between_its_bounds() -> None:
    sizes = sizes_of("filter", (SOUND,))
    step = sizes.grid[1] - sizes.grid[0]
    assert sizes.densities.sum(axis=1) * step == pytest.approx(1, abs=0.02)
    loaded = sizes.state_of(["loaded"])
    inside = sizes.density(np.linspace(1.2, 2.2, 6))[loaded]
    assert inside == pytest.approx(inside.mean(), rel=0.08)  # the grid ripples


def test_a_measurement_weighs_each_state_by_how_well_it_fits() -> None:
    """Bayes by hand: a sound part of spread 0.3 read at 1.5 ± 0.05 is five spreads off."""
    piece = Piece("filter", 0.3, SOUND.ranges, Gauge(1.5, 0.05), 0.01, 3.0)
    sizes = sizes_of("filter", (piece,))
    step = sizes.grid[1] - sizes.grid[0]
    whole = sizes.densities.sum(axis=1) * step
    none, loaded = whole[0], whole[sizes.state_of(["loaded"])]
    expected_loaded = 0.99 * 0.98 / (FAULT.most - FAULT.least) + 0.01 / 3
    assert none < 0.005 and loaded == pytest.approx(expected_loaded, rel=0.06)


@settings(max_examples=30, deadline=None)
@given(st.floats(0.3, 2.5))
def test_put_right_takes_the_fault_and_leaves_the_scatter(value: float) -> None:
    sizes = sizes_of("filter", (SOUND,))
    state = sizes.state_of(["loaded"])
    mended = sizes.put_right(np.array([value]), state, ["loaded"])[0]
    assert abs(mended) < 2.5 * SOUND.spread and mended < value
    assert sizes.put_right(np.array([value]), state, ["restrictive"])[0] == value


# ---------------------------------------------------------------- air path and blower


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(-1.0, 2.0), min_size=5, max_size=5), st.floats(-0.7, 0.2))
def test_the_blower_makes_what_the_path_asks_for(more: list[float], log_speed: float) -> None:
    """Fan laws: static over the square of speed is the table's at airflow over speed."""
    flow, static = GENERIC_FAN
    curve = BlowerCurve(flow * 0.5, static * 140.0)
    path = CleanPath(
        dict.fromkeys(PARTS, 25.0), dict.fromkeys(PARTS, 0.5), dict.fromkeys(PARTS, 1.9), frozenset({"inlet"})
    )
    x = {p: np.array([m]) for p, m in zip(PARTS, more, strict=True)}
    speed = np.array([log_speed])
    solved = path.solve(x, speed, curve, np.array([np.log(0.5)]))
    asked = path.asked(path.drops(x, solved), solved)
    assert curve.log_speed(solved, asked)[0] == pytest.approx(log_speed, abs=0.03)


def test_a_motor_that_holds_its_airflow_never_gives_more(knowledge: Knowledge) -> None:
    case = made.make_case(
        knowledge,
        {
            "read": {"return-air": "68 degF", "supply-air": "150 degF", "tap-after-filter": "-0.70 inH2O"},
            "seen": {"limit-fault-stored": "yes"},
        },
        motor="constant airflow",
        blower={
            "motor": "constant airflow",
            "setting": "set",
            "instructed setting": "set",
            "airflow setting": "1200 cfm",
        },
    )
    rows = diagnose(case, knowledge, show_steps=False).verdict.what_ifs
    assert rows and all(row.airflow is not None and row.airflow.to("cfm").magnitude <= 1200 * 1.12 for row in rows)


def test_what_heat_opened_and_what_it_did_not_are_drawn_in_proportion(knowledge: Knowledge) -> None:
    """Against the same two likelihoods summed evenly over all that the limit's body may be.

    In this case nothing else decides whether heat opened the limit.  The bounds leave room for 1,024 furnaces; with
    moves of many numbers at once alone the ratio is an eighth.
    """
    case, _ = read_case(Path(__file__).parents[1] / "sizing" / "cases" / "short-of-return", knowledge)
    assert case is not None
    told = diagnose(case, knowledge, show_steps=False).posterior.told
    assert isinstance(told, HeatAndAir)
    sample = told.weighing.sample
    drawn = (sample.by_heat * sample.furnaces.event).mean() / sample.otherwise.mean()
    drawn_by = log_likelihood(sample.furnaces)[0] - np.log(sample.by_heat)
    heat = other = 0.0
    for body in np.linspace(*told.setup.body, 41):
        there = replace(sample.furnaces, body=np.full_like(sample.furnaces.body, body))
        by_heat, otherwise = log_likelihood(there)
        heat += float((np.exp(by_heat - drawn_by) * there.event).mean())
        other += float(np.exp(otherwise - drawn_by).mean())
    assert 0.4 < drawn / (heat / other) < 2.5


def test_a_step_without_news_for_the_model_asks_it_nothing(
    knowledge: Knowledge, case_of: Callable[..., Case], monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []

    class Counted(HeatAndAir):
        def __init__(self, *given: Any) -> None:
            asked.append(given)
            super().__init__(*given)

    monkeypatch.setattr("causebook.diagnosis.HeatAndAir", Counted)
    news, none = {"read": {"tap-before-filter": "-0.36 inH2O"}}, {"seen": {"gas-smell": "no"}}
    counts = []
    for steps in ([COMPLAINED, none], [COMPLAINED, news]):
        asked.clear()
        diagnose(case_of(*steps), knowledge)
        counts.append(len(asked))
    # Once for the end, and once for each step that brought a reading.
    assert counts == [2, 3]
