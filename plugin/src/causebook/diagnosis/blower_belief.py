"""Belief over the blower: how fast its motor turns, and how well its wheel moves the air at that speed.

The fan's curve and the air path tell only the product of the two; a tachometer tells the motor's part.  A slow motor
and a wheel packed with lint move equally little air, and are told apart by exactly that.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from causebook.diagnosis.evidence import Array, Gauge
from causebook.diagnosis.states import States, states_of
from causebook.knowledge.model import Effect

BLUNDER_SPREAD = 0.5
"""Spread of the logarithm of a motor speed that was read wrongly."""


@dataclass(frozen=True, slots=True)
class BlowerBelief:
    """The states of the blower with the motor's part in each, and the motor speed where it was read.

    All are logarithms: of the speed that the air asks for over the table's, of the motor's over that of its setting.
    """

    states: States
    """Of motor, wheel and setting together."""
    motor: States
    """The motor's part, state by state; without a spread where no cause of the motor is present."""
    read: Gauge | None
    blunder: float

    def density(self, n: int, log_speed: Array) -> Array:
        """Density in ln(speed) of state n times the likelihood of the motor speed read."""
        if self.read is None:
            return _normal(log_speed, self.states.mean[n], self.states.spread[n])
        wide = float(np.hypot(self.motor.spread[n], self.read.sd))
        fits = (1 - self.blunder) * _normal(np.array(self.read.value), self.motor.mean[n], wide)
        wrong = self.blunder * _normal(np.array(self.read.value), 0.0, BLUNDER_SPREAD)
        mean, spread, _, _ = self._with_reading(n)
        density: Array = fits * _normal(log_speed, mean, spread) + wrong * _normal(
            log_speed, self.states.mean[n], self.states.spread[n]
        )
        return density

    def motor_at(self, n: int, log_speed: Array) -> Array:
        """Expected ln(motor speed) in state n where the air asks for a speed, all of it the motor's where nothing
        else is at fault."""
        if self.motor.spread[n] == 0:
            return np.zeros_like(log_speed)
        if self.motor.mean[n] == self.states.mean[n]:
            return log_speed
        mean, spread, motor, motor_spread = self._with_reading(n)
        share = (motor_spread / spread) ** 2
        expected: Array = motor + share * (log_speed - mean)
        return expected

    def motor_left(self, n: int) -> float:
        """What the speed that the air asks for leaves open of ln(motor speed) in state n: its standard deviation."""
        _, spread, _, own = self._with_reading(n)
        return own * float(np.sqrt(1 - (own / spread) ** 2))

    def _with_reading(self, n: int) -> tuple[float, float, float, float]:
        """(mean, spread) of ln(speed) and of the motor's part in state n, the reading taken as true."""
        mean, spread = float(self.states.mean[n]), float(self.states.spread[n])
        motor, own = float(self.motor.mean[n]), float(self.motor.spread[n])
        if self.read is None or own == 0:
            return mean, spread, motor, own
        gain = own**2 / (own**2 + self.read.sd**2)
        moved, left = gain * (self.read.value - motor), own * float(np.sqrt(1 - gain))
        return mean + moved, float(np.sqrt(spread**2 - own**2 + left**2)), motor + moved, left


def blower_belief(
    effects: Mapping[str, Sequence[Effect]], spread: float, read: Gauge | None, blunder: float
) -> BlowerBelief:
    """The blower under the causes that act on it; `spread` is that of a sound one about its table, `read` the motor's
    speed over that of its setting, with the spread of both."""
    states = states_of(("motor", "blower", "setting"), effects, spread, pairs="unlike")
    own = {c: [e for e in found if e.on == "motor"] for c, found in effects.items()}
    mean = [sum(np.log(e.factor) for c in held for e in own[c]) for held in states.causes]
    wide = [np.sqrt(sum(e.spread**2 for c in held for e in own[c])) for held in states.causes]
    logs = Gauge(float(np.log(max(read.value, 0.02))), read.sd / max(read.value, 0.02)) if read is not None else None
    return BlowerBelief(states, States(states.causes, np.array(mean, float), np.array(wide, float)), logs, blunder)


def _normal(at: Array, mean: float, spread: float) -> Array:
    density: Array = np.exp(-0.5 * ((at - mean) / spread) ** 2) / spread
    return density
