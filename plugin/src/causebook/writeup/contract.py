"""The JSON a program gets for one case: stable, in US units, described by its own schema.

Keys keep their names and meaning as long as `schema` says `causebook-work/1`; keys may be added.  A quantity that
could not be worked out is null, and `limit_margin` is negative where the limit opens.
"""

from __future__ import annotations

import math
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from causebook import quantity as qty
from causebook.belief.verdict import Role, StopNotice, WhatIf
from causebook.measured import Measured
from causebook.quantity import Kind, Quantity
from causebook.sizing.model import Compared, Option
from causebook.survey.model import Estimate, LimitEvidence, ReadingSet, State, Survey
from causebook.workup import Workup
from causebook.writeup import words

SCHEMA: Literal["causebook-work/1"] = "causebook-work/1"


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, use_attribute_docstrings=True)


class Value(_Part):
    """A quantity in US units with its standard uncertainty, where one is known."""

    value: float
    """The number, in the unit."""
    unit: str
    """Its unit."""
    sd: float | None = None
    """Its standard uncertainty."""


class Airflow(_Part):
    """The airflow of one reading set by one method."""

    set: str
    """The set of readings: as found, after a change or after the repair."""
    method: str
    """How it was worked out."""
    value: float
    """The number."""
    unit: str
    """Its unit."""
    sd: float
    """Its standard uncertainty."""
    best: bool = Field(description="the estimate the reading set goes on with")


class SetValue(_Part):
    """One quantity of one reading set."""

    set: str
    """The set of readings: as found, after a change or after the repair."""
    method: str
    """How it was worked out."""
    value: float
    """The number."""
    unit: str
    """Its unit."""
    sd: float
    """Its standard uncertainty."""


class PartDrop(_Part):
    """Pressure drop of one part in one reading set, as read and at the case's common airflow."""

    set: str
    """The set of readings: as found, after a change or after the repair."""
    part: str
    """Part of the air path."""
    value: float
    """The number."""
    unit: str
    """Its unit."""
    sd: float
    """Its standard uncertainty."""
    at_common_airflow: float | None
    """The drop at the airflow that all sets are compared at."""


class Cause(_Part):
    """One cause; the root named first, then in the order of how likely correcting it is what is needed."""

    id: str
    """Its id in the knowledge."""
    name: str
    """Its name."""
    probability: float = Field(ge=0, le=1, description="that it is present")
    root_chance: float = Field(
        ge=0, le=1, description="that it is the root: of the repairs that do alone, the one that wins most"
    )
    restores_chance: float = Field(ge=0, le=1, description="that correcting it alone does; of several causes each may")
    belief: str
    """How likely it is, in a word."""
    role: str
    """Its role in the case."""
    why: str
    """Why, in a sentence."""


class CauseSet(_Part):
    """One set of causes present together."""

    causes: list[str]
    """Ids of the causes."""
    probability: float = Field(ge=0, le=1)
    """Chance of exactly this set."""


class FoundState(_Part):
    """One finding; what was not looked for stands here as such and never as absent."""

    id: str
    """Its id in the knowledge."""
    state: Literal["present", "absent", "unclear", "not looked for"]
    """How it stands."""
    probability: float | None = Field(ge=0, le=1, description="null when nothing spoke")
    readings: list[str]
    """Readings it was drawn from."""
    because: str
    """What it rests on."""


class Limit(_Part):
    """Is it hot, or is the switch wrong?"""

    marked: Value | None
    """Temperature marked on the limit."""
    opened_at: Value | None
    """Temperature at which it was read to open."""
    body: Value | None
    """Temperature of its body at the trip."""
    air_at_trip: Value | None
    """Supply air at the trip."""
    rise_at_trip: Value | None
    """Rise at the trip."""
    rise_in_range_at_trip: bool | None
    """Was that rise within the plate's range?"""
    overheating: float | None = Field(
        ge=0, le=1, description="probability that the limit body reached its marking; null when nothing tells"
    )
    switch: str
    """What is said of the limit itself."""
    verdict: str
    """Overheating or a bad limit, in words."""


class Test(_Part):
    """A test worth doing next, the most useful first."""

    id: str
    """Its id in the knowledge."""
    name: str
    """Its name."""
    minutes: float
    """Minutes it takes."""
    risk: str
    """Risk to whoever does it."""
    information: float = Field(description="expected information about the causes [bit]")
    reason: str
    """What it would tell."""


class Stop(_Part):
    """A stop-use notice: a rule outside all probabilities."""

    id: str
    """Its id in the knowledge."""
    notice: str
    """The notice, as the page shows it."""
    do: str = Field(description="what everybody in the house does")
    technician: str = Field(description="what the technician does besides")
    leave: bool = Field(description="everybody leaves, and nothing is proposed")
    confirm: str = Field(description="who may confirm it, and how")
    meanwhile: str = Field(description="what may be done meanwhile")
    ends: str = Field(description="what ends it")
    because: str
    """What it rests on."""
    open: bool
    """Is it still open at the end of the case?"""


