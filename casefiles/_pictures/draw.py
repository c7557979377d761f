"""Draws every picture of the demo cases again: `python draw.py` for all, `python draw.py narrow-return` for one case.

A scene is a function on a sheet; it is found by the case and the file it is for.  The same scene always gives the
same pixels with the same Pillow.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable
from pathlib import Path

import scenes_cases
import scenes_limit
from ink import Sheet
from scene import SCENES

CASES = Path(__file__).parents[1]
MODULES = (scenes_limit, scenes_cases)
"""The modules whose scenes enter themselves into `SCENES` when imported."""


def drawn(name: str) -> Sheet:
    """The picture of this name, drawn and not yet saved."""
    title, scene = SCENES[name]
    sheet = Sheet(name, title)
    scene(sheet)
    return sheet


def main(wanted: Iterable[str]) -> None:
    """Draw the pictures of the named cases, or all."""
    cases = set(wanted)
    for name in SCENES:
        if not cases or name.split("/")[0] in cases:
            drawn(name).save(CASES / name)


if __name__ == "__main__":
    main(sys.argv[1:])
