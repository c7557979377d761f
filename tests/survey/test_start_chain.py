"""What meters tell of a start that does not come about: each device is judged by what reached it.

A closed contact drops next to nothing, an open one stands under the whole voltage of its circuit (Kirchhoff's voltage
law); the rest is common practice, no source.
"""

from __future__ import annotations

import pytest

from causebook.diagnosis import diagnose
from causebook.survey.survey import survey
from survey.small import KNOWN, case, step

PLATE = {"inlet_range": "4.5 to 10.5 inH2O", "pressure_switch": {"closes": "-0.60 inH2O"}}


def chance(finding: str, read: dict[str, str]) -> float | None:
    found = survey(case([step(1, read)], family="no-ignition", plate=PLATE), KNOWN).finding(finding)
    return None if found is None else found.probability


@pytest.mark.parametrize(
    ("device", "safety"),
    [
        ("auxiliary-limit", True),
        ("rollout-switch", True),
        ("vent-switch", True),
        ("pressure-switch", False),
        ("fuse", False),
        ("door-switch", False),
        ("limit", False),
    ],
)
def test_only_a_safety_of_the_string_is_another_safety(device: str, safety: bool):
    told = chance("other-device-open", {f"volts-across-{device}": "25.4 V"})
    assert (told is not None and told > 0.9) is safety


def test_an_open_fuse_takes_the_control_voltage_away():
    assert chance("control-volts-missing", {"secondary-volts": "25.5 V", "volts-across-fuse": "25.4 V"}) > 0.9
    assert chance("control-volts-missing", {"volts-across-fuse": "25.4 V"}) > 0.9
    assert chance("control-volts-missing", {"secondary-volts": "25.5 V", "volts-across-fuse": "0.0 V"}) < 0.1
    assert chance("control-volts-missing", {"secondary-volts": "0.2 V", "volts-across-fuse": "0.0 V"}) > 0.9


@pytest.mark.parametrize(
    ("suction", "volts", "told"),
    [("-0.95 inH2O", "25.3 V", "open"), ("-0.95 inH2O", "0.1 V", "closed"), ("-0.35 inH2O", "25.3 V", "does its duty")],
)
def test_a_pressure_switch_is_judged_only_at_enough_suction(suction: str, volts: str, told: str):
    found = chance("switch-open-with-suction", {"suction-at-start": suction, "volts-across-pressure-switch": volts})
    assert {None: "does its duty"}.get(found, "open" if found and found > 0.9 else "closed") == told


def test_too_little_gas_at_rest_is_too_little():
    assert chance("gas-inlet-low", {"gas-inlet-at-rest": "0.1 inH2O"}) > 0.9
    assert chance("gas-inlet-low", {"gas-inlet-at-rest": "7.0 inH2O"}) is None
    assert chance("gas-inlet-low", {"gas-inlet-at-rest": "7.0 inH2O", "gas-inlet-all-on": "2.2 inH2O"}) > 0.9


def test_current_at_the_start_speaks_where_no_steady_one_was_read():
    assert chance("flame-current-low", {"flame-current-at-start": "0.2 uA"}) > 0.9
    assert chance("flame-current-low", {"flame-current-at-start": "0.2 uA", "flame-current": "4.0 uA"}) < 0.1


def test_an_inducer_without_volts_points_at_the_board_and_not_at_the_vent():
    def suspects(read: dict[str, str]) -> dict[str, float]:
        return diagnose(
            case([step(1, read)], family="pressure-switch", plate=PLATE), KNOWN, show_steps=False
        ).posterior.marginal

    # A blocked vent leaves some suction; an inducer that stands still leaves none.
    weak = suspects({"suction-at-start": "-0.30 inH2O"})
    dead = suspects({"suction-at-start": "0.00 inH2O", "inducer-volts": "0.0 V"})
    assert weak["vent-blocked"] > weak["board-failed"] and dead["board-failed"] > 5 * weak["board-failed"]


@pytest.mark.parametrize(
    ("end", "cause", "other"),
    [
        ("nothing-starts", "low-voltage-open", "igniter-open"),
        ("no-ignition-after-inducer", "igniter-open", "gas-valve-no-open"),
        ("no-flame-after-ignition", "gas-valve-no-open", "igniter-open"),
    ],
)
def test_where_a_start_ends_tells_its_causes_apart(end: str, cause: str, other: str):
    def chances(seen: dict[str, str]) -> tuple[float, float]:
        told = diagnose(case([step(1, {}, seen)], family="no-ignition"), KNOWN, show_steps=False).posterior.marginal
        return told[cause], told[other]

    # As products: where the start ends may rule the other cause out, and then there are no odds to take.
    before, after = chances({}), chances({end: "yes"})
    assert before[1] > 0 and after[0] * before[1] > 2.5 * before[0] * after[1]


def test_an_empty_fault_memory_says_nothing_of_a_complaint_that_is_no_limit():
    def suspects(*steps) -> dict[str, float]:
        told = diagnose(case(steps or [step(1)], family="pressure-switch"), KNOWN, show_steps=False)
        return told.posterior.marginal

    asked = suspects(step(1, {}, {"limit-fault-stored": "no"}))
    assert asked["vent-blocked"] == pytest.approx(suspects()["vent-blocked"], rel=0.1)
