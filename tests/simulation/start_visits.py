"""What a technician writes down on a call for a fire that does not start or does not stay, or for bad air.

`StartVisit` does tests of the knowledge by their ids, in the words of `case.yml`.  What a test can show ends where the
start ends: no volts at an igniter that the sequence never comes to, no flame current without a flame.  `visit_of` does
a usual, patchy set of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from causebook.knowledge.model import Knowledge

from .start import AIR, LEAST_MANIFOLD, Stage, start
from .start_calls import StartCall
from .start_faults import BY_CHANCE, FAULTS, SELDOM
from .visit import Visit

CONTROL = 25.5
"""Control voltage [V]."""
STATED = frozenset(
    {
        "control-volts-missing",
        "no-line-volts",
        "no-call-at-board",
        "igniter-open-circuit",
        "igniter-not-fed",
        "valve-commanded-no-gas",
        "switch-open-with-suction",
        "inducer-slow",
    }
)
"""Findings worked out from readings that a technician also states."""
UNUSED = frozenset(
    {
        "limit-opened-while-watched",
        "burner-off-with-blower-on",
        "trip-after-call",
        "blower-late",
        "registers-opened-trip-stops",
        "limit-fault-stored",
    }
)
"""Of another complaint, or written by the test itself."""
DEVICES = {"auxiliary-limit": 0.3, "rollout-switch": 0.5, "vent-switch": 0.2}
"""Which other device of the limit's string is the open one -> how often."""
BROKEN_ROD = 0.12
"""Share of the bad rods that no cleaning mends."""
HAPPENS_FROM: Mapping[str, Stage] = {
    "igniter-not-fed": Stage.IGNITER,
    "valve-commanded-no-gas": Stage.GAS,
    "switch-closed-at-rest": Stage.SWITCH_AT_REST,
    "switch-open-with-suction": Stage.SUCTION,
    "inducer-slow": Stage.SUCTION,
    "board-loses-limit": Stage.STRING,
    "bang-or-rumble": Stage.LIGHT,
    "flame-poor": Stage.LIGHT,
    "flame-outside-burner-box": Stage.LIGHT,
    "co-keeps-climbing": Stage.SUCTION_IN_RUN,
    "spillage-seen": Stage.SUCTION_IN_RUN,
    "better-with-door-to-furnace-open": Stage.SUCTION_IN_RUN,
    "gurgle-in-drain": Stage.SUCTION,
}
"""Finding -> stage that a start must come to before anybody can look for it."""

Reads = dict[str, str]


