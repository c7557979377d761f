"""The physics of the simulated world, in the units of the trade: cfm, in. w.c., degF, Btu/h.

Written by hand and apart from `causebook.physics`: one airflow found by bisection, a fan by its own formula, a heat
balance, and a first-order warming of air and limit.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

PARTS = ("return", "filter", "inlet", "coil", "supply")


@dataclass(frozen=True)
class Duct:
    """One part of the air path: drop [in. w.c.] at the furnace's middle airflow in standard air, and its exponent."""

    clean: float
    exponent: float


@dataclass(frozen=True)
class Blower:
    """Airflow = free × (1 − (static/shut)^bend), in standard air; a slower setting loses pressure less than air,
    since its motor slips less; a slower wheel loses both by the fan laws."""

    motor: str
    free: float
    """[cfm] at the highest setting without static."""
    shut: float
    """[in. w.c.] at which it moves no air, highest setting."""
    bend: float
    settings: Mapping[str, float]
    """Setting -> free airflow as a share of that of the highest."""
    strength: float
    """This blower's speed over that of its table."""

    def _most(self, setting: str, speed: float) -> tuple[float, float]:
        share = self.settings[setting]
        return self.free * share * speed, self.shut * share**0.6 * speed**2

    def airflow(self, static: float, setting: str, speed: float = 1.0) -> float:
        """[cfm] against a static [in. w.c.]."""
        free, shut = self._most(setting, speed)
        return free * (1 - (static / shut) ** self.bend) if static < shut else 0.0

    def static(self, airflow: float, setting: str, speed: float) -> float:
        """[in. w.c.] made at an airflow [cfm]; below zero where the air would have to be pulled along."""
        free, shut = self._most(setting, speed)
        left = 1 - airflow / free
        return shut * math.copysign(abs(left) ** (1 / self.bend), left)


@dataclass(frozen=True)
class House:
    """A furnace in its house, sound."""

    plate_input: float
    adjusted_input: float
    share: float
    """Efficiency by the plate."""
    true_share: float
    condensing: bool
    stages: int
    zoned: bool
    made: int
    elevation: float
    rise: tuple[float, float]
    static_maximum: float
    counted: tuple[str, ...]
    ducts: Mapping[str, Duct]
    blower: Blower
    setting: str
    marking: float
    opens: float
    """[degF] at which the sound limit really opens."""
    body: float
    """Limit body above return air as a multiple of the rise."""
    warm_up: float
    """Time constant of the air [s]."""
    dead_time: float
    room: float
    duct_loss: float
    """[degF] that the return air has lost on its way."""

    @property
    def density(self) -> float:
        """Of the air, over that of standard air."""
        return (1 - 6.8754e-6 * self.elevation) ** 5.2559 * 530 / (self.room + 460)

    @property
    def carries(self) -> float:
        """Btu/h for each cfm and degF."""
        return 1.083 * self.density

    @property
    def middle(self) -> float:
        """Airflow of middle rise [cfm]."""
        return self.adjusted_input * self.share / (self.carries * sum(self.rise) / 2)


@dataclass(frozen=True)
class Condition:
    """What faults make of a house: factors on what is sound."""

    times: Mapping[str, float] = field(default_factory=dict)
    """Part -> factor on its drop."""
    speed: float = 1.0
    """Factor on the blower's speed."""
    setting: str | None = None
    input: float = 1.0
    recirculated: float = 0.0
    hot_spot: float = 1.0
    limit_shift: float = 0.0
    taken_away: frozenset[str] = frozenset()
    """Parts opened or removed for a test."""


@dataclass(frozen=True)
class Running:
    """A furnace burning steadily."""

    airflow: float
    drops: Mapping[str, float]
    input: float
    rise: float
    returned: float
    """Return air at the furnace [degF]."""
    body: float
    opens: float

    @property
    def margin(self) -> float:
        """[degF] that the limit stays below its opening; negative: it opens."""
        return self.opens - self.body


def run(house: House, found: Condition) -> Running:
    """Solve the airflow by bisection, then heat and limit."""
    speed, setting = house.blower.strength * found.speed, found.setting or house.setting

    def drop(part: str, cfm: float, times: float) -> float:
        duct = house.ducts[part]
        return times * duct.clean * (cfm / house.middle) ** duct.exponent * house.density

    def surplus(cfm: float) -> float:
        left = house.density * house.blower.static(cfm, setting, speed)
        for part in house.ducts:
            if part not in found.taken_away:
                left -= drop(part, cfm, found.times.get(part, 1.0))
            # What the fan table holds within itself is already paid for, clean.
            if part == "inlet" or part not in house.counted:
                left += drop(part, cfm, 1.0)
        return left

    low, high = 1e-3, house.blower.free * speed * 1.5
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if surplus(middle) > 0 else (low, middle)
    cfm = 0.5 * (low + high)
    fired = house.adjusted_input * found.input
    rise = fired * house.true_share / (house.carries * cfm)
    back = house.room - house.duct_loss + found.recirculated / (1 - found.recirculated) * rise
    drops = {p: 0.0 if p in found.taken_away else drop(p, cfm, found.times.get(p, 1.0)) for p in house.ducts}
    return Running(
        cfm, drops, fired, rise, back, back + house.body * found.hot_spot * rise, house.opens + found.limit_shift
    )


def trips_after(house: House, at: Running) -> float | None:
    """Seconds from light-off to the limit opening; None when it stays closed."""
    share = (at.opens - at.returned) / (at.body - at.returned)
    return None if share >= 1 else house.dead_time - 1.1 * house.warm_up * math.log1p(-max(share, 0.05))


def warmed(house: House, seconds: float) -> float:
    """Share of the steady rise that the air has reached."""
    return -math.expm1(-max(0.0, seconds - house.dead_time) / house.warm_up)
