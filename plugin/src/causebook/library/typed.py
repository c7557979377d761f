"""What a searcher may type, and what it means: readings and plate values on one side, findings on the other.

The survey judges a whole case, with its steps, logs and fan table.  A searcher has a few numbers and no case.  The
rules of the findings are therefore written out in what can be typed: each becomes lines, weighted sums that must lie
above a limit, which the browser reads as data (`find_index.py`).
"""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import product

from causebook import quantity as qty
from causebook.casefile.possible import bounds_of, within_of
from causebook.knowledge.bounds import Bounds
from causebook.knowledge.model import Accuracy, Knowledge
from causebook.knowledge.rules import Rule, Sum
from causebook.knowledge.sentences import in_running
from causebook.physics.combustion import ANALYZER_OXYGEN
from causebook.quantity import KINDS, Kind
from causebook.survey.model import Survey
from causebook.survey.rule_value import ABSENT, EVEN, PRESENT, Known, Line, line
from causebook.survey.values import CaseValues


@dataclass(frozen=True, slots=True)
class Ask:
    """One number that may be typed: a reading, or a value of the rating plate to hold it against."""

    id: str
    name: str
    kind: Kind
    group: str
    where: str = ""
    relative: float = 0.0
    """Standard uncertainty as a share of the reading ..."""
    fixed: float = 0.0
    """... and its fixed part [SI]."""
    sense: int = 0
    """How the sign of the gauge is taken: 0 as it is, 1 only the size, -1 suction with or without its minus."""
    bounds: Bounds = Bounds()
    """What it can be at all [SI]."""

    def meant(self, value: float) -> float:
        """A value [SI] with the sign it must have."""
        return self.sense * abs(value) if self.sense else value

    def sd(self, value: float) -> float:
        """Standard uncertainty of a value [SI]."""
        return math.hypot(self.relative * value, self.fixed)


@dataclass(frozen=True, slots=True)
class Typed(Line):
    """A line in what can be typed, and the finding that it decides."""

    finding: str = ""
    given: tuple[Line, ...] = ()
    """Says nothing unless these hold ..."""
    otherwise: str = ""
    """... and what that means when they do not."""
    only: str = ""
    """It speaks only where it says this: present, or absent."""
    strongest: bool = False
    """Of several lines of its finding the one that speaks loudest counts, else the first that can speak."""


PLATE, CHANGED, OTHERS = "Rating plate", "One thing changed", "Other readings"
GROUPS = ("Air", "Danger", "Gas and flame", "Limit, control and blower")
"""The groups of the form that come first, in this order; more come as the data names them."""
NEVER_BELOW = (
    ("supply-air", "return-air", "with the burner on it cannot; readings in cooling are not compared here"),
    ("maximum-rise", "minimum-rise", "the plate gives the lower end first"),
    ("highest-gas-inlet", "lowest-gas-inlet", "the plate gives the lower end first"),
)
"""(ask, another that it never lies below, why)."""


def asks(knowledge: Knowledge) -> tuple[Ask, ...]:
    """Everything that may be typed, in the order in which it is asked."""
    spoken = {id_ for line in lines(knowledge) for id_ in line.terms}
    grouped: dict[str, list[Ask]] = {group: [] for group in GROUPS}
    for id_, reading in knowledge.readings.items():
        if reading.ask_in or id_ in spoken:
            group, kind = reading.ask_in or OTHERS, KINDS[reading.kind]
            sense = -1 if reading.suction else int(reading.size_only)
            spread = _accuracy(reading.accuracy, kind)
            ask = Ask(id_, reading.name, kind, group, reading.where, *spread, sense, _bounds(id_, kind))
            grouped.setdefault(group, []).append(ask)
    return (*(ask for group in grouped.values() for ask in group), *_of_values(knowledge))


def _of_values(knowledge: Knowledge) -> Iterator[Ask]:
    """What was read with one thing changed, then the plate."""
    for changed in (True, False):
        for id_, value in knowledge.values.items():
            if value.worked_out or bool(value.changed) != changed:
                continue
            kind = KINDS[value.kind]
            spread = _accuracy(knowledge.readings[value.reading].accuracy, kind) if value.reading else (0.0, 0.0)
            bounds = _bounds(value.reading or value.bounded_as or id_, kind)
            group = CHANGED if changed else PLATE
            yield Ask(id_, value.name, kind, group, "", *spread, int(value.size_only), bounds)


def _bounds(id_: str, kind: Kind) -> Bounds:
    return bounds_of(kind, within_of(id_, "heating"))