class StartVisit(Visit):
    """One visit for a start that fails or burns foul, as far as it has gone."""

    call: StartCall

    def prepare(self) -> None:
        self.furnace, self.now = self.call.furnace, self.call.as_read
        self.device = str(self.rng.choice(list(DEVICES), p=list(DEVICES.values())))
        self.mends = not self._happens(BROKEN_ROD)
        self.at_rest = self._gas_at_rest()
        self._look()

    def _look(self) -> None:
        """Start it as it now stands, and what follows of that for eyes and meters."""
        now = self.now
        self.at = at = start(self.furnace, now)
        self.flame_stays = at.stage > Stage.SENSE or (
            at.stage is Stage.SENSE and now.sees_flame > 0.5 and at.current >= self.furnace.flame_least
        )
        outputs = {
            Stage.SUCTION: now.inducer_fed,
            Stage.IGNITER: self._board("igniter_fed"),
            Stage.GAS: now.valve_fed,
            Stage.SENSE: now.sees_flame,
        }
        self.follows: dict[str, float] = {
            "nothing-starts": at.stage in (Stage.POWER, Stage.CALL),
            "inducer-stays-still": at.stage in (Stage.STRING, Stage.SWITCH_AT_REST)
            or (at.stage is Stage.SUCTION and now.inducer_fed < 0.5),
            "no-ignition-after-inducer": at.stage is Stage.IGNITER
            or (at.stage is Stage.SUCTION and now.inducer_fed > 0.5),
            "no-flame-after-ignition": at.stage in (Stage.GAS, Stage.LIGHT),
            "flame-drops-out": at.stage is Stage.SENSE,
            "no-line-volts": now.line < 0.5,
            "control-volts-missing": min(now.line, now.transformer, now.fuse) < 0.5,
            "no-call-at-board": now.call < 0.5,
            "board-loses-limit": now.sees_limit < 0.5,
            "rollout-switch-open": now.safety < 0.5 and self.device == "rollout-switch",
            "board-output-missing": outputs.get(at.stage, 1.0) < 0.5,
            "switch-closed-at-rest": now.switch == 0,
            "switch-open-with-suction": at.stage is Stage.SUCTION and at.at_switch > 1.1 * self.furnace.closes,
            "inducer-slow": 0.88 * ("inducer-weak" in self.call.sizes and now.inducer_fed > 0),
            "igniter-open-circuit": now.igniter < 0.5,
            "igniter-not-fed": now.igniter_fed < 0.5,
            "valve-commanded-no-gas": now.valve < 0.5 <= now.valve_fed and at.gas > 3,
            "flame-poor": min(0.9, 2 * max(0.0, 0.9 - at.flame)),
            "flame-moves-when-blower-starts": min(0.92, 6 * now.breach),
            "flame-outside-burner-box": 0.3 * (at.flame < 0.45),
            "spillage-seen": min(0.92, 10 * max(0.0, now.spills - 0.03)),
            "better-with-door-to-furnace-open": min(0.9, 5 * (1 - now.air)),
            "gas-smell": max(0.92 * (now.leaks > 1), 0.25 * (at.stage is Stage.LIGHT)),
            "co-alarm-sounded": 0.75 * (at.in_rooms > 30) or 0.3 * (at.in_rooms > 9),
            "people-ill": 0.3 * (at.in_rooms > 30),
        }
        if "ps-or-hose" in self.call.sizes:
            self.follows["hose-or-port-bad"] = 0.82 * (now.hose < 0.9)

    def _board(self, output: str) -> float:
        """Is this output of the board itself alive?"""
        return self.call.sizes.get("board-failed", {}).get(output, 1.0) if "board-failed" not in self.call.away else 1.0

    def _gas_at_rest(self) -> float:
        """Of a pipe too thin nothing is missing at rest, of a cock shut all is."""
        low = self.now.inlet < 0.1
        return 0.1 if low else (self.furnace.inlet + float(self.rng.uniform(0.2, 0.7))) * max(self.now.inlet, 1.0)

    def chance_of(self, finding: str) -> float:
        silent = (1 - BY_CHANCE.get(finding, SELDOM)) * (1 - self.follows.get(finding, 0.0))
        for fault in self.call.faults:
            silent *= 1 - FAULTS[fault].seen.get(finding, 0.0)
        return 1 - silent

    def looks_for(self, finding: str) -> bool:
        known = self.knowledge.findings[finding]
        if finding in UNUSED or (known.computed and finding not in STATED):
            return False
        if finding == "flame-moves-when-blower-starts":
            return self.flame_stays
        return self.at.stage >= HAPPENS_FROM.get(finding, Stage.POWER)

    # ------------------------------------------------------------ errors

    def volts(self, true: float) -> str:
        return f"{abs(self._read(true, 0.01, 0.06, 8)):.1f} V"

    def gas(self, true: float) -> str:
        return f"{max(self._read(true, 0.01, 0.04, 1.0), 0.0):.2f} inH2O"

    def suction(self, true: float) -> str:
        return f"{-max(self._read(true, 0.02, 0.01, 0.25), 0.0):.2f} inH2O"

    def amperes(self, true: float) -> str:
        return f"{max(self._read(true, 0.03, 0.05, 0.8), 0.0):.1f} µA"

    def ppm(self, true: float, share: float = 0.05) -> str:
        return f"{max(self._read(true, share, 1.5, 40), 0.0):.0f} ppm"

    def percent(self, true: float) -> str:
        return f"{min(max(self._read(true, 0.0, 0.2, 2.0), 0.0), AIR):.1f} %"

    # ------------------------------------------------------------ tests

    def _arrive_with_co_meter(self, reads: Reads, seen: Reads, extra: dict[str, Any]) -> None:
        reads["co-outdoors"] = f"{self.rng.integers(0, 2)} ppm"
        # What the last call left in the rooms.
        reads["co-indoors"] = self.ppm(self.at.in_rooms * float(self.rng.uniform(0.4, 1.1)))

    def _read_fault_memory(self, reads: Reads, seen: Reads, extra: dict[str, Any]) -> None:
        came = {"limit-wiring", "other-safety-open", "board-false-limit"} & self.call.faults
        seen["limit-fault-stored"] = "yes" if self._happens(0.92 if came else 0.04) else "no"

    def _first_fire(self, reads: Reads, seen: Reads, extra: dict[str, Any]) -> None:
        if not self.at.runs:
            return
        at = self.at
        if self._happens(0.6):
            # One cell a minute apart: its calibration is common to both.
            cell = 1 + 0.05 * float(self.rng.standard_normal())
            for name, oxygen, monoxide in (
                ("before", at.oxygen, at.monoxide),
                ("after", at.oxygen_blown, at.monoxide_blown),
            ):
                reads[f"oxygen-in-flue-{name}-blower"] = self.percent(oxygen)
                reads[f"co-in-flue-{name}-blower"] = self.ppm(cell * monoxide, 0.02)
        else:
            self._steady_flue(reads)

    def _steady_flue(self, reads: Reads) -> None:
        reads["oxygen-in-flue"] = self.percent(self.at.oxygen_blown)
        reads["co-in-flue"] = self.ppm(self.at.monoxide_blown)

    def _combustion_air_test(self, reads: Reads, seen: Reads, extra: dict[str, Any]) -> None:
        if self.at.runs:
            self._steady_flue(reads)

    def _spillage_test(self, reads: Reads, seen: Reads, extra: dict[str, Any]) -> None:
        if self.at.runs:
            reads["co-indoors"] = self.ppm(self.at.in_rooms)

    def _clock_gas(self, reads: Reads, seen: Reads, extra: dict[str, Any]) -> None:
        if self.at.runs:
            true = 2.0 * 1030 * 3600 / (self.furnace.plate_input * max(self.at.richness, 0.3))
            reads["meter-time"] = f"{self._read(true, 0.012, 0.3, 0.15 * true):.1f} s"

    def _manifold_test(self, reads: Reads, seen: Reads, extra: dict[str, Any]) -> None:
        reads["gas-inlet-at-rest"] = self.gas(self.at_rest)
        if self.at.stage >= Stage.GAS:
            reads["manifold"] = self.gas(self.at.manifold)
            # Without a flame of its own the furnace takes nothing out of the pipe.
            reads["gas-inlet-all-on"] = self.gas(self.at.gas if self.at.manifold >= LEAST_MANIFOLD else self.at_rest)

    def _gas_valve_test(self, reads: Reads, seen: Reads, extra: dict[str, Any]) -> None:
        if self.at.stage >= Stage.GAS:
            reads["volts-at-gas-valve"] = self.volts(CONTROL * self.now.valve_fed)
            reads["gas-inlet"] = self.gas(min(self.at.gas, self.at_rest))
            reads["manifold"] = self.gas(self.at.manifold)

    def _control_power_test(self, reads: Reads, seen: Reads, extra: dict[str, Any]) -> None:
        now = self.now
        secondary = CONTROL * min(now.line, now.transformer)
        reads["line-volts"] = self.volts(118 * now.line)
        reads["secondary-volts"] = self.volts(secondary)
        reads["volts-across-fuse"] = self.volts(secondary * (1 - now.fuse))
        reads["call-volts"] = self.volts(secondary * now.fuse * now.call)

    def _limit_string_test(self, reads: Reads, seen: Reads, extra: dict[str, Any]) -> None:
        if self.at.stage < Stage.STRING:
            return
        now = self.now
        reads["volts-across-limit"] = self.volts(0.1 if now.joint > 0.5 else CONTROL)
        for device in DEVICES:
            is_open = now.safety < 0.5 and device == self.device
            # Behind an open joint the other devices have nothing across them.
            reads[f"volts-across-{device}"] = self.volts(CONTROL if is_open and now.joint > 0.5 else 0.1)
        self._across_switch(reads)

    def _across_switch(self, reads: Reads) -> None:
        if self.at.stage >= Stage.SUCTION:
            reads["volts-across-pressure-switch"] = self.volts(CONTROL if self.at.stage is Stage.SUCTION else 0.1)

    def _suction_log(self, reads: Reads, seen: Reads, extra: dict[str, Any]) -> None:
        if self.at.stage >= Stage.SUCTION:
            reads["suction-at-start"] = self.suction(self.at.at_switch)
            self._across_switch(reads)
        if self.at.runs:
            reads["suction-at-end"] = self.suction(self.at.kept)

    def _inducer_test(self, reads: Reads, seen: Reads, extra: dict[str, Any]) -> None:
        if self.at.stage >= Stage.SUCTION:
            reads["inducer-volts"] = self.volts(118 * self.now.inducer_fed)

    def _igniter_test(self, reads: Reads, seen: Reads, extra: dict[str, Any]) -> None:
        if self.now.igniter > 0.5:
            reads["igniter-resistance"] = f"{self._read(55, 0.03, 1, 20):.0f} ohm"
        if self.at.stage >= Stage.IGNITER:
            reads["igniter-volts"] = self.volts(117 * self.now.igniter_fed)

    def _bond_test(self, reads: Reads, seen: Reads, extra: dict[str, Any]) -> None:
        if self.at.stage >= Stage.SENSE:
            reads["neutral-to-burner"] = self.volts(0.1 + 6.5 * (1 - self.now.bond))

    def _flame_current_test(self, reads: Reads, seen: Reads, extra: dict[str, Any]) -> None:
        if self.at.stage < Stage.SENSE:
            return
        first = {"flame-current-at-start": self.amperes(self.at.current), "flame-current": self._steady_current()}
        self.step("Microammeter in series with the flame rod", first, {}, {}, 5)
        self.step("Cleaned the flame rod", {}, {}, {"changed": {"flame rod": "cleaned"}}, 4)
        if self.mends:
            self.now = replace(self.now, rod=1.0)
        self._look()
        reads["flame-current"] = self._steady_current()

    def _steady_current(self) -> str:
        return self.amperes(self.at.blown if self.flame_stays else self.at.current)

    # ------------------------------------------------------------ the case file

    def file(self) -> dict[str, Any]:
        furnace = self.furnace
        plate = {
            "kind": "condensing" if furnace.condensing else "non-condensing",
            "made": furnace.made,
            "stages": 1,
            "input": f"{furnace.plate_input:.0f} Btu/h",
            "output": f"{furnace.plate_input * (0.95 if furnace.condensing else 0.8):.0f} Btu/h",
            "rise": "35 to 65 degF",
            "manifold": "3.5 inH2O",
            "inlet range": "4.5 to 10.5 inH2O",
            "limit": {"opens": "190 degF"},
            "pressure switch": {"closes": f"-{furnace.closes:.2f} inH2O"},
            "flame current minimum": f"{furnace.flame_least} µA",
            "flame current usual": f"{furnace.flame_usual:.1f} µA",
        }
        steps = [{k: v for k, v in s.items() if v} for s in self.steps]
        return {
            "title": f"Simulated call {self.call.seed}",
            "complaint": {"family": self.call.family, "words": WORDS[self.call.family]},
            "site": {"heating value": "1030 Btu/ft^3", "meter dial": "2 ft^3"},
            "furnace": plate,
            "visits": [{"date": "2024-01-15", "steps": steps or [{"do": "Took the complaint"}]}],
        }


