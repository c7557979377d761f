"""How near a past case is to what somebody knows of another: defined here and nowhere else.

What is known is a set of features (each finding that was looked for, present or absent; the complaint family; the
facts of the equipment) and a set of numbers (`vectors.py`).  What was not looked for says nothing.  Two things make a
case near:

    nearness = (likeness + 2 trust) / 3, and 0 where nothing is shared

**Likeness** compares what was found with what was found then:

    likeness = (agree - differ) / (agree + differ + alone / 4), never below 0

- A feature with a value has the weight log2(1/p), p being the share of the library's cases knowing that feature
  which have that value (counted with one half added to either side, so that no share is 0 or 1).  Agreeing on
  what is rare says much, agreeing on what nearly all share says little.
- Two cases are never alike in what neither has: a finding that both lack adds nothing to any of the three.
- Facts of the equipment weigh a quarter of that: they set the scene, findings tell the story.
- A number that both have weighs 1: its closeness agrees, the rest of it differs.
- `agree` sums the weights of the features both know with the same value; `differ` the mean of the two weights
  where the values are not the same; `alone` the weights of what only one of them knows.  These count a quarter: few
  shared findings are weaker ground than many, but a reading not taken is no contradiction.

**Trust** is how far what was found speaks for the root that the past case turned out to have.  Over the roots in the
library, one at a time, by Bayes' rule: how often each was the root (cases of the same complaint counting eleven times
as much as others), times the chances that the knowledge gives each finding under it, times how much closer the numbers
lie to the cases with that root than to all cases (a kernel estimate of the density of each number; Parzen 1962, from
memory).  Of several roots of a case the most believed counts; a case that ended without a root is trusted as far as its
own findings point to the same roots.

Something is **shared** where the complaint or a present finding agrees, a number is within two units, or the likeness
is above 0.  What has the same fuel and another complaint is not near, however often its root occurs.  A case whose
findings the readings rule out (a still blower, where there is static) is never near.

Likeness alone finds cases that look alike; with trust the five nearest have twice as often the same root
(tests/library/generated.py).  Whoever searches has no conclusion yet, and none of theirs is looked at.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np

from causebook.knowledge.model import Knowledge
from causebook.library.record import Record
from causebook.library.typed import asks
from causebook.library.usual import contradicted, usual
from causebook.library.vectors import Point, axes, closeness, kept, points

ALONE = 0.25
FACTS = 0.25
OTHER_COMPLAINT = 0.1
"""What a case counts for how often its root occurs, where its complaint is another or none is known."""
NEARNESS_WORDS = ((0.5, "near"), (0.25, "fair"), (0.0, "weak"))
"""Words for how near a case is, each from this nearness on: expert estimate."""
LEAST_CHANCE = 0.02
"""No finding is taken to be surer than this under any root: eyes err, and so do cases."""
NUMBER = 1.0
"""Weight of a number that both cases have [bit]."""
TRUST = 2 / 3
"""Share of trust in nearness."""
CLOSE = math.exp(-2)
"""Closeness at two units, up to which a number is shared."""
FAR = 1e-3
"""Closeness added to every case: beyond about four units all are equally far."""
SUMS = 1e-9
"""A likeness below this is one of 0, left over from the order of the sums."""
_BLOCK = 16


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
class Asked:
    """What is known of the case asked about."""

    features: Mapping[str, str]
    numbers: Mapping[str, Point] = field(default_factory=dict)
    """Where it lies, by axis."""
    barred: Collection[str] = ()
    """Findings that its readings rule out: no case that has one is near."""


class Reader:
    """What the numbers of cases come to: their points, and the findings they rule out."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.asks = {ask.id: ask for ask in asks(knowledge)}
        self.usual = usual({id_: ask.kind for id_, ask in self.asks.items()})

    def points(self, read: Mapping[str, float]) -> dict[str, Point]:
        """Where a case with these readings (ask id -> value [SI]) lies, by axis."""
        meant = {id_: self.asks[id_].meant(kept(value)) for id_, value in read.items() if id_ in self.asks}
        return points(meant, {id_: self.asks[id_].sd(value) for id_, value in meant.items()})

    def barred(self, read: Mapping[str, float], findings: Mapping[str, bool]) -> frozenset[str]:
        """Findings that these readings rule out and nobody said to be present."""
        ruled_out = {f for c in contradicted(read, self.usual) for f in c.findings}
        return frozenset(f for f in ruled_out if not findings.get(f))

    def asked(self, record: Record) -> Asked:
        """A case of the library as the one asked about."""
        barred = self.barred(record.read, record.findings)
        return Asked(features_of(record), self.points(record.read), barred)


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

    return Weights(
        {pair: weight(pair[0], count) for pair, count in having.items()},
        {feature: weight(feature, 0) for feature in known},
    )


