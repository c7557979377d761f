"""The blower's curve as the model uses it: which speed a path asks for, and which airflow a speed gives.

By the fan laws a blower at speed s makes s²·T(Q/s) of static, T being the curve of its table.  So the ratio of static
to the square of airflow tells where on its own curve it runs, whatever its speed: one look-up solves either question.
Source: fan laws, AMCA 211 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from causebook.belief.arrays import Array

#: Shape of an induction or electronic blower when no table is known: static over its value at rated airflow,
#: against airflow over rated airflow (expert estimate, after the shape of published furnace fan tables).
GENERIC_FAN = (
    np.array([0.02, 0.35, 0.6, 0.8, 0.9, 1.0, 1.1, 1.2, 1.3, 1.45]),
    np.array([1.95, 1.85, 1.70, 1.45, 1.25, 1.0, 0.72, 0.42, 0.12, 0.004]),
)


def made(flow: Array, static: Array, airflow: Array) -> Array:
    """Static [Pa] of a curve at an airflow [m³/s], straight on beyond its end."""
    slope = (static[-1] - static[-2]) / (flow[-1] - flow[-2])
    out: Array = np.where(
        airflow <= flow[-1], np.interp(airflow, flow, static), static[-1] + slope * (airflow - flow[-1])
    )
    return out


@dataclass(frozen=True)
class BlowerCurve:
    """Static [Pa] over airflow [m³/s], airflow rising, at the speed of the table."""

    airflow: Array
    static: Array

    @cached_property
    def _by_steepness(self) -> tuple[Array, Array]:
        """(ln of static over airflow squared, falling turned to rising; ln airflow) along the curve and beyond it."""
        low, high = float(self.airflow[0]), float(self.airflow[-1])
        flow = np.concatenate([np.geomspace(low / 30, low, 24)[:-1], np.linspace(low, high * 1.6, 160)])
        static = np.where(flow < low, self._towards_shut(flow), made(self.airflow, self.static, flow))
        static = np.maximum(static, 1e-3 * float(self.static.max()))
        steep = np.minimum.accumulate(np.log(static) - 2 * np.log(flow) - 1e-9 * np.arange(len(flow)))
        return steep[::-1], np.log(flow)[::-1]

    def _towards_shut(self, flow: Array) -> Array:
        """Static below the least airflow of the table: a little more towards shut, never less."""
        slope = min((self.static[1] - self.static[0]) / (self.airflow[1] - self.airflow[0]), 0.0)
        out: Array = np.minimum(self.static[0] + slope * (flow - self.airflow[0]), 1.25 * self.static[0])
        return out

    def log_flow_at(self, log_steep: Array) -> Array:
        """ln of the airflow on the curve itself at which static over airflow squared is this [ln Pa·s²/m⁶]."""
        steep, flow = self._by_steepness
        return np.interp(log_steep, steep, flow)

    def log_speed(self, log_flow: Array, pressure: Array) -> Array:
        """ln of the speed over the table's that makes `pressure` [Pa] at an airflow."""
        steep = np.log(np.maximum(pressure, 1e-3)) - 2 * log_flow
        out: Array = log_flow - self.log_flow_at(steep)
        return out

    def pressure(self, log_flow: Array, log_speed: Array) -> Array:
        """Static [Pa] that a speed makes at an airflow."""
        steep, flow = self._by_steepness
        own = log_flow - log_speed
        out: Array = np.exp(np.interp(own, flow[::-1], (steep + 2 * flow)[::-1]) + 2 * log_speed)
        return out
