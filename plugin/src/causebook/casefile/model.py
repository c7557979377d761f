"""The case file as typed data: what an author may write, and what the core gets.

Keys are words as people write them ("heating value"); each number carries its unit in the text and arrives as a
quantity.  The steps are one list in the order they were done; reading sets, the air-path profile and the order of
belief are derived from them elsewhere, and nothing is written twice.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema

from causebook import quantity as qty
from causebook.quantity import Kind, Quantity


def _words(name: str) -> str:
    return name.rstrip("_").replace("_", " ")


class Block(BaseModel):
    """A part of a case file: unknown keys are errors, and nothing changes once read."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True, alias_generator=_words,
                              populate_by_name=True, use_enum_values=False)


def _quantity(kind: Kind) -> Any:
    return Annotated[
        Quantity,
        BeforeValidator(lambda text: text if isinstance(text, Quantity) else qty.parse(str(text), kind)),
        WithJsonSchema({"type": "string", "description": f"{kind.name} with its unit", "examples": [kind.example]}),
    ]


def _range(kind: Kind) -> Any:
    return Annotated[
        tuple[Quantity, Quantity],
        BeforeValidator(lambda text: text if isinstance(text, tuple) else qty.parse_range(str(text), kind)),
        WithJsonSchema({"type": "string", "description": f"range of {kind.name}",
                        "examples": [f"35 to 65 {kind.us}"]}),
    ]


Elevation = _quantity(qty.LENGTH)
Length = _quantity(qty.LENGTH)
SmallLength = _quantity(qty.SMALL_LENGTH)
Temperature = _quantity(qty.TEMPERATURE)
HeatRate = _quantity(qty.HEAT_RATE)
AirPressure = _quantity(qty.AIR_PRESSURE)
GasPressure = _quantity(qty.GAS_PRESSURE)
Airflow = _quantity(qty.AIRFLOW)
Share = _quantity(qty.SHARE)
RiseRange = _range(qty.TEMPERATURE_DIFFERENCE)
GasPressureRange = _range(qty.GAS_PRESSURE)
Truth = Literal["yes", "no", "unclear"]


def _truth(value: Any) -> Any:
    return {True: "yes", False: "no"}.get(value, value) if isinstance(value, bool) else value


Seen = Annotated[Truth, BeforeValidator(_truth)]


class Outcome(StrEnum):
    """How a case ended, in the words of the page."""

    CORRECTED = "settled and corrected"
    NOT_CORRECTED = "settled, not corrected"
    LIKELY = "likely"
    UNDETERMINED = "undetermined"
    FIRST_WRONG = "first answer wrong, corrected"
    STOPPED = "stopped for safety"


class Complaint(Block):
    family: str
    words: str
    also: tuple[str, ...] = ()
    """Further families the complaint belongs to."""


class Study(Block):
    level: int = Field(1, ge=1, le=3)
    trains: tuple[str, ...] = ()


class Site(Block):
    place: str = ""
    house: str = ""
    elevation: Elevation = None
    outdoors: Temperature = None
    room: Temperature = None
    relative_humidity: Share = None
    heating_value: _quantity(qty.HEATING_VALUE) = None
    meter_dial: _quantity(qty.VOLUME) = None
    meter_pressure: _quantity(qty.METER_PRESSURE) = None
    heating_value_is: Literal["as metered here", "at standard conditions"] = "as metered here"
    design_outdoors: Temperature = None
    design_heat_loss: HeatRate = None
    building_ua: _quantity(qty.HEAT_LOSS_RATE) = None
    run_share: Share = None
    """Share of the hour the burner ran at `outdoors`, for the load by run time."""
    heating_fuel: _quantity(qty.ENERGY) = None
    """Heating fuel of a season, base load removed."""
    degree_days: _quantity(qty.DEGREE_DAYS) = None
    room_volume: _quantity(qty.VOLUME) = None
    """Volume of the space from which combustion air is taken."""


class Limit(Block):
    opens: Temperature
    closes: Temperature = None
    replaced: bool = False


class PressureSwitch(Block):
    closes: _quantity(qty.GAS_PRESSURE)
    opens: _quantity(qty.GAS_PRESSURE) = None


