"""Sets of causes that may be present together, and how likely each is before anything is read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from causebook import quantity as qty
from causebook.belief.arrays import Array
from causebook.knowledge.model import Context, Knowledge

Facts = Mapping[str, str | float | bool]


@dataclass(frozen=True)
class Sets:
    """All sets of at most `most` causes; `members` is (sets, causes) of 0 and 1, `prior` sums to 1."""

    causes: tuple[str, ...]
    members: Array
    prior: Array

    def names(self, place: int) -> frozenset[str]:
        """One set as names."""
        return frozenset(self.causes[i] for i in np.flatnonzero(self.members[place]))

    def without(self, cause: str) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """(places of the sets that hold a cause, place of the set that lacks only it) one beside the other."""
        column = self.causes.index(cause)
        has = np.flatnonzero(self.members[:, column])
        less = self.members[has]
        less[:, column] = 0
        return has, np.array([self._place[row.tobytes()] for row in np.packbits(less > 0, axis=1)], dtype=np.int64)

    @cached_property
    def _place(self) -> dict[bytes, int]:
        return {row.tobytes(): place for place, row in enumerate(np.packbits(self.members > 0, axis=1))}


def holds(context: Context, facts: Facts) -> bool:
    """Does a fact of the equipment call this change of priors?  A fact not known calls nothing."""
    if context.fact not in facts:
        return False
    value = facts[context.fact]
    if context.is_ == "equal":
        return value == context.value
    limit = context.value
    number = qty.us(qty.parse(limit, qty.LENGTH), qty.LENGTH) if isinstance(limit, str) else float(limit)
    return float(value) < number if context.is_ == "below" else float(value) > number


def priors(knowledge: Knowledge, families: Sequence[str], facts: Facts) -> dict[str, float]:
    """Cause -> chance that it is materially present in a call of these families, after the facts of the plate."""
    chance = {c.id: max((c.priors.get(f, 0.0) for f in families), default=0.0) for c in knowledge.causes.values()}
    if knowledge.families[families[0]].starts:
        # Of a start all causes of a start are asked, whatever the call was filed under: where it ends tells them apart.
        starts = {f.id: f.starts for f in knowledge.families.values() if f.starts}
        for c in knowledge.causes.values():
            if any(f in c.priors for f in starts) and not (c.residual and not chance[c.id]):
                chance[c.id] = sum(share * c.priors.get(f, 0.0) for f, share in starts.items())
    for context in knowledge.context:
        if holds(context, facts):
            for cause, factor in context.factors.items():
                odds = chance.get(cause, 0.0) / (1 - chance.get(cause, 0.0)) * factor
                chance[cause] = odds / (1 + odds)
    return {cause: p for cause, p in chance.items() if p > 0 and not knowledge.causes[cause].underlying}


def sets_of(knowledge: Knowledge, chance: Mapping[str, float], most: int = 3) -> Sets:
    """Every set of at most `most` causes with its prior: independent switches, times the factors of known pairs."""
    causes = tuple(sorted(chance))
    count = len(causes)
    rows = [np.zeros((1, count))]
    for size in range(1, most + 1):
        picks = np.array(list(combinations(range(count), size)), dtype=int)
        if picks.size == 0:
            continue
        block = np.zeros((len(picks), count))
        np.put_along_axis(block, picks, 1.0, axis=1)
        rows.append(block)
    members = np.concatenate(rows)
    p = np.array([chance[c] for c in causes])
    log_prior = members @ np.log(p) + (1 - members) @ np.log1p(-p)
    where = {c: i for i, c in enumerate(causes)}
    for pair in knowledge.pairs:
        if pair.first in where and pair.second in where:
            both = members[:, where[pair.first]] * members[:, where[pair.second]]
            log_prior = log_prior + both * np.log(pair.factor)
    prior = np.exp(log_prior - log_prior.max())
    return Sets(causes, members, prior / prior.sum())
