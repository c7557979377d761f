"""The pen: a sheet of paper, wobbling ink lines, washes, hatching, labels and plain-text readouts.

Lengths are pixels of the finished picture; everything is drawn at twice that and reduced.  The wobble comes from a
generator seeded by the picture's name, so the same call always gives the same pixels.
"""

from __future__ import annotations

import functools
import itertools
import math
import random
from collections.abc import Sequence
from pathlib import Path

import matplotlib
from PIL import Image, ImageDraw, ImageFont

Point = tuple[float, float]
Color = tuple[int, int, int]

PAPER: Color = (248, 245, 236)
INK: Color = (29, 36, 51)
ACCENT: Color = (172, 62, 36)
GRAY: Color = (120, 122, 124)
STEEL: Color = (222, 225, 224)
AIR: Color = (205, 221, 229)
WARM: Color = (240, 205, 178)
DIRT: Color = (148, 128, 104)
GLASS: Color = (228, 236, 226)
COPPER: Color = (214, 160, 116)
WOOD: Color = (226, 200, 160)
WIND: Color = (70, 110, 140)
SCALE = 2


FULL = Path(matplotlib.get_data_path(), "fonts", "ttf", "DejaVuSans.ttf")


@functools.cache
def _fonts(size: float) -> tuple[ImageFont.FreeTypeFont, ImageFont.FreeTypeFont]:
    """The faces that come with Pillow and, for signs that one lacks, with matplotlib: no machine's own fonts matter."""
    usual = ImageFont.load_default(size)
    if not isinstance(usual, ImageFont.FreeTypeFont):
        raise RuntimeError("this Pillow was built without FreeType and has no scalable type face")
    return usual, ImageFont.truetype(FULL, size * 0.94)


def runs(words: str, size: float) -> list[tuple[str, ImageFont.FreeTypeFont]]:
    """The words cut where the type face must change."""
    usual, full = _fonts(size)
    return [
        ("".join(part), full if odd else usual)
        for odd, part in itertools.groupby(words, lambda sign: ord(sign) > 126 and sign not in "°±·’“”")
    ]


def along(a: Point, b: Point, share: float) -> Point:
    """The point at `share` of the way from a to b."""
    return a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share


