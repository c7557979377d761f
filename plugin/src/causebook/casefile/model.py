"""The case file as typed data: what an author may write, and what the core gets.

Keys are words as people write them ("heating value"); each number carries its unit in the text and arrives as a
quantity.  The steps are one list in the order they were done; reading sets, the air-path profile and the order of
belief are derived from them elsewhere, and nothing is written twice.
"""

from __future__ import annotations

import datetime as dt
import functools
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    model_validator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, core_schema

from causebook import quantity as qty
from causebook.casefile import trade_words
from causebook.casefile.possible import bounds, possible
from causebook.casefile.sizes import read_size
from causebook.knowledge.model import slug
from causebook.quantity import Kind, Quantity


def _words(name: str) -> str:
    return name.rstrip("_").replace("_", " ")


class Block(BaseModel):
    """A part of a case file: unknown keys are errors, and nothing changes once read."""

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        arbitrary_types_allowed=True,
        alias_generator=_words,
        populate_by_name=True,
        use_attribute_docstrings=True,
    )


# ---------------------------------------------------------------- what may stand behind a key


@dataclass(frozen=True, slots=True)
class Reads:
    """A text read as a quantity of `kind`: a number with its unit, possible for that kind, or within bounds of its own.

    `within` names them in the knowledge.
    """

    kind: Kind
    within: str = ""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(
            lambda value: (
                value
                if isinstance(value, Quantity)
                else possible(qty.parse(str(value), self.kind), self.kind, bounds(self.within or self.kind.name))
            )
        )

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        return quantity_schema(self.kind)


@dataclass(frozen=True, slots=True)
class ReadsRange:
    """A text such as "35 to 65 degF" read as (low, high) of `kind`, both possible as with `Reads`."""

    kind: Kind
    within: str = ""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(
            lambda value: (
                value
                if isinstance(value, tuple)
                else tuple(
                    possible(end, self.kind, bounds(self.within or self.kind.name))
                    for end in qty.parse_range(str(value), self.kind)
                )
            )
        )

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        return {
            "type": "string",
            "pattern": r"\d.*(to|-|–|/).*\d.*[^\s\d.,]",
            "title": f"range of {self.kind.name}",
            "examples": [qty.range_example(self.kind)],
        }


# Units by dimension, as an editor may check them; the reader knows more spellings, and has the last word.
_UNITS = {
    "K": r"(?:°|deg ?)?[FfCc]|K",
    "Pa": r"in ?H2O|inH₂O|(?:in\.? ?|\" ?)?[Ww]\.?[CcGg]\.?|[Ii][Ww][CcGg]|\"|k?Pa|hPa|mbar|psi[ga]?",
    "W": r"[Bb][Tt][Uu](?:[Hh]|/hr?)?|MBH|kW|W|[Tt]ons?",
    "A": r"[Aa](?:mps?)?|[uµμm]A(?: DC)?",
    "V": r"m?V(?: ?[AaDd][Cc])?|[Vv]olts?(?: ?[AaDd][Cc])?",
    "F": r"[uµμ]F|MFD|mfd",
    "ohm": r"[Oo]hms?|Ω|k ?(?:[Oo]hms?|Ω)?|M ?(?:[Oo]hms?|Ω)|meg(?:ohms?)?",
    "m**3/s": r"[Cc][Ff][Mm]|L/s|m\^3/h|m³/h",
    "rpm": r"[Rr][Pp][Mm]",
    "m": r"ft|in|mm|cm|m",
    "m**3": r"ft\^3|ft³|cu\.? ?ft|L|m\^3|m³",
    "J/m**3": r"[Bb][Tt][Uu]/(?:ft\^3|ft³|cu\.? ?ft)|MJ/(?:m\^3|m³)",
    "W/K": r"[Bb][Tt][Uu](?:[Hh]|/hr?)?/(?:deg)?°?F|W/K",
}
_NUMBER = r"[-+−]?(?:\d+(?:,\d{3})*(?:\.\d+)?|\.\d+)"
_QUANTITY = {si: rf"^\s*{_NUMBER}\s*(?:{units})\s*$" for si, units in _UNITS.items()} | {
    "s": r"^\s*(?:\d+(?:\.\d+)? ?(?:d|h|hr|min|mins|s|sec|secs|minutes?|seconds?|hours?|days?)\s*)+$"
}


