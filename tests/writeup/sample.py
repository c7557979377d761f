"""A workup made by hand for the tests of pages and charts: invented place, house, people and figures.

A 70,000 Btu/h furnace whose limit opens because the return was always too small and a fine filter took the rest.
The figures solve the air path (drops as airflow squared) and the heat balance at 1.08 Btu/(h·cfm·°F), so that
charts drawn from them look as they would for a true case.  The variants change one thing each.
"""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

from causebook import quantity as qty
from causebook.belief.after_repair import AfterRepair
from causebook.belief.verdict import (
    Belief,
    CauseBelief,
    Expected,
    NextTest,
    Role,
    SetBelief,
    Spoke,
    StepWeight,
    Verdict,
    Weight,
    WhatIf,
)
from causebook.casefile.model import Case, CaseFile, CaseStep, FanTable, Outcome, Step, Taken, TemperatureLog
from causebook.knowledge.loader import load
from causebook.knowledge.model import Basis, Cause, Effect, Family, Finding, Knowledge, PartModel, slug
from causebook.measured import Measured
from causebook.physics.air import air_state
from causebook.problems import Problem, Severity
from causebook.quantity import (
    AIR_PRESSURE,
    AIRFLOW,
    HEAT_RATE,
    PROBE_TEMPERATURE,
    SHARE,
    TEMPERATURE_DIFFERENCE,
    Kind,
    Quantity,
    q,
)
from causebook.sizing.model import Compared, Option, Predicted, ReturnSize
from causebook.survey.model import (
    Drop,
    Estimate,
    FindingState,
    Heat,
    LimitEvidence,
    Method,
    ReadingSet,
    RunLog,
    State,
    Survey,
    Tap,
    Voided,
    Work,
)
from causebook.workup import StepCaution, StopNotice, Workup

_ESTIMATE = Basis(kind="expert estimate")
_RETURN, _FILTER, _COIL, _LIMIT, _GAS = (
    "return-undersized",
    "filter-too-restrictive",
    "coil-plugged",
    "limit-weak",
    "manifold-high",
)
SETTING = "medium high"


def inwc(value: float) -> Quantity:
    return q(value, "inwc")


def cfm(value: float) -> Quantity:
    return q(value, "cfm")


def rise(value: float) -> Quantity:
    return q(value, "delta_degF")


def degf(value: float) -> Quantity:
    return q(value, "degF")


def btuh(value: float) -> Quantity:
    return q(value, "btu_it/hour")


# ---------------------------------------------------------------- the case file

FILE = {
    "title": "Limit opens after eight minutes: two faults in one return, one of them thirty years old",
    "complaint": {"family": "high-limit", "words": "It heats, goes cold for a bit, then heats again, all evening."},
    "outcome": "settled and corrected",
    "study": {"level": 2, "trains": ["air-path profile", "one change at a time"]},
    "company": "Harrow Ridge Heating (invented)",
    "site": {
        "place": "Pennock Mill (invented)",
        "house": "1,500 ft² on a crawl space",
        "elevation": "210 ft",
        "outdoors": "22 degF",
        "heating value": "1030 Btu/ft^3",
        "meter dial": "2 ft^3",
    },
    "furnace": {
        "kind": "non-condensing",
        "made": 2008,
        "input": "70000 Btu/h",
        "output": "56000 Btu/h",
        "rise": "30 to 60 degF",
        "outlet maximum": "160 degF",
        "static maximum": "0.50 inH2O",
        "counted as external": ["return", "filter", "coil", "supply"],
        "manifold": "3.5 inH2O",
        "limit": {"opens": "195 degF", "closes": "165 degF"},
    },
    "blower": {"motor": "split capacitor", "setting": SETTING, "fan table": "fan.csv", "full load": "7.0 A"},
    "filter": {"kind": "fine pleated", "size": "16 x 20 x 1 in"},
    "coil": {"cooling": "2.5 ton"},
    "return": [{"what": "only return duct", "size": "12 x 8 in", "note": "two square elbows"}],
    "changed lately": [
        {"when": "2016", "what": "cooling coil added, return left as it was"},
        {"when": "October", "what": "customer fitted a finer filter"},
    ],
    "visits": [
        {
            "date": "2024-02-06",
            "kind": "first",
            "steps": [{"do": "placeholder"}],
            "open": [],
            "concluded": {
                "root": {_RETURN: "rise out of range with no filter at all, in range with the return opened"},
                "underlying": {"coil-added": "a cooling coil was added in 2016 and the return left alone"},
                "helped by": {_FILTER: "0.33 of 0.96 in. w.c.; the complaint began with it"},
                "also found": ["no CO alarm upstairs"],
                "not it": {
                    _LIMIT: "opened at 194 °F, marked 195",
                    _COIL: "0.11 in. w.c. dry",
                    _GAS: "clocked 100 % of the plate",
                },
            },
            "options": [
                {"name": "Wide filter cabinet only", "change": {"filter": {"kind": "deep media"}}},
                {
                    "name": "Wide filter cabinet and a second return",
                    "chosen": True,
                    "change": {"filter": {"kind": "deep media"}, "add return": {"duct": "12 in round"}},
                },
            ],
        },
        {
            "date": "2024-02-13",
            "kind": "repair",
            "steps": [{"do": "placeholder"}],
            "open": ["External static 0.66 against a plate maximum of 0.50 in. w.c.; airflow proven two ways."],
        },
    ],
    "follow up": [{"after": "12 d", "found": "no limit faults stored"}],
    "teach": {
        "questions": [
            {
                "ask": "With no filter at all the rise is 64 °F and the plate allows 60. Which test next?",
                "answer": "Open the return as a second step: the filter cannot be the whole of it.",
            }
        ],
        "mistakes": ["Leaving because the tripping stopped with the filter out"],
    },
    "customer": "Your furnace could not get enough air back from the house. It now has a second return.",
}

