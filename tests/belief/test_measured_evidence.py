"""Nothing that was measured is lost on its way into the belief, whatever the furnace has and wherever it was read."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from causebook.casefile.model import Case
from causebook.diagnosis import diagnose
from causebook.knowledge.model import Knowledge

FIRE: dict[str, Any] = {
    "read": {"return-air": "68 degF", "supply-air": "150 degF", "meter-time": "93.15 s"},
    "seen": {"limit-fault-stored": "yes"},
}
DRAWN = 0.18
"""Two layouts are drawn anew: 1,024 furnaces leave each belief uncertain by some 0.05, and two hoses at once have one
meter's error where two taps have two.  A reading lost on its way moves the belief by more (the test above)."""
COILS = {"with a coil": {"cooling": "3 ton"}, "without": {"none": True}}


def belief(case: Case, knowledge: Knowledge, cause: str) -> float:
    return diagnose(case, knowledge, show_steps=False).posterior.marginal[cause]


@pytest.mark.parametrize("coil", COILS.values(), ids=COILS)
@pytest.mark.parametrize("opened", ["opened after the furnace", "opened after the coil"])
def test_opening_the_supply_speaks_with_and_without_a_coil(
    coil: dict[str, Any], opened: str, knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    def after(supply: str | None) -> float:
        step = {"with": {"supply": opened}, "read": {"return-air": "68 degF", "supply-air": supply}}
        return belief(make_case(FIRE, *([step] if supply else []), coil=coil), knowledge, "supply-blocked")

    unopened = after(None)
    assert after("115 degF") > 2 * unopened, "the rise falls"
    assert after("149 degF") < 0.7 * unopened, "nothing changes"


@pytest.mark.parametrize(("part", "cause"), [("filter", "filter-loaded"), ("coil", "coil-plugged")])
def test_a_drop_read_across_a_part_speaks(
    part: str, cause: str, knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    unread = belief(make_case(FIRE), knowledge, cause)
    low, high = (
        belief(make_case(FIRE, {"read": {f"drop-across-{part}": f"{drop} inH2O"}}), knowledge, cause)
        for drop in (0.08, 0.55)
    )
    assert low < 0.5 * unread < unread < high


@pytest.mark.parametrize("drop", [0.10, 0.30, 0.50])
@pytest.mark.parametrize("kept", ["tap-before-filter", "tap-after-filter"])
def test_across_the_filter_or_tap_by_tap_is_the_same_reading(
    drop: float, kept: str, knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    """One tap beside the filter and the drop across it tell where the other tap stands."""
    taps = {"tap-before-filter": "-0.15 inH2O", "tap-after-filter": f"{-0.15 - drop:.2f} inH2O"}
    across = {kept: taps[kept], "drop-across-filter": f"{drop} inH2O"}
    for cause in ("filter-loaded", "filter-too-restrictive", "return-undersized"):
        by_tap, by_drop = (belief(make_case(FIRE, {"read": read}), knowledge, cause) for read in (taps, across))
        assert by_drop == pytest.approx(by_tap, abs=DRAWN)


def test_the_coil_by_difference_too(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    taps = {"tap-before-coil": "0.50 inH2O", "tap-after-coil": "0.10 inH2O"}
    across = {"tap-before-coil": "0.50 inH2O", "drop-across-coil": "0.40 inH2O"}
    by_tap, by_drop = (belief(make_case(FIRE, {"read": read}), knowledge, "coil-plugged") for read in (taps, across))
    assert by_drop == pytest.approx(by_tap, abs=DRAWN)


def test_taps_go_before_a_drop_read_across(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    taps = {"tap-before-filter": "-0.15 inH2O", "tap-after-filter": "-0.30 inH2O"}
    both = taps | {"drop-across-filter": "0.70 inH2O"}
    assert belief(make_case(FIRE, {"read": both}), knowledge, "filter-loaded") == pytest.approx(
        belief(make_case(FIRE, {"read": taps}), knowledge, "filter-loaded"), abs=1e-9
    )


def test_what_speaks_for_a_cause_is_no_reason_to_strike_it_out(
    knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    case = make_case(FIRE, {"seen": {"board-output-missing": "yes", "no-volts-at-blower-lead": "yes"}})
    told = diagnose(case, knowledge, show_steps=False).verdict
    for cause in told.causes:
        if cause.role == "not it":
            assert ": yes" not in cause.why, cause
