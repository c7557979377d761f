"""The furnace: heat into the air, rise and airflow, warming up, the limit, and what a run log tells.

The heat balance is sensible heat alone: output = sensible factor × airflow × rise, the sensible factor and the airflow
both at the same place (see `air.sensible_factor`; it is 1.08 Btu/(h·cfm·°F) only at sea level and room temperature).
Warming up follows one heat exchanger, the air it warms, and the limit's body that hangs in the hottest of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import curve_fit
from scipy.signal import find_peaks

from causebook.measured import Measured, propagate
from causebook.quantity import (
    AIRFLOW,
    DURATION,
    HEAT_RATE,
    RATIO,
    SENSIBLE_FACTOR,
    SHARE,
    TEMPERATURE,
    TEMPERATURE_DIFFERENCE,
    OutOfRange,
    Param,
    Quantity,
    from_si,
    physical,
    q,
    show,
    si,
)

_HEAT = Param(HEAT_RATE, 0.0, 1e6, open_low=True)
_EFFICIENCY = Param(SHARE, 0.3, 1.0)
_FLOW = Param(AIRFLOW, 0.0, 50.0, open_low=True)
_RISE = Param(TEMPERATURE_DIFFERENCE, 0.0, 200.0, open_low=True)
_FACTOR = Param(SENSIBLE_FACTOR, 500.0, 2000.0)
_TEMPERATURE = Param(TEMPERATURE, 200.0, 600.0)
_BODY_FACTOR = Param(RATIO, 0.5, 5.0)
_TIME = Param(DURATION, 0.0, 1e5)


# ------------------------------------------------------------------------------------------ heat balance


@physical(HEAT_RATE, input=_HEAT, efficiency=_EFFICIENCY)
def output(input: Any, efficiency: Any) -> Any:
    """Heat that reaches the air: the input there really is, times the steady-state efficiency (not the AFUE)."""
    return input * efficiency


@physical(TEMPERATURE_DIFFERENCE, output=_HEAT, airflow=_FLOW, sensible_factor=_FACTOR)
def rise(output: Any, airflow: Any, sensible_factor: Any) -> Any:
    """Steady temperature rise, output / (sensible factor × airflow)."""
    return output / (sensible_factor * airflow)


@physical(AIRFLOW, output=_HEAT, rise=_RISE, sensible_factor=_FACTOR)
def airflow_from_rise(output: Any, rise: Any, sensible_factor: Any) -> Any:
    """Airflow from a steady rise, output / (sensible factor × rise); a rise read too early gives too much."""
    return output / (sensible_factor * rise)


def airflow_by_rise(input: Measured, efficiency: Measured, rise: Measured, sensible_factor: Quantity) -> Measured:
    """Airflow from clocked input, efficiency and steady rise, with the uncertainty that all three give it.

    OutOfRange for a rise, an input or an efficiency that no furnace has.
    """
    factor = _FACTOR.read("sensible factor", sensible_factor)
    airflow_from_rise(output(input.value, efficiency.value), rise.value, sensible_factor)
    return propagate(
        lambda heat, share, difference: heat * share / (factor * difference), [input, efficiency, rise], AIRFLOW
    )


@physical(AIRFLOW, output=_HEAT, rise_maximum=_RISE, sensible_factor=_FACTOR)
def minimum_airflow(output: float, rise_maximum: float, sensible_factor: float) -> float:
    """Least airflow that the plate's highest rise allows."""
    return output / (sensible_factor * rise_maximum)


@physical(AIRFLOW, output=_HEAT, rise_minimum=_RISE, rise_maximum=_RISE, sensible_factor=_FACTOR)
def middle_airflow(output: float, rise_minimum: float, rise_maximum: float, sensible_factor: float) -> float:
    """Airflow at the middle of the plate's rise range, the usual target."""
    if rise_minimum > rise_maximum:
        shown = show(from_si(rise_minimum, TEMPERATURE_DIFFERENCE), TEMPERATURE_DIFFERENCE)
        raise OutOfRange(
            "rise minimum",
            shown,
            "at most " + show(from_si(rise_maximum, TEMPERATURE_DIFFERENCE), TEMPERATURE_DIFFERENCE),
        )
    return output / (sensible_factor * (rise_minimum + rise_maximum) / 2)


