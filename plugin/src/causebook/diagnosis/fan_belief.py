"""The blower's curve as the belief uses it: the speed that a pressure asks for, and what easing the path wins.

Curves are static pressure [Pa] over airflow [m³/s] at the speed of the table; at another speed s the fan laws hold.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from causebook import quantity as qty
from causebook.diagnosis.evidence import Array, Evidence
from causebook.knowledge.model import Knowledge

#: Shape of an induction or electronic blower when no table is known: static over its value at rated airflow,
#: against airflow over rated airflow (expert estimate, after the shape of published furnace fan tables).
GENERIC_FAN = (
    np.array([0.02, 0.35, 0.6, 0.8, 0.9, 1.0, 1.1, 1.2, 1.3, 1.45]),
    np.array([1.95, 1.85, 1.70, 1.45, 1.25, 1.0, 0.72, 0.42, 0.12, 0.004]),
)
_LOG_SPEEDS = np.linspace(np.log(0.08), np.log(2.6), 90)


def made(flow: Array, static: Array, airflow: Array) -> Array:
    """Static [Pa] of a curve at an airflow [m³/s], straight on beyond its end."""
    slope = (static[-1] - static[-2]) / (flow[-1] - flow[-2])
    out: Array = np.where(
        airflow <= flow[-1], np.interp(airflow, flow, static), static[-1] + slope * (airflow - flow[-1])
    )
    return out


@dataclass(frozen=True, slots=True)
class FanBelief:
    """The curve of the setting found."""

    airflow: Array
    static: Array

    def at(self, airflow: Array) -> Array:
        """Static [Pa] at the table's speed, never quite nothing."""
        return np.maximum(np.interp(airflow, self.airflow, self.static), 0.02 * qty.INWC)

    def log_speed(self, airflow: Array, pressure: Array) -> Array:
        """ln(speed over the table's) it takes to make `pressure` (Q, …) [Pa] at each `airflow` (Q,)."""
        speed = np.exp(_LOG_SPEEDS)
        rises = made(self.airflow, self.static, airflow[:, None] / speed) * speed**2
        # Towards its shut end a curve may be flat: a hair's breadth keeps it rising with the speed.
        rises = np.maximum.accumulate(np.log(np.maximum(rises, 1e-6)) + 1e-9 * np.arange(speed.size), axis=1)
        wanted = np.log(np.maximum(pressure, 1e-6))
        flat = wanted.reshape(wanted.shape[0], -1)
        out = np.empty_like(flat)
        for row in range(flat.shape[0]):
            out[row] = np.interp(flat[row], rises[row], _LOG_SPEEDS)
        return out.reshape(wanted.shape)

    def gains(self, airflow: Array, total: Array, left: Array) -> Array:
        """Airflow over that as found (Q, …) when only a share `left` (Q, …) of the `total` (Q,) is left to overcome.

        Solves s²·T(uQ/s) = left·total·u² for u by bisection on the fan's own curve.
        """
        wide = (slice(None),) + (None,) * (left.ndim - 1)
        speed = np.exp(self.log_speed(airflow, total[:, None])[:, 0])[wide]
        flow, pressure = airflow[wide], np.clip(left, 0.02, 1.0) * total[wide]
        low, high = np.ones_like(left), np.full_like(left, 3.0)
        for _ in range(14):
            u = 0.5 * (low + high)
            more = speed**2 * made(self.airflow, self.static, u * flow / speed) > pressure * u**2
            low, high = np.where(more, u, low), np.where(more, high, u)
        return 0.5 * (low + high)

    def eases(self, airflow: float, speed: float) -> float:
        """Gain in ln(airflow) for a fall of ln(resistance), by the slope of the fan where it runs."""
        steep = 1.05
        about = np.maximum(np.interp(airflow / speed * np.array([1 / steep, steep]), self.airflow, self.static), 1.0)
        return 1 / (2 + max(float(np.log(about[0] / about[1]) / (2 * np.log(steep))), 0.0))


def fan_belief(evidence: Evidence, knowledge: Knowledge) -> FanBelief:
    """The curve of the evidence, else one of the usual shape."""
    if evidence.fan:
        return FanBelief(evidence.fan.airflow, evidence.fan.static)
    flow, static = GENERIC_FAN
    usual = knowledge.constants["generic-blower-static"].value * qty.INWC * evidence.density_ratio
    return FanBelief(flow * evidence.rated_airflow, static * usual)
