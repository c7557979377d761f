"""Belief about the high limit: where it opens, how hot it gets for a given rise, and whether heat opened it.

Three things act on it, each on its own and any of them together: what lets it open early, what heats it more than the
air (a hot spot), what sends supply air straight back.  All in SI numbers.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from causebook.diagnosis.evidence import Array, Evidence, Gauge
from causebook.knowledge.model import Effect, Knowledge

ACTS = ("limit", "hot-spot", "recirculation")


@dataclass(frozen=True, slots=True)
class LimitState:
    """The limit with some of the causes present that act on it, at most one of each kind."""

    causes: frozenset[str]
    opens: Gauge
    """Opening temperature above that of a sound limit [K], after the test of its own, if any."""
    body: float
    """Factor on the body's rise above the return."""
    likelihood: float
    """Of that test, and of how warm the return was."""


class LimitBelief:
    """The states of the limit under the causes that act on it, and what each makes of a rise."""

    def __init__(
        self, evidence: Evidence, knowledge: Knowledge, effects: Mapping[str, Iterable[Effect]], blunder: float
    ) -> None:
        self.evidence, self.knowledge, self._blunder = evidence, knowledge, blunder
        self._acts: dict[str, list[tuple[str, Effect]]] = {
            kind: [(c, e) for c, found in sorted(effects.items()) for e in found if e.on == kind] for kind in ACTS
        }
        # Of several that let it open early the earliest counts.
        self._acts["limit"].sort(key=lambda acting: acting[1].factor)

    def _constant(self, name: str) -> float:
        return self.knowledge.constants[name].value

    @cached_property
    def states(self) -> tuple[LimitState, ...]:
        """Every combination; the first is the sound limit."""
        return tuple(self._state(*chosen) for chosen in product(*([None, *self._acts[kind]] for kind in ACTS)))

    @cached_property
    def manners(self) -> tuple[tuple[Gauge, float], ...]:
        """The different ways, (opening, body), in which the states answer to a rise."""
        return tuple(dict.fromkeys((state.opens, state.body) for state in self.states))

    @cached_property
    def manner(self) -> NDArray[np.int64]:
        """The manner of each state."""
        return np.array([self.manners.index((state.opens, state.body)) for state in self.states])

    def index(self, present: Iterable[str]) -> int:
        """The state of one set of causes."""
        names = sorted(present)
        return int(self.index_many(np.ones((1, len(names))), names)[0])

    def index_many(self, members: Array, causes: Sequence[str]) -> NDArray[np.int64]:
        """The state of each set of causes."""
        index = np.zeros(len(members), dtype=np.int64)
        for kind in ACTS:
            at = np.zeros(len(members), dtype=np.int64)
            for place, (cause, _) in reversed(list(enumerate(self._acts[kind], 1))):
                if cause in causes:
                    at[members[:, causes.index(cause)] > 0] = place
            index = index * (len(self._acts[kind]) + 1) + at
        return index

    def _state(
        self, early: tuple[str, Effect] | None, spot: tuple[str, Effect] | None, back: tuple[str, Effect] | None
    ) -> LimitState:
        e = self.evidence
        opens, likelihood = self._opens(early[1] if early else None)
        body = spot[1].factor if spot else 1.0
        if back and not e.room_known:
            body *= 1 + back[1].factor
        likelihood *= self._return_likelihood(back[1].factor if back else 0.0)
        return LimitState(frozenset(acting[0] for acting in (early, spot, back) if acting), opens, body, likelihood)

    def _opens(self, early: Effect | None) -> tuple[Gauge, float]:
        """Opening temperature above that of a sound limit [K], and the likelihood of what its own test read."""
        e, sd = self.evidence, self._constant("limit-opening-spread") * 5 / 9
        shift = early.factor * 5 / 9 if early else 0.0
        sd = float(np.hypot(early.spread * 5 / 9, sd)) if early else sd
        if e.limit_found is None or e.limit_opens is None:
            return Gauge(shift, sd), 1.0
        read, own = e.limit_found.value - e.limit_opens, e.limit_found.sd
        wide = np.hypot(sd, own)
        likelihood = float(
            (1 - self._blunder) * np.exp(-0.5 * ((read - shift) / wide) ** 2) / wide
            + self._blunder * np.exp(-0.5 * (read / 25) ** 2) / 25
        )
        precision = 1 / sd**2 + 1 / own**2
        return Gauge((shift / sd**2 + read / own**2) / precision, float(np.sqrt(1 / precision))), likelihood

    def _return_likelihood(self, share: float) -> float:
        """How well the warmth of the return above the rooms fits a share of the supply air coming straight back."""
        gap = self.evidence.return_above_room
        if gap is None:
            return 1.0
        rise = self.evidence.rise or self.evidence.rise_at_trip or Gauge(30.0, 5.0)
        # Mixing by mass: (1 − x)·room + x·supply, so the return stands x/(1 − x) of the rise above the rooms.
        mean = share / (1 - share) * rise.value
        sd = np.hypot(gap.sd, max(0.5 * mean, self._constant("return-room-spread")))
        return float(
            (1 - self._blunder) * np.exp(-0.5 * ((gap.value - mean) / sd) ** 2) / sd
            + self._blunder * np.exp(-0.5 * (gap.value / 10) ** 2) / 10
        )

    @cached_property
    def opens(self) -> float:
        """Temperature at which a sound limit opens [K]: its marking, else what a rise beyond the plate's brings."""
        e = self.evidence
        if e.limit_opens is not None:
            return e.limit_opens
        most = e.rise_maximum or self._constant("usual-rise-maximum") * 5 / 9
        return (
            e.return_temperature.value
            + self._constant("limit-body-factor") * self._constant("limit-beyond-plate") * most
        )

    def opened_by_heat(self, rise: Array) -> Array:
        """(…, L) chance that a steady `rise` (…) [K] opens the limit, by manner."""
        e, factor = self.evidence, self.knowledge.constants["limit-body-factor"]
        out = np.empty((*rise.shape, len(self.manners)))
        for n, (opens, body) in enumerate(self.manners):
            hot = e.return_temperature.value + factor.value * body * rise
            spread = np.sqrt(
                (factor.spread * rise) ** 2 + opens.sd**2 + e.return_temperature.sd**2 + (0.03 * rise) ** 2
            )
            out[..., n] = ndtr((hot - (self.opens + opens.value)) / spread)
        return out

    def at_trip(self, rise: Array) -> tuple[Array, Array]:
        """(…, L) density of ln(rise at the trip) for a steady `rise` (…) if heat opened the limit, and if something
        else did.

        Heat opens it when its body stands at the opening temperature, however high the steady rise would have gone:
        so the rise at the trip speaks of the limit, and is only a lower bound for the steady rise.
        """
        e, read, factor = self.evidence, self.evidence.rise_at_trip, self.knowledge.constants["limit-body-factor"]
        ones = np.ones((*rise.shape, len(self.manners)))
        if read is None or e.cooling_airflow_needed is not None:
            return ones, ones
        share, noise = read.value / rise, read.sd / read.value
        below = ndtr(-np.log(share) / np.hypot(0.05, noise))[..., None]
        wide = self._blunder * np.exp(-0.5 * (np.log(read.value / 40.0) / 0.5) ** 2) / 0.5
        # Anything else may open it at any moment of the warming up.
        cold = (1 - self._blunder) * np.clip(share, 0.05, None)[..., None] * 2.5 * below * ones + wide
        if e.limit_opens is None:
            return cold, cold
        hot = np.empty_like(ones)
        for n, (opens, body) in enumerate(self.manners):
            above = max(e.limit_opens + opens.value - e.return_temperature.value, 5.0)
            spread = np.sqrt((factor.spread / factor.value) ** 2 + (opens.sd / above) ** 2 + noise**2 + 0.05**2)
            off = np.log(read.value * factor.value * body / above) / spread
            hot[..., n] = (1 - self._blunder) * np.exp(-0.5 * off**2) / spread * below[..., 0] + wide
        return hot, cold
