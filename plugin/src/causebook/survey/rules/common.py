"""What the rules share: what they look at, what they return, and how a value is held against a limit.

A rule returns how probable it is that the finding is present, a sentence with the numbers, and the readings behind
it; None when its readings were not taken (the finding then stays "not looked for").  Limits come from the plate, or
from the knowledge's findings and constants.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from causebook import quantity as qty
from causebook.casefile.model import Case
from causebook.knowledge.model import Finding, Knowledge
from causebook.knowledge.sentences import whole
from causebook.measured import chance_above
from causebook.quantity import Kind
from causebook.survey import numbers
from causebook.survey.model import Estimate, ReadingSet, RuleContext


@dataclass(frozen=True, slots=True)
class Judged:
    """What one rule found."""

    probability: float
    because: str
    readings: tuple[str, ...]
    value: str = ""
    """What was read, and"""
    limit: str = ""
    """the bound it is held against, as text, where the finding is one value beside one bound."""


Rule = Callable[[RuleContext, Finding], Judged | None]


def registry() -> tuple[dict[str, Rule], Callable[[str], Callable[[Rule], Rule]]]:
    """An empty table of rules, and the decorator that puts one in under the name the knowledge uses."""
    rules: dict[str, Rule] = {}

    def rule(name: str) -> Callable[[Rule], Rule]:
        def keep(function: Rule) -> Rule:
            rules[name] = function
            return function

        return keep

    return rules, rule


def limit_of(known: Finding, kind: Kind) -> float:
    """The limit of a finding [SI of `kind`]; a share or a difference where its unit says so."""
    assert known.limit is not None, f"{known.id} needs a limit"
    return qty.si(qty.q(known.limit, known.limit_unit), kind)


def over(
    value: tuple[float, float],
    limit: float,
    kind: Kind,
    what: str,
    against: str,
    readings: Sequence[str],
    below: bool = False,
    of: str = "",
) -> Judged:
    """Is a value over (or below) its limit?  `of`: what it is a share of.

    The sentence is true of both answers: "coil takes 0.13 in. w.c. (looked at above 0.30)".
    """
    chance = chance_above(*value, limit)
    shown = qty.show(qty.from_si(value[0], kind), kind)
    bound = qty.show(qty.from_si(limit, kind), kind)
    bare = bound if kind.us_text == "%" else bound.removesuffix(kind.us_text).rstrip()
    said = f"{what} {shown}{of and ' of ' + of} ({against} {bare})"
    return Judged(1 - chance if below else chance, said, tuple(readings), shown, whole(bound))


def estimate_over(found: Estimate, limit: float, what: str, against: str, below: bool = False) -> Judged:
    """The same for an estimate, with the readings behind it."""
    return over(found.pair, limit, found.kind, what, against, found.readings, below)


def return_above_room(case: Case, found: ReadingSet, knowledge: Knowledge) -> tuple[float, float] | None:
    """Return at the furnace less the rooms, with its uncertainty [K]; None unless both are known."""
    back = found.readings.get("return-air")
    room = numbers.first(found.readings, "rooms-mean-temperature", "room-temperature")
    if room is not None:
        rooms = numbers.value(room, knowledge), numbers.sd(room, knowledge)
    elif case.file.site.room is not None:
        rooms = qty.si(case.file.site.room, qty.TEMPERATURE), 0.6
    else:
        return None
    if back is None:
        return None
    return numbers.value(back, knowledge) - rooms[0], math.hypot(numbers.sd(back, knowledge), rooms[1])


RISE = qty.TEMPERATURE_DIFFERENCE


def rise_range(facts: RuleContext) -> tuple[float, float] | None:
    """The plate's least and most rise [K]."""
    furnace = facts.case.file.furnace
    return (
        None
        if furnace is None or furnace.rise is None
        else (qty.si(furnace.rise[0], RISE), qty.si(furnace.rise[1], RISE))
    )
