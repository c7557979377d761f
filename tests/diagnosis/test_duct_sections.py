"""A return's narrowest section speaks as it was measured: how far from usual, not only under or over the code's floor.

The code's floor (2 in² for every 1000 Btu/h of output) is from memory of the mechanical code; the rest is arithmetic.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from causebook.casefile.model import Case
from causebook.diagnosis.diagnose import diagnose
from causebook.diagnosis.foreseen import errors_of, foreseen
from causebook.knowledge.model import Knowledge

NARROW = {"read": {"return-air": "68 degF", "room-temperature": "68 degF", "supply-air": "148 degF",
                   "meter-time": "93.2 s", "tap-before-filter": "-0.40 inH2O", "tap-after-filter": "-0.50 inH2O",
                   "tap-before-coil": "0.20 inH2O", "tap-after-coil": "0.09 inH2O"},
          "seen": {"limit-fault-stored": "yes"}}


def undersized(make_case: Callable[..., Case], knowledge: Knowledge, section: str) -> float:
    """Odds that the return is too small rather than covered."""
    told = diagnose(make_case(NARROW, {"read": {"smallest-return-section": section}}), knowledge, show_steps=False)
    belief = told.posterior.marginal
    return belief["return-undersized"] / belief["return-blocked"]


def test_the_wider_the_section_the_less_it_is_too_small(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    odds = [undersized(make_case, knowledge, f"{area} in^2") for area in (90, 120, 150, 190, 240, 300)]
    assert odds == sorted(odds, reverse=True)
    # All of the last four are over the floor of 128 in², and still speak differently.
    assert odds[2] > 3 * odds[5]


def test_the_section_foreseen_is_that_of_its_drop(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    """A duct with f times the drop at the same airflow has 1/√f of the area (Darcy-Weisbach at one friction factor)."""
    path = diagnose(make_case(NARROW), knowledge, show_steps=False).posterior.path
    assert path is not None
    errors = errors_of(knowledge)
    usual, small = (foreseen(path, frozenset(s), errors)["section"] for s in ((), ("return-undersized",)))
    factor = knowledge.causes["return-undersized"].effects[0].factor
    assert usual.value == 0
    assert np.exp(small.value) == pytest.approx(factor ** -0.5)
    assert small.sd > usual.sd == knowledge.constants["return-section-spread"].value
