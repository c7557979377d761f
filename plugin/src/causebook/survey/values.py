"""The values that rules speak of, of one case: its readings, its plate, what was read with one thing changed, and what
the survey works out (`values` of the knowledge)."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from functools import reduce
from typing import Any

from causebook import quantity as qty
from causebook.casefile.model import Case, CaseFile, Taken
from causebook.casefile.sizes import read_size
from causebook.knowledge.model import Knowledge
from causebook.knowledge.rules import Value
from causebook.measured import Measured
from causebook.physics.combustion import ANALYZER_OXYGEN, air_free_monoxide
from causebook.quantity import KINDS
from causebook.survey import numbers
from causebook.survey.heat import rise_at_trip
from causebook.survey.model import Estimate, ReadingSet, RuleContext
from causebook.survey.rule_value import Known

ROOM_SPREAD = 0.6
"""Standard uncertainty of a room temperature that the case file states [K]; expert estimate."""
LAID_FLAT = 2.1
"""Depth of a filter up to which its face is its area [in.]."""
MICRO = 1e-6
TRIP_SPREAD = 0.035
"""Spread of the steady rise worked out from the trip, as a share of the rise at the trip; expert estimate."""


def flue_pairs(readings: Mapping[str, Taken]) -> list[tuple[Taken, Taken]]:
    """CO and oxygen readings of the flue that belong together."""
    names = (
        ("co-in-flue", "oxygen-in-flue"),
        ("co-in-flue-after-blower", "oxygen-in-flue-after-blower"),
        ("co-in-flue-before-blower", "oxygen-in-flue-before-blower"),
    )
    return [(readings[c], readings[o]) for c, o in names if c in readings and o in readings]


def air_free(pair: tuple[Taken, Taken], knowledge: Knowledge) -> tuple[float, float] | None:
    """CO free of air, with its uncertainty; None above 18 % oxygen, where it says nothing."""
    try:
        value = qty.si(air_free_monoxide(pair[0].value, pair[1].value), qty.CO_FRACTION)
    except ValueError:
        return None
    read, oxygen = (numbers.measured(taken, knowledge) for taken in pair)
    share = math.hypot(read.sd_si / max(read.si, 1e-9), oxygen.sd_si / max(ANALYZER_OXYGEN - oxygen.si, 1e-3))
    return value, value * share


class CaseValues:
    """Id -> value of one case, each worked out once."""

    def __init__(self, context: RuleContext) -> None:
        self._context = context
        self._known: dict[str, Known | None] = {}

    def __call__(self, id_: str) -> Known | None:
        """The value of one id [SI]; None where the case does not tell."""
        if id_ not in self._known:
            self._known[id_] = self._find(id_)
        return self._known[id_]

    def _find(self, id_: str) -> Known | None:
        context = self._context
        if id_ in WORKED_OUT:
            return WORKED_OUT[id_](context)
        value = context.knowledge.values.get(id_)
        if value is not None and value.changed:
            return _changed(value, context)
        if value is not None:
            return of_plate(value, context.case.file)
        taken = context.found.readings.get(id_)
        if taken is None:
            return None
        read = numbers.measured(taken, context.knowledge)
        size = abs(read.si) if context.knowledge.readings[id_].size_only else read.si
        return Known(size, read.sd_si, (id_,))


def of_plate(value: Value, file: CaseFile) -> Known | None:
    """A value as the case file holds it."""
    for place in value.plate:
        found: Any = reduce(_step, place.split("."), file)
        if found is not None:
            size = qty.si(found, KINDS[value.kind])
            return Known(abs(size) if value.size_only else size)
    return None


def _step(at: Any, name: str) -> Any:
    if at is None:
        return None
    return at[int(name)] if name.isdigit() else getattr(at, name)


def _changed(value: Value, context: RuleContext) -> Known | None:
    changed = context.change(value.changed)
    if changed is None:
        return None
    if value.reading == "rise":
        return _of(changed.rise)
    taken = changed.readings.get(value.reading)
    return Known(*numbers.measured(taken, context.knowledge).pair, (taken.reading,)) if taken else None


def _of(found: Estimate | None) -> Known | None:
    return None if found is None else Known(*found.pair, found.readings)


def _read(context: RuleContext, *names: str) -> Known | None:
    taken = context.taken(*names)
    return Known(*numbers.measured(taken, context.knowledge).pair, (taken.reading,)) if taken else None


def _opened_at(context: RuleContext) -> Known | None:
    return _of(context.limit.opened_at) if context.limit else None


def _rooms(context: RuleContext) -> Known | None:
    stated = context.case.file.site.room
    read = _read(context, "rooms-mean-temperature", "room-temperature")
    return read or (Known(qty.si(stated, qty.TEMPERATURE), ROOM_SPREAD) if stated is not None else None)


def _at_trip(context: RuleContext) -> Known | None:
    return _of(rise_at_trip(context.found.readings, "", context.knowledge))


def _from_trip(context: RuleContext) -> Known | None:
    """The limit opened before the rise was steady: the steady rise is higher by a known share."""
    trip, share = _at_trip(context), context.constant("trip-to-steady")
    return trip and Known(trip.si / share, math.hypot(trip.sd / share, TRIP_SPREAD * trip.si), trip.readings)


def _least_airflow(context: RuleContext) -> Known | None:
    furnace, heat = context.case.file.furnace, context.heat
    if furnace is None or furnace.rise is None or heat.output is None or context.found.mode == "cooling":
        return None
    return Known(heat.output / (heat.sensible * qty.si(furnace.rise[1], qty.TEMPERATURE_DIFFERENCE)))


def _drop(part: str) -> Callable[[RuleContext], Known | None]:
    def find(context: RuleContext) -> Known | None:
        drop = next((d for d in context.found.drops if d.part == part), None)
        if drop is None:
            return None
        known = context.knowledge.readings
        behind = tuple(r for r in context.found.readings if known[r].tap or r == f"drop-across-{part}")
        return Known(*Measured.of(drop.value, drop.sd, qty.AIR_PRESSURE).pair, behind)

    return find


def _static_over(part: str) -> Callable[[RuleContext], Known | None]:
    """The external static that a duct should leave to the rest, where the plate counts the duct in."""

    def find(context: RuleContext) -> Known | None:
        furnace, static = context.case.file.furnace, context.found.static
        counted = furnace is not None and part in (furnace.counted_as_external or ())
        return Known(*static.pair) if counted and static is not None else None

    return find


def _label(part: str) -> Callable[[RuleContext], Known | None]:
    """The drop that its label or table allows a part at this airflow."""

    def find(context: RuleContext) -> Known | None:
        plate = {"filter": context.case.file.filter, "coil": context.case.file.coil}[part]
        flow = context.found.best_airflow
        if plate is None or plate.clean_drop is None or plate.at is None or flow is None:
            return None
        exponent = context.knowledge.parts[part].exponent
        clean = qty.si(plate.clean_drop, qty.AIR_PRESSURE) * context.heat.density_ratio
        allowed = clean * (flow.si / qty.si(plate.at, qty.AIRFLOW)) ** exponent
        return Known(allowed, allowed * exponent * flow.share)

    return find


def _face_velocity(context: RuleContext) -> Known | None:
    filter_, flow = context.case.file.filter, context.found.best_airflow
    if filter_ is None or not filter_.size or flow is None:
        return None
    size = read_size(filter_.size)
    if size.depth is None or qty.us(size.depth, qty.SMALL_LENGTH) > LAID_FLAT:
        return None
    area = qty.si(size.area, qty.SMALL_AREA)
    return Known(flow.si / area, flow.sd_si / area, flow.readings)


def _air_free(context: RuleContext) -> Known | None:
    """The highest CO free of air of the pairs that were read."""
    pairs = [(free, pair) for pair in flue_pairs(context.found.readings) if (free := air_free(pair, context.knowledge))]
    best = max(pairs, key=lambda one: one[0][0], default=None)
    return best and Known(*best[0], tuple(t.reading for t in best[1]))


def _usual_least_flame(context: RuleContext) -> Known:
    return Known(context.constant("flame-current-least") * MICRO)


def _half_usual_flame(context: RuleContext) -> Known | None:
    furnace = context.case.file.furnace
    usual = furnace.flame_current_usual if furnace else None
    return None if usual is None else Known(qty.si(usual, qty.FLAME_CURRENT) / 2)


def _flame_needed(context: RuleContext) -> Known:
    """The control's least flame current, or half of the usual one where that is more."""
    stated = of_plate(context.knowledge.values["least-flame-current"], context.case.file)
    half = _half_usual_flame(context)
    return max(stated or _usual_least_flame(context), half or Known(0.0), key=lambda one: one.si)


