"""Belief over sets of causes: priors, what models weigh, what was seen by noisy-OR.

Every set of at most three causes is summed.  A worked example: two sets, {filter} with prior 0.03 and {coil} with 0.02.
The readings are four times as likely under the second, a lamp that shows through the filter twenty times: the odds of
coil to filter are 0.02/0.03 · 4 · 20 = 53, so the coil is believed at 0.98.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from causebook.belief.arrays import Array
from causebook.belief.cause_sets import Facts, Sets, priors, sets_of
from causebook.belief.noisy_or import NoisyOr, Seen, chances
from causebook.belief.protocol import Ahead, Followed, Repair, Told
from causebook.belief.repaired import Again, likelihood_after
from causebook.knowledge.model import Knowledge

COMPLAINT = "complaint"
"""Group of the findings that are the complaint itself."""
EVENT_LINK = "limit-fault-stored"
INTERMITTENT = "happens-intermittently"
THROUGH = 0.97
"""Chance that what a model says brings the complaint about does bring it (expert estimate)."""
AWAY = 0.7
"""How often what comes and goes is away while somebody reads, over how often it comes and goes (expert estimate)."""
WHOLE = 80
"""How many of the likeliest sets are asked whether putting all of them right would leave the machine sound."""


@dataclass(frozen=True)
class Posterior:
    """Belief after the evidence: by set and by cause."""

    sets: Sets
    chance: Array
    net: NoisyOr
    told: Told | None
    """What the machine's model makes of the readings; None where it was not asked."""
    counted: tuple[str, ...]
    """Findings that were counted (of a group of views, one)."""
    through: Array | None = None
    """Chance, by set, that the complaint came about through the model; None where it is no event of it."""
    followed: Followed | None = None
    """What a model of a sequence makes of the record, where the complaint is one of a start."""
    ahead: Ahead | None = None
    """What is still to be seen of a start under these sets; only over the likeliest."""
    places: Array = field(default_factory=lambda: np.empty(0))
    """Place of each set in what the model was asked about; empty: the same."""

    @cached_property
    def marginal(self) -> dict[str, float]:
        """Cause -> probability that it is present."""
        return dict(zip(self.sets.causes, np.minimum(self.chance @ self.sets.members, 1.0).tolist(), strict=True))

    def top_sets(self, count: int = 6) -> list[tuple[frozenset[str], float]]:
        """The most probable sets, most probable first; ties by name."""
        order = np.argsort(-self.chance, kind="stable")[:count]
        return [(self.sets.names(int(i)), float(self.chance[i])) for i in order]

    def likeliest(self, share: float = 0.999) -> Posterior:
        """The same belief over only the likeliest sets that hold `share` of it, for what need not be exact."""
        order = np.argsort(-self.chance, kind="stable")
        kept = order[: int(np.searchsorted(np.cumsum(self.chance[order]), share)) + 1]
        sets = replace(self.sets, members=self.sets.members[kept], prior=self.sets.prior[kept])
        places = kept if self.places.size == 0 else self.places[kept]
        ahead = self.followed.ahead([int(n) for n in places]) if self.followed is not None else None
        return replace(
            self,
            ahead=ahead,
            sets=sets,
            chance=self.chance[kept] / self.chance[kept].sum(),
            through=None if self.through is None else self.through[kept],
            net=NoisyOr(self.net.knowledge, self.sets.causes, sets.members, *([ahead.present] if ahead else [])),
            places=places,
        )

    def place(self, number: int) -> int:
        """Place of a set in what the model was asked about."""
        return int(self.places[number]) if self.places.size else number

    def repairs(self, number: int) -> dict[str, Repair]:
        """What putting right each cause of a set would do, as far as the model knows."""
        return dict(self.told.repairs(self.place(number))) if self.told is not None else {}


