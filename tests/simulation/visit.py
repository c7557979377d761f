"""Any simulated visit: tests done one after the other, looks that may be wrong, readings with their errors.

A world's own visit says what each test reads; what was once read stays read, what was once seen may look different to a
second look.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Protocol

import numpy as np

from causebook.knowledge.model import Knowledge

BLUNDER = 0.03
WRONG = 0.03
UNCLEAR = 0.04
SAME_EYES = 0.35
"""Chance that a second look is no second look: it sees what the first saw."""


class Called(Protocol):
    """What every world's call has, and all that a score needs of it."""

    @property
    def seed(self) -> int:
        """From which everything read on this call is drawn."""

    @property
    def family(self) -> str:
        """Complaint."""

    @property
    def faults(self) -> frozenset[str]:
        """What is wrong."""

    @property
    def roots(self) -> frozenset[str]:
        """Faults any of which may be named as the root; empty when nothing is wrong."""

    @property
    def contributing(self) -> frozenset[str]:
        """Faults with a real share."""


@dataclass
class Visit(ABC):
    """One visit, as far as it has gone."""

    call: Any
    knowledge: Knowledge
    leaves_out: Callable[[str], bool] = lambda what: False
    """Is this reading or finding left out although its test is done?"""
    steps: list[dict[str, Any]] = field(default_factory=list)
    done: list[str] = field(default_factory=list)
    left_out: int = 0
    written: int = 0

    def __post_init__(self) -> None:
        self.rng = np.random.default_rng([self.call.seed, 7])
        self.there: dict[str, bool] = {}
        self.known: dict[str, str] = {}
        self.prepare()

    # ------------------------------------------------------------ what a world says of its own

    @abstractmethod
    def prepare(self) -> None:
        """Draw what stays as it is through the visit."""

    @abstractmethod
    def chance_of(self, finding: str) -> float:
        """Chance that a finding for the eye is there."""

    @abstractmethod
    def looks_for(self, finding: str) -> bool:
        """Is a finding one for the eye, in this world and as things stand?"""

    @abstractmethod
    def file(self) -> dict[str, Any]:
        """The call as a case file would hold it; a log stays as columns."""

    # ------------------------------------------------------------ errors

    def _happens(self, chance: float) -> bool:
        return bool(self.rng.random() < chance)

    def _read(self, true: float, share: float, fixed: float, wild: float) -> float:
        """A reading: share of itself and fixed part as standard errors, seldom a blunder of size `wild`."""
        value = true + math.hypot(share * true, fixed) * float(self.rng.standard_normal())
        return (
            value + wild * float(self.rng.choice([-1, 1]) * self.rng.uniform(0.5, 1.5))
            if self._happens(BLUNDER)
            else value
        )

    def inwc(self, true: float) -> str:
        return f"{self._read(true, 0.02, 0.008, 0.2):.2f} inH2O"

    def degf(self, true: float, fixed: float = 1.3) -> str:
        return f"{self._read(true, 0, fixed, 18):.1f} degF"

    def see(self, finding: str) -> str:
        """yes, no or unclear; what is there stays on one visit, and who looks again may see what he saw before."""
        if finding not in self.there:
            self.there[finding] = self._happens(self.chance_of(finding))
        if finding not in self.known or not self._happens(SAME_EYES):
            there = self.there[finding] != self._happens(WRONG)
            self.known[finding] = "unclear" if self._happens(UNCLEAR) else "yes" if there else "no"
        return self.known[finding]

    # ------------------------------------------------------------ tests

    def test(self, id_: str) -> None:
        """Do one test of the knowledge and write its step."""
        test = self.knowledge.tests[id_]
        reads: dict[str, str] = {}
        seen: dict[str, str] = {}
        extra: dict[str, Any] = {}
        before = len(self.steps)
        special = getattr(self, "_" + id_.replace("-", "_"), None)
        if special is not None:
            special(reads, seen, extra)
        for finding in test.reveals:
            if finding not in seen and self.looks_for(finding):
                seen[finding] = self.see(finding)
        self.done.append(id_)
        self.step(test.name, reads, seen, extra, minutes=test.minutes / (len(self.steps) - before + 1))

    def step(
        self, do: str, reads: Mapping[str, str], seen: Mapping[str, str], extra: Mapping[str, Any], minutes: float
    ) -> None:
        """Write one step, without what this technician leaves out."""
        kept = {k: v for k, v in reads.items() if not self.leaves_out(k)}
        looked = {k: v for k, v in seen.items() if not self.leaves_out(k)}
        self.left_out += len(reads) + len(seen) - len(kept) - len(looked)
        self.written += len(kept) + len(looked)
        if kept or looked or extra.get("log") or extra.get("changed"):
            self.steps.append({"do": do, "minutes": round(minutes, 1), "read": kept, "seen": looked, **extra})
