"""Return sizing: is there enough return?

Found, the floor of the code and what the airflow needs, as bars on one scale of area; below them the openings found
and those that would close the gap, drawn to one scale of length.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from causebook.casefile.sizes import read_size
from causebook.quantity import AIRFLOW, SMALL_AREA, SMALL_LENGTH, VELOCITY, show, us
from causebook.workup import Workup
from causebook.writeup.charts.model import Chart, Missing, drawn
from causebook.writeup.charts.style import (
    ACCENT,
    INK,
    PAPER,
    QUIET,
    RULE,
    Scale,
    Sheet,
    number,
    sentence_of,
    text_width,
    wrap,
)

ID, TITLE, QUESTION = "return-sizing", "Return sizing", "Is there enough return?"
_NOTE = (
    "Solid: measured. Hatched: the least the code asks for. Open: what this airflow needs by design ({basis}). "
    "What would close the gap keeps the whole return at that drop, with the old return helping; it need not add "
    "up to the area. The shapes below are to one scale."
)
_RECTANGLE = re.compile(r"(\d+(?:\.\d+)?)\s*(?:in\.?)?\s*[x×]\s*(\d+(?:\.\d+)?)")
_ROUND = re.compile(r"(\d+(?:\.\d+)?)\s*(?:in\.?|inch)?\s*round")


@dataclass(frozen=True, slots=True)
class Shape:
    """An opening: a rectangle, or round when its height is 0 [in.]."""

    words: str
    width: float
    height: float
    found: bool

    @property
    def tall(self) -> float:
        """Its height, or its diameter."""
        return self.height or self.width


@dataclass(frozen=True, slots=True)
class View:
    """All that is drawn: areas in in²."""

    found: float | None
    floor: float
    floor_source: str
    needed: float
    needed_basis: str
    airflow: str
    velocity: str
    shapes: tuple[Shape, ...]

    @property
    def speed(self) -> str:
        """How fast the air would be in what was found; empty where that was not measured."""
        return f"air at {self.velocity} if it carried {self.airflow}" if self.velocity else ""

    @property
    def short(self) -> float:
        """What is missing of the area needed; 0 when there is enough or it was not measured."""
        return max(0.0, self.needed - self.found) if self.found is not None else 0.0


def _shapes(workup: Workup) -> tuple[Shape, ...]:
    found = []
    for opening in workup.case.file.return_:
        size = read_size(opening.size)
        if size.diameter is not None:
            found.append(Shape(opening.what, us(size.diameter, SMALL_LENGTH), 0.0, True))
        elif size.width is not None and size.height is not None:
            found.append(Shape(opening.what, us(size.width, SMALL_LENGTH), us(size.height, SMALL_LENGTH), True))
    added = []
    for way in (workup.return_size.closes_gap if workup.return_size else ())[:1]:
        added += [Shape(f"{d} in. round", float(d), 0.0, False) for d in _ROUND.findall(way)]
        added += [Shape(f"{a} × {b} in.", float(a), float(b), False) for a, b in _RECTANGLE.findall(way)]
    return (*found, *added)


def chart(workup: Workup) -> Chart | Missing:
    """The return found against floor and need."""
    size = workup.return_size
    if size is None:
        return Missing(ID, TITLE, "not drawn: the airflow the return must carry is not known")
    view = View(
        None if size.found is None else us(size.found, SMALL_AREA),
        us(size.floor, SMALL_AREA),
        size.floor_source,
        us(size.needed, SMALL_AREA),
        size.needed_basis,
        show(size.airflow, AIRFLOW),
        "" if size.velocity_found is None else show(size.velocity_found, VELOCITY),
        _shapes(workup),
    )
    return drawn(
        ID,
        TITLE,
        QUESTION,
        _sentence(view, size.closes_gap),
        lambda s, narrow: _draw(s, view, narrow),
        _table(view, size.closes_gap),
        _NOTE.format(basis=view.needed_basis),
    )


def _sentence(view: View, ways: tuple[str, ...]) -> str:
    if view.found is None:
        return sentence_of(
            f"the return was not measured; {view.airflow} needs {number(view.needed)} in², the code at "
            f"least {number(view.floor)}"
        )
    text = (
        f"the return has {number(view.found)} in² where {view.airflow} needs {number(view.needed)} and the code "
        f"asks for {number(view.floor)} at least"
    )
    if view.short:
        text += f": short by {number(view.short)} in²" + (f", closed by {ways[0]}" if ways else "")
    return sentence_of(text)


def _table(view: View, ways: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    rows = [
        ("What", "Area [in²]", "Basis"),
        ("found", "not measured" if view.found is None else number(view.found), view.speed),
        ("floor by code", number(view.floor), view.floor_source),
        (f"needed for {view.airflow}", number(view.needed), view.needed_basis),
    ]
    rows += [("would close the gap", "", way) for way in ways]
    return tuple(rows)


def _draw(sheet: Sheet, view: View, narrow: bool) -> None:
    left, row, bar, top = (0.0, 56.0, 20.0, 4.0) if narrow else (168.0, 40.0, 20.0, 6.0)
    most = max(view.found or 0.0, view.floor, view.needed)
    right = sheet.width - (64.0 if narrow else 76.0)
    if view.short and view.found:  # what is short is written behind the bar found, however near that comes to the end
        room = sheet.width - left - 8 - text_width(_short(view), sheet.text_size, True)
        right = min(right, left + room * most / view.found)
    x = Scale(0, most, left, right)
    rows = (
        ("found", view.found, view.speed),
        ("floor by code", view.floor, ""),
        (f"needed for {view.airflow}", view.needed, ""),
    )
    y = top
    for name, area, note in rows:
        if narrow:
            sheet.text(0, y + 15, f"{name}{', ' if note else ''}{note}")
        else:
            sheet.text(left - 12, y + bar / 2 + (4.5 if not note else -3), [name], anchor="end")
            sheet.text(left - 12, y + bar / 2 + 13, wrap(note, left - 12, 13), anchor="end", size=13, ink=QUIET)
        at = y + (22 if narrow else 0)
        if area is None:
            sheet.text(left + 6, at + 15, "not measured", ink=QUIET)
        else:
            _area_bar(sheet, name, x(0), x(area) - x(0), at, bar)
            if name == "found" and view.short:
                _gap(sheet, view, x, at, bar)
            else:
                sheet.text(x(area) + 6, at + 15, f"{number(area)} in²", bold=True)
        y += row + (14 if note and not narrow else 0)
    if not narrow:
        sheet.line((left, top - 4), (left, y - 12), width=RULE)
    sheet.height = _draw_shapes(sheet, view, y + (10 if narrow else 14))


def _area_bar(sheet: Sheet, name: str, x: float, width: float, y: float, tall: float) -> None:
    if name == "found":
        sheet.box(x, y, width, tall, fill=INK)
    elif name.startswith("floor"):
        sheet.allowed(x, y, width, tall)
        sheet.box(x, y, width, tall, edge=INK, line=1.25)
    else:
        sheet.box(x, y, width, tall, edge=INK)


def _short(view: View) -> str:
    return f"{number(view.found or 0.0)} in², short by {number(view.short)}"


def _gap(sheet: Sheet, view: View, x: Scale, y: float, bar: float) -> None:
    """What is short, from the end of what was found to what is needed."""
    start, end = x(view.found or 0.0), x(view.needed)
    sheet.arrow((start, y + bar - 1), (end, y + bar - 1), ink=ACCENT)
    sheet.text(start + 6, y + 12, _short(view), bold=True, ink=ACCENT)


def _draw_shapes(sheet: Sheet, view: View, top: float) -> float:
    """The openings side by side to one scale, in as many rows as they need; returns the height of the sheet."""
    if not view.shapes:
        return top
    gap, label = 22.0, 88.0
    scale = min(4.5, 0.9 * sheet.width / max(s.width for s in view.shapes), 130.0 / max(s.tall for s in view.shapes))
    tallest = scale * max(s.tall for s in view.shapes)
    x = 1.5
    bottom = top + tallest + 6
    lowest = bottom
    for shape in view.shapes:
        size = scale * shape.width
        space = max(size, label)
        if x > 2 and x + space > sheet.width:
            x, bottom = 1.5, lowest + tallest + 8
        if shape.height:
            sheet.box(
                x,
                bottom - scale * shape.height,
                size,
                scale * shape.height,
                fill=INK if shape.found else PAPER,
                edge=INK,
            )
        else:
            sheet.ellipse(x + size / 2, bottom - size / 2, size / 2, size / 2, fill=INK if shape.found else PAPER)
        measure = f"{number(shape.width)} " + (f"× {number(shape.height)} in." if shape.height else "in. round")
        name = wrap(shape.words, space + 10, 12.5, lines=2) if shape.found else []
        words = ["found:" if shape.found else "to add:", measure, *name]
        lowest = max(lowest, sheet.text(x, bottom + 17, words, size=max(sheet.text_size - 0.5, 12)))
        x += space + gap
    return lowest - 4
