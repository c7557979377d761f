"""What each suspect alone would have produced in each reading, beside what was read.

Usual furnaces are given the one fault, in all its sizes, and weighed by how likely the complaint is in them; the range
is their middle 80 %.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from causebook import quantity as qty
from causebook.belief.arrays import Array
from causebook.belief.verdict import Expected
from causebook.equipment.furnace.evidence import Gauge
from causebook.equipment.furnace.furnaces import Furnaces
from causebook.equipment.furnace.population import furnaces_with
from causebook.equipment.furnace.setup import Setup
from causebook.quantity import Kind

SAMPLES = 256
LOW, HIGH = 0.10, 0.90
LEAST = 0.02
"""Least weight of a furnace that would not have brought the complaint."""


def expected(setup: Setup, suspects: Sequence[str]) -> tuple[Expected, ...]:
    """For each suspect, the range of each reading that its presence alone would have produced."""
    out = []
    for cause in suspects:
        if cause not in setup.acting:
            continue
        furnaces = furnaces_with(setup, cause, SAMPLES)
        weight = furnaces.event + LEAST
        for name, (values, read, kind, words) in _readings(furnaces).items():
            low, high = _quantiles(values, weight)
            fits = None if read is None else bool(low - 2 * read.sd <= read.value <= high + 2 * read.sd)
            shown = None if read is None else qty.from_si(read.value, kind)
            out.append(Expected(cause, name, words, qty.from_si(low, kind), qty.from_si(high, kind), shown, kind, fits))
    return tuple(out)


def _readings(furnaces: Furnaces) -> dict[str, tuple[Array, Gauge | None, Kind, str]]:
    """Reading id -> (values in the furnaces, what was read, kind, name)."""
    e = furnaces.setup.evidence
    found, drops = e.found, furnaces.drops
    read = {
        "return": found.taps.get(2),
        "filter": _less(found.taps.get(3), found.taps.get(2)) or found.across.get("filter"),
        "coil": _less(found.taps.get(5), found.taps.get(6)) or found.across.get("coil"),
        "supply": found.taps.get(6) if e.coil else found.taps.get(5),
    }
    out: dict[str, tuple[Array, Gauge | None, Kind, str]] = {}
    if e.cooling_airflow_needed is None:
        out["rise"] = (furnaces.rise, found.rise, qty.TEMPERATURE_DIFFERENCE, "Rise")
        out["input"] = (np.exp(furnaces.log_input), found.input, qty.HEAT_RATE, "Input at the meter")
    for part, gauge in read.items():
        if part in drops:
            out[f"{part}-drop"] = (drops[part], gauge, qty.AIR_PRESSURE, f"{part.capitalize()} drop")
    if counted := [drops[p] for p in e.counted if p in drops]:
        before, after = found.taps.get(3), found.taps.get(5)
        both = None
        if before is not None and after is not None:
            both = Gauge(before.value + after.value, float(np.hypot(before.sd, after.sd)))
        static = np.sum(counted, axis=0)
        out["external-static"] = (static, both or found.static, qty.AIR_PRESSURE, "External static")
    out["airflow"] = (np.exp(furnaces.log_flow), found.airflow, qty.AIRFLOW, "Airflow")
    if e.limit_opens is not None and e.cooling_airflow_needed is None:
        measured = e.measured.get("limit")
        opened = Gauge(e.limit_opens + measured.value, measured.sd) if measured else None
        out["limit-opened-at"] = (furnaces.opens, opened, qty.PROBE_TEMPERATURE, "Limit opens at")
    return out


def _less(one: Gauge | None, other: Gauge | None) -> Gauge | None:
    return None if one is None or other is None else Gauge(one.value - other.value, float(np.hypot(one.sd, other.sd)))


def _quantiles(values: Array, weight: Array) -> tuple[float, float]:
    order = np.argsort(values, kind="stable")
    share = np.cumsum(weight[order]) / weight.sum()
    at = [min(int(np.searchsorted(share, level)), len(values) - 1) for level in (LOW, HIGH)]
    return float(values[order][at[0]]), float(values[order][at[1]])
