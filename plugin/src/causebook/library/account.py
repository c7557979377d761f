"""What one case adds to the tallies: what its tests told, what was proven good, what was read, how long it took."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, fields
from typing import Any

import numpy as np

from causebook.belief.verdict import Role, StepWeight
from causebook.casefile.model import Case
from causebook.knowledge.model import Knowledge
from causebook.survey.model import State
from causebook.workup import Workup


@dataclass(frozen=True, slots=True)
class Account:
    """The counts of one case; nothing in it names a person or a place."""

    told: Mapping[str, float]
    """Test id -> how far its steps moved the suspects: mean of |weight of evidence| over them [decibans]."""
    suspected: tuple[str, ...]
    """Parts under suspicion: those for which the knowledge has a proof, and a cause that was root, helper or not it."""
    proven: tuple[str, ...]
    """Parts proven good."""
    read: tuple[str, ...]
    """Ids of the readings taken as found."""
    read_after: tuple[str, ...]
    """Ids of the readings taken after the repair."""
    minutes_to_root: float | None
    """Minutes of work until the root stood as likely for good; None where it never did, or minutes were not noted."""

    def as_json(self) -> dict[str, Any]:
        """The account as plain JSON data."""
        return asdict(self)

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Account:
        """The account back from its JSON; KeyError or TypeError when that is not one."""
        values = {f.name: data[f.name] for f in fields(cls)}
        lists = ("suspected", "proven", "read", "read_after")
        return cls(**values | {name: tuple(values[name]) for name in lists})


NOTHING = Account({}, (), (), (), (), None)
"""The account of a case that says nothing."""


def account_of(workup: Workup, roles: Mapping[str, tuple[str, ...]]) -> Account:
    """The account of one workup, given the roles under which the library lists its causes."""
    case, knowledge = workup.case, workup.knowledge
    looked_at = {c for role in (Role.ROOT, Role.HELPED_BY, Role.NOT_IT) for c in roles.get(role.value, ())}
    absent = {f.id for f in workup.survey.findings if f.state is State.ABSENT}
    return Account(
        told=_told(workup.verdict.steps, knowledge),
        suspected=_distinct(p.part for p in knowledge.proofs if looked_at & set(p.clears)),
        proven=_distinct(p.part for p in knowledge.proofs if p.holds(absent)),
        read=_distinct(t.reading for s in case.steps if not s.step.after for t in s.readings),
        read_after=_distinct(t.reading for s in case.steps if s.step.after for t in s.readings),
        minutes_to_root=_minutes(case, workup.verdict.steps, roles.get(Role.ROOT.value, ()), knowledge),
    )


def _told(steps: Iterable[StepWeight], knowledge: Knowledge) -> dict[str, float]:
    """A step counts for the test that yields most of what it found; the weights of a test's steps add up."""
    told: dict[str, float] = {}
    for step in steps:
        found = {spoke.finding for spoke in step.evidence}
        best = max(knowledge.tests.values(), key=lambda t: len(found & set(t.reveals)), default=None)
        if best is None or not found & set(best.reveals) or not step.weights:
            continue
        moved = float(np.mean([abs(w.decibans) for w in step.weights]))
        told[best.id] = round(told.get(best.id, 0.0) + moved, 2)
    return told


def _minutes(case: Case, steps: Iterable[StepWeight], roots: tuple[str, ...], knowledge: Knowledge) -> float | None:
    likely = knowledge.constants["likely-from"].value
    spent = {s.number: s.step.minutes for s in case.steps}
    clock: float = 0
    since: float | None = None
    for step in steps:
        took = spent.get(step.step)
        if took is None:
            return None
        clock += took
        stands = any(step.after.get(root, 0.0) >= likely for root in roots)
        since = (since if since is not None else clock) if stands else None
    return since


def _distinct(ids: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(ids))
