"""Bounds as the data writes them, "1 s to 7200 s" or "above 0 in^2", read as numbers."""

from __future__ import annotations

import functools
import math
import re
from dataclasses import dataclass

from causebook import quantity as qty
from causebook.quantity import Kind, QuantityError

_WORDS = re.compile(r"(?P<above>above )?(?P<low>.+?)(?: to (?P<high>.+))?")


@dataclass(frozen=True, slots=True)
class Bounds:
    """What a quantity may be, in the SI unit of its kind; `low` itself is left out when `above`."""

    low: float = -math.inf
    high: float = math.inf
    above: bool = False
    words: str = ""
    """The same for an author: "from 1 s to 7200 s"."""

    def hold(self, number: float) -> bool:
        """Does a number [SI] lie within?"""
        return (self.low < number if self.above else self.low <= number) and number <= self.high


@functools.cache
def read_bounds(words: str, kind: Kind) -> Bounds:
    """Bounds written as "1 s to 7200 s", "above 0 in^2" or "above 0 cfm to 10000 cfm".

    Raises QuantityError for what is no bound of this kind, or ends below where it begins.
    """
    found = _WORDS.fullmatch(words)
    if found is None:
        raise QuantityError(words, f"bounds of {kind.name}, such as '0 {kind.us} to 10 {kind.us}'")
    low = qty.si(qty.parse(found["low"], kind), kind)
    high = qty.si(qty.parse(found["high"], kind), kind) if found["high"] else math.inf
    if not low < high:
        raise QuantityError(words, "bounds from low to high")
    shown = words if found["above"] else f"from {words}" if found["high"] else f"of {words} or more"
    return Bounds(low, high, bool(found["above"]), shown)