class Sheet:
    """One picture while it is drawn."""

    def __init__(self, name: str, title: str, width: int = 1200, height: int = 800) -> None:
        self.random = random.Random(name)
        self.size = (width, height)
        self.image = Image.new("RGB", (width * SCALE, height * SCALE), PAPER)
        self.pen = ImageDraw.Draw(self.image)
        self.text((36, 30), title, 30)

    # ------------------------------------------------------------------ lines

    def _wobble(self, points: Sequence[Point], amount: float) -> list[Point]:
        """The polyline as a hand would draw it: short steps, each pushed a little off the line."""
        phase = [self.random.uniform(0, 2 * math.pi) for _ in range(2)]
        done, out = 0.0, []
        for a, b in zip(points, points[1:], strict=False):
            length = math.dist(a, b) or 1.0
            normal = (-(b[1] - a[1]) / length, (b[0] - a[0]) / length)
            steps = max(1, int(length / 9))
            for i in range(steps + (b is points[-1])):
                here = along(a, b, i / steps)
                at = done + length * i / steps
                push = amount * (0.6 * math.sin(at / 31 + phase[0]) + 0.4 * math.sin(at / 11 + phase[1]))
                out.append((here[0] + normal[0] * push, here[1] + normal[1] * push))
            done += length
        return out

    def line(
        self, points: Sequence[Point], width: float = 3, color: Color = INK, wobble: float = 1.1, dashed: bool = False
    ) -> None:
        """An open line through the points."""
        drawn = [(x * SCALE, y * SCALE) for x, y in self._wobble(points, wobble)]
        thick = max(1, round(width * SCALE))
        if dashed:
            for i in range(0, len(drawn) - 1, 3):
                self.pen.line(drawn[i : i + 3], color, thick)
            return
        self.pen.line(drawn, color, thick, joint="curve")
        for x, y in (drawn[0], drawn[-1]):
            r = thick / 2
            self.pen.ellipse((x - r, y - r, x + r, y + r), color)

    def shape(
        self,
        points: Sequence[Point],
        fill: Color | None = None,
        width: float = 3,
        color: Color | None = INK,
        wobble: float = 1.1,
    ) -> None:
        """A closed outline, filled or not."""
        if fill is not None:
            self.pen.polygon([(x * SCALE, y * SCALE) for x, y in points], fill)
        if color is not None:
            self.line([*points, points[0]], width, color, wobble)

    def box(
        self,
        x0: float,
        y0: float,
        x1: float,
        y1: float,
        fill: Color | None = None,
        width: float = 3,
        color: Color | None = INK,
    ) -> None:
        """A rectangle."""
        self.shape([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], fill, width, color)

    def oval(
        self,
        centre: Point,
        rx: float,
        ry: float | None = None,
        fill: Color | None = None,
        width: float = 3,
        color: Color | None = INK,
        start: float = 0,
        end: float = 360,
    ) -> None:
        """An ellipse or a part of one; angles in degrees, clockwise from three o'clock."""
        ry = rx if ry is None else ry
        count = max(12, int(abs(end - start) / 6))
        points = [
            (
                centre[0] + rx * math.cos(math.radians(start + (end - start) * i / count)),
                centre[1] + ry * math.sin(math.radians(start + (end - start) * i / count)),
            )
            for i in range(count + 1)
        ]
        if fill is not None:
            self.pen.polygon([(x * SCALE, y * SCALE) for x, y in points], fill)
        if color is not None:
            self.line(points, width, color, 0.7)

    def arrow(self, points: Sequence[Point], width: float = 4, color: Color = INK, head: float = 16) -> None:
        """A line ending in an open arrow head."""
        self.line(points, width, color)
        (x0, y0), (x1, y1) = points[-2], points[-1]
        angle = math.atan2(y1 - y0, x1 - x0)
        for turn in (2.6, -2.6):
            barb = (x1 + head * math.cos(angle + turn), y1 + head * math.sin(angle + turn))
            self.line([(x1, y1), barb], width, color, 0.4)

    # ------------------------------------------------------------------ textures

    def _inside(self, points: Sequence[Point]) -> Image.Image:
        mask = Image.new("1", self.image.size)
        ImageDraw.Draw(mask).polygon([(x * SCALE, y * SCALE) for x, y in points], 1)
        return mask

    def hatch(
        self, points: Sequence[Point], spacing: float = 12, angle: float = 45, width: float = 1.5, color: Color = INK
    ) -> None:
        """Parallel lines inside a closed outline."""
        layer = Sheet.__new__(Sheet)
        layer.random, layer.size = self.random, self.size
        layer.image = self.image.copy()
        layer.pen = ImageDraw.Draw(layer.image)
        cx = sum(x for x, _ in points) / len(points)
        cy = sum(y for _, y in points) / len(points)
        reach = max(math.dist((cx, cy), p) for p in points) + spacing
        c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        offset = -reach
        while offset < reach:
            layer.line(
                [
                    (cx - reach * c - offset * s, cy - reach * s + offset * c),
                    (cx + reach * c - offset * s, cy + reach * s + offset * c),
                ],
                width,
                color,
                0.8,
            )
            offset += spacing
        self.image.paste(layer.image, mask=self._inside(points))
        self.pen = ImageDraw.Draw(self.image)

    def felt(self, points: Sequence[Point], thick: float = 1.0, color: Color = DIRT) -> None:
        """Lint or slime: many short curls inside a closed outline; `thick` is their density."""
        xs, ys = [x for x, _ in points], [y for _, y in points]
        mask = self._inside(points)
        count = int(thick * (max(xs) - min(xs)) * (max(ys) - min(ys)) / 90)
        for _ in range(count):
            x, y = self.random.uniform(min(xs), max(xs)), self.random.uniform(min(ys), max(ys))
            turn = self.random.uniform(0, 360)
            r = self.random.uniform(3, 9)
            place = (min(self.image.width - 1, int(x * SCALE)), min(self.image.height - 1, int(y * SCALE)))
            if not mask.getpixel(place):
                continue
            shade = self.random.randint(-34, 26)
            tone = (color[0] + shade, color[1] + shade, color[2] + shade)
            box = [(x - r) * SCALE, (y - r) * SCALE, (x + r) * SCALE, (y + r) * SCALE]
            self.pen.arc(box, turn, turn + self.random.uniform(90, 220), tone, round(1.6 * SCALE))

    # ------------------------------------------------------------------ words

    def text(self, at: Point, words: str, size: float = 24, color: Color = INK, anchor: str = "la") -> None:
        """Words at a point; several lines at line breaks."""
        ascent, descent = _fonts(size * SCALE)[0].getmetrics()
        down = {"a": ascent, "m": (ascent - descent) / 2, "s": 0}[anchor[1]]
        for i, line in enumerate(words.split("\n")):
            x = (at[0] - self.width_of(line, size) * {"l": 0, "m": 0.5, "r": 1}[anchor[0]]) * SCALE
            y = (at[1] + i * size * 1.28) * SCALE + down
            for part, face in runs(line, size * SCALE):
                self.pen.text((x, y), part, color, face, "ls")
                x += face.getlength(part)

    def width_of(self, words: str, size: float) -> float:
        """Width of one line of words."""
        return sum(face.getlength(part) for part, face in runs(words, size * SCALE)) / SCALE

    def label(self, words: str, at: Point, to: Point, size: float = 23, color: Color = INK, anchor: str = "lm") -> None:
        """Words with a thin line to what they name; the line starts at the side that faces it."""
        wide = max(self.width_of(line, size) for line in words.split("\n"))
        lines = words.count("\n") + 1
        left = at[0] if anchor[0] == "l" else at[0] - wide if anchor[0] == "r" else at[0] - wide / 2
        middle = at[1] + size * 1.28 * (lines - 1) / 2
        tall = size * 1.28 * lines / 2
        if to[0] > left + wide:
            start = (left + wide + 8, middle)
        elif to[0] < left:
            start = (left - 8, middle)
        else:
            start = (min(max(to[0], left), left + wide), middle + (tall + 2 if to[1] > middle else -tall - 2))
        self.line([start, to], 1.6, color, 0.5)
        self.oval(to, 4, fill=color, color=None)
        self.text(at, words, size, color, anchor)

    def readout(self, at: Point, value: str, caption: str, width: float = 300, color: Color = INK) -> None:
        """A meter as plain text: a caption, and the figure it shows with its unit."""
        x, y = at
        self.box(x, y, x + width, y + 128, STEEL)
        self.box(x + 16, y + 46, x + width - 16, y + 112, GLASS, 2)
        self.text((x + 18, y + 24), caption, 21, anchor="lm")
        size = 42.0
        while self.width_of(value, size) > width - 48:
            size -= 2
        self.text((x + width - 30, y + 80), value, size, color, "rm")

    def save(self, path: Path) -> None:
        """Reduce, keep 255 colors, write a PNG."""
        small = self.image.resize(self.size, Image.Resampling.LANCZOS)
        path.parent.mkdir(parents=True, exist_ok=True)
        small.quantize(255, Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE).save(path, optimize=True)