def quantity_schema(kind: Kind) -> JsonSchemaValue:
    """How a quantity of `kind` stands in the JSON Schema: a number, and its unit where the kind has one."""
    if not kind.si:
        return {"type": ["string", "number"], "title": kind.name, "examples": [kind.example]}
    return {
        "type": "string",
        "pattern": _QUANTITY[kind.si] if kind.si in _QUANTITY else r"\d.*[^\s\d.,]",
        "title": f"{kind.name} with its unit",
        "examples": [kind.example],
    }


class Many:
    """A list whose only item may stand without a dash."""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_before_validator_function(
            lambda value: value if isinstance(value, (list, tuple)) else (value,), handler(source)
        )

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        several = handler.resolve_ref_schema(handler(schema))
        return {"anyOf": [several["items"], several]}


def _day(value: Any) -> Any:
    """ISO dates only: a bare number is not taken as seconds since 1970."""
    if isinstance(value, dt.date):
        return value
    try:
        return dt.date.fromisoformat(str(value))
    except ValueError:
        raise qty.QuantityError(str(value), "a date, such as 2024-01-24", _date_meant(str(value))) from None


def _date_meant(text: str) -> str:
    """A date as people in the US write it, in the form that is asked for."""
    for form in ("%m/%d/%Y", "%m/%d/%y", "%m-%d-%Y", "%d %b %Y", "%d %B %Y", "%b %d, %Y", "%B %d, %Y", "%b %d %Y"):
        try:
            return f"write {dt.datetime.strptime(text.strip(), form).date()}"
        except ValueError:
            continue
    return "year-month-day"


def _truth(value: Any) -> Any:
    word = str(value).lower() if isinstance(value, (str, bool)) else value
    return _TRUTHS.get(word, word) if isinstance(word, str) else word


_TRUTHS = {"true": "yes", "y": "yes", "x": "yes", "false": "no", "n": "no", "?": "unclear", "not sure": "unclear"}


def _sized(value: Any) -> Any:
    if value:
        read_size(str(value))
    return value


Elevation = Annotated[Quantity, Reads(qty.LENGTH, "elevation")]
Length = Annotated[Quantity, Reads(qty.LENGTH)]
Temperature = Annotated[Quantity, Reads(qty.TEMPERATURE)]
Input = Annotated[Quantity, Reads(qty.HEAT_RATE, "input")]
Output = Annotated[Quantity, Reads(qty.HEAT_RATE, "output")]
AirPressure = Annotated[Quantity, Reads(qty.AIR_PRESSURE, "rating of pressure")]
"""A drop or a rating: above zero, unlike the reading of a gauge."""
GasPressure = Annotated[Quantity, Reads(qty.GAS_PRESSURE, "rating of gas pressure")]
Airflow = Annotated[Quantity, Reads(qty.AIRFLOW, "rating of airflow")]
Share = Annotated[Quantity, Reads(qty.SHARE)]
Duration = Annotated[Quantity, Reads(qty.DURATION)]
RiseRange = Annotated[tuple[Quantity, Quantity], ReadsRange(qty.TEMPERATURE_DIFFERENCE, "rating of rise")]
GasPressureRange = Annotated[tuple[Quantity, Quantity], ReadsRange(qty.GAS_PRESSURE, "rating of gas pressure")]
Day = Annotated[dt.date, BeforeValidator(_day)]
Size = Annotated[str, BeforeValidator(_sized)]
"""A size as written, checked by `sizes.read_size`: "14 x 8 in", "14 in round", "16 x 20 x 1 in"."""
Texts = Annotated[tuple[str, ...], Many()]
Truth = Literal["yes", "no", "unclear"]
Seen = Annotated[Truth, BeforeValidator(_truth)]
Fraction = Annotated[float, Field(ge=0, le=1)]


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
    """What the customer called about, in the words of the list of complaints."""
    words: str
    """The complaint as the customer said it."""
    also: Texts = ()
    """Further families the complaint belongs to."""


class Study(Block):
    level: int = Field(default=1, ge=1, le=3)
    """How hard the case is for an apprentice: 1, 2 or 3."""
    trains: Texts = ()
    """What working the case trains."""