# (step, visit): in the order done.  `seen` holds finding ids, `read` what the meters showed.
STEPS: tuple[tuple[int, dict[str, object]], ...] = (
    (
        0,
        {
            "do": "Checked for carbon monoxide and gas at the door",
            "minutes": 4,
            "why": "People first",
            "read": {"co outdoors": q(0, "ppm_"), "co indoors": q(0, "ppm_")},
            "seen": {"gas-smell": "no"},
        },
    ),
    (
        0,
        {
            "do": "Read the stored faults, walked the house",
            "minutes": 20,
            "why": "The memory goes when power is cut",
            "seen": {"limit-fault-stored": "yes", "filter-fine-and-thin": "yes", "registers-closed": "no"},
            "photo": {
                "file": "photos/filter.jpg",
                "shows": "A gray pleated filter bowed toward the blower",
                "marks": [{"at": [0.52, 0.4], "note": "bowed 3/4 in."}],
                "drawn": True,
            },
        },
    ),
    (
        0,
        {
            "do": "Watched one call with probes in both airstreams",
            "minutes": 20,
            "state": "at trip",
            "why": "Prove the complaint before anything is opened",
            "read": {
                "supply air at trip": degf(137.1),
                "return air": degf(67.0),
                "time to trip": q(520, "s"),
                "co in flue": q(17, "ppm_"),
                "oxygen in flue": q(8.0, "percent_"),
                "co in flue before blower": q(18, "ppm_"),
                "co in flue after blower": q(17, "ppm_"),
                "oxygen in flue before blower": q(8.0, "percent_"),
                "oxygen in flue after blower": q(8.1, "percent_"),
            },
        },
    ),
    (
        0,
        {
            "do": "Static at the taps",
            "minutes": 14,
            "why": "One map splits filter, return, coil and supply",
            "read": {
                "tap before filter": inwc(-0.37),
                "tap after filter": inwc(-0.70),
                "tap before coil": inwc(0.26),
                "tap after coil": inwc(0.15),
            },
        },
    ),
    (
        0,
        {
            "do": "Clocked the gas meter",
            "minutes": 12,
            "why": "A rise means nothing until the input is known",
            "read": {"meter time": q(105.9, "s"), "manifold": inwc(3.5)},
        },
    ),
    (
        0,
        {
            "do": "Filter out for four minutes",
            "minutes": 8,
            "with": {"filter": "removed"},
            "expect": "If the filter is the whole story the rise comes into range",
            "read": {
                "supply air": degf(131.3),
                "return air": degf(67.0),
                "tap after filter": inwc(-0.50),
                "tap before coil": inwc(0.35),
            },
        },
    ),
    (
        0,
        {
            "do": "Filter still out, return opened at the slot",
            "minutes": 6,
            "with": {"filter": "removed", "return": "opened at the slot"},
            "read": {
                "supply air": degf(119.1),
                "return air": degf(67.0),
                "tap after filter": inwc(-0.03),
                "tap before coil": inwc(0.54),
            },
        },
    ),
    (
        0,
        {
            "do": "Thermocouple on the face of the limit, slow approach",
            "minutes": 15,
            "why": "Prove it good instead of swapping it",
            "read": {"limit opened at": degf(194)},
        },
    ),
    (
        1,
        {
            "do": "The same readings at the same taps after the repair",
            "minutes": 25,
            "after": "repair",
            "read": {
                "supply air": degf(121.9),
                "return air": degf(67.0),
                "tap before filter": inwc(-0.10),
                "tap after filter": inwc(-0.18),
                "tap before coil": inwc(0.48),
                "tap after coil": inwc(0.28),
                "meter time": q(105.9, "s"),
                "co in flue": q(16, "ppm_"),
                "oxygen in flue": q(7.9, "percent_"),
            },
        },
    ),
)

