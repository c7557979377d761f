"""What a technician writes down on a call for a start that fails or burns foul.

`StartVisit` does tests of the knowledge by their ids, in the words of `case.yml`; what a test can show ends where the
start ends.  `visit_of` walks a route as a technician would, by what he has just seen: he tires (the longer he is there,
the more he leaves out), goes home when he thinks that he has it, and stops where there is danger.  He also reads what
no rule uses.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from causebook.knowledge.model import Knowledge

from .start import OXYGEN, End, Seen, follow
from .start_calls import StartCall, joined
from .start_faults import BY_CHANCE, FAULTS
from .visit import Visit

SELDOM = 0.008
STATED = frozenset({"igniter-open-circuit", "inducer-slow", "no-call-at-board", "control-volts-missing"})
"""Findings that a reading tells and that a technician also states."""
FINISHED = frozenset(
    {"nothing-starts", "inducer-stays-still", "no-ignition-after-inducer", "no-flame-after-ignition", "flame-drops-out"}
)
UNUSED = frozenset(
    {"limit-opened-while-watched", "burner-off-with-blower-on", "trip-after-call", "blower-late", "limit-fault-stored"}
)
MEMORY: Mapping[End, Mapping[str, float]] = {
    End.BROKEN_STRING: {"Memory: limit or roll-out open": 0.85},
    End.MADE_AT_REST: {"Memory: pressure switch closed before the start": 0.8},
    End.INDUCER_STILL: {"Memory: pressure switch open": 0.6},
    End.NO_SUCTION: {"Memory: pressure switch open": 0.85},
    End.NO_HEAT_AT_IGNITER: {"Memory: ignition failed, retries used up": 0.8},
    End.NO_GAS: {"Memory: ignition failed, retries used up": 0.85},
    End.NOT_LIT: {"Memory: ignition failed, retries used up": 0.85},
    End.UNSEEN: {"Memory: flame lost": 0.6, "Memory: ignition failed, retries used up": 0.3},
    End.LOST_IN_RUN: {"Memory: pressure switch open": 0.6, "Memory: flame lost": 0.2},
}
STRAY = 0.06
"""Chance of an old message that has nothing to do with it."""
WORDS: Mapping[str, tuple[str, ...]] = {
    "no-ignition": ("No heat since last night.", "It tries to start and gives up."),
    "flame-lost": ("It lights and goes out again.",),
    "pressure-switch": ("It hums, clicks and gives up.",),
    "co-odor": ("It smells, or an alarm has sounded.",),
}


class StartVisit(Visit):
    """One visit for a start that fails or burns foul, as far as it has gone."""

    call: StartCall

    def prepare(self) -> None:
        self.furnace, self.parts = self.call.furnace, self.call.as_read
        self.at = follow(self.furnace, self.parts)
        self.joins = self._happens(0.4)
        self.cleaned = False

    # ------------------------------------------------------------ looks

    def chance_of(self, finding: str) -> float:
        silent = (1 - BY_CHANCE.get(finding, SELDOM)) * (1 - self._follows(finding))
        for fault in self.call.faults:
            silent *= 1 - FAULTS[fault].seen.get(finding, 0.0)
        return 1 - silent

    def looks_for(self, finding: str) -> bool:
        known = self.knowledge.findings[finding]
        if finding in UNUSED or ((known.computed or known.when) and finding not in STATED):
            return False
        needs = {
            "flame-moves-when-blower-starts": End.LOST_IN_RUN,
            "co-keeps-climbing": End.LOST_IN_RUN,
            "spillage-seen": End.LOST_IN_RUN,
            "better-with-door-to-furnace-open": End.LOST_IN_RUN,
            "flame-poor": End.UNSEEN,
            "flame-outside-burner-box": End.NOT_LIT,
            "bang-or-rumble": End.NOT_LIT,
            "inducer-slow": End.NO_SUCTION,
            "gurgle-in-drain": End.NO_SUCTION,
        }
        return self.at.end >= needs.get(finding, End.DEAD)

    def _follows(self, finding: str) -> float:
        """Chance of what the start itself shows."""
        at, p, end = self.at, self.parts, self.at.end
        still = end in (End.MADE_AT_REST, End.INDUCER_STILL) or (
            end is End.BROKEN_STRING and self.furnace.holds_inducer
        )
        running = end is End.BROKEN_STRING and not self.furnace.holds_inducer
        return float(
            {
                "nothing-starts": (end in (End.DEAD, End.UNCALLED)) or 0.2 * still,
                "inducer-stays-still": 0.85 * still + 0.1 * (end is End.UNCALLED),
                "no-ignition-after-inducer": end in (End.NO_SUCTION, End.NO_HEAT_AT_IGNITER) or running,
                "no-flame-after-ignition": end in (End.NO_GAS, End.NOT_LIT),
                "flame-drops-out": end is End.UNSEEN,
                "control-volts-missing": at.volts["secondary-volts"] < 12 or not p.fuse or not p.door,
                "no-call-at-board": at.volts["call-volts"] < 12,
                "rollout-switch-open": not p.rollout,
                "board-loses-limit": 0.85 * (not p.sees_string),
                "switch-closed-at-rest": p.stuck_closed,
                "inducer-slow": 0.85 * (p.bearing < 0.92 and at.inducer_fed),
                "igniter-open-circuit": 0.97 * (not p.igniter),
                "hose-or-port-bad": 0.8 * (p.hose < 0.9),
                "flame-poor": min(0.9, 2 * max(0.0, 0.88 - at.flame)),
                "flame-moves-when-blower-starts": min(0.9, 6 * p.crack),
                "flame-outside-burner-box": 0.25 * (at.flame < 0.4 and at.rich > 0.6),
                "gas-smell": 0.9 * (p.leak > 1) or 0.15 * (end is End.NOT_LIT),
                "co-alarm-sounded": 0.75 * (self.call.whole.rooms > 30) or 0.25 * (self.call.whole.rooms > 9),
                "people-ill": 0.3 * (self.call.whole.rooms > 30),
                "call-drops": 0.5 * (at.volts["call-volts"] < 12),
            }.get(finding, 0.0)
        )

    # ------------------------------------------------------------ meters

    def _volt(self, true: float) -> str:
        ghost = float(abs(self.rng.normal(0, 0.08)))
        return f"{abs(self._read(true, 0.012, 0.0, 9)) + ghost:.1f} V"

    def _water(self, true: float, fixed: float = 0.012) -> str:
        return f"{max(self._read(true, 0.02, fixed, 0.3), 0.0):.2f} inH2O"

    def _suck(self, true: float) -> str:
        return f"-{self._water(true)}"

    def _micro(self, true: float) -> str:
        return f"{max(self._read(true, 0.04, 0.04, 0.9), 0.0):.1f} µA"

    def _parts(self, true: float) -> str:
        return f"{max(self._read(true, 0.06, 2, 60), 0.0):.0f} ppm"

    def _percent(self, true: float) -> str:
        return f"{min(max(self._read(true, 0.0, 0.25, 2.5), 0.0), OXYGEN):.1f} %"

    def _across(self, reads: dict[str, str], *devices: str) -> None:
        for device in devices:
            if self._happens(0.75):
                reads[f"volts-across-{device}"] = self._volt(self.at.volts[f"volts-across-{device}"])
            for side in ("before", "after"):
                if self._happens(0.3):
                    name = f"volts-to-common-{side}-{device}"
                    reads[name] = self._volt(self.at.volts[name])

    # ------------------------------------------------------------ tests

    def _arrive_with_co_meter(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        reads["co-outdoors"] = f"{self.rng.integers(0, 2)} ppm"
        reads["co-indoors"] = self._parts(self.call.whole.rooms * float(self.rng.uniform(0.3, 1.1)))

    def _read_fault_memory(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        if self.at.end is End.DEAD:
            return
        whole = self.call.whole
        texts = [text for text, chance in MEMORY.get(whole.end, {}).items() if self._happens(chance)]
        if self._happens(STRAY):
            texts.append(
                "Memory: pressure switch open" if self._happens(0.5) else "Memory: ignition failed, retries used up"
            )
        extra["told"] = texts[0] if texts else "Memory: empty"
        seen["limit-fault-stored"] = "yes" if texts and "limit" in texts[0] else "no"

    def _control_power_test(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        v = self.at.volts
        reads["line-volts"] = self._volt(119 * self.parts.line)
        reads["secondary-volts"] = self._volt(v["secondary-volts"])
        reads["call-volts"] = self._volt(v["call-volts"])
        if self._happens(0.5):
            reads["volts-to-common-after-fuse"] = self._volt(v["volts-to-common-after-fuse"])
        else:
            reads["volts-across-fuse"] = self._volt(v["volts-across-fuse"])
        if self._happens(0.3):
            reads["volts-across-door-switch"] = self._volt(v["volts-across-door-switch"])

    def _limit_string_test(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        self._across(reads, "limit", "auxiliary-limit", "rollout-switch", "pressure-switch")

    def _suction_log(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        at = self.at
        if at.inducer_runs:
            timed = at.end >= End.LOST_IN_RUN or self._happens(0.3)
            reads["suction-at-start" if timed else "suction-at-pressure-switch"] = self._suck(at.suction_first)
            if at.end >= End.LOST_IN_RUN:
                held = math.isnan(at.let_go_after)
                lets_go = self.furnace.opens * self.parts.switch_point
                reads["suction-at-end"] = self._suck(at.suction_last if held else lets_go)
                if not held:
                    reads["pressure-switch-opened-at"] = self._suck(lets_go)
                    reads["switch-opened-after"] = f"{at.let_go_after:.0f} s"
        if at.end is not End.LOST_IN_RUN and at.end >= End.BROKEN_STRING:
            self._across(reads, "pressure-switch")

    def _inducer_test(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        reads["inducer-volts"] = self._volt(119 * self.at.inducer_fed)
        if self.at.inducer_fed:
            reads["inducer-amps"] = f"{abs(self._read(0.9 if self.at.inducer_runs else 2.6, 0.03, 0.03, 1)):.1f} A"

    def _igniter_test(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        if not self.furnace.spark:
            ohms = self.furnace.igniter_ohms / self.parts.igniter_tired if self.parts.igniter else 1e7
            reads["igniter-resistance"] = f"{abs(self._read(ohms, 0.03, 0.5, 8)):.0f} ohm"
        if self.at.end >= End.BROKEN_STRING:
            reads["igniter-volts"] = self._volt(118 * self.at.igniter_fed)

    def _manifold_test(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        at = self.at
        reads["gas-inlet-at-rest"] = self._water(at.inlet_rest, 0.04)
        if at.end >= End.NO_GAS:
            reads["manifold"] = self._water(at.manifold, 0.04)
            reads["gas-inlet"] = self._water(at.inlet_alone if at.manifold > 0.2 else at.inlet_rest, 0.04)
        if self._happens(0.6):
            reads["gas-inlet-all-on"] = self._water(at.inlet_all, 0.05)

    def _gas_valve_test(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        at = self.at
        reads["volts-at-gas-valve"] = self._volt(at.volts["volts-at-gas-valve"])
        if at.end >= End.NO_GAS:
            reads["gas-inlet"] = self._water(at.inlet_alone if at.manifold > 0.2 else at.inlet_rest, 0.04)
            reads["manifold"] = self._water(at.manifold, 0.04)

    def _bond_test(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        if self.at.end >= End.UNSEEN:
            swapped = 40.0 if self.parts.swapped else 0.0
            reads["neutral-to-burner"] = self._volt(0.15 + 9 * (1 - 1 / (1 + self.parts.bond_ohms)) + swapped)

    def _flame_current_test(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        if self.at.end < End.UNSEEN:
            return
        first = {
            "flame-current-at-start": self._micro(self.at.current_first),
            "flame-current": self._micro(self.at.current_later),
        }
        self.step("Microammeter in series with the flame rod", first, {}, {}, 5)
        self.step("Cleaned the flame rod", {}, {}, {"changed": {"flame rod": "cleaned"}}, 4)
        self.parts = joined([self.parts])
        self.parts.film *= 0.1
        self.at = follow(self.furnace, self.parts)
        reads["flame-current"] = self._micro(self.at.current_later)

    def _flue(self, reads: dict[str, str], at: Seen) -> None:
        if self._happens(0.5):
            for name, oxygen, monoxide in (
                ("before", at.oxygen, at.monoxide),
                ("after", at.oxygen_blown, at.monoxide_blown),
            ):
                reads[f"oxygen-in-flue-{name}-blower"] = self._percent(oxygen)
                reads[f"co-in-flue-{name}-blower"] = self._parts(monoxide)
        else:
            reads["oxygen-in-flue"] = self._percent(at.oxygen_blown)
            reads["co-in-flue"] = self._parts(at.monoxide_blown)

    def _first_fire(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        if self.at.end >= End.LOST_IN_RUN:
            self._flue(reads, self.at)
            if self._happens(0.4):
                reads["stack"] = f"{self.rng.normal(130 if self.furnace.condensing else 380, 20):.0f} degF"

    def _combustion_air_test(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        if self.at.end >= End.LOST_IN_RUN:
            self._flue(reads, self.at)

    def _clock_gas(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        if self.at.end >= End.LOST_IN_RUN:
            true = 2.0 * 1030 * 3600 / (self.furnace.btu * max(self.at.rich, 0.3))
            reads["meter-time"] = f"{self._read(true, 0.012, 0.3, 0.15 * true):.1f} s"

    def _pour_test(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        if self.furnace.condensing and self._happens(0.7):
            true = 16 / max(self.parts.drain, 0.03) ** 1.3
            reads["drain-pint-time"] = f"{abs(self._read(true, 0.1, 2, 20)):.0f} s"

    def vent_off(self) -> None:
        """The vent taken off at the furnace for one start."""
        tried = joined([self.parts])
        tried.vent_open, tried.sag = 4.0, 0.0
        at = follow(self.furnace, tried)
        told = "starts" if at.end > max(self.at.end, End.NO_SUCTION) else "no change"
        self.step(
            "Vent taken off at the furnace",
            {"suction-at-pressure-switch": self._suck(at.suction_first)},
            {},
            {"with": {"vent": "disconnected"}, "told": told},
            8,
        )

    def bridged_call(self) -> None:
        """The call made at the board's own terminals."""
        tried = joined([self.parts])
        tried.thermostat = tried.float_switch = True
        at = follow(self.furnace, tried)
        told = "starts" if at.end > max(self.at.end, End.UNCALLED) else "nothing"
        self.step(
            "Call made at the board's heat terminals", {}, {}, {"with": {"thermostat": "bridged"}, "told": told}, 3
        )

    def step(
        self, do: str, reads: Mapping[str, str], seen: Mapping[str, str], extra: Mapping[str, Any], minutes: float
    ) -> None:
        """A step that only tells something is a step too."""
        before = len(self.steps)
        super().step(do, reads, seen, extra, minutes)
        if len(self.steps) == before and extra.get("told"):
            self.steps.append({"do": do, "minutes": round(minutes, 1), "read": {}, "seen": {}, **extra})

    # ------------------------------------------------------------ the case file

    def file(self) -> dict[str, Any]:
        furnace = self.furnace
        words = WORDS[self.call.family]
        plate = {
            "kind": "condensing" if furnace.condensing else "non-condensing",
            "made": furnace.made,
            "stages": 1,
            "input": f"{furnace.btu:.0f} Btu/h",
            "output": f"{furnace.btu * (0.95 if furnace.condensing else 0.8):.0f} Btu/h",
            "manifold": "3.5 inH2O",
            "inlet range": "4.5 to 10.5 inH2O",
            "pressure switch": {"closes": f"-{furnace.closes:.2f} inH2O", "opens": f"-{furnace.opens:.2f} inH2O"},
            "flame current minimum": f"{furnace.flame_least} µA",
        }
        steps = [{k: v for k, v in s.items() if v} for s in self.steps]
        return {
            "title": f"Simulated call {self.call.seed}",
            "complaint": {"family": self.call.family, "words": words[self.call.seed % len(words)]},
            "site": {"heating value": "1030 Btu/ft^3", "meter dial": "2 ft^3"},
            "furnace": plate,
            "visits": [{"date": "2024-01-15", "steps": steps or [{"do": "Took the complaint"}]}],
        }


