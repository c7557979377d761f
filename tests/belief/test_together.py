"""Where no repair alone ends the complaint, all that must be put right together is the root, or the answer is open."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from causebook.belief.verdict import Role, Verdict
from causebook.casefile.model import Case, Outcome
from causebook.diagnosis import diagnose
from causebook.knowledge.model import Knowledge

LOOKED = {"limit-fault-stored": "yes", "wheel-dirty": "no", "registers-closed": "no", "setting-low": "no"}


def told(make_case: Callable[..., Case], knowledge: Knowledge, manifold: float, before_filter: float) -> Verdict:
    """A manifold pressure that was read, beside what the return takes."""
    read = {
        "manifold": f"{manifold} inH2O",
        "tap-before-filter": f"{before_filter} inH2O",
        "tap-after-filter": f"{before_filter - 0.08:.2f} inH2O",
        "tap-before-coil": "0.30 inH2O",
        "tap-after-coil": "0.12 inH2O",
    }
    return diagnose(make_case({"read": read, "seen": LOOKED}), knowledge, show_steps=False).verdict


@pytest.mark.parametrize("manifold", [3.5, 4.6, 5.6, 7.0])
@pytest.mark.parametrize("before_filter", [-0.15, -0.45, -0.65])
def test_the_root_is_what_ends_it(
    knowledge: Knowledge, make_case: Callable[..., Case], manifold: float, before_filter: float
) -> None:
    verdict = told(make_case, knowledge, manifold, before_filter)
    roots = {c.id for c in verdict.with_role(Role.ROOT)}
    alone = [row for row in verdict.what_ifs if len(row.repairs) == 1]
    if any(row.restores for row in alone):
        assert any(row.restores for row in alone if {*row.repairs} == roots), roots
    elif len(roots) > 1:
        assert any(row.restores for row in verdict.what_ifs if {*row.repairs} == roots), roots
    else:
        assert verdict.outcome is Outcome.UNDETERMINED and not verdict.answered


def test_neither_alone_but_both_together(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    """A manifold at 5.6 of 3.5 in. w.c. and a return that takes three times what is usual."""
    verdict = told(make_case, knowledge, 5.6, -0.45)
    assert {c.id for c in verdict.with_role(Role.ROOT)} == {"manifold-high", "return-undersized"}


def test_where_nothing_believed_ends_it_another_cause_is_to_be_found(
    knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    """A manifold at 7 of 3.5 in. w.c. explains much of a rise of 105 °F, and not all."""
    read = {
        "manifold": "7 inH2O",
        "return-air": "66 degF",
        "supply-air": "171 degF",
        "supply-air-at-trip": "171 degF",
        "time-to-trip": "400 s",
    }
    seen = {"limit-opened-while-watched": "yes", "filter-dirty": "no", "limit-fault-stored": "yes"}
    verdict = diagnose(make_case({"read": read, "seen": seen}), knowledge, show_steps=False).verdict
    assert not verdict.answered and verdict.would_settle[0].startswith("Another cause: with “Manifold pressure")