@dataclass(frozen=True, slots=True)
class Likeness:
    """How like two cases are, and in what: features, weightiest first."""

    value: float
    same: tuple[str, ...]
    differ: tuple[str, ...]


def likeness(
    one: Mapping[str, str],
    other: Mapping[str, str],
    weights: Weights,
    here: Mapping[str, Point] = MappingProxyType({}),
    there: Mapping[str, Point] = MappingProxyType({}),
) -> Likeness:
    """The likeness of two cases given by their features, and their numbers by axis."""
    same: dict[str, float] = {}
    differ: dict[str, float] = {}
    alone = 0.0
    for feature in sorted(one.keys() | other.keys()):
        a, b = one.get(feature), other.get(feature)
        if a is None or b is None:
            alone += weights.weight(feature, a or b or "")
        elif a == b == "absent":
            continue
        elif a == b:
            same[feature] = weights.weight(feature, a)
        else:
            differ[feature] = (weights.weight(feature, a) + weights.weight(feature, b)) / 2
    close = [closeness(axis, here[axis.id], there[axis.id].at) for axis in axes() if axis.id in here.keys() & there]
    alone += NUMBER * len(here.keys() ^ there.keys())
    agree = sum(same.values()) + NUMBER * sum(close)
    apart = sum(differ.values()) + NUMBER * (len(close) - sum(close))
    value = _ratio(*(np.array(total) for total in (agree, apart, alone)))
    return Likeness(float(value), _heaviest(same), _heaviest(differ))


def _ratio(agree: np.ndarray, differ: np.ndarray, alone: np.ndarray) -> np.ndarray:
    ground = agree + differ + ALONE * alone
    return np.maximum(agree - differ, 0.0) / np.where(ground > 0, ground, 1.0)


def _heaviest(weighed: Mapping[str, float]) -> tuple[str, ...]:
    return tuple(sorted(weighed, key=lambda feature: (-weighed[feature], feature)))


@dataclass(frozen=True, slots=True)
class Neighbor:
    """A case near to another one, or to what somebody knows (`asked`)."""

    record: Record
    nearness: float
    likeness: Likeness
    asked: Asked

    @property
    def word(self) -> str:
        """How near it is, in a word."""
        return next(word for least, word in NEARNESS_WORDS if self.nearness >= least)


@dataclass(frozen=True, slots=True)
class Near:
    """The cases nearest to one case, and the nearest whose root is another."""

    like: tuple[Neighbor, ...]
    other_root: Neighbor | None


def chances(root: str, knowledge: Knowledge) -> dict[str, float]:
    """Finding id -> chance that somebody who looks finds it, `root` being the root."""
    links = knowledge.causes[root].links if root in knowledge.causes else {}
    return {
        f.id: min(max(links.get(f.id, f.leak), LEAST_CHANCE), 1 - LEAST_CHANCE) for f in knowledge.findings.values()
    }


