"""What a technician writes down on a call for the high limit.

`AirVisit` does tests of the knowledge by their ids, each as one step of a case file, in the words of `case.yml`.
`visit_of` does a usual, patchy set of them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.random import Generator

from causebook.knowledge.model import Knowledge

from .calls import Call
from .faults import BY_CHANCE, FAULTS
from .visit import Visit
from .world import Condition, Running, run, trips_after, warmed

LABELLED = 0.85
"""Chance that the label of the filter, that of the coil, is written down with its clean drop."""
WATCHED = 18 * 60.0
"""How long one call is watched [s]."""
COMPUTED = frozenset(
    {
        "rise-high",
        "rise-low",
        "rise-ok-at-trip",
        "return-warm",
        "return-cold",
        "airflow-low",
        "static-high",
        "static-low-rise-high",
        "return-drop-high",
        "filter-drop-high",
        "inlet-drop-high",
        "coil-drop-high",
        "supply-drop-high",
        "airflow-below-table",
        "input-high",
        "input-low",
        "manifold-above-plate",
        "manifold-below-plate",
        "gas-inlet-high",
        "gas-inlet-low",
        "limit-opens-low",
        "supply-area-low",
        "capacitor-low",
        "motor-slow",
        "motor-amps-high",
        "motor-amps-low",
        "volts-low-at-motor",
        "limit-drops-volts",
        "filter-out-rise-falls",
        "return-opened-rise-falls-further",
        "supply-opened-rise-falls",
        "opening-changes-nothing",
        "speed-up-brings-range",
        "co-flue-high",
        "co-flue-very-high",
        "oxygen-low",
        "co-in-rooms",
        "oxygen-shifts-at-blower-start",
        "stack-hot",
        "cooling-airflow-low",
        "return-area-low",
        "filter-fine-and-thin",
        "registers-opened-trip-stops",
    }
)
"""Findings that come of readings or of the step itself, not of the eye."""
UNUSED = frozenset(
    {"limit-fault-stored", "limit-opened-while-watched", "burner-off-with-blower-on", "blower-stands-still"}
)


class AirVisit(Visit):
    """One visit for the high limit, as far as it has gone."""

    call: Call

    def prepare(self) -> None:
        self._taps: dict[str, str] = {}
        self.found = run(self.call.house, self.call.condition(as_read=True))
        self.logs = bool(self.rng.random() < 0.5)
        self.table_known = bool(self.rng.random() < 0.92)
        self.fault_stored = self._happens(0.92 if self.call.faults else 0.3)
        opened_cold = any(self._happens(FAULTS[f].watched) for f in sorted(self.call.faults))
        self.trip = trips_after(self.call.house, self.found)
        if self.trip is not None and self.trip > WATCHED:
            self.trip = None
        if opened_cold and self.trip is None:
            self.trip = float(self.rng.uniform(120, 900))

    def chance_of(self, finding: str) -> float:
        silent = 1 - BY_CHANCE.get(finding, 0.01)
        for fault in self.call.faults:
            silent *= 1 - FAULTS[fault].seen.get(finding, 0.0)
        return 1 - silent

    def looks_for(self, finding: str) -> bool:
        return finding not in COMPUTED and finding not in UNUSED

    @property
    def still(self) -> bool:
        """Does the blower stand still, or as good as?  Anybody sees that, and opens no duct then."""
        return self.found.airflow < 0.15 * self.call.house.middle

    # ------------------------------------------------------------ tests

    def _arrive_with_co_meter(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        reads["co-indoors"] = "0 ppm"

    def _read_fault_memory(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        seen["limit-fault-stored"] = "yes" if self.fault_stored else "no"

    def _look_round(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        seen["filter-fine-and-thin"] = self.see("filter-fine-and-thin")
        self._measure_return(reads, seen, extra)

    def _measure_return(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        reads["smallest-return-section"] = self._section("return", "return-undersized", 2.9)

    def _measure_supply(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        reads["smallest-supply-section"] = self._section("supply", "supply-undersized", 2.7)

    def _section(self, side: str, small: str, usual: float) -> str:
        """Area by what the drop of the duct says: a duct that takes much is narrow, but for its elbows."""
        if side not in self.known:
            times = 1.0
            for fault in (small, "furnace-too-big-for-ducts"):
                times *= self.call.sizes.get(fault, {}).get(side, 1.0)
            output = self.call.house.adjusted_input * self.call.house.share / 1000
            area = usual * output / times**0.4 * math.exp(0.22 * float(self.rng.standard_normal()))
            self.known[side] = f"{area:.0f} in^2"
        return self.known[side]

    def _first_fire(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        if "first-fire" in self.done:
            return
        house, at = self.call.house, self.found
        tripped = self.trip is not None
        seen["limit-opened-while-watched"] = "yes" if tripped else "no"
        still = self.still
        seen["burner-off-with-blower-on"] = "yes" if tripped and not still and self._happens(0.9) else "no"
        if still:
            seen["blower-late"] = seen["blower-stands-still"] = "yes"
        # The limit ends the fire before the return gets hotter than it can bear.
        reads["return-air"] = self.degf(min(at.returned, at.opens))
        reads["room-temperature"] = self.degf(house.room, 0.7)
        share = warmed(house, self.trip) if self.trip is not None else 1.0
        if self.logs:
            extra["log"] = self._log(at)
        if self.trip is not None:
            reads["supply-air-at-trip"] = self.degf(at.returned + share * at.rise)
            reads["time-to-trip"] = f"{self.trip:.0f} s"
        else:
            reads["supply-air"] = self.degf(at.returned + at.rise)
        richness = at.input / house.adjusted_input
        oxygen = 8.0 + self.rng.normal(0, 0.8) - 12 * (richness - 1)
        reads["oxygen-in-flue"] = f"{max(oxygen, 0.5):.1f} %"
        reads["co-in-flue"] = f"{max(3.0, self.rng.normal(25, 12) + 350 * max(0, richness - 1.1)):.0f} ppm"

    def _log(self, at: Running) -> dict[str, Any]:
        """Columns of a logger with its own error, one sample in ten seconds."""
        house = self.call.house
        end = self.trip if self.trip is not None else 900.0
        seconds = [float(t) for t in range(0, int(end) + 1, 10)]
        offset = [self.rng.normal(0, 1.2), self.rng.normal(0, 1.2)]
        supply = [
            at.returned + warmed(house, t) * at.rise + offset[0] + 0.3 * self.rng.standard_normal() for t in seconds
        ]
        back = [at.returned + offset[1] + 0.2 * self.rng.standard_normal() for t in seconds]
        closed = [1.0] * len(seconds)
        if self.trip is not None:
            seconds.append(end + 5)
            supply.append(supply[-1])
            back.append(back[-1])
            closed.append(0.0)
        return {"seconds": seconds, "supply-air": supply, "return-air": back, "limit": closed}

    def taps(self) -> dict[str, str]:
        """Pressures at the four usual taps; read again they are the same."""
        if self._taps:
            return self._taps
        drops = self.found.drops
        out = {
            "tap-before-filter": self.inwc(-drops["return"]),
            "tap-after-filter": self.inwc(-drops["return"] - drops["filter"]),
            "tap-before-coil": self.inwc(drops.get("coil", 0.0) + drops["supply"]),
        }
        if "coil" in drops:
            out["tap-after-coil"] = self.inwc(drops["supply"])
        self._taps = out
        return out

    def _static_map(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        reads.update(self.taps())

    def _filter_look(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        seen["filter-fine-and-thin"] = self.see("filter-fine-and-thin")

    def _filter_taps(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        reads.update({k: v for k, v in self.taps().items() if k.endswith("filter")})

    def _coil_taps(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        reads.update({k: v for k, v in self.taps().items() if k.endswith("coil")})

    def _inlet_tap(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        drops = self.found.drops
        true = drops["return"] + drops["filter"] + drops["inlet"]
        reads["blower-box"] = f"{-self._read(true, 0.03, 0.035, 0.2):.2f} inH2O"
        reads["tap-after-filter"] = self.taps()["tap-after-filter"]

    def _clock_gas(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        if "clock-gas" not in self.done:
            true = 2.0 * 1030 * 3600 / self.found.input
            reads["meter-time"] = f"{self._read(true, 0.012, 0.3, 0.15 * true):.1f} s"

    def _manifold_test(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        sizes = self.call.sizes
        flow = sizes.get("manifold-high", {}).get("input", 1.0) * sizes.get("regulator-high", {}).get("input", 1.0)
        reads["manifold"] = f"{self._read(3.5 * flow**2 * self.rng.normal(1, 0.02), 0.01, 0.05, 0.6):.2f} inH2O"
        at_rest = self.rng.uniform(11.3, 14) if "regulator-high" in sizes else self.rng.uniform(5.5, 9.5)
        reads["gas-inlet-at-rest"] = f"{at_rest:.1f} inH2O"
        reads["gas-inlet-all-on"] = f"{at_rest - self.rng.uniform(0.2, 0.8):.1f} inH2O"

    def _capacitor_test(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        if self.call.house.blower.motor == "split capacitor":
            weak = self.call.sizes.get("capacitor-weak")
            # The slower it made the motor, the less is left of it.
            left = 0.35 + 0.5 * weak["speed"] if weak else self.rng.normal(0.99, 0.025)
            reads["capacitor"] = f"{self._read(10 * left, 0.02, 0.1, 2):.1f} µF"

    def _blower_electrics_test(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        slow = 1.0
        for fault in ("capacitor-weak", "motor-failing", "ecm-fault", "fan-not-commanded"):
            if fault in self.call.sizes and fault not in self.call.away:
                slow *= self.call.sizes[fault]["speed"]
        reads["motor-speed"] = f"{self._read(1050 * slow * self.rng.normal(1, 0.015), 0.005, 2, 150):.0f} rpm"
        load = self.found.airflow / self.call.house.middle
        dragging = 1.45 if "motor-failing" in self.call.sizes else 1.0
        reads["motor-amps"] = f"{self._read(8 * (0.35 + 0.45 * load) * dragging, 0.04, 0.05, 2):.1f} A"

    def _limit_face_test(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        reads["limit-opened-at"] = self.degf(self.found.opens, 2.2)

    def _limit_string_test(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        bad = "limit-wiring" in self.call.faults and self._happens(0.7)
        reads["volts-across-limit"] = f"{self.rng.uniform(0.7, 4) if bad else self.rng.uniform(0.02, 0.25):.2f} V"

    # ------------------------------------------------------------ one change at a time

    def changed(self, with_: Mapping[str, str], away: Iterable[str] = (), **changes: Any) -> None:
        """A short test: rise, and the taps that still mean something."""
        if self.still:
            return
        usual = self.call.condition(as_read=True)
        at = run(self.call.house, replace(usual, taken_away=frozenset(away), **changes))
        reads = {"return-air": self.degf(at.returned, 0.9), "supply-air": self.degf(at.returned + 0.985 * at.rise, 0.9)}
        self.step("Changed: " + ", ".join(f"{p} {h}" for p, h in with_.items()), reads, {}, {"with": dict(with_)}, 6)

    def _open_return(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        self.changed({"filter": "removed"}, ["filter"])
        self.changed({"filter": "removed", "return": "opened"}, ["filter", "return"])

    def _open_supply(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        if "registers-closed" not in self.known or self.known["registers-closed"] == "yes":
            sizes = {f: s for f, s in self.call.sizes.items() if f != "supply-blocked" and f not in self.call.away}
            stays = run(self.call.house, Call.condition(replace(self.call, sizes=sizes))).margin > 0
            seen["registers-opened-trip-stops"] = "yes" if stays and self.trip is not None else "no"
        self.changed({"supply": "opened"}, ["supply"])

    def _step_speed(self, reads: dict[str, str], seen: dict[str, str], extra: dict[str, Any]) -> None:
        condition: Condition = self.call.condition(as_read=True)
        names = list(self.call.house.blower.settings)
        place = names.index(condition.setting or self.call.house.setting)
        if place > 0:
            self.changed({"blower": f"set to {names[place - 1]}"}, setting=names[place - 1])

    # ------------------------------------------------------------ the case file

    def file(self) -> dict[str, Any]:
        """The call as a case file would hold it; a log stays as columns."""
        house = self.call.house
        rng = np.random.default_rng([self.call.seed, 8])
        setting = self.call.condition().setting or house.setting
        furnace: dict[str, Any] = {
            "kind": "condensing" if house.condensing else "non-condensing",
            "made": house.made,
            "stages": house.stages,
            "zoned": house.zoned,
            "input": f"{house.plate_input:.0f} Btu/h",
            "output": f"{house.plate_input * house.share:.0f} Btu/h",
            "rise": f"{house.rise[0]:g} to {house.rise[1]:g} degF",
            "static maximum": f"{house.static_maximum} inH2O",
            "counted as external": list(house.counted),
            "manifold": "3.5 inH2O",
            "inlet range": "4.5 to 10.5 inH2O",
            "limit": {"opens": f"{house.marking:g} degF"},
        }
        if house.adjusted_input != house.plate_input:
            furnace["adjusted input"] = f"{house.adjusted_input:.0f} Btu/h"
            furnace["derate rule"] = "4 % each 1000 ft"
        blower: dict[str, Any] = {
            "motor": house.blower.motor,
            "setting": setting,
            "full load": "8 A",
            "speed": "1050 rpm",
        }
        if house.blower.motor == "split capacitor":
            blower["capacitor"] = "10 µF"
        if self.table_known:
            blower["fan table"] = self.table()
        out: dict[str, Any] = {
            "title": f"Simulated call {self.call.seed}",
            "complaint": {"family": "high-limit", "words": "The flame goes out and the fan blows on."},
            "site": {
                "elevation": f"{house.elevation:.0f} ft",
                "heating value": f"{rng.normal(1030, 12):.0f} Btu/ft^3",
                "meter dial": "2 ft^3",
            },
            "furnace": furnace,
            "blower": blower,
            "coil": {"cooling": "3 ton"} if "coil" in house.ducts else {"none": True},
        }
        if rng.random() < LABELLED:
            out["filter"] = {"kind": "pleated", **self._label("filter", rng, ("filter-too-restrictive",))}
        if "coil" in house.ducts and rng.random() < LABELLED:
            out["coil"] |= self._label("coil", rng, ("coil-too-small",))
        steps = [{k: v for k, v in s.items() if v} for s in self.steps]
        out["visits"] = [{"date": "2024-01-15", "steps": steps or [{"do": "Took the complaint"}]}]
        return out

    def _label(self, part: str, rng: Generator, own: tuple[str, ...]) -> dict[str, str]:
        """The clean drop that the label of the part itself promises: of a part too fine, its own."""
        times = math.prod(self.call.sizes[f][part] for f in own if f in self.call.sizes)
        drop = self.call.house.ducts[part].clean * times * math.exp(0.08 * rng.standard_normal())
        return {"clean drop": f"{drop:.2f} inH2O", "at": f"{self.call.house.middle:.0f} cfm"}

    def table(self) -> dict[str, dict[str, str]]:
        """The printed fan table: static -> setting -> airflow."""
        blower = self.call.house.blower
        rows = {}
        for static in np.arange(0.1, 1.01, 0.1):
            row = {s: blower.airflow(float(static), s) for s in blower.settings}
            rows[f"{static:.1f} inH2O"] = {s: f"{5 * round(q / 5)} cfm" for s, q in row.items() if q > 60}
        return rows


USUAL: Mapping[str, float] = {
    "arrive-with-co-meter": 1.0,
    "read-fault-memory": 0.85,
    "ask": 0.9,
    "look-round": 0.95,
    "listen": 0.4,
    "first-fire": 0.99,
    "static-map": 0.97,
    "clock-gas": 0.85,
}
"""Test -> chance that a visit begins with it."""
POINTED_TO: Mapping[str, Mapping[str, float]] = {
    "return": {"walk-returns": 0.55, "open-return": 0.5},
    "blower": {
        "wheel-look": 0.72,
        "capacitor-test": 0.68,
        "blower-electrics-test": 0.63,
        "inlet-tap": 0.4,
        "step-speed": 0.25,
        "stage-test": 0.5,
        "secondary-camera": 0.2,
    },
    "supply": {"coil-camera": 0.63, "open-supply": 0.5, "measure-supply": 0.15, "zone-test": 0.55, "attic-look": 0.3},
    "limit": {
        "limit-string-test": 0.72,
        "limit-wires-look": 0.6,
        "limit-face-test": 0.5,
        "call-end-watch": 0.6,
        "board-test": 0.5,
        "smoke-search": 0.35,
        "baffle-look": 0.2,
        "leave-logger": 0.3,
    },
    "gas": {"manifold-test": 0.75, "pull-orifice": 0.45},
}
"""Where the first readings point -> test -> chance that it is done then."""
ANYHOW = 0.08
"""Chance of any of these when nothing points there."""
READING_LEFT_OUT, LOOK_LEFT_OUT = 0.12, 0.55
"""Chance that a reading is left out although its test is done; that a look is, or is not written down."""
ALWAYS = frozenset({"return-air", "co-indoors"})
"""Nobody reads the supply air and not the return, or goes in without the CO meter."""


def visit_of(call: Call, knowledge: Knowledge) -> AirVisit:
    """A patchy visit, as they come in: some first tests, then what their readings point to, with lapses everywhere;
    more than half of what could have been read is missing, and not by lot."""
    rng = np.random.default_rng([call.seed, 9])
    visit = AirVisit(
        call,
        knowledge,
        lambda what: (
            what not in ALWAYS
            and bool(rng.random() < (LOOK_LEFT_OUT if what in knowledge.findings else READING_LEFT_OUT))
        ),
    )

    def maybe(test: str, chance: float) -> None:
        if rng.random() < chance:
            visit.test(test)
        else:
            visit.left_out += len(knowledge.tests[test].reveals)

    for test, chance in USUAL.items():
        maybe(test, chance)
    sides = points_to(visit)
    for side, tests in POINTED_TO.items():
        for test, chance in tests.items():
            maybe(test, chance if side in sides else ANYHOW)
    return visit


def points_to(visit: AirVisit) -> frozenset[str]:
    """Where the readings written so far lead a technician who goes by rules of thumb (expert estimate)."""
    house = visit.call.house
    read = {k: float(v.split()[0]) for step in visit.steps for k, v in step["read"].items()}
    sides = set()
    rise = read.get("supply-air", read.get("supply-air-at-trip", math.nan)) - read.get("return-air", house.room)
    # What was not read excludes nothing.
    hot = not rise <= 0.9 * house.rise[1]
    if not rise > 0.9 * house.rise[1]:
        sides.add("limit")
    suction, pressure = -read.get("tap-after-filter", math.nan), read.get("tap-before-coil", math.nan)
    total = suction + pressure
    if hot and not total < 0.4:
        sides |= {
            side
            for side, there in (("return", not suction < 0.45 * total), ("supply", not pressure < 0.45 * total))
            if there
        }
    if hot and not total > 0.6:
        sides.add("blower")
    clocked = 2 * 1030 * 3600 / read.get("meter-time", math.inf)
    if read.get("oxygen-in-flue", 9.0) < 6.5 or clocked > 1.05 * house.adjusted_input:
        sides.add("gas")
    return frozenset(sides)
