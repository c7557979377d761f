"""The faults of a start in this town: how often, how bad, what an eye would catch of them, and what they do to others.

Frequencies are those of an invented town's calls; sizes run from what nobody notices to what ends every start; the
chances of seeing things are those of its people.  None of the numbers is the core's (expert estimate).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from numpy.random import Generator

from .start import Furnace, Parts

Change = Callable[[Generator, Parts], None]


@dataclass(frozen=True)
class Fault:
    """One fault."""

    rate: float
    change: Change
    seen: Mapping[str, float] = field(default_factory=dict)
    """Finding -> chance that an eye, an ear or the customer's story brings it."""
    away: float = 0.0
    """Chance that it is not there while somebody reads."""
    harms: Mapping[str, float] = field(default_factory=dict)
    """Fault -> chance that this one has brought it."""
    fits: Callable[[Furnace], bool] = lambda furnace: True


def _set(**values: object) -> Change:
    def change(rng: Generator, parts: Parts) -> None:
        for name, value in values.items():
            setattr(parts, name, value)

    return change


def _size(name: str, low: float, high: float) -> Change:
    """A size evenly between two bounds."""

    def change(rng: Generator, parts: Parts) -> None:
        setattr(parts, name, float(rng.uniform(low, high)))

    return change


def _one_of(*ways: tuple[float, Change]) -> Change:
    def change(rng: Generator, parts: Parts) -> None:
        weights = [w for w, _ in ways]
        place = int(rng.choice(len(ways), p=[w / sum(weights) for w in weights]))
        ways[place][1](rng, parts)

    return change


def _all_of(*changes: Change) -> Change:
    def change(rng: Generator, parts: Parts) -> None:
        for one in changes:
            one(rng, parts)

    return change


