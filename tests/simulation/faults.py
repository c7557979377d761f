"""The faults of the simulated world: how often, how bad, and what an eye would catch of them.

Frequencies are those of high-limit calls in an invented town: the air side mostly, a weak limit about one call in
forty.  Sizes and chances are this world's own (expert estimate) and differ from those of the core's knowledge.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from numpy.random import Generator

from .world import House

Draw = Callable[[Generator], float]


def about(median: float, spread: float) -> Draw:
    """Log-normal."""
    return lambda rng: float(median * 2.718281828 ** (spread * rng.standard_normal()))


def between(low: float, high: float) -> Draw:
    """Uniform."""
    return lambda rng: float(rng.uniform(low, high))


def always(house: House) -> bool:
    """Fits any house."""
    return True


@dataclass(frozen=True)
class Fault:
    """One fault."""

    rate: float
    """Frequency as the first fault of a call, in no particular unit."""
    does: Mapping[str, Draw] = field(default_factory=dict)
    """What it acts on -> its size: a part (factor on its drop, not below 1.15), speed, setting (steps down), input,
    recirculated, hot-spot, limit (degF)."""
    seen: Mapping[str, float] = field(default_factory=dict)
    """Finding -> chance that an eye or an ear finds it."""
    away: float = 0.0
    """Chance that it is not there while somebody reads."""
    opens: float = 0.0
    """Chance that it opens the circuit without heat, in a call that is not watched."""
    watched: float = 0.0
    """The same in a call that is watched."""
    fits: Callable[[House], bool] = always


def _psc(house: House) -> bool:
    return house.blower.motor == "split capacitor"


FAULTS: Mapping[str, Fault] = {
    # --- return side
    "filter-loaded": Fault(
        19,
        {"filter": about(2.7, 0.4)},
        {"filter-dirty": 0.9, "whistle-at-filter": 0.3, "hot-dust-smell": 0.15, "on-morning-recovery": 0.4},
    ),
    "filter-too-restrictive": Fault(
        11,
        {"filter": about(2.1, 0.25)},
        {
            "filter-fine-and-thin": 0.85,
            "after-filter-change": 0.45,
            "whistle-at-filter": 0.4,
            "on-morning-recovery": 0.3,
        },
    ),
    "filter-doubled": Fault(1.1, {"filter": about(2.3, 0.3)}, {"two-filters": 0.9, "whistle-at-filter": 0.3}),
    "return-undersized": Fault(
        13.5,
        {"return": about(2.7, 0.35)},
        {"whistle-at-filter": 0.4, "after-new-equipment": 0.4, "duct-metal-booms": 0.25, "on-morning-recovery": 0.3},
    ),
    "return-blocked": Fault(
        5,
        {"return": about(4.6, 0.5)},
        {
            "return-grille-covered": 0.82,
            "whistle-at-filter": 0.4,
            "after-house-change": 0.4,
            "happens-intermittently": 0.2,
        },
        away=0.03,
    ),
    "inlet-fitting-bad": Fault(
        1.5, {"inlet": about(4.2, 0.4)}, {"inlet-cut-small": 0.8, "after-new-equipment": 0.6, "whistle-at-filter": 0.15}
    ),
    # --- blower
    "wheel-dirty": Fault(
        5.5, {"speed": between(0.66, 0.87)}, {"wheel-dirty": 0.92, "ran-without-filter": 0.45, "screech-or-scrape": 0.1}
    ),
    "speed-low": Fault(5, {"setting": between(1, 2.3)}, {"setting-low": 0.85, "after-new-equipment": 0.35}),
    "capacitor-weak": Fault(
        4,
        {"speed": between(0.58, 0.86)},
        {
            "motor-hot-or-stiff": 0.35,
            "hums-without-starting": 0.25,
            "hot-dust-smell": 0.15,
            "happens-intermittently": 0.15,
        },
        fits=_psc,
    ),
    "motor-failing": Fault(
        3.1,
        {"speed": between(0.6, 0.88)},
        {
            "motor-hot-or-stiff": 0.65,
            "blower-stops-hot": 0.45,
            "screech-or-scrape": 0.4,
            "happens-intermittently": 0.45,
            "hot-dust-smell": 0.2,
        },
        away=0.08,
    ),
    "ecm-fault": Fault(
        3.2,
        {"speed": between(0.45, 0.85)},
        {
            "motor-ignores-command": 0.5,
            "motor-without-command": 0.35,
            "blower-stops-hot": 0.25,
            "happens-intermittently": 0.4,
        },
        away=0.08,
        fits=lambda h: not _psc(h),
    ),
    "wheel-loose": Fault(0.45, {"speed": between(0.35, 0.72)}, {"wheel-loose": 0.93, "screech-or-scrape": 0.5}),
    "secondary-matted": Fault(
        1.5,
        {"inlet": about(6.5, 0.4)},
        {"secondary-matted-seen": 0.94, "ran-without-filter": 0.5},
        fits=lambda h: h.condensing,
    ),
    "fan-not-commanded": Fault(
        2.1,
        {"speed": between(0.05, 0.12)},
        {"no-volts-at-blower-lead": 0.93, "happens-intermittently": 0.4, "hot-dust-smell": 0.3, "blower-late": 0.3},
        away=0.1,
    ),
    # --- coil and supply
    "coil-plugged": Fault(
        7.5,
        {"coil": about(3.0, 0.4)},
        {"coil-matted": 0.92, "ran-without-filter": 0.5, "on-morning-recovery": 0.3},
        fits=lambda h: "coil" in h.ducts,
    ),
    "coil-too-small": Fault(
        1.8, {"coil": about(1.9, 0.2)}, {"after-new-equipment": 0.6}, fits=lambda h: "coil" in h.ducts
    ),
    "supply-undersized": Fault(
        4.8, {"supply": about(2.4, 0.3)}, {"hiss-at-registers": 0.45, "room-flow-low": 0.4, "after-new-equipment": 0.3}
    ),
    "supply-blocked": Fault(
        7,
        {"supply": about(2.9, 0.45)},
        {"registers-closed": 0.85, "hiss-at-registers": 0.4, "after-house-change": 0.35, "only-one-room": 0.3},
    ),
    "supply-run-crushed": Fault(
        1.0, {"supply": about(1.45, 0.15)}, {"duct-crushed": 0.9, "only-one-room": 0.6, "room-flow-low": 0.75}
    ),
    "zone-fault": Fault(
        2.8,
        {"supply": about(3.6, 0.4)},
        {
            "only-with-few-zones": 0.8,
            "static-jumps-with-one-zone": 0.88,
            "zone-damper-stuck": 0.5,
            "happens-intermittently": 0.6,
        },
        away=0.15,
        fits=lambda h: h.zoned,
    ),
    "recirculation": Fault(
        1.6, {"recirculated": between(0.1, 0.26)}, {"supply-reaches-return": 0.82, "after-new-equipment": 0.2}
    ),
    "furnace-too-big-for-ducts": Fault(
        4,
        {"return": about(1.9, 0.2), "supply": about(1.9, 0.2)},
        {"output-oversized": 0.8, "after-new-equipment": 0.5, "hiss-at-registers": 0.3, "short-satisfied-calls": 0.4},
    ),
    # --- gas
    "manifold-high": Fault(0.9, {"input": between(1.08, 1.24)}, {"after-gas-work": 0.4, "bang-or-rumble": 0.1}),
    "orifice-oversize": Fault(
        0.5,
        {"input": between(1.1, 1.3)},
        {"orifice-not-as-plate": 0.95, "after-gas-work": 0.5, "flame-poor": 0.4, "no-conversion-label": 0.3},
    ),
    "regulator-high": Fault(0.4, {"input": between(1.06, 1.2)}, {"after-gas-work": 0.4}),
    "altitude-not-derated": Fault(
        0.5,
        {"input": between(1.09, 1.24)},
        {"orifice-not-as-plate": 0.7, "after-new-equipment": 0.4},
        fits=lambda h: h.elevation > 3000,
    ),
    "stage-mismatch": Fault(
        0.55,
        {"speed": between(0.66, 0.8)},
        {"high-fire-low-air": 0.92, "after-new-equipment": 0.4},
        fits=lambda h: h.stages == 2,
    ),
    # --- limit, its circuit, timing
    "baffle-missing": Fault(0.2, {"hot-spot": between(1.15, 1.35)}, {"baffle-gone": 0.93, "after-new-equipment": 0.2}),
    "limit-weak": Fault(1.8, {"limit": between(-60, -18)}, {"happens-intermittently": 0.25}),
    "limit-wrong": Fault(0.35, {"limit": between(-50, -20)}, {"limit-not-as-listed": 0.93, "after-new-equipment": 0.3}),
    "limit-wiring": Fault(0.6, {}, {"limit-wire-poor": 0.75, "happens-intermittently": 0.65}, opens=0.95, watched=0.35),
    "other-safety-open": Fault(
        0.9, {}, {"other-device-open": 0.92, "scorch-at-burner": 0.3, "flame-poor": 0.3}, opens=0.95, watched=0.4
    ),
    "board-false-limit": Fault(
        0.4, {}, {"board-loses-limit": 0.9, "happens-intermittently": 0.6}, opens=0.95, watched=0.35
    ),
    "fan-on-late": Fault(0.45, {}, {"blower-late": 0.92, "duct-metal-booms": 0.3}, opens=0.8, watched=0.6),
    "fan-off-early": Fault(0.7, {}, {"trip-after-call": 0.88, "happens-intermittently": 0.3}, opens=0.9, watched=0.15),
}

#: Finding -> chance that it is there, or taken to be there, for a reason of no account.
BY_CHANCE: Mapping[str, float] = {
    "filter-dirty": 0.45,
    "filter-fine-and-thin": 0.38,
    "whistle-at-filter": 0.1,
    "hot-dust-smell": 0.08,
    "on-morning-recovery": 0.2,
    "after-filter-change": 0.06,
    "after-new-equipment": 0.07,
    "after-house-change": 0.06,
    "after-gas-work": 0.02,
    "ran-without-filter": 0.1,
    "happens-intermittently": 0.2,
    "only-with-few-zones": 0.03,
    "two-filters": 0.03,
    "return-grille-covered": 0.12,
    "registers-closed": 0.25,
    "wheel-dirty": 0.3,
    "setting-low": 0.25,
    "inlet-cut-small": 0.15,
    "coil-matted": 0.25,
    "motor-hot-or-stiff": 0.1,
    "screech-or-scrape": 0.04,
    "hiss-at-registers": 0.15,
    "duct-crushed": 0.08,
    "duct-metal-booms": 0.06,
    "only-one-room": 0.12,
    "room-flow-low": 0.15,
    "output-oversized": 0.3,
    "short-satisfied-calls": 0.2,
    "limit-wire-poor": 0.08,
    "flame-poor": 0.03,
    "scorch-at-burner": 0.01,
    "bang-or-rumble": 0.05,
    "secondary-matted-seen": 0.1,
    "hums-without-starting": 0.01,
    "return-area-low": 0.1,
}
"""Findings not named here: 0.01."""