FAN = FanTable(
    static=(0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0),
    airflow={
        "medium": (980, 965, 945, 915, 880, 840, 790, 730, 655, 560),
        SETTING: (1180, 1150, 1115, 1075, 1030, 980, 920, 850, 765, 665),
        "high": (1400, 1360, 1310, 1255, 1195, 1125, 1050, 960, 855, 735),
    },
)


def _air(start: float, target: float, tau: float, seconds: float) -> float:
    return target + (start - target) * math.exp(-seconds / tau)


def _heating(seconds: float) -> float:
    return _air(67.0, 67.0 + 74.6, 185.0, seconds)


def _tripping(seconds: float) -> float:
    """Supply air of a call that trips at 520 s, relights at 612 s, trips again at 971 s, relights at 1063 s."""
    if seconds <= 520:
        return _heating(seconds)
    if seconds <= 612:
        return _air(_heating(520), 67.0, 190.0, seconds - 520)
    if seconds <= 971:
        return _air(_tripping(612), 141.6, 185.0, seconds - 612)
    if seconds <= 1063:
        return _air(_tripping(971), 67.0, 190.0, seconds - 971)
    return _air(_tripping(1063), 141.6, 185.0, seconds - 1063)


TIMES = tuple(sorted({*(20.0 * n for n in range(61)), 612.0, 971.0, 1063.0}))
_FOUND_LOG = tuple(round(_tripping(t), 1) for t in TIMES)
_AFTER_LOG = tuple(round(_air(67.0, 121.9, 150.0, t), 1) for t in TIMES)


def case() -> Case:
    """The case read and resolved."""
    steps = []
    for number, (visit, raw) in enumerate(STEPS, 1):
        readings = dict(raw.get("read", {}))
        step = Step.model_validate({key: value for key, value in raw.items() if key != "read"})
        log = None
        if number in (3, 9):
            found = number == 3
            columns = {"supply-air": _FOUND_LOG if found else _AFTER_LOG, "return-air": (67.0,) * len(TIMES)}
            if found:
                on = tuple(float(t < 520 or 612 <= t < 971 or t >= 1063) for t in TIMES)
                columns |= {
                    "burner": on,
                    "blower": tuple(float(t >= 40) for t in TIMES),
                    "limit": tuple(1 - burning for burning in on),
                }
            log = TemperatureLog(file=Path("logs/call.csv"), seconds=TIMES, columns=columns)
        steps.append(
            CaseStep(
                number=number,
                visit=visit,
                date="2024-02-06" if visit == 0 else "2024-02-13",
                step=step,
                readings=tuple(Taken(reading=slug(k), value=v, step=number) for k, v in readings.items()),
                seen=step.seen,
                log=log,
                line=40 + 6 * number,
            )
        )
    return Case(
        id="two-faults-one-return",
        folder=Path("casefiles/two-faults-one-return"),
        file=CaseFile.model_validate(FILE),
        steps=tuple(steps),
        fan_table=FAN,
        digest="sample",
    )


# ---------------------------------------------------------------- the knowledge it needs


def _part(part: str, name: str, clean: float, closer: float) -> PartModel:
    return PartModel(
        part=part, name=name, clean_drop=clean, spread=0.4, exponent=1.9, look_closer=closer, basis=_ESTIMATE
    )


def _cause(id_: str, name: str, part: str, side: str, on: str, least: float, most: float) -> Cause:
    return Cause(
        id=id_,
        name=name,
        part=part,
        side=side,
        mechanism=f"{name}.",
        effects=(Effect(on=on, least=least, most=most, basis=_ESTIMATE),),
    )


