"""What eyes, ears and stories say of a start: how likely each is in every draw.

Only what the devices decide stands here; what merely goes with a cause (a wet floor, a change of filter) is left to the
links of the knowledge.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from causebook.equipment.furnace.start.devices import Array
from causebook.equipment.furnace.start.sequence import (
    CALL,
    GAS,
    HOLD,
    IGNITER,
    INDUCER,
    LIGHT,
    POWER,
    REST,
    SENSE,
    STAGES,
    STRUNG,
    SUCTION,
    Start,
)
from causebook.knowledge.model import Knowledge

WRONG = 0.035
"""Chance that a look is simply wrong."""


DARK = 0.15
"""Chance that somebody says what is in the memory of a board without power, as against one that has it."""


def _by_end(start: Start, chances: Mapping[int, float]) -> Array:
    table = np.array([chances.get(n, 0.0) for n in range(len(STAGES))], dtype=np.float32)
    return table[start.ends]


def _still(start: Start) -> Array:
    held = (start.ends == STRUNG) & start.sound.keeps_still
    stays = held | (start.ends == REST) | (start.ends == INDUCER)
    return 0.8 * stays + _by_end(start, {POWER: 0.12, CALL: 0.15})


def _nothing(start: Start) -> Array:
    held = (start.ends == STRUNG) & start.sound.keeps_still
    return _by_end(start, {POWER: 0.97, CALL: 0.95, REST: 0.25, INDUCER: 0.2}) + 0.3 * held


def _no_glow(start: Start) -> Array:
    runs = (start.ends == STRUNG) & ~start.sound.keeps_still
    return _by_end(start, {SUCTION: 0.95, IGNITER: 0.96}) + 0.92 * runs


def _chance(holds: Array, yes: float, no: float = 0.0) -> Array:
    return np.where(holds, yes, no).astype(np.float32)


LOOKS: Mapping[str, Callable[[Start], Array]] = {
    "nothing-starts": _nothing,
    "inducer-stays-still": _still,
    "no-ignition-after-inducer": _no_glow,
    "no-flame-after-ignition": lambda s: _by_end(s, {GAS: 0.96, LIGHT: 0.92, SENSE: 0.05}),
    "flame-drops-out": lambda s: _by_end(s, {SENSE: 0.93, LIGHT: 0.06, HOLD: 0.2}),
    "no-line-volts": lambda s: _chance(~s._live("line"), 1.0),
    "control-volts-missing": lambda s: _chance(~s.powered, 0.97),
    "no-call-at-board": lambda s: _chance(~s.called, 0.97),
    "call-drops": lambda s: _chance(~s.called, 0.6, 0.03),
    "igniter-open-circuit": lambda s: _chance(~s.igniter_whole, 0.97),
    "igniter-not-fed": lambda s: _chance(s.comes_to(IGNITER) & ~s.igniter_fed, 0.96, 0.02),
    "inducer-not-fed": lambda s: _chance(s.comes_to(INDUCER) & ~s.inducer_fed, 0.96, 0.02),
    "valve-commanded-no-gas": lambda s: _chance(s.commanded & ~s.valve_opens, 0.95, 0.01),
    "other-device-open": lambda s: _chance(~s._live("rollout", "auxiliary", "vent-switch"), 0.93, 0.01),
    "rollout-switch-open": lambda s: _chance(~s._live("rollout"), 0.95, 0.005),
    "board-loses-limit": lambda s: _chance(~s._live("sees-string") & s.switches_made, 0.9, 0.005),
    "switch-closed-at-rest": lambda s: _chance(~s.opened_at_rest, 0.92, 0.005),
    "switch-open-with-suction": lambda s: _chance(
        s.comes_to(SUCTION) & ~s.made & (s.suction > s.plate.closes), 0.9, 0.01
    ),
    "suction-low": lambda s: _chance(s.suction < s.plate.closes, 0.92, 0.03),
    "suction-fades": lambda s: _chance(s.devices("keeps") < 0.88, 0.9, 0.02),
    "inducer-slow": lambda s: _chance((s.devices("inducer") < 0.93) & s.inducer_fed, 0.88, 0.04),
    "flame-current-low": lambda s: _chance(s.current < 1.1 * s.plate.flame_least, 0.9, 0.03),
    "flame-current-restored": lambda s: _chance((s.devices("film") < 0.7) & (s.devices("bond") > 0.6), 0.85, 0.06),
    "bond-bad": lambda s: _chance(s.devices("bond") < 0.85, 0.93, 0.02),
    "gas-inlet-low": lambda s: _chance(s.inlet_all_on < s.plate.inlet_least, 0.93, 0.01),
    "gas-inlet-high": lambda s: _chance(s.inlet_at_rest > s.plate.inlet_most, 0.95, 0.01),
    "manifold-below-plate": lambda s: _chance(s.commanded & (s.manifold < s.plate.manifold - 0.3), 0.93, 0.03),
    "manifold-above-plate": lambda s: _chance(s.commanded & (s.manifold > s.plate.manifold + 0.3), 0.94, 0.03),
    "flame-poor": lambda s: np.clip(1.6 * (0.9 - s.flame), 0.04, 0.9),
    "oxygen-low": lambda s: _chance(s.oxygen < 5, 0.92, 0.03),
    "co-flue-high": lambda s: _chance(s.foul > 100, 0.92, 0.04),
    "co-flue-very-high": lambda s: _chance(s.foul > 400, 0.92, 0.01),
    "co-in-rooms": lambda s: _chance(s.in_rooms > 9, 0.92, 0.02),
    "trap-blocked": lambda s: _chance(s.devices("drain") < 0.35, 0.94, 0.03),
    "oxygen-shifts-at-blower-start": lambda s: np.clip(14 * s.devices("breach"), 0.02, 0.92),
    "flame-moves-when-blower-starts": lambda s: np.clip(7 * s.devices("breach"), 0.01, 0.92),
}
"""Finding -> chance that it is there, by set and draw, in the start as somebody meets it."""


def said(chance: Array, share: float) -> Array:
    """Likelihood of looks of which `share` say that it is there."""
    right = chance * (1 - WRONG) + (1 - chance) * WRONG
    return right if share > 0.5 else 1 - right


def fault_stored(start: Start, share: float) -> Array:
    """Likelihood of a memory that holds, or does not hold, an open limit circuit."""
    return said(_by_end(start, {STRUNG: 0.85}) + 0.04, share)


def memory(start: Start, met: Start, groups: frozenset[str], knowledge: Knowledge) -> Array:
    """Likelihood of the messages in the memory, after starts that ended as this one with all that is wrong.

    A memory holds old messages too; one of them in about twelve visits.  A board without its 24 V shows none at all.
    """
    out = np.where(met.powered, 1.0, DARK).astype(np.float32)
    for group in knowledge.messages.values():
        chance = 0.08 / 2 + 0.96 * _by_end(start, {STAGES.index(s): p for s, p in group.after.items()})
        out = out * (chance if group.id in groups else 1 - 0.75 * chance)
    return out


def filed(start: Start, family: str, knowledge: Knowledge) -> Array:
    """Likelihood that a call for this start is filed under its family.

    Bad air goes before a fire that fails; a start that runs and offends nobody is hardly called about.
    """
    rows = np.array([known.families.get(family, 0.0) for known in knowledge.stages.values()], dtype=np.float32)
    called = np.ones(len(rows), dtype=np.float32)
    called[-1] = 0.02
    foul = 0.85 if family == BAD_AIR else 0.05
    return start.offends * foul + (1 - 0.75 * start.offends) * (rows * called)[start.ends]


BAD_AIR = "co-odor"
