"""Is it hot, or is the switch wrong?  What temperatures and voltages say about the high limit and its circuit."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from causebook import quantity as qty
from causebook.casefile.model import Case, Taken
from causebook.casefile.review import RULES
from causebook.knowledge.model import Knowledge
from causebook.physics.circuit import Contact, SwitchState, read_switches
from causebook.physics.surface import surface_behind
from causebook.quantity import Quantity
from causebook.survey import numbers
from causebook.survey.heat import ROOM, rise_at_trip, stated_as
from causebook.survey.model import Estimate, FindingState, LimitEvidence, Method, ReadingSet, State, Voided

DEVICES = ("fuse", "door-switch", "limit", "auxiliary-limit", "rollout-switch", "vent-switch", "pressure-switch")
"""Devices of the control string in the order current meets them, by reading id."""
OPENINGS = frozenset(
    {"limit-fault-stored", "limit-opened-while-watched", "burner-off-with-blower-on", "trip-after-call"}
)
"""Findings that say that the limit opened."""
STILL = frozenset({"no-volts-at-blower-lead", "motor-without-command", "hums-without-starting"})
"""Findings that say that the blower stood still."""
HARDLY, SURELY = 0.1, 0.9
"""Chance that the air explains the opening below which it does not, and above which it does; expert estimate."""
NOT_HOT = "The air does not explain the opening: look at contacts, wires and the rest of the circuit."
CONTROL = qty.q(24.0, "V")
"""Control voltage, where the secondary was not read."""


def limit_evidence(
    case: Case, sets: Sequence[ReadingSet], voided: Sequence[Voided], knowledge: Knowledge
) -> LimitEvidence | None:
    """The evidence about the limit; None when the plate names no limit and nothing about it was read."""
    furnace = case.file.furnace
    marked = furnace.limit.opens if furnace and furnace.limit else None
    readings: dict[str, Taken] = {}
    for one in sets:
        if one.phase in ("found", "changed"):
            readings.update(one.readings)
    chain = chain_of(readings, knowledge)
    opened = readings.get("limit-opened-at")
    if marked is None and opened is None and not chain:
        return None
    opened_at = stated_as(opened, Method.ON_LIMIT_FACE, knowledge) if opened else None
    trip = next(
        (r for s in reversed(sets) if s.phase == "found" if (r := rise_at_trip(s.readings, "", knowledge)) is not None),
        None,
    )
    steady = next((s.rise for s in reversed(sets) if s.phase == "found" and s.rise), None)
    back = next(
        (s.readings["return-air"] for s in reversed(sets) if s.phase == "found" and "return-air" in s.readings), None
    )
    body = body_of(steady or trip, back, knowledge)
    maximum = furnace.rise[1] if furnace and furnace.rise else None
    in_range = (
        None
        if trip is None or maximum is None
        else bool(qty.si(trip.value, qty.TEMPERATURE_DIFFERENCE) <= qty.si(maximum, qty.TEMPERATURE_DIFFERENCE))
    )
    air = readings.get("supply-air-at-trip")
    return LimitEvidence(
        marked,
        opened_at,
        body,
        _value(air),
        trip.value if trip else None,
        in_range,
        overheating(body, marked),
        surface_note(voided, readings, knowledge),
        "; ".join(f"{c.name} {c.state}: {c.reason}" for c in chain),
        next((c.name for c in chain if c.state is Contact.OPEN), ""),
    )


def body_of(rise: Estimate | None, back: Taken | None, knowledge: Knowledge) -> Estimate | None:
    """Temperature of the limit body = return + factor × rise, with the spread of the factor."""
    if rise is None or back is None:
        return None
    factor = knowledge.constants["limit-body-factor"]
    size, spread = rise.pair
    return Estimate(
        numbers.value(back, knowledge) + factor.value * size,
        math.hypot(factor.value * spread, factor.spread * size),
        qty.PROBE_TEMPERATURE,
        Method.LIMIT_BODY,
        (*rise.readings, "return-air"),
    )


def overheating(body: Estimate | None, marked: Quantity | None) -> float | None:
    """Chance that the limit body reaches its marking in steady fire; None when it cannot be worked out."""
    if body is None or marked is None:
        return None
    return body.above(qty.si(marked, qty.TEMPERATURE))


def chain_of(readings: Mapping[str, Taken], knowledge: Knowledge) -> tuple[SwitchState, ...]:
    """The state of each device of the limit string whose voltages were read; empty when none were."""
    before = {d: readings.get(f"volts-to-common-before-{d}") for d in DEVICES}
    after = {d: readings.get(f"volts-to-common-after-{d}") for d in DEVICES}
    across = {d: readings.get(f"volts-across-{d}") for d in DEVICES}
    read = [d for d in DEVICES if before[d] or after[d] or across[d]]
    if not read:
        return ()
    points: list[Quantity | None] = [_value(before[read[0]])]
    for place, device in enumerate(read):
        following = before[read[place + 1]] if place + 1 < len(read) else None
        points.append(_value(after[device] or following))
    supply = readings.get("secondary-volts")
    return tuple(
        read_switches(
            [d.replace("-", " ") for d in read], _value(supply) or CONTROL, points, [_value(across[d]) for d in read]
        )
    )


def _value(taken: Taken | None) -> Quantity | None:
    return taken.value if taken else None


def surface_note(voided: Sequence[Voided], readings: Mapping[str, Taken], knowledge: Knowledge) -> str:
    """What an infrared reading of bare metal is worth: the true temperature it could have hidden."""
    struck = next((v.taken for v in voided if v.taken.reading.startswith("infrared") and v.rule not in RULES), None)
    if struck is None:
        return ""
    shown = numbers.value(struck, knowledge)
    room = qty.si(ROOM, qty.TEMPERATURE)
    set_to, bare = (numbers.constant(knowledge, n) for n in ("emissivity-tape", "emissivity-bare-metal"))
    true = qty.from_si(surface_behind.si(max(shown, room), room, bare, set_to), qty.TEMPERATURE)
    return (
        f"Infrared read {qty.show(struck.value, qty.TEMPERATURE)} on bare metal; at an emissivity of {bare:.2f} "
        f"the metal may have been near {qty.show(true, qty.TEMPERATURE)}, and a skin is not the air."
    )


def with_verdict(limit: LimitEvidence | None, findings: Sequence[FindingState]) -> LimitEvidence | None:
    """The evidence with its verdict in a sentence: empty where no opening was seen, remembered or tried."""
    return None if limit is None else replace(limit, verdict=_verdict(limit, {f.id: f for f in findings}))


def _verdict(limit: LimitEvidence, told: Mapping[str, FindingState]) -> str:
    there = {name for name, finding in told.items() if finding.state is State.PRESENT}
    if "limit-stays-closed-hot" in there:
        return f"{told['limit-stays-closed-hot'].because}. It does not protect."
    if limit.opened_at is not None and "limit-opens-low" in told:
        return _tested(limit, told["limit-opens-low"], told.get("limit-stays-closed-hot"), bool(there & OPENINGS))
    if limit.open_device:
        return f"The voltages show the {limit.open_device} open."
    if not there & OPENINGS and limit.air_at_trip is None:
        return ""
    if STILL & there:
        return "No air moved: the metal grew as hot as the limit allows, and opening was right."
    hot = limit.overheating
    if hot is not None and hot < HARDLY and limit.rise_in_range_at_trip is not False:
        return NOT_HOT
    if hot is not None and hot > SURELY:
        return "The air explains the opening: the limit was doing its duty. It has not itself been proven."
    if limit.rise_in_range_at_trip is False:
        return (
            "The rise was above the plate's maximum when the limit opened: heat explains it. The limit has not "
            "itself been proven."
        )
    if hot is None:
        return "Nothing read at the opening says whether it was hot; the limit has not been proven."
    return "Heat alone neither explains the opening nor excludes it; the limit has not been proven."


def _tested(limit: LimitEvidence, low: FindingState, high: FindingState | None, opened: bool) -> str:
    """What the thermocouple on its face showed, and what that leaves of an opening in service.

    `high` is None where nothing says whether it opens late: without its marking an eye can only say that it opens low.
    """
    if low.state is State.PRESENT:
        return f"{low.because}."
    if high is None or State.UNCLEAR in (low.state, high.state):
        return f"The limit is neither proven good nor bad: {low.because}."
    hot = limit.overheating
    duty = " and was doing its duty" if hot is not None and hot > 0.5 else ""
    rest = f" {NOT_HOT}" if opened and hot is not None and hot < HARDLY else ""
    return f"The limit is good{duty}. {low.because}.{rest}"
