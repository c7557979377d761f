"""What a survey of a case yields: airflow, input, drops, limit and switch evidence, findings, all with uncertainty."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from causebook.casefile.model import Taken
from causebook.physics.air import AirState
from causebook.quantity import Kind, Quantity


@dataclass(frozen=True, slots=True)
class Estimate:
    """A quantity with its standard uncertainty, and what it was worked out from."""

    value: Quantity
    sd: Quantity
    kind: Kind
    method: str
    """Short name of the method: "rise and clocked input"."""
    readings: tuple[str, ...] = ()
    """Reading ids behind it."""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Work:
    """One calculation shown: formula, its terms with units, the result, and its source."""

    title: str
    formula: str
    terms: tuple[tuple[str, str], ...]
    """Symbol or words -> value with unit, as text."""
    result: str
    source: str
    note: str = ""


class State(StrEnum):
    """Of a finding.  Not looked for is never stored as absent."""

    PRESENT = "present"
    ABSENT = "absent"
    UNCLEAR = "unclear"
    NOT_LOOKED_FOR = "not looked for"
    VOID = "void"


@dataclass(frozen=True, slots=True)
class FindingState:
    """One finding of the case: its state, the probability that it is present, and what says so."""

    id: str
    name: str
    state: State
    probability: float
    step: int
    """Step that settled it (the last that spoke); 0 for facts of the plate."""
    readings: tuple[str, ...] = ()
    because: str = ""
    """The finding in a sentence, with the numbers: "Static 0.86 in. w.c. is above the rating of 0.50 in. w.c."."""
    physical: bool = False
    looks: tuple[float, ...] = ()
    """What each look said, in order: 1 there, 0 not there, 0.5 unclear; empty where readings say it."""


@dataclass(frozen=True, slots=True)
class Tap:
    """Pressure at one position along the air path; `value` None where it was not measured."""

    number: int
    name: str
    value: Quantity | None
    sd: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Drop:
    """Pressure drop of one part, as read and as it would be at the case's common airflow."""

    part: str
    name: str
    value: Quantity
    sd: Quantity
    at_common_airflow: Quantity | None = None


@dataclass(frozen=True, slots=True)
class ReadingSet:
    """Readings taken in one state of the system."""

    name: str
    """"as found", "changed: filter removed", "after repair", "follow-up"."""
    state: Mapping[str, str]
    """Part -> removed, opened ...; empty as found."""
    steps: tuple[int, ...]
    phase: str
    """"found", "changed", "after"."""
    visit: int
    readings: Mapping[str, Taken]
    """The valid readings, last of each id."""
    rise: Estimate | None = None
    input: Estimate | None = None
    airflow: tuple[Estimate, ...] = ()
    """By each method this set allows."""
    best_airflow: Estimate | None = None
    """Combined where the methods agree, else the one with the clock behind it."""
    agree: bool | None = None
    """Do the airflow methods agree within their uncertainty?  None with fewer than two."""
    taps: tuple[Tap, ...] = ()
    drops: tuple[Drop, ...] = ()
    static: Estimate | None = None
    """External static on the plate's boundary; None when the boundary or a tap is missing."""
    static_note: str = ""
    mode: str = "heating"
    repairs: int = 0
    """How many visits had repaired something before it was taken: across a repair readings do not compare."""


@dataclass(frozen=True, slots=True)
class RunLog:
    """A temperature log read and fitted."""

    step: int
    name: str
    seconds: tuple[float, ...]
    supply: tuple[float, ...]
    """[degF]"""
    return_: tuple[float, ...]
    """[degF]; empty when not logged."""
    trips: tuple[float, ...]
    """Times at which the limit opened [s]."""
    relights: tuple[float, ...]
    steady_rise: Estimate | None
    """Extrapolated when it tripped before it was steady."""
    extrapolated: bool
    fitted: tuple[float, ...] = ()
    """Supply temperature by the fit at `seconds` [degF]."""
    phase: str = "found"


@dataclass(frozen=True, slots=True)
class LimitEvidence:
    """Is it hot, or is the switch wrong?"""

    marked: Quantity | None
    opened_at: Estimate | None
    """By thermocouple on its face."""
    body: Estimate | None
    """Temperature of the limit body worked out from return and rise at the trip (or steady)."""
    air_at_trip: Quantity | None
    rise_at_trip: Quantity | None
    rise_in_range_at_trip: bool | None
    overheating: float | None
    """Probability that the limit body really reached its marking; None when it cannot be worked out."""
    surface: str = ""
    """What a surface reading is worth here (emissivity), in a sentence."""
    switch: str = ""
    """What the voltages say about the chain, in a sentence."""
    open_device: str = ""
    """The device of the chain that they show open."""
    verdict: str = ""
    """One sentence: doing its duty, opens low, contact, cannot tell."""


@dataclass(frozen=True, slots=True)
class Voided:
    """A reading that does not count, and the rule or reason that voids it."""

    taken: Taken
    rule: str
    why: str


@dataclass(frozen=True, slots=True)
class Survey:
    """Everything worked out from the readings before any cause is weighed."""

    air: AirState
    sets: tuple[ReadingSet, ...]
    logs: tuple[RunLog, ...]
    limit: LimitEvidence | None
    findings: tuple[FindingState, ...]
    voided: tuple[Voided, ...]
    plate_input: Quantity | None
    """Plate input, adjusted for altitude where the case says how."""
    efficiency: Estimate | None
    minimum_airflow: Quantity | None
    middle_airflow: Quantity | None
    notes: tuple[str, ...] = ()
    works: tuple[Work, ...] = field(default=())

    @property
    def found(self) -> ReadingSet | None:
        """The as-found set with the most to say (the last visit that has one)."""
        found = [s for s in self.sets if s.phase == "found" and (s.rise or s.taps or s.airflow)]
        return found[-1] if found else next((s for s in self.sets if s.phase == "found"), None)

    @property
    def after(self) -> ReadingSet | None:
        """The last after-repair set."""
        return next((s for s in reversed(self.sets) if s.phase == "after"), None)

    def finding(self, id_: str) -> FindingState | None:
        """The state of one finding, None when not looked for."""
        return next((f for f in self.findings if f.id == id_), None)
