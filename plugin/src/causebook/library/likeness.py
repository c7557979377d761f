"""How like two cases are, by what was found and on what equipment: defined here and nowhere else.

A case is a set of features: each finding that was looked for (present or absent), the complaint family, and the
facts of the equipment.  What was not looked for is no feature and says nothing.

    likeness = (agree - differ) / (agree + differ + alone / 4), never below 0

- A feature with a value has the weight log2(1/p), p being the share of the library's cases knowing that feature
  which have that value (counted with one half added to either side, so that no share is 0 or 1).  Agreeing on
  what is rare says much, agreeing on what nearly all share says little.
- Facts of the equipment weigh a quarter of that: they set the scene, findings tell the story.
- `agree` sums the weights of the features both know with the same value; `differ` the mean of the two weights
  where the values are not the same; `alone` the weights of the features that only one of them knows.  These
  count a quarter: few shared findings are weaker ground than many, but a reading not taken is no contradiction.

The measure does not look at conclusions: whoever searches does not have one yet.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from causebook.library.record import Record

ALONE = 0.25
FACTS = 0.25
_BLOCK = 512


def features(families: Iterable[str], findings: Mapping[str, bool], facts: Mapping[str, str]) -> dict[str, str]:
    """What is known, as feature -> value."""
    known = {f"finding {id_}": "present" if present else "absent" for id_, present in findings.items()}
    known |= {f"fact {name}": value for name, value in facts.items()}
    main = next(iter(families), None)
    return known | ({"complaint": main} if main else {})


def features_of(record: Record) -> dict[str, str]:
    """The features of a case in the library."""
    return features(record.families, record.findings, record.facts)


@dataclass(frozen=True, slots=True)
class Weights:
    """What each feature and value weighs in one library."""

    of: Mapping[tuple[str, str], float]
    rare: Mapping[str, float]
    """Weight of a value that no case in the library has, by feature."""

    def weight(self, feature: str, value: str) -> float:
        """Weight of one feature with one value; a feature unknown to the library weighs nothing."""
        return self.of.get((feature, value), self.rare.get(feature, 0.0))


def weights_of(cases: Sequence[Mapping[str, str]]) -> Weights:
    """The weights that hold in a library of these cases."""
    known = Counter(feature for case in cases for feature in case)
    having = Counter(pair for case in cases for pair in case.items())

    def weight(feature: str, count: int) -> float:
        scale = FACTS if feature.startswith("fact ") else 1.0
        return scale * math.log2((known[feature] + 1) / (count + 0.5))

    return Weights({pair: weight(pair[0], count) for pair, count in having.items()},
                   {feature: weight(feature, 0) for feature in known})


@dataclass(frozen=True, slots=True)
class Likeness:
    """How like two cases are, and in what: features, weightiest first."""

    value: float
    same: tuple[str, ...]
    differ: tuple[str, ...]


def likeness(one: Mapping[str, str], other: Mapping[str, str], weights: Weights) -> Likeness:
    """The likeness of two cases given by their features."""
    same: dict[str, float] = {}
    differ: dict[str, float] = {}
    alone = 0.0
    for feature in sorted(one.keys() | other.keys()):
        a, b = one.get(feature), other.get(feature)
        if a is None or b is None:
            alone += weights.weight(feature, a or b or "")
        elif a == b:
            same[feature] = weights.weight(feature, a)
        else:
            differ[feature] = (weights.weight(feature, a) + weights.weight(feature, b)) / 2
    value = _ratio(np.float64(sum(same.values())), np.float64(sum(differ.values())), np.float64(alone))
    return Likeness(float(value), _heaviest(same), _heaviest(differ))


def _ratio(agree: np.ndarray, differ: np.ndarray, alone: np.ndarray) -> np.ndarray:
    ground = agree + differ + ALONE * alone
    return np.maximum(agree - differ, 0.0) / np.where(ground > 0, ground, 1.0)


def _heaviest(weighed: Mapping[str, float]) -> tuple[str, ...]:
    return tuple(sorted(weighed, key=lambda feature: (-weighed[feature], feature)))


@dataclass(frozen=True, slots=True)
class Neighbour:
    """A case like another one."""

    record: Record
    likeness: Likeness


@dataclass(frozen=True, slots=True)
class Near:
    """The cases most like one case, and the nearest whose root is another."""

    like: tuple[Neighbour, ...]
    other_root: Neighbour | None


def neighbours(records: Sequence[Record], count: int = 5) -> dict[str, Near]:
    """For each case its `count` most like cases (nearest first) and its nearest with a different root.

    The same measure as `likeness`, worked out for all pairs by matrix products: 10,000 cases in blocks.
    """
    cases = [features_of(r) for r in records]
    weights = weights_of(cases)
    names = sorted({feature for case in cases for feature in case})
    pairs = sorted(weights.of)
    column = {name: i for i, name in enumerate(names)}
    pair_column = {pair: i for i, pair in enumerate(pairs)}
    known = np.zeros((len(cases), len(names)))
    weight = np.zeros_like(known)
    value = np.zeros((len(cases), len(pairs)))
    for row, case in enumerate(cases):
        for pair in case.items():
            known[row, column[pair[0]]] = 1.0
            weight[row, column[pair[0]]] = weights.of[pair]
            value[row, pair_column[pair]] = 1.0
    weighted = value * np.array([weights.of[pair] for pair in pairs])
    total = weight.sum(axis=1)
    by_id = np.argsort(np.argsort([r.id for r in records]))
    found: dict[str, Near] = {}
    for start in range(0, len(cases), _BLOCK):
        rows = slice(start, start + _BLOCK)
        agree = weighted[rows] @ value.T
        shared = weight[rows] @ known.T + known[rows] @ weight.T
        alone = total[rows, None] + total[None, :] - shared
        for offset, values in enumerate(_ratio(agree, shared / 2 - agree, alone)):
            here = start + offset
            # Rounding lets equally like cases stand in the order of their ids, whatever the summing order was.
            order = np.lexsort((by_id, -np.round(values, 9)))
            order = order[(values[order] > 0) & (order != here)]
            found[records[here].id] = _near(here, order, records, cases, weights, count)
    return found


def _near(here: int, order: np.ndarray, records: Sequence[Record], cases: Sequence[Mapping[str, str]],
          weights: Weights, count: int) -> Near:
    def neighbour(index: int) -> Neighbour:
        return Neighbour(records[index], likeness(cases[here], cases[index], weights))

    roots = set(records[here].roots)
    other = next((i for i in order if roots and records[i].roots and roots.isdisjoint(records[i].roots)), None)
    return Near(tuple(neighbour(i) for i in order[:count]), None if other is None else neighbour(other))