class Measure:
    """The nearness of every case of one library to whatever is asked, by matrix products."""

    def __init__(self, records: Sequence[Record], knowledge: Knowledge) -> None:
        self.records = records
        reader = Reader(knowledge)
        self.asked = [reader.asked(r) for r in records]
        self.cases = [dict(one.features) for one in self.asked]
        self.weights = weights_of(self.cases)
        self._column = {name: i for i, name in enumerate(sorted({f for case in self.cases for f in case}))}
        self._pair = {pair: i for i, pair in enumerate(sorted(self.weights.of))}
        self._known, self._weight, self._value = self._matrices(self.cases)
        self._at = np.array(
            [[one.numbers[a.id].at if a.id in one.numbers else math.nan for a in axes()] for one in self.asked]
        ).reshape(len(records), len(axes()))
        self.roots = sorted({root for r in records for root in r.roots})
        self._row = {root: i for i, root in enumerate(self.roots)}
        self._rooted = np.array([[root in r.roots for root in self.roots] for r in records], dtype=float)
        self._rooted = self._rooted.reshape(len(records), len(self.roots))
        self._findings = {f"finding {id_}": i for i, id_ in enumerate(knowledge.findings)}
        table = np.array([list(chances(root, knowledge).values()) for root in self.roots])
        table = table.reshape(len(self.roots), len(self._findings))
        self._logs = np.log(table), np.log(1 - table)
        self._open = [i for i, r in enumerate(records) if not r.roots]
        self._open_belief = self._belief([self.asked[i] for i in self._open])

    def nearness(self, asked: Sequence[Asked], own: Sequence[int] = ()) -> np.ndarray:
        """Nearness of all cases (columns) to what is asked (rows).

        `own`: the place of each row's own case in the library, whose root it is not to know; it is not near itself.
        Rounded, so that equally near cases are equal whatever the order of the sums was.
        """
        known, weight, value = self._matrices([one.features for one in asked])
        close = self._closeness(asked)
        like = self._likeness(asked, known, weight, value, close)
        trust = self._trust(self._belief(asked, own))
        speaks = np.array([not f.startswith("fact ") and v != "absent" for f, v in self._pair])
        shared = (like > SUMS) | ((value * speaks) @ self._value.T > 0) | (np.nan_to_num(close).max(0) >= CLOSE)
        nearness: np.ndarray = np.round(np.where(shared, (1 - TRUST) * like + TRUST * trust, 0.0), 9)
        for row, one in enumerate(asked):
            nearness[row, self._having(one.barred)] = 0.0
        if own:
            nearness[range(len(own)), list(own)] = 0.0
        return nearness

    def likeness(self, asked: Asked, place: int) -> Likeness:
        """The likeness of one case to what is asked, with what is the same and what differs."""
        there = self.asked[place]
        return likeness(asked.features, there.features, self.weights, asked.numbers, there.numbers)

    def _having(self, findings: Collection[str]) -> np.ndarray:
        """Which cases have one of these findings."""
        places = [self._pair[pair] for f in findings if (pair := (f"finding {f}", "present")) in self._pair]
        having: np.ndarray = self._value[:, places].any(axis=1)
        return having

    def _closeness(self, asked: Sequence[Asked]) -> np.ndarray:
        """Closeness on each axis (first), of each row to each case; NaN where one of the two has no number there."""
        out = np.full((len(axes()), len(asked), len(self.records)), math.nan)
        for n, axis in enumerate(axes()):
            for row, one in enumerate(asked):
                if point := one.numbers.get(axis.id):
                    distance = (self._at[:, n] - point.at) / math.hypot(point.error, axis.usual)
                    out[n, row] = np.exp(-distance * distance / 2)
        return out

    def _likeness(
        self, asked: Sequence[Asked], known: np.ndarray, weight: np.ndarray, value: np.ndarray, close: np.ndarray
    ) -> np.ndarray:
        pair_weights = np.array([self.weights.of[pair] for pair in self._pair])
        lacking = np.array([pair_value == "absent" for _, pair_value in self._pair])
        agree = (value * pair_weights) @ self._value.T
        neither = (value * pair_weights * lacking) @ self._value.T
        shared = weight @ self._known.T + known @ self._weight.T
        strange = np.array([sum(self.weights.weight(f, v) for f, v in one.features.items()) for one in asked])
        alone = strange[:, None] + self._weight.sum(axis=1)[None, :] - shared
        both = np.sum(~np.isnan(close), axis=0)
        numbers = np.nansum(close, axis=0)
        mine = np.array([len(one.numbers) for one in asked])
        only = mine[:, None] + np.sum(~np.isnan(self._at), axis=1)[None, :] - 2 * both
        return _ratio(
            agree - neither + NUMBER * numbers, shared / 2 - agree + NUMBER * (both - numbers), alone + NUMBER * only
        )

    def _matrices(self, cases: Sequence[Mapping[str, str]]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Of each case: which features it knows, their weights, which pairs of feature and value it has."""
        known = np.zeros((len(cases), len(self._column)))
        weight = np.zeros_like(known)
        value = np.zeros((len(cases), len(self._pair)))
        for row, case in enumerate(cases):
            for pair in case.items():
                if pair[0] in self._column:
                    known[row, self._column[pair[0]]] = 1.0
                    weight[row, self._column[pair[0]]] = self.weights.weight(*pair)
                if pair in self._pair:
                    value[row, self._pair[pair]] = 1.0
        return known, weight, value

    def _belief(self, asked: Sequence[Asked], own: Sequence[int] = ()) -> np.ndarray:
        """Belief in each root of the library by what is asked: rows that add up to 1."""
        present = np.zeros((len(asked), len(self._findings)))
        absent = np.zeros_like(present)
        for row, one in enumerate(asked):
            for feature, value in one.features.items():
                if feature in self._findings:
                    (present if value == "present" else absent)[row, self._findings[feature]] = 1.0
        families = [one.features.get("complaint") for one in asked]
        often = {family: self._often(family) for family in set(families)}
        counts = np.array([often[family] for family in families]).reshape(len(asked), len(self.roots))
        for row, place in enumerate(own):
            counts[row] -= (OTHER_COMPLAINT + (families[row] is not None)) * self._rooted[place]
        logs = np.log(np.maximum(counts, SUMS)) + present @ self._logs[0].T + absent @ self._logs[1].T
        logs = logs + self._by_numbers(asked, own)
        shares = np.exp(logs - logs.max(axis=1, keepdims=True, initial=-math.inf))
        belief: np.ndarray = shares / shares.sum(axis=1, keepdims=True)
        return belief

    def _by_numbers(self, asked: Sequence[Asked], own: Sequence[int]) -> np.ndarray:
        """How much closer the numbers lie to the cases with each root than to all: natural logarithms, rows asked."""
        logs = np.zeros((len(asked), len(self.roots)))
        for n, axis in enumerate(axes()):
            rows = [row for row, one in enumerate(asked) if axis.id in one.numbers]
            there = ~np.isnan(self._at[:, n])
            if not rows or not there.any():
                continue
            at = np.array([[one.numbers[axis.id].at, one.numbers[axis.id].error] for one in (asked[r] for r in rows)])
            distance = (self._at[there, n] - at[:, :1]) / np.hypot(at[:, 1:], axis.usual)
            close = np.exp(-distance * distance / 2) + FAR
            counted = np.ones_like(close)
            if own:
                mine = np.array([own[r] for r in rows])[:, None] == np.flatnonzero(there)
                close, counted = np.where(mine, 0.0, close), np.where(mine, 0.0, counted)
            usual = close.sum(axis=1, keepdims=True) / np.maximum(counted.sum(axis=1, keepdims=True), 1.0) + SUMS
            by_root = (close @ self._rooted[there] + usual) / (counted @ self._rooted[there] + 1.0)
            logs[rows] += np.log(by_root / usual)
        return logs

    def _often(self, family: str | None) -> np.ndarray:
        """How often each root occurs, the cases of one complaint counting more."""
        count = np.zeros(len(self.roots))
        for record, case in zip(self.records, self.cases, strict=True):
            for root in record.roots:
                count[self._row[root]] += OTHER_COMPLAINT + (family is not None and case.get("complaint") == family)
        return count

    def _trust(self, belief: np.ndarray) -> np.ndarray:
        trust = np.zeros((len(belief), len(self.records)))
        places: dict[tuple[str, ...], list[int]] = {}
        for i, record in enumerate(self.records):
            places.setdefault(record.roots, []).append(i)
        for roots, here in places.items():
            if roots:
                trust[:, here] = belief[:, [self._row[root] for root in roots]].max(axis=1, keepdims=True)
        if self._open:
            trust[:, self._open] = belief @ self._open_belief.T
        return trust


def nearest(values: np.ndarray, records: Sequence[Record]) -> list[int]:
    """Places of the cases by their nearness, nearest first, equally near ones by id; those at 0 are left out."""
    by_id = np.argsort(np.argsort([r.id for r in records]))
    return [int(i) for i in np.lexsort((by_id, -values)) if values[i] > 0]


def neighbors(records: Sequence[Record], knowledge: Knowledge, count: int = 5) -> dict[str, Near]:
    """For each case the `count` cases nearest to its findings, nearest first, and the nearest with another root."""
    if not records:
        return {}
    measure = Measure(records, knowledge)
    found: dict[str, Near] = {}
    for start in range(0, len(records), _BLOCK):
        own = range(start, min(start + _BLOCK, len(records)))
        for here, values in zip(own, measure.nearness([measure.asked[i] for i in own], own), strict=True):
            found[records[here].id] = _near(here, values, measure, count)
    return found


def _near(here: int, values: np.ndarray, measure: Measure, count: int) -> Near:
    records = measure.records
    order = nearest(values, records)

    def neighbor(place: int) -> Neighbor:
        return Neighbor(
            records[place], float(values[place]), measure.likeness(measure.asked[here], place), measure.asked[here]
        )

    roots = set(records[here].roots)
    other = next((i for i in order if roots and records[i].roots and roots.isdisjoint(records[i].roots)), None)
    return Near(tuple(neighbor(i) for i in order[:count]), None if other is None else neighbor(other))
