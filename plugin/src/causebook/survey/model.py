"""What a survey of a case yields: airflow, input, drops, limit and switch evidence, findings, all with uncertainty."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum

from causebook import quantity as qty
from causebook.casefile.model import Case, Taken
from causebook.knowledge.model import Knowledge
from causebook.measured import Measured
from causebook.physics.air import STANDARD_DENSITY, AirState
from causebook.quantity import Quantity
from causebook.survey import numbers


class Method(StrEnum):
    """How a value was got; the text is how people say it."""

    RISE_CLOCKED = "rise and clocked input"
    RISE_PLATE = "rise and plate input"
    FAN_TABLE = "fan table"
    GRID = "flow grid"
    TOGETHER = "the methods together"
    SUPPLY_LESS_RETURN = "supply less return"
    RUN_LOG = "fitted to the run log"
    AS_READ = "as read"
    AT_TRIP = "supply at the trip less return"
    CLOCKED = "clocked at the meter"
    EFFICIENCY = "steady-state efficiency"
    ON_LIMIT_FACE = "thermocouple on its face"
    LIMIT_BODY = "return + factor × rise"
    ACROSS_BOUNDARY = "read over the boundary"
    TAP_TO_TAP = "tap to tap"

    @property
    def by_rise(self) -> bool:
        """Is it the airflow by the rise?  Clocked or by the plate it is one method, which a second reading repeats."""
        return self in (Method.RISE_CLOCKED, Method.RISE_PLATE)


@dataclass(frozen=True, slots=True)
class Estimate(Measured):
    """A measured value and how it was got."""

    method: Method
    readings: tuple[str, ...] = ()
    """Reading ids behind it."""
    note: str = ""
    words: str = ""
    """How this one was got, where its method says too little: "fan table at setting high"."""

    @property
    def how(self) -> str:
        """How it was got, in words."""
        return self.words or self.method.value


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
class Heat:
    """Facts of a furnace that hold for every reading set."""

    air: AirState
    sensible: float
    """Sensible factor at the furnace inlet [J/(m³·K)]."""
    efficiency: Estimate
    plate_input: float | None
    """[W], adjusted for altitude where the case says how."""
    output: float | None
    """Plate output [W], scaled with the adjusted input."""

    def at_return(self, readings: Mapping[str, Taken]) -> Heat:
        """The same with the air as warm as these readings found the return; humidity ratio and pressure stay."""
        back = readings.get("return-air")
        if back is None:
            return self
        air = replace(self.air, temperature=back.value)
        return replace(self, air=air, sensible=qty.si(air.sensible_factor, qty.SENSIBLE_FACTOR))

    @property
    def density_ratio(self) -> float:
        """Density of the air over that of standard air, for which fan tables are printed."""
        return qty.si(self.air.density, qty.DENSITY) / qty.si(STANDARD_DENSITY, qty.DENSITY)


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
class StruckLook:
    """A finding that was looked at so that the look does not count, and the rule that strikes it."""

    step: int
    finding: str
    rule: str
    why: str


@dataclass(frozen=True, slots=True)
class RuleContext:
    """What decides a finding: readings as found, with what follows from them."""

    case: Case
    knowledge: Knowledge
    heat: Heat
    found: ReadingSet
    """As-found readings, the later visit over the earlier."""
    sets: tuple[ReadingSet, ...]
    """Every set taken since the last repair."""
    limit: LimitEvidence | None

    def taken(self, *names: str) -> Taken | None:
        """The first of the named as-found readings."""
        return numbers.first(self.found.readings, *names)

    def gauge(self, name: str) -> tuple[float, float] | None:
        """An as-found reading as (value, standard uncertainty) [SI]."""
        taken = self.found.readings.get(name)
        return (numbers.value(taken, self.knowledge), numbers.sd(taken, self.knowledge)) if taken else None

    def saw(self, finding: str) -> bool:
        """Was the finding seen on one of the steps behind the as-found readings?"""
        return any(s.seen.get(finding) == "yes" for s in self.case.steps if s.number in self.found.steps)

    def constant(self, name: str) -> float:
        """A constant of the knowledge, as it stands there."""
        return numbers.constant(self.knowledge, name)

    def change(self, wanted: Mapping[str, str]) -> ReadingSet | None:
        """The changed set in exactly this state of the air path (how it was opened does not matter)."""
        for one in reversed(self.sets):
            if one.phase == "changed" and {p: manner(h) for p, h in one.state.items()} == dict(wanted):
                return one
        return None


@dataclass(frozen=True, slots=True)
class Survey:
    """What the readings say before any cause is weighed, with the case and the knowledge behind it."""

    case: Case
    knowledge: Knowledge
    heat: Heat
    sets: tuple[ReadingSet, ...]
    found: ReadingSet
    """How the furnace was found: the as-found readings of all visits since the last repair, the later over the
    earlier.  Empty where nothing was read."""
    logs: tuple[RunLog, ...]
    limit: LimitEvidence | None
    findings: tuple[FindingState, ...]
    voided: tuple[Voided, ...]
    works: tuple[Work, ...] = field(default=())
    struck_looks: tuple[StruckLook, ...] = ()

    @property
    def rule_context(self) -> RuleContext:
        """What its findings follow from."""
        return RuleContext(self.case, self.knowledge, self.heat, self.found, since_repair(self.sets), self.limit)

    @property
    def air(self) -> AirState:
        """The air at the furnace's inlet."""
        return self.heat.air

    @property
    def plate_input(self) -> Quantity | None:
        """Plate input, adjusted for altitude where the case says how."""
        return None if self.heat.plate_input is None else qty.from_si(self.heat.plate_input, qty.HEAT_RATE)

    @property
    def minimum_airflow(self) -> Quantity | None:
        """Airflow at the plate's highest rise."""
        return self._airflow_at((0.0, 1.0))

    @property
    def middle_airflow(self) -> Quantity | None:
        """Airflow at the middle of the plate's range of rise."""
        return self._airflow_at((0.5, 0.5))

    def _airflow_at(self, weights: tuple[float, float]) -> Quantity | None:
        furnace, output = self.case.file.furnace, self.heat.output
        if furnace is None or furnace.rise is None or output is None:
            return None
        rise = sum(w * qty.si(r, qty.TEMPERATURE_DIFFERENCE) for w, r in zip(weights, furnace.rise, strict=True))
        return qty.from_si(output / (self.heat.sensible * rise), qty.AIRFLOW)

    @property
    def after(self) -> ReadingSet | None:
        """The last after-repair set."""
        return next((s for s in reversed(self.sets) if s.phase == "after"), None)

    def finding(self, id_: str) -> FindingState | None:
        """The state of one finding, None when not looked for."""
        return next((f for f in self.findings if f.id == id_), None)


def manner(text: str) -> str:
    """The first word of a state: "opened at the filter slot" -> "opened"."""
    return text.split()[0].lower()


def since_repair(sets: Sequence[ReadingSet]) -> tuple[ReadingSet, ...]:
    """The sets that tell of the furnace as it was last found: none from before a repair that it was found after."""
    last = max((s.repairs for s in sets if s.phase == "found"), default=0)
    return tuple(s for s in sets if s.repairs == last)
