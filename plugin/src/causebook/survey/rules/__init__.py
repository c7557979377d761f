"""From readings to findings: one small rule for each computed finding, by the name the knowledge gives it."""

from causebook.knowledge.model import Finding
from causebook.survey.model import RuleContext
from causebook.survey.rules import air, changes, electric, gas, other
from causebook.survey.rules.common import Judged, return_above_room

__all__ = ["RULES", "Judged", "judge", "return_above_room"]

RULES = air.RULES | gas.RULES | electric.RULES | other.RULES | changes.RULES


def judge(finding: Finding, facts: RuleContext) -> Judged | None:
    """Apply the rule of a computed finding; None when its readings were not taken."""
    return RULES[finding.computed](facts, finding)
