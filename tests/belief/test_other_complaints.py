"""Complaints that are no opened limit: what was measured of heat and air speaks for their causes too, and the root need
not be what makes it hot."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from causebook.belief.verdict import Role
from causebook.casefile.model import Case
from causebook.diagnosis import diagnose
from causebook.knowledge.model import Knowledge

PLATE = {
    "kind": "non-condensing",
    "input": "100000 Btu/h",
    "output": "80000 Btu/h",
    "rise": "40 to 70 degF",
    "static maximum": "0.5 inH2O",
    "counted as external": ["return", "filter", "coil", "supply"],
    "manifold": "3.5 inH2O",
    "inlet range": "4.5 to 10.5 inH2O",
}
COOL = {"supply-air": "98 degF", "return-air": "62 degF", "meter-time": "115 s"}


def root_of(case: Case, knowledge: Knowledge) -> str:
    (root,) = diagnose(case, knowledge, show_steps=False).verdict.with_role(Role.ROOT)
    assert root.root_chance > 0.85
    return root.id


@pytest.mark.parametrize(
    ("gas", "root"),
    [
        ({"manifold": "1.6 inH2O", "gas-inlet-all-on": "6.8 inH2O"}, "manifold-low"),
        ({"manifold": "1.6 inH2O", "gas-inlet-all-on": "2.1 inH2O"}, "gas-supply-low"),
    ],
)
def test_too_little_gas_is_the_root_of_too_little_heat(
    gas: dict[str, str], root: str, knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    case = make_case({"read": COOL}, {"read": gas}, family="low-heat", furnace=PLATE)
    assert root_of(case, knowledge) == root


def test_a_filter_that_takes_much_is_the_root_of_its_whistle(
    knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    seen = {
        "whistle-at-filter": "yes",
        "after-filter-change": "yes",
        "filter-dirty": "no",
        "hiss-at-registers": "no",
        "return-grille-covered": "no",
    }
    taps = {
        "tap-before-filter": "-0.10 inH2O",
        "tap-after-filter": "-0.52 inH2O",
        "tap-before-coil": "0.22 inH2O",
        "tap-after-coil": "0.08 inH2O",
        "supply-air": "125 degF",
        "return-air": "68 degF",
    }
    assert root_of(make_case({"seen": seen}, {"read": taps}, family="noise"), knowledge) == "filter-too-restrictive"


def test_an_open_limit_found_on_another_complaint_is_still_explained(
    knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    """Whatever was complained of, a limit seen to open by heat is an event that the air must account for."""
    hot: dict[str, Any] = {"read": {"supply-air": "150 degF", "return-air": "68 degF", "meter-time": "93.2 s"}}
    loose, opened = ({"seen": {"limit-opened-while-watched": said}} for said in ("no", "yes"))
    belief = [
        diagnose(make_case(hot, step, family="noise"), knowledge, show_steps=False).posterior.through is not None
        for step in (loose, opened)
    ]
    assert belief == [False, True]
