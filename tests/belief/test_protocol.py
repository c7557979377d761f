"""A second machine answers the protocol and the belief stays as it is: a toy that weighs two causes by one number."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import pytest

from causebook.belief.arrays import Array
from causebook.belief.cause_sets import Sets
from causebook.belief.next_test import Foresight
from causebook.belief.posterior import Reasoner
from causebook.belief.protocol import Foreseen, Repair
from causebook.belief.root_chance import root_chances
from causebook.knowledge.model import Knowledge

SHOWS = {"filter-loaded": 3.0, "coil-plugged": 1.0}
"""Toy machine: what one meter reads under each cause; 0 under none.  Error 0.5."""


class Toy:
    """One meter, two causes; putting right what it shows most of ends the complaint."""

    weighed: frozenset[str] = frozenset({"filter"})

    def __init__(self, sets: Sets, read: float) -> None:
        self.sets = sets
        self.shown = sets.members @ np.array([SHOWS.get(c, 0.0) for c in sets.causes])
        self.whole = np.exp(-0.5 * ((read - self.shown) / 0.5) ** 2)
        happens = (self.shown > 0).astype(float)
        self.through, self.calm, self.besides = self.whole * happens, self.whole * (1 - happens), self.whole

    def accounts(self, places: Sequence[int]) -> Array:
        return (self.shown[list(places)] > 0).astype(float)

    def repairs(self, place: int) -> Mapping[str, Repair]:
        here = [c for c in self.sets.names(place) if c in SHOWS]
        best = max(here, key=lambda c: SHOWS[c], default="")
        return {c: Repair(float(c == best), float(c == best), float(c == best)) for c in here}

    def foresee(self, place: int) -> Mapping[str, Foreseen]:
        return {"filter": Foreseen(float(self.shown[place]), 0.5)}


@pytest.mark.parametrize(("read", "cause"), [(3.0, "filter-loaded"), (1.0, "coil-plugged")])
def test_another_machine_decides_by_its_own_meter(read: float, cause: str, knowledge: Knowledge) -> None:
    reasoner = Reasoner(knowledge, ["high-limit"], {"coil": "fitted"})
    posterior = reasoner.believe(Toy(reasoner.sets, read), [])
    marginal = posterior.marginal
    assert marginal[cause] > 0.6 and max(marginal, key=lambda c: marginal[c]) == cause
    chances = root_chances(posterior, knowledge)
    assert max(chances.chance, key=lambda c: chances.chance[c]) == cause


def test_its_readings_are_foreseen_and_worth_what_they_tell(knowledge: Knowledge) -> None:
    reasoner = Reasoner(knowledge, ["high-limit"], {"coil": "fitted"})
    unread = Toy(reasoner.sets, 0.0)
    unread.whole = unread.through = unread.besides = np.ones_like(unread.whole)
    posterior = reasoner.believe(unread, [])
    ahead = Foresight(posterior, root_chances(posterior, knowledge).leads, {}, knowledge)
    assert ahead.tells("filter-drop-high") > 0.05
