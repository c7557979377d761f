"""The model of a start: weighs all that was read, seen, told and tried of one under every set of causes.

For every set the same fixed sample of ways and sizes is followed through the sequence, once with all that is wrong (for
the complaint and the board's memory) and once as somebody met it (for what was read).  The likelihood of the record is
its mean over the sample.  What is proven goes first: draws in which a proof does not hold count for nothing, and a
cause that is left none is disproved.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from causebook import quantity as qty
from causebook.casefile.model import Case
from causebook.equipment.furnace.start import looks, readings
from causebook.equipment.furnace.start.devices import Array, Devices, Draws
from causebook.equipment.furnace.start.proofs import Proof, proofs, told_by
from causebook.equipment.furnace.start.record import record_of
from causebook.equipment.furnace.start.sequence import HOLD, RUN, STAGES, Sound, Start
from causebook.knowledge.model import Knowledge
from causebook.quantity import Kind
from causebook.survey.model import Survey

Reals = NDArray[np.float64]
CLEAN = 0.25
"""A start that runs is right while the chance that it offends stays below this."""
FORESEEN = 64
"""How many equally likely values of a reading are given."""
OUT = -80.0
"""Logarithm of what is left of a set that a proof strikes out."""
TRIPLES = 200
"""How many sets of three are followed: those of the best prior and pairs."""
NEVER_AWAY = 0.12
"""A cause that is away more often than this comes and goes, and is not disproved by what it lets pass once."""


class Sets(Protocol):
    """Sets of causes, as the belief holds them."""

    causes: tuple[str, ...]
    members: Reals
    prior: Reals


@dataclass(frozen=True, slots=True)
class Repair:
    """What correcting one cause of a set alone would bring."""

    ends: float
    """Chance that the start then runs clean."""
    share: float
    """Share of what all repairs of the set win."""
    says: str
    """How far a start would then go."""


@dataclass(frozen=True, slots=True)
class WhatIf:
    """A start with only one thing put right."""

    cause: str
    ends: float
    """Chance that it then runs clean."""
    says: str


@dataclass(frozen=True, slots=True)
class Expected:
    """What one cause alone would have shown, beside what was read; in the unit of the trade of `kind`."""

    cause: str
    reading: str
    low: float
    high: float
    """Eight in ten of such furnaces lie between them."""
    read: float
    kind: Kind

    @property
    def fits(self) -> bool:
        """Does the reading lie there, give or take the meter?"""
        known = readings.shown(self.reading)
        assert known is not None
        slack = 2 * (known.relative * abs(self.read) + known.fixed)
        return self.low - slack <= self.read <= self.high + slack


class FurnaceStart:
    """The model, for one case."""

    name = "furnace start"

    def __init__(self, case: Case, surveyed: Survey, knowledge: Knowledge) -> None:
        self.record, self.knowledge = record_of(case, surveyed, knowledge), knowledge
        self.sound = Sound.of(self.record.plate)
        self.proofs = list(proofs(self.record))

    @property
    def speaks(self) -> bool:
        """Is the complaint one of a start?"""
        return self.knowledge.families[self.record.family].starts > 0

    def weigh(self, sets: Sets) -> Weighed | None:
        """Weigh the record under every set; None for another complaint."""
        return Weighed(self, sets) if self.speaks else None


class Weighed:
    """The record under every set of causes."""

    def __init__(self, model: FurnaceStart, sets: Sets) -> None:
        self.model, self.sets, self.record = model, sets, model.record
        more = {None: 1.0, True: 1.8, False: 0.2}[self.record.intermittent]
        self.draws = Draws.of(sets.causes, model.knowledge, more)
        self._members = sets.members.astype(np.float32)
        self.log_likelihood = self._weigh()

    # ------------------------------------------------------------ the likelihood

    def _starts(self, members: Array) -> tuple[Start, Start]:
        """(with all that is wrong, as somebody met it) for rows of members."""
        sound, plate = self.model.sound, self.record.plate
        whole = Start(Devices(members, self.draws, as_read=False), sound, plate)
        return whole, Start(Devices(members, self.draws, as_read=True), sound, plate)

    def _weigh(self) -> Reals:
        counts = self._members.sum(axis=1)
        few = np.flatnonzero(counts <= 2)
        out = np.full(len(counts), np.nan)
        likelihood, self.kept = self._of_sets(self._members[few])
        out[few] = likelihood
        many = np.flatnonzero(counts > 2)
        if len(many):
            best = self._best_part(many, few, likelihood)
            prior = np.log(np.maximum(self.sets.prior, 1e-300))
            out[many] = best
            chosen = many[np.argsort(-(best + prior[many]), kind="stable")[:TRIPLES]]
            out[chosen], _ = self._of_sets(self._members[chosen], self.kept)
        return out

    def _best_part(self, many: NDArray[np.intp], few: NDArray[np.intp], likelihood: Reals) -> Reals:
        """Of each set of three, the best likelihood of its pairs: what it is taken for until it is followed itself."""
        count = self._members.shape[1]
        pair = np.full((count, count), OUT)
        two = self._members[few].sum(axis=1) == 2
        a, b = np.nonzero(self._members[few[two]])[1].reshape(-1, 2).T
        pair[a, b] = likelihood[two]
        a, b, c = np.nonzero(self._members[many])[1].reshape(len(many), 3).T
        return np.maximum(np.maximum(pair[a, b], pair[a, c]), pair[b, c])

    def _of_sets(self, members: Array, kept: list[Proof] | None = None) -> tuple[Reals, list[Proof]]:
        by_draw, kept = self._by_draw(members, kept)
        mean = by_draw.mean(axis=1)
        return np.log(np.maximum(mean, np.exp(OUT))), kept

    def _by_draw(self, members: Array, kept: list[Proof] | None = None) -> tuple[Reals, list[Proof]]:
        """Likelihood of the record by set and draw, and the proofs that were used."""
        whole, met = self._starts(members)
        holds, used = told_by(met, self.model.proofs if kept is None else kept)
        out = looks.filed(whole, self.record.family, self.model.knowledge).astype(np.float64)
        if self.record.memory_read:
            out = out * looks.memory(whole, met, self.record.memory, self.model.knowledge)
        for reading, value in self.record.readings.items():
            mean = readings.expected(reading, met)
            if mean is not None:
                out = out * readings.likelihood(reading, value, mean)
        out = out * self._input(met)
        for finding, share in self.record.seen.items():
            if share == 0.5:
                continue
            if finding in looks.LOOKS:
                out = out * looks.said(looks.LOOKS[finding](met), share)
            elif finding == "limit-fault-stored":
                out = out * looks.fault_stored(whole, share)
        for one in self.record.tries:
            tried = met.but(**one.puts)
            for reading, value in one.readings.items():
                mean = readings.expected(reading, tried)
                if mean is not None:
                    out = out * readings.likelihood(reading, value, mean)
            if one.started is not None:
                out = out * looks.said(np.where(tried.ends > met.ends, 0.97, 0.03), float(one.started))
        return out * holds, used

    def _input(self, met: Start) -> Array:
        if self.record.input is None:
            return np.ones((1, 1), dtype=np.float32)
        off = (self.record.input - met.rich * met.comes_to(HOLD)) / 0.035
        return 0.975 * np.exp(-0.5 * np.minimum(off * off, 60)) / 0.035 * np.float32(0.4) + np.float32(0.0125)

    # ------------------------------------------------------------ what is settled by rule

    @cached_property
    def findings(self) -> frozenset[str]:
        """Findings that are weighed here: the noisy-OR does not count them again."""
        by_reading = {
            f
            for reading in self.record.readings
            for f in self.model.knowledge.readings[reading].shows
            if f in looks.LOOKS
        }
        own = {f for f in self.record.seen if f in looks.LOOKS or f == "limit-fault-stored"}
        return frozenset(own | by_reading)

    def alone(self, members: Array) -> Start:
        """The start of some sets as somebody meets it."""
        return self._starts(members)[1]

    @cached_property
    def disproved(self) -> Mapping[str, str]:
        """Cause -> what proves it absent: present alone, no draw of it agrees with a proof."""
        known, causes = self.model.knowledge, self.sets.causes
        start = self.alone(np.eye(len(causes), dtype=np.float32))
        agrees = [(p, (p.holds(start) & self.draws.there).any(axis=1)) for p in self.kept if p.live]
        out: dict[str, str] = {}
        for place, cause in enumerate(causes):
            changes = known.malfunctions.get(cause)
            if changes is None or known.causes[cause].residual:
                continue
            if changes.away > NEVER_AWAY and self.record.intermittent is not False:
                continue
            devices = {device for way in changes.ways for device in way.becomes}
            for proof, agree in agrees:
                if not agree[place] and (not proof.about or devices <= proof.about):
                    out[cause] = proof.says
                    break
        return out

    # ------------------------------------------------------------ repairs

    def repairs(self, place: int) -> Mapping[str, Repair]:
        """For one set: cause -> what correcting it alone would bring."""
        return self.repairs_of([place])[0]

    def repairs_of(self, places: Sequence[int]) -> list[Mapping[str, Repair]]:
        """The same for several sets at once."""
        found, weights = self._members[list(places)], self.ahead(places).weights
        held = [np.flatnonzero(row) for row in found]
        rows = np.concatenate([_less_one(row, causes) for row, causes in zip(found, held, strict=True)])
        whole = self._starts(rows)[0]
        ends = np.broadcast_to(whole.ends, whole.shape).astype(np.float64)
        offends = np.broadcast_to(whole.offends, whole.shape)
        out: list[Mapping[str, Repair]] = []
        first = 0
        for weight, causes in zip(weights, held, strict=True):
            mine = slice(first, first + 1 + len(causes))
            first = mine.stop
            out.append(self._won([self.sets.causes[c] for c in causes], ends[mine], offends[mine], weight))
        return out

    def _won(self, causes: Sequence[str], ends: Reals, offends: Reals, weight: Reals) -> Mapping[str, Repair]:
        """What each repair brings, from where starts end (none repaired, then each) in every draw."""
        if not causes:
            return {}
        right = (ends[1:] == RUN) & (offends[1:] < CLEAN)
        # Of each draw: who makes it right alone; where nobody does, who carries it furthest.
        reach = ends - 6 * offends
        gain = np.maximum(reach[1:] - reach[0], 0.0)
        shares = np.where(right.any(axis=0), right, gain)
        total = shares.sum(axis=0)
        won = np.where(total > 0, shares / np.maximum(total, 1e-9), 0.0) @ weight
        won = won / won.sum() if won.sum() > 0 else np.full(len(causes), 1 / len(causes))
        ended = right @ weight
        return {
            cause: Repair(float(ended[n]), float(won[n]), self._goes(ends[n + 1], weight))
            for n, cause in enumerate(causes)
        }

    # ------------------------------------------------------------ expected, what-ifs, foresight

    def what_ifs(self, causes: Sequence[str]) -> tuple[WhatIf, ...]:
        """The furnace with all these causes, and only one of them put right at a time."""
        together = np.isin(self.sets.causes, list(causes)).astype(np.float32)
        places = np.flatnonzero((self._members == together).all(axis=1))
        if not len(places):
            return ()
        repairs = self.repairs(int(places[0]))
        return tuple(WhatIf(cause, repairs[cause].ends, repairs[cause].says) for cause in causes if cause in repairs)

    def expected(self, causes: Sequence[str]) -> tuple[Expected, ...]:
        """Expected beside read, for every reading and each of these causes alone, given that somebody called."""
        out = []
        for cause in causes:
            if cause not in self.model.knowledge.malfunctions:
                continue
            alone = np.zeros((1, len(self.sets.causes)), dtype=np.float32)
            alone[0, self.sets.causes.index(cause)] = 1.0
            whole, met = self._starts(alone)
            called = looks.filed(whole, self.record.family, self.model.knowledge)
            weight = np.broadcast_to(called, whole.shape)[0] * self.draws.there[self.sets.causes.index(cause)]
            for reading, value in self.record.readings.items():
                mean, known = readings.expected(reading, met), readings.shown(reading)
                if mean is not None and known is not None:
                    low, high = _middle(np.broadcast_to(mean, whole.shape)[0], weight)
                    out.append(Expected(cause, reading, low, high, value, known.kind))
        return tuple(out)

    def foresee(self, reading: str, place: int) -> Reals | None:
        """Equally likely values [SI] of a reading not yet taken, under one set; None: no start shows it."""
        ahead, known = self.ahead([place]), readings.shown(reading)
        mean = readings.expected(reading, ahead.met)
        if mean is None or known is None:
            return None
        values = np.broadcast_to(mean, ahead.met.shape)[0]
        steps = (np.arange(FORESEEN) + 0.5) / FORESEEN
        picks = np.searchsorted(np.cumsum(ahead.weights[0]), steps).clip(max=len(values) - 1)
        unit = qty.si(qty.q(1.0, known.kind.us), known.kind)
        return np.asarray(values[picks], dtype=float) * unit

    def foresee_finding(self, finding: str, place: int) -> float | None:
        """Chance that a finding not yet looked for is there, under one set; None where no start decides it."""
        chance = self.ahead([place]).present(finding)
        return None if chance is None else float(chance[0])

    def ahead(self, places: Sequence[int]) -> Ahead:
        """What is still to be seen under several sets, given the record."""
        found = self._members[list(places)]
        weights, _ = self._by_draw(found, self.kept)
        total = weights.sum(axis=1, keepdims=True)
        weights = np.where(total > 0, weights / np.maximum(total, 1e-300), 1 / weights.shape[1])
        return Ahead(*self._starts(found), weights)

    def _goes(self, ends: Reals, weight: Reals) -> str:
        """How far a start would go, in words."""
        where = np.bincount(ends.astype(int), weights=weight, minlength=len(STAGES))
        stage = self.model.knowledge.stages[STAGES[int(where.argmax())]]
        return "it would start and run" if not stage.missing else f"it would still stop: {stage.missing.lower()}"


def _less_one(row: Array, causes: NDArray[np.intp]) -> Array:
    """A set, and below it the sets that lack each of its causes in turn."""
    out = np.repeat(row[None, :], 1 + len(causes), axis=0)
    out[np.arange(1, 1 + len(causes)), causes] = 0.0
    return out


class Ahead:
    """What is still to be seen of a start under some sets."""

    def __init__(self, whole: Start, met: Start, weights: Reals) -> None:
        self.whole, self.met, self.weights = whole, met, weights

    def present(self, finding: str) -> Reals | None:
        """Chance that a finding is there, by set; None where no start decides it."""
        if finding not in looks.LOOKS:
            return None
        told = np.broadcast_to(looks.LOOKS[finding](self.met), self.met.shape)
        return np.clip((told * self.weights).sum(axis=1), 0.001, 0.999)

    def comes_to(self, stage: str) -> Reals:
        """Chance that a start gets as far as a stage, by set."""
        return (self.met.comes_to(STAGES.index(stage)) * self.weights).sum(axis=1)


def _middle(values: Array, weight: Array) -> tuple[float, float]:
    """The middle eight tenths of weighted values."""
    order = np.argsort(values, kind="stable")
    share = np.cumsum(weight[order]) / max(float(weight.sum()), 1e-30)
    low, high = (values[order][min(int(np.searchsorted(share, at)), len(values) - 1)] for at in (0.1, 0.9))
    return float(low), float(high)
