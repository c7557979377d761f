"""How large the fault of an unknown may be: densities over all that is physically possible.

An unknown is a number on a line: the logarithm of a factor (drop of a part, blower speed, heat input, the wait before
the blower starts), or a shift in kelvin (the limit's opening).  It is the sum of its pieces: the blower's speed is that
of its motor, times what the capacitor, the wheel and the setting leave of it.  A sound piece scatters about zero.  A
cause moves a piece to anywhere between its least and its most, all sizes alike, with thin tails beyond: nobody knows a
fault's size before it is measured.  A measurement of the piece itself then says where it is: against it stand only its
instrument's error and a blunder.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from causebook.belief.arrays import Array
from causebook.equipment.furnace.evidence import Gauge

POINTS = 512
"""Points of the grid that holds the densities of an unknown."""
THIN = 0.02
"""Share of a fault's sizes beyond its bounds."""
FAULTY = 0.2
"""Share of the furnaces drawn with a fault of one unknown, before any cause is weighed."""
BOTH = 2
"""How many causes may act on one unknown at once; a third adds nothing that two do not explain."""
PAIRED = 0.1
"""How often two causes of one unknown are drawn, over each alone."""
UNDRAWN = -20.0
"""Log density of what is never drawn."""
REACH = 4.0
"""How far a sound piece is followed, in its spreads."""


@dataclass(frozen=True, slots=True)
class Range:
    """Where one cause may move a piece to, between what is worth finding and what is gross."""

    least: float
    most: float


@dataclass(frozen=True, slots=True)
class Piece:
    """One of the things an unknown is the sum of."""

    name: str
    spread: float
    """Standard deviation of a sound one."""
    ranges: tuple[tuple[str, Range], ...] = ()
    """(cause, range) of each cause that acts on it."""
    measured: Gauge | None = None
    """What a measurement of the piece itself said."""
    blunder: float = 0.0
    """Share of such measurements that are plain wrong."""
    span: float = 1.0
    """What a wrong one may show, all alike."""
    adds: tuple[Callable[[Array], Array], ...] = (lambda value: value,)
    """What the piece adds to the unknown, by its value; of several, each as likely as the other."""


