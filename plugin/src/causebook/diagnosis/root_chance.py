"""How likely each cause is the root: roles weighed over the likeliest sets of causes, not read off one of them.

Presence is not guilt: a loaded filter may be certain and yet not be what must be corrected.  In each of the likeliest
sets the gain in limit margin of every repair is worked out to first order about the operating point of that set (the
exact what-if is kept for the sets that are shown), and the root found as the roles find it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from math import hypot

import numpy as np
from scipy.special import ndtr

from causebook.diagnosis.airpath_belief import PATH_PARTS, PathBelief
from causebook.diagnosis.posterior import Posterior
from causebook.diagnosis.roles import damaged_by
from causebook.diagnosis.system import clean_drop
from causebook.knowledge.model import Effect, Knowledge
from causebook.physics.whatif import Plate

SETS = 40
"""How many of the likeliest sets are looked into."""


@dataclass(frozen=True, slots=True)
class RootChances:
    """Who is the root, as far as the likeliest sets tell."""

    chance: Mapping[str, float]
    """Cause -> chance that it is the root; with what is left for none they sum to one."""
    restores: Mapping[str, float]
    """Cause -> chance that correcting it alone would do, whichever repair wins most; several may."""
    leads: Mapping[str, float]
    """Cause -> share of the sets with it in which it is their root."""

    def standing(self, cause: str) -> float:
        """By which causes are ranked for being named the root: to win most and to do alone count alike."""
        return 0.5 * (self.chance[cause] + self.restores[cause])


@dataclass(frozen=True, slots=True)
class Point:
    """Where the furnace runs under one set of causes: means as bare SI numbers."""

    airflow: float
    drops: Mapping[str, float]
    total: float
    """Of the drops that the fan works against."""
    log_speed: float
    log_input: float
    """Of the input over the plate's."""
    rise: float
    eases: float
    """Gain in ln(airflow) for a fall of ln(resistance)."""


def _point(path: PathBelief, physical: frozenset[str]) -> Point:
    joint = path.joint(physical)
    found = path.moments_of(joint)
    flow, speed, plate = found.airflow.value, found.speed.value, path.evidence.plate_input
    drops = {part: drop.value for part, drop in found.drops.items()}
    beyond = drops["inlet"] - clean_drop(path, "inlet", flow)
    return Point(flow, drops, path.total_of(joint).value + max(beyond, 0.0), float(np.log(speed)),
                 float(np.log(found.input.value / plate)) if plate else 0.0, found.rise.value, path.eases(flow, speed))


def root_chances(posterior: Posterior, knowledge: Knowledge, plate: Plate) -> RootChances:
    """Chances of being the root, over all sets."""
    order = np.argsort(-posterior.chance, kind="stable")[:SETS]
    rooted: dict[str, float] = defaultdict(float)
    alone: dict[str, float] = defaultdict(float)
    held: dict[str, float] = defaultdict(float)
    gains: dict[object, dict[str, tuple[float, float]]] = {}
    for place in order:
        present = sorted(posterior.sets.names(int(place)))
        chance = float(posterior.chance[place])
        for cause in present:
            held[cause] += chance
        physical = tuple(c for c in present if knowledge.causes[c].effects)
        if physical not in gains:
            gains[physical] = _gains(physical, posterior.path, knowledge, plate) if posterior.path else {}
        heat = _by_heat(present, physical, posterior, int(place))
        for cause, share in _shares(present, physical, gains[physical], heat, posterior, knowledge).items():
            rooted[cause] += chance * share
            alone[cause] += chance * max(share, heat * gains[physical].get(cause, (0.0, 0.0))[1])
    # Elsewhere a cause is the root as often as where it was looked into; nowhere seen, as often as not.
    leads = {c: rooted[c] / held[c] if held[c] > 0 else 0.5 for c in posterior.sets.causes}
    out = {c: rooted[c] + (p - held[c]) * leads[c] for c, p in posterior.marginal.items()}
    restores = {c: min(p, max(out[c], alone[c])) for c, p in posterior.marginal.items()}
    return RootChances({c: p / max(sum(out.values()), 1.0) for c, p in out.items()}, restores, leads)


