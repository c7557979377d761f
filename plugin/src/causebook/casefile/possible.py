"""Values that cannot be, whatever the house: the first net for a slipped decimal point or a wrong unit.

Bounds are of what is impossible, never of what is unusual: a bad reading is read, and struck later with its reason.
They are written as an author would read them, "above 0 cfm to 10000 cfm" ("above": the low end itself is left out),
and lie inside what the physics accepts, so that nothing read here is refused there.
"""

from __future__ import annotations

import functools
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

from causebook import quantity as qty
from causebook.quantity import Kind, Quantity, QuantityError

HINT = "check the decimal point and the unit"
_NEVER_NEGATIVE = (
    qty.ABSOLUTE_PRESSURE,
    qty.METER_PRESSURE,
    qty.VELOCITY,
    qty.HEAT_RATE,
    qty.HEAT_LOSS_RATE,
    qty.HEATING_VALUE,
    qty.GAS_FLOW,
    qty.VOLUME,
    qty.SMALL_LENGTH,
    qty.AREA,
    qty.SMALL_AREA,
    qty.DURATION,
    qty.LONG_DURATION,
    qty.RESISTANCE,
    qty.POWER,
    qty.COOLING_CAPACITY,
    qty.DEGREE_DAYS,
    qty.ENERGY,
)
# Common sense with room to spare, no source: dwellings lie below 20,000 ft, house blowers stall far below 5 in. w.c.
# and move less than 10,000 cfm, no probe of the trade sees 3,000 °F, a meter's suction or supply stays within
# 100 in. w.c., no motor of a furnace turns 10,000 times a minute, no lead in a house stands above 600 V or carries
# 400 A, no meter of the trade shows a tenth of all air as CO, no flame passes 100 µA, no motor starts on 2,000 µF.
_OF_KIND: Mapping[str, str] = {
    qty.LENGTH.name: "-1500 ft to 20000 ft",
    qty.AIR_PRESSURE.name: "-5 inH2O to 5 inH2O",
    qty.ROOM_PRESSURE.name: "-200 Pa to 200 Pa",
    qty.GAS_PRESSURE.name: "-100 inH2O to 100 inH2O",
    qty.TEMPERATURE.name: "-100 degF to 3000 degF",
    qty.PROBE_TEMPERATURE.name: "-100 degF to 3000 degF",
    qty.GAS_FRACTION.name: "0 % to 100 %",
    qty.SHARE.name: "0 % to 100 %",
    qty.CO_FRACTION.name: "0 ppm to 100000 ppm",
    qty.AIRFLOW.name: "0 cfm to 10000 cfm",
    qty.SPEED.name: "0 rpm to 10000 rpm",
    qty.VOLTAGE.name: "0 V to 600 V",
    qty.CURRENT.name: "0 A to 400 A",
    qty.FLAME_CURRENT.name: "-100 uA to 100 uA",
    qty.CAPACITANCE.name: "0 uF to 2000 uF",
}
# Tighter ones of single readings: a dial turns at most once a second and at least once in two hours with a burner on,
# air that comes back from rooms is no hotter than an oven, no grid shows, and no duct is, nothing at all, and no flue
# holds more oxygen than air does (20.95 %, U.S. Standard Atmosphere 1976; from memory).
_OF_READING: Mapping[str, str] = {
    "meter-time": "1 s to 7200 s",
    "clocked-input": "above 0 Btu/h to 3000000 Btu/h",
    "return-air": "-100 degF to 390 degF",
    "flow-grid-airflow": "above 0 cfm to 10000 cfm",
    "smallest-return-section": "above 0 in^2",
    "smallest-supply-section": "above 0 in^2",
    "design-heat-loss": "above 0 Btu/h to 3000000 Btu/h",
    "oxygen-in-flue": "0 % to 21 %",
    "oxygen-in-flue-before-blower": "0 % to 21 %",
    "oxygen-in-flue-after-blower": "0 % to 21 %",
}
# Those that hold only while the burner heats the air; in cooling the same reading is negative.
_OF_READING_WITH_FIRE: Mapping[str, str] = {"rise": "1 degF to 1000 degF"}
_WITHOUT_FIRE = ("cooling", "fan only")

_WORDS = re.compile(r"(?P<above>above )?(?P<low>.+?)(?: to (?P<high>.+))?")


@dataclass(frozen=True, slots=True)
class Bounds:
    """What a quantity may be, in the SI unit of its kind; `low` itself is left out when `above`."""

    low: float = -math.inf
    high: float = math.inf
    above: bool = False
    words: str = ""
    """The same for an author: "from 1 s to 7200 s"."""

    def hold(self, number: float) -> bool:
        """Does a number [SI] lie within?"""
        return (self.low < number if self.above else self.low <= number) and number <= self.high


@functools.cache
def bounds(words: str, kind: Kind) -> Bounds:
    """Bounds written as "1 s to 7200 s", "above 0 in^2" or "above 0 cfm to 10000 cfm"."""
    found = _WORDS.fullmatch(words)
    assert found is not None, words
    low = qty.si(qty.parse(found["low"], kind), kind)
    high = qty.si(qty.parse(found["high"], kind), kind) if found["high"] else math.inf
    return Bounds(low, high, bool(found["above"]), words if found["above"] else f"from {words}")


def bounds_of(kind: Kind, within: str = "") -> Bounds:
    """What a quantity of a kind may be; `within`: bounds of its own, in place of those of its kind."""
    if within:
        return bounds(within, kind)
    if kind in _NEVER_NEGATIVE:
        return Bounds(0.0, words="of 0 or more")
    return bounds(_OF_KIND[kind.name], kind) if kind.name in _OF_KIND else Bounds()


def possible(quantity: Quantity, kind: Kind, within: str = "") -> Quantity:
    """`quantity` as it is; QuantityError when nothing of its kind can be so.

    `within`: bounds of its own, in place of those of its kind.
    """
    limits = bounds_of(kind, within)
    if not limits.hold(qty.si(quantity, kind)):
        raise QuantityError(qty.show(quantity, kind), f"{kind.name} {limits.words}", HINT)
    return quantity


def within_of(reading: str, mode: str) -> str:
    """The bounds of a reading's own, taken in a mode of the furnace; empty when its kind's are enough."""
    if reading in _OF_READING_WITH_FIRE and mode not in _WITHOUT_FIRE:
        return _OF_READING_WITH_FIRE[reading]
    return _OF_READING.get(reading, "")
