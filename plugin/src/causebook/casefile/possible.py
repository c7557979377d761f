"""Values that cannot be, whatever the house: the first net for a slipped decimal point or a wrong unit.

The bounds stand in the knowledge (`bounds` and `ranges` of bounds.yml).  They are of what is impossible, never of what
is unusual: that is doubted, and struck with its reason (`doubts`).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from causebook import quantity as qty
from causebook.knowledge import load
from causebook.knowledge.bounds import Bounds, read_bounds
from causebook.knowledge.model import Knowledge, slug
from causebook.quantity import Kind, Quantity, QuantityError

HINT = "check the decimal point and the unit"


def bounds(name: str) -> Bounds:
    """The bounds of a key of the case file, or of a kind of quantity, by its name in the data; none where it has none.

    Our own: what the physics takes is the same for every company.
    """
    known = load().bounds.get(slug(name))
    return read_bounds(known.possible, qty.KINDS[known.kind]) if known else Bounds()


def bounds_of(kind: Kind, within: str = "") -> Bounds:
    """What a quantity of a kind may be; `within`: bounds written out, in place of those of its kind."""
    return read_bounds(within, kind) if within else bounds(kind.name)


def possible(quantity: Quantity, kind: Kind, limits: Bounds | None = None) -> Quantity:
    """`quantity` as it is; QuantityError when nothing of its kind can be so.

    `limits`: bounds of its own, in place of those of its kind.
    """
    limits = bounds(kind.name) if limits is None else limits
    if not limits.hold(qty.si(quantity, kind)):
        raise QuantityError(qty.show(quantity, kind), f"{kind.name} {limits.words}", HINT)
    return quantity


def mode_of(mode: str) -> str:
    """The mode of the furnace in which a step was done, as the ranges name it."""
    return mode if mode in ("cooling", "fan only") else "heating"


def for_mode(ranges: Mapping[Any, str], mode: str) -> str:
    """Of bounds by mode those for a step; empty where there are none."""
    return ranges.get(mode_of(mode)) or ranges.get("any", "")


def within_of(reading: str, mode: str, knowledge: Knowledge | None = None) -> str:
    """The bounds of a reading's own, taken in a mode of the furnace; empty when its kind's are enough."""
    range_ = (knowledge or load()).ranges.get(reading)
    return for_mode(range_.possible, mode) if range_ else ""
