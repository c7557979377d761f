"""Small cases made in code for the survey's tests: a plate, a few steps, nothing else."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from causebook import knowledge
from causebook import quantity as qty
from causebook.casefile.model import Case, CaseFile, CaseStep, FanTable, Step, Taken

KNOWN = knowledge.load()
PLATE = {
    "kind": "non-condensing",
    "input": "80000 Btu/h",
    "output": "64000 Btu/h",
    "rise": "35 to 65 degF",
    "static maximum": "0.50 inH2O",
    "counted as external": ["return", "filter", "coil", "supply"],
    "manifold": "3.5 inH2O",
    "limit": {"opens": "200 degF", "closes": "170 degF"},
    "made": 2010,
}
TABLE = FanTable(
    static=(0.1, 0.3, 0.5, 0.7, 0.9),
    airflow={"low": (1000.0, 950.0, 880.0, 760.0, 600.0), "high": (1400.0, 1330.0, 1240.0, 1090.0, 860.0)},
)


def step(
    number: int,
    read: Mapping[str, str] | None = None,
    seen: Mapping[str, str] | None = None,
    visit: int = 1,
    **said: Any,
) -> CaseStep:
    """One step; `read` is reading id -> quantity in text."""
    readings = tuple(
        Taken(reading=name, value=qty.parse(text, qty.KINDS[KNOWN.readings[name].kind]), step=number)
        for name, text in (read or {}).items()
    )
    return CaseStep(
        number=number,
        visit=visit,
        date=dt.date(2024, 1, 24),
        step=Step(do=f"Step {number}", **said),
        readings=readings,
        seen=seen or {},
    )


def case(
    steps: Sequence[CaseStep],
    family: str = "high-limit",
    plate: Mapping[str, Any] | None = None,
    table: FanTable | None = TABLE,
    **more: Any,
) -> Case:
    """A case of these steps on the usual plate."""
    file = CaseFile.model_validate(
        {
            "title": "A small case",
            "complaint": {"family": family, "words": "It stops."},
            "site": {"elevation": "0 ft", "heating value": "1000 Btu/ft^3", "meter dial": "1 ft^3", "room": "70 degF"},
            "furnace": {**PLATE, **(plate or {})},
            "blower": {"motor": "split capacitor", "setting": "high"},
            "coil": {"cooling": "3 ton"},
            "filter": {"kind": "pleated", "size": "16 x 25 x 1 in"},
            "visits": [{"date": "2024-01-24", "steps": [{"do": "x"}]}],
            **more,
        }
    )
    return Case(id="small", folder=Path(), file=file, steps=tuple(steps), fan_table=table)
