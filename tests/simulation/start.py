"""The physics of a start: what must follow what between the call for heat and a flame that stays.

Current, suction, gas and flame pass through parts one after the other; a start ends at the first that does not do its
duty.  Written by hand and apart from `causebook.physics`; what no book gives (how a flame fares that is short of gas
or air, how much CO it makes) is this world's own.  Units of the trade: in. w.c., µA, %, ppm.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

SETTING = 3.5
"""Manifold pressure of the plate [in. w.c.]."""
VALVE_TAKES = 0.9
"""[in. w.c.] lost in an open gas valve."""
LEAST_MANIFOLD = 0.9
"""[in. w.c.] below which nothing lights that deserves the name."""
CARRIES = 0.3
"""Share of a sound flame below which it does not run along the burners."""
REACHES = 2.5
"""Power by which the flame current falls as the flame shrinks away from the rod."""
ALARM, PUNGENT, NOTICED = 9.0, 400.0, 0.12
"""CO in rooms [ppm], CO in the flue free of air [ppm], share of the exhaust that stays in the house: from any of these
somebody complains."""
AIR = 20.9
"""Oxygen of air [%]."""


class Stage(IntEnum):
    """Where a start ends; each needs those before it."""

    POWER = 0
    CALL = 1
    STRING = 2
    SWITCH_AT_REST = 3
    SUCTION = 4
    IGNITER = 5
    GAS = 6
    LIGHT = 7
    SENSE = 8
    SUCTION_IN_RUN = 9
    RUN = 10


@dataclass(frozen=True)
class Furnace:
    """A sound furnace."""

    condensing: bool
    made: int
    plate_input: float
    closes: float
    """[in. w.c.] of suction at which its pressure switch closes; it opens at nine tenths of that."""
    suction: float
    """What its inducer really gives."""
    flame_usual: float
    flame_least: float
    inlet: float
    """Gas at its inlet with all appliances burning."""
    oxygen: float
    monoxide: float
    lets_in: float
    """Share of the exhaust that finds its way back into the house although the vent is sound."""


@dataclass(frozen=True)
class State:
    """What faults make of it: shares of what is sound, or what is added."""

    line: float = 1.0
    transformer: float = 1.0
    fuse: float = 1.0
    call: float = 1.0
    joint: float = 1.0
    """At a terminal of the limit."""
    safety: float = 1.0
    """Another device of the limit's string."""
    sees_limit: float = 1.0
    """Does the board see the closed string?"""
    inducer_fed: float = 1.0
    igniter_fed: float = 1.0
    valve_fed: float = 1.0
    sees_flame: float = 1.0
    igniter: float = 1.0
    valve: float = 1.0
    inlet: float = 1.0
    manifold: float = 1.0
    orifice: float = 1.0
    ports: float = 1.0
    rod: float = 1.0
    bond: float = 1.0
    draws: float = 1.0
    """Suction of inducer and vent at the start."""
    keeps: float = 1.0
    """Share of it that is left after some minutes."""
    hose: float = 1.0
    """Share of the suction that reaches the switch."""
    switch: float = 1.0
    """Suction the switch needs, over its marking; zero: it is stuck closed."""
    air: float = 1.0
    """Combustion air."""
    breach: float = 0.0
    """Blower air that enters the fire, over combustion air."""
    spills: float = 0.0
    """Share of the exhaust that spills."""
    leaks: float = 0.0
    """Gas leak, over what is smelled."""


@dataclass(frozen=True)
class Start:
    """What one start does and would show to a meter."""

    reached: float
    """The stage where it ends, and the share that is there of what that stage asks."""
    at_switch: float
    """Suction at the switch when the inducer has come up."""
    kept: float
    """The same after some minutes."""
    gas: float
    """Inlet, all on."""
    manifold: float
    richness: float
    """Input over the plate."""
    flame: float
    """How sound the flame is, 0 to 1."""
    current: float
    """Flame current before the blower starts, if there is a flame."""
    blown: float
    """Flame current once it blows."""
    oxygen: float
    monoxide: float
    oxygen_blown: float
    monoxide_blown: float
    in_rooms: float
    stays: float
    """Share of the exhaust that stays in the house."""
    offence: float
    """Gas or exhaust over what somebody complains of."""

    @property
    def stage(self) -> Stage:
        """Where it ends."""
        return Stage(int(self.reached))

    @property
    def sound(self) -> bool:
        """Does it run, and run clean?"""
        return self.reached == Stage.RUN and self.offence <= 1

    @property
    def runs(self) -> bool:
        """Does the fire last for minutes?"""
        return self.reached >= Stage.SUCTION_IN_RUN


