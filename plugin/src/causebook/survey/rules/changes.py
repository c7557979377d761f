"""One change at a time: what removing, opening or speeding up did."""

from __future__ import annotations

import math
from dataclasses import replace

from causebook.knowledge.model import Finding
from causebook.survey.model import ReadingSet, RuleContext, manner
from causebook.survey.rules.common import RISE, Judged, estimate_over, limit_of, over, registry, rise_range

RULES, rule = registry()


def _helps(known: Finding, base: ReadingSet | None, changed: ReadingSet | None, words: str) -> Judged | None:
    if base is None or changed is None or base.rise is None or changed.rise is None:
        return None
    before, after = base.rise.pair, changed.rise.pair
    # Same probes, minutes apart: their common error drops out, half of their spread is kept.
    return over(
        (before[0] - after[0], 0.5 * math.hypot(before[1], after[1])),
        limit_of(known, RISE),
        RISE,
        words,
        "counts from",
        changed.rise.readings,
    )


@rule("filter-out-helps")
def _filter_out(facts: RuleContext, known: Finding) -> Judged | None:
    return _helps(known, facts.found, facts.change({"filter": "removed"}), "filter out: rise falls by")


@rule("return-open-helps")
def _return_open(facts: RuleContext, known: Finding) -> Judged | None:
    return _helps(
        known,
        facts.change({"filter": "removed"}),
        facts.change({"filter": "removed", "return": "opened"}),
        "return opened as well: rise falls by a further",
    )


@rule("supply-open-helps")
def _supply_open(facts: RuleContext, known: Finding) -> Judged | None:
    return _helps(known, facts.found, facts.change({"supply": "opened"}), "supply opened: rise falls by")


@rule("opening-changes-nothing")
def _nothing(facts: RuleContext, known: Finding) -> Judged | None:
    opened = [
        s
        for s in facts.sets
        if s.phase == "changed" and {"return", "supply"} <= {p for p, h in s.state.items() if manner(h) == "opened"}
    ]
    judged = _helps(known, facts.found, opened[-1] if opened else None, "return and supply opened: rise falls by")
    return None if judged is None else replace(judged, probability=1 - judged.probability)


@rule("speed-up-helps")
def _speed_up(facts: RuleContext, known: Finding) -> Judged | None:
    limits = rise_range(facts)
    faster = next((s for s in facts.sets if s.phase == "changed" and "blower" in s.state and s.rise), None)
    if limits is None or faster is None or faster.rise is None:
        return None
    return estimate_over(faster.rise, limits[1], "rise at the next setting", "plate maximum", below=True)
