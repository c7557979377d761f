"""Seen and told things: noisy-OR with a leak, suppression and observation error, over many sets of causes at once."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from causebook.belief.arrays import Array
from causebook.knowledge.model import Finding, Knowledge
from causebook.survey.model import State, Survey

#: Links are kept off 0 and 1 so that no single observation can make or break a case for ever.
CEILING = 0.995


@dataclass(frozen=True, slots=True)
class Seen:
    """An observation as evidence: the finding, the probability that it is present, and the step that says so."""

    finding: str
    probability: float
    step: int
    looks: tuple[float, ...] = ()
    """What each look said, where there were several."""


class NoisyOr:
    """P(finding present | set of causes) for every set; `members` is (sets, causes) of 0 and 1.

    `asked` answers first: a model that knows a finding better than the links do.
    """

    def __init__(
        self,
        knowledge: Knowledge,
        causes: Sequence[str],
        members: Array,
        asked: Callable[[str], Array | None] = lambda finding: None,
    ) -> None:
        self.knowledge, self.causes, self.members = knowledge, tuple(causes), members
        self._asked = asked
        self._repeats = knowledge.constants["second-look-repeats"].value
        self._known: dict[str, Array] = {}

    def present(self, finding: str) -> Array:
        """Chance that the finding is present, by set (S,)."""
        if finding not in self._known and (told := self._asked(finding)) is not None:
            self._known[finding] = told
        if finding not in self._known:
            known = self.knowledge.findings[finding]
            chances = np.array([min(self.knowledge.causes[c].links.get(finding, 0.0), CEILING) for c in self.causes])
            silent = np.log1p(-max(known.leak, 1e-3)) + self.members @ np.log1p(-chances)
            chance = -np.expm1(silent)
            factors = np.array([self.knowledge.causes[c].pushes_down.get(finding, 1.0) for c in self.causes])
            if (factors < 1).any():
                chance = chance * np.exp(self.members @ np.log(np.maximum(factors, 0.02)))
            self._known[finding] = chance
        return self._known[finding]

    def likelihood(self, seen: Seen, error: float) -> Array:
        """Likelihood of one observation, by set; `error` is the chance that people see wrongly."""
        there, gone = self.answers(seen.looks or (seen.probability,), error)
        chance = self.present(seen.finding)
        return there * chance + gone * (1 - chance)

    def answers(self, looks: Sequence[float], error: float) -> tuple[float, float]:
        """Chance of what these looks said if the thing is there, and if it is not.

        Each look errs as often as any; one after another may also only repeat what the one before said.  An unclear
        look is none.
        """
        there = gone = 1.0
        before: float | None = None
        for look in (one for one in looks if one != 0.5):
            said = look * (1 - error) + (1 - look) * error
            fresh, same = (1.0, 0.0) if before is None else (1 - self._repeats, self._repeats * (look == before))
            there, gone, before = there * (fresh * said + same), gone * (fresh * (1 - said) + same), look
        return there, gone

    def once_per_group(self, seen: Iterable[Seen], prior: Array, error: float) -> list[tuple[Seen, Array]]:
        """The observations that count, with their likelihoods: of each group of views, the one that tells most."""
        best: dict[str, tuple[float, Seen, Array]] = {}
        for one in seen:
            known: Finding = self.knowledge.findings[one.finding]
            likelihood = self.likelihood(one, error)
            logs = np.log(likelihood)
            mean = float(prior @ logs)
            tells = float(prior @ (logs - mean) ** 2)
            key = known.group or known.id
            if key not in best or tells > best[key][0]:
                best[key] = (tells, one, likelihood)
        return [(one, likelihood) for _, one, likelihood in best.values()]


def chances(causes: Sequence[str], link: Mapping[str, float]) -> Array:
    """Link chances in the order of `causes`, kept below the ceiling."""
    return np.array([min(link.get(c, 0.0), CEILING) for c in causes])


def observations(survey: Survey, weighed: Collection[str], knowledge: Knowledge) -> list[Seen]:
    """The findings that noisy-OR weighs: all that were looked for, but those that a model weighs as measured."""
    return [
        Seen(f.id, f.probability, f.step, f.looks)
        for f in survey.findings
        if f.state in (State.PRESENT, State.ABSENT, State.UNCLEAR)
        and not (knowledge.findings[f.id].physical in weighed and not f.looks)
        and abs(f.probability - 0.5) > 0.02
    ]