ROUTES: Mapping[End, tuple[str, ...]] = {
    End.DEAD: ("control-power-test", "bridged", "thermostat-test"),
    End.UNCALLED: ("control-power-test", "bridged", "thermostat-test", "pour-test"),
    End.BROKEN_STRING: ("limit-string-test", "limit-wires-look", "board-test", "suction-log"),
    End.MADE_AT_REST: ("suction-log", "hose-look", "board-test", "inducer-test"),
    End.INDUCER_STILL: ("inducer-test", "board-test", "limit-string-test", "listen"),
    End.NO_SUCTION: (
        "suction-log",
        "hose-look",
        "look-outdoors",
        "inducer-test",
        "pour-test",
        "vent off",
        "vent-survey",
        "limit-string-test",
    ),
    End.NO_HEAT_AT_IGNITER: ("igniter-test", "board-test", "limit-string-test", "control-power-test"),
    End.NO_GAS: ("gas-valve-test", "manifold-test", "board-test"),
    End.NOT_LIT: ("manifold-test", "flame-look", "gas-valve-test", "look-outdoors", "suction-log"),
    End.UNSEEN: ("flame-current-test", "bond-test", "flame-look", "manifold-test", "board-test"),
    End.LOST_IN_RUN: ("suction-log", "pour-test", "first-fire", "vent-survey", "look-outdoors", "flame-current-test"),
    End.WHOLE: ("first-fire", "suction-log", "clock-gas", "flame-look", "flame-current-test", "leave-logger"),
}
FOUL = (
    "first-fire",
    "spillage-test",
    "gas-leak-search",
    "heat-exchanger-look",
    "combustion-air-test",
    "clock-gas",
    "look-outdoors",
    "manifold-test",
)
OTHERS = ("look-round", "listen", "vent-survey", "igniter-test", "control-power-test", "manifold-test", "hose-look")
FULL, SPARSE = 0.85, 0.6
"""Chance that the first test of a route is done, by careful and by hasty technicians; each later one is less likely."""
DANGERS = frozenset(
    {"gas-smell", "crack-seen", "flame-moves-when-blower-starts", "rollout-switch-open", "flame-outside-burner-box"}
)


