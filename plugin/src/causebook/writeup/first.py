"""The first screen of a case: the verdict in a line, how to see whether yours is the same, the fix, the stop."""

from __future__ import annotations

from dataclasses import dataclass

from causebook.belief.posterior import COMPLAINT
from causebook.belief.verdict import Belief, CauseBelief, Role
from causebook.survey.model import FindingState, State
from causebook.workup import Workup
from causebook.writeup import words
from causebook.writeup.answer import Answer

OTHER_CASE = "<!-- the nearest case with another cause -->"
"""Stands in the page where the library puts the link to the nearest case with another cause."""


@dataclass(frozen=True, slots=True)
class SameCheck:
    """The one look or reading that tells whether a call is this case."""

    finding: str
    how: str
    minutes: float
    yes: str
    """What makes it a yes: the finding with this case's value and bound, or what is seen."""


def verdict_line(given: Answer, verdict_answered: bool) -> str:
    """The verdict in trade words, with its percent: "Cause: Undersized return (98 %)"."""
    if not given.roots:
        names = " or ".join(_with_percent(one) for one in given.suspects[:2])
        return f"Not proven yet: {names}" if names else "Not proven yet"
    names = " and ".join(_with_percent(one) for one in given.roots)
    if len(given.roots) > 1:
        return f"{words.number_word(len(given.roots))} causes together: {names}"
    settled = verdict_answered and given.roots[0].belief is Belief.SETTLED
    return f"{'Cause' if settled else 'Most likely'}: {names}"


def _with_percent(cause: CauseBelief) -> str:
    return f"{cause.name} ({words.percent(cause.probability)})"


def same_check(workup: Workup, given: Answer) -> SameCheck | None:
    """What to measure or look at to see whether a call is the same; None where nothing here tells its cause apart."""
    lead = given.roots or given.suspects
    if not lead:
        return None
    cause = workup.knowledge.causes.get(lead[0].id)
    if cause is None:
        return None
    rivals = [
        workup.knowledge.causes[c.id]
        for c in workup.verdict.causes
        if c.id != cause.id and c.id in workup.knowledge.causes and c.role is not Role.UNDERLYING
    ]

    def worth(found: FindingState) -> float:
        known = workup.knowledge.findings[found.id]
        mine = cause.links.get(found.id, known.leak)
        others = [known.leak, *(r.links.get(found.id, 0.0) for r in rivals[:6])]
        return mine - 0.5 * max(others) - 0.5 * sum(others) / len(others)

    telling = [
        f
        for f in workup.survey.findings
        if f.state is State.PRESENT
        and cause.links.get(f.id, 0.0) >= 0.5
        and workup.knowledge.findings[f.id].group != COMPLAINT
        and not workup.knowledge.findings[f.id].stop
    ]
    best = max(telling, key=worth, default=None)
    if best is None:
        return None
    known = workup.knowledge.findings[best.id]
    return SameCheck(best.id, known.how or known.name, known.minutes, best.because or known.name)


def stop_line(workup: Workup) -> str:
    """The stop that fired, in one line: the open ones first; empty where none did."""
    open_ = [s for s in workup.stops if s.open]
    if open_:
        return f"Do not run: {words.listed(s.name for s in open_)}."
    closed = list(dict.fromkeys(s.name for s in workup.stops))
    if not closed:
        return ""
    more = f" and {len(closed) - 1} more" if len(closed) > 1 else ""
    return f"It was shut down: {words.within(closed[-1])}{more}. Closed since."
