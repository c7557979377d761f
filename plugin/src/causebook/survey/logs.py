"""Temperature logs: trips, and the steady rise they point to, extrapolated where the limit opened too early."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from causebook import quantity as qty
from causebook.casefile.model import CaseStep
from causebook.physics.furnace import RunFit, fit_run
from causebook.survey.model import Estimate, Method, RunLog

SUPPLY, RETURN = "supply-air", "return-air"


def run_log(step: CaseStep, return_kelvin: float | None) -> RunLog | None:
    """The log of one step, fitted; None when it holds no supply temperature.

    `return_kelvin` stands in where the return was not logged.
    """
    log = step.log
    if log is None or SUPPLY not in log.columns:
        return None
    seconds, supply = log.seconds, log.columns[SUPPLY]
    back = log.columns.get(RETURN, ())
    fit = _fit(seconds, supply, back, log.columns.get("blower", ()), return_kelvin)
    opened = log.columns.get("limit")
    trips, relights = (fit.trips, fit.relights) if fit else ((), ())
    if opened:
        trips = _edges(seconds, opened)
    steady, extrapolated = None, False
    fitted: tuple[float, ...] = ()
    if fit is not None:
        extrapolated = bool(trips)
        steady = Estimate(
            fit.steady_rise.si,
            max(fit.steady_rise.sd_si, 0.5),
            qty.TEMPERATURE_DIFFERENCE,
            Method.RUN_LOG,
            (SUPPLY, RETURN),
            "extrapolated: the limit opened before it was steady" if extrapolated else "",
        )
        base = back or [(return_kelvin or 0.0) * 9 / 5 - 459.67] * len(seconds)
        fitted = tuple(float(v) for v in np.asarray(base) + fit.rise_at(np.asarray(seconds)) * 9 / 5)
    return RunLog(
        step.number,
        step.step.do,
        seconds,
        supply,
        back,
        trips,
        relights,
        steady,
        extrapolated,
        fitted,
        "after" if step.step.after else "found",
    )


def _edges(seconds: tuple[float, ...], opened: tuple[float, ...]) -> tuple[float, ...]:
    """Times at which the limit opens (its column is 1 while open)."""
    state = np.asarray(opened)
    return tuple(float(seconds[i + 1]) for i in np.flatnonzero((state[:-1] < 0.5) & (state[1:] > 0.5)))


@lru_cache(maxsize=4096)
def _fit(
    seconds: tuple[float, ...],
    supply: tuple[float, ...],
    back: tuple[float, ...],
    blower: tuple[float, ...],
    return_kelvin: float | None,
) -> RunFit | None:
    """The fit, from the blower's start where that was logged; None where there is nothing to fit.

    Before the blower starts, or without it, the probe hangs in still air: a temperature, but no rise of a stream.
    """
    if not back and return_kelvin is None or blower and np.mean(blower) <= 0.5:
        return None
    first = int(np.argmax(np.asarray(blower) > 0.5)) if blower else 0
    returned = qty.Quantity(np.asarray(back[first:]), "degF") if back else qty.q(return_kelvin or 0.0, "K")
    try:
        return fit_run(
            qty.Quantity(np.asarray(seconds[first:]), "s"), qty.Quantity(np.asarray(supply[first:]), "degF"), returned
        )
    except ValueError:
        # Too few samples before the trip, or no warming up in it: the log is shown and not fitted.
        return None