class Site(Block):
    place: str = ""
    """Town or region, as it may be published."""
    house: str = ""
    """The house in a line: size, age, floors, duct system."""
    elevation: Elevation | None = None
    """Height above sea level. Air and gas are computed for it."""
    outdoors: Annotated[Quantity, Reads(qty.TEMPERATURE, "weather")] | None = None
    """Outdoor temperature during the visit."""
    room: Annotated[Quantity, Reads(qty.TEMPERATURE, "room")] | None = None
    """Temperature in the rooms during the visit."""
    relative_humidity: Share | None = None
    """Relative humidity of the rooms."""
    heating_value: Annotated[Quantity, Reads(qty.HEATING_VALUE, "gas heating value")] | None = None
    """Heat in a cubic foot of the gas, from the gas company. Needed to clock the input."""
    meter_dial: Annotated[Quantity, Reads(qty.VOLUME, "dial")] | None = None
    """Gas that one turn of the clocked dial stands for."""
    meter_pressure: Annotated[Quantity, Reads(qty.METER_PRESSURE, "supply pressure at the meter")] | None = None
    """Gas pressure in the meter."""
    heating_value_is: Literal["as metered here", "at standard conditions"] = "as metered here"
    """Whether `heating value` is for gas as this meter counts it, or at standard pressure and temperature."""
    design_outdoors: Annotated[Quantity, Reads(qty.TEMPERATURE, "design weather")] | None = None
    """Outdoor temperature that the heat loss is figured for."""
    design_heat_loss: Output | None = None
    """Heat loss of the house at `design outdoors`."""
    building_ua: Annotated[Quantity, Reads(qty.HEAT_LOSS_RATE, "loss per degree")] | None = None
    """Heat loss of the house for each degree between indoors and outdoors."""
    run_share: Annotated[Quantity, Reads(qty.SHARE, "share of the hour")] | None = None
    """Share of the hour the burner ran at `outdoors`, for the load by run time."""
    heating_fuel: Annotated[Quantity, Reads(qty.ENERGY, "fuel of a season")] | None = None
    """Heating fuel of a season, base load removed."""
    degree_days: Annotated[Quantity, Reads(qty.DEGREE_DAYS, "degree-days of a season")] | None = None
    """Heating degree-days of the season of `heating fuel`."""
    room_volume: Annotated[Quantity, Reads(qty.VOLUME)] | None = None
    """Volume of the space from which combustion air is taken."""


class Limit(Block):
    opens: Temperature
    """Temperature marked on the limit, at which it opens."""
    closes: Temperature | None = None
    """Temperature at which it closes again."""
    replaced: bool = False
    """Is it a replacement of an earlier one?"""


class PressureSwitch(Block):
    closes: Annotated[Quantity, Reads(qty.GAS_PRESSURE)]
    """Suction at which the switch closes, as marked."""
    opens: Annotated[Quantity, Reads(qty.GAS_PRESSURE)] | None = None
    """Suction at which it opens again."""