def knowledge() -> Knowledge:
    """A handful of entries in the shape of the true knowledge, so that these tests do not move with its data."""
    causes = (
        _cause(_RETURN, "Undersized return", "return duct", "return", "return", 1.5, 5.0),
        _cause(_FILTER, "Filter too restrictive", "filter", "return", "filter", 1.5, 5.0),
        _cause(_COIL, "Coil plugged", "cooling coil", "supply", "coil", 1.5, 6.0),
        _cause(_LIMIT, "Limit opens too low", "limit", "equipment", "limit", -10.0, -40.0),
        _cause(_GAS, "Manifold pressure too high", "gas valve", "gas", "manifold", 1.06, 1.3),
        Cause(
            id="coil-added",
            name="Coil added, return left alone",
            part="return duct",
            side="return",
            mechanism="More air is asked of the old return.",
            underlying=True,
        ),
    )
    findings = (
        Finding(id="rise-high", name="Rise above the plate", leak=0.05, physical="rise", basis=_ESTIMATE),
        Finding(
            id="filter-drop-high",
            name="High drop across the filter",
            leak=0.05,
            physical="filter",
            limit=0.2,
            limit_unit="inwc",
            basis=_ESTIMATE,
        ),
        Finding(id="limit-fault-stored", name="Limit fault stored", leak=0.05, basis=_ESTIMATE),
    )
    return Knowledge(
        families={
            "high-limit": Family(
                id="high-limit",
                name="High limit opens",
                air_path=True,
                complaint="the burner stops while heat is still called for",
            )
        },
        readings={},
        voids={},
        findings={f.id: f for f in findings},
        causes={c.id: c for c in causes},
        pairs=(),
        damage=(),
        context=(),
        tests={},
        remedies={},
        verification={},
        proofs=(),
        stops={},
        values={},
        cautions={},
        unknowns=load().unknowns,
        parts={
            "return": _part("return", "return", 0.10, 0.20),
            "filter": _part("filter", "filter", 0.10, 0.20),
            "coil": _part("coil", "coil", 0.16, 0.30),
            "supply": _part("supply", "supply", 0.10, 0.20),
        },
        constants={},
        sources={},
        aliases={},
        version="sample",
    )


# ---------------------------------------------------------------- the survey


def estimate(value: Quantity, sd: Quantity, kind: Kind, method: Method, *readings: str) -> Estimate:
    return Estimate(*Measured.of(value, sd, kind).pair, kind, method, readings)


def taps(
    before_filter: float | None, after_filter: float | None, before_coil: float | None, after_coil: float | None
) -> tuple[Tap, ...]:
    names = (
        (2, "before filter", before_filter),
        (3, "after filter", after_filter),
        (5, "before coil", before_coil),
        (6, "after coil", after_coil),
    )
    return tuple(
        Tap(n, name, None if v is None else inwc(v), None if v is None else inwc(0.01)) for n, name, v in names
    )


def drops(common: float, flow: float, **values: float) -> tuple[Drop, ...]:
    return tuple(
        Drop(part, part, inwc(value), inwc(0.015), inwc(value * (common / flow) ** 2)) for part, value in values.items()
    )


def _airflow(by_rise: float, by_fan: float) -> tuple[Estimate, ...]:
    return (
        estimate(cfm(by_rise), cfm(0.05 * by_rise), AIRFLOW, Method.RISE_CLOCKED, "supply-air", "meter-time"),
        estimate(cfm(by_fan), cfm(0.07 * by_fan), AIRFLOW, Method.FAN_TABLE, "tap-after-filter", "tap-before-coil"),
    )


def reading_sets(in_steps: Case) -> tuple[ReadingSet, ...]:
    """As found, two changes, after repair."""

    def taken(*numbers: int) -> dict[str, Taken]:
        return {t.reading: t for s in in_steps.steps if s.number in numbers for t in s.readings}

    def one(
        name: str,
        phase: str,
        visit: int,
        numbers: tuple[int, ...],
        temperature_rise: float,
        flow: float,
        fan: float,
        static: float,
        tapped: tuple[Tap, ...],
        dropped: tuple[Drop, ...] = (),
        state: dict[str, str] | None = None,
        clocked: bool = False,
    ) -> ReadingSet:
        return ReadingSet(
            name=name,
            state=state or {},
            steps=numbers,
            phase=phase,
            visit=visit,
            readings=taken(*numbers),
            rise=estimate(rise(temperature_rise), rise(1.2), TEMPERATURE_DIFFERENCE, Method.SUPPLY_LESS_RETURN),
            input=estimate(btuh(70025), btuh(1400), HEAT_RATE, Method.CLOCKED, "meter-time") if clocked else None,
            airflow=_airflow(flow, fan),
            best_airflow=estimate(cfm(flow), cfm(0.04 * flow), AIRFLOW, Method.RISE_CLOCKED),
            agree=True,
            taps=tapped,
            drops=dropped,
            static=estimate(inwc(static), inwc(0.015), AIR_PRESSURE, Method.ACROSS_BOUNDARY),
        )

    common = 695.0
    return (
        one(
            "as found",
            "found",
            0,
            (1, 2, 3, 4, 5),
            74.6,
            695,
            705,
            0.96,
            taps(-0.37, -0.70, 0.26, 0.15),
            drops(common, 695, **{"return": 0.37, "filter": 0.33, "coil": 0.11, "supply": 0.15}),
            clocked=True,
        ),
        one(
            "changed: filter removed",
            "changed",
            0,
            (6,),
            64.3,
            807,
            808,
            0.85,
            taps(None, -0.50, 0.35, None),
            state={"filter": "removed"},
        ),
        one(
            "changed: filter removed, return opened",
            "changed",
            0,
            (7,),
            52.1,
            996,
            995,
            0.57,
            taps(None, -0.03, 0.54, None),
            state={"filter": "removed", "return": "opened"},
        ),
        one(
            "after repair",
            "after",
            1,
            (9,),
            54.9,
            945,
            944,
            0.66,
            taps(-0.10, -0.18, 0.48, 0.28),
            drops(common, 945, **{"return": 0.10, "filter": 0.08, "coil": 0.20, "supply": 0.28}),
            clocked=True,
        ),
    )


