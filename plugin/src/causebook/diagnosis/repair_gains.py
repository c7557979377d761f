"""What correcting causes would win, to first order about where the furnace runs under a set of causes.

The exact what-if (`roles`) is kept for the sets that are shown; here many sets are asked at once.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import hypot

import numpy as np
from scipy.special import log_ndtr, ndtr

from causebook.diagnosis.airpath_belief import PATH_PARTS, PathBelief
from causebook.diagnosis.evidence import Array
from causebook.diagnosis.system import AFTER, BEFORE, clean_drop
from causebook.knowledge.model import Effect, Knowledge

Numbers = float | Array

LEFT = 0.05
"""Least share of the total that a corrected path still takes."""


@dataclass(frozen=True, slots=True)
class Point:
    """Where the furnace runs under one set of causes, when heat opened its limit: means as bare SI numbers."""

    airflow: float
    drops: Mapping[str, float]
    total: float
    """Of the drops that the fan works against."""
    log_speed: float
    log_motor: float
    """The motor's part of it."""
    log_input: float
    """Of the input over the plate's."""
    rise: float
    eases: float
    """Gain in ln(airflow) for a fall of ln(resistance)."""


@dataclass(frozen=True, slots=True)
class Gain:
    """What one correction wins."""

    before: float
    """Share of the total that the fan works against, spared before the wheel."""
    after: float
    """The same, after the wheel."""
    speed: float
    """Rise of ln(blower speed)."""
    input: float
    """Fall of ln(input)."""
    limit: float
    """Of the limit's body below its opening [K]."""


@dataclass(frozen=True, slots=True)
class Stand:
    """How a furnace stands under a set of causes, and what each correction wins."""

    body: float
    """The limit's body above the return air [K]."""
    margin: float
    """Of the limit before any correction [K]; negative: it opens."""
    rise: float
    eases: float
    """Gain in ln(airflow) for a fall of ln(resistance)."""
    excess: tuple[float, float]
    """Beyond clean parts, before and after the wheel, as shares of the total: nothing spares more."""
    gains: Mapping[str, Gain]

    def air(self, which: Iterable[str]) -> float:
        """Fall of ln(rise) when some of the causes are corrected."""
        found = [self.gains[c] for c in which]
        return float(
            _falls((sum(g.before for g in found), sum(g.after for g in found)), self.excess, self.eases)
            + sum(g.speed + g.input for g in found)
        )


class Repairs:
    """Asks the belief over the air path what corrections win."""

    def __init__(self, path: PathBelief, knowledge: Knowledge, rise_maximum: float | None) -> None:
        self.path, self.knowledge, self.rise_maximum = path, knowledge, rise_maximum
        constants = knowledge.constants
        self._factor = constants["limit-body-factor"].value
        self._shares = hypot(
            constants["limit-body-factor"].spread / self._factor, constants["airflow-by-rise-spread"].value
        )
        self._opening = constants["limit-opening-spread"].value * 5 / 9
        self._rise_spread = constants["airflow-by-rise-spread"].value

    def stand(self, physical: Sequence[str]) -> Stand:
        """How the furnace stands with these causes of heat and air."""
        at = _point(self.path, frozenset(physical))
        effects = {c: self.knowledge.causes[c].effects for c in physical}
        weight: dict[str, float] = defaultdict(float)
        for found in effects.values():
            for effect in found:
                weight[_unknown(effect)] += _size(effect)
        hot = max((x.factor for found in effects.values() for x in found if x.on == "hot-spot"), default=1.0)
        body = self._factor * at.rise * hot
        gains = {c: self._gain(found, at, weight, body) for c, found in effects.items()}
        opens = self.path.limit.opens - self.path.evidence.return_temperature.value
        weak = max((gains[c].limit for c, found in effects.items() if any(x.on == "limit" for x in found)), default=0.0)
        excess = tuple(sum(max(_spared(self.path, part, at), 0.0) for part in side) for side in (BEFORE, AFTER))
        return Stand(body, opens - weak - body, at.rise, at.eases, (excess[0], excess[1]), gains)

    def _gain(self, effects: Iterable[Effect], at: Point, weight: Mapping[str, float], body: float) -> Gain:
        won: dict[str, float] = defaultdict(float)
        for x in effects:
            share = _size(x) / weight[_unknown(x)]
            if x.on in PATH_PARTS:
                won["before" if x.on in BEFORE else "after"] += share * max(
                    _spared(self.path, x.on, at, usual=x.labelled), 0.0
                )
            elif x.on in ("motor", "blower"):
                won["speed"] += share * max(-(at.log_motor if x.on == "motor" else at.log_speed - at.log_motor), 0.0)
            elif x.on == "setting":
                strength = self.path.evidence.setting_strength
                won["speed"] += share * max(-(np.log(strength) if strength is not None else at.log_speed), 0.03)
            elif x.on == "input":
                won["input"] += share * max(at.log_input, 0.0)
            else:
                won["limit"] += _limit_gain(x, self.path, at, body)
        return Gain(won["before"], won["after"], won["speed"], won["input"], won["limit"])

    def ends(self, body: Array, margin: Array, air: Array, limit: Array) -> Array:
        """Chance that the limit stays closed after corrections that win `air` and `limit`, given that heat opened it
        before: what wins nothing ends nothing."""
        spread = np.hypot(self._shares * body, self._opening)
        opened, still = log_ndtr(-margin / spread), log_ndtr(-(margin + body * -np.expm1(-air) + limit) / spread)
        return np.asarray(-np.expm1(still - opened), float)

    def in_range(self, rise: Array, air: Array) -> Array:
        """Chance that the rise is in range after corrections that win `air`."""
        if self.rise_maximum is None:
            return np.ones_like(air)
        over = np.log(np.maximum(rise, 0.1)) - air - np.log(1.02 * self.rise_maximum)
        return np.asarray(ndtr(-over / self._rise_spread), float)


