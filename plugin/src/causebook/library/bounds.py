"""The number from which a finding is there, in words, for the pages of causes."""

from __future__ import annotations

from causebook import quantity as qty
from causebook.knowledge.model import Finding, Knowledge


def bound(finding: Finding, knowledge: Knowledge) -> str:
    """Such as "above 0.30 in. w.c.", where its rule begins with one value held against one number; else nothing."""
    if not finding.when:
        return ""
    rule = finding.when[0]
    (value, *more), limit = rule.ways[0], rule.bound
    if not isinstance(limit, str) or more or rule.of:
        return ""
    kind = qty.KINDS[(knowledge.readings.get(value) or knowledge.values[value]).kind]
    return f"{'above' if rule.above else 'below'} {qty.show(qty.parse(limit, kind), kind)}"