def _most_manifold(context: RuleContext) -> Known:
    """What no plate for this gas goes beyond; where no furnace is described, of either gas."""
    furnace = context.case.file.furnace
    propane = furnace is None or furnace.fuel == "propane"
    return Known(context.constant("manifold-most-propane" if propane else "manifold-most-natural-gas") * qty.INWC)


def _line_volts(context: RuleContext) -> Known | None:
    """The line voltage that was read, or the usual one where that is higher."""
    read, usual = _read(context, "line-volts"), context.constant("line-volts")
    return Known(max(usual, read.si if read else 0.0), 0.0, read.readings if read else ())


def return_above_room(case: Case, found: ReadingSet, knowledge: Knowledge) -> tuple[float, float] | None:
    """Return at the furnace less the rooms, with its uncertainty [K]; None unless both are known."""
    back = found.readings.get("return-air")
    room = numbers.first(found.readings, "rooms-mean-temperature", "room-temperature")
    if room is not None:
        rooms = numbers.value(room, knowledge), numbers.sd(room, knowledge)
    elif case.file.site.room is not None:
        rooms = qty.si(case.file.site.room, qty.TEMPERATURE), ROOM_SPREAD
    else:
        return None
    if back is None:
        return None
    return numbers.value(back, knowledge) - rooms[0], math.hypot(numbers.sd(back, knowledge), rooms[1])


WORKED_OUT: Mapping[str, Callable[[RuleContext], Known | None]] = {
    "rise": lambda context: _of(context.found.rise),
    "external-static": lambda context: _of(context.found.static),
    "clocked-input": lambda context: _of(context.found.input),
    "limit-opened-at": _opened_at,
    "room-temperature": _rooms,
    "airflow": lambda context: _of(context.found.best_airflow),
    "least-airflow": _least_airflow,
    "rise-at-trip": _at_trip,
    "steady-rise-from-trip": _from_trip,
    "filter-face-velocity": _face_velocity,
    "co-air-free": _air_free,
    "flame-current-needed": _flame_needed,
    "half-usual-flame-current": _half_usual_flame,
    "usual-least-flame-current": _usual_least_flame,
    "most-manifold": _most_manifold,
    "full-line-volts": _line_volts,
    **{f"drop-of-{part}": _drop(part) for part in ("return", "filter", "inlet", "coil", "supply")},
    **{f"static-with-{part}": _static_over(part) for part in ("return", "supply")},
    **{f"label-of-{part}": _label(part) for part in ("filter", "coil")},
}
"""What the survey works out, readings with a better source included."""