def visit_of(call: StartCall, knowledge: Knowledge) -> StartVisit:
    """A usual, patchy visit."""
    rng = np.random.default_rng([call.seed, 31])
    care = float(rng.uniform(0.25, 0.75))
    tired = [0.0]

    def leaves_out(what: str) -> bool:
        lapse = 0.12 if what not in knowledge.findings or what in FINISHED else 1 - care
        return bool(rng.random() < min(lapse + tired[0], 0.9))

    visit = StartVisit(call, knowledge, leaves_out)

    def do(test: str) -> bool:
        """Do one; False where it ends the visit."""
        if test == "vent off":
            visit.vent_off()
        elif test == "bridged":
            visit.bridged_call()
        else:
            visit.test(test)
        tired[0] += 0.015
        last = visit.steps[-1] if visit.steps else {"seen": {}, "read": {}}
        foul = float(last["read"].get("co-indoors", "0 ppm").split()[0]) >= 35
        return not foul and not any(last["seen"].get(d) == "yes" for d in DANGERS)

    first = [
        t
        for t, chance in (
            ("ask", 0.85),
            ("read-fault-memory", 0.75),
            ("arrive-with-co-meter", 0.95),
            ("watch-start", 0.92),
        )
        if rng.random() < chance
    ]
    route = list(ROUTES[visit.at.end])
    if call.family == "co-odor":
        route = [*FOUL[: 2 + int(rng.integers(0, 4))], *route]
    chance = SPARSE + (FULL - SPARSE) * care
    for n, test in enumerate(route):
        if rng.random() < chance * 0.93**n:
            first.append(test)
    first += [t for t in OTHERS if t not in first and rng.random() < 0.08]
    done = 0
    for test in first:
        done += 1
        if not do(test):
            break
    undone = {*route, *OTHERS} - set(first[:done])
    visit.left_out += sum(len(knowledge.tests[t].reveals) for t in undone if t in knowledge.tests)
    return visit