def run_logs() -> tuple[RunLog, ...]:
    fitted = tuple(round(_heating(t), 1) for t in TIMES)
    level = (67.0,) * len(TIMES)
    return (
        RunLog(
            3,
            "as found",
            TIMES,
            _FOUND_LOG,
            level,
            (520.0, 971.0),
            (612.0, 1063.0),
            estimate(rise(74.6), rise(1.5), TEMPERATURE_DIFFERENCE, Method.RUN_LOG),
            True,
            fitted,
        ),
        RunLog(
            9,
            "after repair",
            TIMES,
            _AFTER_LOG,
            level,
            (),
            (),
            estimate(rise(54.9), rise(1.0), TEMPERATURE_DIFFERENCE, Method.RUN_LOG),
            False,
            (),
            "after",
        ),
    )


def survey(of: Case) -> Survey:
    found = (
        FindingState(
            "rise-high",
            "Rise above the plate",
            State.PRESENT,
            0.99,
            3,
            ("supply-air", "return-air"),
            "74.6 °F against 60 °F",
            True,
        ),
        FindingState(
            "filter-drop-high",
            "High drop across the filter",
            State.PRESENT,
            0.99,
            4,
            ("tap-before-filter", "tap-after-filter"),
            "0.33 in. w.c. against 0.20",
            True,
        ),
        FindingState("limit-fault-stored", "Limit fault stored", State.PRESENT, 1.0, 2),
    )
    sets = reading_sets(of)
    return Survey(
        case=of,
        knowledge=knowledge(),
        heat=Heat(
            air_state(degf(67.0), q(210, "foot")),
            qty.si(q(1.08, "btu_it/hour/cfm/delta_degF"), qty.SENSIBLE_FACTOR),
            estimate(q(80, "percent_"), q(1.5, "percent_"), SHARE, Method.EFFICIENCY),
            qty.si(btuh(70000), HEAT_RATE),
            qty.si(btuh(56000), HEAT_RATE),
        ),
        sets=sets,
        found=sets[0],
        logs=run_logs(),
        limit=LimitEvidence(
            marked=degf(195),
            opened_at=estimate(degf(194), rise(4), PROBE_TEMPERATURE, Method.ON_LIMIT_FACE),
            body=estimate(degf(195), rise(9), PROBE_TEMPERATURE, Method.LIMIT_BODY),
            air_at_trip=degf(137.1),
            rise_at_trip=rise(70.1),
            rise_in_range_at_trip=False,
            overheating=0.97,
            verdict="The limit did its duty: it was as hot as its marking.",
        ),
        findings=found,
        voided=(
            Voided(
                Taken(reading="plenum-infrared", value=degf(96), step=2),
                "infrared-on-bare-metal",
                "bare galvanized metal mirrors the room",
            ),
        ),
        works=(
            Work(
                "Airflow from the rise",
                "Q = output / (1.08 × rise)",
                (("output", "56,000 Btu/h"), ("rise", "74.6 °F")),
                "695 cfm",
                "heat balance",
            ),
        ),
    )


# ---------------------------------------------------------------- the verdict


def spoke(*texts: str) -> tuple[Spoke, ...]:
    return tuple(Spoke(slug(text), State.PRESENT, text) for text in texts)


def _weights(**decibans: float) -> tuple[Weight, ...]:
    return tuple(Weight(slug(name), value) for name, value in decibans.items())


def _after(return_: float, filter_: float, coil: float, limit: float, gas: float) -> dict[str, float]:
    return {_RETURN: return_, _FILTER: filter_, _COIL: coil, _LIMIT: limit, _GAS: gas}


