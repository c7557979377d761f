"""How likely each cause is the root: roles weighed over the likeliest sets of causes, not read off one of them.

Presence is not guilt: a loaded filter may be certain and yet not be what must be corrected.  In each of the likeliest
sets the gain in limit margin of every repair is worked out to first order about the operating point of that set (the
exact what-if is kept for the sets that are shown), and the root found as the roles find it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from causebook.diagnosis.airpath_belief import PATH_PARTS, Means, PathBelief
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
    leads: Mapping[str, float]
    """Cause -> share of the sets with it in which it is their root."""


def root_chances(posterior: Posterior, knowledge: Knowledge, plate: Plate) -> RootChances:
    """Chances of being the root, over all sets."""
    order = np.argsort(-posterior.chance, kind="stable")[:SETS]
    rooted: dict[str, float] = defaultdict(float)
    held: dict[str, float] = defaultdict(float)
    gains: dict[object, dict[str, tuple[float, bool]]] = {}
    for place in order:
        present = sorted(posterior.sets.names(int(place)))
        chance = float(posterior.chance[place])
        for cause in present:
            held[cause] += chance
        physical = tuple(c for c in present if knowledge.causes[c].effects)
        if physical not in gains:
            gains[physical] = _gains(physical, posterior.path, knowledge, plate) if posterior.path else {}
        for cause, share in _shares(present, physical, gains[physical], posterior, int(place), knowledge).items():
            rooted[cause] += chance * share
    # Elsewhere a cause is the root as often as where it was looked into; nowhere seen, as often as not.
    leads = {c: rooted[c] / held[c] if held[c] > 0 else 0.5 for c in posterior.sets.causes}
    out = {c: rooted[c] + (p - held[c]) * leads[c] for c, p in posterior.marginal.items()}
    return RootChances({c: p / max(sum(out.values()), 1.0) for c, p in out.items()}, leads)


def _shares(present: list[str], physical: tuple[str, ...], gains: Mapping[str, tuple[float, bool]],
            posterior: Posterior, place: int, knowledge: Knowledge) -> dict[str, float]:
    """Who is the root of one set, and with what share: heat for the best repair, else what opens without heat."""
    if posterior.by_heat is None or not gains:
        damage = damaged_by(present, knowledge)
        able = [c for c in present if c not in damage] or present
        return {max(able, key=lambda c: (posterior.marginal[c], c)): 1.0} if able else {}
    others = [c for c in present if c not in physical]
    heat = float(posterior.by_heat[place]) if others else 1.0
    restoring = [c for c in physical if gains[c][1]] or list(physical)
    out: dict[str, float] = defaultdict(float)
    out[max(restoring, key=lambda c: (gains[c][0], c))] = heat
    links = {c: max((p for f, p in knowledge.causes[c].links.items()
                     if knowledge.findings[f].group == "complaint"), default=0.3) for c in others}
    for cause in others:
        out[cause] += (1 - heat) * links[cause] / sum(links.values())
    return out


def _gains(physical: tuple[str, ...], path: PathBelief, knowledge: Knowledge,
           plate: Plate) -> dict[str, tuple[float, bool]]:
    """Cause -> (gain in limit margin [K], does its repair restore?), to first order about the set's own means."""
    if not physical:
        return {}
    e, means = path.evidence, path.means(frozenset(physical))
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
    out = {}
    for cause in physical:
        gain = body * -np.expm1(-air[cause]) + other[cause]
        together = {cause, *filters}
        eased = sum(air[c] for c in together)
        after = margin + body * -np.expm1(-eased) + other[cause]
        in_range = plate.rise_maximum is None or means.rise * np.exp(-eased) <= plate.rise_maximum * 1.02
        out[cause] = (float(gain), bool(after > 0 and in_range))
    return out


def _unknown(effect: Effect) -> str:
    return "blower" if effect.on == "setting" else effect.on


def _size(effect: Effect) -> float:
    return abs(float(np.log(abs(effect.factor)))) if effect.factor else 1.0


def _air_gain(effect: Effect, path: PathBelief, means: Means) -> float:
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


def _limit_gain(effect: Effect, path: PathBelief, means: Means, body: float) -> float:
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
