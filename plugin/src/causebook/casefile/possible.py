"""Values that cannot be, whatever the house: the first net for a slipped decimal point or a wrong unit."""

from __future__ import annotations

import math

from causebook import quantity as qty
from causebook.quantity import Kind, Quantity, QuantityError

_NEVER_NEGATIVE = (
    qty.ABSOLUTE_PRESSURE, qty.METER_PRESSURE, qty.AIRFLOW, qty.VELOCITY, qty.HEAT_RATE, qty.HEAT_LOSS_RATE,
    qty.HEATING_VALUE, qty.GAS_FLOW, qty.VOLUME, qty.SMALL_LENGTH, qty.AREA, qty.SMALL_AREA, qty.DURATION,
    qty.LONG_DURATION, qty.RESISTANCE, qty.CAPACITANCE, qty.SPEED, qty.POWER, qty.COOLING_CAPACITY, qty.CO_FRACTION,
    qty.DEGREE_DAYS, qty.ENERGY,
)
# Common sense with room to spare, no source: dwellings lie below 20,000 ft, house blowers stall far below 5 in. w.c.,
# no probe of the trade sees 3,000 °F, a meter's suction or supply stays within 100 in. w.c.
_BOUNDS: dict[str, tuple[str, str]] = {
    qty.LENGTH.name: ("-1500 ft", "20000 ft"),
    qty.AIR_PRESSURE.name: ("-5 inH2O", "5 inH2O"),
    qty.ROOM_PRESSURE.name: ("-200 Pa", "200 Pa"),
    qty.GAS_PRESSURE.name: ("-100 inH2O", "100 inH2O"),
    qty.TEMPERATURE.name: ("-100 degF", "3000 degF"),
    qty.PROBE_TEMPERATURE.name: ("-100 degF", "3000 degF"),
    qty.GAS_FRACTION.name: ("0 %", "100 %"),
    qty.SHARE.name: ("0 %", "100 %"),
}


def _bounds() -> dict[str, tuple[float, float, str]]:
    bounds = {kind.name: (0.0, math.inf, "of 0 or more") for kind in _NEVER_NEGATIVE}
    for name, (low, high) in _BOUNDS.items():
        kind = qty.KINDS[name]
        bounds[name] = (qty.si(qty.parse(low, kind), kind), qty.si(qty.parse(high, kind), kind),
                        f"from {low} to {high}")
    return bounds


_POSSIBLE = _bounds()


def possible(quantity: Quantity, kind: Kind) -> Quantity:
    """`quantity` as it is; QuantityError when no instrument could have shown it."""
    low, high, words = _POSSIBLE.get(kind.name, (-math.inf, math.inf, ""))
    if not low <= qty.si(quantity, kind) <= high:
        raise QuantityError(qty.show(quantity, kind), f"{kind.name} {words}", "check the decimal point and the unit")
    return quantity
