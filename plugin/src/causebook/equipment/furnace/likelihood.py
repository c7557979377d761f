"""How likely the readings are from each of many furnaces.

Against every reading stand its instrument's error and a blunder: a small share of readings are plain wrong and could
show anything.  What was watched at the limit is weighed twice: as if heat had opened it, and as if something else had.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from causebook.belief.arrays import Array
from causebook.equipment.furnace.evidence import Gauge, Slice
from causebook.equipment.furnace.furnaces import Furnaces
from causebook.equipment.furnace.sizes import normal_density

SPAN_PRESSURE = 300.0
"""Pressures that a meter on the air path may show by a blunder [Pa], near 1.2 in. w.c."""
SPAN_LOG = 1.5
"""Span of the logarithm of a rise, an input or an airflow by a blunder."""
SPAN_SHIFT = 60.0
"""Span of a temperature by a blunder [K]."""
SPAN_TIME = 4.0
"""Span of the logarithm of a time."""
BEYOND_TAP = {
    2: ("return",),
    3: ("return", "filter"),
    4: ("return", "filter", "inlet"),
    5: ("coil", "supply"),
    6: ("supply",),
}
"""Tap -> the parts between it and the room."""
FIRST = 0.02
"""How often something else opens the limit before heat does, where heat would (expert estimate)."""
CALM = 0.9
"""How much of the chance to open is over when the limit stayed shut through a watched run (expert estimate)."""
OFTEN = 0.03
"""Least chance of what was watched in a trial, either way: somebody may have stopped too soon (expert estimate)."""


def log_likelihood(furnaces: Furnaces) -> tuple[Array, Array]:
    """Log-likelihood of everything read and watched, by furnace: if heat opened the limit (or the complaint is no event
    of heat), and if something else opened it."""
    e = furnaces.setup.evidence
    log = _steady(furnaces, e.found) + _warmth(furnaces)
    heat, other = _opening(furnaces)
    for one in e.others:
        then = as_in(furnaces, one)
        log = log + _steady(then, one)
        if one.tripped is not None and e.cooling_airflow_needed is None:
            heat = heat + np.log(np.clip(then.event if one.tripped else 1 - then.event, OFTEN, 1 - OFTEN))
            other = other + np.log(0.5)
    # What else opened it did so where heat would not have.
    return log + heat, log + other + np.log(1 - (1 - FIRST) * furnaces.event)


def as_in(furnaces: Furnaces, one: Slice) -> Furnaces:
    """The furnaces as they were in a slice: what was put right is as new, if the repair took."""
    setup, x = furnaces.setup, dict(furnaces.x)
    takes = setup.constant("repair-takes")
    number = np.arange(len(furnaces.log_flow))
    for place, name in enumerate(sorted(one.renewed & x.keys()), 1):
        even = (number * GOLDEN * place) % 1.0
        if one.earlier:
            x[name] = setup.sizes[name].draw(even)
        else:
            fresh = setup.sizes[name].scatter * AS_NEW * ndtri(np.clip(even, 0.02, 0.98))
            x[name] = np.where((number * PLASTIC) % 1.0 < takes, fresh, x[name])
    return furnaces.with_(x, one.state)


GOLDEN, PLASTIC = 0.6180339887498949, 0.7548776662466927
"""Steps of even sequences (the golden ratio and the plastic number): no random number is drawn."""
AS_NEW = 0.7
"""Scatter of a new part over that of a sound one in the field (expert estimate)."""


def blundered(fits: Array, blunder: float, span: float) -> Array:
    """Log of a likelihood with a small share of readings that are plain wrong, spread evenly over `span`."""
    out: Array = np.log((1 - blunder) * fits + blunder / span)
    return out


def _steady(furnaces: Furnaces, one: Slice) -> Array:
    """Likelihood of the steady readings of a slice."""
    setup = furnaces.setup
    log = np.zeros_like(furnaces.log_flow)

    def ratio(value: Array, read: Gauge | None, besides: float) -> None:
        if read is not None and read.value > 0:
            wide = float(np.hypot(read.sd / read.value, besides))
            log[:] += blundered(normal_density(value, np.log(read.value), wide), setup.blunder, SPAN_LOG)

    def pressure(value: Array, read: Gauge) -> None:
        wide = np.hypot(read.sd, PLACE * value)
        log[:] += blundered(normal_density(value, read.value, wide), setup.blunder, SPAN_PRESSURE)

    ratio(np.log(furnaces.rise), one.rise, setup.rise_spread)
    ratio(furnaces.log_input, one.input, 0.005)
    ratio(furnaces.log_flow, one.airflow, 0.02)
    drops = furnaces.drops

    def over(parts: tuple[str, ...]) -> Array:
        return np.sum([drops[p] for p in parts if p in drops], axis=0)

    for tap, read in sorted(one.taps.items()):
        pressure(over(BEYOND_TAP[tap]), read)
    for part, read in sorted(one.across.items()):
        if part in drops:
            pressure(drops[part], read)
    if one.static is not None and not {3, 5} & one.taps.keys():
        pressure(over(setup.evidence.counted), one.static)
    return log


PLACE = 0.02
"""Error of a pressure by where the hole was drilled, as a share of it (common practice, no source)."""


def _warmth(furnaces: Furnaces) -> Array:
    """Likelihood of how much warmer than the rooms the return was."""
    setup = furnaces.setup
    gap = setup.evidence.return_above_room
    if gap is None:
        return np.zeros_like(furnaces.log_flow)
    wide = float(np.hypot(gap.sd, setup.constant("return-room-spread")))
    return blundered(normal_density(furnaces.return_above_rooms, gap.value, wide), setup.blunder, SPAN_SHIFT)


def _opening(furnaces: Furnaces) -> tuple[Array, Array]:
    """Log-likelihood of what was watched at the limit as found: if heat opened it, and if something else did."""
    setup, found = furnaces.setup, furnaces.setup.evidence.found
    zero = np.zeros_like(furnaces.log_flow)
    read, seconds = found.rise_at_trip, found.seconds
    if setup.evidence.cooling_airflow_needed is not None:
        return zero, zero
    if read is None and seconds is None:
        # It stayed shut while somebody watched: heat alone would hardly have let it.
        return (np.log(1 - CALM * furnaces.event), zero) if found.tripped is False else (zero, zero)
    if seconds is None:
        return _by_rise(furnaces, read) if read is not None else (zero, zero)
    heat, other = _by_time(furnaces, seconds)
    if read is not None:
        reached = np.log(furnaces.rise * _air_reached(furnaces, seconds))
        wide = float(np.hypot(read.sd / read.value, WATCHED))
        both = blundered(normal_density(reached, np.log(read.value), wide), setup.blunder, SPAN_LOG)
        # Before the blower a probe in the plenum reads warm air that goes nowhere.
        both = np.where(_still(furnaces, seconds), np.log(1 / SPAN_LOG), both)
        heat, other = heat + both, other + both
    return heat, other


WATCHED = 0.06
"""Error of a rise read while it climbs, beside the probes' own, and of the lags' shape (expert estimate)."""


def _by_rise(furnaces: Furnaces, read: Gauge) -> tuple[Array, Array]:
    """The rise when the limit opened, of which nobody wrote down the time.

    Heat opens it when its body stands at the opening temperature, however high the steady rise would have gone.
    """
    setup = furnaces.setup
    share = read.value / furnaces.rise
    below = ndtr(-np.log(share) / float(np.hypot(0.05, read.sd / read.value)))
    above = np.maximum(furnaces.opens - furnaces.return_temperature, 3.0)
    reached = furnaces.body * np.exp(furnaces.x["hot-spot"]) * LAGGING * read.value / above
    wide = float(np.hypot(read.sd / read.value, 0.1)) + setup.slack / above + _stagnant(furnaces)
    heat = blundered(normal_density(np.log(reached), 0.0, wide) * below, setup.blunder, SPAN_LOG)
    heat = heat + np.log(np.maximum(furnaces.event, 1e-4))
    # Anything else may open it at any moment of the warming up.
    other = blundered(np.clip(share, 0.05, None) * 2.5 * below, setup.blunder, SPAN_LOG)
    return heat, other


LAGGING = 0.92
"""How far a limit's body has followed the air when it opens, at an unknown moment (expert estimate)."""