class Reasoner:
    """Belief for one case: knows its families and plate facts; weighs any amount of evidence."""

    def __init__(self, knowledge: Knowledge, families: Sequence[str], facts: Facts) -> None:
        self.knowledge, self.families = knowledge, tuple(families)
        self.sets = sets_of(knowledge, priors(knowledge, families, facts))
        self.net = NoisyOr(knowledge, self.sets.causes, self.sets.members)
        self._error = self._constant("wrong-observation-share")

    def _constant(self, name: str) -> float:
        return self.knowledge.constants[name].value

    def believe(
        self, told: Told | None, seen: Sequence[Seen], followed: Followed | None = None, again: Sequence[Again] = ()
    ) -> Posterior:
        """Belief after what models weighed (None: nothing), the observations `seen`, in any order, and what was seen
        `again` after repairs."""
        knowledge, sets = self.knowledge, self.sets
        if followed is not None:
            seen = [s for s in seen if s.finding not in followed.findings]
        complaint = [s for s in seen if knowledge.findings[s.finding].group == COMPLAINT]
        happened = max((s.probability for s in complaint), default=None)
        if not self._is_event(happened):
            # Of a complaint that is no event of the model, what was looked for there is a finding like any other.
            complaint, happened = [], None
        rest = [s for s in seen if s not in complaint]
        logs = np.log(sets.prior)
        counted: list[str] = []
        for one, likelihood in self.net.once_per_group(sorted(rest, key=lambda s: s.finding), sets.prior, self._error):
            logs = logs + np.log(likelihood)
            counted.append(one.finding)
        if again:
            logs = logs + np.log(likelihood_after(again, sets, knowledge, self._error))
        through = None
        if told is not None and self._is_event(happened):
            # Somebody called because it happened: a memory that holds nothing hardly speaks against that.
            believed = max(happened or 0.0, self._constant("complaint-believed"))
            likely, through = self._event(told, logs, believed)
        elif told is not None:
            likely = told.whole * self._brought(happened, followed)
        else:
            likely = self._brought(happened, followed)
        logs = logs + np.log(np.maximum(likely, 1e-300))
        counted += [s.finding for s in complaint]
        if followed is not None:
            logs = logs + followed.log_likelihood
            counted += sorted(followed.findings)
            gone = [sets.causes.index(c) for c in followed.disproved]
            if gone and not (struck := sets.members[:, gone].any(axis=1)).all():
                logs = np.where(struck, -np.inf, logs)
        belief = np.exp(logs - logs.max())
        return Posterior(sets, belief / belief.sum(), self.net, told, tuple(sorted(counted)), through, followed)

    @property
    def asks_model(self) -> bool:
        """Does the machine's model speak for these complaints?"""
        return any(self.knowledge.families[f].air_path for f in self.families)

    def _is_event(self, happened: float | None) -> bool:
        """Is the complaint an event of the model, or did the limit open besides?"""
        return any(self.knowledge.families[f].by_heat for f in self.families) or (happened or 0.0) > 0.5

    def _event(self, told: Told, logs: Array, happened: float) -> tuple[Array, Array]:
        """Likelihood of readings and complaint by set, and the chance that the model brought the complaint about."""
        through, besides, calm = self._there_or_not(told.through, told.besides, told.calm)
        silent = self._silent()
        whole = np.full(len(through), UNASKED)
        asked = logs + np.log(np.maximum(through, 1e-300))
        places = np.argsort(-asked, kind="stable")[:WHOLE]
        whole[places] = told.accounts(places.tolist())
        # A set that would leave the machine as it is, all of it put right, is no answer to what happened.
        by_model = THROUGH * through * whole
        otherwise = besides * (1 - silent)
        likely = happened * (by_model + otherwise) + (1 - happened) * calm * silent
        return likely, by_model / np.maximum(by_model + otherwise, 1e-300)

    def _there_or_not(self, through: Array, besides: Array, calm: Array) -> tuple[Array, Array, Array]:
        """The three likelihoods, summed over which causes that come and go were there when it was read.

        One that was not there then still brings the complaint on its own.
        """
        through, besides, calm = through.copy(), besides.copy(), calm.copy()
        for cause, hidden in self._comes_and_goes().items():
            has, less = self.sets.without(cause)
            link = self.knowledge.causes[cause].links.get(EVENT_LINK, AWAY)
            away = through[less] + calm[less]
            through[has] = (1 - hidden) * through[has] + hidden * np.maximum(through[less], link * away)
            besides[has] = (1 - hidden) * besides[has] + hidden * besides[less]
            calm[has] = (1 - hidden) * calm[has] + hidden * (1 - link) * calm[less]
        return through, besides, calm

    def _comes_and_goes(self) -> dict[str, float]:
        causes = self.knowledge.causes
        return {
            c: causes[c].links[INTERMITTENT] * AWAY
            for c in self.sets.causes
            if causes[c].effects and causes[c].links.get(INTERMITTENT, 0.0) >= 0.3
        }

    def _silent(self) -> Array:
        """Chance, by set, that nothing outside the model brings the complaint."""
        links = {c: (self._link(c) if not self.knowledge.causes[c].effects else 0.0) for c in self.sets.causes}
        leak = self._constant("complaint-leak")
        silent: Array = (1 - leak) * np.exp(self.sets.members @ np.log1p(-chances(self.sets.causes, links)))
        return silent

    def _brought(self, said: float | None, followed: Followed | None) -> Array:
        """Likelihood of a complaint that is no event of heat, by set: what a model of its sequence follows brings it by
        where that ends; else any cause of its family may."""
        if followed is not None:
            return np.ones(len(self.sets.prior))
        happened = 1.0 if said is None else said
        leak, link = self._constant("complaint-leak"), self._constant("unlinked-complaint")
        happens = 1 - (1 - leak) * (1 - link) ** self.sets.members.sum(axis=1)
        likelihood: Array = np.maximum(happened * happens + (1 - happened) * (1 - happens), 1e-12)
        return likelihood

    def _link(self, cause: str) -> float:
        known = self.knowledge.causes[cause]
        if not any(f in known.priors and self.knowledge.families[f].by_heat for f in self.families):
            return self._constant("complaint-leak")  # it brings another complaint of this call
        if known.residual:
            return self._constant("residual-link")
        groups = [p for f, p in known.links.items() if self.knowledge.findings[f].group == COMPLAINT]
        return max(groups, default=self._constant("unlinked-complaint"))


UNASKED = 0.3
"""Taken of a set too unlikely to be asked whether it accounts for the complaint (expert estimate)."""
