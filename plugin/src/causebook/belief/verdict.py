"""What a diagnosis yields: belief over causes, roles, weight of each step, what each suspect predicted, what next."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from causebook.casefile.model import Outcome
from causebook.knowledge.model import WayOn
from causebook.quantity import Kind, Quantity
from causebook.survey.model import State


class Belief(StrEnum):
    """Words for a probability; the limits are constants of the knowledge."""

    RULED_OUT = "ruled out"
    UNLIKELY = "unlikely"
    POSSIBLE = "possible"
    LIKELY = "likely"
    SETTLED = "settled"


class Role(StrEnum):
    """Place in the story."""

    ROOT = "root"
    UNDERLYING = "underlying"
    HELPED_BY = "helped by"
    DAMAGE = "damage done"
    ALSO_FOUND = "also found"
    NOT_IT = "not it"
    OPEN = "open"
    """Neither believed nor ruled out."""


@dataclass(frozen=True, slots=True)
class CauseBelief:
    """One cause: how far it is believed, its role and why."""

    id: str
    name: str
    probability: float
    belief: Belief
    role: Role
    why: str
    root_chance: float = 0.0
    """Chance that it is the root, over all that may be present; the probability is that it is there at all."""
    restores_chance: float = 0.0
    """Chance that correcting it alone would do; of several causes each may."""


@dataclass(frozen=True, slots=True)
class SetBelief:
    """One set of causes present together, and its probability."""

    causes: tuple[str, ...]
    probability: float


@dataclass(frozen=True, slots=True)
class Weight:
    """How much one piece of evidence spoke for or against one suspect, in decibans (10·log10 of the ratio)."""

    cause: str
    decibans: float


@dataclass(frozen=True, slots=True)
class Spoke:
    """One finding that a step settled or changed, in words."""

    finding: str
    state: State
    text: str
    """"filter takes 0.27 in. w.c., looked at above 0.20 in. w.c.", or its name and yes or no."""


@dataclass(frozen=True, slots=True)
class StepWeight:
    """What one step did to the belief."""

    step: int
    did: str
    evidence: tuple[Spoke, ...]
    """Findings that spoke, the most telling first."""
    weights: tuple[Weight, ...]
    """For each suspect shown."""
    after: Mapping[str, float]
    """Cause id -> probability after this step."""


@dataclass(frozen=True, slots=True)
class Expected:
    """What one suspect alone would have produced in one reading, beside what was read."""

    cause: str
    reading: str
    name: str
    low: Quantity
    high: Quantity
    read: Quantity | None
    kind: Kind
    fits: bool | None


@dataclass(frozen=True, slots=True)
class WhatIf:
    """The furnace with only one thing changed (or a stated combination)."""

    change: str
    repairs: tuple[str, ...]
    """Cause ids repaired."""
    airflow: Quantity | None
    rise: Quantity | None
    limit_margin: Quantity | None
    """Marking less limit-body temperature; negative: it opens."""
    trips: bool | None
    in_range: bool | None
    restores: bool | None
    note: str = ""


@dataclass(frozen=True, slots=True)
class NextTest:
    """A test worth doing next."""

    id: str
    name: str
    minutes: float
    risk: str
    information: float
    """Expected information about the causes [bit]."""
    reason: str
    licensed: bool = False
    again: bool = False
    """Does it rest on a second look at what was seen before?"""


@dataclass(frozen=True, slots=True)
class Verdict:
    """The answer of the core, with everything needed to show how it came about."""

    outcome: Outcome
    answered: bool
    """Is one root believed beyond the stated limit?"""
    causes: tuple[CauseBelief, ...]
    """Most believed first."""
    sets: tuple[SetBelief, ...]
    decided_by: str
    """The one finding or reading that told most, in a sentence."""
    steps: tuple[StepWeight, ...]
    expected: tuple[Expected, ...]
    what_ifs: tuple[WhatIf, ...]
    next_tests: tuple[NextTest, ...]
    would_settle: tuple[str, ...]
    """When undetermined: what would settle it."""
    proven_good: tuple[str, ...]
    """What was proven good, and by what."""
    limit_margin: Quantity | None = None

    def cause(self, id_: str) -> CauseBelief | None:
        """One cause's belief by id."""
        return next((c for c in self.causes if c.id == id_), None)

    def with_role(self, role: Role) -> tuple[CauseBelief, ...]:
        """The causes in one role, most believed first."""
        return tuple(c for c in self.causes if c.role is role)


@dataclass(frozen=True, slots=True)
class StopNotice:
    """A stop that fired: a rule outside all probabilities."""

    id: str
    name: str
    notice: str
    do: str
    because: str
    """The reading or observation that fired it."""
    step: int
    out_of_service: bool
    open: bool
    """Not yet ended by a recorded correction."""
    closed_by: str = ""
    suspected: bool = False
    """Fired by a cause believed likely, and by nothing that was read or seen."""
    technician: str = ""
    """What the technician does besides."""
    leave: bool = False
    """Everybody leaves: nothing is proposed while it is open."""
    way_on: WayOn | None = None
