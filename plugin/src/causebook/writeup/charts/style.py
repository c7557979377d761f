"""The one look of all charts: ink on paper, drawn in pixels from the top left, colored by the page.

A `Sheet` takes marks and words and becomes one inline SVG.  The marks are matplotlib artists on a figure without
axes: nothing is laid out behind our back, and a drawing takes a few milliseconds.  The words are SVG text in the
page's own font, above all marks, each with a rim of paper so that it stays legible where it crosses a line.
Colors are sentinels here and CSS variables in the result: `--cb-ink`, `--cb-paper`, `--cb-accent`, `--cb-quiet`,
`--cb-hatch`; the page defines them for light, dark and print.

Solid means measured, hatched means allowed, dashed means after the repair, and the accent marks the point of the
picture, never alone: what it marks is also thicker, filled or bold.
"""

from __future__ import annotations

import functools
import io
import math
import re
import unicodedata
from collections.abc import Sequence
from html import escape
from typing import Literal

import matplotlib as mpl
from matplotlib.artist import Artist
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.lines import Line2D
from matplotlib.patches import Ellipse, Polygon, Rectangle
from matplotlib.ticker import MaxNLocator
from matplotlib.transforms import Affine2D

WIDE, NARROW = 720, 320
"""Widths of the two drawings [px].  Wide is for columns of 680 px and more, narrow down to phones 360 px wide."""

INK, PAPER, ACCENT, QUIET, HATCH = "#010101", "#fefefe", "#0a0101", "#010a01", "#01010a"
_VARIABLES = {
    INK: "var(--cb-ink)",
    PAPER: "var(--cb-paper)",
    ACCENT: "var(--cb-accent)",
    QUIET: "var(--cb-quiet)",
    HATCH: "var(--cb-hatch)",
}

SOLID: tuple[float, ...] = ()
DASHED, DOTTED = (6.0, 4.0), (1.5, 3.5)
RULE, LINE, HEAVY = 1.0, 2.0, 3.5
Anchor = Literal["start", "middle", "end"]
Point = tuple[float, float]

_NO_METADATA = {"Date": None, "Creator": None, "Format": None, "Type": None}
_DROPPED = re.compile(r'^.*?(?=<svg )| *<style type="text/css">.*?</style>\s*|\s*<defs>\s*</defs>', re.DOTALL)
_ROOT = re.compile(r"<svg [^>]*>")
_ID = re.compile(r'<g id="[^"]*">')
_SPACE = re.compile(r"\s*\n\s*")


# ---------------------------------------------------------------- words and numbers


@functools.lru_cache(maxsize=2048)
def _advance(char: str, bold: bool) -> float:
    font = get_font(findfont(FontProperties(family="DejaVu Sans", weight="bold" if bold else "normal")))
    if not font.get_char_index(ord(char)):
        return _usual_advance(char)
    font.set_size(100, 72)
    return font.load_char(ord(char)).linearHoriAdvance / 65536 / 100


def _usual_advance(char: str) -> float:
    """Width of a letter that the font lacks, by its kind (Unicode Standard Annex 11): the reader's device has a font
    that draws it, a full-width one in a square, most others in less."""
    if unicodedata.category(char) in ("Mn", "Me", "Cf", "Cc"):
        return 0.0
    return 1.0 if unicodedata.east_asian_width(char) in "WF" else 0.8


def text_width(words: str, size: float, bold: bool = False) -> float:
    """Width of `words` at `size` [px] in DejaVu Sans, which is wider than most pages' fonts: room to spare."""
    return size * sum(_advance(char, bold) for char in words)


def wrap(words: str, width: float, size: float, bold: bool = False, lines: int = 9) -> list[str]:
    """`words` broken into lines no wider than `width` [px]; what does not fit into `lines` ends in an ellipsis."""
    rows = [""]
    for word in words.split():
        longer = f"{rows[-1]} {word}".strip()
        if not rows[-1] or text_width(longer, size, bold) <= width:
            rows[-1] = longer
        else:
            rows.append(word)
    if len(rows) > lines:
        rows = rows[:lines]
        while text_width(f"{rows[-1]} …", size, bold) > width and len(rows[-1]) > 1:
            rows[-1] = rows[-1].rpartition(" ")[0] or rows[-1][:-1]
        rows[-1] += " …"
    return rows


def number(value: float, digits: int = 0, sign: bool = False) -> str:
    """A number for people: thousands apart, a true minus, no minus zero; `sign` also writes the plus."""
    text = f"{value:,.{digits}f}"
    if not text.strip("-0.,"):
        return text.lstrip("-")
    return f"+{text}" if sign and value > 0 else text.replace("-", "−")


def clock(seconds: float) -> str:
    """Minutes and seconds, "8:40"."""
    return f"{round(seconds) // 60}:{round(seconds) % 60:02d}"


