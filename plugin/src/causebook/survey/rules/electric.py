"""The limit and its circuit, and the blower motor."""

from __future__ import annotations

import functools
from dataclasses import replace

from causebook import quantity as qty
from causebook.knowledge.model import Finding
from causebook.measured import chance_above
from causebook.quantity import Kind, Quantity
from causebook.survey import numbers
from causebook.survey.model import RuleContext
from causebook.survey.rules.air import airflow_low
from causebook.survey.rules.common import RISE, Judged, limit_of, over, registry

RULES, rule = registry()
SAFETIES = ("volts-across-auxiliary-limit", "volts-across-rollout-switch", "volts-across-vent-switch")
"""Devices of the limit's string beside the limit itself."""


@rule("limit-opens-low")
def _limit_opens_low(facts: RuleContext, known: Finding) -> Judged | None:
    past = _opened_past(facts, known, "weak from")
    return None if past is None else replace(past, probability=1 - past.probability)


@rule("limit-stays-closed")
def _limit_stays_closed(facts: RuleContext, known: Finding) -> Judged | None:
    face = facts.gauge("limit-face")
    # A face that hot in a steady fire is that of a closed limit; a cooler one does not tell when it would open.
    burning = face and _past_marking(facts, known, face, "limit still closed at", "does not protect from", "limit-face")
    return burning if burning and burning.probability > 0.5 else _opened_past(facts, known, "does not protect from")


def _opened_past(facts: RuleContext, known: Finding, against: str) -> Judged | None:
    if facts.limit is None or facts.limit.opened_at is None:
        return None
    return _past_marking(facts, known, facts.limit.opened_at.pair, "limit opened at", against, "limit-opened-at")


def _past_marking(
    facts: RuleContext, known: Finding, face: tuple[float, float], words: str, against: str, reading: str
) -> Judged | None:
    """Was the limit's face further over its marking than the finding's limit (below zero: under it)?"""
    if facts.limit is None or facts.limit.marked is None:
        return None
    gap, least = face[0] - qty.si(facts.limit.marked, qty.TEMPERATURE), limit_of(known, RISE)
    at = qty.show(qty.from_si(face[0], qty.TEMPERATURE), qty.TEMPERATURE)
    apart, bound = (f"{qty.show(qty.from_si(abs(x), RISE), RISE)} {'over' if x > 0 else 'under'}" for x in (gap, least))
    marked = qty.show(facts.limit.marked, qty.TEMPERATURE, 0)
    return Judged(
        chance_above(gap, face[1], least),
        f"{words} {at}, {apart} its marking ({against} {bound})",
        (reading,),
        at,
        marked,
    )


@rule("limit-volts")
def _limit_volts(facts: RuleContext, known: Finding) -> Judged | None:
    read = facts.gauge("volts-across-limit")
    # Near control voltage the limit is open, which is no contact drop.
    if read is None or read[0] > 15:
        return None
    return over(
        read,
        limit_of(known, qty.VOLTAGE),
        qty.VOLTAGE,
        "across the closed limit",
        "looked at above",
        ("volts-across-limit",),
    )


@rule("other-device-open")
def _other_device_open(facts: RuleContext, known: Finding) -> Judged | None:
    names = [r for r in SAFETIES if r in facts.found.readings]
    best = max((numbers.value(facts.found.readings[r], facts.knowledge), r) for r in names) if names else None
    if best is None:
        return None
    words = f"{best[0]:.1f} V {best[1].removeprefix('volts-').replace('-', ' ')}"
    return Judged(chance_above(best[0], 2.0, 12.0), words, (best[1],))


def _missing(facts: RuleContext, known: Finding, reading: str) -> Judged | None:
    """Is a voltage missing where it is due?"""
    read = facts.gauge(reading)
    return (
        None
        if read is None
        else over(
            read,
            limit_of(known, qty.VOLTAGE),
            qty.VOLTAGE,
            facts.knowledge.readings[reading].name.lower(),
            "missing below",
            (reading,),
            below=True,
        )
    )


for _name, _reading in (
    ("no-call", "call-volts"),
    ("no-line-volts", "line-volts"),
    ("blower-lead-dead", "volts-at-blower-lead"),
    ("igniter-not-fed", "igniter-volts"),
    ("inducer-not-fed", "inducer-volts"),
):
    RULES[_name] = functools.partial(_missing, reading=_reading)


@rule("control-volts-missing")
def _control_volts(facts: RuleContext, known: Finding) -> Judged | None:
    missing, fuse = _missing(facts, known, "secondary-volts"), facts.gauge("volts-across-fuse")
    if fuse is None or missing is not None and missing.probability > 0.5:
        return missing
    # Before an open fuse all is there, behind it nothing.
    open_ = over(
        fuse, limit_of(known, qty.VOLTAGE), qty.VOLTAGE, "across the fuse", "open above", ("volts-across-fuse",)
    )
    return open_ if missing is None or open_.probability > 0.5 else missing


