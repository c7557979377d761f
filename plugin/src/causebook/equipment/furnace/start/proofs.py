"""What a reading or a look proves of a device at that moment: by rule, before anything is weighed.

A proof is a statement about a start (`holds`), true or false of every draw of every set.  What cannot be so is ruled
out; what comes and goes may have been away.  Limits lie far from anything a sound meter could mistake.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from causebook.equipment.furnace.start.devices import Flags
from causebook.equipment.furnace.start.record import Record
from causebook.equipment.furnace.start.sequence import GAS, HOLD, IGNITER, INDUCER, LIGHT, SENSE, Start

LIVE, DEAD_VOLTS = 15.0, 4.0
"""A 24 V circuit shows more than the first where it is live, and less than the second where it is dead [V]."""
LINE_LIVE, LINE_DEAD = 80.0, 25.0
"""The same of line voltage; a dead wire beside a live one shows some tens of volts [V]."""
WHOLE, BROKEN = 1000.0, 1e4
"""An igniter below the first is whole, over the second open [ohm]."""
SUCKS = 0.1
"""Suction that no inducer makes that stands still [in. w.c.]."""
OPEN_SWITCHES = {
    "limit": "limit",
    "auxiliary-limit": "auxiliary",
    "rollout-switch": "rollout",
    "vent-switch": "vent-switch",
}


@dataclass(frozen=True)
class Proof:
    """One thing proven."""

    says: str
    """What was read, and what it proves."""
    holds: Callable[[Start], Flags]
    by_eye: bool = False
    live: bool = True
    """Does it prove something good, so that it can clear a cause?"""
    about: frozenset[str] = frozenset()
    """The devices that it can clear; empty: any."""


def _bad(says: str, holds: Callable[[Start], Flags], by_eye: bool = False) -> Proof:
    """Something proven open, dead or shut: it must be explained, and clears nobody."""
    return Proof(says, holds, by_eye, live=False)


def proofs(record: Record) -> Iterator[Proof]:
    """All that the record proves."""
    yield from _power(record)
    yield from _string(record)
    yield from _line(record)
    yield from _suction(record)
    yield from _gas(record)
    yield from _flame(record)
    yield from _looks(record)
    yield from _tries(record)


def _volts(record: Record, reading: str) -> float | None:
    return record.readings.get(reading)


def _power(record: Record) -> Iterator[Proof]:
    line, secondary, call = (_volts(record, r) for r in ("line-volts", "secondary-volts", "call-volts"))
    if line is not None and line >= LINE_LIVE:
        yield Proof(f"{line:.0f} V line: the furnace has power", lambda s: s._live("line"))
    if line is not None and line <= LINE_DEAD:
        yield _bad(f"{line:.0f} V line: no power arrives", lambda s: ~s._live("line"))
    if secondary is not None and secondary >= LIVE:
        yield Proof(f"{secondary:.1f} V at the secondary: the transformer is good", lambda s: s.secondary)
    if secondary is not None and secondary <= DEAD_VOLTS:
        yield _bad(f"{secondary:.1f} V at the secondary: no 24 volts", lambda s: ~s.secondary)
    if call is not None and call >= LIVE:
        yield Proof(f"{call:.1f} V at the heat terminal: the call is there", lambda s: s.called)
    if call is not None and call <= DEAD_VOLTS:
        yield _bad(f"{call:.1f} V at the heat terminal: no call arrives", lambda s: ~s.called)
    for device, name in (("fuse", "fuse"), ("door-switch", "door")):
        across = _volts(record, f"volts-across-{device}")
        if across is not None and across >= LIVE:
            yield _bad(
                f"{across:.1f} V across the {device.replace('-', ' ')}: it is open",
                lambda s, name=name: s.secondary & ~s._live(name),
            )
        after, before = (_volts(record, f"volts-to-common-{w}-{device}") for w in ("after", "before"))
        if after is not None and after >= LIVE:
            yield Proof(
                f"{after:.1f} V behind the {device.replace('-', ' ')}: it passes",
                lambda s, name=name: s.secondary & s._live(name),
            )
        if after is not None and after <= DEAD_VOLTS:
            known_fed = before is not None and before >= LIVE or secondary is not None and secondary >= LIVE
            if known_fed and device == "fuse":
                yield _bad(f"{after:.1f} V behind the fuse: it is open", lambda s: ~s._live("fuse"))


def _string(record: Record) -> Iterator[Proof]:
    """The string of safeties, from the volts across each switch and to common on both sides."""
    for device, name in OPEN_SWITCHES.items():
        words = device.replace("-", " ")
        across = _volts(record, f"volts-across-{device}")
        if across is not None and across >= LIVE:
            if name == "limit":
                yield _bad(
                    f"{across:.1f} V across the limit: the string is open there",
                    lambda s: s.powered & ~(s._live("limit") & (s.devices("joint") > 1e-4)),
                )
            else:
                yield _bad(
                    f"{across:.1f} V across the {words}: it is open",
                    lambda s, name=name: s.powered & ~s._live(name) & s._live("limit"),
                )
        after = _volts(record, f"volts-to-common-after-{device}")
        before = _volts(record, f"volts-to-common-before-{device}")
        if after is not None and after >= LIVE:
            passed = [n for n in _upto(device)]
            yield Proof(
                f"{after:.1f} V behind the {words}: everything up to it is made",
                lambda s, passed=passed: s.powered & s._live(*passed) & (s.devices("joint") > 1e-4),
            )
        if after is not None and after <= DEAD_VOLTS and before is not None and before >= LIVE:
            yield _bad(
                f"{before:.1f} V before the {words}, {after:.1f} behind it: it is open",
                lambda s, name=name: s.powered & ~(s._live(name) & (s.devices("joint") > 1e-4)),
            )
    across, before, after = (
        _volts(record, f"volts-{w}-pressure-switch") for w in ("across", "to-common-before", "to-common-after")
    )
    if across is not None and across >= LIVE:
        yield Proof(
            f"{across:.1f} V across the pressure switch: the string of safeties before it is made",
            lambda s: s.powered & s.switches_made,
        )
        yield _bad(f"{across:.1f} V across the pressure switch: it is open", _switch_open)
    if before is not None and before >= LIVE:
        yield Proof(
            f"{before:.1f} V before the pressure switch: the string of safeties is made",
            lambda s: s.powered & s.switches_made,
        )
    if after is not None and after >= LIVE:
        yield Proof(
            f"{after:.1f} V behind the pressure switch: it is closed",
            lambda s: s.powered & s.switches_made & (s.made | ~s.opened_at_rest),
        )


def _switch_open(start: Start) -> Flags:
    """Is the pressure switch open when somebody holds a meter to it?  One that opens in the run may be either."""
    in_run = start.comes_to(HOLD) & (start.kept < start.lets_go)
    return (start.opened_at_rest & ~(start.made & start.inducer_runs)) | in_run


def _upto(device: str) -> list[str]:
    names = list(OPEN_SWITCHES.values())
    order = list(OPEN_SWITCHES)
    return names[: order.index(device) + 1]


def _line(record: Record) -> Iterator[Proof]:
    inducer, igniter = _volts(record, "inducer-volts"), _volts(record, "igniter-volts")
    if inducer is not None and inducer >= LINE_LIVE:
        yield Proof(f"{inducer:.0f} V at the inducer: it is fed", lambda s: s.inducer_told)
    if inducer is not None and inducer <= LINE_DEAD:
        yield _bad(f"{inducer:.0f} V at the inducer: it is not fed", lambda s: ~s.inducer_told)
    if igniter is not None and igniter >= LINE_LIVE:
        yield Proof(
            f"{igniter:.0f} V at the igniter: everything before it is proven",
            lambda s: s.comes_to(IGNITER) & s.igniter_fed,
        )
    if igniter is not None and igniter <= LINE_DEAD:
        yield _bad(f"{igniter:.0f} V at the igniter: it is not fed", lambda s: ~(s.comes_to(IGNITER) & s.igniter_fed))
    ohms = record.readings.get("igniter-resistance")
    if ohms is not None and ohms < WHOLE:
        yield Proof(f"igniter {ohms:.0f} ohms: it is whole", lambda s: s.igniter_whole)
    if ohms is not None and ohms > BROKEN:
        yield _bad("igniter reads open: it is broken", lambda s: ~s.igniter_whole)


def _suction(record: Record) -> Iterator[Proof]:
    closes, opens = record.plate.closes, record.plate.opens
    if not record.plate.closes_known:
        return
    first = record.readings.get("suction-at-start")
    any_time = record.readings.get("suction-at-pressure-switch")
    for read in (first, any_time):
        if read is not None and read >= SUCKS:
            yield Proof(f"suction {read:.2f}: the inducer runs", lambda s: s.inducer_runs)
        if read is not None and read >= 1.03 * closes:
            yield Proof(
                f"suction {read:.2f}, the switch closes at {closes:.2f}: there is suction enough",
                lambda s: s.inducer_runs & (s.suction >= 0.97 * closes),
            )
    if first is not None and first < 0.94 * closes:
        yield _bad(
            f"suction {first:.2f}, the switch needs {closes:.2f}: too little",
            lambda s: (s.suction < closes) | ~s.inducer_runs,
        )
    if any_time is not None and any_time < 0.94 * opens:
        yield _bad(
            f"suction {any_time:.2f}, the switch needs {closes:.2f}: too little",
            lambda s: (s.kept < closes) | ~s.inducer_runs,
        )


def _gas(record: Record) -> Iterator[Proof]:
    plate = record.plate
    commanded = _volts(record, "volts-at-gas-valve")
    manifold, rest = record.readings.get("manifold"), record.readings.get("gas-inlet-at-rest")
    if commanded is not None and commanded >= LIVE:
        yield Proof(f"{commanded:.1f} V at the gas valve: it is told to open", lambda s: s.comes_to(GAS) & s.valve_fed)
    if commanded is not None and commanded <= DEAD_VOLTS:
        yield _bad(
            f"{commanded:.1f} V at the gas valve: it is not told to open", lambda s: ~(s.comes_to(GAS) & s.valve_fed)
        )
    if manifold is not None and manifold >= 0.15 * plate.manifold:
        yield Proof(
            f"manifold {manifold:.2f}: gas flows, so everything before the valve is proven", lambda s: s.comes_to(LIGHT)
        )
        if manifold >= 0.9 * plate.manifold:
            yield Proof(
                f"manifold {manifold:.2f} of {plate.manifold:.1f}: the gas is right",
                lambda s: s.manifold > 0.8 * plate.manifold,
            )
    if manifold is not None and manifold < 0.05 * plate.manifold:
        yield _bad(f"manifold {manifold:.2f}: no gas comes", lambda s: ~s.comes_to(LIGHT))
    for reading in ("gas-inlet-at-rest", "gas-inlet", "gas-inlet-all-on"):
        read = record.readings.get(reading)
        if read is not None and read >= plate.inlet_least:
            yield Proof(
                f"{read:.1f} in. w.c. at the inlet: the gas is on", lambda s: s.inlet_at_rest > 0.85 * plate.inlet_least
            )
    every = record.readings.get("gas-inlet-all-on")
    if every is not None and every >= plate.inlet_least:
        yield Proof(
            f"{every:.1f} in. w.c. with everything on: the supply is good",
            lambda s: s.inlet_all_on > 0.85 * plate.inlet_least,
        )
    if rest is not None and rest < 0.3 * plate.inlet_least:
        yield _bad(f"{rest:.1f} in. w.c. at the inlet: the gas is off", lambda s: s.inlet_at_rest < plate.inlet_least)


def _flame(record: Record) -> Iterator[Proof]:
    least = record.plate.flame_least
    for reading in ("flame-current", "flame-current-at-start"):
        current = record.readings.get(reading)
        if current is not None and current >= 0.15:
            yield Proof(f"{current:.1f} µA: there was a flame", lambda s: s.comes_to(SENSE))
    steady = record.readings.get("flame-current")
    if steady is not None and steady >= 1.3 * least:
        yield Proof(
            f"{steady:.1f} µA, the control needs {least:.1f}: the flame signal is good",
            lambda s: s.comes_to(SENSE) & (s.current > least),
        )
    if any(r.startswith(("co-in-flue", "oxygen-in-flue")) for r in record.readings) or record.input is not None:
        oxygen = min((v for r, v in record.readings.items() if r.startswith("oxygen-in-flue")), default=9.0)
        if oxygen < 18:
            yield Proof("read in the flue or clocked: it burned for minutes", lambda s: s.comes_to(HOLD))
    bond = record.readings.get("neutral-to-burner")
    if bond is not None and bond <= 0.6:
        yield Proof(f"{bond:.1f} V from neutral to burner: the ground is good", lambda s: s.devices("bond") > 0.75)


REACHED = {
    "no-ignition-after-inducer": ("the inducer was seen to run", lambda s: s.inducer_runs),
    "no-flame-after-ignition": ("the igniter was seen to glow", lambda s: s.comes_to(GAS)),
    "flame-drops-out": ("a flame was seen", lambda s: s.comes_to(SENSE)),
}


def _looks(record: Record) -> Iterator[Proof]:
    """Where a start was seen to end; two such looks that contradict each other prove nothing."""
    there = [f for f in ("nothing-starts", "inducer-stays-still", *REACHED) if record.seen.get(f, 0.0) > 0.5]
    if len(there) == 1 and there[0] in REACHED:
        words, holds = REACHED[there[0]]
        yield Proof(words, holds, by_eye=True)
    if record.seen.get("igniter-open-circuit") == 0.0:
        yield Proof("the igniter was looked at and is whole", lambda s: s.igniter_whole, by_eye=True)
    if record.seen.get("igniter-open-circuit") == 1.0:
        yield _bad("the igniter was found broken", lambda s: ~s.igniter_whole, by_eye=True)


def _tries(record: Record) -> Iterator[Proof]:
    """What came of putting one thing right or taking it away; it clears only what was put right in vain."""
    for one in record.tries:
        if one.started is None or not one.puts.keys() & {"thermostat", "vent", "intake"}:
            continue
        puts, about = one.puts, frozenset(one.puts)
        passes = (lambda s: s.comes_to(INDUCER)) if "thermostat" in puts else (lambda s: s.made)
        if one.started:
            yield _bad(f"{one.what}: it starts", lambda s, p=puts, f=passes: f(s.but(**p)) & ~f(s))
        else:
            words = f"{one.what}: it still does not start"
            yield Proof(words, lambda s, p=puts, f=passes: ~f(s.but(**p)), about=about)


def told_by(start: Start, proofs_: list[Proof]) -> tuple[Flags, list[Proof]]:
    """(draws of which every proof holds, the proofs that were kept).

    Looks that leave nothing of what meters prove are not taken for proofs.
    """
    holds = np.ones(start.shape, dtype=bool)
    kept = []
    for proof in sorted(proofs_, key=lambda p: p.by_eye):
        after = holds & proof.holds(start)
        if after.any():
            holds, _ = after, kept.append(proof)
    return holds, kept