def verdict() -> Verdict:
    steps = (
        StepWeight(
            2,
            "Read the stored faults, walked the house",
            spoke("limit fault stored", "fine thin filter", "all registers open"),
            _weights(
                return_undersized=0.8, filter_too_restrictive=8.1, coil_plugged=0.4, limit_weak=-0.6, manifold_high=0.1
            ),
            _after(0.22, 0.45, 0.16, 0.05, 0.06),
        ),
        StepWeight(
            3,
            "Watched one call with probes in both airstreams",
            spoke("tripped at 8:40 with 137.1 °F supply air", "rise 70.1 °F at the trip, plate 60 at most"),
            _weights(
                return_undersized=4.2, filter_too_restrictive=4.0, coil_plugged=3.9, limit_weak=-9.4, manifold_high=3.1
            ),
            _after(0.36, 0.58, 0.22, 0.01, 0.09),
        ),
        StepWeight(
            4,
            "Static at the taps",
            spoke("return drop 0.37 in. w.c.", "filter drop 0.33", "coil drop 0.11"),
            _weights(
                return_undersized=13.5,
                filter_too_restrictive=10.8,
                coil_plugged=-14.2,
                limit_weak=0.0,
                manifold_high=-1.8,
            ),
            _after(0.86, 0.91, 0.01, 0.01, 0.05),
        ),
        StepWeight(
            5,
            "Clocked the gas meter",
            spoke("input 70,025 Btu/h, 100 % of the plate"),
            _weights(
                return_undersized=0.3, filter_too_restrictive=0.2, coil_plugged=0.0, limit_weak=0.0, manifold_high=-11.9
            ),
            _after(0.87, 0.91, 0.01, 0.01, 0.004),
        ),
        StepWeight(
            6,
            "Filter out for four minutes",
            spoke("rise falls to 64.3 °F and stays above 60"),
            _weights(return_undersized=6.4, filter_too_restrictive=2.8, coil_plugged=-0.7, limit_weak=-0.4),
            _after(0.95, 0.94, 0.01, 0.01, 0.004),
        ),
        StepWeight(
            7,
            "Filter still out, return opened at the slot",
            spoke("rise falls to 52.1 °F, in range"),
            _weights(return_undersized=11.2, filter_too_restrictive=-0.3, coil_plugged=-5.2),
            _after(0.99, 0.94, 0.003, 0.01, 0.004),
        ),
        StepWeight(
            8,
            "Thermocouple on the face of the limit, slow approach",
            spoke("opened at 194 °F, marked 195"),
            _weights(return_undersized=0.1, limit_weak=-12.6),
            _after(0.99, 0.94, 0.003, 0.001, 0.004),
        ),
    )
    return Verdict(
        outcome=Outcome.CORRECTED,
        answered=True,
        causes=(
            CauseBelief(
                _RETURN,
                "Undersized return",
                0.99,
                Belief.SETTLED,
                Role.ROOT,
                "repaired alone with ordinary upkeep it brings the rise into range",
            ),
            CauseBelief(
                _FILTER,
                "Filter too restrictive",
                0.94,
                Belief.LIKELY,
                Role.HELPED_BY,
                "takes 0.33 of 0.96 in. w.c.; repaired alone the rise stays above the plate",
            ),
            CauseBelief(
                _GAS, "Manifold pressure too high", 0.004, Belief.RULED_OUT, Role.NOT_IT, "clocked 100 % of the plate"
            ),
            CauseBelief(_COIL, "Coil plugged", 0.003, Belief.RULED_OUT, Role.NOT_IT, "0.11 in. w.c. at 695 cfm"),
            CauseBelief(
                _LIMIT, "Limit opens too low", 0.001, Belief.RULED_OUT, Role.NOT_IT, "opened at 194 °F, marked 195"
            ),
        ),
        sets=(SetBelief((_RETURN, _FILTER), 0.93), SetBelief((_RETURN,), 0.05)),
        decided_by="With no filter at all the rise was still 64.3 °F; opening the return brought it to 52.1 °F.",
        steps=steps,
        expected=(
            Expected(
                _RETURN,
                "tap-before-filter",
                "Tap before filter",
                inwc(-0.45),
                inwc(-0.25),
                inwc(-0.37),
                AIR_PRESSURE,
                True,
            ),
            Expected(
                _COIL,
                "tap-before-filter",
                "Tap before filter",
                inwc(-0.12),
                inwc(-0.04),
                inwc(-0.37),
                AIR_PRESSURE,
                False,
            ),
        ),
        what_ifs=(
            WhatIf("as found", (), cfm(696), rise(74.5), rise(-3.0), True, False, False),
            WhatIf(
                "ordinary clean filter, old return", (_FILTER,), cfm(762), rise(68.0), rise(4.0), False, False, False
            ),
            WhatIf("new return, filter as found", (_RETURN,), cfm(846), rise(61.3), rise(14.0), False, False, False),
            WhatIf(
                "new return, ordinary clean filter",
                (_RETURN, _FILTER),
                cfm(925),
                rise(56.1),
                rise(22.0),
                False,
                True,
                True,
            ),
        ),
        next_tests=(
            NextTest(
                "t-flow-grid", "Flow grid at the filter slot", 15, "low", 0.21, "a second airflow by another road"
            ),
        ),
        would_settle=(),
        proven_good=("limit: opened at 194 °F, marked 195",),
        limit_margin=rise(-3.0),
    )


