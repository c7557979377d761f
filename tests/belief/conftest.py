"""What tests of the diagnosis share: the knowledge, the demo cases, and cases made of a few findings."""

from __future__ import annotations

import functools
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

import made
from causebook.casefile.model import Case
from causebook.casefile.read import read_cases
from causebook.knowledge.loader import load
from causebook.knowledge.model import Knowledge

# The simulated calls are a package of their own beside these tests.
sys.path.insert(0, str(Path(__file__).parents[2]))


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
    return functools.partial(made.make_case, knowledge)
