"""Worked airflow: heat balance, two methods side by side, return air that is not what it seems, a run log."""

from __future__ import annotations

import math
from collections.abc import Mapping

from causebook import quantity as qty
from causebook.knowledge import load
from causebook.measured import Measured
from causebook.physics import building, furnace
from causebook.physics.air import Stream, air_state, mix
from causebook.physics.limits import LIMITS
from causebook.quantity import Quantity, q
from causebook.workings.forms import Both, One, Span, Table
from causebook.workings.model import Field, Line, Worked, Working

SENSIBLE = "sensible heat of moist air, ASHRAE Handbook, Fundamentals 2017, ch. 1"
INPUT = Field("input", "Input by the clock", One(qty.HEAT_RATE))
EFFICIENCY = Field("efficiency", "Steady efficiency", One(qty.SHARE))
ELEVATION = Field("elevation", "Elevation", One(qty.LENGTH), otherwise="0 ft")
RETURN = Field("return-air", "Return air at the furnace", One(qty.PROBE_TEMPERATURE), otherwise="70 degF")
RISE = Field("rise", "Temperature rise, steady", One(qty.TEMPERATURE_DIFFERENCE))


def factor_line(elevation: Quantity, return_air: Quantity) -> Line:
    """The sensible factor of return air, as a step."""
    return Line(
        "Sensible factor",
        air_state(return_air, elevation).sensible_factor,
        qty.SENSIBLE_FACTOR,
        "specific heat × density of the return air",
    )


def _output(input: Quantity, efficiency: Quantity) -> Line:
    return Line("Heat into the air", furnace.output(input, efficiency), qty.HEAT_RATE, "input × efficiency")


def _share(value: Quantity, kind: qty.Kind, share: Quantity | None) -> Measured:
    return Measured.of(value, value * (qty.si(share, qty.SHARE) if share is not None else 0.0), kind)


def _airflow_from_rise(
    input: Quantity,
    efficiency: Quantity,
    rise: Quantity,
    elevation: Quantity,
    return_air: Quantity,
    input_error: Quantity | None,
    efficiency_error: Quantity | None,
    rise_error: Quantity | None,
) -> Worked:
    factor = factor_line(elevation, return_air)
    assert isinstance(factor.value, Quantity)
    spread = rise_error if rise_error is not None else q(0.0, "delta_degF")
    found = furnace.airflow_by_rise(
        _share(input, qty.HEAT_RATE, input_error),
        _share(efficiency, qty.SHARE, efficiency_error),
        Measured.of(rise, spread, qty.TEMPERATURE_DIFFERENCE),
        factor.value,
    )
    return Worked(
        (
            Line(
                "Airflow",
                found.value,
                qty.AIRFLOW,
                "heat into the air ÷ (sensible factor × rise)",
                found.sd if found.sd_si else None,
            ),
        ),
        (_output(input, efficiency), factor),
    )


def _rise_from_airflow(
    input: Quantity, efficiency: Quantity, airflow: Quantity, elevation: Quantity, return_air: Quantity
) -> Worked:
    factor, heat = factor_line(elevation, return_air), _output(input, efficiency)
    rise = furnace.rise(heat.value, airflow, factor.value)
    return Worked(
        (
            Line("Rise", rise, qty.TEMPERATURE_DIFFERENCE, "heat into the air ÷ (sensible factor × airflow)"),
            Line(
                "Supply air", furnace.outlet_temperature(return_air, rise), qty.PROBE_TEMPERATURE, "return air + rise"
            ),
        ),
        (heat, factor),
    )


def _least_airflow(
    input: Quantity,
    efficiency: Quantity,
    plate_rise: tuple[Quantity, Quantity],
    elevation: Quantity,
    return_air: Quantity,
) -> Worked:
    factor, heat = factor_line(elevation, return_air), _output(input, efficiency)
    low, high = plate_rise
    return Worked(
        (
            Line(
                "Least airflow",
                furnace.minimum_airflow(heat.value, high, factor.value),
                qty.AIRFLOW,
                "heat into the air ÷ (sensible factor × highest rise)",
            ),
            Line(
                "Airflow at the middle",
                furnace.middle_airflow(heat.value, low, high, factor.value),
                qty.AIRFLOW,
                "the same with the middle of the range",
            ),
        ),
        (heat, factor),
    )