class Furnace(Block):
    """The rating plate and what the instructions say."""

    kind: Annotated[Literal["non-condensing", "condensing"], BeforeValidator(trade_words.spoken(trade_words.KIND))]
    """Condensing (90 % and up) or not (80 %)."""
    fuel: Annotated[Literal["natural gas", "propane"], BeforeValidator(trade_words.spoken(trade_words.FUEL))] = (
        "natural gas"
    )
    """The gas it burns now."""
    fuel_changed: bool = False
    """Was it converted from another fuel?"""
    made: int | None = Field(default=None, ge=1900, le=2100)
    """Year it was made."""
    stages: int | None = Field(default=None, ge=1, le=2)
    """Heat stages."""
    input: Input
    """Input on the plate, high fire."""
    output: Output | None = None
    """Output on the plate."""
    adjusted_input: Input | None = None
    """Plate input adjusted for altitude by the instructions or the local rule."""
    derate_rule: str = ""
    """How the input is adjusted for altitude, in words."""
    efficiency: Annotated[Quantity, Reads(qty.SHARE, "efficiency")] | None = None
    """Steady-state efficiency, when the plate or a test gives it."""
    rise: RiseRange | None = None
    """Temperature rise allowed by the plate."""
    outlet_maximum: Temperature | None = None
    """Highest supply air temperature allowed by the plate."""
    static_maximum: AirPressure | None = None
    """Highest external static allowed by the plate."""
    counted_as_external: tuple[Literal["return", "filter", "inlet", "coil", "supply"], ...] | None = None
    """Which parts the static rating counts: its boundary."""
    return_minimum: Temperature | None = None
    """Lowest return air temperature allowed by the instructions."""
    manifold: GasPressure | None = None
    """Manifold pressure on the plate."""
    manifold_range: GasPressureRange | None = None
    """Manifold pressure allowed, low to high."""
    inlet_range: GasPressureRange | None = None
    """Inlet gas pressure allowed, low to high."""
    orifice: str = ""
    """Burner orifices, as stamped or listed."""
    limit: Limit | None = None
    """The high limit, as marked."""
    pressure_switch: PressureSwitch | None = None
    """The pressure switch, as marked."""
    flame_current_minimum: Annotated[Quantity, Reads(qty.FLAME_CURRENT)] | None = None
    """Lowest flame signal the control accepts."""
    flame_current_usual: Annotated[Quantity, Reads(qty.FLAME_CURRENT)] | None = None
    """Usual flame signal, from the instructions."""
    blower_on_delay: Duration | None = None
    """Time from flame to blower, as set."""
    blower_off_delay: Duration | None = None
    """Time from flame out to blower off, as set."""
    position: str = ""
    """Upflow, downflow or horizontal."""
    zoned: bool = False
    """Is the supply split by zone dampers?"""


HOLDS_AIRFLOW = "constant airflow"
"""The motor that turns faster against more static, so that its airflow stays."""


class Blower(Block):
    motor: Annotated[
        Literal["split capacitor", "constant torque", "constant airflow"],
        BeforeValidator(trade_words.spoken(trade_words.MOTOR, trade_words.MOTOR_OPEN)),
    ]
    """PSC (`split capacitor`), constant torque or constant airflow ECM."""
    setting: str = ""
    """Speed tap or setting in use for heat."""
    instructed_setting: str = ""
    """Setting that the instructions call for."""
    fan_table: str | Mapping[str, Any] | None = None
    """File in the case folder, or inline: static -> {setting: airflow}."""
    full_load: Annotated[Quantity, Reads(qty.CURRENT)] | None = None
    """Full load amps on the motor plate."""
    capacitor: Annotated[Quantity, Reads(qty.CAPACITANCE)] | None = None
    """Run capacitor, as marked."""
    speed: Annotated[Quantity, Reads(qty.SPEED, "rating of speed")] | None = None
    """Motor speed on its plate."""
    airflow_setting: Airflow | None = None
    """What a constant-airflow motor is told to hold."""


class Filter(Block):
    kind: str
    """Kind of filter: thickness, material, MERV."""
    size: Size = ""
    """Its size, such as "16 x 25 x 1 in"."""
    clean_drop: AirPressure | None = None
    """Pressure drop of a clean one, from its label."""
    at: Airflow | None = None
    """Airflow at which `clean drop` holds."""


class Coil(Block):
    cooling: Annotated[Quantity, Reads(qty.COOLING_CAPACITY, "rating of cooling")] | None = None
    """Cooling capacity."""
    clean_drop: AirPressure | None = None
    """Pressure drop of the clean coil, from its sheet."""
    at: Airflow | None = None
    """Airflow at which `clean drop` holds."""
    none: bool = False
    """Yes where no coil is installed."""


class Opening(Block):
    """A duct or a grille as measured."""

    what: str
    """Name of the section: trunk, drop, boot, grille."""
    size: Size
    """"14 x 8 in", "14 in round", "112 in^2"."""
    length: Length | None = None
    """Its length."""
    of: Literal["metal", "flex", "duct board", "joist bay", "stud bay", "grille", "filter grille"] = "metal"
    """What it is made of."""
    compression: Share | None = None
    """How much a flex run is compressed, as a share of its length."""
    count: int = Field(default=1, ge=1, le=1000)
    """How many of the same run side by side."""
    note: str = ""
    """Anything else seen."""


