"""What was seen after a repair, as evidence of what was wrong before it.

The same machine is looked at again with some causes put right, if the repair took.  Gone after it: the cause was among
what was put right.  Still there: either the repair did not take, or the cause is another.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from causebook.belief.arrays import Array
from causebook.belief.cause_sets import Sets
from causebook.belief.noisy_or import NoisyOr, Seen
from causebook.casefile.model import Case
from causebook.knowledge.model import Knowledge, slug
from causebook.survey.survey import SEEN


@dataclass(frozen=True, slots=True)
class Again:
    """One round of looks after a repair."""

    right: frozenset[str]
    """Causes that were put right before it."""
    seen: tuple[Seen, ...]


def looks_after(case: Case, weighed: Collection[str], knowledge: Knowledge) -> tuple[Again, ...]:
    """The looks taken after repairs, without those that a model weighs as measured."""
    right: set[str] = set()
    rounds: dict[frozenset[str], dict[str, Seen]] = {}
    for step in case.steps:
        for part in step.step.changed:
            right |= put_right(part, knowledge)
        if step.step.after and right:
            now = rounds.setdefault(frozenset(right), {})
            for finding, said in step.seen.items():
                if knowledge.findings[finding].physical not in weighed or not knowledge.findings[finding].physical:
                    now[finding] = Seen(finding, SEEN[said], step.number)
    return tuple(Again(done, tuple(seen[f] for f in sorted(seen))) for done, seen in rounds.items() if seen)


def put_right(part: str, knowledge: Knowledge) -> frozenset[str]:
    """The causes that a change of a part puts right: those of the part, or with a repair of its name."""
    word = slug(part)
    return frozenset(
        c.id
        for c in knowledge.causes.values()
        if not c.residual and (c.part == word or c.part.endswith(f"-{word}") or word in c.remedies)
    )


def likelihood_after(rounds: Collection[Again], sets: Sets, knowledge: Knowledge, error: float) -> Array:
    """(sets,) likelihood of everything seen after repairs."""
    takes = knowledge.constants["repair-takes"].value
    out = np.ones(len(sets.prior))
    for again in rounds:
        gone = [n for n, c in enumerate(sets.causes) if c in again.right]
        if not gone:
            continue
        left = sets.members.copy()
        left[:, gone] = 0.0
        as_was = NoisyOr(knowledge, sets.causes, sets.members)
        as_new = NoisyOr(knowledge, sets.causes, left)
        both = [np.ones(len(sets.prior)), np.ones(len(sets.prior))]
        for one, _ in as_was.once_per_group(again.seen, sets.prior, error):
            both = [both[0] * as_new.likelihood(one, error), both[1] * as_was.likelihood(one, error)]
        out = out * (takes * both[0] + (1 - takes) * both[1])
    return out
