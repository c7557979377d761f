"""One start, followed as far as it goes: what each stage needs of the devices, and what it then shows.

Arrays are (sets, draws), or (1, draws) and (1, 1) where nothing changes them; each is worked out when first asked for.
Pressures in in. w.c., flame current in µA, CO in ppm free of the analyzer's air, oxygen in %, times in s.
Sources: flow goes with the root of pressure (first principles); the other constants are stated ranges of usual sheets,
expert estimate where no source is named.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from causebook.equipment.furnace.start.circuit import CLOSED, NO_LOAD, OPEN, Circuit
from causebook.equipment.furnace.start.devices import DRAWS, Array, Devices, Flags, even

Codes = NDArray[np.int16]

STAGES = ("power", "call", "string", "rest", "inducer", "suction", "igniter", "gas", "light", "sense", "hold", "run")
"""The stages in their order; a start ends at the first that lacks what it needs, or runs."""
POWER, CALL, STRUNG, REST, INDUCER, SUCTION, IGNITER, GAS, LIGHT, SENSE, HOLD, RUN = range(12)
AIR_OXYGEN = 20.9
HALF = 0.5
VALVE_TAKES = 0.8
"""Pressure lost in an open gas valve [in. w.c.]."""
FAN_OWN = 0.3
"""How much of the inducer's pressure goes with its own flow, beside the passages."""
POOR = 20.0
"""Resistance of a poor joint [ohm]."""
PATTERN = ("line", "transformer", "fuse", "door", "thermostat", "limit", "auxiliary", "rollout", "vent-switch")


@dataclass(frozen=True)
class Plate:
    """What the plate and the sheet say, in the units of this module; usual values where they are silent."""

    closes: float = 0.65
    opens: float = 0.55
    flame_least: float = 0.5
    flame_usual: float | None = None
    manifold: float = 3.5
    inlet_least: float = 4.5
    inlet_most: float = 10.5
    closes_known: bool = True


@dataclass(frozen=True)
class Sound:
    """Sound furnaces of this plate: (1, draws) each."""

    suction: Array
    """Suction of a sound furnace over the closing point."""
    vent_share: Array
    """Share of the flow resistance that lies in the vent; as much lies in the intake, over three."""
    oxygen: Array
    monoxide: Array
    current: Array
    inlet: Array
    sags: Array
    """Inlet lost while everything burns, as a share."""
    own_share: Array
    """Share of what the pipe loses with everything burning that the furnace costs alone."""
    lights_from: Array
    """Share of a sound flame that still runs across the burners."""
    lights_rich: Array
    """Gas flow over the plate's from which it lights."""
    keeps_still: Flags
    """Does this board hold the inducer while the string is open?"""
    in_span: Flags
    """Does a bad joint lie between the meter's probes on the limit?"""
    minutes: Array
    """How far into the run a reading is taken that names no time, as a share."""
    joins_in: Flags
    """Were other appliances burning while somebody read?"""

    @classmethod
    def of(cls, plate: Plate) -> Sound:
        """The fixed sample for one plate."""
        rng = np.random.default_rng([1601, 5])

        def spread(low: float, high: float) -> Array:
            return np.exp(np.log(low) + even(rng) * np.log(high / low)).astype(np.float32)[None, :]

        def share(chance: float) -> Flags:
            return (even(rng) < chance)[None, :]

        suction = spread(1.15, 1.9)
        usual = spread(2.5, 9.0) * plate.flame_least
        if plate.flame_usual is not None:
            usual = spread(0.75, 1.3) * plate.flame_usual
        middle = max(min(7.0, plate.inlet_most * 0.8), plate.inlet_least * 1.3)
        return cls(
            suction,
            spread(0.12, 0.42),
            spread(5.5, 9.8),
            spread(5.0, 60.0),
            usual,
            middle * spread(0.87, 1.12),
            spread(0.03, 0.12),
            spread(0.08, 0.6),
            spread(0.22, 0.6),
            spread(0.42, 0.97),
            share(0.45),
            share(0.5),
            spread(0.05, 1.0),
            share(0.5),
        )