class Furnace(Block):
    """The rating plate and what the instructions say."""

    kind: Literal["non-condensing", "condensing"]
    fuel: Literal["natural gas", "propane"] = "natural gas"
    made: int | None = None
    stages: int = Field(1, ge=1, le=2)
    input: HeatRate
    output: HeatRate = None
    adjusted_input: HeatRate = None
    """Plate input adjusted for altitude by the instructions or the local rule."""
    derate_rule: str = ""
    efficiency: Share = None
    """Steady-state efficiency, when the plate or a test gives it."""
    rise: RiseRange = None
    outlet_maximum: Temperature = None
    static_maximum: AirPressure = None
    counted_as_external: tuple[Literal["return", "filter", "inlet", "coil", "supply"], ...] | None = None
    """Which parts the static rating counts: its boundary."""
    return_minimum: Temperature = None
    manifold: GasPressure = None
    manifold_range: GasPressureRange = None
    inlet_range: GasPressureRange = None
    orifice: str = ""
    limit: Limit | None = None
    pressure_switch: PressureSwitch | None = None
    flame_current_minimum: _quantity(qty.FLAME_CURRENT) = None
    flame_current_usual: _quantity(qty.FLAME_CURRENT) = None
    blower_on_delay: _quantity(qty.DURATION) = None
    blower_off_delay: _quantity(qty.DURATION) = None
    position: str = ""
    zoned: bool = False


class Blower(Block):
    motor: Literal["split capacitor", "constant torque", "constant airflow"]
    setting: str = ""
    instructed_setting: str = ""
    fan_table: str | Mapping[str, Any] | None = None
    """File in the case folder, or inline: static -> {setting: airflow}."""
    full_load: _quantity(qty.CURRENT) = None
    capacitor: _quantity(qty.CAPACITANCE) = None
    speed: _quantity(qty.SPEED) = None
    airflow_setting: Airflow = None
    """What a constant-airflow motor is told to hold."""


class Filter(Block):
    kind: str
    size: str = ""
    clean_drop: AirPressure = None
    at: Airflow = None
    """Airflow at which `clean drop` holds."""


class Coil(Block):
    cooling: _quantity(qty.COOLING_CAPACITY) = None
    clean_drop: AirPressure = None
    at: Airflow = None
    none: bool = False


class Opening(Block):
    """A duct or a grille as measured."""

    what: str
    size: str
    """"14 x 8 in", "14 in round", "18 x 24 in"."""
    length: Length = None
    of: Literal["metal", "flex", "duct board", "joist bay", "stud bay", "grille", "filter grille"] = "metal"
    compression: Share = None
    count: int = Field(1, ge=1)
    note: str = ""


class Change(Block):
    when: str | int | dt.date = ""
    what: str


class Mark(Block):
    at: tuple[float, float]
    """Fractions of the picture's width and height, from the top left."""
    note: str


class Photo(Block):
    file: Path
    shows: str = Field(min_length=1)
    """What is to be seen, for those who cannot see it."""
    marks: tuple[Mark, ...] = ()
    drawn: bool = False
    pair: str = ""
    """Name shared by the two pictures of a before-and-after pair."""


class Log(Block):
    file: Path
    shows: Mapping[str, str] = {}
    """Reading id -> column of the file."""


class Step(Block):
    """One thing done, in its place in time."""

    do: str
    why: str = ""
    expect: str = ""
    """What was predicted before it was done."""
    minutes: float | None = Field(None, ge=0)
    with_: Mapping[str, str] = Field({}, alias="with")
    """State of the air path for this step only: part -> removed, opened, clean, closed, or a value."""
    after: Literal["", "repair", "follow-up"] = ""
    mode: Literal["heating", "low fire", "cooling", "fan only", ""] = ""
    state: Literal["steady", "at trip", "minute of run", ""] = ""
    read: Mapping[str, Any] = {}
    """Reading id -> quantity in text (or {value, accuracy, void}); the reader turns it into `Taken`."""
    seen: Mapping[str, Seen] = {}
    """Finding id -> yes, no, unclear.  What is not named was not looked for."""
    void: str | Mapping[str, str] = ""
    """Reason why the step's readings (or the named ones) do not count."""
    flaw: str = ""
    """What was wrong with this step, seen afterwards."""
    changed: Mapping[str, str] = {}
    """Lasting changes made in this step: part -> what it is now."""
    photo: Photo | tuple[Photo, ...] | None = None
    log: Log | None = None
    told: str = ""
    """What came of it, in words, beyond the readings."""


