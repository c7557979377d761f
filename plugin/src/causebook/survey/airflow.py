"""Airflow by each method: the rise and the input, the fan table, a flow grid; and what to go by where several speak."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from causebook import quantity as qty
from causebook.casefile.model import Case, FanTable, Taken
from causebook.knowledge.model import Knowledge
from causebook.measured import Measured
from causebook.physics import furnace
from causebook.survey import numbers
from causebook.survey.heat import stated_as
from causebook.survey.model import Estimate, Heat, Method

LARGEST_RISE = 200.0
"""Rise above which no airflow is worked out [K]."""


BESIDE = 0.03 * qty.INWC
"""How far beyond a fan table's last static pressure it still counts [Pa]; expert estimate: what a manometer errs by."""


def by_rise(heat: Heat, clocked: Estimate | None, rise: Estimate | None, knowledge: Knowledge) -> Estimate | None:
    """Airflow = input × efficiency / (sensible factor × rise); with plate input when nobody clocked, and wider."""
    if rise is None or (clocked is None and heat.plate_input is None):
        return None
    if not 0 < rise.si <= LARGEST_RISE:
        # A log cut short while hardly any air moved points to no steady rise worth the name.
        return None
    watts = clocked or _assumed(heat.plate_input or 0.0, knowledge)
    sensible = qty.from_si(heat.sensible, qty.SENSIBLE_FACTOR)
    try:
        flow = furnace.airflow_by_rise(watts, heat.efficiency, rise, sensible)
    except qty.OutOfRange:  # air hotter and thinner than the formula holds for
        return None
    return Estimate(
        *flow.pair,
        qty.AIRFLOW,
        Method.RISE_CLOCKED if clocked else Method.RISE_PLATE,
        (*rise.readings, *(clocked.readings if clocked else ())),
        "" if clocked else "nobody clocked the gas: the plate input is assumed",
    )


def _assumed(plate_input: float, knowledge: Knowledge) -> Measured:
    return Measured(plate_input, plate_input * numbers.constant(knowledge, "input-unclocked-spread"), qty.HEAT_RATE)


def setting_of(case: Case, state: Mapping[str, str]) -> str:
    """The blower setting in force: the one a step says it was set to, else the one found."""
    found = case.file.blower.setting if case.file.blower else ""
    return state.get("blower", found).removeprefix("set to ").removeprefix("setting ").strip()


def curve_of(table: FanTable, setting: str, density_ratio: float) -> tuple[np.ndarray, np.ndarray] | None:
    """(airflow [m³/s] rising, static [Pa] falling) of one setting at this air density.

    None for an unknown setting, and for a motor that holds one airflow over the whole table: no curve tells it.
    """
    printed = table.curve(setting)
    if printed is None or not printed[0]:
        return None
    static = np.asarray(printed[0], float) * qty.INWC * density_ratio
    # Airflow that a motor holds may be printed a little higher further down; the curve takes it as held.
    flow = np.minimum.accumulate(np.asarray(printed[1], float)) * qty.CFM
    # Two rows may print one airflow where the curve is steep: the higher static stands for both.
    order = np.lexsort((-static, flow))
    flow, static = flow[order], static[order]
    first = np.concatenate([[True], np.diff(flow) > 0])
    return (flow[first], static[first]) if first.sum() > 1 else None


def by_fan_table(
    case: Case, state: Mapping[str, str], static: Estimate | None, density_ratio: float, knowledge: Knowledge
) -> Estimate | None:
    """Airflow by the fan table at the static read, for the setting in force."""
    table = case.fan_table
    setting = setting_of(case, state)
    curve = curve_of(table, setting, density_ratio) if table is not None else None
    if curve is None or static is None:
        return None
    flow, pressure = curve
    value, spread = static.pair
    if not pressure.min() - BESIDE <= value <= pressure.max() + BESIDE:
        return None
    order = np.argsort(pressure)
    here, up, down = (
        float(np.interp(p, pressure[order], flow[order])) for p in (value, value + spread, value - spread)
    )
    sd = float(np.hypot(here * numbers.constant(knowledge, "fan-table-spread"), (down - up) / 2))
    words = f"{Method.FAN_TABLE} at setting {setting}"
    return Estimate(here, sd, qty.AIRFLOW, Method.FAN_TABLE, static.readings, words=words)


def by_grid(readings: Mapping[str, Taken], knowledge: Knowledge) -> Estimate | None:
    """Airflow by a flow grid."""
    taken = readings.get("flow-grid-airflow")
    if taken is None:
        return None
    return replace(stated_as(taken, Method.GRID, knowledge), words=knowledge.readings[taken.reading].name)


def combine(flows: Sequence[Estimate], knowledge: Knowledge) -> tuple[Estimate | None, bool | None]:
    """The airflow to go by, and whether the methods agree.

    The weighted mean where they do.  Else what was measured in the air itself, by rise or grid: the fan table is good
    only for a sound blower at its speed, which is what then stands in doubt.
    """
    if not flows:
        return None, None
    if len(flows) == 1:
        return flows[0], None
    sizes, spreads = (np.array(column) for column in zip(*(f.pair for f in flows), strict=True))
    if sizes.max() - sizes.min() > numbers.constant(knowledge, "airflow-methods-agree") * sizes.mean():
        return next((f for f in flows if f.method is not Method.FAN_TABLE), flows[0]), False
    weights = 1 / spreads**2
    together, spread = float((weights * sizes).sum() / weights.sum()), float(weights.sum() ** -0.5)
    behind = tuple(dict.fromkeys(r for f in flows for r in f.readings))
    return Estimate(together, spread, qty.AIRFLOW, Method.TOGETHER, behind), True
