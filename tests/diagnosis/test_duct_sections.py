"""A duct's narrowest section speaks as it was measured: how far from usual, not only under or over the code's floor.

The code's floor (2 in² for every 1000 Btu/h of output, return and supply alike) is that of the Chicago mechanical code
on forced-air furnaces; the rest is arithmetic.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from causebook.diagnosis.airpath_belief import PathBelief
from causebook.diagnosis.foreseen import errors_of, foreseen

from causebook.casefile.model import Case
from causebook.diagnosis import diagnose
from causebook.equipment.furnace.evidence import Evidence
from causebook.equipment.furnace.from_survey import evidence_of
from causebook.knowledge.model import Knowledge
from causebook.survey.survey import survey


def fired(**taps: str) -> dict[str, Any]:
    """A first fire on 80,000 Btu/h with these pressures."""
    return {
        "read": {
            "return-air": "68 degF",
            "room-temperature": "68 degF",
            "supply-air": "148 degF",
            "meter-time": "93.2 s",
            **{f"tap-{name.replace('_', '-')}": p for name, p in taps.items()},
        },
        "seen": {"limit-fault-stored": "yes"},
    }


NARROW = {
    "return": fired(
        before_filter="-0.40 inH2O", after_filter="-0.50 inH2O", before_coil="0.20 inH2O", after_coil="0.09 inH2O"
    ),
    "supply": fired(
        before_filter="-0.05 inH2O", after_filter="-0.15 inH2O", before_coil="0.56 inH2O", after_coil="0.43 inH2O"
    ),
}
SIDES = tuple(NARROW)


def undersized(side: str, section: str, make_case: Callable[..., Case], knowledge: Knowledge) -> float:
    """Odds that one side's ducts are too small rather than covered or shut."""
    case = make_case(NARROW[side], {"read": {f"smallest-{side}-section": section}})
    belief = diagnose(case, knowledge, show_steps=False).posterior.marginal
    return belief[f"{side}-undersized"] / belief[f"{side}-blocked"]


@pytest.mark.parametrize("side", SIDES)
def test_the_wider_the_section_the_less_it_is_too_small(
    side: str, knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    odds = [undersized(side, f"{area} in^2", make_case, knowledge) for area in (90, 120, 150, 190, 240, 300)]
    assert odds == sorted(odds, reverse=True)
    # All of the last four are over the floor of 128 in², and still speak differently.
    assert odds[2] > 3 * odds[5]


@pytest.mark.parametrize(("side", "other"), [SIDES, SIDES[::-1]])
def test_a_section_speaks_of_its_own_side(
    side: str, other: str, knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    """What is narrow on the other side says hardly anything of whether this side is narrow or shut: only that a furnace
    too large for both is the likelier, or the less so."""
    speaks = {}
    for read in (side, other):
        odds = []
        for area in ("110 in^2", "240 in^2"):
            case = make_case(NARROW[side], {"read": {f"smallest-{read}-section": area}})
            belief = diagnose(case, knowledge, show_steps=False).posterior.marginal
            odds.append(belief[f"{side}-undersized"] / belief[f"{side}-blocked"])
        speaks[read] = abs(np.log(odds[0] / odds[1]))
    assert speaks[other] < 0.2 * speaks[side]


@pytest.mark.parametrize("side", SIDES)
def test_the_section_foreseen_is_that_of_its_drop(
    side: str, knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    """A duct with f times the drop at the same airflow has 1/√f of the area (Darcy-Weisbach at one friction factor)."""
    path = diagnose(make_case(NARROW[side]), knowledge, show_steps=False).posterior.path
    assert path is not None
    errors = errors_of(knowledge)
    usual, small = (foreseen(path, frozenset(s), errors)[f"{side}-section"] for s in ((), (f"{side}-undersized",)))
    factor = knowledge.causes[f"{side}-undersized"].effects[0].factor
    assert usual.value == 0
    assert np.exp(small.value) == pytest.approx(factor**-0.5)
    assert small.sd > usual.sd == knowledge.constants["section-spread"].value


def test_measuring_the_supply_is_proposed_while_shut_or_small_is_open(
    knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    told = [
        diagnose(make_case(NARROW["supply"], *more), knowledge, show_steps=False).verdict.next_tests
        for more in ((), ({"read": {"smallest-supply-section": "200 in^2"}},))
    ]
    before, after = ({t.id: t.information for t in tests} for tests in told)
    assert before["measure-supply"] > 0.1
    assert "measure-supply" not in after, "read once, it is not asked for again"


def test_ducts_listed_in_the_case_file_speak_like_a_tape(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    """The same area, listed as a duct or read as a section; what is listed is known a little less well."""
    read = make_case(NARROW["return"], {"read": {"smallest-return-section": "224 in^2"}})
    listed = make_case(NARROW["return"], **{"return": [{"what": "return trunk", "size": "16 x 14 in"}]})
    belief = [diagnose(c, knowledge, show_steps=False).posterior.marginal["return-undersized"] for c in (read, listed)]
    assert belief[0] == pytest.approx(belief[1], abs=0.03)
    sections = [evidence_of(c, survey(c, knowledge), knowledge).sections["return"] for c in (read, listed)]
    assert sections[0].value == pytest.approx(sections[1].value)
    assert sections[0].sd < sections[1].sd


@pytest.mark.parametrize(("side", "together"), [("return", 3.0 * 1.9), ("supply", 2.6)])
def test_two_causes_narrow_a_duct_as_they_add_to_its_drop(side: str, together: float, knowledge: Knowledge) -> None:
    causes = ["furnace-too-big-for-ducts", f"{side}-undersized"]
    path = PathBelief(Evidence(sensible=1206.0, rated_airflow=0.55), knowledge, causes)
    state = path.states[side].index(causes)
    section, _ = path.plate.section(side, np.ones((1, 2)), causes)
    assert np.exp(path.states[side].mean[state]) == pytest.approx(together)
    assert np.exp(-2 * section[0]) == pytest.approx(together)
