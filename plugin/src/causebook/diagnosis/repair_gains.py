"""What correcting causes would win, to first order about where the furnace runs under a set of causes.

The exact what-if (`roles`) is kept for the sets that are shown; here many sets are asked at once.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import hypot

import numpy as np
from scipy.special import ndtr

from causebook.diagnosis.airpath_belief import PATH_PARTS, PathBelief
from causebook.diagnosis.evidence import Array
from causebook.diagnosis.system import clean_drop
from causebook.knowledge.model import Effect, Knowledge


@dataclass(frozen=True, slots=True)
class Point:
    """Where the furnace runs under one set of causes: means as bare SI numbers."""

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
    """What one correction wins: fall of ln(rise), and of the limit's body below its opening [K]."""

    air: float
    limit: float


@dataclass(frozen=True, slots=True)
class Stand:
    """How a furnace stands under a set of causes, and what each correction wins."""

    body: float
    """The limit's body above the return air [K]."""
    margin: float
    """Of the limit before any correction [K]; negative: it opens."""
    rise: float
    gains: Mapping[str, Gain]


class Repairs:
    """Asks the belief over the air path what corrections win."""

    def __init__(self, path: PathBelief, knowledge: Knowledge, rise_maximum: float | None) -> None:
        self.path, self.knowledge, self.rise_maximum = path, knowledge, rise_maximum
        constants = knowledge.constants
        self._factor = constants["limit-body-factor"].value
        self._shares = hypot(constants["limit-body-factor"].spread / self._factor,
                             constants["airflow-by-rise-spread"].value)
        self._opening = constants["limit-opening-spread"].value * 5 / 9
        self._rise_spread = constants["airflow-by-rise-spread"].value

    def stand(self, physical: Sequence[str]) -> Stand:
        """How the furnace stands with these causes of heat and air."""
        e, at = self.path.evidence, _point(self.path, frozenset(physical))
        effects = {c: self.knowledge.causes[c].effects for c in physical}
        weight: dict[str, float] = defaultdict(float)
        for found in effects.values():
            for effect in found:
                weight[_unknown(effect)] += _size(effect)
        hot = max((x.factor for found in effects.values() for x in found if x.on == "hot-spot"), default=1.0)
        body = self._factor * at.rise * hot
        gains = {c: Gain(sum(_air_gain(x, self.path, at) * _size(x) / weight[_unknown(x)] for x in found),
                         sum(_limit_gain(x, self.path, at, body) for x in found)) for c, found in effects.items()}
        opens = (e.limit_opens - e.return_temperature.value if e.limit_opens is not None
                 else self._factor * (self.rise_maximum or 40.0) * 1.15)
        weak = max((gains[c].limit for c, found in effects.items() if any(x.on == "limit" for x in found)), default=0.0)
        return Stand(body, opens - weak - body, at.rise, gains)

    def restores(self, body: Array, margin: Array, rise: Array, air: Array, limit: Array) -> Array:
        """Chance that the limit stays closed and the rise is in range after corrections that win `air` and `limit`."""
        after = margin + body * -np.expm1(-air) + limit
        return np.asarray(ndtr(after / np.hypot(self._shares * body * np.exp(-air), self._opening))
                          * self.in_range(rise, air), float)

    def ends(self, body: Array, margin: Array, air: Array, limit: Array) -> Array:
        """The same chance for the limit alone, given that heat opened it before: what wins nothing ends nothing."""
        spread = np.hypot(self._shares * body, self._opening)
        opened = ndtr(-margin / spread)
        still = ndtr(-(margin + body * -np.expm1(-air) + limit) / spread)
        return np.asarray(1 - still / np.maximum(opened, 1e-12), float)

    def in_range(self, rise: Array, air: Array) -> Array:
        """Chance that the rise is in range after corrections that win `air`."""
        if self.rise_maximum is None:
            return np.ones_like(air)
        over = np.log(np.maximum(rise, 0.1)) - air - np.log(1.02 * self.rise_maximum)
        return np.asarray(ndtr(-over / self._rise_spread), float)


def _point(path: PathBelief, physical: frozenset[str]) -> Point:
    joint = path.joint(physical)
    found = path.moments_of(joint)
    flow, speed, plate = found.airflow.value, found.speed.value, path.evidence.plate_input
    drops = {part: drop.value for part, drop in found.drops.items()}
    beyond = drops["inlet"] - clean_drop(path, "inlet", flow)
    return Point(flow, drops, path.total_of(joint).value + max(beyond, 0.0), float(np.log(speed)),
                 float(np.log(found.motor.value)), float(np.log(found.input.value / plate)) if plate else 0.0,
                 found.rise.value, path.eases(flow, speed))


def _unknown(effect: Effect) -> str:
    return "blower" if effect.on == "setting" else effect.on


def _size(effect: Effect) -> float:
    return abs(float(np.log(abs(effect.factor)))) if effect.factor else 1.0


def _air_gain(effect: Effect, path: PathBelief, means: Point) -> float:
    """Fall of ln(rise) when one effect is undone."""
    e = path.evidence
    if effect.on in PATH_PARTS:
        drop = means.drops[effect.on]
        spared = max(drop - clean_drop(path, effect.on, means.airflow, usual=effect.labelled), 0.0)
        return float(means.eases * -np.log(max(1 - spared / max(means.total, 1e-6), 0.05)))
    if effect.on in ("motor", "blower"):
        return max(-(means.log_motor if effect.on == "motor" else means.log_speed - means.log_motor), 0.0)
    if effect.on == "setting":
        strength = e.setting_strength if e.setting_strength is not None else np.exp(means.log_speed)
        return float(max(-np.log(strength), 0.03))
    if effect.on == "input":
        return max(means.log_input, 0.0)
    return 0.0


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
    """Chance, by set, that correcting all of its causes of heat and air would restore.

    Each is asked alone, and what they win is added up: exact enough to tell whether a set says why it is hot.
    A family's "something else" accounts for anything.
    """
    known = repairs.knowledge.causes
    physical = [n for n, c in enumerate(causes) if known[c].effects]
    none = repairs.stand(())
    alone = {n: repairs.stand((causes[n],)) for n in physical}
    has = members[:, physical]
    count = np.maximum(has.sum(axis=1), 1.0)

    def mean(values: Iterable[float], otherwise: float) -> Array:
        told: Array = has @ np.array(list(values)) / count
        return np.where(has.any(axis=1), told, otherwise)

    body = mean((alone[n].body for n in physical), none.body)
    rise = mean((alone[n].rise for n in physical), none.rise)
    limit = has @ np.array([alone[n].gains[causes[n]].limit for n in physical])
    margin = mean((alone[n].margin + alone[n].gains[causes[n]].limit for n in physical), none.margin) - limit
    air = has @ np.array([alone[n].gains[causes[n]].air for n in physical])
    chance = repairs.ends(body, margin, air, limit) * repairs.in_range(rise, air)
    residual = np.array([known[c].residual for c in causes], float)
    return np.where(members @ residual > 0, 1.0, chance)
