"""Sizes as authors write them, as duct shapes; and calculations shown, as text."""

from __future__ import annotations

import math

from causebook import quantity as qty
from causebook.casefile.sizes import Size, read_size
from causebook.physics.duct import Rectangular, Round, Shape
from causebook.quantity import INCH, Kind
from causebook.survey.model import Work

MEMORY = "from memory"
PRACTICE = "common practice, no source"
ESTIMATE = "expert estimate"


def shape_of(size: Size | str) -> Shape:
    """The shape of a size; a bare area is taken as round.  QuantityError for a text that is no size."""
    read = read_size(size) if isinstance(size, str) else size
    if read.diameter is not None:
        return Round(qty.si(read.diameter, qty.SMALL_LENGTH))
    if read.width is not None and read.height is not None:
        return Rectangular(qty.si(read.width, qty.SMALL_LENGTH), qty.si(read.height, qty.SMALL_LENGTH))
    return Round(math.sqrt(4 / math.pi * qty.si(read.area, qty.SMALL_AREA)))


def inches(shape: Shape) -> str:
    """A shape in words: "14 in. round", "20 × 8 in."."""
    if isinstance(shape, Round):
        return f"{shape.diameter / INCH:.4g} in. round"
    if isinstance(shape, Rectangular):
        return f"{shape.width / INCH:.4g} × {shape.height / INCH:.4g} in."
    return f"{shape.area_si / INCH**2:.0f} in²"


def text(number: float, kind: Kind, digits: int | None = None) -> str:
    """A bare SI number as people read it."""
    return qty.show(qty.from_si(float(number), kind), kind, digits)


def work(title: str, formula: str, terms: dict[str, str], result: str, source: str, note: str = "") -> Work:
    """A calculation shown."""
    return Work(title, formula, tuple(terms.items()), result, source, note)