@dataclass(frozen=True)
class Sizes:
    """The densities of one unknown, by which of the causes that act on it are present."""

    name: str
    pieces: tuple[Piece, ...]
    together: tuple[str, ...] = ()
    """Pieces whose sum was measured as one: a tachometer reads what the motor makes of its capacitor."""
    measured: Gauge | None = None

    @cached_property
    def causes(self) -> Mapping[str, Piece]:
        """Cause -> the piece it acts on."""
        return {cause: piece for piece in self.pieces for cause, _ in piece.ranges}

    @cached_property
    def grid(self) -> Array:
        """Points from the lowest to the highest value that has any belief; zero is one of them."""
        ends = [0.0]
        for piece in self.pieces:
            for _, r in piece.ranges:
                ends += [float(add(np.array([end]))[0]) for end in (r.least, r.most) for add in piece.adds]
        low, high = min(ends), max(ends)
        room = 4.5 * self.scatter + 0.3 * (high - low)
        step = (high - low + 2 * room) / (POINTS - 1)
        below = int(np.ceil((room - low) / step))
        return (np.arange(POINTS + 1) - below) * step

    @cached_property
    def scatter(self) -> float:
        """Standard deviation of a sound one."""
        return float(np.linalg.norm([p.spread for p in self.pieces]))

    @cached_property
    def states(self) -> tuple[frozenset[str], ...]:
        """The sets of causes that make a difference, none of them first."""
        names = sorted(self.causes)
        return tuple(frozenset(chosen) for size in range(BOTH + 1) for chosen in combinations(names, size))

    @cached_property
    def densities(self) -> Array:
        """(states, points) density of the unknown in each state, times the likelihood of what was measured."""
        return np.stack([self._whole(state) / self._step for state in self.states])

    @cached_property
    def even_handed(self) -> Array:
        """(points,) density that furnaces are drawn by: sound in most, a fault of any kind alike in the rest."""
        whole = self.densities.sum(axis=1) * self._step
        share = self.densities / np.maximum(whole[:, None], 1e-300)
        if len(self.states) == 1:
            return np.asarray(share[0])
        # What a measurement has as good as ruled out is hardly drawn.
        likely = np.maximum(whole / whole.max(), 0.02)
        likely[0] = 0.0
        single = np.array([1.0 if len(state) == 1 else PAIRED for state in self.states]) * likely
        mixed: Array = (1 - FAULTY) * share[0] + FAULTY * (single @ share) / single.sum()
        return mixed

    def log_drawn(self, value: Array) -> Array:
        """(n,) logarithm of that density; far outside the grid nothing is drawn."""
        return np.interp(value, self.grid, self._log_even_handed, left=UNDRAWN, right=UNDRAWN)

    def draw(self, uniform: Array) -> Array:
        """Values by that density at uniform numbers of (0, 1)."""
        return np.interp(uniform, self._cumulative, self.grid)

    def draw_in(self, uniform: Array, cause: str) -> Array:
        """Values with one cause and no other, at uniform numbers of (0, 1)."""
        dense = self.densities[self.state_of([cause])]
        total = np.cumsum(dense) + np.linspace(0, 1e-9, len(dense))
        return np.interp(uniform, total / total[-1], self.grid)

    def density(self, value: Array) -> Array:
        """(states, n) density of each value in each state."""
        at = np.clip((value - self.grid[0]) / self._step, 0.0, len(self.grid) - 1.001)
        below = at.astype(np.int64)
        share = at - below
        out: Array = self.densities[:, below] * (1 - share) + self.densities[:, below + 1] * share
        return out

    def put_right(self, value: Array, state: int, causes: Iterable[str]) -> Array:
        """Expected value of the unknown with some of the causes of a state put right, given its value with all."""
        left = self.states[state] - set(causes)
        if left == self.states[state]:
            return value
        return np.interp(value, self.grid, self._left(state, left))

    def state_of(self, present: Iterable[str]) -> int:
        """The state of one set of causes; of more than two the two that reach furthest."""
        reach = {c: max(abs(r.most) for name, r in piece.ranges if name == c) for c, piece in self.causes.items()}
        acting = sorted(set(present) & reach.keys(), key=lambda c: (-reach[c], c))[:BOTH]
        return self._index[frozenset(acting)]

    def states_of(self, members: Array, causes: Sequence[str]) -> NDArray[np.int64]:
        """(sets,) state of each set of causes; `members` is (sets, causes) of 0 and 1."""
        columns = [(n, c) for n, c in enumerate(causes) if c in self.causes]
        if not columns:
            return np.zeros(len(members), dtype=np.int64)
        bits = members[:, [n for n, _ in columns]] > 0
        code = bits @ (1 << np.arange(len(columns)))
        distinct, where = np.unique(code, return_inverse=True)
        known = [self.state_of([c for k, (_, c) in enumerate(columns) if int(one) >> k & 1]) for one in distinct]
        return np.array(known, dtype=np.int64)[where.ravel()]

    # ------------------------------------------------------------ on the grid

    @property
    def _step(self) -> float:
        return float(self.grid[1] - self.grid[0])

    @cached_property
    def _zero(self) -> int:
        return int(np.argmin(np.abs(self.grid)))

    @cached_property
    def _index(self) -> Mapping[frozenset[str], int]:
        return {state: n for n, state in enumerate(self.states)}

    @cached_property
    def _log_even_handed(self) -> Array:
        return np.log(np.maximum(self.even_handed, np.exp(UNDRAWN)))

    @cached_property
    def _cumulative(self) -> Array:
        dense = self.even_handed
        total = np.concatenate([[0.0], np.cumsum(0.5 * (dense[1:] + dense[:-1]) * np.diff(self.grid))])
        rising = total + np.linspace(0, 1e-9, len(total))
        return np.asarray(rising / rising[-1])

    @cached_property
    def _tables(self) -> dict[tuple[int, frozenset[str]], Array]:
        return {}

    def _left(self, state: int, left: frozenset[str]) -> Array:
        """(points,) expected share of a value that is scatter or due to the causes `left`."""
        key = (state, left)
        if key not in self._tables:
            gone = self.states[state] - left
            stays = self._mass([self._piece(p, left, judged=not self._of(p, gone)) for p in self.pieces])
            goes = self._mass([self._fault(p, gone) for p in self.pieces if self._of(p, gone)])
            first = self._joined(stays * self.grid, goes)
            self._tables[key] = first / np.maximum(self._joined(stays, goes), 1e-12)
        return self._tables[key]

    @staticmethod
    def _of(piece: Piece, causes: Iterable[str]) -> list[Range]:
        wanted = set(causes)
        return [r for cause, r in piece.ranges if cause in wanted]

    def _piece(self, piece: Piece, state: frozenset[str], judged: bool = True) -> Array:
        """(points,) masses of what a piece adds, with the causes of a state acting on it."""
        value, mass = _values(piece.spread, self._of(piece, state), self._step)
        return self._added(piece, value, mass, judged)

    def _fault(self, piece: Piece, causes: frozenset[str]) -> Array:
        """(points,) masses of what the causes alone add through a piece."""
        value, mass = _values(0.0, self._of(piece, causes), self._step)
        return self._added(piece, value, mass, True)

    def _added(self, piece: Piece, value: Array, mass: Array, judged: bool) -> Array:
        if judged and piece.measured is not None:
            wide = float(np.hypot(piece.measured.sd, value[1] - value[0] if len(value) > 1 else 0.0))
            fits = normal_density(value, piece.measured.value, wide)
            mass = mass * ((1 - piece.blunder) * fits + piece.blunder / piece.span)
        out = np.zeros(len(self.grid))
        for add in piece.adds:
            at = np.clip((add(value) - self.grid[0]) / self._step, 0.0, len(self.grid) - 1.001)
            below = at.astype(np.int64)
            np.add.at(out, below, mass * (1 - at + below) / len(piece.adds))
            np.add.at(out, below + 1, mass * (at - below) / len(piece.adds))
        return out

    def _whole(self, state: frozenset[str]) -> Array:
        """(points,) masses of the sum of all pieces in a state, times the likelihood of what was measured."""
        masses = {p.name: self._piece(p, state) for p in self.pieces}
        if self.measured is None:
            return self._mass(list(masses.values()))
        joint = self._mass([masses.pop(name) for name in self.together])
        blunder, span = self.pieces[0].blunder, self.pieces[0].span
        fits = normal_density(self.grid, self.measured.value, float(np.hypot(self.measured.sd, self._step)))
        joint = joint * ((1 - blunder) * fits + blunder / span)
        return self._mass([joint, *masses.values()])

    def _mass(self, pieces: Sequence[Array]) -> Array:
        out = pieces[0]
        for piece in pieces[1:]:
            out = self._joined(out, piece)
        return out

    def _joined(self, one: Array, other: Array) -> Array:
        """Masses of the sum of two numbers."""
        out: Array = np.convolve(one, other)[self._zero : self._zero + len(self.grid)]
        return out