def start(furnace: Furnace, now: State) -> Start:
    """Follow one start as far as it goes."""
    at_switch = furnace.suction * now.draws * now.inducer_fed * now.hose
    kept = at_switch * now.keeps
    gas = furnace.inlet * now.inlet
    manifold = min(SETTING * now.manifold, max(gas - VALVE_TAKES, 0.0)) * min(now.valve, now.valve_fed)
    # Gas and air both go with the root of what drives them.
    rich = (manifold / SETTING) ** 0.5 * now.orifice
    # A switch that is not stuck ends the fire before the suction falls far below its marking.
    held = max(now.draws * now.keeps, 0.9 * furnace.closes * now.switch / furnace.suction / max(now.hose, 0.01))
    drawn = now.air * min(held, now.draws) ** 0.5
    excess = AIR / (AIR - furnace.oxygen) * drawn / max(rich, 0.05)
    flame = min(1.0, 1.15 * rich**2) * now.ports * min(1.0, max(0.0, (excess - 0.35) / 0.75))
    sensed = furnace.flame_usual * now.rod * now.bond
    current = sensed * min(1.0, 1.25 * flame) ** REACHES
    blown = sensed * min(1.0, 1.25 * flame * (1 - 0.8 * now.breach)) ** REACHES
    oxygen = min(max(AIR * (1 - 1 / max(excess, 0.1)), 0.3), 20.0)
    monoxide = furnace.monoxide + 400 * max(0.0, 0.85 - now.ports) + 45 * max(0.0, 5.5 - oxygen) ** 2
    oxygen_blown = min(oxygen + 14 * now.breach, 20.0)
    monoxide_blown = (monoxide + 900 * now.breach) * (AIR - oxygen_blown) / (AIR - oxygen)
    foul = max(air_free(monoxide, oxygen), air_free(monoxide_blown, oxygen_blown))
    stays = furnace.lets_in + now.spills + 0.15 * now.breach
    reached = _reached(furnace, now, at_switch, kept, manifold, flame, min(current, blown))
    burns = reached >= Stage.SUCTION_IN_RUN
    in_rooms = 0.25 * foul * stays if burns else 0.0
    offence = max(now.leaks, *((in_rooms / ALARM, foul / PUNGENT, stays / NOTICED) if burns else (0.0,)))
    return Start(
        reached,
        at_switch,
        kept,
        gas,
        manifold,
        rich,
        flame,
        current,
        blown,
        oxygen,
        monoxide,
        oxygen_blown,
        monoxide_blown,
        in_rooms,
        stays,
        offence,
    )


def air_free(monoxide: float, oxygen: float) -> float:
    """CO [ppm] free of air."""
    return monoxide * AIR / max(AIR - oxygen, 1.0)


def _reached(
    furnace: Furnace, now: State, at_switch: float, kept: float, manifold: float, flame: float, current: float
) -> float:
    """The stage where a start ends, and how much of what it asks is there."""
    needs = furnace.closes * now.switch
    there = {
        Stage.POWER: min(now.line, now.transformer, now.fuse),
        Stage.CALL: now.call,
        Stage.STRING: min(now.joint, now.safety, now.sees_limit),
        Stage.SWITCH_AT_REST: float(now.switch > 0),
        Stage.SUCTION: at_switch / max(needs, 1e-9),
        Stage.IGNITER: min(now.igniter, now.igniter_fed),
        Stage.GAS: manifold / LEAST_MANIFOLD,
        Stage.LIGHT: flame / CARRIES,
        Stage.SENSE: now.sees_flame * current / furnace.flame_least,
        Stage.SUCTION_IN_RUN: kept / max(0.9 * needs, 1e-9),
    }
    return next((stage + share for stage, share in there.items() if share < 1), float(Stage.RUN))


#: Where a start ends -> what the complaint is then.
COMPLAINT = {
    Stage.POWER: "no-ignition",
    Stage.CALL: "no-ignition",
    Stage.STRING: "no-ignition",
    Stage.SWITCH_AT_REST: "pressure-switch",
    Stage.SUCTION: "pressure-switch",
    Stage.IGNITER: "no-ignition",
    Stage.GAS: "no-ignition",
    Stage.LIGHT: "no-ignition",
    Stage.SENSE: "flame-lost",
    Stage.SUCTION_IN_RUN: "pressure-switch",
}


def complaint(at: Start) -> str | None:
    """What the customer complains of, air he would rather not breathe before anything else; None: of nothing."""
    return "co-odour" if at.offence > 1 else COMPLAINT.get(at.stage)
