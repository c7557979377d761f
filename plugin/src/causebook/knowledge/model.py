"""The shape of the knowledge: what each data file may say, checked when it is loaded.

Ids are words joined by hyphens (`filter-loaded`).  Authors may write spaces or underscores instead, and every
entry may list `aliases`; `slug` makes one form of all of them.
"""

from __future__ import annotations

from collections.abc import Container, Mapping
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, ValidationInfo, WithJsonSchema, field_validator
from pydantic_core import PydanticCustomError

from causebook.knowledge.entry import Entry, Named
from causebook.knowledge.rules import Rule, Sum, Value, as_rules


def slug(text: str) -> str:
    """One form of an id: "Tap before filter", "tap_before_filter" -> "tap-before-filter"."""
    return "-".join(text.strip().lower().replace("_", " ").replace("-", " ").split())


Probability = Annotated[float, Field(ge=0, le=1)]
Uncertain = Annotated[float, Field(ge=0, lt=1)]
"""A chance that evidence can still move: what is certain from the start leaves nothing to find out."""
Spread = Annotated[float, Field(ge=0)]
Side = Literal[
    "return", "blower", "supply", "gas", "combustion", "venting", "electrical", "equipment", "cooling", "house", "other"
]
Risk = Literal["none", "low", "moderate", "high"]
Runs = Literal["burner", "blower", "power", "hands"]
"""What a test takes: the burner lit, the blower running, the power on, or hands in or on the furnace."""
Safer = Literal["", "lower", "higher"]
"""Which way a number may be moved by a company where a stop hangs on it; empty: not at all."""
Shown = Literal[
    "",
    "rise",
    "airflow",
    "static",
    "return",
    "filter",
    "inlet",
    "coil",
    "supply",
    "speed",
    "motor",
    "capacitor",
    "delay",
    "input",
    "limit",
    "return-section",
    "supply-section",
    "recirculation",
    "filter-out",
    "return-opened",
    "supply-opened",
]
"""What a reading shows of the heat-and-air model: rise; airflow; external static; drop of a part; speed of the blower
against its table; speed of its motor; input; narrowest section of the ducts of one side; temperature at which the limit
opens; return above the rooms; the rise of a test with parts away."""


class Basis(Entry):
    """Where a number comes from, and what it was: a plate, a standard with its section, practice, memory, estimate.

    In the data it is one text, "kind" or "kind: source"; the source of a standard begins with an id of `sources`.
    """

    kind: Literal[
        "plate", "standard", "common practice, no source", "from memory", "expert estimate", "first principles"
    ]
    source: str = ""


