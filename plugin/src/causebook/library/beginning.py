"""What to read first on a complaint, before anything is known and where no past case is like it."""

from __future__ import annotations

import math
from collections.abc import Mapping

from causebook.knowledge.model import Cause, Knowledge, Test
from causebook.library.likeness import chances


def causes_of(family: str, knowledge: Knowledge) -> list[Cause]:
    """The causes of a complaint, the most frequent first."""
    known = [cause for cause in knowledge.causes.values() if family in cause.priors and not cause.residual]
    return sorted(known, key=lambda cause: (-cause.priors[family], cause.id))


def first_tests(family: str, knowledge: Knowledge, count: int = 5) -> tuple[Test, ...]:
    """The tests to begin with: those that always come first, then by what they tell a minute.

    What a test tells is the mutual information [bit] of its most telling finding and the cause, were one cause alone
    at work (Shannon 1948; from memory).  Without a complaint only those that always come first are given.
    """
    shares = {cause.id: cause.priors[family] for cause in causes_of(family, knowledge)}
    chance = {id_: chances(id_, knowledge) for id_ in shares}

    def told(test: Test) -> float:
        return max((_bits(shares, {id_: of[f] for id_, of in chance.items()}) for f in test.reveals), default=0.0)

    first = {test.id for test in knowledge.tests.values() if test.first}
    open_ = [
        test
        for test in knowledge.tests.values()
        if test.first
        or shares
        and not test.licensed
        and first.issuperset(test.needs)
        and (not test.families or family in test.families)
    ]
    return tuple(sorted(open_, key=lambda test: (not test.first, -told(test) / test.minutes, test.id))[:count])


def _bits(shares: Mapping[str, float], chance: Mapping[str, float]) -> float:
    """Mutual information of a finding and the cause, from the causes' shares and its chance under each."""
    whole = sum(shares.values()) or 1.0
    mean = sum(share * chance[id_] for id_, share in shares.items()) / whole
    return _entropy(mean) - sum(share * _entropy(chance[id_]) for id_, share in shares.items()) / whole


def _entropy(chance: float) -> float:
    return -sum(p * math.log2(p) for p in (chance, 1 - chance) if p > 0)
