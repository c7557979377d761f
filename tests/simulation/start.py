"""The start of a furnace as this invented town has it: parts, what passes through them, and where it ends.

Written by hand and apart from the core, from other equations: the 24 V side is a net of nodes solved as a matrix, the
inducer works on its fan curve against passages found by bisection, water rises with minutes, the igniter must grow hot
enough, gas is lost in a pipe, a flame shortens as its air runs out, and everything takes its seconds.  Units of the
trade: V, in. w.c., µA, %, ppm, s.  Numbers are this town's own (expert estimate).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from enum import IntEnum

import numpy as np

OXYGEN = 20.95
MINUTES = 8.0
"""How long a run is watched, if it lasts."""


class End(IntEnum):
    """Where a start ends."""

    DEAD = 0
    UNCALLED = 1
    BROKEN_STRING = 2
    MADE_AT_REST = 3
    INDUCER_STILL = 4
    NO_SUCTION = 5
    NO_HEAT_AT_IGNITER = 6
    NO_GAS = 7
    NOT_LIT = 8
    UNSEEN = 9
    LOST_IN_RUN = 10
    WHOLE = 11


@dataclass(frozen=True)
class Furnace:
    """A sound furnace and its house."""

    condensing: bool
    made: int
    btu: float
    closes: float
    opens: float
    inducer_shutoff: float
    """Pressure of the inducer against a shut vent [in. w.c.]."""
    passages: float
    """Resistance of heat exchanger and box: pressure at a flow of one."""
    vent: float
    intake: float
    igniter_ohms: float
    spark: bool
    holds_inducer: bool
    """Does its board keep the inducer still while the string is open?"""
    string_after_call: bool
    flame_sound: float
    flame_least: float
    street: float
    """Gas pressure at the meter."""
    pipe: float
    """Pressure lost in the pipe with everything burning."""
    manifold: float
    oxygen: float
    monoxide: float
    secondary: float
    """Open secondary [V]."""
    draft_back: float
    """Share of exhaust that a sound vent lets back."""


@dataclass
class Parts:
    """What the faults have left of the parts; sound unless changed."""

    line: bool = True
    transformer: bool = True
    fuse: bool = True
    door: bool = True
    thermostat: bool = True
    float_switch: bool = True
    limit: bool = True
    joint: float = 0.0
    """Ohms of a bad joint at the limit."""
    rollout: bool = True
    auxiliary: bool = True
    sees_string: bool = True
    stuck_closed: bool = False
    switch_point: float = 1.0
    switch_dead: bool = False
    inducer_relay: bool = True
    igniter_relay: bool = True
    valve_relay: bool = True
    sees_flame: bool = True
    bearing: float = 1.0
    """Speed of the inducer over a sound one's; 0 seized."""
    vent_open: float = 1.0
    intake_open: float = 1.0
    sag: float = 0.0
    """Share of the vent that fills with water in a run."""
    drain: float = 1.0
    """Share of its water that the drain takes."""
    hose: float = 1.0
    igniter: bool = True
    igniter_tired: float = 1.0
    cock: bool = True
    pipe_worse: float = 1.0
    street: float = 1.0
    valve: bool = True
    regulator: float = 1.0
    orifice: float = 1.0
    ports: float = 1.0
    film: float = 0.0
    rod_cracked: bool = False
    bond_ohms: float = 0.0
    """Kilo-ohms in the way of the flame current."""
    swapped: bool = False
    air: float = 1.0
    crack: float = 0.0
    spill: float = 0.0
    leak: float = 0.0


@dataclass(frozen=True)
class Seen:
    """What one start did and would show."""

    end: End
    inducer_fed: bool
    inducer_runs: bool
    suction_first: float
    suction_last: float
    let_go_after: float
    """Seconds from the inducer's start to the switch opening in the run; nan if it holds."""
    igniter_fed: bool
    glows: bool
    valve_told: bool
    inlet_rest: float
    inlet_alone: float
    inlet_all: float
    manifold: float
    rich: float
    flame: float
    current_first: float
    current_later: float
    oxygen: float
    monoxide: float
    oxygen_blown: float
    monoxide_blown: float
    rooms: float
    annoyance: float
    """Of gas, exhaust or CO: from one on somebody calls for that."""
    volts: dict[str, float] = field(default_factory=dict)

    @property
    def fine(self) -> bool:
        return self.end is End.WHOLE and self.annoyance < 1