def wrong(typed: Mapping[str, float], knowledge: Knowledge) -> dict[str, str]:
    """Of typed numbers (ask id -> value [SI]) those that cannot be, with the reason."""
    known = {ask.id: ask for ask in asks(knowledge)}
    out = {
        id_: f"{known[id_].name} can only be {known[id_].bounds.words}"
        for id_, value in typed.items()
        if not known[id_].bounds.hold(value)
    }
    for upper, lower, why in NEVER_BELOW:
        if {upper, lower} <= typed.keys() - out.keys() and typed[upper] < typed[lower]:
            out[upper] = f"{known[upper].name} lies below {in_running(known[lower].name)}: {why}"
    return out


def _accuracy(accuracy: Accuracy, kind: Kind) -> tuple[float, float]:
    spread = qty.spread_kind(kind)
    fixed = qty.si(qty.parse(accuracy.fixed, spread), spread) if accuracy.fixed else 0.0
    return 0.0 if kind.si == "K" else accuracy.relative, fixed


@functools.lru_cache(maxsize=8)
def _lines(version: str, knowledge: _Held) -> tuple[Typed, ...]:
    return tuple(_written_out(knowledge.knowledge))


def lines(knowledge: Knowledge) -> tuple[Typed, ...]:
    """What numbers decide which findings."""
    return _lines(knowledge.version, _Held(knowledge))


@dataclass(frozen=True)
class _Held:
    """Knowledge as the key of a cache: its version says it all."""

    knowledge: Knowledge = field(hash=False, compare=False)


def _written_out(knowledge: Knowledge) -> Iterator[Typed]:
    for finding in knowledge.findings.values():
        for rule in finding.when:
            given = tuple(next(_expanded(one, knowledge), None) for one in rule.provided)
            for held in _expanded(rule, knowledge):
                yield Typed(
                    held.terms,
                    held.limit,
                    held.spread,
                    held.sd,
                    finding.id,
                    tuple(one for one in given if one is not None),
                    rule.otherwise,
                    rule.only,
                    finding.strongest,
                )


def _expanded(rule: Rule, knowledge: Knowledge) -> Iterator[Line]:
    """A rule in what can be typed, once for each way of typing it; nothing where it cannot be."""
    for way in rule.ways:
        held = line(rule, way, rule.bound, knowledge)
        if AIR_FREE in held.terms:
            held = _with_oxygen(held)
        for choice in product(*(_typed(id_, knowledge) for id_ in held.terms)):
            terms: dict[str, float] = {}
            limit = held.limit
            for factor, sum_ in zip(held.terms.values(), choice, strict=True):
                for id_, times in sum_.items():
                    if id_ in knowledge.constants and id_ not in knowledge.readings:
                        constant = knowledge.constants[id_]
                        limit -= factor * times * float(qty.q(constant.value, constant.unit).to_base_units().magnitude)
                    else:
                        terms[id_] = terms.get(id_, 0.0) + factor * times
            yield replace(held, terms=terms, limit=limit)


AIR_FREE = "co-air-free"


def _with_oxygen(held: Line) -> Line:
    """Free of air, CO × 20.9 / (20.9 − O₂) lies above the limit: the same, cleared of its fraction."""
    return replace(held, terms={"co-in-flue": 1.0, "oxygen-in-flue": held.limit / ANALYZER_OXYGEN})


def _typed(id_: str, knowledge: Knowledge) -> tuple[Sum, ...]:
    """The ways in which a searcher gives one value."""
    if (reading := knowledge.readings.get(id_)) is not None:
        return ({id_: 1.0}, *reading.typed)
    value = knowledge.values[id_]
    return value.typed if value.worked_out else ({id_: 1.0},)


def judge(typed: Mapping[str, float], knowledge: Knowledge) -> dict[str, bool]:
    """The findings that typed numbers (ask id -> value [SI]) decide: present or absent; undecided ones are left out."""
    known = _known(typed, knowledge)
    chances: dict[str, float] = {}
    for held in lines(knowledge):
        if not held.terms.keys() <= known.keys() or held.finding in chances and not held.strongest:
            continue
        if not all(given.terms.keys() <= known.keys() and given.chance(known) > EVEN for given in held.given):
            continue
        chance = held.chance(known)
        if not held.only or (chance >= EVEN) == (held.only == "present"):
            chances[held.finding] = max(chance, chances.get(held.finding, 0.0))
    return {finding: chance > PRESENT for finding, chance in chances.items() if not ABSENT <= chance <= PRESENT}


def _known(typed: Mapping[str, float], knowledge: Knowledge) -> dict[str, Known]:
    of = {ask.id: ask for ask in asks(knowledge)}
    meant = {id_: of[id_].meant(value) for id_, value in typed.items()}
    return {id_: Known(value, of[id_].sd(value)) for id_, value in meant.items()}


def typed_of(surveyed: Survey) -> dict[str, float]:
    """The same numbers of a case: its as-found readings, those with one thing changed, and its plate [SI]."""
    value = CaseValues(surveyed.rule_context)
    known = {ask.id: value(ask.id) for ask in asks(surveyed.knowledge)}
    return {id_: one.si for id_, one in known.items() if one is not None}
