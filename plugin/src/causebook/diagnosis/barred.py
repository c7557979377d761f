"""Which tests may not be done now: what an open stop forbids, and what needs air that does not move."""

from __future__ import annotations

from collections.abc import Iterable

from causebook.diagnosis.model import StopNotice
from causebook.knowledge.model import Knowledge
from causebook.survey.model import State, Survey


def barred(surveyed: Survey, notices: Iterable[StopNotice], knowledge: Knowledge) -> frozenset[str]:
    """Tests that may not be done now: an open stop forbids what they run, or they need air that does not move.

    Without air a burner heats nothing but the metal, so that it is not lit either.  What is only suspected is left to
    the licensed tests that can tell.
    """
    open_ = [(knowledge.stops[n.id], n.suspected) for n in notices if n.open]
    still = (
        {"burner", "blower"}
        if any(knowledge.findings[f.id].stills and f.state is State.PRESENT for f in surveyed.findings)
        else set()
    )
    return frozenset(
        test.id
        for test in knowledge.tests.values()
        if still.intersection(test.runs)
        or any(
            set(stop.forbids).intersection(test.runs)
            and test.id not in stop.allows
            and not (suspected and test.licensed)
            for stop, suspected in open_
        )
    )
