"""Many furnaces at once, each a guess at the one in the case: what each does, and what it would do once changed.

Every field is an array over the furnaces.  `x` holds the unknowns; the rest is what no cause acts on.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from causebook.belief.arrays import Array
from causebook.equipment.furnace.air_path import CleanPath
from causebook.equipment.furnace.blower import BlowerCurve
from causebook.equipment.furnace.setup import Setup

OPENED, REMOVED = 0.1, 0.03
"""Share of a part's drop that is left where it was opened, and where it was taken out (expert estimate)."""
SLOWER = 0.8
"""Power of airflow with which an exchanger is cooled: turbulent flow, W. M. Rohsenow and others, "Handbook of Heat
Transfer", 1998, chapter 5 (from memory)."""
COIL_NEEDS = 0.2
"""Spread of the logarithm of the airflow at which a cooling coil freezes."""
TOUCHED: Mapping[str, tuple[str, ...]] = {"registers": ("supply",), "dampers": ("supply",), "zones": ("supply",)}
"""What an author calls a part of the air path -> the unknowns that stand for it."""


@dataclass(frozen=True)
class Furnaces:
    """The furnaces in one state."""

    setup: Setup
    x: Mapping[str, Array]
    """Unknown -> its value."""
    log_flow: Array
    """ln airflow [ln m³/s]."""
    efficiency: Array
    body: Array
    """Rise of the limit's body over that of the air."""
    air_lag: Array
    """Time constant of the supply air after light-off, at the rated airflow [s]."""
    limit_lag: Array
    """Time constant of the limit behind the air [s]."""
    still_lag: Array
    """Wait before the blower that heats the limit as much as the steady run does [s]."""
    holds: Array
    """ln airflow that an electronic motor holds; far above any airflow for other motors."""
    rooms: Array
    """Temperature of the air that comes to the return from the rooms [K]."""
    clean: CleanPath
    curve: BlowerCurve

    @property
    def log_input(self) -> Array:
        """ln heat input [ln W]."""
        out: Array = np.log(self.setup.plate_input) + self.x["input"]
        return out

    @cached_property
    def rise(self) -> Array:
        """Steady rise [K]."""
        out: Array = np.exp(self.log_input - self.log_flow) * self.efficiency / self.setup.evidence.sensible
        return out

    @cached_property
    def drops(self) -> Mapping[str, Array]:
        """Drop of every part [Pa]."""
        return self.clean.drops(self.x, self.log_flow)

    @property
    def share_back(self) -> Array:
        """Share of the supply air that comes straight back."""
        out: Array = np.minimum(np.exp(self.x["recirculation"] + self.setup.back), 0.6)
        return out

    @property
    def return_above_rooms(self) -> Array:
        """How much warmer than the rooms the air reaches the furnace [K]: (1 − x)·room + x·supply."""
        out: Array = self.share_back / (1 - self.share_back) * self.rise
        return out

    @property
    def return_temperature(self) -> Array:
        """Temperature of the air at the furnace's inlet [K]."""
        out: Array = self.rooms + self.return_above_rooms
        return out

    @property
    def warming(self) -> Array:
        """Time constant of the supply air at this airflow [s]: the exchanger gives its heat to less air more slowly."""
        slower = np.exp(-SLOWER * (self.log_flow - np.log(self.setup.evidence.rated_airflow)))
        out: Array = self.air_lag * slower
        return out

    @property
    def opens(self) -> Array:
        """Temperature at which the limit opens [K]."""
        out: Array = self.setup.opens + self.x["limit"]
        return out

    @property
    def wait(self) -> Array:
        """From light-off until the blower starts [s]."""
        out: Array = self.setup.delay * np.exp(self.x["delay"])
        return out

    @property
    def limit_rise(self) -> Array:
        """How far above the return the limit's body gets in a steady run [K]."""
        out: Array = self.body * np.exp(self.x["hot-spot"]) * self.rise
        return out

    @cached_property
    def over(self) -> Array:
        """How far the limit's body at its hottest stands above where the limit opens [K]; below zero it stays shut."""
        late = np.maximum(1.0, self.wait / self.still_lag)
        out: Array = self.return_temperature + self.limit_rise * late - self.opens
        return out

    @cached_property
    def event(self) -> Array:
        """Chance that heat and air bring the complaint about: the limit opens, or the cooling coil freezes."""
        needed = self.setup.evidence.cooling_airflow_needed
        if needed is not None:
            return np.asarray(ndtr((np.log(needed) - self.log_flow) / COIL_NEEDS))
        return np.asarray(ndtr(self.over / self.setup.slack))

    @cached_property
    def in_range(self) -> NDArray[np.bool_]:
        """Is the rise within the plate's range?"""
        e = self.setup.evidence
        low, high = e.rise_minimum or 0.0, e.rise_maximum or np.inf
        return np.asarray((self.rise >= low * 0.98) & (self.rise <= high * 1.01))

    @cached_property
    def sound(self) -> NDArray[np.bool_]:
        """Does it run as it should: the limit shut and the rise in range, or enough air over a cooling coil?"""
        needed = self.setup.evidence.cooling_airflow_needed
        if needed is not None:
            return np.asarray(np.exp(self.log_flow) >= needed * self.setup.enough_over_ice)
        return np.asarray((self.over < 0) & self.in_range)

    def asks(self, x: Mapping[str, Array], log_flow: Array) -> Array:
        """ln speed that a path of these unknowns asks the blower for at an airflow."""
        return self.curve.log_speed(log_flow, self.clean.asked(self.clean.drops(x, log_flow), log_flow))

    def picked(self, which: NDArray[np.int64]) -> Furnaces:
        """Some of the furnaces, in this order."""

        def take(value: Any) -> Any:
            return value[which] if isinstance(value, np.ndarray) else value

        kept = {f.name: take(getattr(self, f.name)) for f in fields(self) if f.name not in ("x", "clean")}
        exponent = {part: take(n) for part, n in self.clean.exponent.items()}
        return Furnaces(
            **kept,
            x={name: take(value) for name, value in self.x.items()},
            clean=replace(self.clean, exponent=exponent),
        )

    def settled(self, room_known: bool) -> Furnaces:
        """The same with their airflow solved, and the rooms as cool as the warmth that comes back leaves them."""
        solved = self.clean.solve(self.x, self.x["speed"], self.curve, self.log_flow)
        out = replace(self, log_flow=np.minimum(solved, self.holds))
        return replace(out, rooms=out.rooms - out.return_above_rooms) if room_known else out

    @classmethod
    def joined(cls, several: Sequence[Furnaces]) -> Furnaces:
        """All of these furnaces, of one case, as one."""
        first = several[0]

        def join(name: str) -> Any:
            values = [getattr(f, name) for f in several]
            return np.concatenate(values) if isinstance(values[0], np.ndarray) else values[0]

        exponent = {
            part: np.concatenate([f.clean.exponent[part] for f in several]) if isinstance(n, np.ndarray) else n
            for part, n in first.clean.exponent.items()
        }
        return cls(
            **{f.name: join(f.name) for f in fields(cls) if f.name not in ("x", "clean")},
            x={name: np.concatenate([f.x[name] for f in several]) for name in first.x},
            clean=replace(first.clean, exponent=exponent),
        )

    def with_(self, x: Mapping[str, Array], state: Mapping[str, str] | None = None) -> Furnaces:
        """The same furnaces with other unknowns, and their air path in another state: solved again."""
        more = dict(x)
        curve = self.curve
        for part, how in (state or {}).items():
            if part == "blower":
                curve = self._at_setting(how)
            elif how.startswith(("removed", "opened")):
                for name in touched(part, how):
                    if name in more:
                        more[name] = more[name] + np.log(REMOVED if how.startswith("removed") else OPENED)
        holds = self.holds
        if "setting" in more:  # what an electronic motor is told to hold
            holds = holds + more["setting"] - self.x["setting"]
        moved = replace(self, x=more, curve=curve, holds=holds)
        solved = moved.clean.solve(more, more["speed"], curve, self.log_flow)
        return replace(moved, log_flow=np.minimum(solved, holds))

    def _at_setting(self, how: str) -> BlowerCurve:
        fan = self.setup.evidence.fan
        wanted = how.removeprefix("set to").strip().replace("-", " ")
        if fan is not None and how.startswith("set to"):
            for name, (flow, static) in fan.others.items():
                if name.replace("-", " ") == wanted:
                    return BlowerCurve(flow, static)
        return self.curve


def touched(part: str, how: str) -> tuple[str, ...]:
    """The unknowns that a state of one part changes: before the coil all of the supply is opened with it."""
    if part == "coil" and how.startswith("opened"):
        return ("coil", "supply")
    return TOUCHED.get(part, (part,))