def sentence_of(text: str) -> str:
    """`text` with a capital first letter and a full stop."""
    return text[:1].upper() + text[1:].rstrip(".") + "."


def mid_sentence(name: str) -> str:
    """A name as it stands inside a sentence: no capital, unless it is an abbreviation ("CO alarm")."""
    return name if name[1:2].isupper() else name[:1].lower() + name[1:]


def joined(words: Sequence[str]) -> str:
    """ "return", "return and filter", "return, filter and coil"."""
    return " and ".join(filter(None, (", ".join(words[:-1]), *words[-1:])))


class Scale:
    """A straight scale from data to pixels."""

    def __init__(self, low: float, high: float, from_px: float, to_px: float) -> None:
        self.low, self.high, self.from_px, self.to_px = low, high, from_px, to_px
        self.slope = (to_px - from_px) / ((high - low) or 1.0)

    def __call__(self, value: float) -> float:
        return self.from_px + (value - self.low) * self.slope

    def ticks(self, count: int) -> list[float]:
        """Round values on the scale, about `count` of them."""
        low, high = sorted((self.low, self.high))
        slack = 1e-9 * (high - low)
        quarters = [2.5] if high - low > 20 * count else []  # 25, 50, 75, but never 2.5 or 0.25
        found = MaxNLocator(count, steps=[1, 2, *quarters, 5, 10]).tick_values(low, high)
        return [float(t) for t in found if low - slack <= t <= high + slack]


# ---------------------------------------------------------------- the sheet