def _point(path: PathBelief, physical: frozenset[str]) -> Point:
    joint = path.joint(physical, opened=True)
    found = path.moments_of(joint)
    flow, speed, plate = found.airflow.value, found.speed.value, path.evidence.plate_input
    drops = {part: drop.value for part, drop in found.drops.items()}
    beyond = drops["inlet"] - clean_drop(path, "inlet", flow)
    return Point(
        flow,
        drops,
        path.total_of(joint).value + max(beyond, 0.0),
        float(np.log(speed)),
        float(np.log(found.motor.value)),
        float(np.log(found.input.value / plate)) if plate else 0.0,
        found.rise.value,
        path.fan.eases(flow, speed),
    )


def _falls(spared: tuple[Numbers, Numbers], excess: tuple[Numbers, Numbers], eases: Numbers) -> Array:
    """Fall of ln(rise) by parts that take less, before and after the wheel: on each side they spare no more than is
    beyond clean there."""
    both = np.minimum(spared[0], excess[0]) + np.minimum(spared[1], excess[1])
    return np.asarray(-eases * np.log(np.maximum(1 - both, LEFT)))


def _unknown(effect: Effect) -> str:
    return "blower" if effect.on == "setting" else effect.on


def _size(effect: Effect) -> float:
    return abs(float(np.log(abs(effect.factor)))) if effect.factor else 1.0


def _spared(path: PathBelief, part: str, at: Point, usual: bool = False) -> float:
    """What a clean part would spare, as a share of the total that the fan works against."""
    return float((at.drops[part] - clean_drop(path, part, at.airflow, usual=usual)) / max(at.total, 1e-6))


def _limit_gain(effect: Effect, path: PathBelief, means: Point, body: float) -> float:
    """Gain in limit margin [K] of undoing what acts on the limit itself or on the return air."""
    e = path.evidence
    if effect.on == "limit":
        found = e.limit_found.value - e.limit_opens if e.limit_found and e.limit_opens is not None else None
        return max(-(found if found is not None else effect.factor * 5 / 9), 0.0)
    if effect.on == "hot-spot":
        return body * (1 - 1 / effect.factor)
    if effect.on == "recirculation":
        gap = e.return_above_room
        return max(gap.value, 0.0) if gap is not None else effect.factor / (1 - effect.factor) * means.rise
    return 0.0


def accounts(repairs: Repairs, members: Array, causes: Sequence[str]) -> Array:
    """Chance, by set, that correcting all of its causes of heat and air restores, given that heat opened the limit.

    Each cause is asked alone.  What they would spare on one side of the wheel is added up to all that is beyond clean
    there; of several that slow the blower, or raise the input, the one that explains most counts.
    A family's "something else" accounts for anything.
    """
    known = repairs.knowledge.causes
    physical = [n for n, c in enumerate(causes) if known[c].effects]
    none, alone = repairs.stand(()), [repairs.stand((causes[n],)) for n in physical]
    own = [stand.gains[causes[n]] for n, stand in zip(physical, alone, strict=True)]
    has = members[:, physical]
    some, count = has.any(axis=1), np.maximum(has.sum(axis=1), 1.0)

    def mean(of: Callable[[Stand], float]) -> Array:
        told: Array = has @ np.array([of(stand) for stand in alone]) / count
        return np.where(some, told, of(none))

    def total(of: Callable[[Gain], float]) -> Array:
        told: Array = has @ np.array([of(gain) for gain in own])
        return told

    def most(values: Iterable[float]) -> Array:
        told: Array = (has * np.array(list(values))).max(axis=1, initial=0.0)
        return told

    air = _falls(
        (total(lambda g: g.before), total(lambda g: g.after)),
        (most(s.excess[0] for s in alone), most(s.excess[1] for s in alone)),
        mean(lambda s: s.eases),
    )
    air = air + most(g.speed for g in own) + most(g.input for g in own)
    limit = total(lambda g: g.limit)
    body, rise = mean(lambda s: s.body), mean(lambda s: s.rise)
    chance = repairs.ends(body, mean(lambda s: s.margin), air, limit) * repairs.in_range(rise, air)
    residual = np.array([known[c].residual for c in causes], float)
    return np.where(members @ residual > 0, 1.0, chance)
