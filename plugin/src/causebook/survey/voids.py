"""Readings that do not count: the author's reasons and the rules of the knowledge.  They are kept and shown."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from causebook.casefile.model import CaseStep
from causebook.knowledge.model import Knowledge, slug
from causebook.survey.model import Voided


def voided(steps: Sequence[CaseStep], knowledge: Knowledge) -> tuple[Voided, ...]:
    """Every reading that is struck, with the rule that strikes it ("author" for a reason of the case file)."""
    out = []
    for step in steps:
        rules = [rule for rule in knowledge.voids.values() if _fires(rule.states, rule.findings, step)]
        for taken in step.readings:
            if taken.void:
                out.append(Voided(taken, "author", taken.void))
            elif rule := next((r for r in rules if taken.reading in r.strikes), None):
                out.append(Voided(taken, rule.id, rule.why))
    return tuple(out)


def _fires(states: Mapping[str, str], findings: Sequence[str], step: CaseStep) -> bool:
    done = {slug(part): slug(how) for part, how in step.step.with_.items()}
    if any(done.get(slug(part)) == slug(how) for part, how in states.items()):
        return True
    return any(step.seen.get(finding) == "yes" for finding in findings)
