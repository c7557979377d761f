"""What a working is made of: its fields, the function that makes it, and what comes out."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, Protocol

from causebook.casefile.marked_yaml import Node
from causebook.quantity import Kind, Quantity

Say = Callable[[int, int, str, str, str], None]
"""Notes what is wrong: line, column, found, expected, hint."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a calculation: what it is, its value, and how it was got (a formula, or empty).

    The value is a quantity of `kind`, a pair of them (a range), or words.
    """

    words: str
    value: Quantity | tuple[Quantity, Quantity] | str
    kind: Kind | None = None
    how: str = ""
    sd: Quantity | None = None
    """Standard uncertainty."""
    under: tuple[str, Quantity, Kind] | None = None
    """The condition it holds under: a word such as "at", and a quantity."""


@dataclass(frozen=True, slots=True)
class Worked:
    """What a calculation yields: the steps between, the results (the first is the one that counts), a sentence."""

    results: tuple[Line, ...]
    steps: tuple[Line, ...] = ()
    says: str = ""


class Form(Protocol):
    """How an input is written: reads it, and shows it again."""

    def read(self, node: Node, say: Say) -> Any:
        """The value; None when it cannot be read, which has then been said."""

    def lines(self, words: str, value: Any, how: str) -> Iterable[Line]:
        """The value as lines of the calculation."""


@dataclass(frozen=True, slots=True)
class Field:
    """One input: its name in the block, what it is, how it is written, and what is taken when it is left out.

    `otherwise` is the text taken instead; empty: the input may be left out and the calculation gets None, unless it
    is `needed`.
    """

    name: str
    words: str
    form: Form
    needed: bool = True
    otherwise: str = ""
    shown: bool = True
    """Whether it stands among what is given; not, where the steps repeat it word for word."""

    @property
    def parameter(self) -> str:
        """Its name as a parameter of the calculation."""
        return self.name.replace("-", "_")


@dataclass(frozen=True, slots=True)
class Working:
    """A calculation by name: its title, fields, the function that makes it from them, its source and a caution.

    `make` takes the fields as keyword parameters and raises ValueError or KeyError, in words, where they do not belong
    together.
    """

    name: str
    title: str
    fields: tuple[Field, ...]
    make: Callable[..., Worked]
    source: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Variant:
    """The same calculation with something else put in."""

    words: str
    results: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Example:
    """A block worked out, ready to be shown."""

    title: str
    given: tuple[Line, ...]
    worked: Worked
    source: str
    notes: tuple[str, ...] = ()
    mistakes: tuple[Variant, ...] = ()
    instead: tuple[Variant, ...] = ()