class Conclusion(Block):
    """The technician's own answer.  The core never reads it to reach its own."""

    root: Mapping[str, str] = {}
    """Cause id -> reason."""
    underlying: Mapping[str, str] = {}
    helped_by: Mapping[str, str] = {}
    damage_done: Mapping[str, str] | tuple[str, ...] = {}
    also_found: tuple[str, ...] = ()
    not_it: Mapping[str, str] = {}
    would_settle: str = ""
    """Undetermined: what would settle it."""
    stop: str = ""
    """What was put out of service, and who was told."""
    stop_closed: str = ""
    """How an open stop was ended."""


class CaseOption(Block):
    name: str
    change: Mapping[str, Any] = {}
    """Part -> what it becomes; free forms are in the case-file guide."""
    chosen: bool = False
    why_not: str = ""


class Visit(Block):
    date: dt.date
    kind: Literal["first", "callback", "repair", "follow-up", ""] = ""
    steps: tuple[Step, ...] = Field(min_length=1)
    concluded: Conclusion | None = None
    options: tuple[CaseOption, ...] = ()
    open: tuple[str, ...] = ()


class FollowUp(Block):
    after: _quantity(qty.LONG_DURATION)
    found: str


class Question(Block):
    ask: str
    answer: str


class Teach(Block):
    questions: tuple[Question, ...] = ()
    mistakes: tuple[str, ...] = ()


class CaseFile(Block):
    """One case file, whole.  `private` is dropped by the reader and never reaches this object."""

    title: str
    complaint: Complaint
    outcome: Outcome | None = None
    study: Study = Study()
    company: str = ""
    site: Site = Site()
    furnace: Furnace | None = None
    blower: Blower | None = None
    filter: Filter | None = None
    coil: Coil | None = None
    return_: tuple[Opening, ...] = Field((), alias="return")
    supply: tuple[Opening, ...] = ()
    changed_lately: tuple[Change, ...] = ()
    visits: tuple[Visit, ...] = Field(min_length=1)
    follow_up: tuple[FollowUp, ...] = ()
    teach: Teach = Teach()
    customer: str = ""
    answered: Mapping[str, str] = {}
    """Rule of the review -> the author's reason why it does not hold here."""


# ---------------------------------------------------------------- what the core works on

class Taken(Block):
    """One reading as it was taken: which, how much, in which step and state, and whether it counts."""

    reading: str
    value: Any
    """A quantity."""
    step: int
    sd: Any = None
    """Standard uncertainty, a quantity, when the author states the instrument's."""
    void: str = ""
    line: int = 0


class TemperatureLog(Block):
    """A temperature log: time since burner on [s] and temperatures [degF] by reading id, equal lengths."""

    file: Path
    seconds: tuple[float, ...]
    columns: Mapping[str, tuple[float, ...]]
    """Reading id -> degF; events may stand in columns named `burner`, `blower`, `limit` as 0 or 1."""


class CaseStep(Block):
    """A step ready for the core: numbered over all visits, its readings resolved, its log read."""

    number: int
    visit: int
    date: dt.date
    step: Step
    readings: tuple[Taken, ...] = ()
    seen: Mapping[str, Seen] = {}
    """Finding id (resolved) -> yes, no, unclear."""
    log: TemperatureLog | None = None
    line: int = 0


class FanTable(Block):
    """Airflow by static pressure and setting, as the instructions print it."""

    static: tuple[float, ...]
    """[in. w.c.], rising."""
    airflow: Mapping[str, tuple[float, ...]]
    """Setting -> [cfm] at each static."""


class Case(Block):
    """A case file read, checked and resolved: what `work_up` takes."""

    id: str
    folder: Path
    file: CaseFile
    steps: tuple[CaseStep, ...]
    fan_table: FanTable | None = None
    marks: Mapping[str, int] = {}
    """Dotted path in the file -> line, for messages about the reasoning."""
    digest: str = ""
    """Digest of everything that may change the page (private data left out)."""

    @property
    def conclusion(self) -> Conclusion | None:
        """The last visit's conclusion."""
        return next((v.concluded for v in reversed(self.file.visits) if v.concluded), None)

    @property
    def photos(self) -> tuple[tuple[CaseStep, Photo], ...]:
        """Every photo with the step that shows it, in order."""
        return tuple((s, p) for s in self.steps for p in photos_of(s.step))


def photos_of(step: Step) -> tuple[Photo, ...]:
    """The photos of one step."""
    return () if step.photo is None else step.photo if isinstance(step.photo, tuple) else (step.photo,)