# ---------------------------------------------------------------- options and the whole


def _predicted(name: str, value: Quantity, sd: Quantity, kind: Kind) -> Predicted:
    return Predicted(*Measured.of(value, sd, kind).pair, kind, name)


def options() -> tuple[Option, ...]:
    def one(
        id_: str, name: str, flow: float, warm: float, static: float, holds: str, says: str, **more: object
    ) -> Option:
        return Option(
            id=id_,
            name=name,
            scope=(name,),
            repairs=(_FILTER,),
            airflow=_predicted("airflow", cfm(flow), cfm(0.04 * flow), AIRFLOW),
            rise=_predicted("rise", rise(warm), rise(2.2), TEMPERATURE_DIFFERENCE),
            static=_predicted("external static", inwc(static), inwc(0.03), AIR_PRESSURE),
            outlet=_predicted("outlet", degf(67 + warm), rise(2.5), PROBE_TEMPERATURE),
            limit_margin=_predicted("limit margin", rise(20.0), rise(8.0), TEMPERATURE_DIFFERENCE),
            trips=False,
            holds=holds,
            says=says,
            **more,
        )

    return (
        one(
            "cabinet",
            "Wide filter cabinet only",
            796,
            65.1,
            0.86,
            "complaint only",
            "Stops the tripping and leaves the rise at 65 °F, above the plate's 60.",
        ),
        one(
            "cabinet-and-return",
            "Wide filter cabinet and a second return",
            945,
            54.9,
            0.66,
            "complaint and reading",
            "Rise in range; static stays above the plate's 0.50 in. w.c.",
            breaks_plate=("external static",),
            by_author=True,
        ),
    )


def return_size() -> ReturnSize:
    return ReturnSize(
        airflow=cfm(1008),
        found=q(96, "inch**2"),
        floor=q(112, "inch**2"),
        floor_source="2 in² for each 1,000 Btu/h of output, IMC family",
        needed=q(207, "inch**2"),
        needed_basis="700 fpm in the duct",
        velocity_found=q(1042, "fpm"),
        closes_gap=("12 in. round duct with an 18 × 20 in. grille",),
    )


def workup() -> Workup:
    """The case whole: everything read, settled and corrected."""
    of = case()
    return Workup(
        case=of,
        knowledge=knowledge(),
        survey=survey(of),
        verdict=verdict(),
        stops=(),
        cautions=(
            StepCaution(
                "general",
                "Before you use this page",
                "This page tells of one past job; plate, local code and licence come first.",
                0,
            ),
            StepCaution("gas", "Gas", "Leak-check every joint that was opened.", 5),
        ),
        options=options(),
        return_size=return_size(),
        after=(
            Compared("airflow", options()[1].airflow, cfm(945), True, "945 cfm read, 945 ± 38 predicted"),
            Compared("rise", options()[1].rise, rise(54.9), True, "54.9 °F read, 54.9 ± 2.2 predicted"),
        ),
        repair=AfterRepair(gone=True, goes_on=()),
        problems=(
            Problem(
                Path("casefiles/two-faults-one-return/case.yml"),
                88,
                5,
                "static",
                "0.66 above the plate",
                "a reason",
                severity=Severity.WARNING,
                rule="static-above-plate",
            ),
        ),
    )


def _with_found(base: Workup, **changes: object) -> Workup:
    found = replace(base.survey.sets[0], **changes)
    return with_sets(base, found, *base.survey.sets[1:])


def with_sets(base: Workup, *sets: ReadingSet) -> Workup:
    """The same with other reading sets, the first of which is how the furnace was found."""
    return replace(base, survey=replace(base.survey, case=base.case, sets=sets, found=sets[0]))


def without_tap_before_coil() -> Workup:
    """No tap between furnace and coil as found: drop, static and fan-table airflow are unknown."""
    base = workup()
    known = tuple(d for d in base.survey.sets[0].drops if d.part != "coil")
    return _with_found(
        base,
        taps=taps(-0.37, -0.70, None, 0.15),
        drops=known,
        static=None,
        airflow=base.survey.sets[0].airflow[:1],
        static_note="no tap between furnace and coil",
    )


def off_the_fan_line() -> Workup:
    """Low static with low airflow: the blower moves far less than its table says."""
    flow = estimate(cfm(695), cfm(28), AIRFLOW, Method.RISE_CLOCKED)
    table = estimate(cfm(1105), cfm(70), AIRFLOW, Method.FAN_TABLE)
    return _with_found(
        workup(),
        taps=taps(-0.07, -0.14, 0.18, 0.08),
        airflow=(flow, table),
        best_airflow=flow,
        agree=False,
        static=estimate(inwc(0.32), inwc(0.015), AIR_PRESSURE, Method.ACROSS_BOUNDARY),
        drops=drops(695, 695, **{"return": 0.07, "filter": 0.07, "coil": 0.10, "supply": 0.08}),
    )


