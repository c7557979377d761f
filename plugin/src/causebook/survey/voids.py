"""What does not count: the author's reasons, the doubts of the review, and the rules of the knowledge.

It is kept and shown.  A reading of which the step says what makes it worthless is struck; so is a look.
"""

from __future__ import annotations

from collections.abc import Sequence

from causebook.casefile.doubts import doubts
from causebook.casefile.model import Case, CaseStep
from causebook.knowledge.model import Knowledge
from causebook.survey.model import StruckLook, Voided


def voided(case: Case, steps: Sequence[CaseStep], knowledge: Knowledge) -> tuple[Voided, ...]:
    """Every reading that is struck, with the rule that strikes it ("author" for a reason of the case file)."""
    doubtful = {id(taken): doubt for doubt in doubts(steps, case.file.answered, knowledge) for taken in doubt.strikes}
    out = []
    for step in steps:
        rules = [rule for rule in knowledge.voids.values() if rule.fires(step.step.with_, step.seen)]
        for taken in step.readings:
            if taken.void:
                out.append(Voided(taken, "author", taken.void))
            elif rule := next((r for r in rules if taken.reading in r.strikes), None):
                out.append(Voided(taken, rule.id, rule.why))
            elif doubt := doubtful.get(id(taken)):
                out.append(Voided(taken, doubt.rule, doubt.why))
    return tuple(out)


def struck_looks(steps: Sequence[CaseStep], knowledge: Knowledge) -> tuple[StruckLook, ...]:
    """Every look that does not count, with the rule that strikes it."""
    return tuple(
        StruckLook(step.number, finding, rule.id, rule.why)
        for step in steps
        for rule in knowledge.voids.values()
        if rule.fires(step.step.with_, step.seen)
        for finding in step.seen
        if finding in rule.strikes
    )