@physical(TEMPERATURE, return_temperature=_TEMPERATURE, rise=Param(TEMPERATURE_DIFFERENCE, 0.0, 200.0))
def outlet_temperature(return_temperature: Any, rise: Any) -> Any:
    """Mean supply temperature, return temperature at the furnace plus rise."""
    return return_temperature + rise


@physical(SHARE, room=_TEMPERATURE, return_temperature=_TEMPERATURE, supply=_TEMPERATURE)
def recirculation_share(room: float, return_temperature: float, supply: float) -> float:
    """Share of the return air that is supply air come straight back, (return − room) / (supply − room) by mass.

    OutOfRange when the supply is not warmer than the room or the return lies outside the two.
    """
    if supply <= room:
        raise OutOfRange(
            "supply",
            show(from_si(supply, TEMPERATURE), TEMPERATURE),
            f"above the room, {show(from_si(room, TEMPERATURE), TEMPERATURE)}",
        )
    share = (return_temperature - room) / (supply - room)
    if not 0 <= share <= 1:
        raise OutOfRange(
            "return temperature",
            show(from_si(return_temperature, TEMPERATURE), TEMPERATURE),
            f"{show(from_si(room, TEMPERATURE), TEMPERATURE)} to"
            f" {show(from_si(supply, TEMPERATURE), TEMPERATURE)} (room to supply)",
        )
    return share


# ------------------------------------------------------------------------------------------------- limit


@physical(
    TEMPERATURE,
    return_temperature=_TEMPERATURE,
    rise=Param(TEMPERATURE_DIFFERENCE, 0.0, 200.0),
    body_factor=_BODY_FACTOR,
)
def limit_body(return_temperature: Any, rise: Any, body_factor: Any) -> Any:
    """Temperature of the limit's body, return + factor × rise; it hangs in hotter air than the mean supply air."""
    return return_temperature + body_factor * rise


@physical(RATIO, return_temperature=_TEMPERATURE, rise=_RISE, body=_TEMPERATURE)
def body_factor(return_temperature: float, rise: float, body: float) -> float:
    """The factor from one observation: body temperature (its opening point, at a trip) with return and rise.

    OutOfRange when the body is not hotter than the return.
    """
    if body <= return_temperature:
        raise OutOfRange(
            "limit body temperature",
            show(from_si(body, TEMPERATURE), TEMPERATURE),
            f"above the return, {show(from_si(return_temperature, TEMPERATURE), TEMPERATURE)}",
        )
    return (body - return_temperature) / rise


# -------------------------------------------------------------------------------------------- warming up


@dataclass(frozen=True, slots=True)
class Warming:
    """What a furnace is while it warms up; bare SI numbers.  Build it with `warming`."""

    output: float
    """Heat to the exchanger while the burner is on [W]."""
    air_rate: float
    """Sensible factor × airflow with the blower on [W/K]."""
    return_temperature: float
    """[K]"""
    time_constant: float
    """Of the air's warming with the blower on [s]."""
    body_factor: float
    """Limit body above return, in steady rises."""
    body_lag: float
    """Time constant of the limit's body [s]."""
    opens: float
    """[K]"""
    closes: float
    """[K]"""
    on_delay: float = 30.0
    """Burner to blower [s]."""
    off_delay: float = 90.0
    """End of the call to blower stop [s]."""
    standing: float = 0.05
    """Heat lost with the blower off, as a share of that with it on; common practice, no source."""


@physical(
    None,
    output=_HEAT,
    airflow=_FLOW,
    sensible_factor=_FACTOR,
    return_temperature=_TEMPERATURE,
    time_constant=Param(DURATION, 1.0, 3600.0),
    body_factor=_BODY_FACTOR,
    body_lag=Param(DURATION, 1.0, 3600.0),
    opens=_TEMPERATURE,
    closes=_TEMPERATURE,
    on_delay=_TIME,
    off_delay=_TIME,
)
def warming(
    output: float,
    airflow: float,
    sensible_factor: float,
    return_temperature: float,
    time_constant: float,
    body_factor: float,
    opens: float,
    closes: float,
    body_lag: float = 55.0,
    on_delay: float = 30.0,
    off_delay: float = 90.0,
) -> Warming:
    """A furnace for `run`; OutOfRange when the limit closes above where it opens.

    The standard lag of the limit's body makes trip and relight times of watched furnaces come out about right; expert
    estimate, no source.
    """
    if closes >= opens:
        raise OutOfRange(
            "closing temperature of the limit",
            show(from_si(closes, TEMPERATURE), TEMPERATURE),
            f"below its opening temperature, {show(from_si(opens, TEMPERATURE), TEMPERATURE)}",
        )
    return Warming(
        output,
        sensible_factor * airflow,
        return_temperature,
        time_constant,
        body_factor,
        body_lag,
        opens,
        closes,
        on_delay,
        off_delay,
    )