Meant = Annotated[
    tuple[str, ...],
    BeforeValidator(lambda ids: ids if isinstance(ids, list) else (ids,)),
    WithJsonSchema({"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}),
]
"""Ids that a phrase means: a list, or one alone."""


class Family(Named):
    """A complaint family: what the customer sees."""

    complaint: str
    """The complaint in a sentence."""
    air_path: bool = False
    """Whether the air-path and heat model speaks for this family's airside causes."""
    starts: Probability = 0.0
    """Share of the family among all calls for a furnace that does not start, does not stay lit, or burns foul; 0: the
    model of a start does not speak for it."""
    by_heat: bool = False
    """Whether the complaint is an event that this model foresees: the limit opens, the cooling coil starves."""


class Accuracy(Entry):
    """Instrument accuracy as a standard uncertainty: share of reading, plus a fixed part with its unit.

    A fixed part of a temperature is a difference.  In the data a reading may name an entry of `instruments` instead.
    """

    relative: Spread = 0.0
    """Share of the reading."""
    fixed: str = ""
    """A fixed part, with its unit."""
    instrument: str = ""
    """What it is read with."""
    basis: Basis
    """Where the numbers come from."""


class Reading(Named):
    """Something a meter shows.  `kind` names a `causebook.quantity` kind."""

    kind: str
    """Kind of quantity: its units and its bounds."""
    where: str = ""
    """Where and how it is taken, in a sentence."""
    tap: int | None = None
    """Position along the air path, in the direction of flow (0 room ... 8 behind register)."""
    suction: bool = False
    """Lies below the room whenever the blower runs, so that a minus left out can be put back."""
    size_only: bool = False
    """Its sign depends on how the hoses were put, and says nothing."""
    typed: tuple[Sum, ...] = ()
    """What else gives it to somebody who types numbers."""
    ask_in: str = ""
    """Group of the search form in which it is asked for; else it stands among the others that a rule speaks of."""
    accuracy: Accuracy
    """How exact the usual instrument is."""
    needs_steady: bool = False
    """Not to be used when the limit was cycling."""
    voided_by: tuple[str, ...] = ()
    """Ids of the voiding rules (`Void`) that may strike it; derived from their `strikes`."""
    shows: tuple[str, ...] = ()
    """Ids of the findings that a rule draws from it, alone or together with others."""
    example: str = ""
    """How one is written, where the usual example of its kind would mislead."""
    open_circuit: str = ""
    """Id of the finding that "OL" on the meter means."""
    also: tuple[str, ...] = ()
    """What else it may be called by authors (besides aliases): shown in completion."""


Mode = Literal["heating", "cooling", "fan only"]
"""What the furnace does; low fire is heating."""


class Bound(Entry):
    """What a kind of quantity, or a key of the case file, may be; a value outside is refused.

    The bound of a whole kind bears its name.  `possible` is written as an author reads it: "0 cfm to 10000 cfm".
    """

    kind: str
    """Kind of quantity."""
    possible: str
    """From least to most, with the unit."""
    why: str = ""
    """Why, in words."""
    basis: Basis
    """Where the numbers come from."""


class Range(Entry):
    """Bounds of one reading, by mode of the furnace (`any`: in every other): what can be, and what is not doubted."""

    possible: Mapping[Mode | Literal["any"], str] = {}
    """What can be: mode and range. Anything else is refused."""
    plausible: Mapping[Mode | Literal["any"], str] = {}
    """What is not doubted: mode and range."""
    why: str = ""
    """Why, in words."""
    basis: Basis
    """Where the numbers come from."""


class Difference(Named):
    """What is not doubted of one reading less another of the same step, in the modes it holds for (none: any)."""

    reading: str
    """The reading."""
    less: str
    """The reading that is taken from it."""
    modes: tuple[Mode, ...] = ()
    """Modes it holds for; none: any."""
    plausible: str
    """What is not doubted."""
    low: str = ""
    """What it probably is when the difference is too small."""
    high: str = ""
    """What it probably is when the difference is too large."""
    why: str = ""
    """Why, in words."""
    basis: Basis
    """Where the numbers come from."""


class PartStates(Named):
    """A part that a step may name under `with`, and the words for its states; each word with its synonyms."""

    words: Mapping[str, tuple[str, ...]]
    """Each word for a state, with its synonyms."""
    as_found: tuple[str, ...] = ()
    """Words that leave the furnace as it was found; where all of them do, so does any value."""
    of_reading: bool = False
    """Tells how something was read: none of its words changes the furnace."""

    def leaves_as_found(self, state: str) -> bool:
        """Is the furnace as it was found while the part is so?"""
        all_do = self.of_reading or set(self.words) <= set(self.as_found)
        return all_do or any(_starts(state, word) for word in self.as_found)


def _starts(text: str, word: str) -> bool:
    return text == word or text.startswith(f"{word} ")


class Void(Named):
    """A rule that strikes readings: which state or observation makes them worthless, and why."""

    when: str
    """When the rule strikes, in words."""
    why: str
    """Why, in words."""
    strikes: tuple[str, ...]
    """Ids of readings, and of findings that are seen rather than computed."""
    findings: tuple[str, ...] = ()
    """Findings whose presence fires the rule."""
    states: Mapping[str, str] = {}
    """States of a step (`with: {panel: removed}`) that fire it, by part."""

    def fires(self, done: Mapping[str, str], seen: Mapping[str, str]) -> bool:
        """Does it strike what was read in a step done in these states, in which this was seen?"""
        states = {slug(part): state for part, state in done.items()}
        return any(_starts(states.get(part, ""), word) for part, word in self.states.items()) or any(
            seen.get(finding) == "yes" for finding in self.findings
        )


class Finding(Named):
    """What a reading or observation means.

    `present` and `absent` are the two sentences it is told in (`sentences.said`): `{value}` and `{limit}` stand for
    what was read and the bound it is held against, and a part in square brackets is left out where they are not known.
    `how` says how it is looked for.  What follows from readings says `when`; where data cannot say it, `computed` names
    the survey's own rule.  What has neither is seen or told.  Findings of one `group` are views of one fact and count
    once.
    `physical` names the unknown of the heat-and-air model that shows in it: that model weighs its readings, so that
    noisy-OR leaves them to it, and foresees them.
    `stands`: what is looked at stays as it is while nobody mends it, so that a second look on the same visit is a
    second view of it, and is worth taking where much hangs on the first.
    `stills`: while it is there no air moves.
    """

    present: str = ""
    """The sentence where it is so."""
    absent: str = ""
    """The sentence where it is not so."""
    how: str = ""
    """How it is looked for."""
    minutes: float = Field(default=1, ge=0)
    """Minutes it takes."""
    risk: Risk = "none"
    """Risk to whoever does it."""
    group: str = ""
    """Findings of one group are views of one fact and count once."""
    leak: Uncertain
    """Chance that it is there with none of the causes that are named."""
    when: Annotated[tuple[Rule, ...], BeforeValidator(as_rules, json_schema_input_type=Rule | tuple[Rule, ...])] = ()
    """The readings it follows from, as rules: of several the first that can speak counts."""
    strongest: bool = False
    """Of several rules the one that speaks loudest counts instead."""
    computed: str = ""
    """The survey's own rule, where data cannot say it."""
    physical: Shown = ""
    """The unknown of heat and air that shows in it."""
    limit: float | None = None
    """The limit of a finding that is `computed`, in the unit of `limit_unit`."""
    limit_unit: str = ""
    """Unit of `limit`."""
    safer: Safer = ""
    """Which way the limit may be moved where a stop hangs on the finding."""
    stop: str = ""
    """Id of the stop this finding fires when present."""
    stands: bool = False
    """Does it stay as it is while nobody mends it, so that a second look tells more?"""
    stills: bool = False
    """Does no air move while it is there?"""
    basis: Basis
    """Of the limit."""
    leak_basis: Basis | None = None
    """Of leak, minutes and risk."""


class Unknown(Named):
    """A number of the machine that its models infer: the logarithm of a factor, or a shift.

    A factor may be on the drop of a part of the air path, on the speed of the motor, on what its wheel moves at a
    speed, on the manifold pressure, on a capacitor's marking.
    """

    spread: Spread
    """Standard deviation of a sound one: of its logarithm, or of a shift [degF]."""
    shift: bool = False
    """Is it a shift of temperature and no factor?"""
    of: str = ""
    """The unknown that it is a piece of, where the model sees only their sum."""
    does: str = "Too little air"
    """What a fault of it does, in the words of the cause chain."""
    parts: tuple[str, ...] = ()
    """What an author calls it under `changed:`."""
    basis: Basis
    """Where the numbers come from."""


class Effect(Entry):
    """What a cause may do to one unknown: any factor from `least` (worth finding) to `most` (gross), any size alike.

    Where the unknown is a shift both are in degF.  Beyond the bounds a thin tail is left.
    """

    on: str
    """The unknown that is moved."""
    least: float
    """Smallest size worth finding."""
    most: float
    """Gross size."""
    labelled: bool = False
    """Does the part's own label or table already hold it (a fine filter's label promises its own drop)?"""
    narrows: bool = False
    """Does it show in the part's narrowest section, of which the drop goes with the square?"""
    basis: Basis
    """Where the numbers come from."""

    @field_validator("least", "most")
    @classmethod
    def _possible(cls, size: float, info: ValidationInfo) -> float:
        on = info.data.get("on")
        if on == "recirculation" and not 0 < size < 1:
            raise PydanticCustomError("share", "a share of the supply air, above 0 and below 1")
        if on != "limit" and size <= 0:
            raise PydanticCustomError("factor", "a factor above 0")
        return size


class Cause(Named):
    """Something that may be wrong."""

    part: str
    """The part that is at fault."""
    side: Side
    """Side of the furnace it belongs to."""
    mechanism: str
    """How it brings the complaint about."""
    priors: Mapping[str, Uncertain] = {}
    """Family id -> share of that family's calls in which it is materially present."""
    effects: tuple[Effect, ...] = ()
    """What it does to the unknowns of heat and air."""
    links: Mapping[str, Probability] = {}
    """Finding id -> chance that it is present when this cause alone is, and somebody looked."""
    pushes_down: Mapping[str, Probability] = {}
    """Finding id -> factor by which this cause makes it rarer."""
    often: tuple[Literal["root", "contributing", "consequential", "incidental", "underlying"], ...] = ("root",)
    """Roles it often has in a case."""
    remedies: tuple[str, ...] = ()
    """What mends it."""
    verify: tuple[str, ...] = ()
    """What proves the repair."""
    damage: tuple[str, ...] = ()
    """What to look at for damage it may have done, in words."""
    look_alikes: tuple[str, ...] = ()
    """Cause ids easily taken for it."""
    told_apart_by: str = ""
    """What tells it from its look-alikes."""
    residual: bool = False
    """The "something else" of its family."""
    underlying: bool = False
    """Does it let other causes come about?"""
    stop: str = ""
    """Id of the stop this cause fires when believed likely."""
    basis: Basis | None = None
    """Of priors, links and factors."""


class Pair(Entry):
    """Two causes that come together more often than chance."""

    first: str
    """One cause."""
    second: str
    """The other."""
    factor: float = Field(gt=0)
    """How much more often they come together than by chance."""
    basis: Basis | None = None
    """Where the numbers come from."""


class Damage(Entry):
    """An edge along which one cause does damage that is another cause."""

    cause: str
    """The cause that does damage."""
    does: str
    """The cause that the damage is."""


class Context(Entry):
    """A fact of the equipment that changes priors before anything is read."""

    fact: Literal[
        "coil", "motor", "condensing", "zoned", "stages", "elevation", "age", "limit replaced", "fuel changed"
    ]
    """The fact of the equipment."""
    is_: Literal["equal", "below", "above"] = Field(alias="is")
    """How it is compared with `value`."""
    value: str | float | bool
    """What it is compared with."""
    factors: Mapping[str, Annotated[float, Field(ge=0)]]
    """Cause and the factor on its prior."""
    why: str
    """Why, in words."""
    basis: Basis | None = None
    """Where the numbers come from."""


class Test(Named):
    """Something to do that yields findings."""

    minutes: float = Field(gt=0)
    """Minutes it takes."""
    risk: Risk
    """Risk to whoever does it."""
    reveals: tuple[str, ...]
    """Findings that it shows."""
    needs: tuple[str, ...] = ()
    """Tests that come first."""
    families: tuple[str, ...] = ()
    """Complaints it is for; empty: any."""
    first: str = ""
    """Id of the finding for which it comes before all else; it is done when that was looked for."""
    runs: tuple[Runs, ...] = ()
    """What it takes; empty: nothing runs and nobody touches the furnace."""
    comes_to: str = ""
    """Stage that a start has to come to for it; where it hardly does, there is nothing to read."""
    how: str = ""
    """How it is done."""
    clears: tuple[str, ...] = ()
    """Causes it can prove absent: to be done before their part is replaced."""
    licensed: bool = False
    """Is it for licensed people only?"""
    once: bool = False
    """Done once, whatever it brought: a story is not asked for again."""
    basis: Basis | None = None
    """Of minutes and risk."""


class Remedy(Named):
    text: str
    """What is done, in a sentence."""
    sizing: str = ""
    """The sizing that goes with it."""
    basis: Basis | None = None
    """Where the numbers come from."""


class Verification(Named):
    text: str
    """What has to be read or seen, in a sentence."""
    reading: str = ""
    """The reading that shows it."""
    basis: Basis
    """Where the numbers come from."""


class Proof(Entry):
    """What proves a part good."""

    part: str
    """The part that is proven good."""
    how: str
    """How it is proven."""
    finding: str
    """The finding that must be absent, having been looked for."""
    besides: tuple[str, ...] = ()
    """Further findings that must be so too."""
    clears: tuple[str, ...] = ()
    """Causes that it clears."""
    basis: Basis | None = None
    """Where the numbers come from."""

    def holds(self, absent: Container[str]) -> bool:
        """Is every finding of the proof among those that were looked for and are absent?"""
        return all(finding in absent for finding in (self.finding, *self.besides))


class Condition(Entry):
    """One way a stop fires: a finding present, or a reading at or beyond a limit."""

    finding: str = ""
    """The finding that must be present."""
    reading: str = ""
    """The reading that is held against a limit."""
    above: str = ""
    """It fires at or above this."""
    below: str = ""
    """It fires at or below this."""
    minus: str = ""
    """Another reading to subtract first (indoor less outdoor CO)."""


class WayOn(Entry):
    """How it goes on after a stop."""

    confirm: str = Field(min_length=1)
    """Who may confirm it, and how."""
    meanwhile: str = Field(min_length=1)
    """What may be done meanwhile."""
    ends: str = Field(min_length=1)
    """What ends it."""


class Stop(Named):
    """A rule outside all probabilities: when it fires, what must happen, and how it goes on from there."""

    when: str
    """When it fires, in words."""
    level: str = ""
    """Its rung of a ladder, in words; rungs are the stops that have one, highest first."""
    any_of: tuple[Condition, ...] = ()
    """Findings that name this stop are among them."""
    do: str
    """What everybody in the house does."""
    technician: str = ""
    """What the technician does besides."""
    notice: str
    """The stop-use notice, in words for the page."""
    leave: bool = False
    """Everybody leaves: while it is open nothing is proposed at all."""
    forbids: tuple[Runs, ...] = ("burner",)
    """What is not done while it is open: no test is proposed that takes it."""
    allows: tuple[str, ...] = ()
    """Ids of tests that its text lets licensed people do all the same."""
    covers: tuple[str, ...] = ()
    """Ids of lower stops about the same danger, which it silences."""
    way_on: WayOn
    """How it goes on from there."""
    out_of_service: bool = True
    """Is the furnace put out of service?"""
    no_repair: bool = False
    """No repair ends it: the case stays one that was stopped for safety, whatever replaced the furnace."""
    basis: Basis
    """Where the numbers come from."""


class Caution(Named):
    """A usual caution, shown by trigger above the step that carries the risk."""

    text: str
    """The caution, in full."""
    triggers: tuple[str, ...] = ()
    """Ids of readings, findings, tests, components or stops that call for it.  Of a step call for it what was read or
    seen in it, the tests that this was, the parts in another state or changed, and the notices that fired there."""
    states: Mapping[str, str] = {}
    """States of a step that call for it, by part."""
    ladder: tuple[str, ...] = ()
    """Ids of the stops whose levels and orders follow its text, a line each."""
    basis: Basis | None = None
    """Where the numbers come from."""

    def called_by(self, touched: Container[str], done: Mapping[str, str]) -> bool:
        """Does a step call for it that has to do with these ids, and was done in these states?"""
        return any(id_ in touched for id_ in self.triggers) or any(
            _starts(done.get(part, ""), word) for part, word in self.states.items()
        )


class PartModel(Entry):
    """What is usual for one part of the air path, when nothing was read."""

    part: Literal["return", "filter", "inlet", "coil", "supply"]
    """Part of the air path."""
    name: str
    """Its name."""
    clean_drop: float = Field(gt=0)
    """Usual clean drop at the furnace's rated airflow [in. w.c.]."""
    spread: Spread
    """Standard deviation of its logarithm from house to house."""
    exponent: float = Field(gt=0)
    """Power of the airflow that the drop goes with."""
    exponent_sd: Spread = 0.1
    """Standard deviation of `exponent`."""
    look_closer: float = Field(gt=0)
    """Drop above which the trade looks closer [in. w.c.]."""
    inside: bool = False
    """Inside the furnace cabinet, where external static does not show it."""
    basis: Basis
    """Where the numbers come from."""


class Constant(Named):
    """A number of the model, with its spread where it is uncertain."""

    value: float
    """The number."""
    spread: Spread = 0.0
    """Its standard deviation."""
    unit: str = ""
    """Its unit."""
    safer: Safer = ""
    """Which way it may be moved where a stop hangs on it; without that it may be moved either way."""
    basis: Basis
    """Where the numbers come from."""


class Way(Entry):
    """One way in which a cause comes: what it makes of the devices of a start."""

    share: float = Field(gt=0, le=1)
    """Share of the calls in which it comes this way."""
    becomes: Mapping[str, float | tuple[float, float]]
    """Device -> what is left of it (1 sound, 0 dead), a number or from mild to gross."""


class Malfunction(Entry):
    """What a cause changes in the devices of a start; its id is the cause's."""

    id: str
    ways: tuple[Way, ...] = Field(min_length=1)
    """The ways in which it comes."""
    away: Uncertain = 0.0
    """Chance that it is not there while somebody is."""
    comes: tuple[Literal["heat", "vibration", "moisture", "wind", "cold", "other appliances"], ...] = ()
    """What brings it on where it comes and goes."""
    basis: Basis
    """Where the numbers come from."""


class Stage(Named):
    """One stage of a start, in its order."""

    proves: str
    """What shows that it was passed."""
    missing: str
    """What is said where a start ends at it."""
    seconds: tuple[float, float]
    """Usual least and most; the furnace's sheet wins."""
    finding: str = ""
    """What is seen of a start that ends here."""
    families: Mapping[str, Probability]
    """Family -> share of the calls filed under it whose start ends here."""
    basis: Basis
    """Where the numbers come from."""


class Message(Named):
    """A group of messages of a board's memory, in everyday words."""

    words: tuple[str, ...]
    """Messages as boards give them."""
    after: Mapping[str, Probability]
    """Stage -> chance that the memory holds it once starts have ended there."""
    basis: Basis
    """Where the numbers come from."""


class Knowledge(Entry):
    """All of it, looked up by id."""

    families: Mapping[str, Family]
    readings: Mapping[str, Reading]
    values: Mapping[str, Value]
    """What rules speak of besides readings."""
    voids: Mapping[str, Void]
    findings: Mapping[str, Finding]
    causes: Mapping[str, Cause]
    pairs: tuple[Pair, ...]
    damage: tuple[Damage, ...]
    context: tuple[Context, ...]
    tests: Mapping[str, Test]
    remedies: Mapping[str, Remedy]
    verification: Mapping[str, Verification]
    proofs: tuple[Proof, ...]
    stops: Mapping[str, Stop]
    cautions: Mapping[str, Caution]
    parts: Mapping[str, PartModel]
    unknowns: Mapping[str, Unknown]
    constants: Mapping[str, Constant]
    sources: Mapping[str, str]
    malfunctions: Mapping[str, Malfunction] = {}
    stages: Mapping[str, Stage] = {}
    """Of a start, in their order."""
    messages: Mapping[str, Message] = {}
    pieces: Mapping[str, str] = {}
    """What else a part may be called, as a slug -> the component it belongs to."""
    components: Mapping[str, str] = {}
    """Pieces of the job that causes and proofs name."""
    synonyms: Mapping[str, str] = {}
    """What the trade also says, as a slug -> our own words for it."""
    phrases: Mapping[str, str] = {}
    """What people write on job notes, as a slug -> the complaint family or the component that it means."""
    bounds: Mapping[str, Bound] = {}
    ranges: Mapping[str, Range] = {}
    """By id of the reading."""
    differences: Mapping[str, Difference] = {}
    states: Mapping[str, PartStates] = {}
    """The vocabulary of `with`, by part."""
    complaints: Mapping[str, tuple[str, ...]] = {}
    """What people say, as a slug -> the complaint families it means; so with those below."""
    culprits: Mapping[str, tuple[str, ...]] = {}
    """... -> causes."""
    alarms: Mapping[str, tuple[str, ...]] = {}
    """... -> stops that are told before anything else."""
    meters: Mapping[str, tuple[str, ...]] = {}
    """... -> readings, when a number stands beside it."""
    instruments: Mapping[str, Accuracy] = {}
    """Usual accuracies by instrument."""
    aliases: Mapping[str, str]
    """Every other name of every entry -> its id (readings, findings and causes share one space of names)."""
    version: str
    """Digest of the data, for caches."""

    def leaves_as_found(self, part: str, state: str) -> bool:
        """Is the furnace as it was found while a part is in a state (`with`)?"""
        known = self.states.get(slug(part))
        return known is not None and known.leaves_as_found(state)

    def kind_of(self, id_: str) -> str:
        """The kind of quantity of a reading or a value."""
        return (self.readings.get(id_) or self.values[id_]).kind

    def resolve(self, text: str) -> str:
        """The id meant by an author's word: its slug, or what that is an alias of."""
        word = slug(text)
        return self.aliases.get(word, word)
