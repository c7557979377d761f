"""The faults of a start in the simulated world: how often, how bad, and what an eye would catch of them.

Frequencies are those of calls for no fire, a fire that does not stay, and bad air in an invented town.  Sizes run from
what nobody notices to what ends every start.  All of it is this world's own (expert estimate) and differs from the
core's knowledge.  What a meter shows is nowhere said here: it follows from the state.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from .faults import Draw, about, between
from .start import Furnace

Does = Mapping[str, Draw]
DEAD: Draw = between(0.0, 0.0)


def always(furnace: Furnace) -> bool:
    """Fits any furnace."""
    return True


@dataclass(frozen=True)
class Fault:
    """One fault."""

    rate: float
    """Frequency as the first fault of a call, in no particular unit."""
    does: tuple[Does, ...]
    """Ways in which it comes, one of which is drawn: field of the state -> its size."""
    seen: Mapping[str, float] = field(default_factory=dict)
    """Finding -> chance that an eye or an ear finds it."""
    away: float = 0.0
    """Chance that it is not there while somebody reads."""
    fits: Callable[[Furnace], bool] = always

    @property
    def dead(self) -> bool:
        """Does it end every start?  Two such at once are rare: the furnace ran last week."""
        return all(size is DEAD for does in self.does for size in does.values())


FAULTS: Mapping[str, Fault] = {
    # --- power, call, string, board
    "line-power-off": Fault(3.5, ({"line": DEAD},), away=0.04),
    "low-voltage-open": Fault(7.5, ({"fuse": DEAD}, {"transformer": DEAD}), {"after-new-equipment": 0.15}, away=0.06),
    "thermostat-fault": Fault(
        5,
        ({"call": DEAD},),
        {
            "happens-intermittently": 0.4,
            "thermostat-reads-off": 0.3,
            "thermostat-in-stream": 0.15,
            "call-drops": 0.6,
            "short-satisfied-calls": 0.2,
        },
        away=0.3,
    ),
    "board-failed": Fault(
        7,
        (*2 * ({"inducer_fed": DEAD}, {"igniter_fed": DEAD}, {"valve_fed": DEAD}), {"sees_flame": DEAD}),
        {"happens-intermittently": 0.4},
        away=0.2,
    ),
    "limit-wiring": Fault(2.5, ({"joint": DEAD},), {"limit-wire-poor": 0.72, "happens-intermittently": 0.6}, away=0.35),
    "other-safety-open": Fault(4.5, ({"safety": DEAD},), {"scorch-at-burner": 0.3}, away=0.08),
    "board-false-limit": Fault(1.5, ({"sees_limit": DEAD},), {"happens-intermittently": 0.5}, away=0.3),
    "igniter-open": Fault(16, ({"igniter": DEAD},), away=0.03),
    "igniter-no-supply": Fault(4, ({"igniter_fed": DEAD},), {"happens-intermittently": 0.35}, away=0.2),
    # --- gas and flame
    "gas-supply-low": Fault(
        9,
        ({"inlet": DEAD}, {"inlet": between(0.15, 0.55)}),
        {"in-wind-snow-or-cold": 0.25, "after-gas-work": 0.3, "bang-or-rumble": 0.2},
        away=0.1,
    ),
    "gas-valve-no-open": Fault(6, ({"valve": DEAD},), {"happens-intermittently": 0.2}, away=0.12),
    "burner-dirty": Fault(10, ({"ports": between(0.2, 0.9)},), {"burner-dirty": 0.9, "bang-or-rumble": 0.45}),
    "rod-dirty": Fault(10, ({"rod": about(0.22, 0.7)},), {"rod-dirty": 0.88, "happens-intermittently": 0.25}),
    "ground-poor": Fault(
        7, ({"bond": between(0.06, 0.65)},), {"happens-intermittently": 0.4, "after-new-equipment": 0.2}, away=0.12
    ),
    "manifold-low": Fault(
        3.5,
        ({"manifold": between(0.3, 0.85)},),
        {"bang-or-rumble": 0.15, "after-gas-work": 0.25, "rust-under-flue-collar": 0.2},
    ),
    "manifold-high": Fault(4, ({"manifold": between(1.1, 1.7)},), {"after-gas-work": 0.45}),
    "orifice-oversize": Fault(
        5,
        ({"orifice": between(1.06, 1.4)},),
        {"orifice-not-as-plate": 0.93, "after-gas-work": 0.5, "no-conversion-label": 0.35, "part-not-listed": 0.2},
    ),
    "regulator-high": Fault(
        1.5, ({"inlet": between(1.6, 2.3), "manifold": between(1.03, 1.5)},), {"after-gas-work": 0.4}
    ),
    "gas-leak": Fault(1.6, ({"leaks": between(0.5, 3.0)},), {"after-gas-work": 0.2}),
    # --- vent, condensate, switch
    "condensate-blocked": Fault(
        22,
        ({"keeps": between(0.3, 1.0), "hose": between(0.65, 1.0)},),
        {
            "trap-blocked": 0.9,
            "water-at-furnace": 0.5,
            "gurgle-in-drain": 0.4,
            "hose-or-port-bad": 0.2,
            "water-on-electrics": 0.08,
        },
        fits=lambda f: f.condensing,
    ),
    "vent-blocked": Fault(
        11,
        ({"draws": between(0.25, 0.95), "spills": between(0.0, 0.2)},),
        {"vent-end-blocked": 0.85, "in-wind-snow-or-cold": 0.5},
        away=0.15,
    ),
    "vent-wrong": Fault(
        6.5,
        ({"draws": between(0.55, 0.95), "keeps": between(0.6, 1.0)},),
        {
            "vent-slope-wrong": 0.9,
            "after-new-equipment": 0.35,
            "gurgle-in-drain": 0.25,
            "water-at-furnace": 0.3,
            "in-wind-snow-or-cold": 0.25,
        },
    ),
    "ps-or-hose": Fault(
        9,
        (
            {"hose": between(0.0, 0.85)},
            {"hose": between(0.0, 0.85)},
            {"switch": between(1.1, 2.0)},
            {"switch": between(1.1, 2.0)},
            {"switch": DEAD},
        ),
        {"happens-intermittently": 0.2},
    ),
    "inducer-weak": Fault(
        9, ({"draws": between(0.35, 0.95)},), {"screech-or-scrape": 0.45, "happens-intermittently": 0.3}, away=0.1
    ),
    # --- air and exhaust
    "comb-air-starved": Fault(
        7,
        ({"air": between(0.45, 0.95)},),
        {"after-house-change": 0.3, "co-keeps-climbing": 0.3, "bang-or-rumble": 0.15},
    ),
    "hx-breach": Fault(6, ({"breach": between(0.04, 0.45)},), {"crack-seen": 0.75, "scorch-at-burner": 0.12}),
    "spillage": Fault(
        6,
        ({"spills": between(0.03, 0.4)},),
        {"after-house-change": 0.25, "return-joint-open": 0.3},
        fits=lambda f: not f.condensing,
    ),
}

#: Finding -> chance that it is there, or taken to be there, for a reason of no account.
BY_CHANCE: Mapping[str, float] = {
    "rod-dirty": 0.2,
    "burner-dirty": 0.12,
    "vent-slope-wrong": 0.08,
    "hose-or-port-bad": 0.04,
    "trap-blocked": 0.03,
    "water-at-furnace": 0.05,
    "happens-intermittently": 0.2,
    "in-wind-snow-or-cold": 0.1,
    "after-new-equipment": 0.06,
    "after-house-change": 0.06,
    "after-gas-work": 0.02,
    "flame-poor": 0.03,
    "limit-wire-poor": 0.04,
    "inducer-slow": 0.03,
    "screech-or-scrape": 0.05,
    "gurgle-in-drain": 0.03,
    "bang-or-rumble": 0.05,
    "thermostat-in-stream": 0.05,
    "thermostat-reads-off": 0.08,
    "no-conversion-label": 0.02,
    "filter-dirty": 0.4,
    "filter-fine-and-thin": 0.35,
    "registers-closed": 0.2,
    "return-grille-covered": 0.08,
    "return-joint-open": 0.08,
    "on-morning-recovery": 0.15,
    "output-oversized": 0.3,
    "rust-under-flue-collar": 0.05,
    "wheel-dirty": 0.25,
    "coil-matted": 0.2,
    "setting-low": 0.15,
    "gas-smell": 0.01,
    "crack-seen": 0.003,
    "orifice-not-as-plate": 0.015,
}
"""Findings not named here: 0.006."""
SELDOM = 0.006
