"""The devices of a start under sets of causes: how sound each is, over a fixed sample of ways and sizes.

A cause changes devices as the knowledge's `malfunctions` say.  Its ways and sizes are drawn once, evenly over their
range (a Latin square for each cause, always the same), so that the same case gives the same numbers and sets that
share a cause share its sizes.  1 is sound, 0 dead; what adds up (a breach, a leak) begins at 0.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from causebook.knowledge.model import Knowledge, Malfunction

Array = NDArray[np.float32]
Flags = NDArray[np.bool_]

DRAWS = 256
"""How many starts are followed for every set."""
ADDED = frozenset({"breach", "spills", "leaks", "elsewhere"})
"""Devices that add up from nothing, where all others multiply from one."""
DEAD = 1e-6
SEED = 1601
FEW = 120
"""Fewer sets than these are worked out one by one."""


def even(rng: np.random.Generator, count: int = DRAWS) -> NDArray[np.float64]:
    """Numbers between 0 and 1, one in each of as many equal steps, in an order of their own."""
    return (rng.permutation(count) + 0.5) / count


@dataclass(frozen=True)
class Draws:
    """Ways and sizes of every cause, as drawn."""

    causes: tuple[str, ...]
    changes: Mapping[str, tuple[NDArray[np.int64], Array]]
    """Device -> (places of the causes that act on it, (causes, draws) of what they do: a logarithm, or an amount)."""
    there: Flags
    """(causes, draws): is it there while somebody reads?"""

    @classmethod
    def of(cls, causes: Sequence[str], knowledge: Knowledge, away: float = 1.0) -> Draws:
        """Draws for a list of causes; `away` is how much more often than usual they come and go."""
        key = (tuple(causes), knowledge.version, away)
        if key not in _DRAWN:
            _DRAWN.clear()
            _DRAWN[key] = cls._draw(causes, knowledge, away)
        return _DRAWN[key]

    @classmethod
    def _draw(cls, causes: Sequence[str], knowledge: Knowledge, away: float) -> Draws:
        told: dict[str, dict[int, Array]] = {}
        there = np.ones((len(causes), DRAWS), dtype=bool)
        for place, (cause, known) in enumerate((c, knowledge.malfunctions.get(c)) for c in causes):
            if known is None:
                continue
            # From the letters of its name: the draws of one cause do not hang on which others are listed.
            rng = np.random.default_rng([SEED, *cause.encode()])
            for device, change in _changes(known, rng).items():
                told.setdefault(device, {})[place] = change
            there[place] = even(rng) >= min(known.away * away, 0.8)
        changes = {
            device: (np.array(sorted(acting)), np.stack([acting[n] for n in sorted(acting)]))
            for device, acting in told.items()
        }
        return cls(tuple(causes), changes, there)


_DRAWN: dict[tuple[tuple[str, ...], str, float], Draws] = {}
"""The last draws: the steps of one case share them."""


def _changes(known: Malfunction, rng: np.random.Generator) -> dict[str, Array]:
    """Device -> (draws,) of what one cause does to it."""
    which, size = even(rng), even(rng)
    ends = np.cumsum([way.share for way in known.ways])
    place = np.searchsorted(ends / ends[-1], which)
    out: dict[str, Array] = {}
    for number, way in enumerate(known.ways):
        mine = place == number
        for device, becomes in way.becomes.items():
            mild, gross = becomes if isinstance(becomes, tuple) else (becomes, becomes)
            logs = np.log(max(mild, DEAD)) + size * (np.log(max(gross, DEAD)) - np.log(max(mild, DEAD)))
            change = np.exp(logs) if device in ADDED else logs
            held = out.setdefault(device, np.zeros(DRAWS, dtype=np.float32))
            held[mine] += change[mine].astype(np.float32)
    return out


@dataclass
class Devices:
    """How sound each device is, for every set and every draw: (sets, draws), or (1, 1) where no cause acts on it."""

    members: Array
    """(sets, causes) of 0 and 1."""
    draws: Draws
    as_read: bool
    """As somebody meets it, without what is away then; else with all that is wrong."""
    put: Mapping[str, float] = field(default_factory=dict)
    """Devices that somebody has put right or taken away for a try."""
    _known: dict[str, Array] = field(default_factory=dict)

    def __call__(self, name: str) -> Array:
        """The state of one device."""
        if name not in self._known:
            self._known[name] = self._state(name)
        return self._known[name]

    def _state(self, name: str) -> Array:
        if name in self.put:
            return np.full((1, 1), self.put[name], dtype=np.float32)
        if name not in self.draws.changes:
            return np.full((1, 1), 0.0 if name in ADDED else 1.0, dtype=np.float32)
        acting, change = self.draws.changes[name]
        if self.as_read:
            change = change * self.draws.there[acting]
        if len(self.members) < FEW:
            total = self.members[:, acting] @ change.astype(np.float32)
            return total if name in ADDED else np.exp(total)
        # Few of the sets differ in the causes that act here: each state is worked out once.
        held = self.members[:, acting]
        code = held @ (2.0 ** np.arange(len(acting), dtype=np.float32))
        codes, first, place = np.unique(code, return_index=True, return_inverse=True)
        total = held[first] @ change.astype(np.float32)
        states = total if name in ADDED else np.exp(total)
        return states if len(codes) == 1 else states[place.ravel()]

    def but(self, **put: float) -> Devices:
        """The same with some devices put to a state."""
        return Devices(self.members, self.draws, self.as_read, {**self.put, **put})
