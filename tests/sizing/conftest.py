"""What tests of sizing share: the test cases, each surveyed, diagnosed and sized once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

from causebook.belief.stops import stops
from causebook.belief.verdict import StopNotice
from causebook.casefile.model import Case
from causebook.casefile.read import read_case
from causebook.diagnosis import Diagnosis, diagnose
from causebook.knowledge import load
from causebook.knowledge.model import Knowledge
from causebook.sizing.found import Found, found
from causebook.sizing.job import Job
from causebook.sizing.model import Option
from causebook.sizing.options import options
from causebook.sizing.return_air import design_airflow, tons_of
from causebook.survey.model import Survey
from causebook.survey.survey import survey

CASES = Path(__file__).parent / "cases"


@dataclass(frozen=True)
class Worked:
    """One test case with all that sizing makes of it."""

    case: Case
    surveyed: Survey
    diagnosis: Diagnosis
    knowledge: Knowledge
    found: Found
    fired: tuple[StopNotice, ...]
    options: tuple[Option, ...]

    def option(self, name: str) -> Option:
        """The option of a name."""
        return next(o for o in self.options if o.name == name)

    @property
    def job(self) -> Job:
        """The job that plans are made for."""
        wanted = design_airflow(self.surveyed, tons_of(self.case)) or self.found.moments.airflow.value
        return Job(self.surveyed, self.found, wanted)


@cache
def _knowledge() -> Knowledge:
    return load()


@cache
def _worked(name: str) -> Worked:
    knowledge = _knowledge()
    case, problems = read_case(CASES / name, knowledge)
    assert case is not None and not problems, [str(p) for p in problems]
    surveyed = survey(case, knowledge)
    diagnosis = diagnose(case, knowledge, surveyed, show_steps=False)
    system = found(surveyed, diagnosis)
    assert system is not None
    fired = stops(case, surveyed, diagnosis.verdict.causes, knowledge)
    offered = options(surveyed, diagnosis, fired)
    return Worked(case, surveyed, diagnosis, knowledge, system, fired, offered)


@pytest.fixture(scope="session")
def worked() -> Callable[[str], Worked]:
    """`worked("matted-coil")`: that case, worked once for all tests."""
    return _worked


@pytest.fixture(scope="session")
def knowledge() -> Knowledge:
    """The trade's knowledge."""
    return _knowledge()
