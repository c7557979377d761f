"""When a finding follows from what was read: its rule as data, and the values besides readings that rules speak of.

A rule holds a value against a bound.  `read` is the value: one id, several of which the first that was read counts, or
a sum (id -> factor).  `above` or `below` is the bound: a quantity in words ("190 degF"), or a sum of other values (ids
of plate values, mostly), moved by `by`.  Ids are readings or `values` (see `Value`).

    when: {read: motor-case, above: 190 degF}
    when: {read: manifold, above: {plate-manifold: 1}, by: 0.3 inH2O}
    when: {read: {rise: 1, rise-filter-out: -1}, above: 8 delta_degF, spread: 0.5}
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Literal

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from causebook.knowledge.entry import Entry, Named

Sum = Mapping[str, float]
"""Id of a reading or value -> the factor it counts with."""


class Rule(Entry):
    """One way in which a finding follows from values."""

    read: str | tuple[str, ...] | Sum
    """What is read: one, any of several, or a sum."""
    above: str | Sum = ""
    """It is so above this."""
    below: str | Sum = ""
    """It is so below this."""
    by: str = ""
    """Added to the bound."""
    of: str = ""
    """The value is taken as a share of this one, and the bound is a share ("105 %")."""
    nearer: tuple[Sum, ...] = ()
    """Further bounds where they are known; the one that is reached first counts."""
    spread: float = Field(default=1, gt=0)
    """Factor on the uncertainty: below 1 where the same probe was read twice within minutes."""
    sd: str = ""
    """Standard uncertainty of the value in place of its instruments'."""
    provided: tuple[Rule, ...] = ()
    """Says nothing unless these hold ..."""
    otherwise: str = ""
    """... and what that means when they do not, for somebody who searches by readings."""
    only: Literal["", "present", "absent"] = ""
    """It speaks only where it says this."""
    yields: bool = False
    """Where it says no, what was seen counts."""
    beside: str = ""
    """The value that the sentence names as the limit, where that is not the bound."""

    @model_validator(mode="after")
    def _one_bound(self) -> Rule:
        if bool(self.above) == bool(self.below):
            raise PydanticCustomError("bound", "a rule with `above` or `below`, and not both")
        return self

    @property
    def bound(self) -> str | Sum:
        """What the value is held against."""
        return self.above or self.below

    @property
    def ways(self) -> tuple[Sum, ...]:
        """What may be read, each as a sum."""
        if isinstance(self.read, Mapping):
            return (self.read,)
        return tuple({id_: 1.0} for id_ in ((self.read,) if isinstance(self.read, str) else self.read))

    @property
    def ids(self) -> tuple[str, ...]:
        """Every id that it speaks of."""
        return tuple(dict.fromkeys(self._ids()))

    def _ids(self) -> Iterator[str]:
        for way in self.ways:
            yield from way
        for bound in (self.bound, *self.nearer):
            yield from bound if isinstance(bound, Mapping) else ()
        yield from (id_ for id_ in (self.of, self.beside) if id_)
        for rule in self.provided:
            yield from rule.ids


class Value(Named):
    """Something besides a reading that a rule speaks of: on the plate, read with one thing changed, or worked out."""

    kind: str
    """Kind of quantity: its units and its bounds."""
    plate: tuple[str, ...] = ()
    """Where the case file holds it ("furnace.rise.1"): the first place that is filled."""
    reading: str = ""
    """The reading that it is, taken ..."""
    changed: Mapping[str, str] = {}
    """... in this state of the system."""
    typed: tuple[Sum, ...] = ()
    """Readings that give it to somebody who types numbers, or constants that stand for it."""
    size_only: bool = False
    """Its sign says nothing."""
    bounded_as: str = ""
    """The reading whose bounds it has."""

    @property
    def worked_out(self) -> bool:
        """Does the survey work it out (`survey/values.py`)?"""
        return not self.plate and not self.changed


def as_rules(when: Any) -> Any:
    """One rule may stand without its list."""
    return (when,) if isinstance(when, Mapping) else when