def _values(spread: float, faults: Sequence[Range], finest: float) -> tuple[Array, Array]:
    """(values, masses) of a piece: its scatter moved by every size of each fault, in steps finer than `finest`."""
    ends = [0.0, *(end for r in faults for end in (r.least, r.most))]
    room = REACH * spread + 0.25 * (max(ends) - min(ends))
    total = [
        sum(min(0.0, r.least, r.most) for r in faults) - room,
        sum(max(0.0, r.least, r.most) for r in faults) + room,
    ]
    step = 0.6 * finest if spread == 0 else min(0.6 * finest, spread / 5)
    below = int(np.ceil(-total[0] / step))
    above = int(np.ceil(total[1] / step))
    value = np.arange(-below, above + 1) * step
    mass = np.exp(-0.5 * (value / spread) ** 2) if spread > 0 else (np.arange(-below, above + 1) == 0).astype(float)
    mass = mass / mass.sum()
    for fault in faults:
        mass = np.convolve(mass, _size(value, fault, step))[below : below + len(value)]
    return value, mass


def _size(value: Array, fault: Range, step: float) -> Array:
    """Masses of one fault's sizes."""
    low, high = sorted((fault.least, fault.most))
    inside = np.clip(np.minimum(value + step / 2, high) - np.maximum(value - step / 2, low), 0.0, step)
    beyond = (value * np.sign(fault.most) > 0).astype(float)
    out: Array = (1 - THIN) * inside / inside.sum() + THIN * beyond / beyond.sum()
    return out


@lru_cache(maxsize=512)
def sizes_of(
    name: str, pieces: tuple[Piece, ...], together: tuple[str, ...] = (), measured: Gauge | None = None
) -> Sizes:
    """The densities of an unknown, kept between cases: without a measurement they depend on the knowledge alone."""
    return Sizes(name, pieces, together, measured)


def normal_density(value: Array | float, mean: Array | float, spread: Array | float) -> Array:
    """Density of a normal distribution."""
    out: Array = np.exp(-0.5 * ((value - mean) / spread) ** 2) / (spread * np.sqrt(2 * np.pi))
    return np.asarray(out)