WORDS: Mapping[str, str] = {
    "no-ignition": "It does not light.",
    "flame-lost": "It lights and goes out again.",
    "pressure-switch": "It hums, clicks and gives up.",
    "co-odour": "It smells, or an alarm has sounded.",
}
USUAL: Mapping[str, float] = {
    "arrive-with-co-meter": 1.0,
    "ask": 0.9,
    "look-round": 0.85,
    "read-fault-memory": 0.8,
    "listen": 0.5,
    "watch-start": 0.9,
    "first-fire": 0.9,
}
"""Test -> chance that a visit begins with it."""
STOPS_AT: Mapping[Stage, Mapping[str, float]] = {
    Stage.POWER: {"control-power-test": 0.85, "limit-wires-look": 0.2, "board-test": 0.2},
    Stage.CALL: {"control-power-test": 0.8, "thermostat-test": 0.45, "board-test": 0.4},
    Stage.STRING: {"limit-string-test": 0.75, "limit-wires-look": 0.5, "control-power-test": 0.5, "board-test": 0.4},
    Stage.SWITCH_AT_REST: {"suction-log": 0.6, "hose-look": 0.4, "board-test": 0.3},
    Stage.SUCTION: {
        "suction-log": 0.65,
        "hose-look": 0.5,
        "look-outdoors": 0.55,
        "inducer-test": 0.5,
        "vent-survey": 0.35,
        "pour-test": 0.45,
        "board-test": 0.25,
        "limit-string-test": 0.3,
    },
    Stage.IGNITER: {"igniter-test": 0.8, "board-test": 0.4, "control-power-test": 0.3},
    Stage.GAS: {"gas-valve-test": 0.7, "manifold-test": 0.6, "board-test": 0.3},
    Stage.LIGHT: {"flame-look": 0.6, "manifold-test": 0.65, "gas-valve-test": 0.4, "look-outdoors": 0.2},
    Stage.SENSE: {
        "bond-test": 0.4,
        "flame-current-test": 0.7,
        "flame-look": 0.6,
        "manifold-test": 0.35,
        "board-test": 0.2,
        "look-outdoors": 0.2,
    },
    Stage.SUCTION_IN_RUN: {
        "suction-log": 0.75,
        "pour-test": 0.5,
        "vent-survey": 0.4,
        "look-outdoors": 0.5,
        "inducer-test": 0.35,
        "hose-look": 0.4,
    },
}
"""Where a start stops -> test -> chance that it is done then."""
TOLD: Mapping[str, Mapping[str, float]] = {
    "co-odour": {
        "spillage-test": 0.5,
        "combustion-air-test": 0.4,
        "gas-leak-search": 0.5,
        "heat-exchanger-look": 0.3,
        "clock-gas": 0.5,
        "manifold-test": 0.45,
        "flame-look": 0.4,
        "look-outdoors": 0.6,
        "vent-survey": 0.3,
        "pull-orifice": 0.15,
    },
    "no-ignition": {
        "igniter-test": 0.5,
        "board-test": 0.3,
        "limit-wires-look": 0.3,
        "thermostat-test": 0.3,
        "control-power-test": 0.4,
        "gas-valve-test": 0.2,
        "leave-logger": 0.3,
    },
    "flame-lost": {"flame-current-test": 0.7, "bond-test": 0.4, "flame-look": 0.5, "leave-logger": 0.15},
    "pressure-switch": {
        "suction-log": 0.6,
        "pour-test": 0.35,
        "look-outdoors": 0.45,
        "vent-survey": 0.3,
        "hose-look": 0.35,
        "inducer-test": 0.3,
        "leave-logger": 0.15,
    },
}
"""Complaint -> the same where the furnace runs while somebody is there."""
ANYHOW = 0.06
"""Chance of any of these when nothing points there."""
READING_LEFT_OUT, LOOK_LEFT_OUT = 0.12, 0.5
"""Chance that a reading is left out although its test is done; that a look is, or is not written down."""
GONE_FOR = frozenset(
    {
        "igniter-open-circuit",
        "board-output-missing",
        "board-loses-limit",
        "switch-closed-at-rest",
        "inducer-slow",
        "vent-end-blocked",
        "trap-blocked",
        "hose-or-port-bad",
        "vent-slope-wrong",
        "spillage-seen",
        "crack-seen",
        "orifice-not-as-plate",
        "better-with-door-to-furnace-open",
        "nothing-starts",
        "inducer-stays-still",
        "no-ignition-after-inducer",
        "no-flame-after-ignition",
        "flame-drops-out",
    }
)
"""What a test is done for and no number tells: left out as seldom as a reading."""


def visit_of(call: StartCall, knowledge: Knowledge) -> StartVisit:
    """A patchy visit: some first tests, then those for where the start stops, with lapses everywhere; more than half of
    what could have been read is missing, and not by lot."""
    rng = np.random.default_rng([call.seed, 9])
    visit = StartVisit(
        call,
        knowledge,
        lambda what: bool(
            rng.random() < (LOOK_LEFT_OUT if what in knowledge.findings.keys() - GONE_FOR else READING_LEFT_OUT)
        ),
    )
    stops = dict(STOPS_AT.get(visit.at.stage, TOLD[call.family]))
    if call.family == "co-odour":
        stops = {**TOLD["co-odour"], **stops}
    others = dict.fromkeys(t for tests in (*STOPS_AT.values(), *TOLD.values()) for t in tests if t not in stops)
    for test, chance in {**USUAL, **stops, **dict.fromkeys(others, ANYHOW)}.items():
        if rng.random() < chance:
            visit.test(test)
        else:
            visit.left_out += len(knowledge.tests[test].reveals)
    return visit