def _two_airflows(airflows: Mapping[str, tuple[Quantity, Quantity]]) -> Worked:
    if len(airflows) != 2:
        raise ValueError(f"{len(airflows)} airflows are given; expected two, each by its own method")
    (one, one_sd), (other, other_sd) = ((qty.si(a, qty.AIRFLOW), qty.si(s, qty.AIRFLOW)) for a, s in airflows.values())
    mean, gap, spread = (one + other) / 2, abs(one - other), math.hypot(one_sd, other_sd)
    allowed = load().constants["airflow-methods-agree"].value
    agree = gap <= allowed * mean
    return Worked(
        (
            Line("Difference", q(gap / mean, ""), qty.SHARE, "difference ÷ mean of the two"),
            Line(
                "Verdict",
                f"they {'agree' if agree else 'disagree'}: the difference is"
                f" {gap / spread:.1f} times what their errors explain",
                None,
                f"agree within {allowed:.0%}",
            ),
        ),
        (
            Line("Difference", qty.from_si(gap, qty.AIRFLOW), qty.AIRFLOW, "larger − smaller"),
            Line(
                "Error of the difference",
                qty.from_si(spread, qty.AIRFLOW),
                qty.AIRFLOW,
                "√(first error² + second error²)",
            ),
        ),
        "" if agree else "A disagreement is a finding. Neither number may be used until one of them is explained.",
    )


def _recirculation(room: Quantity, return_air: Quantity, supply: Quantity) -> Worked:
    return Worked(
        (
            Line(
                "Share of supply air in the return",
                furnace.recirculation_share(room, return_air, supply),
                qty.SHARE,
                "(return − room) ÷ (supply − room)",
            ),
        ),
        (Line("Rise", from_difference(supply, return_air), qty.TEMPERATURE_DIFFERENCE, "supply − return"),),
    )


def from_difference(one: Quantity, other: Quantity) -> Quantity:
    """One temperature less another, as a difference."""
    return qty.from_si(qty.si(one, qty.TEMPERATURE) - qty.si(other, qty.TEMPERATURE), qty.TEMPERATURE_DIFFERENCE)


def _mixed_return(streams: Mapping[str, tuple[Quantity, Quantity]], elevation: Quantity) -> Worked:
    mixed = mix(*(Stream(air_state(temperature, elevation), airflow) for airflow, temperature in streams.values()))
    return Worked(
        (
            Line(
                "Mixed return air",
                mixed.state.temperature,
                qty.PROBE_TEMPERATURE,
                "temperatures weighted by mass, water and enthalpy kept",
            ),
        ),
        (Line("Airflow in all", mixed.airflow, qty.AIRFLOW, "of the mixture, at its own temperature"),),
    )


def _cooling_airflow(capacity: Quantity, airflow: Quantity, per_ton: Quantity) -> Worked:
    wanted = building.cooling_airflow(capacity, per_ton)
    share = q(qty.si(airflow, qty.AIRFLOW) / qty.si(wanted, qty.AIRFLOW), "")
    least = LIMITS["cooling_airflow_california"]
    assert least.low is not None
    return Worked(
        (
            Line(
                "Airflow for each ton",
                qty.from_si(
                    qty.si(airflow, qty.AIRFLOW) / qty.si(capacity, qty.COOLING_CAPACITY), qty.AIRFLOW_PER_CAPACITY
                ),
                qty.AIRFLOW_PER_CAPACITY,
                "airflow ÷ capacity",
            ),
            Line(
                "Cooling capacity left",
                building.cooling_capacity_share(share),
                qty.SHARE,
                "curve of residential air conditioners",
            ),
        ),
        (
            Line("Airflow the coil asks for", wanted, qty.AIRFLOW, "capacity × airflow for each ton"),
            Line("Share of it", share, qty.SHARE, "airflow ÷ that"),
        ),
        f"{least.words}: at least {qty.show(least.low, qty.AIRFLOW_PER_CAPACITY)} ({least.source}, {least.status}).",
    )