class Sheet:
    """Paper of a fixed width on which marks and words are put; its height is set once it is known.

    Coordinates are pixels from the top left, y downwards.
    """

    def __init__(self, id_: str, width: float) -> None:
        self.id, self.width, self.height = id_, width, width / 2
        self._figure = Figure(figsize=(width / 72, 1), dpi=72)
        self._figure.patch.set_visible(False)
        self._to_page = Affine2D()
        self._words: list[str] = []
        self._taken: list[tuple[float, float, float, float]] = []
        self._order = 0

    def _add(self, artist: Artist) -> None:
        artist.set_transform(self._to_page)
        artist.set_zorder(self._order)  # later marks lie above earlier ones, whatever their kind
        self._order += 1
        self._figure.add_artist(artist)

    def line(self, *points: Point, ink: str = INK, width: float = LINE, dash: Sequence[float] = SOLID) -> None:
        """A line through `points`; `dash` in pixels."""
        xs, ys = zip(*points, strict=True)
        self._add(
            Line2D(
                xs,
                ys,
                color=ink,
                linewidth=width,
                solid_capstyle="butt",
                dash_capstyle="butt",
                linestyle=(0, tuple(d / width for d in dash)) if dash else "-",
            )
        )

    def box(
        self,
        x: float,
        y: float,
        width: float,
        height: float,
        *,
        fill: str = "none",
        edge: str = "none",
        line: float = LINE,
        dash: Sequence[float] = SOLID,
    ) -> None:
        """A rectangle with its top left corner at x, y."""
        self._add(
            Rectangle(
                (x, y),
                width,
                height,
                facecolor=fill,
                edgecolor=edge,
                linewidth=line if edge != "none" else 0,
                linestyle=(0, tuple(d / line for d in dash)) if dash else "-",
            )
        )

    def allowed(self, x: float, y: float, width: float, height: float) -> None:
        """A hatched rectangle: what is allowed, usual or asked for."""
        self._add(Rectangle((x, y), width, height, facecolor="none", edgecolor=HATCH, linewidth=0, hatch="///"))

    def shape(self, *points: Point, fill: str = INK, edge: str = "none", line: float = LINE) -> None:
        """A closed polygon."""
        self._add(Polygon(points, closed=True, facecolor=fill, edgecolor=edge, linewidth=line if edge != "none" else 0))

    def ellipse(
        self,
        x: float,
        y: float,
        half_width: float,
        half_height: float,
        *,
        fill: str = "none",
        edge: str = INK,
        line: float = LINE,
        dash: Sequence[float] = SOLID,
    ) -> None:
        """An ellipse about x, y."""
        self._add(
            Ellipse(
                (x, y),
                2 * half_width,
                2 * half_height,
                facecolor=fill,
                edgecolor=edge,
                linewidth=line,
                linestyle=(0, tuple(d / line for d in dash)) if dash else "-",
            )
        )

    def dot(self, x: float, y: float, *, filled: bool = True, ink: str = INK, radius: float = 5.0) -> None:
        """A measured (filled) or calculated (open) point."""
        self.ellipse(x, y, radius, radius, fill=ink if filled else PAPER, edge=ink)

    def arrow(
        self, *points: Point, ink: str = INK, width: float = LINE, dash: Sequence[float] = SOLID, head: float = 9.0
    ) -> None:
        """A line through `points` with a head at the last of them."""
        (x0, y0), (x1, y1) = points[-2:]
        length = math.hypot(x1 - x0, y1 - y0) or 1.0
        ux, uy = (x1 - x0) / length, (y1 - y0) / length
        base = (x1 - head * ux, y1 - head * uy)
        self.line(*points[:-1], base, ink=ink, width=width, dash=dash)
        half = 0.5 * head
        self.shape(
            (x1, y1), (base[0] - half * uy, base[1] + half * ux), (base[0] + half * uy, base[1] - half * ux), fill=ink
        )

    def text(
        self,
        x: float,
        y: float,
        words: str | Sequence[str],
        *,
        size: float = 0,
        bold: bool = False,
        anchor: Anchor = "start",
        ink: str = INK,
        struck: bool = False,
        leading: float = 1.25,
    ) -> float:
        """Words with their first baseline at x, y; several lines when given several.  Returns the next baseline."""
        size = size or self.text_size
        for line in (words,) if isinstance(words, str) else words:
            style = f' font-size="{size:g}"' + (' font-weight="700"' if bold else "")
            style += "" if anchor == "start" else f' text-anchor="{anchor}"'
            style += ' text-decoration="line-through"' if struck else ""
            rim = "; stroke: none" if struck else ""  # the rim would hide struck words under their own stroke
            self._words.append(
                f'<text x="{x:.4g}" y="{y:.4g}"{style} style="fill: {_VARIABLES[ink]}{rim}">'
                f"{escape(line, quote=False)}</text>"
            )
            self._taken.append(self._room(x, y, line, size, bold, anchor))
            y += size * leading
        return y

    @staticmethod
    def _room(
        x: float, y: float, line: str, size: float, bold: bool, anchor: Anchor
    ) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of one line of words."""
        width = text_width(line, size, bold)
        left = {"start": x, "middle": x - width / 2, "end": x - width}[anchor]
        return left, y - 0.8 * size, left + width, y + 0.2 * size

    def text_where_free(
        self,
        spots: Sequence[tuple[float, float, Anchor]],
        words: Sequence[str],
        *,
        bold: bool = False,
        ink: str = INK,
        spare: bool = False,
    ) -> None:
        """Words at the first of `spots` at which they cover no words written before, else at the first of all; words
        that may be spared, else nowhere."""

        def free(spot: tuple[float, float, Anchor]) -> bool:
            x, y, anchor = spot
            rooms = [
                self._room(x, y + 1.25 * self.text_size * n, line, self.text_size, bold, anchor)
                for n, line in enumerate(words)
            ]
            inside = all(left >= 0 and right <= self.width for left, _, right, _ in rooms)
            return inside and not any(
                a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3] for a in rooms for b in self._taken
            )

        spot = next(filter(free, spots), None if spare else spots[0])
        if spot is not None:
            self.text(spot[0], spot[1], words, bold=bold, anchor=spot[2], ink=ink)

    @property
    def narrow(self) -> bool:
        """Is this the drawing for phones?"""
        return self.width < 500

    @property
    def text_size(self) -> float:
        """The usual size of words [px], at least 12 px on screen at the narrowest width the sheet is shown at."""
        return 12.5 if self.narrow else 13.5

    def svg(self, title: str, description: str) -> str:
        """The finished drawing: the same marks give the same bytes."""
        self._to_page.clear().scale(1, -1).translate(0, self.height)
        self._figure.set_size_inches(self.width / 72, self.height / 72)
        out = io.StringIO()
        with mpl.rc_context({"svg.fonttype": "none", "svg.hashsalt": self.id, "hatch.linewidth": 1.2}):
            FigureCanvasSVG(self._figure).print_svg(out, metadata=_NO_METADATA)
        marks = _DROPPED.sub("", out.getvalue())
        marks = _ID.sub("<g>", _ROOT.sub("", marks))
        marks = marks.replace('id="', f'id="{self.id}-').replace("url(#", f"url(#{self.id}-")
        marks = marks.replace('xlink:href="#', f'href="#{self.id}-')
        for sentinel, variable in _VARIABLES.items():
            marks = marks.replace(sentinel, variable)
        marks = _SPACE.sub(" ", marks.removesuffix("</svg>\n").strip())
        head = (
            f'<svg class="cb-drawing" viewBox="0 0 {self.width:g} {self.height:g}" role="img"'
            f' aria-labelledby="{self.id}-title {self.id}-desc" xmlns="http://www.w3.org/2000/svg"'
            ' style="font-family: var(--cb-font, sans-serif); font-variant-numeric: tabular-nums;'
            ' stroke-linejoin: round">'
            f'<title id="{self.id}-title">{escape(title)}</title>'
            f'<desc id="{self.id}-desc">{escape(description)}</desc>'
        )
        rim = '<g style="stroke: var(--cb-paper); stroke-width: 3.5px; paint-order: stroke">'
        return f"{head}{marks}{rim}{''.join(self._words)}</g></svg>"
