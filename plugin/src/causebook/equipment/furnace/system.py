"""The identified furnace and air path as a what-if `System`, as the evidence makes it under a set of causes."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from math import prod

import numpy as np

from causebook import quantity as qty
from causebook.equipment.furnace.air_path import PARTS
from causebook.equipment.furnace.blower import GENERIC_FAN
from causebook.equipment.furnace.evidence import Evidence, Gauge
from causebook.knowledge.model import Effect, Knowledge
from causebook.physics.airpath import AirPath, Part
from causebook.physics.fan import STANDARD, Curve, Fan, FanTable, speed_ratio
from causebook.physics.whatif import (
    Change,
    Heat,
    LiftSpeed,
    Limit,
    Plate,
    ReplacePart,
    ScalePart,
    SetInput,
    SetReturnTemperature,
    SetSetting,
    System,
)
from causebook.survey.model import Estimate, ReadingSet

MENDED_AS = {"manifold": "input", "orifice": "input", "derate": "input", "capacitor": "motor"}
"""Unknown -> the part of the whole furnace that mending it puts right, where that has another name."""
BEFORE, AFTER = ("return", "filter", "inlet"), ("coil", "supply")
FOUND = "as found"
SOUND = 0.995
"""Share of its speed from which motor or wheel lacks nothing."""
LEAST = 0.1
"""Least drop of a part [Pa], so that none is without resistance."""
SLOWEST = 0.2
"""Least share of its printed speed at which a fan's table still says something."""


@dataclass(frozen=True, slots=True)
class Moments:
    """What the evidence makes of the path when a given set of causes is present: means and spreads, SI."""

    airflow: Gauge
    input: Gauge
    speed: Gauge
    """Blower speed as a share of its table's."""
    motor: Gauge
    """The share of it that causes of the motor account for: 1 without any, all of it with nothing else."""
    drops: Mapping[str, Gauge]
    rise: Gauge
    body: Gauge
    """Rise of the limit's body over that of the air, as the readings of this furnace leave it."""


@dataclass(frozen=True, slots=True)
class Identified:
    """The furnace as the evidence makes it: what was measured, its clean drops, and the means of what was inferred."""

    evidence: Evidence
    exponent: Mapping[str, float]
    usual_at_rated: Mapping[str, tuple[float, float]]
    """Part -> (usual clean drop [Pa], airflow [m³/s] at which it holds)."""
    clean_at_rated: Mapping[str, tuple[float, float]]
    """The same by the part's own label, where it has one."""
    moments: Moments | None


def fan_of(evidence: Evidence, knowledge: Knowledge, speed: float | np.ndarray) -> Fan:
    """The blower of the evidence at a speed ratio: its own table at the setting found, else the usual shape."""
    if evidence.fan is None:
        usual = knowledge.constants["generic-blower-static"].value * qty.INWC
        curves = {FOUND: _curve(GENERIC_FAN[0] * evidence.rated_airflow, GENERIC_FAN[1] * usual)}
    else:
        printed = {FOUND: (evidence.fan.airflow, evidence.fan.static), **evidence.fan.others}
        curves = {name: _curve(flow, static / evidence.density_ratio) for name, (flow, static) in printed.items()}
    return Fan(FanTable(curves), FOUND, speed)


def _curve(flow: np.ndarray, static: np.ndarray) -> Curve:
    order = np.argsort(static)
    return Curve(tuple(static[order].tolist()), tuple(flow[order].tolist()))


def system_of(path: Identified, moments: Moments, knowledge: Knowledge, plate: Plate) -> System:
    """A what-if system that shows, as found, the mean drops, airflow, input and speed of the evidence."""
    e = path.evidence
    density = STANDARD * e.density_ratio
    flow = moments.airflow.value
    parts = {
        name: Part(name, _beyond_table(path, name, moments) / flow ** path.exponent[name], path.exponent[name], density)
        for name in PARTS
        if name != "coil" or e.coil
    }
    heat = None
    if moments.input.value > 0:
        # The efficiency is what closes the heat balance, so that the system shows the rise that was believed.
        share = e.sensible * flow * moments.rise.value / moments.input.value
        heat = Heat(moments.input.value, min(share, 1.0), e.sensible)
    limit = None
    if e.limit_opens is not None:
        opens = e.limit_opens + (e.measured["limit"].value if "limit" in e.measured else 0.0)
        limit = Limit(opens, opens - knowledge.constants["limit-differential"].value * 5 / 9, moments.body.value)
    air = AirPath(tuple(parts[n] for n in BEFORE), tuple(parts[n] for n in AFTER if n in parts))
    fan = fan_of(e, knowledge, 1.0)
    fan = replace(fan, speed=_speed(fan, flow, air.drop(flow, density), density, moments.speed.value))
    return System(air, fan, density, e.return_temperature.value, heat, limit, plate)


def _speed(fan: Fan, airflow: float, static: float, density: float, believed: float) -> float:
    """The speed that makes these drops at this airflow, so that the system as found shows what it was made from;
    the believed one where no speed does, as with a blunder among the readings or hardly any air."""
    try:
        return speed_ratio.si(fan, airflow, static, density)
    except ValueError:
        return float(np.clip(believed, SLOWEST, 2.0))


