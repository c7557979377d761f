"""Which tests may not be done now: what an open stop forbids, and what needs air that does not move."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from causebook.belief.verdict import StopNotice
from causebook.knowledge.model import Knowledge, Stop, Test
from causebook.survey.model import State, Survey


def barred(surveyed: Survey, notices: Iterable[StopNotice], knowledge: Knowledge) -> frozenset[str]:
    """Ids of the tests that may not be done now: an open stop forbids them, or they need air that does not move.

    Without air a burner heats nothing but the metal, so that it is not lit either.
    """
    open_ = [(knowledge.stops[n.id], n.suspected) for n in notices if n.open]
    present = (f.id for f in surveyed.findings if f.state is State.PRESENT)
    return unmoved(present, knowledge).union(
        test.id for test in knowledge.tests.values() if any(forbids(stop, test, s) for stop, s in open_)
    )


def forbids(stop: Stop, test: Test, suspected: bool = False) -> bool:
    """Does an open stop forbid a test?  Where everybody leaves, each; else those that take what it forbids.

    What is only suspected is left to the licensed tests that can tell.
    """
    if stop.leave:
        return True
    taken = set(stop.forbids).intersection(test.runs)
    return bool(taken) and test.id not in stop.allows and not (suspected and test.licensed)


def unmoved(present: Iterable[str], knowledge: Knowledge) -> frozenset[str]:
    """Ids of the tests that need moving air, where one of the findings says that none moves."""
    if not any(knowledge.findings[f].stills for f in present):
        return frozenset()
    return frozenset(t.id for t in knowledge.tests.values() if {"burner", "blower"} & set(t.runs))


def may_be_looked_for(finding: str, not_now: Collection[str], knowledge: Knowledge) -> bool:
    """Is there a way to look for a finding that is not barred?  What no test shows is seen or told in passing."""
    tests = [t.id for t in knowledge.tests.values() if finding in t.reveals]
    return not tests or any(t not in not_now for t in tests)
