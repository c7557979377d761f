"""From a survey to the evidence of the heat-and-air model: the plate, and the slices of one furnace in time."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

import numpy as np

from causebook import quantity as qty
from causebook.belief.arrays import Array
from causebook.belief.repaired import put_right
from causebook.casefile.model import Case, CaseStep, Taken
from causebook.equipment.furnace.blower import made
from causebook.equipment.furnace.evidence import Evidence, FanCurve, Gauge, Slice
from causebook.knowledge.model import Knowledge, slug
from causebook.physics.air import STANDARD_DENSITY
from causebook.survey import numbers, path
from causebook.survey.airflow import curve_of, setting_of
from causebook.survey.heat import ROOM, rise_at_trip
from causebook.survey.model import Estimate, ReadingSet, Survey
from causebook.survey.values import return_above_room

WATCHED = "limit-opened-while-watched"
TRIAL = ("removed", "opened", "blocked", "closed", "set to", "one step")
"""What a state begins with that is tried and not put right."""


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
    rated = _rated(survey, sensible, share, knowledge)
    if cooling and tons:
        rated = numbers.constant(knowledge, "cooling-airflow-usual") * tons * qty.CFM
    limit = furnace.limit
    back = found.readings.get("return-air")
    gap = return_above_room(case, found, knowledge)
    if gap is None and back is not None and not cooling:
        # Rooms not read: a heated house is near 70 °F, give or take.
        gap = numbers.value(back, knowledge) - qty.si(ROOM, qty.TEMPERATURE), 2.5
    held = _held_airflow(case)
    fan, strength, meant = _fan(case, found, rated, density, knowledge)
    if held is not None and _as_instructed(case):
        meant = 1.0
    counted = furnace.counted_as_external or ("return", "filter", "coil", "supply")
    coil = file.coil is not None and not file.coil.none
    clean = _clean(case, knowledge, density)
    return Evidence(
        sensible=sensible,
        rated_airflow=rated,
        density_ratio=density,
        plate_input=numbers.optional_si(survey.plate_input, qty.HEAT_RATE),
        rise_maximum=numbers.optional_si(furnace.rise[1], qty.TEMPERATURE_DIFFERENCE) if furnace.rise else None,
        rise_minimum=numbers.optional_si(furnace.rise[0], qty.TEMPERATURE_DIFFERENCE) if furnace.rise else None,
        efficiency=Gauge(share, share_sd),
        counted=counted,
        coil=coil,
        clean=clean,
        fan=fan,
        held_airflow=held,
        measured=_measured(case, survey, found, knowledge),
        turned=_turned(case, found, knowledge),
        promised=_promised(clean, rated, density, knowledge),
        sections=_sections(case, found, survey, share, knowledge),
        setting_strength=strength,
        setting_meant=meant,
        limit_opens=numbers.optional_si(limit.opens, qty.TEMPERATURE) if limit else None,
        delay=numbers.optional_si(furnace.blower_on_delay, qty.DURATION),
        return_temperature=Gauge(numbers.value(back, knowledge), numbers.sd(back, knowledge))
        if back
        else Gauge(qty.si(ROOM, qty.TEMPERATURE), 1.5),
        room_known=back is not None,
        return_above_room=Gauge(*gap) if gap else None,
        cooling_airflow_needed=numbers.constant(knowledge, "cooling-airflow-ice") * tons * qty.CFM
        if cooling and tons
        else None,
        found=_as_found(case, survey, found, counted, coil, knowledge),
        others=_others(case, survey, found, counted, coil, knowledge),
    )


def _rated(survey: Survey, sensible: float, share: float, knowledge: Knowledge) -> float:
    """Airflow [m³/s] of mid-rise, else of a rise of 52 °F, the middle of usual plates."""
    if survey.middle_airflow is not None:
        return qty.si(survey.middle_airflow, qty.AIRFLOW)
    return qty.si(survey.plate_input, qty.HEAT_RATE) * share / (sensible * 29.0) if survey.plate_input else 0.5


# ---------------------------------------------------------------- slices


def _gauge(found: Estimate | None) -> Gauge | None:
    return Gauge(*found.pair) if found is not None else None


def _as_found(
    case: Case, survey: Survey, found: ReadingSet, counted: Collection[str], coil: bool, knowledge: Knowledge
) -> Slice:
    """The furnace as found, by all its visits since the last repair."""
    seen = {f.id: f.probability for f in survey.findings}
    watched = seen.get(WATCHED)
    taken = _slice_of(found, counted, coil, knowledge)
    return replace(taken, tripped=None if watched is None or watched == 0.5 else watched > 0.5)


def _slice_of(one: ReadingSet, counted: Collection[str], coil: bool, knowledge: Knowledge) -> Slice:
    taps = _by_difference(one, _taps(one), knowledge)
    seconds = one.readings.get("time-to-trip")
    return Slice(
        rise=_gauge(one.rise) if one.mode == "heating" else None,
        rise_at_trip=_gauge(rise_at_trip(one.readings, "", knowledge)),
        seconds=numbers.value(seconds, knowledge) if seconds else None,
        input=_gauge(one.input),
        taps=taps,
        across=_across(one, taps, knowledge),
        static=_own_static(one, counted, coil),
        airflow=_gauge(next((f for f in one.airflow if "flow-grid-airflow" in f.readings), None)),
    )


def _others(
    case: Case, survey: Survey, found: ReadingSet, counted: Collection[str], coil: bool, knowledge: Knowledge
) -> tuple[Slice, ...]:
    """Every other state in which something was read or watched, with what was put right between it and as found."""
    steps = {s.number: s for s in case.steps}
    here = max(found.steps, default=0)
    mended = _mended(case.steps, knowledge)
    out = []
    seen_in: set[int] = set()
    for one in survey.sets:
        if set(one.steps) <= set(found.steps):
            continue
        seen_in |= set(one.steps)
        out.append(_other(one, [steps[n] for n in one.steps if n in steps], here, mended, counted, coil, knowledge))
    for step in case.steps:  # watched, and nothing read
        if step.number in seen_in or step.number in found.steps or WATCHED not in step.seen and not step.step.after:
            continue
        state = dict(step.step.with_) | {p: h for p, h in step.step.changed.items() if h.startswith(TRIAL)}
        blank = ReadingSet("", state, (step.number,), "after" if step.step.after else "changed", step.visit, {})
        if blank.phase == "after" or state:
            out.append(_other(blank, [step], here, mended, counted, coil, knowledge))
    return tuple(s for s in out if s is not None and (s.speaks or s.tripped is not None))


def _other(
    one: ReadingSet,
    steps: Sequence[CaseStep],
    here: int,
    mended: Mapping[int, frozenset[str]],
    counted: Collection[str],
    coil: bool,
    knowledge: Knowledge,
) -> Slice | None:
    """A slice beside that as found; None after a repair of which nobody wrote down what was put right."""
    watched = [_said(step.seen.get(WATCHED)) for step in steps]
    first = min(one.steps)
    earlier = first < here
    between = (
        [
            unknowns
            for number, unknowns in mended.items()
            if (first <= number < here if earlier else here < number <= max(one.steps))
        ]
        if one.phase != "changed" or not earlier
        else []
    )
    if one.phase != "found":
        # A repair told in the visit's own steps lies between what was found there and this.
        between = [unknowns for number, unknowns in mended.items() if number <= max(one.steps)]
        earlier = False
    if one.phase in ("after", "follow-up") and not any(between):
        return None
    state = {part: how for part, how in one.state.items() if how.startswith(TRIAL)}
    told = [w for w in watched if w is not None]
    return replace(
        _slice_of(one, counted, coil, knowledge),
        state=state,
        renewed=frozenset().union(*between),
        earlier=earlier,
        tripped=told[-1] if told else (True if "supply-air-at-trip" in one.readings else None),
    )


def _said(answer: object) -> bool | None:
    word = str(getattr(answer, "value", answer))
    return {"yes": True, "no": False, "True": True, "False": False}.get(word)


def _mended(steps: Sequence[CaseStep], knowledge: Knowledge) -> dict[int, frozenset[str]]:
    """Step -> unknowns of the furnace that were put right in it."""
    by_word = {slug(word): u.of or u.id for u in knowledge.unknowns.values() for word in u.parts}
    out = {}
    for step in steps:
        done: set[str] = set()
        for part, how in step.step.changed.items():
            if not how.startswith(TRIAL):
                done |= {by_word[slug(part)]} if slug(part) in by_word else set()
                effects = [e for c in put_right(part, knowledge) for e in knowledge.causes[c].effects]
                done |= {knowledge.unknowns[e.on].of or e.on for e in effects}
        if done:
            out[step.number] = frozenset(done)
    return out


def _own_static(one: ReadingSet, counted: Collection[str], coil: bool) -> Gauge | None:
    """External static read as one number over all that the wheel works against; what follows from the taps is weighed
    with them, and a boundary that leaves out filter or coil is none that the model can close the loop over."""
    whole = "filter" in counted and ("coil" in counted or not coil)
    if one.static is None or not whole or "external-static" not in one.static.readings:
        return None
    return _gauge(one.static)


def _taps(one: ReadingSet) -> dict[int, Gauge]:
    """Pressures as magnitudes."""
    return {
        n: Gauge(abs(p), max(sd, 0.006 * qty.INWC))
        for n, (p, sd) in path.pressures(one.taps).items()
        if n in (2, 3, 4, 5, 6)
    }


#: Part that may be read across -> its tap towards the room, and the one towards the wheel, where more is lost.
BESIDE = {"filter": (2, 3), "coil": (6, 5)}


def _across(one: ReadingSet, taps: Mapping[int, Gauge], knowledge: Knowledge) -> dict[str, Gauge]:
    """Drops read across a part of which neither tap is known."""
    return {part: drop for part, drop in _drops_across(one, knowledge).items() if not set(BESIDE[part]) & taps.keys()}


def _by_difference(one: ReadingSet, taps: Mapping[int, Gauge], knowledge: Knowledge) -> dict[int, Gauge]:
    """The taps, with those that follow from the tap on the other side of a part and the drop read across it."""
    out = dict(taps)
    for part, drop in _drops_across(one, knowledge).items():
        near, far = BESIDE[part]
        if near in taps and far not in taps:
            out[far] = Gauge(taps[near].value + drop.value, float(np.hypot(taps[near].sd, drop.sd)))
        elif far in taps and near not in taps:
            out[near] = Gauge(max(taps[far].value - drop.value, 0.0), float(np.hypot(taps[far].sd, drop.sd)))
    return out


def _drops_across(one: ReadingSet, knowledge: Knowledge) -> dict[str, Gauge]:
    return {
        part: Gauge(size, max(sd, 0.006 * qty.INWC))
        for part, (size, sd) in path.across_of(one.readings, one.taps, knowledge).items()
        if part in BESIDE
    }


# ---------------------------------------------------------------- the plate and the parts


def _measured(case: Case, survey: Survey, found: ReadingSet, knowledge: Knowledge) -> dict[str, Gauge]:
    """Unknown -> what a measurement of the part itself says of it."""
    file, read = case.file, found.readings
    furnace, blower = file.furnace, file.blower
    out: dict[str, Gauge] = {}

    def ratio(name: str, taken: Taken | None, over: float | None, floor: float) -> None:
        if taken is not None and over:
            share = max(numbers.value(taken, knowledge) / over, 0.01)
            spread = float(np.hypot(numbers.sd(taken, knowledge) / over / share, floor))
            out[name] = Gauge(float(np.log(share)), spread)

    if blower is not None:
        ratio("capacitor", read.get("capacitor"), numbers.optional_si(blower.capacitor, qty.CAPACITANCE), 0.02)
    if furnace is not None:
        ratio("manifold", read.get("manifold"), numbers.optional_si(furnace.manifold, qty.GAS_PRESSURE), 0.02)
        usual = furnace.blower_on_delay if furnace.blower_on_delay is not None else None
        wait = numbers.optional_si(usual, qty.DURATION) or numbers.constant(knowledge, "blower-delay-usual")
        ratio("delay", read.get("blower-start-time"), wait, 0.05 if usual is not None else 0.25)
    limit = survey.limit
    if limit is not None and limit.opened_at is not None and limit.marked is not None:
        value, spread = limit.opened_at.pair
        out["limit"] = Gauge(value - qty.si(limit.marked, qty.TEMPERATURE), spread)
    return out


def _turned(case: Case, found: ReadingSet, knowledge: Knowledge) -> Gauge | None:
    """The motor's speed over that of its setting, as a logarithm, where both are known."""
    read, blower = found.readings.get("motor-speed"), case.file.blower
    if read is None or blower is None or blower.speed is None:
        return None
    meant = qty.si(blower.speed, qty.SPEED)
    share = max(numbers.value(read, knowledge) / meant, 0.02)
    spread = float(
        np.hypot(numbers.sd(read, knowledge) / meant / share, numbers.constant(knowledge, "motor-speed-spread"))
    )
    return Gauge(float(np.log(share)), spread)


