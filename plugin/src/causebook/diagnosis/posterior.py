"""Belief over sets of causes: priors, measured evidence by the heat-and-air model, seen things by noisy-OR.

Deterministic and exact for the model as written: every set of at most three causes is summed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from causebook.diagnosis.airpath_belief import PathBelief
from causebook.diagnosis.evidence import Array, Evidence
from causebook.diagnosis.repair_gains import Repairs, accounts
from causebook.diagnosis.seen import NoisyOr, Seen, chances
from causebook.diagnosis.sets import Facts, Sets, priors, sets_of
from causebook.equipment.furnace.start.model import Ahead, FurnaceStart, Weighed
from causebook.knowledge.model import Knowledge

COMPLAINT = "complaint"
"""Group of the findings that are the complaint itself."""
EVENT_LINK = "limit-fault-stored"
INTERMITTENT = "happens-intermittently"
HEAT = 0.97
"""Chance that heat which opens the limit brings the complaint."""


@dataclass(frozen=True)
class Posterior:
    """Belief after the evidence: by set and by cause."""

    sets: Sets
    chance: Array
    net: NoisyOr
    path: PathBelief | None
    counted: tuple[str, ...]
    """Findings that were counted (of a group of views, one)."""
    by_heat: Array | None = None
    """Chance, by set, that heat and air brought the complaint about; None where nothing was measured, or where the
    complaint is no event of theirs."""
    start: Weighed | None = None
    """The start of the furnace under every set, where the complaint is one of a start."""
    places: NDArray[np.intp] | None = None
    """Places of these sets among those that `start` weighed; None: the same."""
    ahead: Ahead | None = None
    """What is still to be seen of a start under these sets; only over the likeliest."""

    @cached_property
    def marginal(self) -> dict[str, float]:
        """Cause -> probability that it is present."""
        chance = np.minimum(self.chance @ self.sets.members, 1.0)  # a sum of shares may pass one by its rounding
        return dict(zip(self.sets.causes, chance.tolist(), strict=True))

    def top_sets(self, count: int = 6) -> list[tuple[frozenset[str], float]]:
        """The most probable sets, most probable first; ties by name."""
        order = np.argsort(-self.chance, kind="stable")[:count]
        return [(self.sets.names(int(i)), float(self.chance[i])) for i in order]

    def likeliest(self, share: float = 0.999) -> Posterior:
        """The same belief over only the likeliest sets that hold `share` of it, for what need not be exact."""
        order = np.argsort(-self.chance, kind="stable")
        kept = order[: int(np.searchsorted(np.cumsum(self.chance[order]), share)) + 1]
        sets = replace(self.sets, members=self.sets.members[kept], prior=self.sets.prior[kept])
        chance = self.chance[kept] / self.chance[kept].sum()
        by_heat = None if self.by_heat is None else self.by_heat[kept]
        places = kept if self.places is None else self.places[kept]
        ahead = self.start.ahead(self.within(kept)) if self.start is not None else None
        return replace(
            self,
            ahead=ahead,
            sets=sets,
            chance=chance,
            by_heat=by_heat,
            places=places,
            net=NoisyOr(self.net.knowledge, self.sets.causes, sets.members, *([ahead.present] if ahead else [])),
        )

    def within(self, places: NDArray[np.intp]) -> list[int]:
        """Places of these sets among those that `start` weighed."""
        return [int(n) for n in (places if self.places is None else self.places[places])]

    def best_without(self, cause: str) -> frozenset[str]:
        """The most probable set that does not hold `cause`."""
        lacks = self.chance * (1 - self.sets.members[:, self.sets.causes.index(cause)])
        return self.sets.names(int(np.argmax(lacks)))


class Reasoner:
    """Belief for one case: knows its families and plate facts; weighs any amount of evidence."""

    def __init__(self, knowledge: Knowledge, families: Sequence[str], facts: Facts) -> None:
        self.knowledge, self.families = knowledge, tuple(families)
        self.sets = sets_of(knowledge, priors(knowledge, families, facts))
        self.net = NoisyOr(knowledge, self.sets.causes, self.sets.members)
        self._paths: dict[str, tuple[PathBelief, Array, Array, Array]] = {}
        self._error = self._constant("wrong-observation-share")

    def _constant(self, name: str) -> float:
        return self.knowledge.constants[name].value

    def believe(self, evidence: Evidence | None, seen: Sequence[Seen], start: FurnaceStart | None = None) -> Posterior:
        """Belief after `evidence` (None: nothing measured), the observations `seen`, in any order, and what the
        record says of a start."""
        weighed = start.weigh(self.sets) if start is not None else None
        if weighed is not None:
            seen = [s for s in seen if s.finding not in weighed.findings]
        knowledge, sets = self.knowledge, self.sets
        complaint = [s for s in seen if knowledge.findings[s.finding].group == COMPLAINT]
        happened = max((s.probability for s in complaint), default=None)
        if not self._by_heat(happened):
            # Of a complaint that is no opened limit, what was looked for on the limit is a finding like any other.
            complaint, happened = [], None
        rest = [s for s in seen if s not in complaint]
        logs = np.log(sets.prior)
        counted: list[str] = []
        for one, likelihood in self.net.once_per_group(sorted(rest, key=lambda s: s.finding), sets.prior, self._error):
            logs = logs + np.log(likelihood)
            counted.append(one.finding)
        path = by_heat = None
        if evidence is not None and evidence.speaks and self.weighs_air:
            path, weight, chance, accounted = self._measured(evidence)
            logs = logs + np.log(np.maximum(weight, 1e-300))
        if path is not None and self._by_heat(happened):
            # Somebody called because it happened: a memory that holds nothing hardly speaks against that.
            event = self._event(evidence, chance, accounted, max(happened or 0.0, self._constant("complaint-believed")))
            by_heat = HEAT * chance * accounted / np.maximum(self._happens(chance, accounted), 1e-12)
        elif weighed is not None:
            # What a start does under each set says how likely the complaint is.
            event = np.ones(len(logs))
        else:
            # No event that the air foresees: any cause of the family may have brought it, none of them hardly.
            event = self._brought(1.0 if happened is None else happened)
        logs = logs + np.log(event)
        counted += [s.finding for s in complaint]
        if weighed is not None:
            logs = logs + weighed.log_likelihood
            counted += sorted(weighed.findings)
            gone = [self.sets.causes.index(c) for c in weighed.disproved]
            if gone and not (kept := sets.members[:, gone].any(axis=1)).all():
                logs = np.where(kept, -np.inf, logs)
        belief = np.exp(logs - logs.max())
        return Posterior(sets, belief / belief.sum(), self.net, path, tuple(sorted(counted)), by_heat, weighed)

    @property
    def weighs_air(self) -> bool:
        """Does the heat-and-air model speak for these complaints?"""
        return any(self.knowledge.families[f].air_path for f in self.families)

    def _by_heat(self, happened: float | None) -> bool:
        """Is the complaint an event of heat and air, or did the limit open besides?"""
        return any(self.knowledge.families[f].by_heat for f in self.families) or (happened or 0.0) > 0.5

    def _measured(self, evidence: Evidence) -> tuple[PathBelief, Array, Array, Array]:
        key = repr(evidence)
        if key not in self._paths:
            path = PathBelief(evidence, self.knowledge, self.sets.causes)
            weight, chance = path.weigh(self.sets.members, self.sets.causes)
            weight, chance = self._there_or_not(weight, chance)
            whole = np.ones(len(weight))
            if evidence.cooling_airflow_needed is None and evidence.plate_input is not None:
                whole = accounts(
                    Repairs(path, self.knowledge, evidence.rise_maximum), self.sets.members, self.sets.causes
                )
            self._paths[key] = (path, weight, chance, whole)
        return self._paths[key]

    def _there_or_not(self, weight: Array, chance: Array) -> tuple[Array, Array]:
        """Likelihood and event by set, summed over which of its causes that come and go were there when it was read.

        One that was not there then still brings the complaint on its own.
        """
        weight, event = weight.copy(), weight * chance
        for cause, hidden in self._comes_and_goes().items():
            has, less = self.sets.without(cause)
            link = self.knowledge.causes[cause].links.get(EVENT_LINK, 0.7)
            # The set that lacks it has been summed over all the causes before this one, as has the set itself.
            brought = np.maximum(event[less], link * weight[less])
            event[has] = (1 - hidden) * event[has] + hidden * brought
            weight[has] = (1 - hidden) * weight[has] + hidden * weight[less]
        return weight, event / np.maximum(weight, 1e-300)

    def _comes_and_goes(self) -> Mapping[str, float]:
        causes = self.knowledge.causes
        return {
            c: causes[c].links[INTERMITTENT] * 0.7
            for c in self.sets.causes
            if causes[c].effects and causes[c].links.get(INTERMITTENT, 0.0) >= 0.3
        }

    def _event(self, evidence: Evidence, chance: Array, accounted: Array, happened: float) -> Array:
        """Likelihood of the complaint having happened, by set."""
        happens = self._happens(chance, accounted)
        likelihood = happened * happens + (1 - happened) * (chance * accounted + 1 - chance - happens)
        if evidence.tripped is False and evidence.watched_long:
            # It did not happen while watched: heat and air alone would not have done it now.
            likelihood = likelihood * (1 - 0.9 * chance)
        return np.maximum(likelihood, 1e-12)

    def _happens(self, chance: Array, accounted: Array) -> Array:
        """Chance that the complaint happens, by set: heat and air as one parent among the others.

        What is hot enough to open a sound limit though no cause of the set says why is not a sound furnace: such
        states are struck out.
        """
        links = {c: (self._link(c) if not self.knowledge.causes[c].effects else 0.0) for c in self.sets.causes}
        leak = self._constant("complaint-leak")
        silent = (1 - leak) * np.exp(self.sets.members @ np.log1p(-chances(self.sets.causes, links)))
        return chance * accounted * (1 - silent * (1 - HEAT)) + (1 - chance) * (1 - silent)

    def _brought(self, happened: float) -> Array:
        """Likelihood of the complaint where the heat-and-air model does not speak, by set."""
        leak, link = self._constant("complaint-leak"), self._constant("unlinked-complaint")
        happens = 1 - (1 - leak) * (1 - link) ** self.sets.members.sum(axis=1)
        likelihood: Array = np.maximum(happened * happens + (1 - happened) * (1 - happens), 1e-12)
        return likelihood

    def _link(self, cause: str) -> float:
        known = self.knowledge.causes[cause]
        if known.residual:
            return self._constant("residual-link")
        groups = [p for f, p in known.links.items() if self.knowledge.findings[f].group == COMPLAINT]
        return max(groups, default=self._constant("unlinked-complaint"))
