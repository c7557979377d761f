"""Drawings of the electrical side: readouts, capacitor, terminals, limit, bond, recorder."""

from __future__ import annotations

from collections.abc import Sequence

from ink import ACCENT, COPPER, GREY, INK, PAPER, STEEL, Point, Sheet

BOARD = (196, 210, 190)


def readouts(sheet: Sheet, figures: Sequence[tuple[str, str, bool]], columns: int = 2) -> None:
    """Meters as plain text: (caption, figure, is it the telling one)."""
    width = 1060 / columns - 40
    for i, (caption, value, telling) in enumerate(figures):
        at = (80 + (i % columns) * (width + 40), 150 + (i // columns) * 170)
        sheet.readout(at, value, caption, width, ACCENT if telling else INK)


def capacitor(sheet: Sheet, marked: str, found: str, state: str) -> None:
    """A run capacitor on the bench, its leads on a meter."""
    sheet.oval((280, 660), 120, 34, fill=STEEL)
    sheet.box(160, 260, 400, 660, STEEL)
    sheet.shape([(163, 640), (397, 640), (397, 672), (163, 672)], STEEL, 1, None)
    sheet.oval((280, 260), 120, 34, fill=(236, 238, 236))
    for x in (240, 320):
        sheet.box(x - 10, 206, x + 10, 262, COPPER)
    sheet.text((280, 420), marked, 30, anchor="mm")
    sheet.text((280, 470), "± 5 %", 25, anchor="mm")
    sheet.line([(240, 206), (250, 150), (560, 140), (720, 330)], 6, ACCENT)
    sheet.line([(320, 206), (350, 170), (600, 200), (800, 330)], 6, INK)
    sheet.readout((680, 330), found, "capacitance", 360, ACCENT)
    sheet.text((680, 510), state, 24)


def leads(sheet: Sheet, terminals: Sequence[str], found: str, right: str, words: tuple[str, str]) -> None:
    """Speed terminals of a control, the heating lead where it was and where the instructions want it."""
    sheet.box(120, 170, 520, 700, BOARD)
    sheet.text((320, 200), "blower terminals", 23, anchor="mm")
    for i, name in enumerate(terminals):
        y = 270 + i * 105
        sheet.box(170, y - 26, 250, y + 26, COPPER)
        sheet.text((280, y), name, 26, anchor="lm")
        if name == found:
            sheet.line([(210, y), (60, y + 30), (60, 748), (700, 748), (760, 690)], 7, ACCENT)
            sheet.label(words[0], (640, y), (254, y + 12), 25, ACCENT)
        if name == right:
            sheet.line([(254, y), (600, y)], 2.5, INK, 0.6, dashed=True)
            sheet.text((640, y), words[1], 25, anchor="lm")


def limit_face(sheet: Sheet, marked: str, opened: str, place: str = "heat exchanger side") -> None:
    """A limit through a wall with hot air behind it, a bead on its face, and the reading when it opened."""
    sheet.box(120, 160, 520, 700, STEEL)
    sheet.text((140, 185), place, 21)
    sheet.box(500, 150, 530, 710, GREY)
    sheet.box(430, 380, 530, 500, PAPER)
    sheet.oval((425, 440), 24, 62, fill=COPPER)
    sheet.box(530, 400, 590, 480, PAPER)
    for y in (418, 462):
        sheet.box(590, y - 8, 640, y + 8, COPPER)
    sheet.line([(404, 440), (330, 520), (330, 640), (500, 735), (690, 690), (720, 600)], 4, ACCENT)
    sheet.oval((404, 440), 8, fill=ACCENT, colour=ACCENT)
    sheet.label("bead on the face", (150, 330), (402, 438), 23, ACCENT)
    sheet.label("limit " + marked, (700, 300), (560, 420), 25)
    for x in (170, 240):
        sheet.line([(x, 560), (x + 20, 590), (x, 620), (x + 20, 650)], 3, ACCENT)
    sheet.readout((680, 480), opened, "face when it opened", 400, ACCENT)


def bond(sheet: Sheet, clean: bool, words: str, at: Point) -> None:
    """A bond screw in section: ring terminal, washer, paint left on or scraped to metal."""
    x, y = at
    sheet.box(x, y + 210, x + 440, y + 270, STEEL)
    sheet.hatch([(x, y + 210), (x + 440, y + 210), (x + 440, y + 270), (x, y + 270)], 14, 30, 1.2, GREY)
    paint = (106, 110, 122)
    for x0, x1 in ((x, x + 196), (x + 244, x + 440)) if not clean else ((x, x + 110), (x + 330, x + 440)):
        sheet.box(x0, y + 196, x1, y + 211, paint, 1)
    sheet.box(x + 120, y + 178 + (14 if clean else 0), x + 320, y + 196 + (14 if clean else 0), COPPER)
    top = y + (160 if not clean else 174)
    if clean:
        teeth = [(x + 150 + i * 10, top + (18 if i % 2 else 2)) for i in range(15)]
        sheet.line(teeth, 3, INK, 0.2)
    sheet.box(x + 150, top - 40, x + 290, top, STEEL)
    sheet.box(x + 204, top, x + 236, y + 310, STEEL, 2)
    sheet.line([(x + 320, y + 190 + (14 if clean else 0)), (x + 400, y + 150), (x + 450, y + 60)], 8, (70, 120, 80))
    sheet.label("paint" if not clean else "bare metal", (x + 20, y + 110),
                (x + 60, y + 200) if not clean else (x + 118, y + 210), 23, ACCENT if not clean else INK)
    sheet.text((x + 220, y + 350), words, 25, ACCENT if not clean else INK, "mm")


def chain(sheet: Sheet, devices: Sequence[str], across: Sequence[str], telling: int | None, note: str) -> None:
    """Switches in a row with the voltage read across each."""
    step = 1080 / len(devices)
    sheet.line([(40, 330), (1160, 330)], 4)
    for i, (name, volts) in enumerate(zip(devices, across, strict=True)):
        x = 60 + step * (i + 0.5)
        colour = ACCENT if i == telling else INK
        sheet.shape([(x - 48, 312), (x + 48, 312), (x + 48, 348), (x - 48, 348)], PAPER, 1, None)
        sheet.oval((x - 48, 330), 9, fill=PAPER, colour=colour)
        sheet.oval((x + 48, 330), 9, fill=PAPER, colour=colour)
        sheet.line([(x - 40, 330), (x + 42, 326 if i != telling else 286)], 4, colour)
        sheet.text((x, 250), name, 23, colour, "mm")
        sheet.line([(x - 48, 345), (x - 30, 430)], 2, GREY)
        sheet.line([(x + 48, 345), (x + 30, 430)], 2, GREY)
        sheet.box(x - 88, 430, x + 88, 510, STEEL, 2, colour)
        sheet.text((x, 470), volts, 28, colour, "mm")
    sheet.text((600, 640), note, 25, anchor="mm")


def terminal(sheet: Sheet, words: Sequence[str]) -> None:
    """A push-on terminal in section, its grip a little open, and where the recorder's leads sit."""
    sheet.box(120, 360, 520, 420, COPPER)
    sheet.text((320, 390), "blade", 23, anchor="mm")
    sheet.line([(330, 330), (420, 322), (620, 322), (720, 340), (1060, 340)], 9, INK)
    sheet.line([(330, 448), (420, 462), (620, 462), (720, 440), (1060, 440)], 9, INK)
    sheet.line([(720, 390), (1140, 390)], 30, (110, 130, 100))
    sheet.line([(300, 360), (250, 240), (420, 180)], 5, ACCENT)
    sheet.oval((300, 360), 8, fill=ACCENT, colour=ACCENT)
    sheet.label(words[0], (450, 180), (422, 181), 24, ACCENT)
    sheet.label(words[1], (560, 590), (460, 440), 24)
    sheet.label(words[2], (740, 250), (760, 336), 24)
    sheet.text((600, 690), words[3], 24, anchor="mm")


def memory(sheet: Sheet, lines: Sequence[str], telling: int) -> None:
    """What a control's memory says, line by line."""
    sheet.box(140, 130, 1060, 720, STEEL)
    sheet.box(180, 180, 1020, 680, PAPER, 2)
    for i, words in enumerate(lines):
        sheet.text((220, 225 + i * 66), words, 29, ACCENT if i == telling else INK, "lm")