def anchored(moments: Moments, found: ReadingSet) -> Moments:
    """The same with what was read in place of what was inferred: an identified system shows its own readings, but
    for those that the others call a blunder."""

    def read(value: Gauge, inferred: Gauge) -> Gauge:
        far = abs(value.value - inferred.value) > 3 * float(np.hypot(value.sd, inferred.sd))
        return inferred if far or value.value <= 0 else value

    def estimated(estimate: Estimate | None, inferred: Gauge) -> Gauge:
        return read(Gauge(*estimate.pair), inferred) if estimate is not None else inferred

    drops = {d.part: Gauge(qty.si(d.value, qty.AIR_PRESSURE), qty.si(d.sd, qty.AIR_PRESSURE)) for d in found.drops}
    rise = estimated(found.rise, moments.rise) if found.mode == "heating" else moments.rise
    return Moments(
        estimated(found.best_airflow, moments.airflow),
        estimated(found.input, moments.input),
        moments.speed,
        moments.motor,
        {part: read(drops[part], drop) if part in drops else drop for part, drop in moments.drops.items()},
        rise,
        moments.body,
    )


def _beyond_table(path: Identified, part: str, moments: Moments) -> float:
    """The drop of a part beyond what the fan table already holds of it inside the furnace [Pa]."""
    return max(moments.drops[part].value - held(path, part, moments.airflow.value), LEAST)


def held(path: Identified, part: str, airflow: float) -> float:
    """What the fan table already holds of a part [Pa]: its clean drop, where it does not count as external."""
    return clean_drop(path, part, airflow) if part == "inlet" or part not in path.evidence.counted else 0.0


def clean_drop(path: Identified, part: str, airflow: float, usual: bool = False) -> float:
    """The clean drop of a part at an airflow [Pa]: by its label where it has one, or as is usual for such a part."""
    drop, at = (path.usual_at_rated if usual else path.clean_at_rated)[part]
    return float(drop * (airflow / at) ** path.exponent[part])


def mended_as(unknown: str) -> str:
    """The part of the whole furnace that mending an unknown puts right."""
    return MENDED_AS.get(unknown, unknown)


def repairs(path: Identified, moments: Moments, effects: Sequence[Effect]) -> list[Change]:
    """The changes that undo the given effects: the part clean, the blower as its table, the input as the plate."""
    e = path.evidence
    out: list[Change] = []
    turned = {mended_as(x.on) for x in effects} & {"motor", "blower"}
    faster = _faster(e) if any(x.on == "setting" for x in effects) else None
    if faster is None and any(x.on == "setting" for x in effects):
        turned |= {"blower"}  # of what the air lacks, a wheel and a setting without a table cannot be told apart
    if turned:
        out.append(mended(moments, turned))
    if faster is not None:
        out.append(faster)
    flow = moments.airflow.value
    density = STANDARD * e.density_ratio
    for effect in effects:
        if effect.on in PARTS and (effect.on != "coil" or e.coil):
            wanted = min(clean_drop(path, effect.on, flow, usual=effect.labelled), moments.drops[effect.on].value)
            clean = max(wanted - held(path, effect.on, flow), LEAST)
            n = path.exponent[effect.on]
            out.append(ReplacePart(effect.on, Part(effect.on, clean / flow**n, n, density)))
        elif mended_as(effect.on) == "input" and e.plate_input:
            out.append(SetInput(qty.from_si(e.plate_input, qty.HEAT_RATE)))
        elif effect.on == "recirculation":
            out += _bypass_closed(path, moments)
    return out


def mended(moments: Moments, which: Collection[str]) -> LiftSpeed:
    """The blower with its `motor`, `blower` (its wheel) or both mended: what the other lacks stays.

    Where the other lacks nothing worth naming, the blower gives its table again.  ValueError where its lack is not
    known: NaN.
    """
    lacks = {"motor": moments.motor.value, "blower": moments.speed.value / moments.motor.value}
    left = [lack for one, lack in lacks.items() if one not in which]
    if np.isnan([*left, moments.speed.value]).any():
        raise ValueError("nothing read or seen tells how much of what the blower lacks this would win back")
    if all(lack > SOUND for lack in left):
        return LiftSpeed(1 / SLOWEST)
    return LiftSpeed(float(np.clip(1 / prod(lacks[one] for one in which), 1.0, 1 / SLOWEST)))


def _bypass_closed(path: Identified, moments: Moments) -> list[Change]:
    """No air comes straight back any more: the return is as warm as the rooms, and all the air takes the ducts.

    As found, a share x of the furnace's air went round by the bypass, so the ducts carried 1 − x of it at the drops
    that were read; with all of it their resistance to the furnace is 1/(1 − x)ⁿ of that.
    """
    e, gap = path.evidence, path.evidence.return_above_room
    if gap is None or gap.value <= 0:
        return []
    share = min(gap.value / (gap.value + moments.rise.value), 0.6)
    rooms = e.return_temperature.value - gap.value
    return [
        SetReturnTemperature(qty.from_si(rooms, qty.TEMPERATURE)),
        *(ScalePart(part, (1 - share) ** -path.exponent[part]) for part in ("return", "supply")),
    ]


def _faster(e: Evidence) -> Change | None:
    """The setting whose airflow at the usual static comes nearest to the furnace's middle airflow, of those faster
    than the one found; None without a table, or where none is faster."""
    if e.fan is None:
        return None
    at = 0.5 * qty.INWC * e.density_ratio

    def given(flow: np.ndarray, static: np.ndarray) -> float:
        order = np.argsort(static)
        return float(np.interp(at, static[order], flow[order]))

    found = given(e.fan.airflow, e.fan.static)
    faster = {name: given(*curve) for name, curve in e.fan.others.items() if given(*curve) > found * 1.02}
    if not faster:
        return None
    return SetSetting(min(faster, key=lambda name: abs(faster[name] - e.rated_airflow)))