@rule("igniter-open")
def _igniter_open(facts: RuleContext, known: Finding) -> Judged | None:
    read = facts.gauge("igniter-resistance")
    if read is None:
        return None
    judged = over(
        read, limit_of(known, qty.RESISTANCE), qty.RESISTANCE, "igniter", "open above", ("igniter-resistance",)
    )
    # A crack that was seen may still read whole when cold.
    return None if judged.probability < 0.5 and facts.saw(known.id) else judged


@rule("valve-shut")
def _valve_shut(facts: RuleContext, known: Finding) -> Judged | None:
    commanded, manifold = facts.gauge("volts-at-gas-valve"), facts.gauge("manifold")
    inlet = facts.taken("gas-inlet", "gas-inlet-all-on", "gas-inlet-at-rest")
    if commanded is None or manifold is None:
        return None
    least = limit_of(known, qty.GAS_PRESSURE)
    judged = over(
        manifold,
        least,
        qty.GAS_PRESSURE,
        f"{commanded[0]:.1f} V at the gas valve, manifold",
        "shut below",
        ("volts-at-gas-valve", "manifold"),
        below=True,
    )
    if judged.probability < 0.5:
        return judged
    if inlet is None:  # gas shut off before the valve shows the same
        return None
    given = chance_above(*commanded, facts.constant("control-volts-low") / 2) * chance_above(
        numbers.value(inlet, facts.knowledge), numbers.sd(inlet, facts.knowledge), least
    )
    return replace(judged, probability=judged.probability * given, readings=(*judged.readings, inlet.reading))


def _against_line(facts: RuleContext, reading: str, share: float) -> Judged | None:
    """Is a voltage below a share of the line's: of that read, or the usual one where it is higher?"""
    read, line = facts.gauge(reading), facts.gauge("line-volts")
    if read is None:
        return None
    full = max(facts.constant("line-volts"), line[0] if line else 0.0)
    return over(
        read,
        share * full,
        qty.VOLTAGE,
        facts.knowledge.readings[reading].name.lower(),
        "low below",
        (reading, *(("line-volts",) if line else ())),
        below=True,
    )


@rule("motor-volts-low")
def _motor_volts_low(facts: RuleContext, known: Finding) -> Judged | None:
    return _against_line(facts, "volts-at-motor", limit_of(known, qty.RATIO))


@rule("inducer-volts-full")
def _inducer_slow(facts: RuleContext, known: Finding) -> Judged | None:
    low = _against_line(facts, "inducer-volts", limit_of(known, qty.RATIO))
    # Without its voltage the inducer is not what is slow; with it, only eye and ear tell.
    return None if low is None or low.probability < 0.5 else replace(low, probability=1 - low.probability)


def against_plate(
    facts: RuleContext, reading: str, plate: Quantity | None, kind: Kind, share: float, words: str, below: bool
) -> Judged | None:
    """Is a reading over (or below) a share of what the plate says?"""
    read = facts.gauge(reading)
    if read is None or plate is None:
        return None
    limit = share * qty.si(plate, kind)
    return over(read, limit, kind, words, "low below" if below else "high above", (reading,), below)


@rule("speed-slow")
def _speed_slow(facts: RuleContext, known: Finding) -> Judged | None:
    blower = facts.case.file.blower
    return against_plate(
        facts,
        "motor-speed",
        blower.speed if blower else None,
        qty.SPEED,
        limit_of(known, qty.RATIO),
        "motor speed",
        True,
    )


@rule("capacitor-low")
def _capacitor_low(facts: RuleContext, known: Finding) -> Judged | None:
    blower = facts.case.file.blower
    return against_plate(
        facts,
        "capacitor",
        blower.capacitor if blower else None,
        qty.CAPACITANCE,
        limit_of(known, qty.RATIO),
        "capacitor",
        True,
    )


@rule("amps-high")
def _amps_high(facts: RuleContext, known: Finding) -> Judged | None:
    blower = facts.case.file.blower
    return against_plate(
        facts, "motor-amps", blower.full_load if blower else None, qty.CURRENT, 1.0, "motor current", False
    )


@rule("amps-low")
def _amps_low(facts: RuleContext, known: Finding) -> Judged | None:
    blower, low = facts.case.file.blower, airflow_low(facts, known)
    judged = against_plate(
        facts,
        "motor-amps",
        blower.full_load if blower else None,
        qty.CURRENT,
        limit_of(known, qty.RATIO),
        "motor current",
        True,
    )
    if judged is None or low is None:
        return None
    return Judged(judged.probability * low.probability, f"{judged.because}; {low.because}", judged.readings)
