"""Drawings of the air path: furnace and ducts cut open, filter, coil, wheel, flexible run, register, trunk."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from ink import ACCENT, AIR, COPPER, DIRT, GRAY, INK, PAPER, STEEL, WARM, WIND, WOOD, Point, Sheet

TAP_AT: Mapping[int, Point] = {2: (790, 470), 3: (546, 646), 4: (560, 600), 5: (404, 300), 6: (404, 190)}
"""Where the numbered taps sit on the cutaway."""


def furnace_cut(
    sheet: Sheet, *, coil: bool = True, bypass: bool = False, narrow: bool = False, air: bool = True
) -> None:
    """An upflow furnace seen from the side, cut open, return at the right, supply at the top."""
    left, right = 300, 500
    sheet.box(left, 330, right, 720, STEEL)
    for x in (325, 375, 425, 475):
        sheet.shape([(x - 14, 350), (x + 14, 350), (x + 14, 490), (x - 14, 490)], WARM, 2)
        sheet.line([(x - 4, 362), (x + 4, 390), (x - 4, 418), (x + 4, 446), (x - 3, 478)], 2, ACCENT)
    sheet.line([(left, 512), (right, 512)], 2)
    wheel(sheet, (400, 612), 74)
    if coil:
        sheet.box(left, 218, right, 322, PAPER)
        for side in (-1, 1):
            sheet.shape(
                [(400 + side * 8, 228), (400 + side * 26, 228), (400 + side * 92, 312), (400 + side * 70, 312)], AIR, 2
            )
            sheet.hatch(
                [(400 + side * 8, 228), (400 + side * 26, 228), (400 + side * 92, 312), (400 + side * 70, 312)],
                7,
                8 * side,
                1,
            )
    else:
        sheet.box(left, 218, right, 322, PAPER)
    sheet.shape(
        [
            (left, 110),
            (right + 90, 110),
            (right + 90, 160),
            (right, 160),
            (right, 210),
            (left, 210),
            (left, 160),
            (left - 150, 160),
            (left - 150, 110),
        ],
        PAPER,
    )
    wide = 54 if narrow else 96
    x0 = 800 - wide
    sheet.shape([(x0, 110), (800, 110), (800, 716), (right + 2, 716), (right + 2, 560), (x0, 560)], PAPER)
    sheet.box(590, 554, 618, 722, AIR, 2)
    for i in range(11):
        sheet.line([(592, 562 + i * 14), (616, 569 + i * 14), (592, 576 + i * 14)], 1.5, GRAY, 0.3)
    if bypass:
        sheet.shape([(right + 90, 118), (x0, 118), (x0, 152), (right + 90, 152)], WARM, 2)
    if air:
        sheet.arrow([((x0 + 800) / 2, 190), ((x0 + 800) / 2, 400)], 5, WIND)
        sheet.arrow([(720, 668), (640, 668)], 5, WIND)
        sheet.arrow([(352, 205), (352, 150)], 5, ACCENT)
        sheet.arrow([(262, 135), (190, 135)], 5, ACCENT)


def taps(sheet: Sheet, figures: Mapping[int, str], at: Mapping[int, Point], accent: Sequence[int] = ()) -> None:
    """Numbered test points on the cutaway, each with its reading as text at `at`."""
    for number, words in figures.items():
        point = TAP_AT[number]
        color = ACCENT if number in accent else INK
        sheet.label(words, at[number], point, 24, color)
        sheet.oval(point, 17, fill=PAPER, color=color)
        sheet.text(point, str(number), 21, color, "mm")


def wheel(sheet: Sheet, centre: Point, radius: float) -> None:
    """A blower wheel and its housing seen along the shaft."""
    x, y = centre
    sheet.oval(centre, radius + 14, fill=PAPER)
    sheet.oval(centre, radius, fill=AIR, width=2)
    sheet.oval(centre, radius * 0.72, fill=PAPER, width=2)
    for i in range(22):
        a = 2 * math.pi * i / 22
        sheet.line(
            [
                (x + radius * 0.72 * math.cos(a), y + radius * 0.72 * math.sin(a)),
                (x + radius * math.cos(a + 0.16), y + radius * math.sin(a + 0.16)),
            ],
            2,
            INK,
            0.2,
        )
    sheet.oval(centre, 12, fill=INK)


def blades(sheet: Sheet, at: Point, caked: bool) -> None:
    """Four blades of a forward-curved wheel in section, their cups free or filled."""
    for i in range(4):
        x, y = at[0] + i * 235, at[1]
        cup = [(x + 60 + 90 * s - 120 * math.sin(math.pi * s), y + 400 * (1 - s)) for s in (n / 30 for n in range(31))]
        if caked:
            face = [*cup, (x + 138, y + 90), (x + 96, y + 200), (x + 74, y + 310)]
            sheet.shape(face, (176, 158, 134), 2, DIRT)
            sheet.felt(face, 1.5)
        sheet.line(cup, 10)


def filter_bowed(sheet: Sheet, size: str, sag: str, drop: str) -> None:
    """A thin pleated filter in its slot, from the edge and from the front, sucked toward the blower."""
    sheet.box(60, 120, 470, 700, STEEL)
    sheet.box(110, 150, 250, 670, PAPER, 2)
    sheet.box(250, 150, 420, 670, AIR, 2)
    bow = [(250 + 78 * math.sin(math.pi * i / 40) + (11 if i % 2 else -11), 160 + i * 12.5) for i in range(41)]
    sheet.line(bow, 4, INK, 0.4)
    sheet.line([(250, 150), (250, 670)], 2, GRAY, 0.4, dashed=True)
    for y in (260, 400, 540):
        sheet.arrow([(132, y), (222, y)], 5, WIND)
    sheet.line([(250, 708), (250, 748)], 2)
    sheet.line([(328, 708), (328, 748)], 2)
    sheet.arrow([(200, 732), (249, 732)], 2, INK, 9)
    sheet.arrow([(378, 732), (329, 732)], 2, INK, 9)
    sheet.text((390, 732), sag, 24, ACCENT, "lm")
    sheet.text((180, 138), "from the house", 20, anchor="mm")
    sheet.text((335, 138), "to the blower", 20, anchor="mm")
    sheet.box(560, 190, 900, 600, PAPER)
    for i in range(24):
        x = 572 + i * 13.5
        sheet.line([(x, 202), (x, 588)], 2, GRAY if i % 2 else INK, 0.6)
    sheet.felt([(572, 202), (888, 202), (888, 588), (572, 588)], 0.16, (170, 160, 146))
    sheet.box(574, 204, 886, 586, None, 2)
    sheet.text((730, 630), size, 24, anchor="mm")
    sheet.text((930, 250), "drop across\nthe filter", 24)
    sheet.text((930, 330), drop, 34, ACCENT)


def filter_gap(sheet: Sheet, gap: str) -> None:
    """A filter too short for its slot, and the dust that went over it."""
    sheet.box(120, 150, 760, 690, STEEL)
    sheet.box(170, 190, 710, 650, PAPER, 2)
    sheet.box(400, 300, 440, 650, AIR)
    for i in range(24):
        sheet.line([(402, 308 + i * 14), (438, 315 + i * 14), (402, 322 + i * 14)], 1.5, GRAY, 0.3)
    trail = [(200, 200), (430, 206), (690, 260), (690, 400), (560, 310), (430, 292), (200, 296)]
    sheet.felt(trail, 0.9)
    sheet.arrow([(230, 250), (400, 248), (640, 330)], 5, ACCENT)
    for y in (400, 520):
        sheet.arrow([(220, y), (370, y)], 4, WIND)
    sheet.line([(450, 192), (480, 192)], 2)
    sheet.line([(450, 299), (480, 299)], 2)
    sheet.arrow([(466, 240), (466, 194)], 2, INK, 9)
    sheet.arrow([(466, 252), (466, 297)], 2, INK, 9)
    sheet.label(gap, (800, 230), (474, 246), 25, ACCENT)
    sheet.label("slot without a cover", (800, 160), (712, 200), 23)
    sheet.label("filter one size short", (800, 520), (440, 520), 23)
    sheet.label("dust past the filter", (800, 390), (640, 370), 23)


def coil_face(sheet: Sheet, at: Point, share: float, words: str) -> None:
    """One slab of a coil from its entering face; `share` of it under felt."""
    x, y = at
    wide, high = 480, 380
    sheet.box(x, y, x + wide, y + high, AIR)
    for i in range(1, 60):
        sheet.line([(x + i * 8, y + 3), (x + i * 8, y + high - 3)], 1.2, GRAY, 0.3)
    for i in range(4):
        yy = y + 50 + i * 93
        sheet.line([(x - 26, yy), (x, yy)], 9, COPPER, 0.2)
        sheet.line([(x + wide, yy), (x + wide + 26, yy)], 9, COPPER, 0.2)
        for side, x0 in ((-1, x - 26), (1, x + wide + 26)):
            if i < 3 and i % 2 == (side < 0):
                sheet.oval((x0, yy + 46), 18, 46, None, 9, COPPER, 90 if side < 0 else -90, 270 if side < 0 else 90)
    if share:
        edge = [(x + wide * i / 24, y + high * (1 - share) * (0.55 + 0.45 * math.sin(i * 1.9) ** 2)) for i in range(25)]
        area = [*edge, (x + wide, y + high), (x, y + high)]
        sheet.shape(area, (171, 152, 128), 2, DIRT, 2.5)
        sheet.felt(area, 1.6)
    sheet.text((x + wide / 2, y + high + 42), words, 25, anchor="mm")


def flex_run(sheet: Sheet, start: Point, end: Point, pinch: float) -> None:
    """A round flexible run between two points, pinched to `pinch` of its width in the middle."""
    count = 46
    upper, lower = [], []
    for i in range(count + 1):
        t = i / count
        x = start[0] + (end[0] - start[0]) * t
        y = start[1] + (end[1] - start[1]) * t + (62 * math.sin(math.pi * t) ** 2 if pinch < 1 else 0)
        near = math.exp(-(((t - 0.5) / 0.085) ** 2))
        half = 54 * (1 - (1 - pinch) * near)
        upper.append((x, y - half))
        lower.append((x, y + half - (0 if pinch == 1 else 10 * near)))
    sheet.shape([*upper, *reversed(lower)], STEEL)
    for a, b in zip(upper[1::1], lower[1::1], strict=True):
        middle = ((a[0] + b[0]) / 2 + 9, (a[1] + b[1]) / 2)
        sheet.line([a, middle, b], 1.4, GRAY, 0.4)


def truss(sheet: Sheet, x0: float, x1: float, y: float) -> None:
    """The bottom chord of a roof truss with two webs."""
    sheet.box(x0, y, x1, y + 40, WOOD)
    sheet.hatch([(x0, y), (x1, y), (x1, y + 40), (x0, y + 40)], 16, 4, 1, (170, 140, 100))


def strap(sheet: Sheet, x: float, y: float) -> None:
    """A wide strap that carries a flexible run."""
    sheet.line([(x - 22, 120), (x - 22, y + 40), (x, y + 60), (x + 22, y + 40), (x + 22, 120)], 4, GRAY)


def iced_coil(sheet: Sheet) -> None:
    """A coil from the side, closed by ice, and its suction line under frost."""
    frost = (232, 240, 246)
    sheet.box(180, 190, 720, 640, PAPER)
    for side in (-1, 1):
        slab = [(450 + side * 12, 220), (450 + side * 56, 220), (450 + side * 230, 610), (450 + side * 176, 610)]
        sheet.shape(slab, AIR, 2)
        sheet.hatch(slab, 8, 8 * side, 1)
        edge = [
            (
                450 + side * (30 + 190 * i / 12 + sheet.random.uniform(-8, 8)) + side * 34 * math.sin(i * 1.7) ** 2,
                216 + 396 * i / 12,
            )
            for i in range(13)
        ]
        inner = [
            (450 + side * max(0.0, -26 + 178 * i / 12 - 30 * math.sin(i * 1.3) ** 2), 224 + 392 * i / 12)
            for i in range(12, -1, -1)
        ]
        sheet.shape([*edge, *inner], frost, 2, WIND, 2.5)
        sheet.hatch([*edge, *inner], 17, 60, 1, (170, 190, 206))
    sheet.line([(720, 540), (1120, 540)], 44, frost, 3)
    sheet.line([(720, 518), (1120, 520)], 2, WIND, 4)
    sheet.line([(720, 562), (1120, 560)], 2, WIND, 4)
    sheet.line([(720, 540), (1120, 540)], 12, COPPER, 0.4)
    sheet.line([(720, 610), (1120, 610)], 6, COPPER, 0.4)
    for x in (330, 450, 570):
        sheet.arrow([(x, 740), (x, 664)], 4, WIND)
    sheet.label("ice through and through", (800, 270), (612, 380), 26, ACCENT)
    sheet.label("frost on the suction line", (800, 430), (900, 520), 24)
    sheet.text((760, 700), "air from below", 22, WIND, "lm")


def trunk(sheet: Sheet, figures: Sequence[str], sizes: Sequence[str]) -> None:
    """A trunk above a ceiling: full size, a hidden reach, the far end; pressures in the air, sizes under it."""
    sheet.shape([(80, 250), (420, 250), (420, 400), (80, 400)], PAPER)
    sheet.shape([(800, 250), (1120, 250), (1120, 400), (800, 400)], PAPER)
    hidden = [(420, 180), (800, 180), (800, 470), (420, 470)]
    sheet.shape(hidden, (235, 229, 214), 2, GRAY)
    sheet.hatch(hidden, 22, 35, 1, (190, 182, 164))
    for y0, y1 in ((250, 300), (400, 350)):
        sheet.line([(424, y0), (500, y1), (720, y1), (796, y0)], 3, ACCENT, 1.4, dashed=True)
    sheet.text((610, 325), "?", 60, ACCENT, "mm")
    for x, words in zip((250, 960), figures, strict=True):
        sheet.text((x, 325), words, 30, ACCENT, "mm")
    for x, words in zip((250, 610, 960), sizes, strict=True):
        sheet.text((x, 436 if x != 610 else 500), words, 23, anchor="ma")
    sheet.arrow([(96, 375), (200, 375)], 5, WIND)
    sheet.arrow([(1010, 375), (1105, 375)], 5, WIND)
    sheet.line([(40, 600), (1160, 600)], 4)
    sheet.text((600, 628), "finished ceiling, no hatch", 24, anchor="ma")


def closed_door(sheet: Sheet, figure: str, rooms: tuple[str, str]) -> None:
    """A shut door from the side, a hose under it, and what the manometer says."""
    sheet.line([(60, 690), (1140, 690)], 5)
    sheet.box(560, 170, 596, 676, WOOD)
    sheet.oval((548, 440), 12, fill=COPPER)
    sheet.line([(300, 640), (420, 682), (640, 682), (760, 640), (820, 560)], 7, ACCENT)
    sheet.readout((740, 420), figure, "bedroom against hall", 340, ACCENT)
    sheet.text((300, 200), rooms[0], 27, anchor="mm")
    sheet.text((880, 200), rooms[1], 27, anchor="mm")
    sheet.box(140, 120, 330, 150, STEEL)
    for i in range(8):
        sheet.line([(154 + i * 23, 124), (154 + i * 23, 146)], 2, INK, 0.2)
    for x in (180, 235, 290):
        sheet.arrow([(x, 165 + 70), (x - 10, 330)], 5, ACCENT)
    sheet.label("supply register", (360, 134), (332, 136), 22)
    sheet.label("3/8 in. under the door", (330, 560), (578, 683), 22)
    sheet.label("hose", (690, 610), (700, 664), 22)
