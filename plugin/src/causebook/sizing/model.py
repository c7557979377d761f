"""What sizing yields: options, each with the readings it predicts, and how the repair compares with its prediction."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from causebook.measured import Measured
from causebook.quantity import Quantity
from causebook.survey.model import Work


@dataclass(frozen=True, slots=True)
class Predicted(Measured):
    """One predicted reading."""

    name: str


@dataclass(frozen=True, slots=True)
class Replacement:
    """What another furnace asks of the ducts."""

    output: Quantity
    airflow: Quantity
    """Heating airflow that its blower is set to, or that brings the middle of its rise range."""


@dataclass(frozen=True, slots=True)
class Option:
    """Something that could be done, put back into the identified air path and furnace."""

    id: str
    name: str
    scope: tuple[str, ...]
    """What is changed, in words."""
    repairs: tuple[str, ...]
    """Cause ids it corrects."""
    airflow: Predicted | None
    rise: Predicted | None
    static: Predicted | None
    outlet: Predicted | None
    limit_margin: Predicted | None
    trips: bool | None
    holds: Literal["complaint and reading", "complaint only", "neither", "not computed"]
    says: str
    """One sentence: what it does, and what stays out of range."""
    breaks_plate: tuple[str, ...] = ()
    """Plate limits and rules it would leave broken; such an option is shown, never recommended."""
    recommended: bool = False
    by_author: bool = False
    works: tuple[Work, ...] = ()
    leaves: tuple[str, ...] = ()
    """What stays above a rating although the option is right (static of a blower that works again), in words."""
    drops: tuple[Predicted, ...] = ()
    """Predicted drop of each part of the air path."""
    not_understood: tuple[str, ...] = ()
    """What of an author's change could not be read, and so was not computed."""
    furnace: Replacement | None = None
    """The furnace it puts in the place of the old one."""


@dataclass(frozen=True, slots=True)
class Compared:
    """A reading after repair held against the prediction made before."""

    name: str
    predicted: Predicted
    read: Quantity
    inside: bool
    says: str


@dataclass(frozen=True, slots=True)
class MeasuredOpening:
    """A return duct or grille as measured, at the airflow the furnace wants."""

    what: str
    area: Quantity
    airflow: Quantity
    """Its share of the airflow, by area among its like."""
    velocity: Quantity
    most: Quantity
    """Velocity that good practice allows here."""
    says: str


@dataclass(frozen=True, slots=True)
class ReturnSize:
    """Return openings found, the legal floor, and what the airflow needs, on one area scale."""

    airflow: Quantity
    found: Quantity | None
    """Free or duct area of the smallest section found."""
    floor: Quantity
    floor_source: str
    needed: Quantity
    needed_basis: str
    velocity_found: Quantity | None
    closes_gap: tuple[str, ...]
    """Combinations of standard sizes that close the gap, in words."""
    openings: tuple[MeasuredOpening, ...] = ()
    inlet: str = ""
    """Whether air may come in by one side of the cabinet at this airflow."""
    not_from: tuple[str, ...] = ()
    """Where return air may not be taken from, each with the code section; the local code decides."""
    works: tuple[Work, ...] = ()
