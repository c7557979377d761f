"""How inputs are written in a block: one quantity, a range, a size, words of a list, tables of these."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from causebook import quantity as qty
from causebook.casefile.marked_yaml import Node
from causebook.casefile.sizes import Size, read_size
from causebook.knowledge.model import slug
from causebook.physics.gas import drill_diameter
from causebook.problems import did_you_mean
from causebook.quantity import Kind, Quantity, QuantityError
from causebook.workings.model import Form, Line, Say

T = TypeVar("T")


def _read(node: Node, say: Say, parse: Callable[[str], T]) -> T | None:
    if node.text is None:
        say(
            node.line, node.column, "nothing is written" if node.value is None else "a list or mapping", "one value", ""
        )
        return None
    try:
        return parse(node.text)
    except QuantityError as wrong:
        say(node.line, node.column, repr(wrong.found), wrong.expected, wrong.hint)
        return None


@dataclass(frozen=True, slots=True)
class One:
    """One quantity: "80000 Btu/h"."""

    kind: Kind

    def read(self, node: Node, say: Say) -> Quantity | None:
        """The quantity."""
        return _read(node, say, lambda text: qty.parse(text, self.kind))

    def lines(self, words: str, value: Quantity, how: str) -> Iterable[Line]:
        """One line."""
        yield Line(words, value, self.kind, how)


@dataclass(frozen=True, slots=True)
class Span:
    """A range: "35 to 65 degF"."""

    kind: Kind

    def read(self, node: Node, say: Say) -> tuple[Quantity, Quantity] | None:
        """The lower and the upper end."""
        return _read(node, say, lambda text: qty.parse_range(text, self.kind))

    def lines(self, words: str, value: tuple[Quantity, Quantity], how: str) -> Iterable[Line]:
        """One line."""
        yield Line(words, value, self.kind, how)


@dataclass(frozen=True, slots=True)
class Opening:
    """A size: "14 x 8 in", "14 in round", "112 in^2"."""

    def read(self, node: Node, say: Say) -> Size | None:
        """The size."""
        return _read(node, say, read_size)

    def lines(self, words: str, value: Size, how: str) -> Iterable[Line]:
        """Its area."""
        yield Line(words, value.area, qty.SMALL_AREA, how or _sides(value))


def _sides(size: Size) -> str:
    if size.diameter is not None:
        return f"{qty.us(size.diameter, qty.SMALL_LENGTH):g} in. round"
    sides = [s for s in (size.width, size.height, size.depth) if s is not None]
    return " × ".join(f"{qty.us(s, qty.SMALL_LENGTH):g}" for s in sides) + " in." if sides else ""


@dataclass(frozen=True, slots=True)
class Word:
    """One of a list of words; other spellings of the same (capitals, hyphens) are understood."""

    known: Callable[[], Mapping[str, str]]
    """Word -> what it is called on the page."""
    what: str

    def read(self, node: Node, say: Say) -> str | None:
        """The word as known."""
        return _read(node, say, self.find)

    def find(self, text: str) -> str:
        """The known word; QuantityError naming the nearest."""
        known = {slug(word): word for word in self.known()}
        if slug(text) not in known:
            few = ", ".join(sorted(known.values())) if len(known) <= 8 else ""
            raise QuantityError(text, self.what + (f": {few}" if few else ""), did_you_mean(slug(text), known))
        return known[slug(text)]

    def lines(self, words: str, value: str, how: str) -> Iterable[Line]:
        """Its name."""
        yield Line(words, self.known()[value], None, how)


@dataclass(frozen=True, slots=True)
class Free:
    """Any words."""

    def read(self, node: Node, say: Say) -> str | None:
        """The words."""
        return _read(node, say, str)

    def lines(self, words: str, value: str, how: str) -> Iterable[Line]:
        """One line."""
        yield Line(words, value, None, how)


@dataclass(frozen=True, slots=True)
class Many:
    """A list: "[roll-out, limit]", or one value."""

    of: Form
    blank: str = ""
    """An item that stands for "not read"; None is given for it."""

    def read(self, node: Node, say: Say) -> tuple[Any, ...] | None:
        """The items."""
        items = [
            (None if self.blank and item.text == self.blank else self.of.read(item, say), item) for item in node.items()
        ]
        if any(value is None and not (self.blank and item.text == self.blank) for value, item in items):
            return None
        return tuple(value for value, _ in items)

    def lines(self, words: str, value: tuple[Any, ...], how: str) -> Iterator[Line]:
        """One line each, numbered where there are several."""
        for number, item in enumerate(value, 1):
            name = f"{words} {number}" if len(value) > 1 else words
            if item is not None:
                yield from self.of.lines(name, item, how)


@dataclass(frozen=True, slots=True)
class Table:
    """A mapping: "limit: 24.5 V"; the keys are words, or quantities of `key`."""

    of: Form
    key: Form = Free()

    def read(self, node: Node, say: Say) -> dict[Any, Any] | None:
        """Key -> value, in the order written."""
        if not isinstance(node.value, dict) or not node.value:
            say(node.line, node.column, "no table", "lines of `name: value`, indented below", "")
            return None
        pairs = [
            (self.key.read(Node(e.key.text, e.key.line, e.key.column), say), self.of.read(e.node, say))
            for e in node.value.values()
        ]
        return None if any(k is None or v is None for k, v in pairs) else dict(pairs)

    def lines(self, words: str, value: Mapping[Any, Any], how: str) -> Iterator[Line]:
        """One line an entry."""
        for key, entry in value.items():
            if isinstance(self.key, One):
                yield from (
                    replace(line, under=("at", key, self.key.kind)) for line in self.of.lines(words, entry, how)
                )
            else:
                yield from self.of.lines(f"{words} {key}", entry, how)


@dataclass(frozen=True, slots=True)
class Both:
    """Two quantities joined by a word: "0.10 inH2O at 1200 cfm"."""

    first: Kind
    joint: str
    second: Kind

    def read(self, node: Node, say: Say) -> tuple[Quantity, Quantity] | None:
        """The two."""
        return _read(node, say, self.parse)

    def parse(self, text: str) -> tuple[Quantity, Quantity]:
        """The two; QuantityError otherwise."""
        one, joint, other = text.partition(f" {self.joint} ")
        if not joint:
            raise QuantityError(
                text,
                f"two values joined by '{self.joint}', such as"
                f" '{self.first.example} {self.joint} {self.second.example}'",
            )
        return qty.parse(one, self.first), qty.parse(other, self.second)

    def lines(self, words: str, value: tuple[Quantity, Quantity], how: str) -> Iterable[Line]:
        """The first, with the second as its condition."""
        yield Line(words, value[0], self.first, how, under=(self.joint, value[1], self.second))


@dataclass(frozen=True, slots=True)
class Orifice:
    """A burner orifice by its drill or its diameter: "No. 43", "0.089 in"."""

    def read(self, node: Node, say: Say) -> Quantity | None:
        """Its diameter."""
        return _read(node, say, self.parse)

    def parse(self, text: str) -> Quantity:
        """Its diameter; QuantityError otherwise."""
        drill = re.fullmatch(r"(?:No\.?|#)\s*(\d+)", text.strip())
        if not drill:
            return qty.parse(text, qty.SMALL_LENGTH)
        try:
            return drill_diameter(int(drill[1]))
        except KeyError as wrong:
            raise QuantityError(text, "a drill or a diameter, such as 'No. 43' or '0.089 in'", wrong.args[0]) from None

    def lines(self, words: str, value: Quantity, how: str) -> Iterable[Line]:
        """Its diameter, to the thousandth of an inch."""
        yield Line(
            words, f"{qty.show(value, qty.SMALL_LENGTH, 4)} · {qty.show_si(value, qty.SMALL_LENGTH, 2)}", None, how
        )


@dataclass(frozen=True, slots=True)
class Insulated:
    """A part of the envelope: "1200 ft^2 at R-13"; the R-value is that of the whole construction, h·ft²·°F/Btu."""

    def read(self, node: Node, say: Say) -> tuple[Quantity, Quantity] | None:
        """Area and heat transmission."""
        return _read(node, say, self.parse)

    def parse(self, text: str) -> tuple[Quantity, Quantity]:
        """The two; QuantityError otherwise."""
        found = re.fullmatch(r"(.+) at R-?(\d+(?:\.\d+)?)", text.strip())
        if not found or not float(found[2]):
            raise QuantityError(text, "an area and an R-value, such as '1200 ft^2 at R-13'")
        return qty.parse(found[1], qty.AREA), 1 / qty.q(float(found[2]), "hour * foot**2 * delta_degF / btu_it")

    def lines(self, words: str, value: tuple[Quantity, Quantity], how: str) -> Iterable[Line]:
        """The area, with U as its condition."""
        yield Line(words, value[0], qty.AREA, how, under=("U", value[1], qty.U_VALUE))


def words_of(*known: str, what: str) -> Word:
    """One of a few fixed words."""
    table = {word: word for word in known}
    return Word(lambda: table, what)
