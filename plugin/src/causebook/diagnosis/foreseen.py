"""What a reading not yet taken would show under each of the likeliest sets of causes.

The belief over airflow, parts and input holds what was read already, so a reading that the others have as good as
given is foreseen alike under every set, and tells nothing more.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

import numpy as np

from causebook import quantity as qty
from causebook.diagnosis.airpath_belief import PathBelief
from causebook.diagnosis.evidence import Gauge
from causebook.knowledge.model import Knowledge
from causebook.survey.numbers import constant, kind_of

#: Test with a part away -> that part.
OPENED = {"filter-out": "filter", "return-opened": "return", "supply-opened": "supply"}


@dataclass(frozen=True, slots=True)
class Errors:
    """Usual errors of what would be read: share of itself, and fixed part [SI]."""

    pressure: tuple[float, float]
    rise: tuple[float, float]
    airflow: tuple[float, float]
    input: tuple[float, float]
    speed: tuple[float, float]
    motor: float
    opened: float
    """Of the ratio of two rises."""
    limit: float
    gap: float
    """Of the return above the rooms [K]."""


def errors_of(knowledge: Knowledge) -> Errors:
    """The usual errors, by the accuracies of the readings and the constants of the model."""
    tap, air = _accuracy("tap-after-filter", knowledge), _accuracy("supply-air", knowledge)
    both = 2**0.5
    return Errors(
        (tap[0], both * tap[1]),
        (constant(knowledge, "airflow-by-rise-spread"), both * air[1]),
        _accuracy("flow-grid-airflow", knowledge),
        (hypot(_accuracy("meter-time", knowledge)[0], constant(knowledge, "heating-value-spread")), 0.0),
        (constant(knowledge, "fan-table-spread"), 0.0),
        constant(knowledge, "motor-speed-spread"),
        constant(knowledge, "opened-path-spread"),
        _accuracy("limit-opened-at", knowledge)[1],
        constant(knowledge, "return-room-spread"),
    )


def foreseen(path: PathBelief, present: frozenset[str], errors: Errors) -> dict[str, Gauge]:
    """What each kind of reading would show with these causes present, with the spread of the instrument in it.

    Keyed by what a finding is `physical` for.  Rise, pressures, speed, input and ratios of rises as logarithms, the
    limit's opening and the warmth of the return as differences [K].
    """
    joint = path.joint(present)
    found, total = path.moments_of(joint), path.total_of(joint)
    out = {part: _log(drop, *errors.pressure) for part, drop in found.drops.items()}
    out |= {
        "static": _log(total, *errors.pressure),
        "rise": _log(found.rise, *errors.rise),
        "airflow": _log(found.airflow, *errors.airflow),
        "speed": _log(found.speed, *errors.speed),
        "motor": _log(found.motor, errors.motor, 0.0),
    }
    if path.evidence.plate_input:
        out["input"] = _log(found.input, *errors.input)
    eases = path.fan.eases(found.airflow.value, found.speed.value)
    for name, part in OPENED.items():
        share = min(found.drops[part].value / max(total.value, 1e-6), 0.95)
        unsure = found.drops[part].sd / max(total.value, 1e-6)
        out[name] = Gauge(eases * float(np.log1p(-share)), hypot(min(eases * unsure, 0.5), errors.opened))
    opens = path.limit.states[joint.place["limit"]].opens
    out["limit"] = Gauge(opens.value, hypot(opens.sd, errors.limit))
    for side in ("return", "supply"):
        section, wide = path.plate.section(side, np.ones((1, len(present))), sorted(present))
        out[f"{side}-section"] = Gauge(float(section[0]), float(wide[0]))
    back = path.comes_back(present)
    gap = back / (1 - back) * found.rise.value
    out["recirculation"] = Gauge(gap, hypot(0.5 * gap, errors.gap))
    return out


def _accuracy(reading: str, knowledge: Knowledge) -> tuple[float, float]:
    """Usual accuracy of a reading: share of itself, and fixed part [SI]."""
    usual = knowledge.readings[reading].accuracy
    kind = qty.spread_kind(kind_of(reading, knowledge))
    return usual.relative, qty.si(qty.parse(usual.fixed, kind), kind) if usual.fixed else 0.0


def _log(gauge: Gauge, relative: float, fixed: float) -> Gauge:
    """Logarithm of a positive number and its spread, an instrument's error added."""
    size = max(gauge.value, 1e-6)
    own = float(np.sqrt(np.log1p((gauge.sd / size) ** 2)))
    return Gauge(float(np.log(max(size, fixed))), hypot(own, relative, min(fixed / size, 1.0)))
