"""Scores of answers against the truth of simulated calls."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Guarded:
    """A part that must not be condemned while it is good, nor missed while it is bad."""

    part: str
    faults: frozenset[str]


LIMITS = Guarded("limits", frozenset({"limit-weak", "limit-wrong"}))
PRESSURE_SWITCHES = Guarded("pressure switches", frozenset({"ps-or-hose"}))


@dataclass(frozen=True)
class Answer:
    """What was answered on one call, beside what is true of it."""

    seed: int
    faults: frozenset[str]
    roots: frozenset[str]
    contributing: frozenset[str]
    named: tuple[str, ...]
    """The root first, then the others by belief; without the "something else" of the family."""
    sure: float
    """Belief that correcting the root named will do."""
    helpers: frozenset[str]
    """Named as contributing."""
    rests: bool = True
    """Does the answer claim a root at all?"""
    sides: frozenset[str] = frozenset()
    """Sides of the furnace on which the true roots are."""
    family: str = ""
    """Complaint."""
    danger: bool = False
    """Was something read that ends all testing: gas, a breach, CO in rooms?"""
    stopped: bool = False
    """Did a stop fire?"""
    denied: bool = False
    """Does the record itself disprove it?"""

    @property
    def right(self) -> bool:
        """Is the root named one that would restore?  With nothing wrong: is nothing claimed?"""
        return self.named[0] in self.roots if self.faults else not self.rests


def share(answers: Iterable[Answer], holds: Callable[[Answer], bool]) -> float:
    """Share of answers for which something holds; nan without any."""
    told = [holds(a) for a in answers]
    return float(np.mean(told)) if told else float("nan")


def calibration_error(pairs: Sequence[tuple[float, bool]], bins: int = 10) -> float:
    """Mean distance between belief and frequency over bins of equal width, weighted by how many fall into each."""
    belief, true = np.array([p for p, _ in pairs]), np.array([t for _, t in pairs], float)
    place = np.minimum((belief * bins).astype(int), bins - 1)
    return float(
        sum(
            abs(belief[place == b].mean() - true[place == b].mean()) * (place == b).mean()
            for b in range(bins)
            if (place == b).any()
        )
    )


def scores(answers: Sequence[Answer], guarded: Guarded = LIMITS) -> dict[str, float]:
    """Every score of a run, by name."""
    faulty = [a for a in answers if a.faults]
    helped = sum(len(a.helpers) for a in faulty)
    true_helpers = [(a, a.contributing - {a.named[0]}) for a in faulty]
    sound = [a for a in answers if not a.faults & guarded.faults]
    bad = [a for a in faulty if a.roots & guarded.faults]
    out = {
        "right root": share(faulty, lambda a: a.right),
        "among first three": share(faulty, lambda a: bool(a.roots & set(a.named[:3]))),
        "contributing, precision": sum(len(a.helpers & a.contributing) for a in faulty) / max(helped, 1),
        "contributing, recall": sum(len(a.helpers & t) for a, t in true_helpers)
        / max(sum(len(t) for _, t in true_helpers), 1),
        "calibration error": calibration_error([(a.sure, a.right) for a in faulty]),
        f"good {guarded.part} condemned": share(sound, lambda a: a.rests and a.named[0] in guarded.faults),
        f"bad {guarded.part} missed": share(bad, lambda a: not guarded.faults & set(a.named[:3])),
        "stopped where danger was read": share([a for a in answers if a.danger], lambda a: a.stopped),
        "disproved by the record": share(answers, lambda a: a.denied),
        "fault-free called faulty": share([a for a in answers if not a.faults], lambda a: a.rests),
    }
    for limit in (0.7, 0.85, 0.9):
        claimed = [a for a in answers if a.rests and a.sure >= limit]
        out[f"answered at {limit}"] = len(claimed) / len(answers)
        out[f"right when answered at {limit}"] = share(claimed, lambda a: a.right)
    for count in sorted({len(a.faults) for a in faulty}):
        out[f"right root, {count} fault{'s' * (count > 1)}"] = share(
            [a for a in faulty if len(a.faults) == count], lambda a: a.right
        )
    families = {a.family for a in faulty}
    for family in sorted(families) if len(families) > 1 else ():
        out[f"right root, {family}"] = share([a for a in faulty if a.family == family], lambda a: a.right)
    for side in sorted({side for a in faulty for side in a.sides}):
        out[f"right root, {side} side"] = share([a for a in faulty if side in a.sides], lambda a: a.right)
    return out
