"""The next-test game: a patchy visit has not settled the call; do what the diagnosis proposes until it is sure.

Stops when nothing proposed is worth its minutes any more, or after eight tests.  In what is done now nothing is left
out, but readings blunder and eyes err as ever.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from causebook.diagnosis.diagnose import diagnose
from causebook.diagnosis.model import Role
from causebook.knowledge.loader import load

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


def play(seed: int, world: str = "air") -> Played:
    """One game, from the end of the visit to an answer."""
    knowledge = load()
    call, visit = WORLDS[world].call(seed, knowledge)
    visit.leaves_out = lambda what: False
    before, minutes = len(visit.done), 0.0
    while True:
        told = diagnose(in_memory(visit, knowledge), knowledge, show_steps=False).verdict
        root = next(iter(told.with_role(Role.ROOT)), None)
        first = root or next(c for c in told.causes if not knowledge.causes[c.id].residual)
        sure = root is not None and root.restores_chance >= SURE
        done = visit.done[before:]
        following = next((t for t in told.next_tests
                          if t.information >= WORTH * t.minutes and (t.again or t.id not in done)), None)
        if sure or len(done) == MOST or following is None:
            right = first.id in call.roots if call.faults else not told.answered
            return Played(seed, len(call.faults), right, sure, minutes, tuple(done), first.id, first.restores_chance)
        visit.test(following.id)
        minutes += following.minutes


def summary(played: Sequence[Played]) -> dict[str, float]:
    """Scores of many games."""
    sure = [p for p in played if p.sure]
    return {"right": float(np.mean([p.right for p in played])),
            "sure within eight tests": len(sure) / len(played),
            "right when sure": float(np.mean([p.right for p in sure])) if sure else float("nan"),
            "minutes, mean": float(np.mean([p.minutes for p in played])),
            "minutes, median": float(np.median([p.minutes for p in played])),
            "tests, mean": float(np.mean([len(p.tests) for p in played]))}
