"""Drawings of the electrical side: readouts, capacitor, terminals, limit, bond, recorder."""

from __future__ import annotations

from collections.abc import Sequence

from ink import ACCENT, COPPER, GRAY, INK, PAPER, STEEL, Sheet

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
    sheet.box(90, 150, 560, 690, BOARD)
    sheet.text((325, 182), "blower terminals", 23, anchor="mm")
    for i, name in enumerate(terminals):
        y = 262 + i * 112
        sheet.box(400, y - 28, 490, y + 28, COPPER)
        sheet.text((370, y), name, 27, anchor="rm")
        if name == found:
            sheet.line([(444, y), (700, y + 10), (780, y + 70), (1140, y + 84)], 8, ACCENT)
            sheet.oval((444, y), 11, fill=ACCENT, color=ACCENT)
            sheet.text((800, y + 28), words[0], 26, ACCENT, "lm")
        if name == right:
            sheet.line([(500, y), (690, y)], 2.5, INK, 0.6, dashed=True)
            sheet.text((706, y), words[1], 26, anchor="lm")


def limit_face(sheet: Sheet, marked: str, opened: str, place: str = "heat exchanger side") -> None:
    """A limit through a wall with hot air behind it, a bead on its face, and the reading when it opened."""
    sheet.box(120, 160, 520, 700, STEEL)
    sheet.text((140, 185), place, 21)
    sheet.box(500, 150, 530, 710, GRAY)
    sheet.box(430, 380, 530, 500, PAPER)
    sheet.oval((425, 440), 24, 62, fill=COPPER)
    sheet.box(530, 400, 590, 480, PAPER)
    for y in (418, 462):
        sheet.box(590, y - 8, 640, y + 8, COPPER)
    sheet.line([(404, 440), (330, 520), (330, 640), (500, 735), (690, 690), (720, 600)], 4, ACCENT)
    sheet.oval((404, 440), 8, fill=ACCENT, color=ACCENT)
    sheet.label("bead on the face", (150, 330), (402, 438), 23, ACCENT)
    sheet.label("limit " + marked, (700, 300), (560, 420), 25)
    for x in (170, 240):
        sheet.line([(x, 560), (x + 20, 590), (x, 620), (x + 20, 650)], 3, ACCENT)
    sheet.readout((680, 480), opened, "face when it opened", 400, ACCENT)


def bond(sheet: Sheet, clean: bool, words: str) -> None:
    """A bond screw in section: ring terminal, washer, paint left on or scraped to metal."""
    color = INK if clean else ACCENT
    drop = 27 if clean else 0
    plate = [(180, 490), (1020, 490), (1020, 600), (180, 600)]
    sheet.shape(plate, STEEL)
    sheet.hatch(plate, 20, 30, 1.4, GRAY)
    for x0, x1 in ((180, 555), (645, 1020)) if not clean else ((180, 390), (810, 1020)):
        sheet.box(x0, 464, x1, 490, (106, 110, 122), 2)
    sheet.box(410, 430 + drop, 790, 462 + drop, COPPER)
    head = 394 if clean else 428
    if clean:
        sheet.line([(470 + i * 13, head + (62 if i % 2 else 6)) for i in range(21)], 4, INK, 0.2)
    sheet.box(468, head - 76, 732, head, STEEL)
    sheet.box(572, head, 628, 664, STEEL, 2)
    sheet.line([(790, 446 + drop), (930, 380), (1010, 210)], 16, (70, 120, 80))
    sheet.label("bare metal" if clean else "paint", (230, 330), (402, 488) if clean else (300, 476), 27, color)
    sheet.label(
        "toothed washer" if clean else "ring sits on the paint",
        (160, 230),
        (470, 430) if clean else (420, 446),
        25,
        color,
    )
    sheet.label("wire to ground", (1000, 150), (1000, 226), 24, anchor="mm")
    sheet.text((600, 716), words, 27, color, "mm")


def chain(sheet: Sheet, devices: Sequence[str], across: Sequence[str], telling: int | None, note: str) -> None:
    """Switches in a row with the voltage read across each."""
    step = 1080 / len(devices)
    sheet.line([(40, 330), (1160, 330)], 4)
    for i, (name, volts) in enumerate(zip(devices, across, strict=True)):
        x = 60 + step * (i + 0.5)
        color = ACCENT if i == telling else INK
        sheet.shape([(x - 48, 312), (x + 48, 312), (x + 48, 348), (x - 48, 348)], PAPER, 1, None)
        sheet.oval((x - 48, 330), 9, fill=PAPER, color=color)
        sheet.oval((x + 48, 330), 9, fill=PAPER, color=color)
        sheet.line([(x - 40, 330), (x + 42, 326 if i != telling else 286)], 4, color)
        sheet.text((x, 250), name, 23, color, "mm")
        sheet.line([(x - 48, 345), (x - 30, 430)], 2, GRAY)
        sheet.line([(x + 48, 345), (x + 30, 430)], 2, GRAY)
        sheet.box(x - 88, 430, x + 88, 510, STEEL, 2, color)
        sheet.text((x, 470), volts, 28, color, "mm")
    sheet.text((600, 640), note, 25, anchor="mm")


def terminal(sheet: Sheet, words: Sequence[str]) -> None:
    """A push-on terminal in section, its grip a little open, and a lead on the blade."""
    sheet.box(120, 360, 520, 420, COPPER)
    sheet.text((320, 390), "blade", 23, anchor="mm")
    sheet.line([(330, 330), (420, 322), (620, 322), (720, 340), (1060, 340)], 9, INK)
    sheet.line([(330, 448), (420, 462), (620, 462), (720, 440), (1060, 440)], 9, INK)
    sheet.line([(720, 390), (1140, 390)], 30, (110, 130, 100))
    sheet.line([(300, 360), (250, 240), (420, 180)], 5, ACCENT)
    sheet.oval((300, 360), 8, fill=ACCENT, color=ACCENT)
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
