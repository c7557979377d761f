"""Reads a drawn SVG back: its words, where they stand, and its marks."""

from __future__ import annotations

import re
from dataclasses import dataclass
from xml.etree import ElementTree

from causebook.writeup.charts.style import text_width

_SVG = "{http://www.w3.org/2000/svg}"
_PAIR = re.compile(r"(-?[\d.]+) (-?[\d.]+)")


@dataclass(frozen=True, slots=True)
class Word:
    """One text element with the box it takes [px]."""

    words: str
    x: float
    y: float
    left: float
    right: float
    size: float
    bold: bool
    accent: bool
    struck: bool


@dataclass(frozen=True, slots=True)
class Mark:
    """One path: its style and the points it goes through [px]."""

    style: str
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing as read."""

    root: ElementTree.Element
    width: float
    height: float
    words: tuple[Word, ...]
    marks: tuple[Mark, ...]

    def word(self, text: str) -> Word:
        """The first text element that says exactly this."""
        return next(w for w in self.words if w.words == text)

    def says(self, text: str) -> bool:
        """Does it stand anywhere, also over several lines?"""
        return text in " ".join(w.words for w in self.words)

    def lines(self, *wanted: str) -> list[Mark]:
        """The paths whose style holds every one of `wanted`."""
        return [m for m in self.marks if all(w in m.style for w in wanted)]


def _word(element: ElementTree.Element) -> Word:
    size, bold = float(element.get("font-size", 0)), element.get("font-weight") == "700"
    x, words = float(element.get("x", 0)), element.text or ""
    width = text_width(words, size, bold)
    left = {"middle": x - width / 2, "end": x - width}.get(element.get("text-anchor", ""), x)
    return Word(
        words,
        x,
        float(element.get("y", 0)),
        left,
        left + width,
        size,
        bold,
        "--cb-accent" in element.get("style", ""),
        element.get("text-decoration") == "line-through",
    )


def read(svg: str) -> Drawing:
    """Parse an inline SVG."""
    root = ElementTree.fromstring(svg)
    _, _, width, height = (float(v) for v in root.get("viewBox", "").split())
    patterns = {id(p) for pattern in root.iter(f"{_SVG}pattern") for p in pattern.iter(f"{_SVG}path")}
    marks = tuple(
        Mark(p.get("style", ""), tuple((float(a), float(b)) for a, b in _PAIR.findall(p.get("d", ""))))
        for p in root.iter(f"{_SVG}path")
        if id(p) not in patterns
    )
    return Drawing(root, width, height, tuple(_word(t) for t in root.iter(f"{_SVG}text")), marks)