class OptionRow(_Part):
    """Something that could be done, with its predicted readings."""

    id: str
    """Its id in the knowledge."""
    name: str
    """Its name."""
    airflow: Value | None
    """Airflow."""
    rise: Value | None
    """Temperature rise."""
    static: Value | None
    """External static."""
    outlet: Value | None
    """Supply air temperature."""
    limit_margin: Value | None
    """Degrees left to the limit; negative where it opens."""
    trips: bool | None
    """Does the limit open?"""
    holds: Literal["complaint and reading", "complaint only", "neither", "not computed"]
    """What it would end."""
    recommended: bool
    """Is it what the program recommends?"""


class WhatIfRow(_Part):
    """The furnace with only this changed."""

    change: str
    """What is changed."""
    repairs: list[str]
    """Causes that this mends."""
    airflow: Value | None
    """Airflow."""
    rise: Value | None
    """Temperature rise."""
    limit_margin: Value | None
    """Degrees left to the limit; negative where it opens."""
    trips: bool | None
    """Does the limit open?"""
    in_range: bool | None
    """Is the rise within the plate's range?"""
    restores: bool | None
    """Does the complaint end?"""


class AfterRow(_Part):
    """A reading after repair beside its prediction."""

    name: str
    """Its name."""
    predicted: Value
    """What was predicted."""
    read: Value
    """What was read."""
    inside: bool
    """Is the reading within the prediction's uncertainty?"""


class ProblemRow(_Part):
    """What the review of the reasoning found."""

    rule: str
    """Rule that speaks."""
    line: int
    """Line of the file."""
    field: str
    """Key of the file."""
    found: str
    """What stands there."""
    expected: str
    """What was expected."""
    hint: str
    """What to do."""
    severity: str
    """`error` or `warning`."""


class Work(_Part):
    """One case, worked."""

    schema_: Literal["causebook-work/1"] = Field(alias="schema")
    """Name and version of this form."""
    case: str
    """Name of the case folder."""
    outcome: str
    """How the case ended."""
    answered: bool = Field(description="is one root believed beyond the stated limit?")
    decided_by: str
    """What proved it."""
    causes: list[Cause]
    """Causes, the likeliest first."""
    sets: list[CauseSet]
    """Sets of causes, the likeliest first."""
    findings: list[FoundState]
    """All findings."""
    airflow: list[Airflow]
    """Airflow by set of readings and method."""
    rise: list[SetValue]
    """Rise by set of readings."""
    input: list[SetValue]
    """Clocked input by set of readings."""
    drops: list[PartDrop]
    """Pressure drops by part."""
    limit: Limit | None
    """The limit, where there is one to judge."""
    next_tests: list[Test]
    """What to test next, the most useful first."""
    would_settle: list[str]
    """What would settle an open case."""
    stop_use: list[Stop]
    """Stop-use notices."""
    options: list[OptionRow]
    """Fixes considered, with what each would read."""
    what_ifs: list[WhatIfRow]
    """The furnace with one thing changed."""
    after: list[AfterRow]
    """Readings after the repair beside their predictions."""
    problems: list[ProblemRow]
    """What the review of the reasoning found."""


def as_json(workup: Workup) -> dict[str, Any]:
    """One workup as plain data, ready for `json.dumps`; it fits `json_schema()`."""
    survey, verdict = workup.survey, workup.verdict
    return Work(
        schema=SCHEMA,
        case=workup.case.id,
        outcome=verdict.outcome.value,
        answered=verdict.answered,
        decided_by=verdict.decided_by,
        causes=[
            Cause(
                id=c.id,
                name=c.name,
                probability=_share(c.probability),
                root_chance=_share(c.root_chance),
                restores_chance=_share(c.restores_chance),
                belief=c.belief.value,
                role=c.role.value,
                why=c.why,
            )
            for c in sorted(verdict.causes, key=lambda c: (c.role is not Role.ROOT, -c.root_chance - c.restores_chance))
        ],
        sets=[CauseSet(causes=list(s.causes), probability=_share(s.probability)) for s in verdict.sets],
        findings=[
            FoundState(
                id=f.id,
                state=f.state.value,
                readings=list(f.readings),
                because=f.because,
                probability=None if f.state is State.NOT_LOOKED_FOR else _share(f.probability),
            )
            for f in survey.findings
        ],
        airflow=[Airflow(best=e is s.best_airflow, **_set_value(s, e)) for s in survey.sets for e in _airflows(s)],
        rise=[SetValue(**_set_value(s, s.rise)) for s in survey.sets if s.rise],
        input=[SetValue(**_set_value(s, s.input)) for s in survey.sets if s.input],
        drops=_drops(survey),
        limit=_limit(survey.limit) if survey.limit else None,
        next_tests=[
            Test(
                id=t.id,
                name=t.name,
                minutes=t.minutes,
                risk=t.risk,
                information=_round(t.information, 3),
                reason=t.reason,
            )
            for t in verdict.next_tests
        ],
        would_settle=list(verdict.would_settle),
        stop_use=[_stop(s) for s in workup.stops],
        options=[_option(o) for o in workup.options],
        what_ifs=[_what_if(w) for w in verdict.what_ifs],
        after=[_after(c) for c in workup.after],
        problems=[
            ProblemRow(
                rule=p.rule,
                line=p.line,
                field=p.field,
                found=p.found,
                expected=p.expected,
                hint=p.hint,
                severity=p.severity.value,
            )
            for p in workup.problems
        ],
    ).model_dump(by_alias=True, mode="json")


