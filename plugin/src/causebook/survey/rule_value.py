"""The one evaluator of rules: a rule of the knowledge becomes lines, and a line holds numbers against a limit.

Survey, stops and search judge by it; the page's script reads the same lines as data.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from causebook import quantity as qty
from causebook.knowledge.model import Finding, Knowledge
from causebook.knowledge.rules import Rule, Sum
from causebook.knowledge.sentences import in_running, whole
from causebook.measured import chance_above
from causebook.quantity import KINDS, Kind

EVEN = 0.5
PRESENT, ABSENT = 0.8, 0.2
"""Above and below these chances a finding is present or absent; between them the numbers do not decide."""


@dataclass(frozen=True, slots=True)
class Known:
    """A value [SI] with its standard uncertainty, and the readings behind it."""

    si: float
    sd: float = 0.0
    readings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Judged:
    """What a rule found."""

    probability: float
    because: str
    readings: tuple[str, ...]
    value: str = ""
    """What was read, and"""
    limit: str = ""
    """the bound it is held against, as text, where the finding is one value beside one bound."""


@dataclass(frozen=True, slots=True)
class Line:
    """It holds when the sum of `terms` (id -> factor) lies above `limit` [SI]."""

    terms: Sum
    limit: float = 0.0
    spread: float = 1.0
    sd: float | None = None
    """Standard uncertainty in place of the terms' own."""

    def chance(self, known: Mapping[str, Known]) -> float:
        """Chance that it holds for these values."""
        total = sum(factor * known[id_].si for id_, factor in self.terms.items())
        own = math.hypot(*(factor * known[id_].sd for id_, factor in self.terms.items()))
        return chance_above(total, self.spread * (own if self.sd is None else self.sd), self.limit)


def kind_of(way: Sum, knowledge: Knowledge) -> Kind:
    """The kind of quantity that a sum is: one temperature less another is a difference."""
    kind = KINDS[knowledge.kind_of(next(iter(way)))]
    return qty.spread_kind(kind) if len(way) > 1 and not sum(way.values()) else kind


def line(rule: Rule, way: Sum, bound: str | Sum, knowledge: Knowledge) -> Line:
    """A rule as a line: one way of reading its value against one of its bounds."""
    kind, terms = kind_of(way, knowledge), dict(way)
    limit = _si(rule.by, qty.spread_kind(kind)) if rule.by else 0.0
    if rule.of:
        terms[rule.of] = terms.get(rule.of, 0.0) - _share(bound)
    elif isinstance(bound, Mapping):
        for id_, factor in bound.items():
            terms[id_] = terms.get(id_, 0.0) - factor
    else:
        limit += _si(bound, kind)
    sign = 1.0 if rule.above else -1.0
    sd = _si(rule.sd, qty.spread_kind(kind)) if rule.sd else None
    return Line({id_: sign * factor for id_, factor in terms.items()}, sign * limit, rule.spread, sd)


def _si(text: str | Sum, kind: Kind) -> float:
    return qty.si(qty.parse(str(text), kind), kind)


def _share(bound: str | Sum) -> float:
    return _si(bound, qty.SHARE)


def judge(rule: Rule, value: Callable[[str], Known | None], knowledge: Knowledge, saw: bool = False) -> Judged | None:
    """What a rule says of values; None where it does not speak.  `saw`: was the finding seen?"""
    if not all((one := judge(given, value, knowledge)) and one.probability >= EVEN for given in rule.provided):
        return None
    way = next((way for way in rule.ways if _known(way, value) is not None), None)
    ids = [*([rule.of] if rule.of else []), *([rule.beside] if rule.beside else [])]
    if way is None or _known(dict.fromkeys(ids, 1.0), value) is None:
        return None
    bounds = [b for b in (rule.bound, *rule.nearer) if not isinstance(b, Mapping) or _known(b, value) is not None]
    if not bounds or bounds[0] is not rule.bound:
        return None
    kind = kind_of(way, knowledge)
    at = {id(b): _total(b, value) if isinstance(b, Mapping) else _si(b, qty.SHARE if rule.of else kind) for b in bounds}
    bound = (min if rule.above else max)(bounds, key=lambda b: at[id(b)])
    held = line(rule, way, bound, knowledge)
    known = _known(held.terms, value) or {}
    chance = held.chance(known)
    if rule.only and (chance >= EVEN) != (rule.only == "present") or rule.yields and saw and chance < EVEN:
        return None
    shown, limit = _total(way, value), at[id(bound)] + (_si(rule.by, qty.spread_kind(kind)) if rule.by else 0.0)
    if rule.of:
        kind, shown = qty.SHARE, shown / _total({rule.of: 1.0}, value)
    if rule.beside:
        limit = _total({rule.beside: 1.0}, value)
    told, bounded = qty.show(qty.from_si(shown, kind), kind), whole(qty.show(qty.from_si(limit, kind), kind))
    behind = tuple(dict.fromkeys(r for term in known.values() for r in term.readings))
    read = ", ".join(f"{_name(id_, knowledge)} {_shown(id_, value, knowledge)}" for id_ in way)
    words = f"{read}, limit {bounded}"
    return Judged(chance, words, behind, whole(told) if rule.beside else told, bounded)


def _name(id_: str, knowledge: Knowledge) -> str:
    return in_running((knowledge.readings.get(id_) or knowledge.values[id_]).name)


def _shown(id_: str, value: Callable[[str], Known | None], knowledge: Knowledge) -> str:
    kind = KINDS[knowledge.kind_of(id_)]
    return qty.show(qty.from_si(_total({id_: 1.0}, value), kind), kind)


def finding_of(
    finding: Finding, value: Callable[[str], Known | None], knowledge: Knowledge, saw: bool = False
) -> Judged | None:
    """What the rules of a finding say of values; None where none speaks."""
    told = (judge(rule, value, knowledge, saw) for rule in finding.when)
    found = (one for one in told if one is not None)
    return max(found, key=lambda one: one.probability, default=None) if finding.strongest else next(found, None)


def _known(sum_: Sum, value: Callable[[str], Known | None]) -> dict[str, Known] | None:
    """Every value of a sum; None where one is missing."""
    found = {id_: value(id_) for id_ in sum_}
    known = {id_: one for id_, one in found.items() if one is not None}
    return known if len(known) == len(found) else None


def _total(sum_: Sum, value: Callable[[str], Known | None]) -> float:
    return sum(factor * one.si for id_, factor in sum_.items() if (one := value(id_)) is not None)