@dataclass(frozen=True, slots=True)
class Run:
    """A simulated run, one array entry a step; bare SI numbers, `supply` and `body` as quantities by properties."""

    seconds: np.ndarray
    supply_si: np.ndarray
    """Air at the furnace outlet [K]; the return's temperature while no blower moves it."""
    body_si: np.ndarray
    """Limit body [K]."""
    burner: np.ndarray
    blower: np.ndarray
    heat_to_air_si: np.ndarray
    """[W]"""
    stored_si: np.ndarray
    """Heat held by the exchanger above return temperature [J]."""
    trips: tuple[float, ...]
    """Times at which the limit opened [s]."""
    relights: tuple[float, ...]
    """Times at which it let the burner on again [s]."""

    @property
    def supply(self) -> Quantity:
        """Supply temperatures."""
        return Quantity(self.supply_si, "K")

    @property
    def body(self) -> Quantity:
        """Limit body temperatures."""
        return Quantity(self.body_si, "K")


@physical(None, call=Param(DURATION, 1.0, 1e5), length=Param(DURATION, 1.0, 1e5), step=Param(DURATION, 0.05, 5.0))
def run(furnace: Warming, call: float, length: float | None = None, step: float = 0.5) -> Run:
    """A call for heat of duration `call`, watched for `length` (the call unless given), from a cold start.

    The burner lights at once, the blower after its delay; while the limit is open the burner stays off and the
    blower on; after the call the blower runs its off-delay.  The exchanger is followed by the rise it would give the
    air; it holds time constant × air rate of heat for each degree of that.  Each step solves the balance exactly.
    """
    steps = int(math.ceil((length if length is not None else call) / step))
    follow = 1 - math.exp(-step / furnace.body_lag)
    warmth = body = 0.0
    open_ = False
    trips: list[float] = []
    relights: list[float] = []
    rows: list[tuple[float, float, float, bool, bool, float]] = []
    for count in range(steps + 1):
        now = count * step
        if not open_ and body >= furnace.opens - furnace.return_temperature:
            open_ = True
            trips.append(now)
        elif open_ and body <= furnace.closes - furnace.return_temperature:
            open_ = False
            relights.append(now)
        burner = now < call and not open_
        blower = open_ or furnace.on_delay <= now < call + furnace.off_delay
        rows.append((now, warmth if blower else 0.0, body, burner, blower, warmth))
        share = 1.0 if blower else furnace.standing
        settled = furnace.output / furnace.air_rate / share if burner else 0.0
        later = settled + (warmth - settled) * math.exp(-step * share / furnace.time_constant)
        body += follow * (furnace.body_factor * (warmth + later) / 2 - body)
        warmth = later
    seconds, air, bodies, burners, blowers, held = (np.array(column) for column in zip(*rows, strict=True))
    return Run(
        seconds,
        furnace.return_temperature + air,
        furnace.return_temperature + bodies,
        burners,
        blowers,
        furnace.air_rate * air,
        furnace.air_rate * furnace.time_constant * held,
        tuple(trips),
        tuple(relights),
    )


# -------------------------------------------------------------------------------------------- run logs


@dataclass(frozen=True, slots=True)
class RunFit:
    """What a run log tells once fitted with S·(1 − e^(−(t − t0)/τ))."""

    steady_rise: Measured
    """S: where the rise was going, reached or not."""
    time_constant: Measured
    """τ."""
    dead_time: Quantity
    """t0: until the air begins to warm."""
    last_rise: Quantity
    """The rise at the last sample used: at the trip, if it tripped."""
    reached: float
    """Share of the steady rise reached by the last sample used, by the fit."""
    trips: tuple[float, ...]
    """Times of the supply temperature's summits, where the burner went out [s]."""
    relights: tuple[float, ...]
    """Times of its valleys, where it came on again [s]."""

    @property
    def extrapolated(self) -> bool:
        """Did the log end, or trip, before the rise was steady within 2 %?"""
        return self.reached < 0.98

    def rise_at(self, seconds: Any) -> Any:
        """Fitted rise [K] at times [s]."""
        start, tau = si(self.dead_time, DURATION), self.time_constant.si
        return _warming_up(np.asarray(seconds, dtype=float), self.steady_rise.si, tau, start)


