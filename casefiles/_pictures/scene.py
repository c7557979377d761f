"""What scenes share: the list they enter themselves in, tap words, bars."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from case_reading import tap
from ink import ACCENT, GRAY, INK, PAPER, Point, Sheet

Scene = Callable[[Sheet], None]
SCENES: dict[str, tuple[str, Scene]] = {}
"""Path below the case folders -> (title, scene)."""

TAP_WORDS_AT: Mapping[int, Point] = {2: (872, 470), 3: (500, 764), 5: (30, 300), 6: (30, 215)}
_TAPS = {2: "tap before filter", 3: "tap after filter", 5: "tap before coil", 6: "tap after coil"}


def scene(name: str, title: str) -> Callable[[Scene], Scene]:
    """Enter a scene under its file and title."""

    def enter(function: Scene) -> Scene:
        SCENES[name] = title, function
        return function

    return enter


def tap_words(case: str, step: int) -> Mapping[int, str]:
    """The readings of the four taps of one step, for the cutaway."""
    return {number: tap(case, step, reading) for number, reading in _TAPS.items()}


def bars(sheet: Sheet, rows: Sequence[tuple[str, float, bool]], unit: str, note: str) -> None:
    """Bars from one zero to one scale: (words, value, is it the telling one)."""
    longest = max(value for _, value, _ in rows)
    for i, (words, value, telling) in enumerate(rows):
        y = 150 + i * 165
        wide = 820 * value / longest
        color = ACCENT if telling else INK
        corners = [(90, y + 36), (90 + wide, y + 36), (90 + wide, y + 106), (90, y + 106)]
        sheet.text((90, y), words, 25, color)
        sheet.shape(corners, PAPER, 3, color)
        sheet.hatch(corners, 15, 45, 1.3, color if telling else GRAY)
        sheet.text((108 + wide, y + 71), f"{value:,.0f} {unit}", 26, color, "lm")
    sheet.text((90, 690), note, 25)