def json_schema() -> dict[str, Any]:
    """The JSON Schema of what `as_json` yields."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": SCHEMA,
        **{k: v for k, v in Work.model_json_schema(by_alias=True, mode="serialization").items() if k != "title"},
    }


def _airflows(found: ReadingSet) -> tuple[Estimate, ...]:
    best = found.best_airflow
    return (*found.airflow, *((best,) if best and not any(e is best for e in found.airflow) else ()))


def _drops(survey: Survey) -> list[PartDrop]:
    return [
        PartDrop(
            set=s.name,
            part=d.part,
            value=_us(d.value, qty.AIR_PRESSURE),
            unit=qty.AIR_PRESSURE.us_text,
            sd=_us_sd(d.sd, qty.AIR_PRESSURE),
            at_common_airflow=None if d.at_common_airflow is None else _us(d.at_common_airflow, qty.AIR_PRESSURE),
        )
        for s in survey.sets
        for d in s.drops
    ]


def _limit(found: LimitEvidence) -> Limit:
    return Limit(
        marked=_maybe(found.marked, qty.TEMPERATURE),
        opened_at=_estimate(found.opened_at),
        body=_estimate(found.body),
        air_at_trip=_maybe(found.air_at_trip, qty.PROBE_TEMPERATURE),
        rise_at_trip=_maybe(found.rise_at_trip, qty.TEMPERATURE_DIFFERENCE),
        rise_in_range_at_trip=found.rise_in_range_at_trip,
        overheating=None if found.overheating is None else _share(found.overheating),
        switch=found.switch,
        verdict=found.verdict,
    )


def _stop(notice: StopNotice) -> Stop:
    way = notice.way_on
    return Stop(
        id=notice.id,
        notice=notice.notice,
        do=notice.do,
        technician=notice.technician,
        leave=notice.leave,
        confirm=way.confirm if way else "",
        meanwhile=way.meanwhile if way else "",
        ends=way.ends if way else "",
        because=notice.because,
        open=notice.open,
    )


def _option(option: Option) -> OptionRow:
    return OptionRow(
        id=option.id,
        name=option.name,
        airflow=_estimate(option.airflow),
        rise=_estimate(option.rise),
        static=_estimate(option.static),
        outlet=_estimate(option.outlet),
        limit_margin=_estimate(option.limit_margin),
        trips=option.trips,
        holds=option.holds,
        recommended=option.recommended,
    )


def _what_if(found: WhatIf) -> WhatIfRow:
    return WhatIfRow(
        change=found.change,
        repairs=list(found.repairs),
        airflow=_maybe(found.airflow, qty.AIRFLOW),
        rise=_maybe(found.rise, qty.TEMPERATURE_DIFFERENCE),
        limit_margin=_maybe(found.limit_margin, qty.TEMPERATURE_DIFFERENCE),
        trips=found.trips,
        in_range=found.in_range,
        restores=found.restores,
    )


def _after(found: Compared) -> AfterRow:
    kind = found.predicted.kind
    return AfterRow(
        name=found.name,
        predicted=_value(found.predicted.value, kind, found.predicted.sd),
        read=_value(found.read, kind),
        inside=found.inside,
    )


def _set_value(found: ReadingSet, estimate: Estimate) -> dict[str, Any]:
    value = _value(estimate.value, estimate.kind, estimate.sd)
    return {"set": found.name, "method": estimate.how, **value.model_dump()}


def _estimate(found: Measured | None) -> Value | None:
    if (
        found is None
        or not _finite(found.value, found.kind)
        or not math.isfinite(words.us_difference(found.sd, found.kind))
    ):
        return None
    return _value(found.value, found.kind, found.sd)


def _maybe(value: Quantity | None, kind: Kind) -> Value | None:
    return None if value is None or not _finite(value, kind) else _value(value, kind)


def _finite(value: Quantity, kind: Kind) -> bool:
    return math.isfinite(qty.us(value, kind))


def _value(value: Quantity, kind: Kind, sd: Quantity | None = None) -> Value:
    return Value(value=_us(value, kind), unit=kind.us_text, sd=None if sd is None else _us_sd(sd, kind))


def _us(value: Quantity, kind: Kind) -> float:
    return _round(qty.us(value, kind), kind.us_digits + 1)


def _us_sd(sd: Quantity, kind: Kind) -> float:
    return _round(words.us_difference(sd, kind), kind.us_digits + 1)


def _share(probability: float) -> float:
    """A probability; the last bits of a sum may lie beyond 0 and 1."""
    return _round(min(max(probability, 0.0), 1.0), 4)


def _round(number: float, digits: int) -> float:
    if not math.isfinite(number):
        raise ValueError(f"{number} cannot stand in the JSON of a case")
    return round(number, digits) + 0.0
