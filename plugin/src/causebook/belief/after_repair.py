"""After a repair: do the readings and looks taken then show that the complaint is gone?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from causebook.belief.posterior import COMPLAINT
from causebook.casefile.model import Case, CaseStep
from causebook.knowledge.model import Finding, Knowledge
from causebook.survey.model import Survey
from causebook.survey.rules import judge
from causebook.survey.survey import SEEN, context_of

RANGE = frozenset({"rise-high", "rise-low"})
"""Findings that say that the rise is out of the plate's range."""


def telling(known: Finding, link: float) -> bool:
    """Is a finding, linked so strongly to a cause, rarely there without it and not the mere complaint?"""
    return link >= 0.7 and known.leak <= 0.08 and known.group != COMPLAINT


@dataclass(frozen=True, slots=True)
class AfterRepair:
    """What was read and looked at after the last repair shows."""

    gone: bool
    """Something that was looked at then answers the complaint, and nothing says that it goes on."""
    goes_on: tuple[str, ...]
    """Names of the findings that say so."""


def after_repair(case: Case, surveyed: Survey, roots: Iterable[str], knowledge: Knowledge) -> AfterRepair:
    """Does what was looked at after the last repair show that the complaint is gone, the causes `roots` repaired?

    It goes on while a finding of the complaint is there, the rise is out of range, or a finding is there that stops
    the furnace or is telling of a root.  What was not looked at again shows nothing.
    """
    left = left_behind(case, surveyed, knowledge)
    findings = knowledge.findings
    links: dict[str, float] = {}
    for root in roots:
        links |= {f: max(p, links.get(f, 0.0)) for f, p in knowledge.causes[root].links.items()}
    before = {f.id for f in surveyed.findings if f.probability > 0.5}
    complaint = {f for f in left if findings[f].group == COMPLAINT}
    bars = complaint | {f for f in left if f in RANGE or findings[f].stop or telling(findings[f], links.get(f, 0.0))}
    answers = (RANGE | before) & links.keys() & left.keys()
    if any(findings[f].group == COMPLAINT for f in before):
        answers |= complaint
    goes_on = tuple(findings[f].name for f in sorted(bars) if left[f] > 0.5)
    return AfterRepair(not goes_on and any(left[f] < 0.5 for f in answers), goes_on)


def left_behind(case: Case, surveyed: Survey, knowledge: Knowledge) -> dict[str, float]:
    """Finding -> chance that it is there after the last repair, of those looked for then; readings before the eye."""
    steps = _since_repair(case)
    numbers = {s.number for s in steps}
    sets = [replace(s, phase="found") for s in surveyed.sets if s.phase != "changed" and numbers & set(s.steps)]
    facts = context_of(case, sets, (), surveyed.heat, knowledge)
    left = {finding: SEEN[said] for step in steps for finding, said in step.seen.items()}
    judged = {f.id: judge(f, facts) for f in knowledge.findings.values()}
    return left | {finding: found.probability for finding, found in judged.items() if found and found.readings}


def _since_repair(case: Case) -> list[CaseStep]:
    """Steps after the last repair; none when a later visit found something to look into again."""
    after = [s for s in case.steps if s.step.after]
    reopened = max((s.visit for s in case.steps if not s.step.after), default=0)
    return [s for s in after if s.visit >= reopened]