def _promised(
    clean: Mapping[str, tuple[Gauge, float]], rated: float, density: float, knowledge: Knowledge
) -> dict[str, float]:
    out = {}
    for part, (gauge, at) in clean.items():
        known = knowledge.parts[part]
        usual = known.clean_drop * qty.INWC * density
        out[part] = float(np.log(gauge.value / usual) + known.exponent * np.log(rated / at))
    return out


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


def _as_instructed(case: Case) -> bool:
    """Does the blower stand on the setting that its sheet asks for, both being told?"""
    blower = case.file.blower
    return blower is not None and bool(blower.setting) and slug(blower.setting) == slug(blower.instructed_setting)


def _held_airflow(case: Case) -> float | None:
    """Airflow that a constant-airflow motor is told to hold [m³/s]."""
    blower = case.file.blower
    if blower is None or blower.motor != "constant airflow":
        return None
    if blower.airflow_setting is not None:
        return qty.si(blower.airflow_setting, qty.AIRFLOW)
    table = case.fan_table
    printed = table.curve(blower.setting) if table is not None else None
    return max(printed[1]) * qty.CFM if printed and printed[1] else None


def _fan(
    case: Case, found: ReadingSet, rated: float, density: float, knowledge: Knowledge
) -> tuple[FanCurve | None, float | None, float | None]:
    """The fan's curve at the setting found, how strong that setting is for this furnace, and beside the one meant."""
    table = case.fan_table
    if table is None:
        return None, None, None
    setting = setting_of(case, found.state)
    curve = curve_of(table, setting, density)
    meant = case.file.blower.instructed_setting if case.file.blower else ""
    if curve is None and not setting and meant and (asked := curve_of(table, meant, density)) is not None:
        # Nobody wrote down which setting it stands on: that of the sheet, or lower.
        return FanCurve(slug(meant), *asked, numbers.constant(knowledge, "fan-table-spread"), {}), None, None
    if curve is None:
        return None, None, None

    def strength(of: tuple[Array, Array]) -> float:
        return _on_usual_path(case, *of, rated, density, knowledge)

    own = strength(curve)
    asked = curve_of(table, meant, density) if meant else None
    others = {
        name: other
        for name in table.airflow
        if slug(name) != slug(setting) and (other := curve_of(table, name, density)) is not None
    }
    spread = numbers.constant(knowledge, "fan-table-spread")
    return (
        FanCurve(slug(setting), *curve, spread, others),
        own / rated,
        own / strength(asked) if asked is not None else None,
    )


def _on_usual_path(case: Case, flow: Array, static: Array, rated: float, density: float, knowledge: Knowledge) -> float:
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
