"""The likelihood of everything read, for every set of causes at once.

Given a furnace of the sample, its unknowns are likely or unlikely under a set, each on its own.  The unknowns are split
into the air path and the rest; the density of one half under each of its states, times the weights, times that of the
other half, is one product of matrices, and every set of causes is one of its cells.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from causebook.belief.arrays import Array
from causebook.equipment.furnace.air_path import PARTS
from causebook.equipment.furnace.likelihood import blundered
from causebook.equipment.furnace.population import Sample
from causebook.equipment.furnace.setup import Setup, density_by_state, labelled_sizes
from causebook.equipment.furnace.sizes import Piece, Range, Sizes, normal_density, sizes_of

LEAST = 1e-10
"""Floor of the density of an unknown: no set is impossible by one number alone."""


@dataclass(frozen=True)
class Half:
    """Some of the unknowns: the states of them that sets of causes bring about, and each furnace's density in them."""

    names: tuple[str, ...]
    states: NDArray[np.int64]
    """(combinations, unknowns) state of each unknown."""
    of_set: NDArray[np.int64]
    """(sets,) combination of each set."""
    density: Array
    """(furnaces, combinations)."""


@dataclass(frozen=True)
class Weighing:
    """What the sample makes of every set of causes."""

    setup: Setup
    sample: Sample
    members: Array
    causes: tuple[str, ...]

    @cached_property
    def densities(self) -> Mapping[str, Array]:
        """Unknown -> (states, furnaces) density, with what sizes told by a tape say of it."""
        out = {}
        for name, sizes in self.setup.sizes.items():
            value = self.sample.furnaces.x[name]
            density = np.maximum(sizes.density(value), LEAST) / np.exp(sizes.log_drawn(value))
            if name in self.setup.evidence.sections:
                density = density * self._section(name, sizes)
            out[name] = density
        return out

    @cached_property
    def halves(self) -> tuple[Half, Half]:
        """The air path, and the rest."""
        path = tuple(n for n in self.setup.sizes if n in PARTS)
        rest = tuple(n for n in self.setup.sizes if n not in PARTS)
        return self._half(path), self._half(rest)

    def _half(self, names: Sequence[str]) -> Half:
        by_unknown = [self.setup.sizes[n].states_of(self.members, self.causes) for n in names]
        states, of_set = np.unique(np.stack(by_unknown, axis=1), axis=0, return_inverse=True)
        density = np.ones((len(states), len(self.sample.by_heat)))
        for column, name in enumerate(names):
            density *= self.densities[name][states[:, column]]
        return Half(tuple(names), states, of_set.ravel(), density)

    @cached_property
    def by_heat(self) -> Array:
        """(sets,) likelihood if heat opened the limit."""
        return self._summed(self.sample.by_heat)

    @cached_property
    def otherwise(self) -> Array:
        """(sets,) likelihood if something else did."""
        return self._summed(self.sample.otherwise)

    @cached_property
    def heated(self) -> Array:
        """(sets,) `by_heat`, weighed with the chance that heat brings the complaint about."""
        return self._summed(self.sample.by_heat * self.sample.furnaces.event)

    def _summed(self, weight: Array) -> Array:
        path, rest = self.halves
        table = (path.density * weight) @ rest.density.T / len(weight)
        out: Array = table[path.of_set, rest.of_set] * self.plate
        return out

    def of(self, place: int, weight: Array) -> Array:
        """(furnaces,) weight of each furnace under one set."""
        path, rest = self.halves
        out: Array = weight * path.density[path.of_set[place]] * rest.density[rest.of_set[place]]
        return out

    def states_in(self, place: int) -> Mapping[str, int]:
        """Unknown -> its state under one set."""
        return {
            name: int(half.states[half.of_set[place], column])
            for half in self.halves
            for column, name in enumerate(half.names)
        }

    # ------------------------------------------------------------ what plates, labels and a tape say

    @cached_property
    def plate(self) -> Array:
        """(sets,) how well the setting chosen and what labels promise fit each set."""
        weight = np.ones(len(self.members))
        for part, promised in self.setup.evidence.promised.items():
            weight = weight * self._told(labelled_sizes(self.setup, part, self.causes), promised)
        e = self.setup.evidence
        if e.setting_meant is not None:
            spread = self.setup.constant("setting-meant-spread")
            weight = weight * self._told(self._setting(spread), float(np.log(e.setting_meant)))
        elif e.setting_strength is not None:
            usual = self.setup.constant("setting-strength")
            weight = weight * self._told(
                self._setting(self.setup.constant("setting-spread")), float(np.log(e.setting_strength / usual))
            )
        return weight

    def _told(self, sizes: Sizes, value: float) -> Array:
        density = density_by_state(sizes, value)
        likely = np.exp(blundered(density, self.setup.blunder, 3.0))
        out: Array = likely[sizes.states_of(self.members, self.causes)]
        return out

    def _setting(self, spread: float) -> Sizes:
        ranges = tuple(
            (cause, Range(float(np.log(e.least)), float(np.log(e.most))))
            for cause, effects in sorted(self.setup.acting.items())
            for e in effects
            if e.on == "setting"
        )
        return sizes_of("setting told", (Piece("setting", spread, ranges),))

    def _section(self, side: str, sizes: Sizes) -> Array:
        """(states, furnaces) likelihood of the narrowest section read: the drop goes with its square, so a duct too
        small for a drop of f times the usual has 1/√f of the section."""
        read = self.setup.evidence.sections[side]
        narrows = {c for c, effects in self.setup.acting.items() for e in effects if e.on == side and e.narrows}
        more = np.clip(self.sample.furnaces.x[side], 0.0, None)
        wide = float(np.hypot(self.setup.constant("section-spread"), read.sd / read.value))
        out = []
        for state in sizes.states:
            mean = -0.5 * more if state & narrows else np.zeros_like(more)
            out.append(np.exp(blundered(normal_density(np.log(read.value), mean, wide), self.setup.blunder, 3.0)))
        return np.stack(out)
