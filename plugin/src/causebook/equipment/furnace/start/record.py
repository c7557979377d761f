"""What a record holds about a start: plate, readings, looks, the board's memory, and what was tried.

Numbers are in the units of the trade (V, in. w.c., µA, ppm, %, s), pressures of suction positive.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from causebook import quantity as qty
from causebook.casefile.model import Case, CaseStep, Taken
from causebook.equipment.furnace.start.readings import shown
from causebook.equipment.furnace.start.sequence import Plate
from causebook.knowledge.model import Knowledge, slug
from causebook.survey import numbers
from causebook.survey.model import State, Survey

SUCTION = "suction"
TRIES: Mapping[tuple[str, str], Mapping[str, float]] = {
    ("vent", "disconnected"): {"vent": 3.0},
    ("vent", "off"): {"vent": 3.0},
    ("vent", "removed"): {"vent": 3.0},
    ("vent", "opened"): {"vent": 3.0},
    ("intake", "disconnected"): {"intake": 3.0},
    ("intake", "off"): {"intake": 3.0},
    ("intake", "removed"): {"intake": 3.0},
    ("thermostat", "bridged"): {"thermostat": 1.0},
    ("thermostat", "jumped"): {"thermostat": 1.0},
    ("thermostat", "bypassed"): {"thermostat": 1.0},
    ("flame-rod", "cleaned"): {"film": 1.0},
    ("flame-rod", "wiped"): {"film": 1.0},
    ("drain", "opened"): {"keeps": 1.0, "drain": 1.0},
    ("trap", "opened"): {"keeps": 1.0, "drain": 1.0},
}
"""(part, what was done to it for a try) -> devices that this puts right or takes away.

A call made at the board's own heat terminals is the thermostat's job done by hand; no safety is ever bridged.
"""
STARTS = re.compile(r"\b(starts?|lights?|lit|runs?|ran|fires?|fired|ignites?|burns?|works?|comes on|started)\b")
FAILS = re.compile(
    r"\b(nothing|no change|still|same|not|never|no (start|flame|light|heat)|fails?|failed|won't|doesn't|dead)\b"
)
MEMORY = re.compile(r"memory|fault|stored|code|board (says|shows)|flash|blink|display", re.I)


@dataclass(frozen=True)
class Try:
    """Something put right or taken away for a try, and what came of it."""

    what: str
    puts: Mapping[str, float]
    readings: Mapping[str, float]
    started: bool | None
    """Did it start, in the words of the step?  None: not said."""


@dataclass(frozen=True)
class Record:
    """All of it."""

    plate: Plate
    family: str
    readings: Mapping[str, float]
    input: float | None
    """Clocked input over the plate's."""
    seen: Mapping[str, float]
    """Finding that somebody looked for -> share of the looks that say it is there; not those that a meter tells."""
    memory: frozenset[str]
    """Groups of messages in the board's memory."""
    memory_read: bool
    tries: tuple[Try, ...]
    intermittent: bool | None
    """Was it told to come and go?"""


def record_of(case: Case, surveyed: Survey, knowledge: Knowledge) -> Record:
    """The record of one case, as found since the last repair."""
    found = surveyed.found
    last = max((s.repairs for s in surveyed.sets if s.phase == "found"), default=0)
    steps = [s for s in case.steps if not s.step.after and (not last or s.visit >= _visit(surveyed))]
    seen = {
        f.id: f.probability
        for f in sorted(surveyed.findings, key=lambda f: f.id)
        if f.state in (State.PRESENT, State.ABSENT, State.UNCLEAR) and not f.readings
    }
    memory = _memory(steps, knowledge)
    told = seen.get("happens-intermittently")
    clocked = None
    if found.input is not None and surveyed.plate_input is not None:
        clocked = qty.si(found.input.value, qty.HEAT_RATE) / qty.si(surveyed.plate_input, qty.HEAT_RATE)
    return Record(
        _plate(case),
        case.file.complaint.family,
        _readings(found.readings, knowledge),
        clocked,
        seen,
        memory or frozenset(),
        memory is not None,
        _tries(steps, surveyed, knowledge),
        None if told is None or told == 0.5 else told > 0.5,
    )


def _visit(surveyed: Survey) -> int:
    return min((s.visit for s in surveyed.sets if s.phase == "found"), default=1)


def _plate(case: Case) -> Plate:
    furnace = case.file.furnace
    if furnace is None:
        return Plate(closes_known=False)
    usual = Plate()
    switch = furnace.pressure_switch
    closes = abs(qty.us(switch.closes, qty.AIR_PRESSURE)) if switch else usual.closes
    opens = switch.opens if switch else None
    flame = furnace.flame_current_usual
    low, high = furnace.inlet_range or (None, None)
    return Plate(
        closes,
        abs(qty.us(opens, qty.AIR_PRESSURE)) if opens is not None else 0.85 * closes,
        _flame(furnace.flame_current_minimum, usual.flame_least),
        None if flame is None else qty.us(flame, qty.FLAME_CURRENT),
        usual.manifold if furnace.manifold is None else qty.us(furnace.manifold, qty.GAS_PRESSURE),
        usual.inlet_least if low is None else qty.us(low, qty.GAS_PRESSURE),
        usual.inlet_most if high is None else qty.us(high, qty.GAS_PRESSURE),
        switch is not None,
    )


def _flame(least: qty.Quantity | None, usual: float) -> float:
    return usual if least is None else qty.us(least, qty.FLAME_CURRENT)


def _readings(taken: Mapping[str, Taken], knowledge: Knowledge) -> dict[str, float]:
    """Reading id -> number, of those that a start shows."""
    out = {}
    # In the order of their names, so that the same readings give the same numbers however they were typed.
    for reading, one in sorted(taken.items()):
        if shown(reading) is None:
            continue
        value = qty.us(one.value, numbers.kind_of(reading, knowledge))
        out[reading] = abs(value) if reading.startswith((SUCTION, "pressure-switch-opened")) else value
    return out


def _memory(steps: list[CaseStep], knowledge: Knowledge) -> frozenset[str] | None:
    """Groups of messages that the steps tell of the memory; None where nobody says he read it."""
    groups: set[str] = set()
    read = False
    for step in steps:
        text = f"{step.step.do}. {step.step.told}"
        if not step.step.told or not MEMORY.search(text):
            continue
        read = True
        told = step.step.told.lower().replace("-", " ")
        hits = [(len(word), group.id) for group in knowledge.messages.values() for word in group.words if word in told]
        # "Pressure switch closed" is no message of an open one: the longest words that fit decide.
        if hits:
            groups.add(max(hits)[1])
    return frozenset(groups) if read else None


def _tries(steps: list[CaseStep], surveyed: Survey, knowledge: Knowledge) -> tuple[Try, ...]:
    out = []
    lasting: dict[str, str] = {}
    visit = 0
    for step in steps:
        if step.visit != visit:
            visit, lasting = step.visit, {}
        lasting |= step.step.changed
        puts: dict[str, float] = {}
        for part, how in {**lasting, **step.step.with_}.items():
            puts |= TRIES.get((slug(part), slug(how).split("-")[0]), {})
        if puts:
            readings = _readings({t.reading: t for t in step.readings if not t.void}, knowledge)
            started = _started(step.step.told)
            if readings or started is not None:
                out.append(Try(step.step.do, puts, readings, started))
    return tuple(out)


def _started(told: str) -> bool | None:
    """Does a step's text say that it started?  Only its first words count, before anything else is told."""
    first = re.split(r"[.;,]", told.strip().lower())[0]
    if not first:
        return None
    if FAILS.search(first):
        return False
    return True if STARTS.search(first) else None