class Change(Block):
    when: str = ""
    """A year, a month or a day, as far as known."""
    what: str
    """What was changed at the house or the furnace before the trouble."""


class Mark(Block):
    at: tuple[Fraction, Fraction]
    """Fractions of the picture's width and height, from the top left."""
    note: str
    """What the mark points at."""


class Photo(Block):
    file: Path
    """Picture in the case folder."""
    shows: str = Field(min_length=1)
    """What is to be seen, for those who cannot see it."""
    marks: tuple[Mark, ...] = ()
    """Numbered marks on the picture."""
    drawn: bool = False
    """Is it a drawing rather than a photo?"""
    pair: str = ""
    """Name shared by the two pictures of a before-and-after pair."""


class Log(Block):
    file: Path
    """Table in the case folder."""
    shows: Mapping[str, str] = {}
    """Reading id -> column of the file."""


class Step(Block):
    """One thing done, in its place in time."""

    do: str
    """What was done, in a line."""
    why: str = ""
    """Why it was done now."""
    expect: str = ""
    """What was predicted before it was done."""
    minutes: float | None = Field(default=None, ge=0, le=10_000, allow_inf_nan=False)
    """A bare number: the key is its unit."""
    with_: Mapping[str, str] = Field(default={}, alias="with")
    """State of the air path for this step only: part -> removed, opened, clean, closed, or a value."""
    after: Literal["", "repair", "follow-up"] = ""
    """Whether the readings were taken after the repair or at a follow-up. Without it they are as found."""
    mode: Literal["heating", "low fire", "cooling", "fan only", ""] = ""
    """What the system was running in."""
    state: Literal["steady", "at trip", "minute of run", ""] = ""
    """Whether readings were taken at steady state, when the limit opened, or by minutes of run."""
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
    photo: Annotated[tuple[Photo, ...], Many()] = ()
    """Pictures taken in this step."""
    log: Log | None = None
    """Temperatures logged in this step."""
    told: str = ""
    """What came of it, in words, beyond the readings."""


def tested(reason: str) -> bool:
    """Whether the reason of a root says more than that it was not tested."""
    return "not tested" not in reason.lower()


class Conclusion(Block):
    """The technician's own answer.  The core never reads it to reach its own."""

    root: Mapping[str, str] = {}
    """Cause id -> reason."""
    underlying: Mapping[str, str] = {}
    """What let the cause come about: cause and reason."""
    helped_by: Mapping[str, str] = {}
    """Causes that contributed: cause and reason."""
    damage_done: Mapping[str, str] | tuple[str, ...] = {}
    """What the fault has damaged."""
    also_found: Texts = ()
    """Faults found besides, with no part in the complaint."""
    not_it: Mapping[str, str] = {}
    """Suspects cleared: cause and what cleared it."""
    would_settle: str = ""
    """Undetermined: what would settle it."""
    stop: str = ""
    """What was put out of service, and who was told."""
    stop_closed: Mapping[str, str] | str = ""
    """How an open stop was ended: stop id -> how, or in words alone where no more than one notice is open."""

    @property
    def endings(self) -> tuple[str, ...]:
        """How stops were ended, each way once."""
        said = self.stop_closed
        return tuple(dict.fromkeys(filter(None, (said,) if isinstance(said, str) else said.values())))

    def then(self, later: Conclusion) -> Conclusion:
        """The answer once a later visit has concluded too: what it leaves unsaid still stands.

        What it says of a cause replaces all that was said of that cause; a root not named before begins the chain anew.
        """
        said = {name: value for name in Conclusion.model_fields if (value := getattr(later, name))}
        named = {cause for role in _ROLES for cause in getattr(later, role)}
        kept: dict[str, Any] = {
            role: {cause: why for cause, why in group.items() if cause not in named}
            for role in _ROLES
            if isinstance(group := getattr(self, role), Mapping)
        }
        both = {
            "not_it": {**kept["not_it"], **later.not_it},
            "also_found": tuple(dict.fromkeys((*self.also_found, *later.also_found))),
        }
        if later.root:
            kept["would_settle"] = ""
            if not later.root.keys() & self.root.keys():
                kept |= {"underlying": {}, "helped_by": {}, "damage_done": {}}
        return self.model_copy(update=kept | said | both)


