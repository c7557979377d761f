"""What to do next: the most information about the root for each minute and risk.

Information is the expected fall of the entropy of "which cause is the root" from looking at one finding; a test that
shows several findings is worth what they tell together, each only of what is still open.
Findings already looked for, and other views of the same fact, are worth nothing, but for a second look at what stands
still: it is worth what it tells beyond the first.  A test that needs another comes after it.  Safety comes first,
outside the arithmetic: no burner is lit before it, nor is anything proposed that `barred` names.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from functools import cached_property

import numpy as np

from causebook.belief.arrays import Array
from causebook.belief.information import entropy, of_answer, of_reading
from causebook.belief.posterior import Posterior
from causebook.belief.verdict import NextTest
from causebook.knowledge.model import Knowledge, Test

STATES = 20
"""How many of the likeliest sets a reading is foreseen under."""
OUT_OF_REACH = 0.2
"""A start that comes to a test's stage less often than this gives it nothing to read."""
LOOKS = 2
"""After so many looks at one thing on one visit nobody looks again."""


def rooted(posterior: Posterior, leads: Mapping[str, float]) -> Array:
    """(sets, causes + 1) joint chance of a set and of which cause is its root; the last column is none."""
    members = posterior.sets.members
    shares = members * np.array([max(leads[c], 1e-6) for c in posterior.sets.causes])
    total = shares.sum(axis=1, keepdims=True)
    none = (total[:, 0] == 0).astype(float)
    shares = np.column_stack([shares / np.maximum(total, 1e-12), none])
    joint: Array = shares * posterior.chance[:, None]
    return joint


class Foresight:
    """What each finding would tell about the root: seen things by noisy-OR, readings by the heat-and-air model."""

    def __init__(
        self,
        posterior: Posterior,
        leads: Mapping[str, float],
        looked: Mapping[str, tuple[float, ...]],
        knowledge: Knowledge,
    ) -> None:
        self.posterior, self.looked, self.knowledge = posterior, looked, knowledge
        self._groups = {knowledge.findings[f].group or f for f in looked}
        self.joint = rooted(posterior, leads)
        self.open = entropy(self.joint.sum(axis=0))
        self._error = knowledge.constants["wrong-observation-share"].value
        self._told: dict[str, float] = {}

    def tells(self, finding: str) -> float:
        """Expected information [bit] about the root from looking for a finding, or from looking again."""
        if finding not in self._told:  # several tests show the same
            self._told[finding] = self._tells(finding)
        return self._told[finding]

    def _tells(self, finding: str) -> float:
        looks = self.looked.get(finding, ())
        known = self.knowledge.findings[finding]
        if known.physical and not looks and self.posterior.told is not None:
            joint, by_state = self._readings
            return of_reading(joint, *by_state[known.physical]) if known.physical in by_state else 0.0
        net = self.posterior.net
        there, gone = net.answers(looks, self._error)
        chance = net.present(finding)
        chance = there * chance / (there * chance + gone * (1 - chance))
        yes, wrong = (net.answers((*looks, 1.0), self._error)[n] / given for n, given in enumerate((there, gone)))
        return of_answer(self.joint, yes * chance + wrong * (1 - chance))

    def again(self, finding: str) -> bool:
        """Is a look at this a second one, and worth taking?"""
        looks = self.looked.get(finding, ())
        return (
            0 < len(looks) < LOOKS
            and self.knowledge.findings[finding].stands
            and (finding in self.posterior.counted or 0.5 in looks)
        )

    def still_open(self, finding: str) -> bool:
        """Was neither this looked for nor another view of it, or would a second look count?"""
        group = self.knowledge.findings[finding].group or finding
        return self.again(finding) if finding in self.looked else group not in self._groups

    @cached_property
    def _readings(self) -> tuple[Array, Mapping[str, tuple[Array, Array]]]:
        """Joint chance (likeliest sets, roots), and what each kind of reading would show under each."""
        told = self.posterior.told
        assert told is not None
        order = np.argsort(-self.posterior.chance, kind="stable")[:STATES]
        shown = [told.foresee(self.posterior.place(int(n))) for n in order]
        columns = {
            kind: (np.array([s[kind].mean for s in shown]), np.array([s[kind].spread for s in shown]))
            for kind in shown[0]
        }
        joint = self.joint[order]
        return joint / joint.sum(), columns

    def worth(self, test: Test) -> tuple[float, str]:
        """Information of a test [bit], and the finding of it that tells most."""
        if self.open <= 0:
            return 0.0, ""
        best: dict[str, tuple[float, str]] = {}
        for finding in filter(self.still_open, test.reveals):
            group = self.knowledge.findings[finding].group or finding
            told = self.tells(finding)
            if told > best.get(group, (0.0, ""))[0]:
                best[group] = (told, finding)
        left = float(np.prod([1 - min(told / self.open, 1.0) for told, _ in best.values()])) if best else 1.0
        top = max(best.values(), default=(0.0, ""))
        return self.open * (1 - left), top[1]


