"""What a reading not yet taken would show under one set of causes, from the furnaces drawn for it.

They hold what was read already, so a reading that the others have as good as given is foreseen alike under every set,
and tells nothing more.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import hypot

import numpy as np

from causebook import quantity as qty
from causebook.belief.arrays import Array
from causebook.belief.protocol import Foreseen
from causebook.equipment.furnace.furnaces import Furnaces
from causebook.knowledge.model import Knowledge
from causebook.survey.numbers import constant, kind_of

OPENED: Mapping[str, Mapping[str, str]] = {
    "filter-out": {"filter": "removed"},
    "return-opened": {"return": "opened"},
    "supply-opened": {"supply": "opened"},
}
"""Trial -> the state it is done in."""
PARTS = ("return", "filter", "inlet", "coil", "supply")


@dataclass(frozen=True, slots=True)
class Errors:
    """Usual errors of what would be read: share of itself, and fixed part [SI]."""

    pressure: tuple[float, float]
    rise: tuple[float, float]
    airflow: tuple[float, float]
    input: tuple[float, float]
    opened: float
    """Of the ratio of two rises."""
    limit: float
    gap: float
    """Of the return above the rooms [K]."""
    capacitor: float


def errors_of(knowledge: Knowledge) -> Errors:
    """The usual errors, by the accuracies of the readings and the constants of the model."""
    tap, air = _accuracy("tap-after-filter", knowledge), _accuracy("supply-air", knowledge)
    both = 2**0.5
    return Errors(
        (tap[0], both * tap[1]),
        (constant(knowledge, "airflow-by-rise-spread"), both * air[1]),
        _accuracy("flow-grid-airflow", knowledge),
        (hypot(_accuracy("meter-time", knowledge)[0], constant(knowledge, "heating-value-spread")), 0.0),
        constant(knowledge, "opened-path-spread"),
        _accuracy("limit-opened-at", knowledge)[1],
        constant(knowledge, "return-room-spread"),
        _accuracy("capacitor", knowledge)[0],
    )


def foreseen(furnaces: Furnaces, present: frozenset[str], knowledge: Knowledge) -> dict[str, Foreseen]:
    """What each kind of reading would show, with the spread of the instrument in it.

    Keyed by what a finding is `physical` for.  Rise, pressures, speed, input and ratios of rises as logarithms, the
    limit's opening and the warmth of the return as differences [K].
    """
    errors, drops, x = errors_of(knowledge), furnaces.drops, furnaces.x
    out = {part: _log(drops[part], *errors.pressure) for part in PARTS if part in drops}
    static = sum((drops[p] for p in furnaces.setup.evidence.counted if p in drops), np.zeros_like(furnaces.rise))
    out |= {
        "static": _log(static, *errors.pressure),
        "rise": _log(furnaces.rise, *errors.rise),
        "airflow": _log(np.exp(furnaces.log_flow), *errors.airflow),
        "speed": _as_is(x["speed"], 0.02),
        "motor": _as_is(_piece_of(x["speed"], "motor", present, furnaces), 0.02),
        "capacitor": _as_is(_piece_of(2 * x["speed"], "capacitor", present, furnaces), errors.capacitor),
        "input": _log(np.exp(furnaces.log_input), *errors.input),
        "limit": _as_is(x["limit"], errors.limit),
        "delay": _as_is(x["delay"], 0.05),
        "recirculation": _as_is(furnaces.return_above_rooms, errors.gap),
    }
    rise = np.log(furnaces.rise)
    for name, state in OPENED.items():
        out[name] = _as_is(np.log(furnaces.with_(x, state).rise) - rise, errors.opened)
    narrows = {c: e for c in present for e in furnaces.setup.acting.get(c, ()) if e.narrows}
    for side in ("return", "supply"):
        narrow = any(e.on == side for c, e in narrows.items() if c in present)
        more = np.clip(x[side], 0.0, None) if narrow else np.zeros_like(rise)
        out[f"{side}-section"] = _as_is(-0.5 * more, constant(knowledge, "section-spread"))
    return out


def _piece_of(value: Array, piece: str, present: frozenset[str], furnaces: Furnaces) -> Array:
    """A piece's part of what an unknown lacks: all of it where a cause acts on the piece alone, else nothing."""
    acts = {e.on for c in present for e in furnaces.setup.acting.get(c, ())}
    return np.minimum(value, 0.0) if piece in acts else np.zeros_like(value)


def _accuracy(reading: str, knowledge: Knowledge) -> tuple[float, float]:
    """Usual accuracy of a reading: share of itself, and fixed part [SI]."""
    usual = knowledge.readings[reading].accuracy
    kind = qty.spread_kind(kind_of(reading, knowledge))
    return usual.relative, qty.si(qty.parse(usual.fixed, kind), kind) if usual.fixed else 0.0


def _log(values: Array, relative: float, fixed: float) -> Foreseen:
    """Logarithm of positive numbers, with their spread and an instrument's error."""
    size = np.maximum(values, max(fixed, 1e-6))
    logs = np.log(size)
    own = min(fixed / float(np.median(size)), 1.0)
    return Foreseen(float(logs.mean()), hypot(float(logs.std()), relative, own))


def _as_is(values: Array, error: float) -> Foreseen:
    return Foreseen(float(values.mean()), hypot(float(values.std()), error))
