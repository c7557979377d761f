"""From a survey to the evidence of the heat-and-air model, and to the observations that noisy-OR weighs."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

import numpy as np

from causebook import quantity as qty
from causebook.casefile.model import Case
from causebook.diagnosis.evidence import Evidence, FanCurve, Gauge, OpenedPath
from causebook.diagnosis.fan_belief import made
from causebook.diagnosis.seen import Seen
from causebook.diagnosis.sets import Facts
from causebook.knowledge.model import Knowledge, slug
from causebook.physics.air import STANDARD_DENSITY
from causebook.survey import numbers, path
from causebook.survey.airflow import curve_of, setting_of
from causebook.survey.heat import ROOM, rise_at_trip
from causebook.survey.model import Estimate, ReadingSet, State, Survey, since_repair
from causebook.survey.values import return_above_room

#: What a state of the air path takes away, by the parts that were opened or removed.
REMOVES: Mapping[frozenset[tuple[str, str]], str] = {
    frozenset({("filter", "removed")}): "filter",
    frozenset({("return", "opened")}): "return",
    frozenset({("filter", "removed"), ("return", "opened")}): "return and filter",
    frozenset({("supply", "opened")}): "supply",
    frozenset({("coil", "opened")}): "coil and supply",
}
#: Which tap then shows which pressure of the as-found path, once scaled to its airflow.
STAND_IN = {
    "filter": {3: 2, 5: 5, 6: 6},
    "return and filter": {5: 5, 6: 6},
    "return": {5: 5, 6: 6},
    "supply": {2: 2, 3: 3},
    "coil and supply": {2: 2, 3: 3},
}

#: Part that may be read across -> its tap towards the room, and the one towards the wheel, where more is lost.
BESIDE = {"filter": (2, 3), "coil": (6, 5)}


def facts_of(case: Case) -> Facts:
    """Facts of the equipment that change priors; what is not known is left out."""
    file = case.file
    facts: dict[str, str | float | bool] = {}
    if file.coil is not None:
        facts["coil"] = "none" if file.coil.none else "fitted"
    if file.blower is not None:
        facts["motor"] = file.blower.motor
    if file.furnace is not None:
        facts |= {
            "condensing": file.furnace.kind == "condensing",
            "zoned": file.furnace.zoned,
            "fuel changed": file.furnace.fuel_changed,
        }
        if file.furnace.stages is not None:
            facts["stages"] = file.furnace.stages
        if file.furnace.made:
            facts["age"] = float(file.visits[0].date.year - file.furnace.made)
        if file.furnace.limit is not None:
            facts["limit replaced"] = file.furnace.limit.replaced
    if file.site.elevation is not None:
        facts["elevation"] = qty.us(file.site.elevation, qty.LENGTH)
    return facts


def observations(survey: Survey, measured: bool) -> list[Seen]:
    """The findings that noisy-OR weighs: all that were looked for, but those the model weighs as measured."""
    return [
        Seen(f.id, f.probability, f.step, f.looks)
        for f in survey.findings
        if f.state in (State.PRESENT, State.ABSENT, State.UNCLEAR)
        and not (measured and f.physical and not f.looks)
        and abs(f.probability - 0.5) > 0.02
    ]


def evidence_of(case: Case, survey: Survey, knowledge: Knowledge) -> Evidence | None:
    """The measured evidence; None without a furnace plate to measure against."""
    file = case.file
    furnace = file.furnace
    if furnace is None:
        return None
    found = survey.found
    sensible = qty.si(survey.air.sensible_factor, qty.SENSIBLE_FACTOR)
    density = qty.si(survey.air.density, qty.DENSITY) / qty.si(STANDARD_DENSITY, qty.DENSITY)
    share, share_sd = survey.heat.efficiency.pair
    cooling = found.mode == "cooling" or (file.complaint.family == "low-cool-air" and found.mode != "heating")
    tons = qty.us(file.coil.cooling, qty.COOLING_CAPACITY) if file.coil and file.coil.cooling is not None else None
    if survey.middle_airflow is not None:
        rated = qty.si(survey.middle_airflow, qty.AIRFLOW)
    else:
        # Without a rise on the plate: the airflow of a rise of 52 °F, the middle of usual plates.
        heat = survey.plate_input if survey.plate_input is not None else furnace.input
        rated = qty.si(heat, qty.HEAT_RATE) * share / (sensible * 29.0)
    if cooling and tons:
        rated = numbers.constant(knowledge, "cooling-airflow-usual") * tons * qty.CFM
    limit = survey.limit
    back = found.readings.get("return-air")
    seen = {f.id: f.probability for f in survey.findings}
    watched = seen.get("limit-opened-while-watched")
    gap = return_above_room(case, found, knowledge)
    if gap is None and back is not None and not cooling:
        # Rooms not read: a heated house is near 70 °F, give or take.
        gap = numbers.value(back, knowledge) - qty.si(ROOM, qty.TEMPERATURE), 2.5
    fan, strength = _fan(case, found, rated, density, knowledge)
    sets = since_repair(survey.sets)
    counted = furnace.counted_as_external or ("return", "filter", "coil", "supply")
    coil = file.coil is not None and not file.coil.none
    taps = _taps(found, sets, knowledge)
    return Evidence(
        sensible=sensible,
        rated_airflow=rated,
        density_ratio=density,
        plate_input=numbers.optional_si(survey.plate_input, qty.HEAT_RATE),
        rise_maximum=numbers.optional_si(furnace.rise[1], qty.TEMPERATURE_DIFFERENCE) if furnace.rise else None,
        efficiency=Gauge(share, share_sd),
        clocked=_gauge(found.input),
        rise=_gauge(found.rise) if found.mode == "heating" else None,
        rise_at_trip=_gauge(rise_at_trip(found.readings, "", knowledge)),
        airflow=_own_airflow(found),
        taps=_by_difference(found, taps, knowledge),
        across=_across(found, taps, knowledge),
        static=_own_static(found, counted, coil),
        counted=counted,
        coil=coil,
        clean=_clean(case, knowledge, density),
        fan=fan,
        motor_speed=_motor_speed(case, found, knowledge),
        sections=_sections(case, found, survey, share, knowledge),
        setting_strength=strength,
        opened=_opened(found, sets),
        limit_opens=numbers.optional_si(limit.marked, qty.TEMPERATURE) if limit else None,
        limit_found=_gauge(limit.opened_at) if limit else None,
        return_temperature=Gauge(numbers.value(back, knowledge), numbers.sd(back, knowledge))
        if back
        else Gauge(qty.si(ROOM, qty.TEMPERATURE), 1.5),
        room_known=back is not None,
        return_above_room=Gauge(*gap) if gap else None,
        tripped=None if watched is None else watched > 0.5,
        watched_long=watched is not None and watched < 0.5,
        cooling_airflow_needed=numbers.constant(knowledge, "cooling-airflow-ice") * tons * qty.CFM
        if cooling and tons
        else None,
    )


def _gauge(found: Estimate | None) -> Gauge | None:
    return Gauge(*found.pair) if found is not None else None


def _own_static(found: ReadingSet, counted: Collection[str], coil: bool) -> Gauge | None:
    """External static read as one number over all that the wheel works against; what follows from the taps is weighed
    with them, and a boundary that leaves out filter or coil is none that the model can close the loop over."""
    whole = "filter" in counted and ("coil" in counted or not coil)
    if found.static is None or not whole or "external-static" not in found.static.readings:
        return None
    return _gauge(found.static)


def _own_airflow(found: ReadingSet) -> Gauge | None:
    own = next((f for f in found.airflow if "flow-grid-airflow" in f.readings), None)
    return _gauge(own)


def _sections(case: Case, found: ReadingSet, survey: Survey, share: float, knowledge: Knowledge) -> dict[str, Gauge]:
    """The narrowest section of return and supply over what is usual for the furnace's output, where it is known."""
    out: dict[str, Gauge] = {}
    if survey.plate_input is None:
        return out
    output = qty.us(survey.plate_input, qty.HEAT_RATE) * share / 1000
    for side in path.SIDES:
        section = path.section_of(case, found.readings, side, knowledge)
        if section is not None:
            usual = numbers.constant(knowledge, f"usual-{side}-section") * output * qty.INCH**2
            out[side] = Gauge(section[0] / usual, section[1] / usual)
    return out


