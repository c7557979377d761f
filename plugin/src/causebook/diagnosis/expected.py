"""What each suspect alone would have produced in each reading, beside what was read.

A fixed sample (Halton points, so that the same case always gives the same numbers) of usual houses is given the one
fault, solved with the blower, and weighted by how likely the complaint is in it; the range is its middle 80 %.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.special import ndtri
from scipy.stats import qmc

from causebook import quantity as qty
from causebook.diagnosis.airpath_belief import PATH_PARTS, PathBelief
from causebook.diagnosis.evidence import Array, Evidence
from causebook.diagnosis.limit_belief import ACTS
from causebook.diagnosis.model import Expected
from causebook.diagnosis.system import AFTER, BEFORE, STANDARD, fan_of
from causebook.knowledge.model import Knowledge
from causebook.physics.airpath import AirPath, Part
from causebook.physics.whatif import Heat, Limit, System, told_by
from causebook.quantity import Kind, Quantity
from causebook.survey.model import Estimate, ReadingSet

SAMPLES = 128
LOW, HIGH = 0.10, 0.90


def expected(
    path: PathBelief, suspects: Sequence[str], found: ReadingSet, knowledge: Knowledge
) -> tuple[Expected, ...]:
    """For each suspect, the range of each reading that its presence alone would have produced."""
    out = []
    for cause in suspects:
        if not knowledge.causes[cause].effects:
            continue
        told, weight = _sample(path, cause, knowledge)
        for name, (values, read, kind, words) in _readings(told, path.evidence, found, knowledge).items():
            low, high = _quantiles(values, weight)
            low_q, high_q = qty.from_si(low, kind), qty.from_si(high, kind)
            fits = None
            if read is not None:
                value, spread = read
                fits = bool(low - 2 * spread <= value <= high + 2 * spread)
            out.append(
                Expected(
                    cause, name, words, low_q, high_q, None if read is None else qty.from_si(read[0], kind), kind, fits
                )
            )
    return tuple(out)


def _points(columns: int) -> Array:
    """Standard normal points (SAMPLES, columns), the same every time."""
    unit = qmc.Halton(d=columns, scramble=False).random(SAMPLES + 1)[1:]
    normal: Array = ndtri(np.clip(unit, 0.005, 0.995))
    return normal


def _sample(path: PathBelief, cause: str, knowledge: Knowledge) -> tuple[dict[str, Array], Array]:
    """Readings of the sampled houses with the one fault, and how likely the complaint is in each."""
    e = path.evidence
    points = _points(len(PATH_PARTS) + 4)
    density = STANDARD * e.density_ratio
    one = np.ones((1, 1))
    parts = {}
    for i, name in enumerate(PATH_PARTS):
        states = path.states[name]
        n = int(states.index_many(one, [cause])[0])
        drop, at = path.clean_at_rated[name]
        factor = np.exp(states.mean[n] + states.spread[n] * points[:, i])
        inside = name == "inlet" or name not in e.counted
        size = np.maximum(drop * (factor - (1.0 if inside else 0.0)), 0.1)
        parts[name] = Part(name, size / at ** path.exponent[name], path.exponent[name], density)
    blower, burner = path.states["blower"], path.states["input"]
    b, g = int(blower.index_many(one, [cause])[0]), int(burner.index_many(one, [cause])[0])
    speed = np.clip(np.exp(blower.mean[b] + blower.spread[b] * points[:, 5]), 0.12, 2.0)
    watts = (e.plate_input or 20000.0) * np.exp(burner.mean[g] + burner.spread[g] * points[:, 6])
    share = np.clip(e.efficiency.value + e.efficiency.sd * points[:, 7], 0.3, 1.0)
    body, shift = knowledge.constants["limit-body-factor"].value, 0.0
    back = np.full(SAMPLES, e.return_temperature.value)
    for effect in knowledge.causes[cause].effects:
        if effect.on == "limit":
            shift = effect.factor * 5 / 9
        elif effect.on == "hot-spot":
            body *= effect.factor
        elif effect.on == "recirculation" and not e.room_known:
            back = back + 8.0
    opens = path.limit.opens + shift + 3.0 * points[:, 8]
    system = System(
        AirPath(tuple(parts[n] for n in BEFORE), tuple(parts[n] for n in AFTER if n != "coil" or e.coil)),
        fan_of(e, knowledge, speed),
        density,
        back,
        Heat(watts, share, e.sensible),
        Limit(opens, opens - 15, body),
    )
    told = {name: np.broadcast_to(np.asarray(v, float), (SAMPLES,)) for name, v in told_by(system).items()}
    told["input"], told["limit opens"] = watts, opens
    margin = told["limit margin"]
    weight = 1 / (1 + np.exp(np.clip(margin / 4.0, -30, 30))) + 0.02
    if e.cooling_airflow_needed is not None:
        weight = 1 / (1 + np.exp(np.clip((told["airflow"] / e.cooling_airflow_needed - 1) * 12, -30, 30))) + 0.02
    if all(x.on in ACTS for x in knowledge.causes[cause].effects):
        weight = np.ones(SAMPLES)
    return told, weight


def _readings(
    told: dict[str, Array], e: Evidence, found: ReadingSet, knowledge: Knowledge
) -> dict[str, tuple[Array, tuple[float, float] | None, Kind, str]]:
    """Reading id -> (sampled values, (read, sd) or None, kind, name)."""

    def estimated(found_: Estimate | None, kind: Kind) -> tuple[float, float] | None:
        if found_ is None:
            return None
        value: Quantity = found_.value
        spread = qty.si(found_.sd, qty.TEMPERATURE_DIFFERENCE if kind.difference else kind)
        return qty.si(value, kind), spread

    drops = {d.part: (qty.si(d.value, qty.AIR_PRESSURE), qty.si(d.sd, qty.AIR_PRESSURE)) for d in found.drops}
    out: dict[str, tuple[Array, tuple[float, float] | None, Kind, str]] = {}
    if e.cooling_airflow_needed is None:
        out["rise"] = (
            told["rise"],
            estimated(found.rise, qty.TEMPERATURE_DIFFERENCE),
            qty.TEMPERATURE_DIFFERENCE,
            "Rise",
        )
        out["input"] = (told["input"], estimated(found.input, qty.HEAT_RATE), qty.HEAT_RATE, "Input at the meter")
    for part, words in (
        ("return", "Return drop"),
        ("filter", "Filter drop"),
        ("coil", "Coil drop"),
        ("supply", "Supply drop"),
    ):
        if f"drop {part}" in told:
            out[f"{part}-drop"] = (told[f"drop {part}"], drops.get(part), qty.AIR_PRESSURE, words)
    static = sum((told[f"drop {p}"] for p in e.counted if f"drop {p}" in told), np.zeros(SAMPLES))
    out["external-static"] = (static, estimated(found.static, qty.AIR_PRESSURE), qty.AIR_PRESSURE, "External static")
    out["airflow"] = (told["airflow"], estimated(found.best_airflow, qty.AIRFLOW), qty.AIRFLOW, "Airflow")
    if e.limit_opens is not None and e.cooling_airflow_needed is None:
        opened = (e.limit_found.value, e.limit_found.sd) if e.limit_found else None
        out["limit-opened-at"] = (told["limit opens"], opened, qty.PROBE_TEMPERATURE, "Limit opens at")
    return out


def _quantiles(values: Array, weight: Array) -> tuple[float, float]:
    order = np.argsort(values, kind="stable")
    share = np.cumsum(weight[order]) / weight.sum()
    at = [min(int(np.searchsorted(share, level)), len(values) - 1) for level in (LOW, HIGH)]
    return float(values[order][at[0]]), float(values[order][at[1]])
