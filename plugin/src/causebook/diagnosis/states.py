"""States of one unknown of the heat-and-air model: which causes act on it, and how severely."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from causebook.diagnosis.evidence import Array
from causebook.knowledge.model import Effect

#: Parts in which two causes at once are kept apart (their drops multiply); elsewhere the stronger hides the weaker.
PAIRED_PARTS = ("return", "filter")


@dataclass(frozen=True)
class States:
    """The states of one unknown: which causes act, and the log-normal severity they give it."""

    causes: tuple[frozenset[str], ...]
    mean: Array
    spread: Array

    def index(self, present: Iterable[str]) -> int:
        """The state of one set of causes."""
        acting = self._acting.intersection(present)
        if acting in self._place:
            return self._place[acting]
        names = sorted(acting)
        return int(self.index_many(np.ones((1, len(names))), names)[0])

    @cached_property
    def _place(self) -> dict[frozenset[str], int]:
        return {held: n for n, held in enumerate(self.causes)}

    @cached_property
    def _acting(self) -> frozenset[str]:
        return frozenset[str]().union(*self.causes)

    def index_many(self, members: Array, causes: Sequence[str]) -> NDArray[np.int64]:
        """The state of each set; of causes the states do not hold together, the strongest."""
        single = {next(iter(c)): i for i, c in enumerate(self.causes) if len(c) == 1}
        index = np.zeros(len(members), dtype=np.int64)
        for cause in sorted(single, key=lambda c: (abs(self.mean[single[c]]), c)):
            if cause in causes:
                index[members[:, causes.index(cause)] > 0] = single[cause]
        for i, pair in enumerate(self.causes):
            if len(pair) == 2 and all(c in causes for c in pair):
                first, second = sorted(pair)
                index[(members[:, causes.index(first)] > 0) & (members[:, causes.index(second)] > 0)] = i
        return index


def states_of(
    unknown: Iterable[str],
    effects: Mapping[str, Sequence[Effect]],
    normal: float,
    pairs: Literal["none", "all", "unlike"] = "none",
) -> States:
    """States of an unknown under the causes that act on it; `normal` is its log-spread with none of them.

    `pairs`: which two causes at once are kept apart; `unlike` are those that act in different ways.
    """
    names = tuple(unknown)
    acting = {cause: [e for e in found if e.on in names] for cause, found in effects.items()}
    acting = {cause: found for cause, found in acting.items() if found}
    subsets: list[tuple[str, ...]] = [(), *((c,) for c in acting)]
    ways = {cause: {e.on for e in found} for cause, found in acting.items()}
    if pairs != "none":
        subsets += [(a, b) for a, b in combinations(acting, 2) if pairs == "all" or ways[a] != ways[b]]
    means = [sum(np.log(e.factor) for c in subset for e in acting[c]) for subset in subsets]
    spreads = [np.hypot(normal, np.sqrt(sum(e.spread**2 for c in subset for e in acting[c]))) for subset in subsets]
    return States(tuple(frozenset(s) for s in subsets), np.array(means, float), np.array(spreads, float))
