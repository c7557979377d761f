"""How likely each cause is the root: weighed over the likeliest sets of causes, not read off one of them.

Presence is not guilt: a loaded filter may be certain and yet not be what must be corrected.  In each of the likeliest
sets the model puts right each cause alone; where nothing that a model knows brought the complaint about, the causes of
the set share it in proportion to how likely each would bring it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from causebook.belief.posterior import COMPLAINT, Posterior
from causebook.belief.protocol import Repair, Share
from causebook.belief.roles import damaged_by
from causebook.knowledge.model import Knowledge

SETS = 40
"""How many of the likeliest sets are looked into."""


@dataclass(frozen=True, slots=True)
class RootChances:
    """Who is the root, as far as the likeliest sets tell."""

    chance: Mapping[str, float]
    """Cause -> chance that it is the root; with what is left for none they sum to one."""
    restores: Mapping[str, float]
    """Cause -> chance that naming it is right: correcting it alone would do, or nothing alone does and it wins most."""
    leads: Mapping[str, float]
    """Cause -> share of the sets with it in which it is their root."""

    def standing(self, cause: str) -> float:
        """By which causes are ranked for being named the root: to win most and to do alone count alike."""
        return 0.5 * (self.chance[cause] + self.restores[cause])


def root_chances(posterior: Posterior, knowledge: Knowledge) -> RootChances:
    """Chances of being the root, over all sets."""
    order = np.argsort(-posterior.chance, kind="stable")[:SETS]
    rooted: dict[str, float] = defaultdict(float)
    right: dict[str, float] = defaultdict(float)
    held: dict[str, float] = defaultdict(float)
    starts = _starts(posterior, order)
    for rank, number in enumerate(map(int, order)):
        present = sorted(posterior.sets.names(number))
        chance = float(posterior.chance[number])
        if starts is not None:
            for cause in present:
                held[cause] += chance
            for cause, repair in starts[rank].items():
                rooted[cause] += chance * repair.share
                right[cause] += chance * repair.ends
            continue
        repairs = posterior.repairs(number) if posterior.through is not None else {}
        through = float(posterior.through[number]) if posterior.through is not None and repairs else 0.0
        others = _others(present, repairs, posterior, knowledge)
        for cause in present:
            held[cause] += chance
            share = (1 - through) * others.get(cause, 0.0)
            if cause in repairs:
                rooted[cause] += chance * (share + through * repairs[cause].root)
                right[cause] += chance * (share + through * repairs[cause].does)
            else:
                rooted[cause] += chance * share
                right[cause] += chance * share
    # Elsewhere a cause is the root as often as where it was looked into; nowhere seen, as often as not.
    leads = {c: rooted[c] / held[c] if held[c] > 0 else 0.5 for c in posterior.sets.causes}
    out = {c: rooted[c] + (p - held[c]) * leads[c] for c, p in posterior.marginal.items()}
    total = max(sum(out.values()), 1.0)
    restores = {c: min(p, max(out[c], right[c])) for c, p in posterior.marginal.items()}
    return RootChances({c: p / total for c, p in out.items()}, restores, leads)


def _starts(posterior: Posterior, order: NDArray[np.intp]) -> Sequence[Mapping[str, Share]] | None:
    """What a model of a sequence says of repairs, where it is the one that follows the complaint."""
    if posterior.followed is None or posterior.through is not None:
        return None
    return posterior.followed.repairs_of([posterior.place(int(n)) for n in order])


def _others(
    present: list[str], repairs: Mapping[str, Repair], posterior: Posterior, knowledge: Knowledge
) -> Mapping[str, float]:
    """Who shares a complaint that no model brought about, and with what share: damage is not the root of its cause."""
    outside = [c for c in present if c not in repairs] if posterior.through is not None else present
    damage = damaged_by(present, knowledge)
    able = [c for c in outside if c not in damage] or outside or list(present)
    weight = {c: _brings(c, posterior, knowledge) for c in able}
    total = sum(weight.values())
    return {c: w / total for c, w in weight.items()} if total else {}


def _brings(cause: str, posterior: Posterior, knowledge: Knowledge) -> float:
    """How likely a cause brings the complaint of its family, by its odds: what is as good as certain explains most."""
    links = [p for f, p in knowledge.causes[cause].links.items() if knowledge.findings[f].group == COMPLAINT]
    chance = min(posterior.marginal[cause], 0.999)
    return max(links, default=0.3) * chance / (1 - chance)