def _motor_speed(case: Case, found: ReadingSet, knowledge: Knowledge) -> Gauge | None:
    """The motor's speed over that of its setting, where both are known."""
    read, blower = found.readings.get("motor-speed"), case.file.blower
    if read is None or blower is None or blower.speed is None:
        return None
    meant = qty.si(blower.speed, qty.SPEED)
    ratio = numbers.value(read, knowledge) / meant
    return Gauge(
        ratio, float(np.hypot(numbers.sd(read, knowledge) / meant, numbers.constant(knowledge, "motor-speed-spread")))
    )


def _taps(found: ReadingSet, sets: Sequence[ReadingSet], knowledge: Knowledge) -> dict[int, Gauge]:
    """As-found pressures as magnitudes; a tap not read as found is taken from a changed set, scaled by its rise."""
    out = {
        n: Gauge(abs(p), max(sd, 0.006 * qty.INWC))
        for n, (p, sd) in path.pressures(found.taps).items()
        if n in (2, 3, 4, 5, 6)
    }
    for one in sets:
        removes = REMOVES.get(frozenset((p, h.split()[0]) for p, h in one.state.items()))
        if one.phase != "changed" or removes is None or found.rise is None or one.rise is None:
            continue
        ratio = one.rise.pair[0] / found.rise.pair[0]
        for shown, stands_for in STAND_IN[removes].items():
            read = path.pressures(one.taps).get(shown)
            if read is not None and stands_for not in out:
                size = abs(read[0]) * ratio**1.95
                out[stands_for] = Gauge(size, float(np.hypot(read[1], 0.06 * size)))
    return out


