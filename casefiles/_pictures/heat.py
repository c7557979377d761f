"""Thermal pictures computed from a case's own temperatures: lightness rises with temperature, with a labelled scale."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from ink import INK, SCALE, Point, Sheet

STOPS = np.array([(22, 24, 46), (64, 46, 96), (128, 62, 98), (190, 96, 78), (224, 160, 98), (250, 238, 206)], float)
"""From cold to hot; each is lighter than the one before."""

Patch = tuple[tuple[float, float, float, float], float, float]
"""(x0, y0, x1, y1), temperature at its bottom and at its top [degF]."""


def color(temperature: NDArray[np.float64], low: float, high: float) -> NDArray[np.uint8]:
    """Colors of temperatures on the scale from `low` to `high`."""
    at = np.clip((temperature - low) / (high - low), 0, 1) * (len(STOPS) - 1)
    whole = np.minimum(at.astype(int), len(STOPS) - 2)
    part = (at - whole)[..., None]
    return np.asarray(STOPS[whole] * (1 - part) + STOPS[whole + 1] * part, np.uint8)


def apparent(true: float, room: float, emissivity: float, set_to: float = 0.95) -> float:
    """What an infrared instrument set to `set_to` shows of a surface that mirrors the room [degF]."""
    kelvin = [(t - 32) / 1.8 + 273.15 for t in (true, room)]
    seen = emissivity * kelvin[0] ** 4 + (1 - emissivity) * kelvin[1] ** 4
    return float((((seen - (1 - set_to) * kelvin[1] ** 4) / set_to) ** 0.25 - 273.15) * 1.8 + 32)


def _soft(field: NDArray[np.float64], passes: int) -> NDArray[np.float64]:
    for _ in range(passes):
        field = (
            field + np.roll(field, 1, 0) + np.roll(field, -1, 0) + np.roll(field, 1, 1) + np.roll(field, -1, 1)
        ) / 5
    return field


def picture(
    sheet: Sheet,
    room: float,
    patches: Sequence[Patch],
    spots: Sequence[tuple[Point, str, Point]],
    low: float,
    high: float,
    frame: tuple[int, int, int, int] = (60, 100, 960, 740),
) -> None:
    """A thermal picture: patches on a background at room temperature, blurred as a camera blurs, and spot readings."""
    x0, y0, x1, y1 = frame
    grain = 4
    field = np.full(((y1 - y0) // grain, (x1 - x0) // grain), float(room))
    for (a, b, c, d), bottom, top in patches:
        rows = slice(max(0, round((b - y0) / grain)), round((d - y0) / grain))
        cols = slice(max(0, round((a - x0) / grain)), round((c - x0) / grain))
        tall = field[rows, cols].shape[0]
        field[rows, cols] = np.linspace(top, bottom, tall)[:, None]
    shown = Image.fromarray(color(_soft(field, 5), low, high))
    sheet.image.paste(
        shown.resize(((x1 - x0) * SCALE, (y1 - y0) * SCALE), Image.Resampling.BICUBIC), (x0 * SCALE, y0 * SCALE)
    )
    sheet.box(x0, y0, x1, y1, None, 2)
    bar = color(np.linspace(high, low, 240)[:, None].repeat(10, 1), low, high)
    sheet.image.paste(
        Image.fromarray(bar).resize((44 * SCALE, 480 * SCALE), Image.Resampling.BICUBIC), (1010 * SCALE, 170 * SCALE)
    )
    sheet.box(1010, 170, 1054, 650, None, 2)
    for i in range(5):
        value = high - (high - low) * i / 4
        sheet.line([(1054, 170 + 120 * i), (1064, 170 + 120 * i)], 2, INK, 0.2)
        sheet.text((1072, 170 + 120 * i), f"{value:.0f} °F", 23, anchor="lm")
    for point, words, at in spots:
        dark = (255, 252, 240)
        sheet.line([at, point], 2, dark, 0.3)
        sheet.oval(point, 7, fill=None, width=2.5, color=dark)
        wide = sheet.width_of(words, 24)
        sheet.shape(
            [
                (at[0] - wide / 2 - 8, at[1] - 17),
                (at[0] + wide / 2 + 8, at[1] - 17),
                (at[0] + wide / 2 + 8, at[1] + 17),
                (at[0] - wide / 2 - 8, at[1] + 17),
            ],
            (18, 20, 34),
            1,
            None,
        )
        sheet.text(at, words, 24, dark, "mm")