def _run_log(supply: Mapping[Quantity, Quantity], return_air: Quantity) -> Worked:
    times: Quantity = Quantity([qty.si(t, qty.DURATION) for t in supply], "s")
    temperatures: Quantity = Quantity([qty.si(t, qty.TEMPERATURE) for t in supply.values()], "K")
    fit = furnace.fit_run(times, temperatures, return_air)
    return Worked(
        (
            Line(
                "Where the rise was going",
                fit.steady_rise.value,
                qty.TEMPERATURE_DIFFERENCE,
                "fit of rise = S × (1 − e^(−(t − t₀) ÷ τ))",
                fit.steady_rise.sd,
            ),
            Line("Share of it reached", q(fit.reached, ""), qty.SHARE, "1 − e^(−(last − t₀) ÷ τ)"),
        ),
        (
            Line("Last rise logged", fit.last_rise, qty.TEMPERATURE_DIFFERENCE, "last supply − return"),
            Line("Time constant τ", fit.time_constant.value, qty.LONG_DURATION, "of the fit"),
        ),
        "The last rise is a lower bound, and an airflow computed from it too high."
        if fit.extrapolated
        else "The rise was steady when the log ended.",
    )


def _watched_call(
    input: Quantity,
    efficiency: Quantity,
    airflow: Quantity,
    return_air: Quantity,
    elevation: Quantity,
    opens: Quantity,
    closes: Quantity,
    call: Quantity,
    time_constant: Quantity,
    body_factor: Quantity | None,
) -> Worked:
    factor, heat, above = factor_line(elevation, return_air), _output(input, efficiency), body_factor_line(body_factor)
    model = furnace.warming(heat.value, airflow, factor.value, return_air, time_constant, above.value, opens, closes)
    run = furnace.run(model, call)
    steady = furnace.rise(heat.value, airflow, factor.value)
    first = run.trips[0] if run.trips else None
    at = None if first is None else from_difference(run.supply[int((run.seconds == first).argmax())], return_air)
    return Worked(
        (
            Line("Limit opens after", q(first, "s"), qty.DURATION, "simulated call")
            if first is not None
            else Line("Limit opens after", "not at all in this call", None, "simulated call"),
            Line("Rise at that moment", at, qty.TEMPERATURE_DIFFERENCE, "supply − return")
            if at is not None
            else Line(
                "Rise at the end",
                from_difference(run.supply[-1], return_air),
                qty.TEMPERATURE_DIFFERENCE,
                "supply − return",
            ),
            Line("Openings in the call", str(len(run.trips)), None, "counted"),
        ),
        (
            heat,
            factor,
            above,
            Line(
                "Rise it is going to",
                steady,
                qty.TEMPERATURE_DIFFERENCE,
                "heat into the air ÷ (sensible factor × airflow)",
            ),
            Line(
                "Limit body it is going to",
                furnace.limit_body(return_air, steady, above.value),
                qty.PROBE_TEMPERATURE,
                "return air + factor × rise",
            ),
        ),
    )


AIRFLOW = Field("airflow", "Airflow", One(qty.AIRFLOW))
BODY_FACTOR = Field("body-factor", "Limit body above return, in rises", One(qty.RATIO), needed=False)


def body_factor_line(body_factor: Quantity | None) -> Line:
    """The factor of the limit body, as a step: the one given, else the usual one."""
    usual = load().constants["limit-body-factor"]
    if body_factor is not None:
        return Line("Factor of the limit body", body_factor, qty.RATIO, "given")
    return Line("Factor of the limit body", q(usual.value, ""), qty.RATIO, usual.basis.kind)


