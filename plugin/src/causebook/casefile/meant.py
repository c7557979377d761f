"""What a doubtful number probably was before it was typed: digits exchanged, a decimal point moved, a sign left out."""

from __future__ import annotations

import math
from collections.abc import Iterator

from causebook import quantity as qty
from causebook.knowledge.bounds import Bounds
from causebook.quantity import Kind, Quantity


def meant(quantity: Quantity, kind: Kind, plausible: Bounds) -> str:
    """The likeliest slip that would make `quantity` plausible, as it would be typed; empty when none would.

    Exchanged digits go before a moved point, that before a sign, that before a digit too many; of one sort the one
    nearest to the middle of what is plausible.
    """
    unit = quantity.units
    middle = (plausible.low + plausible.high) / 2 if math.isfinite(plausible.low + plausible.high) else plausible.low

    def off(number: float) -> float:
        return abs(qty.si(Quantity(number, unit), kind) - middle)

    for sort in _slips(f"{abs(float(quantity.magnitude)):.10g}", float(quantity.magnitude) < 0):
        likely = [number for number in sort if plausible.hold(qty.si(Quantity(number, unit), kind))]
        if likely:
            return f"{min(likely, key=off):.10g}"
    return ""


def _slips(written: str, negative: bool) -> Iterator[list[float]]:
    """What may have been meant by a number as written, without its sign, the likeliest sort of slip first."""
    if not all(character.isdigit() or character == "." for character in written):  # 1e+30: nobody typed that
        return
    sign = -1.0 if negative else 1.0
    value = float(written)
    yield [sign * float(text) for text in _exchanged(written) if text != written]
    yield [sign * value * 10.0**shift for shift in (-1, 1, -2, 2, -3, 3)]
    yield [-sign * value]
    yield [
        sign * float(text)
        for place in range(len(written))
        if _is_number(text := written[:place] + written[place + 1 :])
    ]


def _exchanged(written: str) -> Iterator[str]:
    """Two neighbors in each other's place, from the first digit that counts."""
    first_digit = next((place for place, character in enumerate(written) if character in "123456789"), len(written))
    for place in range(first_digit, len(written) - 1):
        first, second = written[place], written[place + 1]
        if "." not in (first, second):
            yield written[:place] + second + first + written[place + 2 :]


def _is_number(text: str) -> bool:
    return any(map(str.isdigit, text))