def _by_heat(present: list[str], physical: tuple[str, ...], posterior: Posterior, place: int) -> float:
    """Chance that heat brought the complaint about in one set; with causes of heat alone nothing else did."""
    if posterior.by_heat is None or not physical:
        return 0.0
    return float(posterior.by_heat[place]) if len(present) > len(physical) else 1.0


def _shares(present: list[str], physical: tuple[str, ...], gains: Mapping[str, tuple[float, float]],
            heat: float, posterior: Posterior, knowledge: Knowledge) -> dict[str, float]:
    """Who is the root of one set, and with what share: heat for the best repair, else what opens without heat."""
    if posterior.by_heat is None or not gains:
        damage = damaged_by(present, knowledge)
        able = [c for c in present if c not in damage] or present
        return {max(able, key=lambda c: (posterior.marginal[c], c)): 1.0} if able else {}
    others = [c for c in present if c not in physical]
    out: dict[str, float] = defaultdict(float)
    left = heat
    # Of those whose repair restores, the one that wins most; where none does, the one that wins most.
    ranked = sorted(physical, key=lambda c: (-gains[c][0], c))
    for cause in ranked:
        out[cause] = left * gains[cause][1]
        left *= 1 - gains[cause][1]
    out[ranked[0]] += left
    links = {c: max((p for f, p in knowledge.causes[c].links.items()
                     if knowledge.findings[f].group == "complaint"), default=0.3) for c in others}
    for cause in others:
        out[cause] += (1 - heat) * links[cause] / sum(links.values())
    return out


def _gains(physical: tuple[str, ...], path: PathBelief, knowledge: Knowledge,
           plate: Plate) -> dict[str, tuple[float, float]]:
    """Cause -> (gain in limit margin [K], chance that its repair restores), to first order about the set's means.

    A repair goes with an ordinary clean filter, and restores when the limit stays closed and the rise is in range.
    """
    if not physical:
        return {}
    e, means = path.evidence, _point(path, frozenset(physical))
    effects = {c: knowledge.causes[c].effects for c in physical}
    weight: dict[str, float] = defaultdict(float)
    for found in effects.values():
        for effect in found:
            weight[_unknown(effect)] += _size(effect)
    factor = knowledge.constants["limit-body-factor"].value
    body = factor * means.rise
    margin = (e.limit_opens - e.return_temperature.value if e.limit_opens is not None
              else factor * (plate.rise_maximum or 40.0) * 1.15) - body
    air: dict[str, float] = {}
    other: dict[str, float] = {}
    for cause, found in effects.items():
        air[cause] = sum(_air_gain(effect, path, means) * _size(effect) / weight[_unknown(effect)]
                         for effect in found)
        other[cause] = sum(_limit_gain(effect, path, means, body) for effect in found)
    filters = [c for c in physical if any(x.on == "filter" for x in effects[c])]
    constants = knowledge.constants
    shares = hypot(constants["limit-body-factor"].spread / factor, constants["airflow-by-rise-spread"].value)
    opening = constants["limit-opening-spread"].value * 5 / 9
    out = {}
    for cause in physical:
        gain = body * -np.expm1(-air[cause]) + other[cause]
        eased = sum(air[c] for c in {cause, *filters})
        after = margin + body * -np.expm1(-eased) + other[cause]
        stays = ndtr(after / hypot(shares * body * np.exp(-eased), opening))
        in_range = 1.0
        if plate.rise_maximum is not None:
            over = np.log(means.rise * np.exp(-eased) / (1.02 * plate.rise_maximum))
            in_range = ndtr(-over / constants["airflow-by-rise-spread"].value)
        out[cause] = (float(gain), float(stays * in_range))
    return out


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
    if effect.on == "blower":
        return max(-means.log_speed, 0.0)
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
