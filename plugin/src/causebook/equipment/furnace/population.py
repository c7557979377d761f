"""Furnaces that could have given the readings, as many as it takes to tell the causes apart.

They begin as furnaces of every kind, each unknown sound or at fault on its own.  The readings are let in by degrees:
furnaces that fit are kept more often, and all are moved about by steps that keep what fits in proportion (sequential
Monte Carlo with differential evolution).  Every random number is fixed, so that the same case always gives the same
numbers.

Sources: P. Del Moral, A. Doucet, A. Jasra, "Sequential Monte Carlo samplers", J. R. Statist. Soc. B 68 (2006) 411;
C. J. F. Ter Braak, "A Markov Chain Monte Carlo version of Differential Evolution", Stat. Comput. 16 (2006) 239
(both from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri
from scipy.stats import qmc

from causebook.belief.arrays import Array
from causebook.equipment.furnace.air_path import PARTS, CleanPath
from causebook.equipment.furnace.furnaces import Furnaces
from causebook.equipment.furnace.likelihood import log_likelihood
from causebook.equipment.furnace.setup import Setup

SCATTER = (
    "efficiency",
    "body",
    "air-lag",
    "limit-lag",
    "still-lag",
    "filter exponent",
    "coil exponent",
    "holds",
    "return",
)
"""What no cause acts on, as standard normal numbers."""
KEPT = 0.5
"""Share of the furnaces that still count when more of the readings is let in."""
AT_FIRST = 8
"""How many times as many furnaces are looked at before any reading is let in."""
MOVES, LAST_MOVES = 3, 6
"""Moves of every furnace at each degree, and at the end."""
STAGES = 14
"""Most degrees."""
ALONG = 0.6
"""Share of the jumps along the difference of two others; the rest go anywhere."""
BLOCK = 0.3
"""Share of the numbers that one move changes."""
OTHERWISE = 0.5
"""Weight of openings that heat did not bring about, while furnaces are drawn."""
FREE = 50.0
"""Added to the logarithm of an airflow that nothing holds."""


@dataclass(frozen=True)
class Sample:
    """Furnaces as found with the weight of each, in the two ways in which the limit can have opened."""

    furnaces: Furnaces
    by_heat: Array
    """Weights if heat opened it (or if the complaint is no event of heat)."""
    otherwise: Array
    """Weights if something else did."""


def sample(setup: Setup, count: int) -> Sample:
    """`count` furnaces that fit the evidence."""
    return _Population(setup, count).sample()


@lru_cache(maxsize=8)
def _points(count: int, columns: int) -> Array:
    out: Array = qmc.Sobol(columns, scramble=True, seed=20_260_101).random(count)
    return np.clip(out, 1e-6, 1 - 1e-6)


class _Population:
    """The furnaces on their way: one row each, the unknowns first and then the scatter."""

    def __init__(self, setup: Setup, count: int) -> None:
        self.setup, self.count = setup, count
        self.names = tuple(setup.sizes)
        self.jumps = [k for k, name in enumerate(self.names) if name in (*PARTS, "input", "hot-spot")]
        kept = [*self.jumps, self.names.index("speed")]
        self.alone = [k for k in range(len(self.names) + len(SCATTER)) if k not in kept]
        self.random = np.random.Generator(np.random.PCG64(7))
        uniform = _points(AT_FIRST * count, len(self.names) + len(SCATTER))
        columns = [setup.sizes[n].draw(uniform[:, k]) for k, n in enumerate(self.names)]
        self.z = np.column_stack([*columns, ndtri(uniform[:, len(self.names) :])])
        self._judge()

    def sample(self) -> Sample:
        let_in = 0.0
        for stage in range(STAGES):
            step = 1 - let_in if stage == STAGES - 1 else self._step(1 - let_in)
            weight = np.exp(step * (self.log - self.log.max()))
            self._take(_resampled(weight, self.random.random(), self.count))
            let_in += step
            for _ in range(MOVES if let_in < 1 else LAST_MOVES):
                self._move(let_in)
            if let_in >= 1:
                break
        heat, other = self.both
        return Sample(furnaces_of(self.setup, self.names, self.z), np.exp(heat - self.log), np.exp(other - self.log))

    def _judge(self) -> None:
        self.log, self.both = self._likely(self.z)
        self.own = self._own(self.z)

    def _likely(self, z: Array) -> tuple[Array, tuple[Array, Array]]:
        furnaces = furnaces_of(self.setup, self.names, z)
        heat, other = log_likelihood(furnaces)
        mixed = np.logaddexp(heat, other + np.log(OTHERWISE))
        return mixed, (heat, other)

    def _own(self, z: Array) -> Array:
        """Log density that the furnaces are drawn by."""
        own = -0.5 * (z[:, len(self.names) :] ** 2).sum(axis=1)
        for k, name in enumerate(self.names):
            own += self.setup.sizes[name].log_drawn(z[:, k])
        return np.asarray(own)

    def _step(self, most: float) -> float:
        """How much more of the readings to let in, so that a stated share of the furnaces still counts."""

        def counts(step: float) -> float:
            weight = np.exp(step * (self.log - self.log.max()))
            return float(weight.sum() ** 2 / (weight**2).sum()) / self.count

        if counts(most) >= KEPT:
            return most
        low, high = 0.0, most
        for _ in range(20):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if counts(middle) >= KEPT else (low, middle)
        return max(low, 1e-4)

    def _take(self, which: NDArray[np.int64]) -> None:
        self.z, self.log, self.own = self.z[which], self.log[which], self.own[which]
        self.both = (self.both[0][which], self.both[1][which])

    def _move(self, let_in: float) -> None:
        """One step of every furnace along the difference of two others, one jump of a part of its air path, and one
        number drawn anew."""
        self._keep(*self._stepped(), let_in)
        self._keep(*self._jumped(), let_in)
        self._keep(*self._drawn_anew(), let_in)

    def _stepped(self) -> tuple[Array, Array | float]:
        count, columns = self.z.shape
        one, two = self.random.integers(count, size=(2, count))
        block = self.random.random((count, columns)) < BLOCK
        size = 2.38 / np.sqrt(2 * np.maximum(block.sum(axis=1), 1))
        size = np.where(self.random.random(count) < 0.15, 1.0, size * self.random.uniform(0.5, 1.2, count))
        jitter = 0.01 * self.random.standard_normal((count, columns))
        return self.z + block * (size[:, None] * (self.z[one] - self.z[two]) + jitter), 0.0

    def _drawn_anew(self) -> tuple[Array, Array | float]:
        """One number alone from its own distribution, of those that no jump changes.

        Whether heat opened the limit hangs on the limit's body or opening alone; steps that take other numbers along
        would hardly ever cross from the one to the other.
        """
        moved, besides = self.z.copy(), np.zeros(self.count)
        turn, uniform = self.random.integers(len(self.alone), size=self.count), self.random.random(self.count)
        for k, column in enumerate(self.alone):
            mine = turn == k
            if column >= len(self.names):
                moved[mine, column] = ndtri(uniform[mine])
                besides[mine] = 0.5 * (moved[mine, column] ** 2 - self.z[mine, column] ** 2)
            else:
                sizes = self.setup.sizes[self.names[column]]
                moved[mine, column] = sizes.draw(uniform[mine])
                besides[mine] = sizes.log_drawn(self.z[mine, column]) - sizes.log_drawn(moved[mine, column])
        return moved, besides

    def _jumped(self) -> tuple[Array, Array | float]:
        """One unknown moved along the difference of two other furnaces, or to anywhere it may be, and another with it,
        so that what was read of both stays what it is.

        A part of the air path takes the blower's speed with it (the airflow stays), the input too (the rise stays),
        heat at the limit takes the limit's opening with it.  The other is shifted by a number that does not depend on
        it, so that no volume is lost; the unknown's own density is taken out again, for it was drawn from it.
        """
        furnaces = furnaces_of(self.setup, self.names, self.z)
        moved, drawn = self.z.copy(), np.empty(self.count)
        turn = self.random.integers(len(self.jumps), size=self.count)
        uniform, along = self.random.random(self.count), self.random.random(self.count) < ALONG
        one, two = self.random.integers(self.count, size=(2, self.count))
        for k, column in enumerate(self.jumps):
            sizes, mine = self.setup.sizes[self.names[column]], turn == k
            apart = self.z[one[mine], column] - self.z[two[mine], column]
            moved[mine, column] = np.where(along[mine], self.z[mine, column] + apart, sizes.draw(uniform[mine]))
            drawn[mine] = sizes.log_drawn(self.z[mine, column]) - sizes.log_drawn(moved[mine, column])
        drawn = np.where(along, 0.0, drawn)
        x = {n: moved[:, k] for k, n in enumerate(self.names)}
        log_flow = furnaces.log_flow + x["input"] - furnaces.x["input"]
        moved[:, self.names.index("speed")] += furnaces.asks(x, log_flow) - furnaces.asks(furnaces.x, furnaces.log_flow)
        hotter = np.exp(x["hot-spot"]) - np.exp(furnaces.x["hot-spot"])
        moved[:, self.names.index("limit")] += furnaces.body * furnaces.rise * hotter
        return moved, drawn

    def _keep(self, moved: Array, besides: Array | float, let_in: float) -> None:
        """Keep what was moved by the rule of Metropolis; `besides` is what its way of moving favored."""
        log, both = self._likely(moved)
        own = self._own(moved)
        gain = let_in * (log - self.log) + own - self.own + besides
        taken = np.log(self.random.random(self.count)) < gain
        self.z = np.where(taken[:, None], moved, self.z)
        self.log, self.own = np.where(taken, log, self.log), np.where(taken, own, self.own)
        self.both = (np.where(taken, both[0], self.both[0]), np.where(taken, both[1], self.both[1]))


def _resampled(weight: Array, start: float, count: int) -> NDArray[np.int64]:
    """`count` furnaces, each as often as its weight says (systematic resampling)."""
    steps = (np.arange(count) + start) / count
    return np.minimum(np.searchsorted(np.cumsum(weight) / weight.sum(), steps), len(weight) - 1)


def furnaces_of(setup: Setup, names: tuple[str, ...], z: Array) -> Furnaces:
    """Rows of numbers as furnaces, their airflow solved."""
    e = setup.evidence
    x = {name: z[:, k] for k, name in enumerate(names)}
    own = {name: z[:, len(names) + k] for k, name in enumerate(SCATTER)}

    def lag(name: str, place: int) -> Array:
        middle, spread = setup.lags[place]
        out: Array = middle * np.exp(spread * own[name])
        return out

    def between(name: str, ends: tuple[float, float]) -> Array:
        out: Array = ends[0] + (ends[1] - ends[0]) * ndtr(own[name])
        return out

    exponent = {p: setup.exponent[p][0] for p in PARTS} | {
        p: np.maximum(setup.exponent[p][0] + setup.exponent[p][1] * own[f"{p} exponent"], 1.0)
        for p in ("filter", "coil")
    }
    holds = np.full(len(z), np.log(e.rated_airflow) + FREE)
    if e.held_airflow is not None:
        holds = np.log(e.held_airflow) + setup.held_spread * own["holds"]
        if "setting" in x:
            holds = holds + x["setting"]
    furnaces = Furnaces(
        setup=setup,
        x=x,
        log_flow=np.full(len(z), np.log(e.rated_airflow)),
        efficiency=np.clip(e.efficiency.value + e.efficiency.sd * own["efficiency"], 0.3, 1.0),
        body=between("body", setup.body),
        air_lag=lag("air-lag", 0),
        limit_lag=lag("limit-lag", 1),
        still_lag=lag("still-lag", 2),
        holds=holds,
        rooms=e.return_temperature.value + e.return_temperature.sd * own["return"],
        clean=CleanPath(setup.clean_drop, setup.clean_at, exponent, setup.held),
        curve=setup.curve,
    )
    return furnaces.settled(e.room_known)


def furnaces_with(setup: Setup, cause: str, count: int) -> Furnaces:
    """Furnaces of every kind with one cause and no other, whatever was read."""
    names = tuple(setup.sizes)
    uniform = _points(count, len(names) + len(SCATTER))
    columns = [setup.sizes[n].draw_in(uniform[:, k], cause) for k, n in enumerate(names)]
    return furnaces_of(setup, names, np.column_stack([*columns, ndtri(uniform[:, len(names) :])]))
