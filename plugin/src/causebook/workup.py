"""The one door into the core: a case goes in, a workup comes out; everything above only shows it."""

from __future__ import annotations

from dataclasses import dataclass

from causebook.casefile.model import Case
from causebook.diagnosis.model import Verdict
from causebook.knowledge.model import Knowledge
from causebook.problems import Problem
from causebook.sizing.model import Compared, Option, ReturnSize
from causebook.survey.model import Survey


@dataclass(frozen=True, slots=True)
class StopNotice:
    """A stop that fired: a rule outside all probabilities."""

    id: str
    name: str
    notice: str
    do: str
    because: str
    """The reading or observation that fired it."""
    step: int
    out_of_service: bool
    open: bool
    """Not yet ended by a recorded correction."""
    closed_by: str = ""


@dataclass(frozen=True, slots=True)
class StepCaution:
    """A caution to stand above the step that carries the risk; step 0 is for the whole page."""

    id: str
    name: str
    text: str
    step: int


@dataclass(frozen=True, slots=True)
class Workup:
    """Everything the core found out about one case."""

    case: Case
    knowledge: Knowledge
    survey: Survey
    verdict: Verdict
    stops: tuple[StopNotice, ...]
    cautions: tuple[StepCaution, ...]
    options: tuple[Option, ...]
    return_size: ReturnSize | None
    after: tuple[Compared, ...]
    problems: tuple[Problem, ...] = ()
    """What the review of the reasoning found (warnings; errors stop the case before)."""
