"""What a physical model of a machine is asked by the belief, which itself knows no machine.

A model weighs what was read under every set of causes.  The next guests need no more than this: a class that draws or
computes its machine under a set of causes and says these five things of it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from causebook.belief.arrays import Array
from causebook.belief.verdict import Expected, WhatIf


@dataclass(frozen=True, slots=True)
class Repair:
    """What putting right one cause of a set would do, as shares of what may be the machine."""

    root: float
    """Share in which it is the root: the repair that restores and wins most, or the most where none restores."""
    does: float
    """Share in which naming it is right: it restores alone, or none does and it wins nearly as much as the best."""
    restores: float
    """Share in which it alone ends the complaint."""


@dataclass(frozen=True, slots=True)
class Foreseen:
    """What a reading not yet taken would show, as a mean and spread that hold its instrument's error."""

    mean: float
    spread: float


class Share(Protocol):
    """What correcting one cause of a set alone would bring, by a model of a sequence."""

    ends: float
    """Chance that it ends the complaint."""
    share: float
    """Share of what all repairs of the set win."""


class Ahead(Protocol):
    """What is still to be seen of a sequence under some sets of causes."""

    def present(self, finding: str) -> Array | None:
        """Chance that a finding is there, by set; None where the sequence does not decide it."""

    def comes_to(self, stage: str) -> Array:
        """Chance that it gets as far as a stage, by set."""


class Followed(Protocol):
    """What a model of a sequence (the start of a furnace) makes of the record, set by set of causes."""

    log_likelihood: Array
    """(sets,) of everything it weighed, up to one common constant."""

    @property
    def findings(self) -> frozenset[str]:
        """Findings it has weighed: the noisy-OR does not count them again."""

    @property
    def disproved(self) -> Mapping[str, str]:
        """Cause -> what proves that it is not there."""

    def ahead(self, places: Sequence[int]) -> Ahead:
        """What is still to be seen under several sets, given the record."""

    def repairs_of(self, places: Sequence[int]) -> Sequence[Mapping[str, Share]]:
        """For each of several sets: cause -> what correcting it alone would bring."""


class Told(Protocol):
    """What one model makes of the evidence, set by set of causes; arrays are (sets,), likelihoods up to one factor."""

    @property
    def through(self) -> Array:
        """Likelihood of everything read, with the complaint brought about by what the model knows."""

    @property
    def besides(self) -> Array:
        """The same with the complaint brought about by something the model does not know."""

    @property
    def calm(self) -> Array:
        """The same with no complaint brought about."""

    @property
    def whole(self) -> Array:
        """The same, whatever became of the complaint: for complaints that are no event of the model."""

    @property
    def weighed(self) -> frozenset[str]:
        """What findings are `physical` for that the model has weighed: they are not counted again."""

    def accounts(self, places: Sequence[int]) -> Array:
        """For some sets: share in which the machine would be sound with all of the set put right."""

    def repairs(self, place: int) -> Mapping[str, Repair]:
        """For one set: what putting right each of its causes would do; of those alone that the model knows."""

    def foresee(self, place: int) -> Mapping[str, Foreseen]:
        """For one set: what each kind of reading (what findings are `physical` for) would show."""

    def what_ifs(self, causes: Sequence[str], places: Sequence[int], chance: Array) -> tuple[WhatIf, ...]:
        """The machine as found, with each cause put right alone, and with all, over the likeliest sets."""

    def needed(self, root: str, others: Sequence[str], places: Sequence[int], chance: Array) -> WhatIf | None:
        """The smallest group of causes with the root in it whose repair together ends the complaint; None: no such."""

    def expected(self, causes: Sequence[str]) -> tuple[Expected, ...]:
        """What each suspect alone would have shown, beside what was read."""