_ROLES = ("root", "underlying", "helped_by", "damage_done", "not_it")


class CaseOption(Block):
    name: str
    """The option, in a line."""
    change: Mapping[str, Any] = {}
    """Part -> what it becomes; free forms are in the case-file guide."""
    chosen: bool = False
    """Is it the one that was done?"""
    why_not: str = ""
    """Why it was not chosen."""


MOST_STEPS = 100
"""Steps of a visit, and of a case; a long one has 20.  Each is worked up anew, so that belief can be shown after it."""


class Visit(Block):
    date: Day
    """Day of the visit, year-month-day."""
    kind: Literal["first", "callback", "repair", "follow-up", ""] = ""
    """What the visit was for."""
    steps: tuple[Step, ...] = Field(min_length=1, max_length=MOST_STEPS)
    """What was done, in the order it was done."""
    concluded: Conclusion | None = None
    """The technician's own answer at the end of the visit."""
    options: tuple[CaseOption, ...] = Field(default=(), max_length=30)
    """Fixes considered."""
    open: Texts = ()
    """What is still to be done or watched."""


class FollowUp(Block):
    after: Annotated[Quantity, Reads(qty.LONG_DURATION)]
    """Time since the repair."""
    found: str
    """What was found or heard then."""


class Question(Block):
    ask: str
    """The question."""
    answer: str
    """Its answer."""


class Teach(Block):
    questions: tuple[Question, ...] = ()
    """Questions for an apprentice, with answers."""
    mistakes: Texts = ()
    """Mistakes easily made on this call."""


class Job(Block):
    """What the company keeps of the job; all of it may be left out.

    `serial` and `number` stay private unless `publish` names them: otherwise they are dropped while reading.
    """

    make: str = ""
    """Manufacturer of the furnace."""
    model: str = ""
    """Model number on the plate."""
    serial: str = ""
    """Serial number. Private unless `publish` names it."""
    number: str = ""
    """The company's own job number."""
    technician: str = ""
    """Who made the call."""
    code: Texts = ()
    """Codes as the control gave them, letter for letter."""
    parts: Texts = ()
    """Parts used."""
    time_on_site: Annotated[Quantity, Reads(qty.LONG_DURATION)] | None = None
    """Time on site, all visits together."""
    follow_up_due: Day | None = None
    """The day by which somebody asks or looks again."""
    publish: Annotated[tuple[Literal["serial", "number"], ...], Many()] = ()
    """Which of the private ones may be published."""

    @model_validator(mode="before")
    @classmethod
    def _keep_private(cls, data: Any) -> Any:
        if not isinstance(data, Mapping):
            return data
        said = data.get("publish", ())
        public = {said} if isinstance(said, str) else set(said or ())
        return {key: value for key, value in data.items() if key not in ("serial", "number") or key in public}


class CaseFile(Block):
    """One case file, whole.  `private` is dropped by the reader and never reaches this object."""

    title: str
    """Symptom, then cause or equipment, in at most 60 characters."""
    complaint: Complaint
    """What the customer called about."""
    outcome: Outcome | None = None
    """How the case ended. Without it the build works it out."""
    study: Study = Study()
    """Use of the case for study."""
    company: str = ""
    """Who wrote the case."""
    job: Job = Job()
    """What the company keeps of the job."""
    site: Site = Site()
    """The house, the weather and the gas."""
    furnace: Furnace | None = None
    """The furnace's plate and instructions."""
    blower: Blower | None = None
    """The blower and its motor."""
    filter: Filter | None = None
    """The filter."""
    coil: Coil | None = None
    """The evaporator coil."""
    return_: Annotated[tuple[Opening, ...], Many()] = Field(default=(), alias="return")
    """Return ducts and grilles as measured."""
    supply: Annotated[tuple[Opening, ...], Many()] = ()
    """Supply ducts and registers as measured."""
    changed_lately: tuple[Change, ...] = ()
    """What was changed before the trouble began."""
    visits: tuple[Visit, ...] = Field(min_length=1, max_length=50)
    """The visits, first to last."""
    follow_up: tuple[FollowUp, ...] = Field(default=(), max_length=50)
    """What was heard or read later."""
    teach: Teach = Teach()
    """Questions and mistakes for an apprentice."""
    customer: str = ""
    """Text for the customer's page, in plain words."""
    answered: Mapping[str, str] = {}
    """Rule of the review -> the author's reason why it does not hold here."""


