"""What numbers say when their plate value was not typed, when they are wrong on any plate, and what they rule out.

`usual.yml` holds the usual plates.  A finding is said on a usual plate only when its lowest and its highest value
decide alike, so that an 85 °F rise is high on every usual plate and a 68 °F rise is not judged.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

import yaml

from causebook import quantity as qty
from causebook.quantity import Kind

Judge = Callable[[Mapping[str, float]], Mapping[str, bool]]
"""The findings that typed numbers (ask id -> value [SI]) decide."""
UNSAID_FUEL = "natural gas"
"""The fuel where nobody said."""


@dataclass(frozen=True, slots=True)
class Plate:
    """The range in which most plates lie [SI]."""

    ask: str
    low: float
    high: float
    says: str
    fuel: str = ""


@dataclass(frozen=True, slots=True)
class Beyond:
    """A number that is wrong on any plate from `above` on [SI]."""

    ask: str
    above: float
    says: str
    fuel: str = ""


@dataclass(frozen=True, slots=True)
class Contradiction:
    """A reading of more than `above` [SI] that cannot be had while any of the findings is present."""

    ask: str
    above: float
    findings: tuple[str, ...]
    says: str


@dataclass(frozen=True, slots=True)
class Usual:
    """All of it."""

    plates: tuple[Plate, ...]
    beyond: tuple[Beyond, ...]
    contradicts: tuple[Contradiction, ...]


@functools.cache
def _table() -> dict[str, list[dict[str, Any]]]:
    table: dict[str, list[dict[str, Any]]] = yaml.safe_load(
        files(__package__).joinpath("usual.yml").read_text(encoding="utf-8")
    )
    return table


def usual(kinds: Mapping[str, Kind]) -> Usual:
    """The usual plates and what speaks by itself, in SI; `kinds`: the kind of each number that may be typed."""

    def si(entry: Mapping[str, Any], key: str) -> float:
        kind = kinds[entry["ask"]]
        return qty.si(qty.parse(entry[key], kind), kind)

    table = _table()
    return Usual(
        tuple(Plate(e["ask"], si(e, "low"), si(e, "high"), e["says"], e.get("fuel", "")) for e in table["plates"]),
        tuple(Beyond(e["ask"], si(e, "above"), e["says"], e.get("fuel", "")) for e in table["beyond"]),
        tuple(Contradiction(e["ask"], si(e, "above"), tuple(e["findings"]), e["says"]) for e in table["contradicts"]),
    )


def plates_for(typed: Mapping[str, float], fuel: str, known: Usual) -> tuple[Plate, ...]:
    """The usual plates that stand in for values that were not typed."""
    return tuple(p for p in known.plates if p.ask not in typed and p.fuel in ("", fuel or UNSAID_FUEL))


def assumed(typed: Mapping[str, float], fuel: str, known: Usual, judge: Judge) -> dict[str, bool]:
    """The findings that every usual plate decides alike, without those that the numbers decide by themselves."""
    plates = plates_for(typed, fuel, known)
    by_itself = judge(typed)
    low = judge({**{p.ask: p.low for p in plates}, **typed})
    high = judge({**{p.ask: p.high for p in plates}, **typed})
    return {f: present for f, present in low.items() if high.get(f) == present and f not in by_itself}


def beyond(typed: Mapping[str, float], fuel: str, known: Usual) -> tuple[Beyond, ...]:
    """The numbers that are wrong on any plate."""
    return tuple(b for b in known.beyond if b.fuel in ("", fuel or UNSAID_FUEL) and typed.get(b.ask, b.above) > b.above)


def contradicted(typed: Mapping[str, float], known: Usual) -> tuple[Contradiction, ...]:
    """What the readings rule out."""
    return tuple(c for c in known.contradicts if abs(typed.get(c.ask, 0.0)) > c.above)
