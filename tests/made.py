"""Cases made of a few readings and findings, for the tests of what the core makes of them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from causebook import quantity as qty
from causebook.casefile.model import Case, CaseFile, CaseStep, Taken
from causebook.knowledge.model import Knowledge

DAY = dt.date(2024, 2, 1)
PLATE: Mapping[str, Any] = {
    "kind": "non-condensing",
    "made": 2013,
    "input": "80000 Btu/h",
    "output": "64000 Btu/h",
    "rise": "35 to 65 degF",
    "static maximum": "0.50 inH2O",
    "counted as external": ["return", "filter", "coil", "supply"],
    "manifold": "3.5 inH2O",
    "limit": {"opens": "200 degF", "closes": "170 degF"},
}
SITE = {"elevation": "150 ft", "heating value": "1035 Btu/ft^3", "meter dial": "2 ft^3"}


def make_case(
    knowledge: Knowledge,
    *steps: Mapping[str, Any],
    family: str = "high-limit",
    motor: str = "split capacitor",
    **more: Any,
) -> Case:
    """A case with one visit; each step is `{"read": {...}, "seen": {...}, "with": {...}}`."""
    written = [{"do": f"Step {n}", **step} for n, step in enumerate(steps, 1)]
    file = CaseFile.model_validate(
        {
            "title": "A made case",
            "complaint": {"family": family, "words": "It stops."},
            "site": SITE,
            "furnace": dict(PLATE),
            "blower": {"motor": motor, "setting": "medium-high"},
            "coil": {"cooling": "3 ton"},
            **more,
            "visits": [{"date": DAY, "steps": written}],
        }
    )
    done = tuple(
        CaseStep(
            number=n,
            visit=1,
            date=DAY,
            step=step,
            seen=step.seen,
            readings=tuple(
                Taken(
                    reading=r, value=qty.parse(text, qty.KINDS[knowledge.readings[r].kind]), step=n, void=str(step.void)
                )
                for r, text in step.read.items()
            ),
        )
        for n, step in enumerate(file.visits[0].steps, 1)
    )
    return Case(id="made", folder=Path("."), file=file, steps=done)
