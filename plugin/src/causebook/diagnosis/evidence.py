"""The measured evidence as bare SI numbers: what the air-path belief is computed from.

Built from a `Survey` (see `diagnosis.gather`); kept apart so that the belief can be tested without a case file.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Gauge:
    """A number as an instrument gave it, with its standard uncertainty, both in the same SI unit."""

    value: float
    sd: float


@dataclass(frozen=True, slots=True)
class FanCurve:
    """Static pressure [Pa] against airflow [m³/s] at the setting found, airflow rising; `sd` is the spread of its
    strength (as the logarithm of a speed factor).  `others` are the curves of the other settings."""

    airflow: Array
    static: Array
    sd: float
    others: Mapping[str, tuple[Array, Array]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class OpenedPath:
    """A short test with part of the air path taken away: which drop it removes, and what the rise did.

    `removes`: "filter", "return" (opened before the filter), "return and filter", "supply" (after the coil) or
    "coil and supply".  `rise_ratio` is the rise then over the rise as found; None where no steady rise was read as
    found, as when the limit opened first.
    """

    removes: str
    rise_ratio: Gauge | None
    rise: Gauge
    """The rise then [K]."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """Everything measured that the heat-and-air model weighs.

    Pressures are magnitudes in Pa: `taps[2]`, `[3]`, `[4]` the suction before the filter, after it and in the
    blower box; `taps[5]`, `[6]` the pressure before and after the coil.
    """

    sensible: float
    """Sensible factor on the volume flow at the furnace inlet [J/(m³·K)]."""
    rated_airflow: float
    """Airflow at which the usual clean drops hold [m³/s]."""
    density_ratio: float = 1.0
    plate_input: float | None = None
    """[W], adjusted for altitude where the case says how."""
    rise_maximum: float | None = None
    """Of the plate [K]."""
    efficiency: Gauge = Gauge(0.8, 0.02)
    clocked: Gauge | None = None
    """Heat input by the clock [W]."""
    rise: Gauge | None = None
    """Steady rise [K]."""
    rise_at_trip: Gauge | None = None
    airflow: Gauge | None = None
    """By a method of its own, such as a flow grid [m³/s]."""
    taps: Mapping[int, Gauge] = field(default_factory=dict)
    across: Mapping[str, Gauge] = field(default_factory=dict)
    """Filter or coil -> its drop, read with both hoses at once; used only without the two taps [Pa]."""
    static: Gauge | None = None
    """External static read as one number [Pa]; used only without taps 3 and 5."""
    counted: tuple[str, ...] = ("return", "filter", "coil", "supply")
    """Parts the fan table counts as external."""
    coil: bool = True
    clean: Mapping[str, tuple[Gauge, float]] = field(default_factory=dict)
    """Part -> (clean drop [Pa] with its log-spread as sd, airflow [m³/s] at which it holds), where the plate
    or a label gives it."""
    fan: FanCurve | None = None
    motor_speed: Gauge | None = None
    """Of the motor, over the speed of its setting; the spread holds how far a sound motor strays from that."""
    sections: Mapping[str, Gauge] = field(default_factory=dict)
    """"return" or "supply" -> narrowest section of its ducts, over what is usual for the furnace's output."""
    setting_strength: float | None = None
    """Airflow of the setting found over the furnace's middle airflow, at the usual static; None when unknown."""
    opened: tuple[OpenedPath, ...] = ()
    limit_opens: float | None = None
    """Marking of the limit [K]."""
    limit_found: Gauge | None = None
    """Temperature at which it was found to open [K]."""
    return_temperature: Gauge = Gauge(294.0, 1.0)
    room_known: bool = False
    """Was the return temperature taken at the furnace?"""
    return_above_room: Gauge | None = None
    """Return at the furnace less the rooms [K]."""
    tripped: bool | None = None
    """Did the limit open while watched (or is its fault stored)?  None: not looked for."""
    watched_long: bool = False
    cooling_airflow_needed: float | None = None
    """Airflow under which a cooling coil freezes [m³/s]; set for cooling complaints only."""

    @property
    def speaks(self) -> bool:
        """Is there anything here for the heat-and-air model to weigh?"""
        return bool(
            self.rise
            or self.rise_at_trip
            or self.airflow
            or self.taps
            or self.across
            or self.static
            or self.clocked
            or self.limit_found
            or self.opened
            or self.fan
            or self.motor_speed
        )
