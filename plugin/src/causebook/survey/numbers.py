"""Readings as bare SI numbers with the standard uncertainty of the instrument that gave them."""

from __future__ import annotations

from collections.abc import Mapping

from causebook import quantity as qty
from causebook.casefile.doubts import standard_uncertainty
from causebook.casefile.model import Taken
from causebook.knowledge.model import Knowledge
from causebook.measured import Measured
from causebook.quantity import KINDS, Kind, Quantity


def kind_of(reading: str, knowledge: Knowledge) -> Kind:
    """The kind of quantity a reading is."""
    return KINDS[knowledge.readings[reading].kind]


def value(taken: Taken, knowledge: Knowledge) -> float:
    """A reading as a bare SI number."""
    return qty.si(taken.value, kind_of(taken.reading, knowledge))


def sd(taken: Taken, knowledge: Knowledge) -> float:
    """Its standard uncertainty [SI]: the author's, else the instrument's usual one."""
    return standard_uncertainty(taken, knowledge)


def measured(taken: Taken, knowledge: Knowledge) -> Measured:
    """A reading with its standard uncertainty."""
    return Measured(value(taken, knowledge), sd(taken, knowledge), kind_of(taken.reading, knowledge))


def constant(knowledge: Knowledge, name: str) -> float:
    """The value of a named constant."""
    return knowledge.constants[name].value


def first(readings: Mapping[str, Taken], *names: str) -> Taken | None:
    """The first of the named readings that was taken."""
    return next((readings[name] for name in names if name in readings), None)


def optional_si(quantity: Quantity | None, kind: Kind) -> float | None:
    """A quantity as a bare SI number; None stays None."""
    return None if quantity is None else qty.si(quantity, kind)
