"""The job a plan is made for: the case, its survey and the system found."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from causebook.casefile.model import Case
from causebook.knowledge.model import Knowledge
from causebook.sizing.blower import Tried, tried
from causebook.sizing.found import Found
from causebook.sizing.plan import NOTHING, Foretold, foretell
from causebook.survey.model import Survey


@dataclass(frozen=True)
class Job:
    """What making a plan needs."""

    surveyed: Survey
    found: Found
    airflow: float
    """The airflow wanted [m³/s]."""

    @property
    def case(self) -> Case:
        """The case surveyed."""
        return self.surveyed.case

    @property
    def knowledge(self) -> Knowledge:
        """What it was surveyed by."""
        return self.surveyed.knowledge

    @cached_property
    def as_found(self) -> Foretold:
        """The system without any change."""
        return foretell(self.found, NOTHING)

    @cached_property
    def settings(self) -> tuple[Tried, ...]:
        """Every blower setting on the system as found."""
        return tried(self.found, NOTHING)
