"""What was read of a furnace, as bare SI numbers: the plate, and slices in time of one unknown furnace.

A slice is one state of the furnace in which something was read or watched: as found, with the filter out for five
minutes, after a repair.  All slices are of the same furnace; `renewed` names what was put right between two of them.
Built from a `Survey` by `from_survey`; kept apart so that the model can be tested without a case file.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from causebook.belief.arrays import Array


@dataclass(frozen=True, slots=True)
class Gauge:
    """A number as an instrument gave it, with its standard uncertainty, both in the same SI unit."""

    value: float
    sd: float


@dataclass(frozen=True, slots=True)
class FanCurve:
    """Static pressure [Pa] against airflow [m³/s] at the setting found, airflow rising; `sd` is the spread of its
    strength (as the logarithm of a speed factor).  `others` are the curves of the other settings.

    A case has one table, so two curves of it are the same where they are of one `setting`.
    """

    setting: str
    airflow: Array = field(compare=False)
    static: Array = field(compare=False)
    sd: float
    others: Mapping[str, tuple[Array, Array]] = field(default_factory=dict, compare=False)


@dataclass(frozen=True, slots=True)
class Slice:
    """One state of the furnace, and what was read and watched in it.

    Pressures are magnitudes in Pa: `taps[2]`, `[3]`, `[4]` the suction before the filter, after it and in the
    blower box; `taps[5]`, `[6]` the pressure before and after the coil.
    """

    state: Mapping[str, str] = field(default_factory=dict)
    """Part -> how it stood, where it did not stand as found."""
    renewed: frozenset[str] = frozenset()
    """Unknowns that were put right between the slice as found and this one."""
    earlier: bool = False
    """Was it before the slice as found?  Then what was renewed was still as bad as it had been."""
    rise: Gauge | None = None
    """Steady rise [K]."""
    rise_at_trip: Gauge | None = None
    seconds: float | None = None
    """From light-off until the limit opened [s]."""
    input: Gauge | None = None
    """Heat input by the clock [W]."""
    manifold: Gauge | None = None
    """Manifold pressure over that of the plate."""
    taps: Mapping[int, Gauge] = field(default_factory=dict)
    across: Mapping[str, Gauge] = field(default_factory=dict)
    """Filter or coil -> its drop, read with both hoses at once; used only without the two taps [Pa]."""
    static: Gauge | None = None
    """External static read as one number [Pa]; used only without taps 3 and 5."""
    airflow: Gauge | None = None
    """By a method of its own, such as a flow grid [m³/s]."""
    tripped: bool | None = None
    """Did the limit open in it?  None: nobody watched."""

    @property
    def speaks(self) -> bool:
        """Was anything read or watched in it?"""
        return bool(
            self.rise or self.rise_at_trip or self.input or self.taps or self.across or self.static or self.airflow
        )


@dataclass(frozen=True, slots=True)
class Evidence:
    """Plate, site and parts, with the slices: everything that the heat-and-air model weighs."""

    sensible: float
    """Sensible factor on the volume flow at the furnace inlet [J/(m³·K)]."""
    rated_airflow: float
    """Airflow at which the usual clean drops hold [m³/s]."""
    density_ratio: float = 1.0
    plate_input: float | None = None
    """[W], adjusted for altitude where the case says how."""
    rise_maximum: float | None = None
    """Of the plate [K]."""
    rise_minimum: float | None = None
    efficiency: Gauge = Gauge(0.8, 0.02)
    counted: tuple[str, ...] = ("return", "filter", "coil", "supply")
    """Parts the fan table counts as external."""
    coil: bool = True
    clean: Mapping[str, tuple[Gauge, float]] = field(default_factory=dict)
    """Part -> (clean drop [Pa] with its log-spread as sd, airflow [m³/s] at which it holds), where the plate
    or a label gives it."""
    fan: FanCurve | None = None
    held_airflow: float | None = None
    """Airflow that a constant-airflow motor is set to hold [m³/s]; None for any other motor."""
    measured: Mapping[str, Gauge] = field(default_factory=dict)
    """Unknown -> its value by a measurement of the part itself: logarithm of the factor, or shift [K]."""
    turned: Gauge | None = None
    """Logarithm of the motor's speed by a tachometer over that of its setting."""
    promised: Mapping[str, float] = field(default_factory=dict)
    """Part -> logarithm of the drop its label promises over the usual one."""
    sections: Mapping[str, Gauge] = field(default_factory=dict)
    """"return" or "supply" -> narrowest section of its ducts, over what is usual for the furnace's output."""
    setting_strength: float | None = None
    """Airflow of the setting found over the furnace's middle airflow, at the usual static; None when unknown."""
    setting_meant: float | None = None
    """The same over that of the setting that the sheet asks for; None where it is not told."""
    limit_opens: float | None = None
    """Marking of the limit [K]."""
    delay: float | None = None
    """Blower start after light-off by the sheet [s]."""
    return_temperature: Gauge = Gauge(294.0, 1.0)
    room_known: bool = False
    """Was the return temperature taken at the furnace?"""
    return_above_room: Gauge | None = None
    """Return at the furnace less the rooms [K]."""
    cooling_airflow_needed: float | None = None
    """Airflow under which a cooling coil freezes [m³/s]; set for cooling complaints only."""
    found: Slice = field(default_factory=Slice)
    others: tuple[Slice, ...] = ()

    @property
    def speaks(self) -> bool:
        """Is there anything here for the heat-and-air model to weigh?"""
        return bool(
            self.found.speaks
            or self.fan
            or self.measured
            or self.held_airflow
            or any(s.speaks or s.tripped is not None for s in self.others)
        )
