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

from causebook.diagnosis.posterior import Posterior
from causebook.diagnosis.repair_gains import Repairs
from causebook.diagnosis.roles import damaged_by
from causebook.knowledge.model import Knowledge
from causebook.physics.whatif import Plate

SETS = 25
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


def root_chances(posterior: Posterior, knowledge: Knowledge, plate: Plate) -> RootChances:
    """Chances of being the root, over all sets."""
    order = np.argsort(-posterior.chance, kind="stable")[:SETS]
    rooted: dict[str, float] = defaultdict(float)
    alone: dict[str, float] = defaultdict(float)
    held: dict[str, float] = defaultdict(float)
    gains: dict[object, dict[str, tuple[float, float]]] = {}
    repairs = Repairs(posterior.path, knowledge, plate.rise_maximum) if posterior.path else None
    starts = posterior.start.repairs_of(posterior.within(order)) if by_start(posterior) else None
    for rank, place in enumerate(order):
        present = sorted(posterior.sets.names(int(place)))
        chance = float(posterior.chance[place])
        for cause in present:
            held[cause] += chance
        if starts is not None:
            for cause, repair in starts[rank].items():
                rooted[cause] += chance * repair.share
                alone[cause] += chance * repair.ends
            continue
        physical = tuple(c for c in present if knowledge.causes[c].effects)
        if physical not in gains:
            gains[physical] = _gains(physical, repairs) if repairs else {}
        heat = _by_heat(present, physical, posterior, int(place))
        for cause, share in _shares(present, physical, gains[physical], heat, posterior, knowledge).items():
            rooted[cause] += chance * share
            alone[cause] += chance * max(share, heat * gains[physical].get(cause, (0.0, 0.0))[1])
    # Elsewhere a cause is the root as often as where it was looked into; nowhere seen, as often as not.
    leads = {c: rooted[c] / held[c] if held[c] > 0 else 0.5 for c in posterior.sets.causes}
    out = {c: rooted[c] + (p - held[c]) * leads[c] for c, p in posterior.marginal.items()}
    restores = {c: min(p, max(out[c], alone[c])) for c, p in posterior.marginal.items()}
    return RootChances({c: p / max(sum(out.values()), 1.0) for c, p in out.items()}, restores, leads)


def by_start(posterior: Posterior) -> bool:
    """Does the model of a start say who is the root?"""
    return posterior.start is not None and posterior.by_heat is None


def _by_heat(present: list[str], physical: tuple[str, ...], posterior: Posterior, place: int) -> float:
    """Chance that heat brought the complaint about in one set; with causes of heat alone nothing else did."""
    if posterior.by_heat is None or not physical:
        return 0.0
    return float(posterior.by_heat[place]) if len(present) > len(physical) else 1.0


def _shares(
    present: list[str],
    physical: tuple[str, ...],
    gains: Mapping[str, tuple[float, float]],
    heat: float,
    posterior: Posterior,
    knowledge: Knowledge,
) -> dict[str, float]:
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
    links = {
        c: max(
            (p for f, p in knowledge.causes[c].links.items() if knowledge.findings[f].group == "complaint"), default=0.3
        )
        for c in others
    }
    for cause in others:
        out[cause] += (1 - heat) * links[cause] / sum(links.values())
    return out


def _gains(physical: tuple[str, ...], repairs: Repairs) -> dict[str, tuple[float, float]]:
    """Cause -> (gain in limit margin [K], chance that its repair restores), given that heat opened the limit.

    A repair goes with an ordinary clean filter, and restores when the limit stays closed and the rise is in range.
    """
    if not physical:
        return {}
    stand = repairs.stand(physical)
    effects = repairs.knowledge.causes
    filters = [c for c in physical if any(x.on == "filter" for x in effects[c].effects)]
    out = {}
    body, margin, rise = (np.array(x) for x in (stand.body, stand.margin, stand.rise))
    for cause in physical:
        limit, eased = np.array(stand.gains[cause].limit), np.array(stand.air({cause, *filters}))
        restores = repairs.ends(body, margin, eased, limit) * repairs.in_range(rise, eased)
        out[cause] = (float(stand.body * -np.expm1(-stand.air({cause})) + limit), float(restores))
    return out
