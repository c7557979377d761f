"""The air path as read: taps, drops of its parts, external static on the plate's boundary."""

from __future__ import annotations

import math
from collections.abc import Mapping

from causebook import quantity as qty
from causebook.casefile.model import Case, Taken
from causebook.casefile.sizes import read_size
from causebook.knowledge.model import Knowledge
from causebook.survey import numbers
from causebook.survey.model import Drop, Estimate, Method, Tap

#: Each part lies between two taps, in the direction of flow (0 and 9 are the room).
BETWEEN = {"return": (0, 2), "filter": (2, 3), "inlet": (3, 4), "coil": (5, 6), "supply": (6, 9)}
ALL_TAPS = (1, 2, 3, 4, 5, 6, 7, 8)
SIDES = ("return", "supply")
LISTED = 0.1
"""Standard uncertainty of a section taken from the sizes of ducts in a case file, as a share; expert estimate."""


def taps_of(readings: Mapping[str, Taken], knowledge: Knowledge) -> tuple[Tap, ...]:
    """Taps in the direction of flow with their readings; 1, 4, 7 and 8 only where they were read."""
    by_number = {r.tap: r for r in knowledge.readings.values() if r.tap}
    out = []
    for number in ALL_TAPS:
        reading = by_number.get(number)
        if reading is None:
            continue
        taken = readings.get(reading.id)
        if taken is not None:
            spread = qty.from_si(numbers.sd(taken, knowledge), qty.AIR_PRESSURE)
            out.append(Tap(number, reading.name, taken.value, spread))
        elif number in (2, 3, 5, 6):
            out.append(Tap(number, reading.name, None))
    return tuple(out)


def pressures(taps: tuple[Tap, ...]) -> dict[int, tuple[float, float]]:
    """Tap number -> (pressure, standard uncertainty) [Pa], of those that were read; the room (0 and 9) is zero."""
    read = {
        t.number: (qty.si(t.value, qty.AIR_PRESSURE), qty.si(t.sd, qty.AIR_PRESSURE))
        for t in taps
        if t.value is not None and t.sd is not None
    }
    return {0: (0.0, 0.0), 9: (0.0, 0.0), **read}


def drops_of(
    readings: Mapping[str, Taken], taps: tuple[Tap, ...], knowledge: Knowledge, coil: bool
) -> tuple[Drop, ...]:
    """Drop of each part whose two taps were read, or which was read across the part itself."""
    at, across = pressures(taps), across_of(readings, taps, knowledge)
    if not coil and 5 in at and 6 not in at:
        at[6] = at[5]
    out = []
    for part, (before, after) in BETWEEN.items():
        if before in at and after in at and (part != "coil" or coil):
            size = at[before][0] - at[after][0]
            spread = math.hypot(at[before][1], at[after][1])
        elif part in across:
            size, spread = across[part]
        else:
            continue
        out.append(
            Drop(
                part,
                knowledge.parts[part].name,
                qty.from_si(size, qty.AIR_PRESSURE),
                qty.from_si(spread, qty.AIR_PRESSURE),
            )
        )
    return tuple(out)


def across_of(
    readings: Mapping[str, Taken], taps: tuple[Tap, ...], knowledge: Knowledge
) -> dict[str, tuple[float, float]]:
    """Part -> its drop read with both hoses at once, with its standard uncertainty [Pa]; where its taps are read they
    go before."""
    at, out = pressures(taps), {}
    for part, (before, after) in BETWEEN.items():
        taken = readings.get(f"drop-across-{part}")
        if taken is not None and not (before in at and after in at):
            out[part] = abs(numbers.value(taken, knowledge)), numbers.sd(taken, knowledge)
    return out


def section_of(
    case: Case, readings: Mapping[str, Taken], side: str, knowledge: Knowledge
) -> tuple[float, float] | None:
    """Narrowest section of the ducts of one side [m²] with its standard uncertainty: as measured, else for the return
    the ducts that the case file lists, together.  None where neither tells."""
    taken = readings.get(f"smallest-{side}-section")
    if taken is not None:
        return numbers.value(taken, knowledge), numbers.sd(taken, knowledge)
    # Supply ducts are listed one after the other as well as side by side: their sum is no section.
    listed = [o for o in case.file.return_ if "grille" not in o.of] if side == "return" else []
    area = sum(qty.si(read_size(o.size).area, qty.SMALL_AREA) * o.count for o in listed)
    return (area, LISTED * area) if area else None


def static_of(
    case: Case, readings: Mapping[str, Taken], taps: tuple[Tap, ...], knowledge: Knowledge
) -> tuple[Estimate | None, str]:
    """External static on the boundary of the plate's rating, or None and the reason why there is none."""
    furnace = case.file.furnace
    counted = furnace.counted_as_external if furnace else None
    if (stated := readings.get("external-static")) is not None and counted is not None:
        read = numbers.measured(stated, knowledge)
        over = Estimate(abs(read.si), read.sd_si, qty.AIR_PRESSURE, Method.ACROSS_BOUNDARY, (stated.reading,))
        return over, ""
    if counted is None:
        return None, "the plate's boundary is not stated, so static is not compared with its rating"
    start = 4 if "inlet" in counted else 3 if "filter" in counted else 2
    has_coil = case.file.coil is not None and not case.file.coil.none
    end = 5 if "coil" in counted or not has_coil else 6
    at = pressures(taps)
    if end == 5 and 5 not in at and not has_coil:
        end = 6
    missing = [n for n in (start, end) if n not in at]
    names = {t.number: t.name for t in taps}
    if missing:
        return None, "not possible without " + " and ".join(names.get(n, f"tap {n}") for n in missing)
    by_tap = {r.tap: r.id for r in knowledge.readings.values() if r.tap}
    return Estimate(
        at[end][0] - at[start][0],
        math.hypot(at[end][1], at[start][1]),
        qty.AIR_PRESSURE,
        Method.TAP_TO_TAP,
        (by_tap[start], by_tap[end]),
        words=f"{names[end]} less {names[start]}",
    ), ""


def at_airflow(drop: Drop, airflow: Estimate, common: Estimate, knowledge: Knowledge) -> Drop:
    """The same drop as it would be at a common airflow, with the uncertainty of both airflows."""
    exponent = knowledge.parts[drop.part].exponent
    here, there = qty.si(airflow.value, qty.AIRFLOW), qty.si(common.value, qty.AIRFLOW)
    size = qty.si(drop.value, qty.AIR_PRESSURE) * (there / here) ** exponent
    return Drop(drop.part, drop.name, drop.value, drop.sd, qty.from_si(size, qty.AIR_PRESSURE))
