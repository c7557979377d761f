"""Sizes of ducts, grilles and filters as people write them: "14 x 8 in", "14 in round", "16 x 20 x 1 in"."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from causebook import quantity as qty
from causebook.quantity import Quantity, QuantityError

_EXPECTED = "a size with its unit, such as '14 x 8 in', '14 in round', '16 x 20 x 1 in' or '112 in^2'"
_CROSS = re.compile(r"\s*[x×X]\s*")
_SIDE = re.compile(r"(?P<number>\d[\d.,]*)\s*(?P<unit>[^\d\s].*)?")


@dataclass(frozen=True, slots=True)
class Size:
    """An opening: its area, and what else its text says.

    `width` and `height` are given for rectangles, `diameter` for round ones, `depth` for filters that state it;
    a bare area ("112 in^2") has none of them.
    """

    area: Quantity
    width: Quantity | None = None
    height: Quantity | None = None
    depth: Quantity | None = None
    diameter: Quantity | None = None


def read_size(text: str) -> Size:
    """Read a size; QuantityError when it is none, has no unit, or a side is not above zero."""
    words = text.strip()
    if words.endswith(" round"):
        diameter = _length(words.removesuffix(" round"), text)
        return Size(math.pi / 4 * diameter**2, diameter=diameter)
    sides = _CROSS.split(words)
    if len(sides) == 1:
        return Size(_area(words, text))
    if len(sides) > 3:
        raise QuantityError(text, _EXPECTED)
    unit = _SIDE.fullmatch(sides[-1])
    if unit is None or not unit["unit"]:
        raise QuantityError(text, _EXPECTED, "the unit is missing")
    lengths = [_length(side if not side[-1:].isdigit() else f"{side} {unit['unit']}", text) for side in sides]
    width, height, *depth = lengths
    return Size(width * height, width=width, height=height, depth=depth[0] if depth else None)


def _length(side: str, text: str) -> Quantity:
    try:
        length = qty.parse(side, qty.SMALL_LENGTH)
    except QuantityError as problem:
        raise QuantityError(text, _EXPECTED, problem.hint) from None
    if not length.magnitude > 0:
        raise QuantityError(text, _EXPECTED, "a side must be above zero")
    return length


def _area(words: str, text: str) -> Quantity:
    try:
        area = qty.parse(words, qty.SMALL_AREA)
    except QuantityError as problem:
        hint = "say 'round' if it is" if "is not a unit of" in problem.hint else problem.hint
        raise QuantityError(text, _EXPECTED, hint) from None
    if not area.magnitude > 0:
        raise QuantityError(text, _EXPECTED, "an area must be above zero")
    return area
