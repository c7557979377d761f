"""From readings to findings: what data says (`when`), then what a named rule of the survey says (`computed`)."""

from __future__ import annotations

from causebook.knowledge.model import Finding
from causebook.survey.model import RuleContext
from causebook.survey.rule_value import Judged, finding_of
from causebook.survey.special_rules import RULES
from causebook.survey.values import CaseValues


def judge(finding: Finding, context: RuleContext) -> Judged | None:
    """What the readings say of a finding; None when they were not taken."""
    found = finding_of(finding, CaseValues(context), context.knowledge, context.saw(finding.id))
    return RULES[finding.computed](context, finding) if found is None and finding.computed else found