def _by_time(furnaces: Furnaces, seconds: float) -> tuple[Array, Array]:
    """The moment at which the limit opened."""
    setup = furnaces.setup
    reached, slope = _limit_reached(furnaces, seconds)
    above = np.maximum(furnaces.opens - furnaces.return_temperature, 3.0)
    hot = np.log(np.maximum(furnaces.limit_rise * reached / above, 1e-3))
    wide = np.hypot(np.hypot(0.07, setup.slack / above), _stagnant(furnaces))
    # Density of the moment: that of the heat, times how fast it still climbs.
    density = normal_density(hot, 0.0, wide) * np.maximum(slope, 0.06)
    density = np.where(_still(furnaces, seconds), np.maximum(density, 0.5 * furnaces.event), density)
    heat = blundered(density, setup.blunder, SPAN_TIME)
    return heat, np.full_like(heat, np.log(1 / SPAN_TIME))


def _still(furnaces: Furnaces, seconds: float) -> NDArray[np.bool_]:
    """Did the limit open before a late blower, or while the heat it had stored was still coming out?"""
    return np.asarray((seconds < furnaces.wait + SOAKS) & (furnaces.wait > furnaces.still_lag))


SOAKS = 90.0
"""A blower that starts late opens the limit before it or within so long after it [s] (expert estimate)."""


def _stagnant(furnaces: Furnaces) -> Array:
    """How little is known of heat that hardly any air carries to the limit, as a spread of its logarithm."""
    short = np.log(0.5 * furnaces.setup.evidence.rated_airflow) - furnaces.log_flow
    out: Array = STAGNANT * np.maximum(short, 0.0)
    return out


STAGNANT = 0.25
"""Spread for each e-fold of airflow under half the rated one (expert estimate)."""


def _carried(furnaces: Furnaces, seconds: float) -> Array:
    """Time for which the furnace has warmed its air [s]: it begins between light-off and the blower."""
    out: Array = np.maximum(seconds - 0.5 * np.minimum(furnaces.wait, seconds), 5.0)
    return out


def _air_reached(furnaces: Furnaces, seconds: float) -> Array:
    """Share of its steady rise that the supply air has reached: a first-order lag."""
    out: Array = -np.expm1(-_carried(furnaces, seconds) / furnaces.warming)
    return out


def _limit_reached(furnaces: Furnaces, seconds: float) -> tuple[Array, Array]:
    """(share of its steady rise that the limit's body has reached, slope of its logarithm over that of time): two
    lags in a row."""
    time, first = _carried(furnaces, seconds), furnaces.warming
    second = np.where(np.abs(furnaces.limit_lag - first) < 1.0, furnaces.limit_lag + 2.0, furnaces.limit_lag)
    slow, quick = np.exp(-time / first), np.exp(-time / second)
    reached = np.maximum(1 - (first * slow - second * quick) / (first - second), 1e-3)
    slope = time * (slow - quick) / (first - second) / reached
    return reached, slope