OPENS = Field("opens", "Limit marked to open at", One(qty.TEMPERATURE))

KINDS = (
    Working(
        "airflow-from-rise",
        "Airflow from the rise",
        (
            INPUT,
            EFFICIENCY,
            RISE,
            ELEVATION,
            RETURN,
            Field("input-error", "Error of the input", One(qty.SHARE), needed=False),
            Field("efficiency-error", "Error of the efficiency", One(qty.SHARE), needed=False),
            Field("rise-error", "Error of the rise", One(qty.TEMPERATURE_DIFFERENCE), needed=False),
        ),
        _airflow_from_rise,
        f"{SENSIBLE}; errors by JCGM 100:2008, 5.1",
    ),
    Working(
        "rise-from-airflow",
        "Rise from the airflow",
        (INPUT, EFFICIENCY, AIRFLOW, ELEVATION, RETURN),
        _rise_from_airflow,
        SENSIBLE,
    ),
    Working(
        "least-airflow",
        "Airflow that the plate asks for",
        (
            INPUT,
            EFFICIENCY,
            Field("plate-rise", "Rise range on the plate", Span(qty.TEMPERATURE_DIFFERENCE)),
            ELEVATION,
            RETURN,
        ),
        _least_airflow,
        f"{SENSIBLE}; the range is the plate's",
    ),
    Working(
        "two-airflows",
        "Airflow by two methods",
        (Field("airflows", "Airflow", Table(Both(qty.AIRFLOW, "within", qty.AIRFLOW))),),
        _two_airflows,
        "difference of two independent readings, JCGM 100:2008, 5.1; the 15 % is common practice, no source",
    ),
    Working(
        "recirculation",
        "Supply air that comes straight back",
        (
            Field("room", "Room air", One(qty.PROBE_TEMPERATURE)),
            Field("return-air", "Return air at the furnace", One(qty.PROBE_TEMPERATURE)),
            Field("supply", "Supply air", One(qty.PROBE_TEMPERATURE)),
        ),
        _recirculation,
        "heat balance of the two streams; shares by mass",
        "It holds when nothing else warms the return on its way.",
    ),
    Working(
        "mixed-return",
        "Return air from several places",
        (Field("streams", "Stream from", Table(Both(qty.AIRFLOW, "at", qty.PROBE_TEMPERATURE))), ELEVATION),
        _mixed_return,
        "adiabatic mixing, ASHRAE Handbook, Fundamentals 2017, ch. 1",
    ),
    Working(
        "cooling-airflow",
        "Airflow of the cooling coil",
        (
            Field("capacity", "Cooling capacity", One(qty.COOLING_CAPACITY)),
            AIRFLOW,
            Field(
                "per-ton",
                "Airflow for each ton by the coil's table",
                One(qty.AIRFLOW_PER_CAPACITY),
                otherwise="400 cfm/ton",
            ),
        ),
        _cooling_airflow,
        "definition; capacity by NREL/TP-5500-56354",
    ),
    Working(
        "run-log",
        "Steady rise from a log",
        (Field("supply", "Supply air", Table(One(qty.PROBE_TEMPERATURE), One(qty.LONG_DURATION))), RETURN),
        _run_log,
        "least squares on a first-order warming-up (lumped heat exchanger); the model is a simplification",
    ),
    Working(
        "watched-call",
        "A call for heat, minute by minute",
        (
            INPUT,
            EFFICIENCY,
            AIRFLOW,
            RETURN,
            ELEVATION,
            OPENS,
            Field("closes", "Limit closes again at", One(qty.TEMPERATURE)),
            Field("call", "Length of the call", One(qty.LONG_DURATION), otherwise="20 min"),
            Field("time-constant", "Time constant of warming up", One(qty.LONG_DURATION), otherwise="3 min"),
            BODY_FACTOR,
        ),
        _watched_call,
        f"{SENSIBLE}; lumped heat exchanger and limit body, expert estimate, no source",
    ),
)
