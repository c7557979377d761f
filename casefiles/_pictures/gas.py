"""Drawings of the gas and flame side: orifices, flames, heat exchanger, gas pipe, vent and condensate."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ink import ACCENT, AIR, COPPER, GRAY, INK, PAPER, STEEL, WOOD, Point, Sheet

FLAME = (92, 140, 190)


def orifices(sheet: Sheet, pairs: Sequence[tuple[str, float, bool]], note: str) -> None:
    """Orifice spuds from the front, their bores to one scale: (words, diameter in inches, is it the wrong one)."""
    scale = 2600
    for (words, diameter, wrong), x in zip(pairs, (330, 830), strict=True):
        color = ACCENT if wrong else INK
        hexagon = [
            (x + 210 * math.cos(math.radians(a)), 370 + 210 * math.sin(math.radians(a))) for a in range(0, 360, 60)
        ]
        sheet.shape(hexagon, COPPER)
        sheet.oval((x, 370), 165, fill=(228, 186, 146), width=2)
        radius = diameter * scale / 2
        sheet.oval((x, 370), radius, fill=INK, color=None)
        for end in (-radius, radius):
            sheet.line([(x + end, 370), (x + end, 604)], 1.6, color, 0.2, dashed=True)
        for end in (-radius, radius):
            sheet.arrow([(x, 592), (x + end, 592)], 2.5, color, 11)
        sheet.text((x, 622), words, 26, color, "ma")
    sheet.text((600, 738), note, 23, anchor="mm")


def flames(sheet: Sheet, at: Point, bent: int | None, words: str) -> None:
    """Three burner flames through the sight glass; number `bent` is blown aside."""
    x, y = at
    sheet.box(x, y, x + 470, y + 400, (38, 42, 56))
    for i in range(3):
        x0 = x + 92 + i * 145
        lean = 74 if i == bent else 0
        outer = [
            (x0 - 30, y + 330),
            (x0 - 34 + lean * 0.3, y + 220),
            (x0 + lean, y + (120 if not lean else 168)),
            (x0 + 34 + lean * 0.5, y + 220),
            (x0 + 30, y + 330),
        ]
        sheet.shape(outer, FLAME if not lean else (214, 150, 84), 2, (190, 214, 236), 3 if lean else 1)
        sheet.shape([(x0 - 14, y + 330), (x0 + lean * 0.25, y + 240), (x0 + 14, y + 330)], (168, 204, 232), 1, None)
        sheet.box(x0 - 36, y + 332, x0 + 36, y + 372, STEEL)
        sheet.text((x0, y + 352), str(i + 1), 22, anchor="mm")
    sheet.text((x + 235, y + 436), words, 24, anchor="mm")


def cracked_cell(sheet: Sheet, length: str) -> None:
    """The bend of a clamshell cell as a camera sees it, split along the bend."""
    sheet.oval((520, 420), 330, fill=(66, 60, 58), width=5)
    for r, tone in ((250, (112, 98, 88)), (170, (140, 122, 106))):
        sheet.oval((560, 470), r, r * 0.8, fill=tone, width=2, start=0, end=360)
    sheet.felt([(330, 420), (760, 420), (760, 640), (330, 640)], 0.25, (150, 92, 58))
    crack = [(392, 372), (430, 352), (452, 360), (498, 334), (540, 340), (596, 318), (640, 330)]
    sheet.line([(p[0], p[1] + 5) for p in crack], 13, (24, 20, 20), 2)
    sheet.line(crack, 3, (206, 120, 70), 1.5)
    sheet.label(length, (890, 260), (640, 328), 27, ACCENT)
    sheet.label("bend of cell 3", (890, 420), (700, 470), 24)
    sheet.label("rust and scale", (890, 560), (640, 580), 24)


def notice(sheet: Sheet, lines: Sequence[str]) -> None:
    """A paper notice tied to a closed gas shutoff."""
    sheet.line([(60, 250), (520, 250)], 26, GRAY)
    sheet.box(250, 212, 330, 288, COPPER)
    sheet.box(276, 130, 304, 214, ACCENT)
    sheet.label("gas shut off,\nhandle across the pipe", (60, 380), (282, 280), 22)
    sheet.line([(290, 288), (420, 340), (640, 190)], 3, WOOD)
    sheet.shape([(640, 150), (1120, 150), (1120, 690), (640, 690), (600, 640), (600, 200)], (252, 250, 244))
    sheet.oval((640, 190), 14, fill=PAPER)
    sheet.text((860, 200), "OUT OF SERVICE", 42, ACCENT, "ma")
    sheet.line([(660, 264), (1090, 264)], 2)
    for i, words in enumerate(lines):
        sheet.text((660, 292 + i * 62), words, 24)


def gas_line(sheet: Sheet, appliances: Sequence[tuple[str, str]], pipe: str, inlet: Sequence[tuple[str, str]]) -> None:
    """A house gas line with its branches, and the furnace inlet read in each state."""
    sheet.box(40, 190, 150, 300, STEEL)
    sheet.text((95, 245), "meter", 23, anchor="mm")
    sheet.line([(150, 245), (1120, 245)], 9, GRAY, 0.4)
    sheet.text((170, 205), pipe, 22)
    for i, (name, use) in enumerate(appliances):
        x = 360 + i * 300
        sheet.line([(x, 245), (x, 350)], 7, GRAY, 0.4)
        sheet.box(x - 100, 350, x + 100, 440, PAPER)
        sheet.text((x, 380), name, 24, anchor="mm")
        sheet.text((x, 414), use, 21, GRAY, "mm")
    sheet.text((60, 505), "Furnace inlet, the same tap each time", 25)
    for i, (state, value) in enumerate(inlet):
        sheet.readout((60 + i * 370, 560), value, state, 340, ACCENT if i == len(inlet) - 1 else INK)


def frozen_drain(sheet: Sheet) -> None:
    """A condensate trap in section with water standing above its outlet, and ice in the line in the outer wall."""
    x, y = 110, 150
    water = (70, 110, 140)
    sheet.shape([(x + 4, y + 96), (x + 186, y + 96), (x + 186, y + 466), (x + 4, y + 466)], AIR, 1, None)
    sheet.shape([(x + 186, y + 380), (x + 226, y + 380), (x + 226, y + 466), (x + 186, y + 466)], AIR, 1, None)
    sheet.shape([(x + 224, y + 180), (x + 396, y + 180), (x + 396, y + 466), (x + 224, y + 466)], AIR, 1, None)
    sheet.line([(x + 8, y + 96), (x + 186, y + 96)], 3, water, 2)
    sheet.line([(x + 226, y + 180), (x + 394, y + 180)], 3, water, 2)
    sheet.box(x, y + 50, x + 400, y + 470, None, 5)
    sheet.box(x + 190, y + 50, x + 222, y + 376, STEEL)
    sheet.line([(x + 90, y - 50), (x + 90, y + 64)], 26, INK, 0.4)
    sheet.line([(x + 90, y - 50), (x + 90, y + 64)], 20, STEEL, 0.4)
    wall = [(700, 110), (860, 110), (860, 740), (700, 740)]
    sheet.shape(wall, WOOD)
    sheet.hatch(wall, 26, 30, 1.2, (170, 140, 100))
    pipe = [(x + 400, 390), (780, 410), (780, 640), (1080, 660)]
    sheet.line(pipe, 34, INK, 0.6)
    sheet.line(pipe, 28, AIR, 0.6)
    ice = [(766, 440), (794, 440), (794, 636), (766, 636)]
    sheet.shape(ice, (240, 246, 250), 2)
    sheet.hatch(ice, 7, 60, 1.2, water)
    sheet.label("ice, two feet", (890, 520), (796, 540), 26, ACCENT)
    sheet.label("outlet\nof the trap", (550, 290), (x + 404, 384), 23)
    sheet.label("water\nstands here", (550, 170), (x + 150, y + 98), 23, ACCENT)
    sheet.text((780, 86), "outer wall", 23, anchor="mm")
    sheet.text((150, 700), "trap itself clean", 23)


def sequence(sheet: Sheet, lines: Sequence[tuple[str, str, bool]]) -> None:
    """Events as a list with their times; the telling one stands out."""
    for i, (when, what, telling) in enumerate(lines):
        y = 150 + i * 88
        color = ACCENT if telling else INK
        sheet.text((240, y), when, 28, color, "rm")
        sheet.oval((300, y), 13, fill=color if telling else PAPER, color=color)
        if i + 1 < len(lines):
            sheet.line([(300, y + 16), (300, y + 72)], 2)
        sheet.text((350, y), what, 27, color, "lm")