FALL = q(5, "delta_degF")
"""By how much the supply temperature must fall and rise for a summit to count as the burner going out."""
PROBE_SD = q(1, "delta_degF")
"""Standard uncertainty of one logged temperature unless given; common practice, no source."""


def summits(times: Quantity, supply: Quantity, fall: Quantity = FALL) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Times [s] at which the burner went out and came on again in a log of supply temperature.

    Arrays of one length.  A log alone cannot tell a limit from a thermostat: that the blower ran on and the call
    stood is for the observer to know.
    """
    seconds, kelvin = _columns(times, supply)
    prominence = si(fall, TEMPERATURE_DIFFERENCE)
    peaks, _ = find_peaks(kelvin, prominence=prominence)
    valleys, _ = find_peaks(-kelvin, prominence=prominence)
    return tuple(float(t) for t in seconds[peaks]), tuple(float(t) for t in seconds[valleys])


def fit_run(times: Quantity, supply: Quantity, return_temperature: Quantity, probe_sd: Quantity = PROBE_SD) -> RunFit:
    """Steady rise, with its uncertainty, from a log of supply temperature, up to the first trip if there is one.

    `times` and `supply` are arrays of one length from the start of the call; `return_temperature` one value or such
    an array.  Least squares (scipy.optimize.curve_fit); the uncertainty is the larger of what the probe and what the
    scatter about the fit give.  ValueError when fewer than five samples come before the first trip or the air does
    not warm by 5 °F.
    """
    seconds, kelvin = _columns(times, supply)
    rises = kelvin - np.asarray(return_temperature.to("K").magnitude)
    trips, relights = summits(times, supply)
    used = seconds <= (trips[0] if trips else seconds[-1])
    t, y = seconds[used], rises[used]
    if len(t) < 5:
        raise ValueError(f"the log has {len(t)} samples before the first trip; valid is 5 or more")
    if np.max(y) - np.min(y) < si(FALL, TEMPERATURE_DIFFERENCE):
        raise ValueError("the supply temperature in the log does not rise by 5 °F: the furnace was not warming up")
    sigma = si(probe_sd, TEMPERATURE_DIFFERENCE)
    span = float(t[-1] - t[0])
    best, spread = curve_fit(
        _warming_up,
        t,
        y,
        p0=[float(np.max(y)) * 1.05, span / 3, float(t[0])],
        bounds=([0.0, 1.0, -60.0], [300.0, 10 * span, float(t[0]) + span / 2]),
        x_scale=[10.0, 100.0, 10.0],
        sigma=np.full(len(t), sigma),
        absolute_sigma=True,
    )
    scatter = math.sqrt(float(np.sum((_warming_up(t, *best) - y) ** 2)) / max(1, len(t) - 3))
    errors = np.sqrt(np.diag(spread)) * max(1.0, scatter / sigma)
    steady, tau, start = (float(value) for value in best)
    return RunFit(
        Measured(steady, float(errors[0]), TEMPERATURE_DIFFERENCE),
        Measured(tau, float(errors[1]), DURATION),
        from_si(start, DURATION),
        from_si(float(y[-1]), TEMPERATURE_DIFFERENCE),
        float(1 - math.exp(-max(0.0, t[-1] - start) / tau)),
        trips,
        relights,
    )


def _warming_up(seconds: Any, steady: float, tau: float, start: float) -> Any:
    return steady * -np.expm1(-np.maximum(0.0, seconds - start) / tau)


def _columns(times: Quantity, supply: Quantity) -> tuple[np.ndarray, np.ndarray]:
    seconds = np.asarray(times.to("s").magnitude, dtype=float)
    kelvin = np.asarray(supply.to("K").magnitude, dtype=float)
    if seconds.ndim != 1 or seconds.shape != kelvin.shape:
        raise ValueError(f"the log has {seconds.size} times for {kelvin.size} supply temperatures")
    if np.any(np.diff(seconds) <= 0):
        raise ValueError("the times of the log do not rise from sample to sample")
    return seconds, kelvin
