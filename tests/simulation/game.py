"""The next-test game: a patchy visit has not settled the call; do what the diagnosis proposes until it is sure.

Stops when nothing proposed is worth its minutes any more, or after eight tests.  In what is done now nothing is left
out, but readings blunder and eyes err as ever.  A stop that fires, most often because an eye erred, is met before
anybody goes on: what that takes is not counted here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from causebook.belief.verdict import Role, Verdict
from causebook.casefile.model import Case, Conclusion
from causebook.diagnosis import diagnose
from causebook.knowledge.loader import load
from causebook.knowledge.model import Knowledge

from .files import in_memory
from .worlds import WORLDS

SURE = 0.9
"""Belief that correcting the root named will do, from which it is determined."""
WORTH = 0.011
"""Information for each minute [bit] below which nobody goes on testing."""
MOST = 8


@dataclass(frozen=True)
class Played:
    """One game."""

    seed: int
    faults: int
    right: bool
    sure: bool
    """Stopped because it was sure, not because nothing was worth doing or eight tests were done."""
    minutes: float
    tests: tuple[str, ...]
    named: str
    belief: float


def _told(case: Case, knowledge: Knowledge) -> Verdict:
    """The verdict with every stop met."""
    told = diagnose(case, knowledge, show_steps=False)
    if not any(stop.open for stop in told.stops):
        return told.verdict
    met = Conclusion(stop_closed={stop.id: "met" for stop in told.stops})
    visit = case.file.visits[0].model_copy(update={"concluded": met})
    file = case.file.model_copy(update={"visits": (visit,)})
    return diagnose(case.model_copy(update={"file": file}), knowledge, show_steps=False).verdict


def play(seed: int, world: str = "air") -> Played:
    """One game, from the end of the visit to an answer."""
    knowledge = load()
    call, visit = WORLDS[world].call(seed, knowledge)
    visit.leaves_out = lambda what: False
    before, minutes = len(visit.done), 0.0
    while True:
        told = _told(in_memory(visit, knowledge), knowledge)
        root = max(told.with_role(Role.ROOT), key=lambda c: c.root_chance + c.restores_chance, default=None)
        first = root or next(c for c in told.causes if not knowledge.causes[c.id].residual)
        sure = root is not None and root.restores_chance >= SURE
        done = visit.done[before:]
        following = next(
            (t for t in told.next_tests if t.information >= WORTH * t.minutes and (t.again or t.id not in done)), None
        )
        if sure or len(done) == MOST or following is None:
            right = first.id in call.roots if call.faults else not told.answered
            return Played(seed, len(call.faults), right, sure, minutes, tuple(done), first.id, first.restores_chance)
        visit.test(following.id)
        minutes += following.minutes


def summary(played: Sequence[Played]) -> dict[str, float]:
    """Scores of many games."""
    sure = [p for p in played if p.sure]
    return {
        "right": float(np.mean([p.right for p in played])),
        "sure within eight tests": len(sure) / len(played),
        "right when sure": float(np.mean([p.right for p in sure])) if sure else float("nan"),
        "minutes, mean": float(np.mean([p.minutes for p in played])),
        "minutes, median": float(np.median([p.minutes for p in played])),
        "tests, mean": float(np.mean([len(p.tests) for p in played])),
    }
