"""What putting right each cause of the likeliest sets would do: the furnaces of each set, changed and asked again.

Whoever repairs anything leaves an ordinary clean filter behind.  So whether a repair alone ends the complaint is asked
with the filter put right as well; what it wins is asked without, for that is its own doing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from causebook.belief.arrays import Array
from causebook.equipment.furnace.furnaces import Furnaces
from causebook.equipment.furnace.setup import Setup
from causebook.equipment.furnace.weighing import Weighing


@dataclass(frozen=True)
class Put:
    """The furnaces of one set with some of its causes put right (none: as found)."""

    causes: frozenset[str]
    log_flow: Array
    rise: Array
    over: Array
    """How far the limit's body stands above where the limit opens [K]."""
    sound: NDArray[np.bool_]


@dataclass(frozen=True)
class SetRepairs:
    """One set of causes: its furnaces as found, with each cause put right alone, and with all."""

    place: int
    physical: tuple[str, ...]
    found: Put
    alone: Mapping[str, Put]
    cared: Mapping[str, Put]
    """Each cause put right, and the filter ordinary and clean."""
    all: Put

    def gain(self, cause: str) -> Array:
        """(furnaces,) how much nearer to sound one repair brings each [K of the limit's body, or of rise]."""
        return self.found.over - self.alone[cause].over

    @property
    def accounts(self) -> float:
        """Share of the furnaces that are sound once all of the set is put right: else the set is no whole answer."""
        return float(self.all.sound.mean()) if self.physical else 0.0

    def restores(self, cause: str) -> float:
        """Share of the furnaces that one repair, with an ordinary clean filter, makes sound."""
        return float(self.cared[cause].sound.mean())

    def roots(self) -> Mapping[str, float]:
        """Cause -> share of the furnaces in which it is the root: of the repairs that make it sound the one that wins
        most; where none does alone, the one that wins most."""
        gains = np.stack([self.gain(c) for c in self.physical])
        sound = np.stack([self.cared[c].sound for c in self.physical])
        ranked = np.where(sound.any(axis=0) & ~sound, -1e3, 0.0) + gains
        best = ranked.argmax(axis=0)
        return {c: float((best == n).mean()) for n, c in enumerate(self.physical)}

    def does(self) -> Mapping[str, float]:
        """Cause -> share of the furnaces in which naming it the root is right: its repair makes it sound, or none does
        alone and it wins nearly as much as the best."""
        gains = np.stack([self.gain(c) for c in self.physical])
        sound = np.stack([self.cared[c].sound for c in self.physical])
        near = (gains >= NEARLY * gains.max(axis=0)) & ~sound.any(axis=0)
        return {c: float((sound[n] | near[n]).mean()) for n, c in enumerate(self.physical)}


NEARLY = 0.7
"""Share of what the best repair wins from which another is as good an answer, where none restores alone."""


def repairs_of(weighing: Weighing, places: Sequence[int], heat: Array, count: int) -> list[SetRepairs]:
    """The repairs of these sets of causes, `count` furnaces for each; all are solved at once.

    `heat`: (sets,) chance that heat and not something else brought the complaint about, by set.
    """
    jobs: list[Job] = []
    for place in places:
        picked = _picked(weighing, place, float(heat[place]), count)
        physical = physical_of(weighing, place)
        alone, cared = [frozenset({c}) for c in physical], [_cared(weighing, {c}, physical) for c in physical]
        for causes in dict.fromkeys([frozenset(), *alone, *cared, frozenset(physical)]):
            jobs.append((place, causes, picked))
    out: dict[int, dict[frozenset[str], Put]] = {}
    for (place, causes, _), put in zip(jobs, _put(weighing, jobs, count), strict=True):
        out.setdefault(place, {})[causes] = put
    return [_set(weighing, place, puts) for place, puts in out.items()]


def together(weighing: Weighing, asked: Sequence[tuple[int, frozenset[str]]], heat: Array, count: int) -> list[Put]:
    """For each set with a group of its causes: its furnaces with all of the group put right, and the filter ordinary
    and clean."""
    picked = {place: _picked(weighing, place, float(heat[place]), count) for place, _ in asked}
    jobs = [(place, _cared(weighing, group, physical_of(weighing, place)), picked[place]) for place, group in asked]
    return _put(weighing, jobs, count)


Job = tuple[int, frozenset[str], NDArray[np.int64]]
"""A set, what of it is put right, and which furnaces."""


def _put(weighing: Weighing, jobs: Sequence[Job], count: int) -> list[Put]:
    """What each job makes of its furnaces; all are solved at once."""
    setup = weighing.setup
    low = (
        {c for c, effects in setup.acting.items() for e in effects if e.on == "setting"}
        if setup.setting_is_told
        else set()
    )
    whole = weighing.sample.furnaces.picked(np.concatenate([j[2] for j in jobs]))
    x = {name: value.copy() for name, value in whole.x.items()}
    for number, (place, causes, _) in enumerate(jobs):
        rows = slice(number * count, (number + 1) * count)
        states = weighing.states_in(place)
        for name, sizes in setup.sizes.items():
            if causes & sizes.causes.keys():
                x[name][rows] = sizes.put_right(x[name][rows], states[name], causes)
        if causes & low:  # its own table tells what a better setting gives
            x["speed"][rows] += setup.raised_setting
    put = whole.with_(x)
    each = [slice(number * count, (number + 1) * count) for number in range(len(jobs))]
    return [
        Put(causes, put.log_flow[rows], put.rise[rows], put.over[rows], put.sound[rows])
        for (_, causes, _), rows in zip(jobs, each, strict=True)
    ]


def furnaces_in(weighing: Weighing, place: int, count: int) -> Furnaces:
    """`count` furnaces of one set as found, each as likely as the other."""
    return weighing.sample.furnaces.picked(_picked(weighing, place, 1.0, count))


def physical_of(weighing: Weighing, place: int) -> tuple[str, ...]:
    """The causes of one set that act on the heat-and-air model."""
    present = np.flatnonzero(weighing.members[place])
    return tuple(weighing.causes[n] for n in present if weighing.causes[n] in weighing.setup.acting)


def _set(weighing: Weighing, place: int, puts: Mapping[frozenset[str], Put]) -> SetRepairs:
    physical = physical_of(weighing, place)
    alone = {c: puts[frozenset({c})] for c in physical}
    cared = {c: puts[_cared(weighing, {c}, physical)] for c in physical}
    return SetRepairs(place, physical, puts[frozenset()], alone, cared, puts[frozenset(physical)])


def _cared(weighing: Weighing, causes: Set[str], physical: Sequence[str]) -> frozenset[str]:
    """Some causes of a set with those that act on the filter."""
    return frozenset({*causes, *(c for c in physical if of_filter(weighing.setup, c))})


def of_filter(setup: Setup, cause: str) -> bool:
    """Does a cause act on the filter?"""
    return any(e.on == "filter" for e in setup.acting[cause])


def _picked(weighing: Weighing, place: int, heat: float, count: int) -> NDArray[np.int64]:
    """`count` furnaces of one set, each as often as it is likely (systematic resampling, no random number)."""
    sample = weighing.sample
    weight = weighing.of(place, heat * sample.by_heat * sample.furnaces.event + (1 - heat) * sample.otherwise)
    total = weight.sum()
    if not total > 0:
        weight, total = np.ones_like(weight), float(len(weight))
    steps = (np.arange(count) + 0.5) / count
    return np.minimum(np.searchsorted(np.cumsum(weight) / total, steps), len(weight) - 1)