# ---------------------------------------------------------------- what the core works on


class Taken(Block):
    """One reading as it was taken: which, how much, in which step and state, and whether it counts."""

    reading: str
    value: Quantity
    step: int
    sd: Quantity | None = None
    """Standard uncertainty, when the author states the instrument's accuracy: its limits divided by √3
    (rectangular, JCGM 100:2008, 4.3.7; from memory).  For temperatures a difference."""
    void: str = ""
    line: int = 0


class TemperatureLog(Block):
    """A temperature log: time since burner on [s] and temperatures [degF] by reading id, equal lengths."""

    file: Path
    seconds: tuple[float, ...]
    columns: Mapping[str, tuple[float, ...]]
    """Reading id -> degF; events may stand in columns named `burner`, `blower`, `limit` as 0 or 1
    (1: burner lit, blower running, limit open)."""


class CaseStep(Block):
    """A step ready for the core: numbered over all visits, its readings resolved, its log read."""

    number: int
    """From 1, over all visits."""
    visit: int
    """From 1."""
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
    airflow: Mapping[str, tuple[float | None, ...]]
    """Setting -> [cfm] at each static; None where the table prints nothing."""

    def curve(self, setting: str) -> tuple[tuple[float, ...], tuple[float, ...]] | None:
        """(static [in. w.c.], airflow [cfm]) of the points printed for a setting; None for an unknown setting."""
        column = next((c for name, c in self.airflow.items() if slug(name) == slug(setting)), None)
        if column is None:
            return None
        printed = [(static, cfm) for static, cfm in zip(self.static, column, strict=True) if cfm is not None]
        return tuple(static for static, _ in printed), tuple(cfm for _, cfm in printed)


class Case(Block):
    """A case file read, checked and resolved: what `work_up` takes."""

    id: str
    folder: Path
    file: CaseFile
    steps: tuple[CaseStep, ...]
    fan_table: FanTable | None = None
    path: Path = Path()
    """The case file, as messages name it."""
    marks: Mapping[str, int] = {}
    """Dotted path in the file, counting from 1, with ids resolved ("visits.1.steps.4.read.supply-air") -> line."""
    digest: str = ""
    """Digest of everything that may change the page (private data and places in the file left out)."""

    def line(self, place: str) -> int:
        """The line of a dotted path, or of the nearest part above it; 0 if there is none."""
        while place and place not in self.marks:
            place = place.rpartition(".")[0]
        return self.marks.get(place, 0)

    def upto(self, step: int) -> Case:
        """The case as it stood right after a step: nothing later is in it, neither read nor concluded nor offered."""
        kept = tuple(s for s in self.steps if s.number <= step)
        if not kept or len(kept) == len(self.steps):
            return self
        here = kept[-1].visit
        taken = sum(s.visit == here for s in kept)
        visit = self.file.visits[here - 1]
        visit = visit.model_copy(update={"steps": visit.steps[:taken], "concluded": None, "options": (), "open": ()})
        file = self.file.model_copy(
            update={"visits": (*self.file.visits[: here - 1], visit), "outcome": None, "follow_up": (), "customer": ""}
        )
        return self.model_copy(update={"steps": kept, "file": file})

    @property
    def conclusion(self) -> Conclusion | None:
        """What was concluded over all visits, in their order."""
        own = [v.concluded for v in self.file.visits if v.concluded]
        return functools.reduce(Conclusion.then, own) if own else None

    @property
    def place_of_root(self) -> str:
        """Dotted path of the last root that was concluded."""
        numbers = [n for n, v in enumerate(self.file.visits, 1) if v.concluded and v.concluded.root]
        return f"visits.{numbers[-1]}.concluded.root" if numbers else ""

    @property
    def photos(self) -> tuple[tuple[CaseStep, Photo], ...]:
        """Every photo with the step that shows it, in order."""
        return tuple((s, p) for s in self.steps for p in photos_of(s.step))


def photos_of(step: Step) -> tuple[Photo, ...]:
    """The photos of one step."""
    return step.photo
