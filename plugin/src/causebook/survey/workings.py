"""The survey's numbers worked once by hand: formula, terms with units, result, source."""

from __future__ import annotations

from causebook import quantity as qty
from causebook.casefile.model import Case
from causebook.knowledge.model import Knowledge
from causebook.survey.heat import gas_correction, heat_of
from causebook.survey.model import Estimate, ReadingSet, Survey, Work
from causebook.survey.numbers import spread_kind
from causebook.survey.survey import merged_found

SENSIBLE_SOURCE = "sensible heat of moist air: ASHRAE Handbook—Fundamentals, chapter 1 (psychrometrics)"


def with_sd(found: Estimate) -> str:
    """A value with its standard uncertainty, as text."""
    return f"{qty.show(found.value, found.kind)} ± {qty.show(found.sd, spread_kind(found.kind))}"


def workings(case: Case, surveyed: Survey, knowledge: Knowledge) -> tuple[Work, ...]:
    """Input, airflow and its least, external static and limit body, for the as-found readings."""
    found = merged_found(surveyed.sets, knowledge)
    works = [
        _input(case, found),
        _airflow(case, surveyed, found, knowledge),
        _least(case, surveyed, knowledge),
        _static(case, found),
        _body(surveyed, found, knowledge),
    ]
    return tuple(work for work in works if work is not None)


def _input(case: Case, found: ReadingSet) -> Work | None:
    site = case.file.site
    time = found.readings.get("meter-time")
    if found.input is None or site.heating_value is None or site.meter_dial is None or time is None:
        return None
    formula = "input = 3600 × heating value × dial ÷ one turn"
    terms = [
        ("heating value", qty.show(site.heating_value, qty.HEATING_VALUE)),
        ("dial", qty.show(site.meter_dial, qty.VOLUME)),
        ("one turn", qty.show(time.value, qty.DURATION, 1)),
    ]
    if (correction := gas_correction(case)) is not None:
        formula += " × correction"
        terms.append(("correction", f"{correction:.4f}"))
    return Work(
        "Heat input by the clock",
        formula,
        tuple(terms),
        with_sd(found.input),
        "first principles: gas metered × its heat content",
        found.input.note,
    )


def _airflow(case: Case, surveyed: Survey, found: ReadingSet, knowledge: Knowledge) -> Work | None:
    flow = next((f for f in found.airflow if f.method.startswith("rise")), None)
    # Rise, input and air of the visit that gave it, which need not be the last.
    own = next((s for s in surveyed.sets if any(f is flow for f in s.airflow)), None)
    if flow is None or own is None or own.rise is None or surveyed.efficiency is None:
        return None
    heat = own.input.value if own.input else surveyed.plate_input
    if heat is None:
        return None
    air = heat_of(case, knowledge).at_return(own.readings).air
    return Work(
        "Airflow by the rise",
        "airflow = input × efficiency ÷ (sensible factor × rise)",
        (
            ("input", qty.show(heat, qty.HEAT_RATE)),
            ("efficiency", with_sd(surveyed.efficiency)),
            ("sensible factor", qty.show(air.sensible_factor, qty.SENSIBLE_FACTOR)),
            ("rise", with_sd(own.rise)),
        ),
        with_sd(flow),
        SENSIBLE_SOURCE,
        " · ".join(note for note in (own.rise.note, flow.note) if note),
    )


def _least(case: Case, surveyed: Survey, knowledge: Knowledge) -> Work | None:
    furnace, heat = case.file.furnace, heat_of(case, knowledge)
    if furnace is None or furnace.rise is None or surveyed.minimum_airflow is None or heat.output is None:
        return None
    return Work(
        "Least airflow for the plate",
        "least airflow = output ÷ (sensible factor × highest rise)",
        (
            ("output", qty.show(qty.from_si(heat.output, qty.HEAT_RATE), qty.HEAT_RATE)),
            ("sensible factor", qty.show(surveyed.air.sensible_factor, qty.SENSIBLE_FACTOR)),
            ("highest rise", qty.show(furnace.rise[1], qty.TEMPERATURE_DIFFERENCE, 0)),
        ),
        qty.show(surveyed.minimum_airflow, qty.AIRFLOW),
        SENSIBLE_SOURCE,
    )


def _static(case: Case, found: ReadingSet) -> Work | None:
    furnace = case.file.furnace
    if found.static is None or furnace is None or furnace.counted_as_external is None or len(found.static.readings) < 2:
        return None
    taps = {t.name: t for t in found.taps if t.value is not None}
    after, before = found.static.method.split(" less ")
    return Work(
        "External static on the plate's boundary",
        f"static = {after} − {before}",
        tuple((name, qty.show(taps[name].value, qty.AIR_PRESSURE)) for name in (after, before) if name in taps),
        with_sd(found.static),
        "definition; boundary from the plate: " + ", ".join(furnace.counted_as_external) + " count as external",
    )


def _body(surveyed: Survey, found: ReadingSet, knowledge: Knowledge) -> Work | None:
    limit = surveyed.limit
    if limit is None or limit.body is None or "return-air" not in found.readings:
        return None
    factor = knowledge.constants["limit-body-factor"]
    # Without a steady rise the body was worked out from the rise at the trip.
    rise = (
        with_sd(found.rise)
        if found.rise is not None
        else ""
        if limit.rise_at_trip is None
        else qty.show(limit.rise_at_trip, qty.TEMPERATURE_DIFFERENCE)
    )
    note = f"marked to open at {qty.show(limit.marked, qty.TEMPERATURE)}" if limit.marked is not None else ""
    return Work(
        "Temperature of the limit body in steady fire",
        "body = return + factor × rise",
        (
            ("return", qty.show(found.readings["return-air"].value, qty.PROBE_TEMPERATURE)),
            ("rise", rise),
            ("factor", f"{factor.value:g} ± {factor.spread:g}"),
        ),
        with_sd(limit.body),
        "expert estimate: the factor comes from watched trips",
        note,
    )