def _across(found: ReadingSet, taps: Mapping[int, Gauge], knowledge: Knowledge) -> dict[str, Gauge]:
    """Drops read across a part of which neither tap is known."""
    return {part: drop for part, drop in _drops_across(found, knowledge).items() if not set(BESIDE[part]) & taps.keys()}


def _by_difference(found: ReadingSet, taps: Mapping[int, Gauge], knowledge: Knowledge) -> dict[int, Gauge]:
    """The taps, with those that follow from the tap on the other side of a part and the drop read across it."""
    out = dict(taps)
    for part, drop in _drops_across(found, knowledge).items():
        near, far = BESIDE[part]
        if near in taps and far not in taps:
            out[far] = Gauge(taps[near].value + drop.value, float(np.hypot(taps[near].sd, drop.sd)))
        elif far in taps and near not in taps:
            out[near] = Gauge(max(taps[far].value - drop.value, 0.0), float(np.hypot(taps[far].sd, drop.sd)))
    return out


def _drops_across(found: ReadingSet, knowledge: Knowledge) -> dict[str, Gauge]:
    return {
        part: Gauge(size, max(sd, 0.006 * qty.INWC))
        for part, (size, sd) in path.across_of(found.readings, found.taps, knowledge).items()
    }


def _clean(case: Case, knowledge: Knowledge, density: float) -> dict[str, tuple[Gauge, float]]:
    """Clean drops given by a label or a table: (drop [Pa] with the spread of its logarithm, airflow [m³/s])."""
    spread = numbers.constant(knowledge, "clean-deviation")
    out = {}
    for part, known in (("filter", case.file.filter), ("coil", case.file.coil)):
        if known is not None and known.clean_drop is not None and known.at is not None:
            out[part] = (
                Gauge(qty.si(known.clean_drop, qty.AIR_PRESSURE) * density, spread),
                qty.si(known.at, qty.AIRFLOW),
            )
    return out


def _fan(
    case: Case, found: ReadingSet, rated: float, density: float, knowledge: Knowledge
) -> tuple[FanCurve | None, float | None]:
    """The fan's curve at the setting found, and how strong that setting is for this furnace."""
    table = case.fan_table
    if table is None:
        return None, None
    setting = setting_of(case, found.state)
    curve = curve_of(table, setting, density)
    if curve is None:
        return None, None
    flow, static = curve
    strength = _on_usual_path(case, flow, static, rated, density, knowledge) / rated
    others = {
        name: other
        for name in table.airflow
        if slug(name) != slug(setting) and (other := curve_of(table, name, density)) is not None
    }
    return FanCurve(flow, static, numbers.constant(knowledge, "fan-table-spread"), others), strength


def _on_usual_path(
    case: Case, flow: np.ndarray, static: np.ndarray, rated: float, density: float, knowledge: Knowledge
) -> float:
    """Airflow [m³/s] of a fan's curve on a clean path as usual for the furnace.

    A slower setting also meets less resistance: at one fixed static it would look weaker than it is.
    """
    furnace, coil = case.file.furnace, case.file.coil
    counted = (furnace.counted_as_external if furnace else None) or ("return", "filter", "coil", "supply")
    fitted = [p for p in counted if p != "inlet" and (p != "coil" or (coil is not None and not coil.none))]
    airflow = rated * np.geomspace(0.2, 2.5, 120)
    asked = sum(
        knowledge.parts[p].clean_drop * qty.INWC * density * (airflow / rated) ** knowledge.parts[p].exponent
        for p in fitted
    )
    return float(np.interp(0.0, asked - made(flow, static, airflow), airflow))


def _opened(found: ReadingSet, sets: Sequence[ReadingSet]) -> tuple[OpenedPath, ...]:
    """Short tests with the air path opened: what each removed and what the rise did."""
    out: dict[str, OpenedPath] = {}
    for one in sets:
        removes = REMOVES.get(frozenset((p, h.split()[0]) for p, h in one.state.items()))
        if one.phase == "changed" and removes and one.rise is not None:
            after, after_sd = one.rise.pair
            ratio = None
            if found.rise is not None:
                before, before_sd = found.rise.pair
                # Same probes, minutes apart: part of their error is common and drops out.
                ratio = Gauge(
                    after / before, 0.6 * after / before * float(np.hypot(after_sd / after, before_sd / before))
                )
            out[removes] = OpenedPath(removes, ratio, Gauge(after, after_sd))
    return tuple(out[k] for k in sorted(out))
