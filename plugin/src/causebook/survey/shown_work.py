"""The survey's numbers worked once by hand: formula, terms with units, result, source."""

from __future__ import annotations

from causebook import quantity as qty
from causebook.survey.heat import gas_correction
from causebook.survey.model import Survey, Work

SENSIBLE_SOURCE = "sensible heat of moist air: ASHRAE Handbook—Fundamentals, chapter 1 (psychrometrics)"


def shown_work(surveyed: Survey) -> tuple[Work, ...]:
    """Input, airflow and its least, external static and limit body, for the as-found readings."""
    works = [_input(surveyed), _airflow(surveyed), _least(surveyed), _static(surveyed), _body(surveyed)]
    return tuple(work for work in works if work is not None)


def _input(surveyed: Survey) -> Work | None:
    case, found = surveyed.case, surveyed.found
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
        str(found.input),
        "first principles: gas metered × its heat content",
        found.input.note,
    )


def _airflow(surveyed: Survey) -> Work | None:
    found = surveyed.found
    flow = next((f for f in found.airflow if f.method.by_rise), None)
    heat = found.input.value if found.input else surveyed.plate_input
    if flow is None or found.rise is None or heat is None:
        return None
    air = surveyed.heat.at_return(found.readings).air
    return Work(
        "Airflow by the rise",
        "airflow = input × efficiency ÷ (sensible factor × rise)",
        (
            ("input", qty.show(heat, qty.HEAT_RATE)),
            ("efficiency", str(surveyed.heat.efficiency)),
            ("sensible factor", qty.show(air.sensible_factor, qty.SENSIBLE_FACTOR)),
            ("rise", str(found.rise)),
        ),
        str(flow),
        SENSIBLE_SOURCE,
        " · ".join(note for note in (found.rise.note, flow.note) if note),
    )


def _least(surveyed: Survey) -> Work | None:
    furnace, heat = surveyed.case.file.furnace, surveyed.heat
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


def _static(surveyed: Survey) -> Work | None:
    furnace, found = surveyed.case.file.furnace, surveyed.found
    if found.static is None or furnace is None or furnace.counted_as_external is None or len(found.static.readings) < 2:
        return None
    known = surveyed.knowledge.readings
    taps = {t.number: t for t in found.taps if t.value is not None}
    before, after = (taps[n] for r in found.static.readings if (n := known[r].tap))
    return Work(
        "External static on the plate's boundary",
        f"static = {after.name} − {before.name}",
        tuple((t.name, qty.show(t.value, qty.AIR_PRESSURE)) for t in (after, before) if t.value is not None),
        str(found.static),
        "definition; boundary from the plate: " + ", ".join(furnace.counted_as_external) + " count as external",
    )


def _body(surveyed: Survey) -> Work | None:
    limit, found = surveyed.limit, surveyed.found
    if limit is None or limit.body is None or "return-air" not in found.readings:
        return None
    factor = surveyed.knowledge.constants["limit-body-factor"]
    # Without a steady rise the body was worked out from the rise at the trip.
    rise = (
        str(found.rise)
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
        str(limit.body),
        "expert estimate: the factor comes from watched trips",
        note,
    )
