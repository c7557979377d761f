"""What to read first on a complaint, before anything is known and where no past case is like it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

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


@dataclass(frozen=True, slots=True)
class Fit:
    """A cause that fits what is known, and the look that would tell."""

    cause: Cause
    share: float
    """Its share among the causes of the knowledge, were one of them alone at work."""
    tells: str
    """The finding not looked for yet that speaks for it most; empty where none does."""


def best_fitting(family: str, findings: Mapping[str, bool], knowledge: Knowledge, count: int = 5) -> tuple[Fit, ...]:
    """The causes that fit what was found best, by Bayes' rule over the knowledge: one cause at a time.

    Without a complaint a cause counts as often as in all complaints together.
    """
    chance, share = {}, {}
    for cause in knowledge.causes.values():
        often = cause.priors.get(family, 0.0) if family else sum(cause.priors.values())
        if often > 0 and not cause.residual:
            chance[cause.id] = chances(cause.id, knowledge)
            share[cause.id] = often * math.prod(
                chance[cause.id][f] if present else 1 - chance[cause.id][f]
                for f, present in findings.items()
                if f in knowledge.findings
            )
    whole = sum(share.values()) or 1.0
    mean = {f: sum(share[c] * chance[c][f] for c in share) / whole for f in knowledge.findings}
    order = sorted(share, key=lambda c: (-round(share[c] / whole, 9), c))[:count]
    return tuple(
        Fit(knowledge.causes[c], share[c] / whole, _telling(knowledge.causes[c], findings, mean)) for c in order
    )


def _telling(cause: Cause, known: Mapping[str, bool], mean: Mapping[str, float]) -> str:
    """The finding not looked for yet that speaks for a cause most against the others that fit."""
    tells = {f: chance * math.log(chance / mean[f]) for f, chance in cause.links.items() if f not in known}
    return min((f for f in tells if tells[f] > 0), key=lambda f: (-round(tells[f], 9), f), default="")


def _bits(shares: Mapping[str, float], chance: Mapping[str, float]) -> float:
    """Mutual information of a finding and the cause, from the causes' shares and its chance under each."""
    whole = sum(shares.values()) or 1.0
    mean = sum(share * chance[id_] for id_, share in shares.items()) / whole
    return _entropy(mean) - sum(share * _entropy(chance[id_]) for id_, share in shares.items()) / whole


def _entropy(chance: float) -> float:
    return -sum(p * math.log2(p) for p in (chance, 1 - chance) if p > 0)
