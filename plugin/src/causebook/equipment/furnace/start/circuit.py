"""The 24-volt circuit of a furnace as a network: what a meter shows at every terminal.

A transformer with its own resistance feeds two branches behind fuse and door switch: the thermostat with the board's
call input, and the string of safeties with the board's input, the pressure switch and, once it is commanded, the gas
valve.  Both are ladders (resistances in a row, loads to common between them), which are solved exactly from their far
end.  A meter is a load like any other; that is why an open switch shows the full voltage only while the rest conducts.
All values are arrays that broadcast together.  Source: voltage dividers.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

CLOSED, OPEN, METER = 0.05, 1e9, 1e7
"""Resistance of a sound contact, of an open one, and of a digital meter [ohm]."""
SOURCE = 1.7
"""Own resistance of a 40 VA transformer [ohm]: 24 V at 1.67 A from 27 V without load, 11 % (from memory: 5 to 15 %)."""
NO_LOAD = 26.8
"""Secondary without load [V]."""
CALL_INPUT, STRING_INPUT, SWITCH_INPUT, VALVE, RELAYS = 600.0, 900.0, 900.0, 60.0, 150.0
"""Loads to common [ohm]: the board's inputs, a gas valve, the board with its relays (expert estimate)."""
STRING = ("limit", "auxiliary-limit", "rollout-switch", "vent-switch", "pressure-switch")
"""The switches of the string, in the order current meets them."""


def parallel(*resistances: Array | float) -> Array:
    """Resistances side by side."""
    return 1 / sum(1 / np.asarray(r, float) for r in resistances)


@dataclass(frozen=True)
class Ladder:
    """Resistances in a row from a source, with a load to common behind each (`OPEN` for none)."""

    series: tuple[Array, ...]
    loads: tuple[Array | float, ...]

    @cached_property
    def behind(self) -> tuple[Array, ...]:
        """Resistance to common of all that follows each point, from the first point on."""
        below: list[Array] = [np.asarray(self.loads[-1], float)]
        for r, load in zip(reversed(self.series[1:]), reversed(self.loads[:-1]), strict=True):
            below.append(parallel(load, r + below[-1]))
        return tuple(reversed(below))

    @property
    def entry(self) -> Array:
        """What the ladder asks of its source [ohm]."""
        return self.series[0] + self.behind[0]

    def along(self, volts: Array) -> list[Array]:
        """Volts to common behind each resistance."""
        out = []
        for r, below in zip(self.series, self.behind, strict=True):
            volts = volts * below / (r + below)
            out.append(volts)
        return out

    def to_common(self, volts: Array, point: int) -> Array:
        """Volts to common behind the first `point` resistances, by a meter that is itself a load."""
        if point == 0:
            return volts
        loads = list(self.loads)
        loads[point - 1] = parallel(loads[point - 1], METER)
        return Ladder(self.series, tuple(loads)).along(volts)[point - 1]

    def across(self, volts: Array, device: int) -> Array:
        """Volts across one of the resistances, by a meter that bridges it."""
        series = list(self.series)
        series[device] = parallel(series[device], METER)
        points = [volts, *Ladder(tuple(series), self.loads).along(volts)]
        return points[device] - points[device + 1]


@dataclass(frozen=True)
class Circuit:
    """The whole of it at one moment of a start; every field broadcasts with the others."""

    feed: Array
    """Volts of the secondary without load, 0 where nothing feeds it."""
    fuse: Array
    door: Array
    thermostat: Array
    string: tuple[Array, ...]
    """Resistance of each switch of `STRING` [ohm]."""
    commanded: Array
    """Is the gas valve told to open?"""

    @cached_property
    def _branches(self) -> tuple[Ladder, Ladder]:
        valve = np.where(self.commanded, VALVE, OPEN)
        loads: tuple[Array | float, ...] = (OPEN, OPEN, OPEN, STRING_INPUT, parallel(SWITCH_INPUT, valve))
        return Ladder((self.thermostat,), (CALL_INPUT,)), Ladder(self.string, loads)

    @cached_property
    def _main(self) -> Ladder:
        call, string = self._branches
        hot = parallel(call.entry, string.entry, RELAYS)
        return Ladder((np.asarray(SOURCE), self.fuse, self.door), (OPEN, OPEN, hot))

    @cached_property
    def hot(self) -> Array:
        """Volts to common at the board's hot terminal."""
        return self._main.to_common(self.feed, 3)

    def read(self, reading: str) -> Array | None:
        """What a meter shows as the named reading; None for one of no place in this circuit."""
        call, string = self._branches
        main = self._main
        if reading == "secondary-volts":
            return main.to_common(self.feed, 1)
        if reading == "call-volts":
            return call.to_common(self.hot, 1)
        if reading == "volts-at-gas-valve":
            return np.where(self.commanded, string.to_common(self.hot, len(STRING)), 0.0)
        for name, ladder, place, volts in self._places:
            if reading == f"volts-across-{name}":
                return ladder.across(volts, place)
            if reading == f"volts-to-common-before-{name}":
                return ladder.to_common(volts, place)
            if reading == f"volts-to-common-after-{name}":
                return ladder.to_common(volts, place + 1)
        return None

    @property
    def _places(self) -> Sequence[tuple[str, Ladder, int, Array]]:
        _, string = self._branches
        main = [("fuse", self._main, 1, self.feed), ("door-switch", self._main, 2, self.feed)]
        return [*main, *((name, string, n, self.hot) for n, name in enumerate(STRING))]


def healthy(made: Mapping[str, bool] | None = None, commanded: bool = False) -> Circuit:
    """A sound circuit, with some of its switches open: for the drawing and for the handbook."""
    made = made or {}

    def contact(name: str) -> Array:
        return np.asarray(CLOSED if made.get(name, True) else OPEN)

    return Circuit(
        np.asarray(NO_LOAD),
        contact("fuse"),
        contact("door-switch"),
        contact("thermostat"),
        tuple(contact(name) for name in STRING),
        np.asarray(commanded),
    )