def next_tests(
    posterior: Posterior,
    leads: Mapping[str, float],
    looked: Mapping[str, tuple[float, ...]],
    knowledge: Knowledge,
    leading: Sequence[str],
    families: Sequence[str],
    not_now: Collection[str] = (),
    least: float = 0.02,
) -> tuple[NextTest, ...]:
    """Tests worth doing, best first: safety that is still open, then information per minute.

    `looked`: finding looked for -> what each look at it said, nothing where readings say it.
    `not_now`: ids of tests that may not be done.
    """
    posterior = posterior.likeliest()
    ahead = Foresight(posterior, leads, looked, knowledge)
    groups = {knowledge.findings[f].group or f for f in looked} | set(looked)
    besides = knowledge.constants["test-minutes-besides"].value
    unsafe = {test.id for test in knowledge.tests.values() if test.first and test.first not in looked}
    ranked = []
    for test in knowledge.tests.values():
        if (
            test.id in not_now
            or unsafe
            and "burner" in test.runs
            or test.families
            and not set(test.families) & set(families)
            or not all(set(knowledge.tests[n].reveals) & groups for n in test.needs)
            or test.comes_to
            and posterior.ahead is not None
            and float(posterior.chance @ posterior.ahead.comes_to(test.comes_to)) < OUT_OF_REACH
            or test.once
            and set(test.reveals) & set(looked)
        ):
            continue
        told, finding = ahead.worth(test)
        cost = test.minutes + besides + knowledge.constants[f"risk-minutes-{test.risk}"].value
        safety = test.id in unsafe
        if told < least and not safety:
            continue
        ranked.append((not safety, -told / cost, test.id, told, finding, test))
    ranked.sort(key=lambda row: row[:3])
    return tuple(
        NextTest(
            test.id,
            test.name,
            test.minutes,
            test.risk,
            told,
            _reason(test, finding, told, safety_open=not first, ahead=ahead, leading=leading),
            test.licensed,
            ahead.again(finding),
        )
        for first, _, _, told, finding, test in ranked
    )


def _reason(test: Test, finding: str, told: float, safety_open: bool, ahead: Foresight, leading: Sequence[str]) -> str:
    if safety_open:
        return "people first: this is done before anything else"
    posterior, knowledge = ahead.posterior, ahead.knowledge
    clears = [knowledge.causes[c].name for c in leading if c in test.clears]
    chances = (
        sorted(
            (
                (
                    posterior.net.present(finding)
                    * posterior.chance
                    * posterior.sets.members[:, posterior.sets.causes.index(c)]
                ).sum()
                / max(posterior.marginal[c], 1e-9),
                c,
            )
            for c in leading
        )
        if finding
        else []
    )
    if not finding:
        words = "tells a little of several things"
    elif ahead.again(finding):
        words = f"much hangs on “{knowledge.findings[finding].name}”: look again, with other eyes if you can"
    else:
        words = f"tells most by “{knowledge.findings[finding].name}”"
    if len(chances) > 1 and chances[-1][0] - chances[0][0] > 0.25:
        words += (
            f": expected with {knowledge.causes[chances[-1][1]].name} ({chances[-1][0]:.0%}), hardly with "
            f"{knowledge.causes[chances[0][1]].name} ({chances[0][0]:.0%})"
        )
    if clears:
        words += f"; it could clear {' and '.join(clears)} before a part is replaced"
    return f"{words}; {told:.2f} bit in {test.minutes:g} min"