def sparse() -> Workup:
    """Hardly anything was read: no taps, no log, no input, no fan table, and nothing is settled."""
    base = workup()
    bare = tuple(s.model_copy(update={"readings": (), "log": None}) for s in base.case.steps[:2])
    file = base.case.file.model_copy(update={"return_": (), "furnace": None, "blower": None})
    of = base.case.model_copy(update={"steps": bare, "fan_table": None, "file": file})
    empty = ReadingSet(name="as found", state={}, steps=(1, 2), phase="found", visit=0, readings={})
    belief = tuple(replace(c, role=Role.OPEN, belief=Belief.POSSIBLE, probability=0.3) for c in base.verdict.causes)
    return replace(
        base,
        case=of,
        options=(),
        return_size=None,
        after=(),
        survey=replace(
            base.survey,
            case=of,
            heat=replace(base.survey.heat, plate_input=None, output=None),
            sets=(empty,),
            found=empty,
            logs=(),
            limit=None,
            findings=(),
            voided=(),
            works=(),
        ),
        verdict=replace(
            base.verdict,
            outcome=Outcome.UNDETERMINED,
            answered=False,
            causes=belief,
            sets=(),
            steps=(),
            expected=(),
            what_ifs=(),
            decided_by="",
            would_settle=("static at the taps",),
        ),
    )


def stopped() -> Workup:
    """The same case with a stop-use notice still open."""
    notice = StopNotice(
        "breach",
        "Heat exchanger suspected open",
        "Out of service: this furnace must not run.",
        "Gas off, power off, occupant and gas supplier told in writing.",
        "the flame bent when the blower started",
        3,
        True,
        True,
    )
    base = workup()
    return replace(base, stops=(notice,), verdict=replace(base.verdict, outcome=Outcome.STOPPED))


def coil_matted() -> Workup:
    """Another fault on the same furnace: the coil takes nearly all, and the return is short of nothing."""
    return _with_found(
        workup(),
        taps=taps(-0.07, -0.12, 0.90, 0.07),
        static=estimate(inwc(1.02), inwc(0.015), AIR_PRESSURE, Method.ACROSS_BOUNDARY),
        drops=drops(695, 695, **{"return": 0.07, "filter": 0.05, "coil": 0.83, "supply": 0.07}),
    )


def bent_flame() -> Workup:
    """CO and oxygen jump when the blower starts, and the clocked input stands above a plate adjusted for altitude."""
    base = workup()
    adjusted = base.case.file.furnace.model_copy(update={"adjusted_input": btuh(61600)})
    of = base.case.model_copy(update={"file": base.case.file.model_copy(update={"furnace": adjusted})})
    readings = dict(base.survey.sets[0].readings)
    for name, value in (
        ("co-in-flue-after-blower", q(160, "ppm_")),
        ("oxygen-in-flue-after-blower", q(11.5, "percent_")),
    ):
        readings[name] = Taken(reading=name, value=value, step=3)
    changed = _with_found(replace(base, case=of), readings=readings)
    heat = replace(changed.survey.heat, plate_input=qty.si(btuh(61600), HEAT_RATE))
    return replace(changed, survey=replace(changed.survey, heat=heat))


def cold_room() -> Workup:
    """One room's air, door open and shut: as found, with its run straightened, and after the repair."""
    base = workup()

    def one(name: str, phase: str, step: int, opened: float, shut: float, pressure: float) -> ReadingSet:
        values = {
            "room-flow-open": cfm(opened),
            "room-flow-closed": cfm(shut),
            "room-share": cfm(112),
            "room-pressure": q(pressure, "Pa"),
        }
        return ReadingSet(
            name=name,
            state={},
            steps=(step,),
            phase=phase,
            visit=0,
            readings={k: Taken(reading=k, value=v, step=step) for k, v in values.items()},
        )

    sets = (
        one("as found", "found", 4, 68, 50, 10.5),
        one("changed: run straightened", "changed", 6, 115, 92, 7.5),
        one("after repair", "after", 9, 116, 110, 2.0),
    )
    base = with_sets(base, *sets)
    return replace(base, survey=replace(base.survey, logs=()))


def with_damage() -> Workup:
    """As the whole case, with two things damaged by the overheating."""
    base = workup()
    damage = (
        CauseBelief("limit-tired", "Limit tired by thousands of openings", 0.4, Belief.POSSIBLE, Role.DAMAGE, ""),
        CauseBelief("exchanger-cracked", "Heat exchanger cracked", 0.1, Belief.UNLIKELY, Role.DAMAGE, ""),
    )
    return replace(base, verdict=replace(base.verdict, causes=(*base.verdict.causes, *damage)))
