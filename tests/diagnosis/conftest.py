"""What tests of the diagnosis share: the knowledge, the demo cases, and cases made of a few findings."""

from __future__ import annotations

import datetime as dt
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from causebook import quantity as qty
from causebook.casefile.model import Case, CaseFile, CaseStep, Taken
from causebook.casefile.read import read_cases
from causebook.knowledge.loader import load
from causebook.knowledge.model import Knowledge

# The simulated calls are a package of their own beside these tests.
sys.path.insert(0, str(Path(__file__).parents[2]))

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


@pytest.fixture(scope="session")
def knowledge() -> Knowledge:
    return load()


@pytest.fixture(scope="session")
def demo_cases(knowledge: Knowledge) -> list[Case]:
    cases, _ = read_cases(Path(__file__).parents[2] / "casefiles", knowledge)
    assert len(cases) >= 10
    return cases


@pytest.fixture(scope="session")
def make_case(knowledge: Knowledge) -> Callable[..., Case]:
    """`make_case(step, step, ..., family=...)`; each step is `{"read": {...}, "seen": {...}, "with": {...}}`."""

    def make(
        *steps: Mapping[str, Any], family: str = "high-limit", motor: str = "split capacitor", **more: Any
    ) -> Case:
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
                        reading=r,
                        value=qty.parse(text, qty.KINDS[knowledge.readings[r].kind]),
                        step=n,
                        void=str(step.void),
                    )
                    for r, text in step.read.items()
                ),
            )
            for n, step in enumerate(file.visits[0].steps, 1)
        )
        return Case(id="made", folder=Path("."), file=file, steps=done)

    return make
