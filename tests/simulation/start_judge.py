"""Does the record itself disprove an answer?  Rules of thumb of this town, apart from the core's.

A part that was read alive at a moment at which the answer would have it dead disproves the answer; so does an open
switch, a missing voltage or a suction too weak that the answer leaves unexplained.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from .visit import Visit

BEFORE_STRING = frozenset({"line-power-off", "low-voltage-open", "thermostat-fault"})
STRING = frozenset({"limit-weak", "limit-wiring", "other-safety-open"})
SUCTION = frozenset({"vent-blocked", "vent-wrong", "inducer-weak", "condensate-blocked", "ps-or-hose"})
COMES_AND_GOES = frozenset(
    {"thermostat-fault", "limit-wiring", "board-false-limit", "board-failed", "igniter-no-supply"}
)
"""Not disproved by one good moment, unless the customer says that it never comes and goes."""


def disproved(visit: Visit, answer: str) -> list[str]:
    """Why the record disproves an answer; empty where it does not."""
    reads: dict[str, float] = {}
    seen: dict[str, str] = {}
    for step in visit.steps:
        if step.get("with") or step.get("changed"):
            continue
        reads |= {what: abs(float(text.split()[0])) for what, text in step["read"].items()}
        seen |= step["seen"]
    steady = seen.get("happens-intermittently") == "no"
    return [
        why
        for faults, why, good in _rules(reads)
        if answer in faults and (steady or not good or answer not in COMES_AND_GOES)
    ]


def _rules(reads: Mapping[str, float]) -> Iterator[tuple[frozenset[str], str, bool]]:
    """(answers that this disproves, why, is it by a part found good)."""

    def live(what: str, least: float = 15.0) -> bool:
        return reads.get(what, 0.0) >= least

    def gone(what: str, most: float = 4.0) -> bool:
        return reads.get(what, 99.0) <= most

    if live("line-volts", 80):
        yield frozenset({"line-power-off"}), "line is live", True
    if live("call-volts"):
        yield BEFORE_STRING, "the call is there", True
    gas = reads.get("manifold", 0.0) > 0.6
    flame = reads.get("flame-current", 0.0) > 0.2 or reads.get("oxygen-in-flue", 21.0) < 17
    if gas or flame or live("volts-at-gas-valve"):
        yield (
            BEFORE_STRING | STRING | {"igniter-open", "igniter-no-supply", "board-false-limit"},
            "it came to the gas",
            True,
        )
    if gas or flame:
        yield frozenset({"gas-valve-no-open"}), "gas flows", True
    if live("igniter-volts", 80):
        yield BEFORE_STRING | STRING | {"igniter-no-supply", "board-false-limit"}, "the igniter is fed", True
    if 0 < reads.get("igniter-resistance", 0.0) < 1000:
        yield frozenset({"igniter-open"}), "the igniter is whole", True
    if live("volts-to-common-before-pressure-switch") or live("volts-across-pressure-switch"):
        yield BEFORE_STRING | STRING, "the string is made", True
    for device in ("limit", "rollout-switch", "auxiliary-limit"):
        if live(f"volts-across-{device}"):
            other = STRING if device == "limit" else frozenset({"other-safety-open"})
            explains = (STRING - {"other-safety-open"}) if device == "limit" else other
            yield frozenset(ALL - explains), f"{device} stands open", False
    if gone("secondary-volts"):
        yield frozenset(ALL - {"line-power-off", "low-voltage-open"}), "no 24 volts", False
    elif gone("call-volts"):
        explains = BEFORE_STRING | {"condensate-blocked", "coil-drain-blocked"}
        yield frozenset(ALL - explains), "no call arrives", False


ALL = frozenset(
    {
        *BEFORE_STRING,
        *STRING,
        *SUCTION,
        "board-failed",
        "board-false-limit",
        "igniter-open",
        "igniter-no-supply",
        "gas-supply-low",
        "gas-valve-no-open",
        "manifold-low",
        "burner-dirty",
        "rod-dirty",
        "ground-poor",
        "comb-air-starved",
        "hx-breach",
    }
)
"""Answers that leave a dead stage unexplained unless they are named as its explanation."""