def flow(furnace: Furnace, parts: Parts, filled: float) -> tuple[float, float]:
    """(flow over a sound one's scale, pressure drop of the passages) where fan and passages agree."""
    n = parts.bearing
    vent = furnace.vent / max(parts.vent_open * (1 - filled), 0.03) ** 1.9
    intake = furnace.intake / max(parts.intake_open, 0.03) ** 1.9
    low, high = 0.0, 3.0
    for _ in range(40):
        q = (low + high) / 2
        fan = furnace.inducer_shutoff * (n * n - 0.25 * n * q - 0.2 * q * q)
        asked = (furnace.passages + vent + intake) * q**1.9
        low, high = (q, high) if fan > asked else (low, q)
    return low, furnace.passages * low**1.9


def follow(furnace: Furnace, parts: Parts) -> Seen:
    """Follow one start."""
    p = parts
    dead = not (p.line and p.transformer and p.fuse and p.door)
    called = not dead and p.thermostat and p.float_switch
    strung = p.limit and p.joint < 400 and p.rollout and p.auxiliary and p.sees_string
    sound_flow, _ = flow(furnace, Parts(), 0.0)
    first, drop = flow(furnace, p, 0.0)
    water = 1 - p.drain
    fill = min(0.8, p.sag + 0.5 * water)
    last, drop_last = flow(furnace, p, fill * 0.85)
    hose_last = p.hose * (1 - 0.85 * water)
    suction_first, suction_last = drop * p.hose * (1 - 0.12 * water), drop_last * hose_last
    needs, lets_go = furnace.closes * p.switch_point, furnace.opens * p.switch_point
    closes = suction_first >= needs and not p.switch_dead
    rest = furnace.street * p.street * p.cock
    lost = furnace.pipe * p.pipe_worse
    inlet_all, inlet_alone = max(rest - lost, 0.0), max(rest - 0.22 * lost, 0.0)
    manifold = min(furnace.manifold * p.regulator, max(inlet_all * 0.93 - 0.55, 0.0)) if p.valve else 0.0
    rich = p.orifice * math.sqrt(manifold / furnace.manifold)
    draws = (first / sound_flow) * p.air
    excess = draws / max(rich, 0.02) * OXYGEN / (OXYGEN - furnace.oxygen)
    breath = 1 / (1 + math.exp(-(excess - 0.82) / 0.07))
    flame = breath * (1 - math.exp(-2.6 * rich)) / (1 - math.exp(-2.6)) * p.ports
    carries = flame > 0.42 and rich > 0.38
    tip = max(0.0, min(1.15, (flame - 0.25) / 0.75))
    current = furnace.flame_sound * tip * math.exp(-p.film) / (1 + p.bond_ohms) * (0.05 if p.rod_cracked else 1.0)
    current *= 0.12 if p.swapped else 1.0
    later = current * max(0.0, 1 - 2.2 * p.crack)
    heat = 1.0 if furnace.spark else p.igniter_tired
    order = (
        (End.DEAD, not dead),
        (End.UNCALLED, called),
        (End.BROKEN_STRING, strung),
        (End.MADE_AT_REST, not p.stuck_closed),
        (End.INDUCER_STILL, p.inducer_relay and p.bearing > 0.05),
        (End.NO_SUCTION, closes),
        (End.NO_HEAT_AT_IGNITER, p.igniter_relay and p.igniter and heat > 0.55),
        (End.NO_GAS, p.valve_relay and manifold > 0.2),
        (End.NOT_LIT, carries),
        (End.UNSEEN, p.sees_flame and current >= furnace.flame_least),
        (End.LOST_IN_RUN, suction_last >= lets_go and later >= furnace.flame_least),
    )
    end = next((stage for stage, holds in order if not holds), End.WHOLE)
    open_run = end is End.BROKEN_STRING and not furnace.holds_inducer
    fed = p.inducer_relay and (end >= End.INDUCER_STILL or open_run)
    oxygen = min(max(OXYGEN * (1 - 1 / max(excess, 1.01)), 0.3), 18.5)
    starving = 900 / (1 + math.exp((oxygen - 2.9) / 0.75))
    monoxide = furnace.monoxide + starving + 520 * max(0.0, 0.8 - p.ports) ** 1.3
    oxygen_blown = min(oxygen + 9 * p.crack, 18.5)
    monoxide_blown = monoxide * (1 - 0.3 * p.crack) + 650 * p.crack**1.2
    clean = max(free(monoxide, oxygen), free(monoxide_blown, oxygen_blown))
    burns = end >= End.LOST_IN_RUN
    back = furnace.draft_back + p.spill + 0.12 * p.crack
    rooms = 0.2 * clean * back if burns else 0.0
    bother = max(p.leak, (max(rooms / 9, clean / 450, back / 0.14) if burns else 0.35 * back / 0.14))
    gone = math.nan
    if end is End.LOST_IN_RUN and suction_last < lets_go:
        share = (suction_first - lets_go) / max(suction_first - suction_last, 1e-6)
        gone = 40 + 60 * MINUTES * min(max(share, 0.0), 1.0)
    return Seen(
        end,
        fed,
        fed and p.bearing > 0.05,
        suction_first if fed and p.bearing > 0.05 else 0.0,
        suction_last if burns else suction_first,
        gone,
        end >= End.NO_HEAT_AT_IGNITER and p.igniter_relay,
        end >= End.NO_GAS,
        end >= End.NO_GAS and p.valve_relay,
        rest,
        inlet_alone,
        inlet_all,
        manifold if end >= End.NO_GAS and p.valve_relay else 0.0,
        rich,
        flame,
        current if end >= End.UNSEEN else 0.0,
        later if burns else (current if end >= End.UNSEEN else 0.0),
        oxygen,
        monoxide,
        oxygen_blown,
        monoxide_blown,
        rooms,
        bother,
        volts(furnace, p, end, closes and end >= End.NO_SUCTION),
    )


