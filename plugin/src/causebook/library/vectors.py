"""Calls as points: the numbers of a call on common axes, and how far two calls lie apart on each.

Plain numbers go in and come out.  What the axes are stands in `axes.yml`; what a reading means stands elsewhere.

    distance = (one - other) / hypot(error of one, what is usual from house to house)
    closeness = exp(-distance**2 / 2)

so that a rise of 85 is close to one of 83 and far from one of 60, whatever either means.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files

import yaml

from causebook import quantity as qty
from causebook.quantity import KINDS, Kind


@dataclass(frozen=True, slots=True)
class Way:
    """One way to come by the number of an axis: a sum of readings with factors, over a value of the plate."""

    terms: Mapping[str, float]
    per: str = ""


@dataclass(frozen=True, slots=True)
class Axis:
    """One number by which calls are compared."""

    id: str
    name: str
    kind: Kind
    ways: tuple[Way, ...]
    usual: float
    """Difference that is still alike [SI; a share; a natural logarithm where `log`]."""
    log: bool = False
    least: float = 0.0
    """Added before taking the logarithm, so that 0 has one [SI]."""


@dataclass(frozen=True, slots=True)
class Point:
    """Where a call lies on one axis."""

    at: float
    """On the axis' own scale."""
    error: float
    """Standard uncertainty there, from the meters."""
    value: float
    """The number itself [SI, or a share of the plate], for people."""


@functools.cache
def axes() -> tuple[Axis, ...]:
    """All axes, in their order."""
    table = yaml.safe_load(files(__package__).joinpath("axes.yml").read_text(encoding="utf-8"))
    return tuple(_axis(id_, entry) for id_, entry in table.items())


def _axis(id_: str, entry: Mapping[str, object]) -> Axis:
    kind, log = KINDS[str(entry["kind"])], entry.get("scale") == "log"
    usual = entry["usual"]
    if log:
        spread = math.log(float(str(usual)))
    else:
        spread = float(usual) if isinstance(usual, int | float) else qty.si(qty.parse(str(usual), kind), kind)
    least = qty.si(qty.parse(str(entry["least"]), kind), kind) if "least" in entry else 0.0
    ways = entry["ways"]
    assert isinstance(ways, list)
    return Axis(id_, str(entry["name"]), kind, tuple(Way(**way) for way in ways), spread, log, least)


def kept(value: float) -> float:
    """A reading as it is kept and compared: to four digits, the same here and in the browser."""
    return float(f"{value:.4g}")


def points(values: Mapping[str, float], errors: Mapping[str, float]) -> dict[str, Point]:
    """Where a call with these readings (id -> value [SI], and standard uncertainty) lies, by axis."""
    out = {}
    for axis in axes():
        way = next((w for w in axis.ways if _read(w, values)), None)
        if way:
            out[axis.id] = _point(axis, way, values, errors)
    return out


def _read(way: Way, values: Mapping[str, float]) -> bool:
    return way.terms.keys() <= values.keys() and (not way.per or values.get(way.per, 0.0) > 0)


def _point(axis: Axis, way: Way, values: Mapping[str, float], errors: Mapping[str, float]) -> Point:
    scale = values[way.per] if way.per else 1.0
    value = sum(factor * values[id_] for id_, factor in way.terms.items()) / scale
    error = math.hypot(*(factor * errors.get(id_, 0.0) for id_, factor in way.terms.items())) / scale
    if not axis.log:
        return Point(value, error, value)
    at = max(value, 0.0) + axis.least
    return Point(math.log(at), error / at, value)


def closeness(axis: Axis, one: Point, other: float) -> float:
    """How close another call lies on an axis: 1 at the same place, 0.6 at one unit, 0.1 at two."""
    distance = (one.at - other) / math.hypot(one.error, axis.usual)
    return math.exp(-distance * distance / 2)
