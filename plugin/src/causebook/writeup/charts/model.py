"""What a chart is to the page: two drawings of one picture, the sentence it says, and the numbers behind it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from causebook.quantity import Kind, us
from causebook.survey.model import ReadingSet
from causebook.writeup.charts.style import NARROW, WIDE, Sheet


@dataclass(frozen=True, slots=True)
class Chart:
    """One chart, drawn; the page shows the wide or the narrow drawing by style sheet, never both."""

    id: str
    title: str
    question: str
    sentence: str
    """The answer to the question, worked out from the data."""
    svg_wide: str
    svg_narrow: str
    table: tuple[tuple[str, ...], ...]
    """A header row, then rows of text."""
    caption_note: str = ""
    """How to read the marks, and what the drawing takes for granted."""

    @property
    def drawings(self) -> str:
        """Both drawings as HTML; the style sheet shows the one that fits."""
        return (
            f'<div class="cb-chart" data-chart="{self.id}"><div class="cb-wide">{self.svg_wide}</div>'
            f'<div class="cb-narrow">{self.svg_narrow}</div></div>'
        )


@dataclass(frozen=True, slots=True)
class Missing:
    """A chart that was not drawn, and why, in words for the page."""

    id: str
    title: str
    why: str
    failed: bool = False
    """Whether it should have been drawn, and the program failed."""


def value_of(readings: ReadingSet, id_: str, kind: Kind) -> float | None:
    """A reading of the set in the US unit of `kind`; None when it was not taken or does not count."""
    taken = readings.readings.get(id_)
    return None if taken is None or taken.void else us(taken.value, kind)


def drawn(
    id_: str,
    title: str,
    question: str,
    sentence: str,
    draw: Callable[[Sheet, bool], None],
    table: tuple[tuple[str, ...], ...],
    note: str = "",
) -> Chart:
    """The chart whose marks `draw(sheet, narrow)` puts on a wide and on a narrow sheet."""
    svgs = []
    for width, narrow in ((WIDE, False), (NARROW, True)):
        sheet = Sheet(f"cb-{id_}-{'narrow' if narrow else 'wide'}", width)
        draw(sheet, narrow)
        svgs.append(sheet.svg(title, sentence))
    return Chart(id_, title, question, sentence, svgs[0], svgs[1], table, note)