FAULTS: Mapping[str, Fault] = {
    "line-power-off": Fault(2.5, _set(line=False), away=0.02),
    "low-voltage-open": Fault(
        6.5,
        _one_of((5, _set(transformer=False)), (6, _set(fuse=False)), (2, _set(door=False))),
        {"after-new-equipment": 0.22, "after-gas-work": 0.01},
        away=0.04,
    ),
    "thermostat-fault": Fault(
        5.5,
        _set(thermostat=False),
        {"happens-intermittently": 0.45, "thermostat-reads-off": 0.25, "call-drops": 0.5, "thermostat-in-stream": 0.1},
        away=0.3,
    ),
    "limit-weak": Fault(2.5, _set(limit=False), {"happens-intermittently": 0.2}, away=0.1),
    "limit-wiring": Fault(
        3.0,
        _one_of((7, _set(joint=5e8)), (2, _size("joint", 420, 5000)), (1, _size("joint", 15, 200))),
        {"limit-wire-poor": 0.78, "happens-intermittently": 0.55},
        away=0.28,
    ),
    "other-safety-open": Fault(
        3.5, _one_of((6, _set(rollout=False)), (4, _set(auxiliary=False))), {"scorch-at-burner": 0.25}, away=0.05
    ),
    "board-false-limit": Fault(1.6, _set(sees_string=False), {"happens-intermittently": 0.5}, away=0.3),
    "board-failed": Fault(
        5.5,
        _one_of(
            (4, _set(inducer_relay=False)),
            (3, _set(igniter_relay=False)),
            (3, _set(valve_relay=False)),
            (1.5, _set(sees_flame=False)),
        ),
        {"happens-intermittently": 0.35, "board-output-missing": 0.8},
        away=0.18,
    ),
    "igniter-open": Fault(14, _one_of((9, _set(igniter=False)), (1, _size("igniter_tired", 0.3, 0.9))), {}, away=0.04),
    "igniter-no-supply": Fault(
        3.5, _set(igniter_relay=False), {"happens-intermittently": 0.3, "board-output-missing": 0.45}, away=0.18
    ),
    "gas-supply-low": Fault(
        8,
        _one_of((4, _set(cock=False)), (5, _size("pipe_worse", 4, 18)), (2, _size("street", 0.15, 0.7))),
        {"in-wind-snow-or-cold": 0.25, "after-gas-work": 0.25, "bang-or-rumble": 0.15},
        away=0.1,
    ),
    "gas-valve-no-open": Fault(5, _set(valve=False), {"happens-intermittently": 0.2}, away=0.1),
    "manifold-low": Fault(3, _size("regulator", 0.12, 0.88), {"after-gas-work": 0.25, "bang-or-rumble": 0.15}),
    "manifold-high": Fault(3, _size("regulator", 1.1, 1.8), {"after-gas-work": 0.4}, harms={"hx-breach": 0.08}),
    "orifice-oversize": Fault(
        4,
        _size("orifice", 1.05, 1.38),
        {"orifice-not-as-plate": 0.93, "after-gas-work": 0.45, "no-conversion-label": 0.3},
        harms={"hx-breach": 0.1, "limit-weak": 0.06},
    ),
    "regulator-high": Fault(
        1.2, _all_of(_size("street", 1.6, 2.2), _size("regulator", 1.0, 1.45)), {"after-gas-work": 0.35}
    ),
    "burner-dirty": Fault(
        9,
        _size("ports", 0.18, 0.9),
        {"burner-dirty": 0.88, "bang-or-rumble": 0.45},
        harms={"other-safety-open": 0.09, "rod-dirty": 0.15},
    ),
    "rod-dirty": Fault(
        11,
        _one_of((9, _size("film", 0.3, 3.2)), (1, _set(rod_cracked=True))),
        {"rod-dirty": 0.88, "happens-intermittently": 0.25},
        away=0.03,
    ),
    "ground-poor": Fault(
        6,
        _one_of((7, _size("bond_ohms", 0.3, 12)), (2, _set(swapped=True))),
        {"happens-intermittently": 0.35, "after-new-equipment": 0.2},
        away=0.1,
    ),
    "inducer-weak": Fault(
        8,
        _one_of((7, _size("bearing", 0.5, 0.95)), (4, _set(bearing=0.0))),
        {"screech-or-scrape": 0.45, "happens-intermittently": 0.25},
        away=0.09,
    ),
    "vent-blocked": Fault(
        9,
        _one_of(
            (6, _all_of(_size("vent_open", 0.1, 0.75), _size("spill", 0.0, 0.15))), (3, _size("intake_open", 0.1, 0.7))
        ),
        {"vent-end-blocked": 0.85, "in-wind-snow-or-cold": 0.5},
        away=0.13,
        harms={"other-safety-open": 0.12, "burner-dirty": 0.08},
    ),
    "vent-wrong": Fault(
        5,
        _one_of((1, _size("vent_open", 0.4, 0.8)), (1, _all_of(_size("vent_open", 0.6, 0.95), _size("sag", 0.2, 0.8)))),
        {"vent-slope-wrong": 0.88, "after-new-equipment": 0.35, "gurgle-in-drain": 0.25, "water-at-furnace": 0.25},
        away=0.05,
        harms={"inducer-weak": 0.1},
    ),
    "condensate-blocked": Fault(
        17,
        _one_of((8, _size("drain", 0.02, 0.55)), (1.5, _all_of(_size("drain", 0.02, 0.4), _set(float_switch=False)))),
        {"trap-blocked": 0.9, "water-at-furnace": 0.5, "gurgle-in-drain": 0.4, "water-on-electrics": 0.06},
        away=0.06,
        harms={"inducer-weak": 0.12, "burner-dirty": 0.1, "ps-or-hose": 0.1, "board-failed": 0.04},
        fits=lambda f: f.condensing,
    ),
    "ps-or-hose": Fault(
        8.5,
        _one_of(
            (4, _size("hose", 0.0, 0.85)),
            (3, _size("switch_point", 1.15, 2.0)),
            (3, _set(switch_dead=True)),
            (1, _set(stuck_closed=True)),
        ),
        {"happens-intermittently": 0.2},
        away=0.08,
    ),
    "comb-air-starved": Fault(
        10,
        _size("air", 0.4, 0.9),
        {"after-house-change": 0.3, "co-keeps-climbing": 0.2, "better-with-door-to-furnace-open": 0.6},
        away=0.12,
        harms={"burner-dirty": 0.1},
    ),
    "hx-breach": Fault(
        9, _size("crack", 0.04, 0.45), {"crack-seen": 0.75, "scorch-at-burner": 0.1}, harms={"other-safety-open": 0.1}
    ),
    "spillage": Fault(
        12,
        _size("spill", 0.03, 0.4),
        {"after-house-change": 0.25, "return-joint-open": 0.25, "spillage-seen": 0.8},
        away=0.12,
        fits=lambda f: not f.condensing,
    ),
    "gas-leak": Fault(3.5, _size("leak", 0.4, 3.0), {"after-gas-work": 0.25}),
}

#: Finding -> chance that it is there, or taken to be there, for a reason of no account; not named: 0.008.
BY_CHANCE: Mapping[str, float] = {
    "rod-dirty": 0.22,
    "burner-dirty": 0.1,
    "vent-slope-wrong": 0.07,
    "hose-or-port-bad": 0.04,
    "trap-blocked": 0.03,
    "water-at-furnace": 0.05,
    "happens-intermittently": 0.18,
    "in-wind-snow-or-cold": 0.1,
    "after-new-equipment": 0.06,
    "after-house-change": 0.06,
    "after-gas-work": 0.02,
    "flame-poor": 0.03,
    "limit-wire-poor": 0.03,
    "screech-or-scrape": 0.05,
    "gurgle-in-drain": 0.04,
    "bang-or-rumble": 0.05,
    "thermostat-in-stream": 0.05,
    "thermostat-reads-off": 0.07,
    "filter-dirty": 0.4,
    "filter-fine-and-thin": 0.3,
    "registers-closed": 0.2,
    "return-joint-open": 0.08,
    "on-morning-recovery": 0.15,
    "rust-under-flue-collar": 0.05,
    "wheel-dirty": 0.2,
    "setting-low": 0.12,
}