class Start:
    """One start of every set, over every draw."""

    def __init__(self, devices: Devices, sound: Sound, plate: Plate) -> None:
        self.devices, self.sound, self.plate = devices, sound, plate

    def but(self, **put: float) -> Start:
        """The same start with some devices put to a state (a rod cleaned, a vent taken off)."""
        return Start(self.devices.but(**put), self.sound, self.plate)

    def _live(self, *names: str) -> Flags:
        live = self.devices(names[0]) > HALF
        for name in names[1:]:
            live = live & (self.devices(name) > HALF)
        return live

    # ------------------------------------------------------------ power, call, string

    @cached_property
    def secondary(self) -> Flags:
        """24 V at the transformer."""
        return self._live("line", "transformer")

    @cached_property
    def powered(self) -> Flags:
        return self.secondary & self._live("fuse", "door")

    @cached_property
    def called(self) -> Flags:
        """24 V at the heat terminal; an overflow switch of the drain breaks the call like a thermostat."""
        return self.powered & self._live("thermostat", "overflow")

    @cached_property
    def switches_made(self) -> Flags:
        """Does the string of safeties pass its 24 V?"""
        return self._live("limit", "rollout", "auxiliary", "vent-switch") & (self.devices("joint") > 1e-4)

    @cached_property
    def strung(self) -> Flags:
        """Does the board see the string made?"""
        return self.switches_made & self._live("sees-string")

    @cached_property
    def opened_at_rest(self) -> Flags:
        return self._live("rest")

    # ------------------------------------------------------------ inducer and suction

    @cached_property
    def inducer_fed(self) -> Flags:
        return self._live("inducer-output")

    @cached_property
    def turns(self) -> Flags:
        return self.devices("inducer") > 0.1

    @cached_property
    def flow(self) -> Array:
        """Flow of the exhaust against a sound one's, squared: what the suction goes with.

        An inducer makes pressure with the square of its speed; a vent open to a share `a` resists by 1/a².
        """
        d, vent = self.devices, self.sound.vent_share
        more = vent * (1 / np.maximum(d("vent"), 0.02) ** 2 - 1)
        more = more + vent / 3 * (1 / np.maximum(d("intake"), 0.02) ** 2 - 1)
        return d("inducer") ** 2 / (1 + more / (1 + FAN_OWN))

    @cached_property
    def suction(self) -> Array:
        """At the switch once the inducer is up, if it runs."""
        return self.plate.closes * self.sound.suction * self.flow * self.devices("hose")

    @cached_property
    def kept(self) -> Array:
        """The same after minutes of run."""
        return self.suction * self.devices("keeps")

    @cached_property
    def needs(self) -> Array:
        """Suction at which the switch closes."""
        return self.plate.closes * self.devices("switch")

    @cached_property
    def lets_go(self) -> Array:
        """Suction at which it opens again."""
        return self.plate.opens * self.devices("switch")

    @cached_property
    def made(self) -> Flags:
        """Does the pressure switch close?"""
        return self.suction >= self.needs

    # ------------------------------------------------------------ igniter, gas, flame

    @cached_property
    def igniter_whole(self) -> Flags:
        return self._live("igniter")

    @cached_property
    def igniter_fed(self) -> Flags:
        return self._live("igniter-output")

    @cached_property
    def valve_fed(self) -> Flags:
        return self._live("valve-output")

    @cached_property
    def inlet_at_rest(self) -> Array:
        return self.sound.inlet * self.devices("gas")

    @cached_property
    def inlet_all_on(self) -> Array:
        return self.inlet_at_rest * self.devices("pipe") * (1 - self.sound.sags)

    @cached_property
    def inlet(self) -> Array:
        """Inlet with the burner lit, other appliances as they happen to be."""
        # What a pipe loses goes with nearly the square of its flow: the furnace alone costs little of it.
        alone = self.inlet_at_rest - self.sound.own_share * (self.inlet_at_rest - self.inlet_all_on)
        if not self.devices.as_read:
            return self.inlet_all_on
        return np.where(self.sound.joins_in, self.inlet_all_on, alone)

    @cached_property
    def valve_opens(self) -> Flags:
        return self._live("valve")

    @cached_property
    def manifold(self) -> Array:
        """Behind a valve that is commanded."""
        held = np.minimum(self.plate.manifold * self.devices("manifold"), np.maximum(self.inlet - VALVE_TAKES, 0))
        return held * self.valve_opens

    @cached_property
    def rich(self) -> Array:
        """Gas flow over the plate's."""
        return np.sqrt(self.manifold / self.plate.manifold) * self.devices("orifice")

    @cached_property
    def excess(self) -> Array:
        """Air over what the gas needs.  Gas and air both go with the root of what drives them."""
        drawn = np.sqrt(np.minimum(self.flow, 1.2)) * self.devices("air")
        usual = AIR_OXYGEN / (AIR_OXYGEN - self.sound.oxygen)
        return usual * drawn / np.maximum(self.rich, 0.05)

    @cached_property
    def flame(self) -> Array:
        """How sound the flame is, 0 to 1."""
        gas = np.minimum(self.rich / 0.8, 1.0)
        air = np.clip((self.excess - 0.62) / 0.42, 0, 1)
        return gas * air * self.devices("ports") ** 0.8

    @cached_property
    def gives_gas(self) -> Flags:
        return self.valve_fed & (self.manifold > 0.25)

    @cached_property
    def current(self) -> Array:
        """Flame current before the blower starts, if it burns."""
        way = self.devices("film") * self.devices("rod") * self.devices("bond")
        return self.sound.current * way * self.flame**1.5

    @cached_property
    def blown(self) -> Array:
        """The same once the blower runs: a breach lets its air into the flame."""
        return self.current * np.maximum(1 - 1.6 * self.devices("breach"), 0.02)

    @cached_property
    def ends(self) -> Codes:
        """The stage where the start ends, by place in `STAGES`."""
        lacks = (
            self.powered,
            self.called,
            self.strung,
            self.opened_at_rest,
            self.inducer_fed & self.turns,
            self.made,
            self.igniter_whole & self.igniter_fed,
            self.gives_gas,
            (self.flame > self.sound.lights_from) & (self.rich > self.sound.lights_rich),
            self._live("sees-flame") & (self.current >= self.plate.flame_least),
            (self.kept >= self.lets_go) & (self.blown >= self.plate.flame_least),
        )
        end = np.full(self.shape, RUN, dtype=np.int8)
        for place in range(len(lacks) - 1, -1, -1):
            end = np.where(lacks[place], end, np.int8(place))
        return end

    @property
    def shape(self) -> tuple[int, int]:
        return len(self.devices.members), DRAWS

    def comes_to(self, stage: int) -> Flags:
        """Does the start get as far as asking for this stage?"""
        return self.ends >= stage

    @cached_property
    def inducer_told(self) -> Flags:
        """Does the board feed the inducer?  Many do while the string is open, others hold it."""
        open_ = (self.ends == STRUNG) & ~self.sound.keeps_still
        return (self.comes_to(INDUCER) | open_) & self.inducer_fed

    @cached_property
    def inducer_runs(self) -> Flags:
        return self.inducer_told & self.turns

    # ------------------------------------------------------------ flue and rooms

    @cached_property
    def oxygen(self) -> Array:
        """In the flue before the blower starts [%]."""
        return np.clip(AIR_OXYGEN * (1 - 1 / np.maximum(self.excess, 1.0)), 0.2, 19.5)

    @cached_property
    def monoxide(self) -> Array:
        """In the flue as the analyzer shows it [ppm]: it climbs where air runs short and ports are dirty."""
        short = np.maximum(5.2 - self.oxygen, 0) ** 2 * 40
        dirty = np.maximum(0.85 - self.devices("ports"), 0) * 350
        return self.sound.monoxide + short + dirty

    @cached_property
    def oxygen_blown(self) -> Array:
        return np.minimum(self.oxygen + 11 * self.devices("breach"), 19.5)

    @cached_property
    def monoxide_blown(self) -> Array:
        return self.monoxide + 500 * self.devices("breach")

    @cached_property
    def foul(self) -> Array:
        """CO free of air [ppm]."""
        worst = np.maximum(
            self.monoxide / (AIR_OXYGEN - self.oxygen), self.monoxide_blown / (AIR_OXYGEN - self.oxygen_blown)
        )
        return AIR_OXYGEN * worst

    @cached_property
    def in_rooms(self) -> Array:
        """CO in the rooms [ppm] that this furnace leaves there."""
        d = self.devices
        stays = 0.02 + d("spills") + 0.15 * d("breach")
        return 0.25 * self.foul * stays * self.comes_to(HOLD) + 25 * d("elsewhere")

    @cached_property
    def offends(self) -> Array:
        """Chance that gas, exhaust or CO is smelled or alarms."""
        d = self.devices
        burns = np.where(self.comes_to(HOLD), 1.0, 0.15).astype(np.float32)
        clean = 1 - np.minimum(0.92 * d("leaks"), 0.95)
        clean = clean * (1 - burns * np.minimum(7 * d("spills"), 0.9))
        clean = clean * (1 - burns * np.minimum(4 * d("breach"), 0.7))
        clean = clean * (1 - burns * np.clip((self.foul - 120) / 400, 0, 0.85))
        return 1 - clean * (1 - np.minimum(0.8 * d("elsewhere"), 0.9))

    # ------------------------------------------------------------ the meter on 24 V

    @cached_property
    def _pattern(self) -> tuple[Codes, Codes]:
        """(code of each start by which contacts are made, the codes that occur)."""
        d = self.devices
        joint = d("joint")
        made = [self._live(name) for name in PATTERN]
        made[4] = made[4] & self._live("overflow")
        switch = self.comes_to(SUCTION) & self.made & ~((self.ends == HOLD) & (self.kept < self.lets_go))
        bits = [*made, switch, self.commanded, joint > HALF, joint > 1e-4, self.sound.in_span]
        code = np.zeros(self.shape, dtype=np.int16)
        for place, bit in enumerate(bits):
            code = code + (bit.astype(np.int16) << place)
        return code, np.flatnonzero(np.bincount(code.ravel(), minlength=1 << len(bits)))

    @cached_property
    def commanded(self) -> Flags:
        """Is the gas valve told to open?"""
        return self.comes_to(GAS) & self.valve_fed

    @cached_property
    def _circuit(self) -> Circuit:
        """The circuit of every pattern that occurs."""
        codes = self._pattern[1]
        bit = [(codes >> n & 1).astype(bool) for n in range(len(PATTERN) + 5)]
        contact = [np.where(b, CLOSED, OPEN) for b in bit]
        line, transformer, fuse, door, thermostat, limit, auxiliary, rollout, vent, switch = contact[:10]
        commanded, sound, poor, span = bit[10:]
        joint = np.where(sound, 0.0, np.where(poor, POOR, OPEN))
        # Outside the probes a bad joint is lost between limit and the next switch.
        string = (limit + joint * span, auxiliary + joint * ~span, rollout, vent, switch)
        return Circuit(NO_LOAD * (bit[0] & bit[1]), fuse, door, thermostat, string, commanded)

    def volts(self, reading: str) -> Array | None:
        """What a meter shows as a reading of the 24 V circuit; None for another reading."""
        told = self._circuit.read(reading)
        if told is None:
            return None
        code, codes = self._pattern
        table = np.zeros(int(codes[-1]) + 1, dtype=np.float32)
        table[codes] = told
        return table[code]