def free(monoxide: float, oxygen: float) -> float:
    """CO free of air [ppm]."""
    return monoxide * OXYGEN / max(OXYGEN - oxygen, 1.0)


# ---------------------------------------------------------------- 24 volts: nodes and conductances

NODES = ("sec", "fused", "r", "w", "lim", "aux", "roll", "sw")
SHUT, GAP, PROBE = 20.0, 2e-9, 1e-7
"""Conductances of a contact, of a gap and of a meter [S]."""


def volts(furnace: Furnace, p: Parts, end: End, switch: bool) -> dict[str, float]:
    """Volts by reading id: across each device and to common on both sides, each solved with the meter in the net."""
    feed = furnace.secondary if p.line and p.transformer else 0.0
    valve = end >= End.NO_GAS and p.valve_relay

    def contact(made: bool, ohms: float = 0.0) -> float:
        return (1 / (1 / SHUT + ohms)) if made else GAP

    branches = {
        ("sec", "fused"): contact(p.fuse),
        ("fused", "r"): contact(p.door),
        ("r", "w"): contact(p.thermostat and p.float_switch),
        ("r", "lim"): contact(p.limit, p.joint),
        ("lim", "aux"): contact(p.auxiliary),
        ("aux", "roll"): contact(p.rollout),
        ("roll", "sw"): contact(switch or p.stuck_closed),
    }
    loads = {"r": 1 / 130, "w": 1 / 470, "roll": 1 / 1200, "sw": 1 / 1500 + (1 / 55 if valve else 0.0)}

    def solve(meter: tuple[str, str | None]) -> float:
        matrix = np.zeros((len(NODES), len(NODES)))
        place = {name: n for n, name in enumerate(NODES)}
        right = np.zeros(len(NODES))
        matrix[0, 0] += 1 / 1.5
        right[0] = feed / 1.5
        meters = {(meter[0], meter[1]): PROBE} if meter[1] else {}
        for (a, b), g in [*branches.items(), *meters.items()]:
            i, j = place[a], place[b]
            matrix[i, i] += g
            matrix[j, j] += g
            matrix[i, j] -= g
            matrix[j, i] -= g
        for name, g in [*loads.items(), *([] if meter[1] else [(meter[0], PROBE)])]:
            matrix[place[name], place[name]] += g
        told = np.linalg.solve(matrix, right)
        return float(told[place[meter[0]]] - (told[place[meter[1]]] if meter[1] else 0.0))

    spans = {
        "fuse": ("sec", "fused"),
        "door-switch": ("fused", "r"),
        "limit": ("r", "lim"),
        "auxiliary-limit": ("lim", "aux"),
        "rollout-switch": ("aux", "roll"),
        "pressure-switch": ("roll", "sw"),
    }
    out = {"secondary-volts": solve(("sec", None)), "call-volts": solve(("w", None))}
    for name, (a, b) in spans.items():
        out[f"volts-across-{name}"] = solve((a, b))
        out[f"volts-to-common-before-{name}"] = solve((a, None))
        out[f"volts-to-common-after-{name}"] = solve((b, None))
    out["volts-at-gas-valve"] = solve(("sw", None)) if valve else 0.0
    return out
