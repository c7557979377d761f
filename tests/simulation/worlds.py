"""The simulated worlds by name: `air` does not carry the heat away, `start` brings no fire, or none that stays."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from causebook.knowledge.model import Knowledge

from . import calls, start_calls, start_judge, start_visits, visits
from .score import LIMITS, PRESSURE_SWITCHES, Guarded
from .visit import Called, Visit


@dataclass(frozen=True)
class World:
    """How a world draws its calls and visits them."""

    draw: Callable[[int], Any]
    visit_of: Callable[[Any, Knowledge], Visit]
    guarded: Guarded
    judge: Callable[[Any, str], list[str]] = lambda visit, answer: []
    """Why the record of a visit disproves an answer."""

    def call(self, seed: int, knowledge: Knowledge) -> tuple[Called, Visit]:
        """One call with its patchy visit; the same seed gives the same."""
        call: Called = self.draw(seed)
        return call, self.visit_of(call, knowledge)


WORLDS: Mapping[str, World] = {
    "air": World(calls.draw, visits.visit_of, LIMITS),
    "start": World(start_calls.draw, start_visits.visit_of, PRESSURE_SWITCHES, start_judge.disproved),
}
