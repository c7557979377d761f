"""What a searcher may type, and what it means: readings and plate values on one side, findings on the other.

The survey judges a whole case, with its steps, logs and fan table.  A searcher has a few numbers and no case.  Each
finding that a few numbers decide therefore has a line here: a weighted sum of what was typed, which must lie above
a limit.  Lines are data, so that the browser reads the same ones (`find_index.py`); limits come from the knowledge,
and the tests hold every line against the survey on the same readings.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from causebook import quantity as qty
from causebook.casefile.model import CaseFile
from causebook.casefile.possible import bounds_of, within_of
from causebook.knowledge.bounds import Bounds
from causebook.knowledge.model import Accuracy, Knowledge
from causebook.measured import chance_above
from causebook.quantity import KINDS, Kind, Quantity
from causebook.survey import numbers
from causebook.survey.model import ReadingSet

PRESENT, ABSENT = 0.8, 0.2
"""Above and below these chances a finding is present or absent; between them the numbers do not decide."""


@dataclass(frozen=True, slots=True)
class Ask:
    """One number that may be typed: a reading, or a value of the rating plate to hold it against."""

    id: str
    name: str
    kind: Kind
    group: str
    where: str = ""
    relative: float = 0.0
    """Standard uncertainty as a share of the reading ..."""
    fixed: float = 0.0
    """... and its fixed part [SI]."""
    sense: int = 0
    """How the sign of the gauge is taken: 0 as it is, 1 only the size, -1 suction with or without its minus."""
    bounds: Bounds = Bounds()
    """What it can be at all [SI]."""

    def meant(self, value: float) -> float:
        """A value [SI] with the sign it must have."""
        return self.sense * abs(value) if self.sense else value

    def sd(self, value: float) -> float:
        """Standard uncertainty of a value [SI]."""
        return math.hypot(self.relative * value, self.fixed)


@dataclass(frozen=True, slots=True)
class Line:
    """A finding is present when the sum of `terms` (ask id -> factor) lies above `limit` [SI]."""

    finding: str
    terms: Mapping[str, float]
    limit: float = 0.0
    spread: float = 1.0
    """Factor on the uncertainty: below 1 where the same probe was read twice within minutes."""
    below: tuple[str, float] | None = None
    """Says nothing unless this ask lies below this value [SI] ..."""
    otherwise: str = ""
    """... and what that means when it does not."""


PLATE = "Rating plate"
_PLATE_KINDS = {
    "maximum rise": qty.TEMPERATURE_DIFFERENCE,
    "minimum rise": qty.TEMPERATURE_DIFFERENCE,
    "rated external static": qty.AIR_PRESSURE,
    "plate input": qty.HEAT_RATE,
    "plate manifold": qty.GAS_PRESSURE,
    "lowest gas inlet": qty.GAS_PRESSURE,
    "highest gas inlet": qty.GAS_PRESSURE,
    "limit marking": qty.TEMPERATURE,
    "pressure switch closes at": qty.AIR_PRESSURE,
    "least flame current": qty.FLAME_CURRENT,
    "blower speed for this setting": qty.SPEED,
    "capacitor marking": qty.CAPACITANCE,
    "full-load current": qty.CURRENT,
}
_GROUPS: Mapping[str, tuple[str, ...]] = {
    "Air": (
        "rise",
        "supply-air",
        "return-air",
        "room-temperature",
        "external-static",
        "tap-before-filter",
        "tap-after-filter",
        "drop-across-filter",
        "blower-box",
        "tap-before-coil",
        "tap-after-coil",
        "drop-across-coil",
        "room-pressure",
    ),
    "Danger": ("co-indoors", "co-outdoors", "co-at-register", "co-at-departure", "gas-detector", "spillage-lasted"),
    "Gas and flame": (
        "clocked-input",
        "manifold",
        "gas-inlet-at-rest",
        "gas-inlet-all-on",
        "co-in-flue",
        "oxygen-in-flue",
        "co-in-flue-before-blower",
        "oxygen-in-flue-before-blower",
        "co-in-flue-after-blower",
        "oxygen-in-flue-after-blower",
        "flame-current",
        "suction-at-pressure-switch",
    ),
    "Limit, control and blower": (
        "limit-opened-at",
        "volts-across-limit",
        "secondary-volts",
        "neutral-to-burner",
        "motor-speed",
        "motor-amps",
        "capacitor",
        "blower-start-time",
        "time-to-trip",
        "igniter-resistance",
    ),
}
_CHANGED = {
    "rise-filter-out": ("Rise with the filter out", {"filter": "removed"}),
    "rise-return-open": ("Rise with filter out and return opened", {"filter": "removed", "return": "opened"}),
    "rise-supply-open": ("Rise with the supply opened", {"supply": "opened"}),
}
"""Readings with one thing changed: the name of the ask, and the state of the air path it was taken in."""
_INSTEAD = {
    "gas-inlet-at-rest": ("gas-inlet",),
    "gas-inlet-all-on": ("gas-inlet",),
    "room-temperature": ("rooms-mean-temperature",),
    "suction-at-pressure-switch": ("suction-at-start", "suction-at-end"),
}
"""What a case may have read in place of the reading asked for."""
_SIZE_ONLY = {
    "external-static",
    "drop-across-filter",
    "drop-across-coil",
    "suction-at-pressure-switch",
    "pressure-switch-closes-at",
    "rated-external-static",
}
_BOUNDED_AS = {
    "maximum-rise": "rise",
    "minimum-rise": "rise",
    **dict.fromkeys(_CHANGED, "rise"),
    "plate-input": "clocked-input",
}
"""Whose bounds a value has that is no reading of its own."""
NEVER_BELOW = (
    ("supply-air", "return-air", "with the burner on it cannot; readings in cooling are not compared here"),
    ("maximum-rise", "minimum-rise", "the plate gives the lower end first"),
    ("highest-gas-inlet", "lowest-gas-inlet", "the plate gives the lower end first"),
)
"""(ask, another that it never lies below, why)."""


def asks(knowledge: Knowledge) -> tuple[Ask, ...]:
    """Everything that may be typed, in the order in which it is asked."""
    return tuple(_asks(knowledge))


def _asks(knowledge: Knowledge) -> Iterator[Ask]:
    for group, ids in _GROUPS.items():
        for id_ in ids:
            reading = knowledge.readings[id_]
            kind = KINDS[reading.kind]
            yield Ask(
                id_,
                reading.name,
                kind,
                group,
                reading.where,
                *_accuracy(reading.accuracy, kind),
                -1 if reading.suction else int(id_ in _SIZE_ONLY),
                _bounds(id_, kind),
            )
    rise = knowledge.readings["rise"]
    for id_, (name, _) in _CHANGED.items():
        yield Ask(
            id_,
            name,
            qty.TEMPERATURE_DIFFERENCE,
            "One thing changed",
            "",
            *_accuracy(rise.accuracy, qty.TEMPERATURE_DIFFERENCE),
            bounds=_bounds(id_, qty.TEMPERATURE_DIFFERENCE),
        )
    for name, kind in _PLATE_KINDS.items():
        id_ = name.replace(" ", "-")
        yield Ask(id_, name.capitalize(), kind, PLATE, sense=int(id_ in _SIZE_ONLY), bounds=_bounds(id_, kind))


def _bounds(id_: str, kind: Kind) -> Bounds:
    return bounds_of(kind, within_of(_BOUNDED_AS.get(id_, id_), "heating"))


def wrong(typed: Mapping[str, float], knowledge: Knowledge) -> dict[str, str]:
    """Of typed numbers (ask id -> value [SI]) those that cannot be, with the reason."""
    known = {ask.id: ask for ask in asks(knowledge)}
    out = {
        id_: f"{known[id_].name} can only be {known[id_].bounds.words}"
        for id_, value in typed.items()
        if not known[id_].bounds.hold(value)
    }
    for upper, lower, why in NEVER_BELOW:
        if {upper, lower} <= typed.keys() - out.keys() and typed[upper] < typed[lower]:
            out[upper] = f"{known[upper].name} lies below {in_running(known[lower].name)}: {why}"
    return out


def in_running(name: str) -> str:
    """A name within a sentence: its first letter small, unless it begins with an abbreviation ("CO indoors")."""
    return name[:1].lower() + name[1:] if name[1:2].islower() else name


def _accuracy(accuracy: Accuracy, kind: Kind) -> tuple[float, float]:
    spread = qty.spread_kind(kind)
    fixed = qty.si(qty.parse(accuracy.fixed, spread), spread) if accuracy.fixed else 0.0
    return 0.0 if kind.si == "K" else accuracy.relative, fixed


def lines(knowledge: Knowledge) -> tuple[Line, ...]:
    """What numbers decide which findings; of several lines for one finding the first that can speak does."""
    return tuple(_lines(knowledge))


def _lines(knowledge: Knowledge) -> Iterator[Line]:
    def limit(finding: str, kind: Kind = qty.RATIO) -> float:
        known = knowledge.findings[finding]
        assert known.limit is not None
        return qty.si(qty.q(known.limit, known.limit_unit), kind)

    rise, air, gas = qty.TEMPERATURE_DIFFERENCE, qty.AIR_PRESSURE, qty.GAS_PRESSURE
    for typed in ({"rise": 1.0}, {"supply-air": 1.0, "return-air": -1.0}):
        against = {id_: -factor for id_, factor in typed.items()}
        yield Line("rise-high", {**typed, "maximum-rise": -1})
        yield Line("rise-low", {**against, "minimum-rise": 1})
        for change, finding in (("filter-out", "filter-out-rise-falls"), ("supply-open", "supply-opened-rise-falls")):
            yield Line(finding, {**typed, f"rise-{change}": -1}, limit(finding, rise), spread=0.5)
    further = "return-opened-rise-falls-further"
    yield Line(further, {"rise-filter-out": 1, "rise-return-open": -1}, limit(further, rise), spread=0.5)
    yield Line("return-warm", {"return-air": 1, "room-temperature": -1}, limit("return-warm", rise))
    yield Line("return-cold", {"return-air": -1, "room-temperature": 1}, -limit("return-cold", rise))
    yield Line("static-high", {"external-static": 1, "rated-external-static": -1})
    yield Line("return-drop-high", {"tap-before-filter": -1}, limit("return-drop-high", air))
    yield Line("filter-drop-high", {"drop-across-filter": 1}, limit("filter-drop-high", air))
    yield Line("filter-drop-high", {"tap-before-filter": 1, "tap-after-filter": -1}, limit("filter-drop-high", air))
    yield Line("inlet-drop-high", {"tap-after-filter": 1, "blower-box": -1}, limit("inlet-drop-high", air))
    yield Line("coil-drop-high", {"drop-across-coil": 1}, limit("coil-drop-high", air))
    yield Line("coil-drop-high", {"tap-before-coil": 1, "tap-after-coil": -1}, limit("coil-drop-high", air))
    yield Line("supply-drop-high", {"tap-after-coil": 1}, limit("supply-drop-high", air))
    yield Line("room-pressure-high", {"room-pressure": 1}, limit("room-pressure-high", qty.ROOM_PRESSURE))
    yield Line("input-high", {"clocked-input": 1, "plate-input": -limit("input-high")})
    yield Line("input-low", {"clocked-input": -1, "plate-input": limit("input-low")})
    yield Line("manifold-above-plate", {"manifold": 1, "plate-manifold": -1}, limit("manifold-above-plate", gas))
    yield Line("manifold-below-plate", {"manifold": -1, "plate-manifold": 1}, -limit("manifold-below-plate", gas))
    yield Line("gas-inlet-high", {"gas-inlet-at-rest": 1, "highest-gas-inlet": -1})
    yield Line("gas-inlet-low", {"gas-inlet-all-on": -1, "lowest-gas-inlet": 1})
    for finding in ("co-flue-high", "co-flue-very-high"):
        # Free of air, CO x 20.9 / (20.9 - O2) lies above the limit: the same, cleared of its fraction.
        most = limit(finding, qty.CO_FRACTION)
        yield Line(finding, {"co-in-flue": 1, "oxygen-in-flue": most / 0.209}, most)
    yield Line("oxygen-low", {"oxygen-in-flue": -1}, -limit("oxygen-low", qty.GAS_FRACTION))
    # The same cell a minute apart: only its noise counts, not its calibration.
    yield Line(
        "oxygen-shifts-at-blower-start",
        {"oxygen-in-flue-after-blower": 1, "oxygen-in-flue-before-blower": -1},
        limit("oxygen-shifts-at-blower-start", qty.GAS_FRACTION),
        spread=0.25,
    )
    yield Line("co-in-rooms", {"co-indoors": 1, "co-outdoors": -1}, limit("co-in-rooms", qty.CO_FRACTION))
    yield Line("co-in-rooms", {"co-indoors": 1}, limit("co-in-rooms", qty.CO_FRACTION))
    yield Line("flame-current-low", {"flame-current": -1, "least-flame-current": 1})
    yield Line("flame-current-low", {"flame-current": -1}, -knowledge.constants["flame-current-least"].value * 1e-6)
    yield Line("suction-low", {"suction-at-pressure-switch": -1, "pressure-switch-closes-at": 1})
    yield Line("limit-opens-low", {"limit-opened-at": -1, "limit-marking": 1}, -limit("limit-opens-low", rise))
    # Near control voltage the limit is open, which is no contact drop.
    yield Line(
        "limit-drops-volts",
        {"volts-across-limit": 1},
        limit("limit-drops-volts", qty.VOLTAGE),
        below=("volts-across-limit", 15.0),
        otherwise="So many volts across the limit mean that it stands open: no worn contact, and no finding "
        "yet. At what temperature it opened tells more",
    )
    yield Line("control-volts-missing", {"secondary-volts": -1}, -limit("control-volts-missing", qty.VOLTAGE))
    yield Line("bond-bad", {"neutral-to-burner": 1}, limit("bond-bad", qty.VOLTAGE))
    for finding, read, plate in (
        ("motor-slow", "motor-speed", "blower-speed-for-this-setting"),
        ("capacitor-low", "capacitor", "capacitor-marking"),
    ):
        yield Line(finding, {read: -1, plate: limit(finding)})
    yield Line("motor-amps-high", {"motor-amps": 1, "full-load-current": -1})


def judge(typed: Mapping[str, float], knowledge: Knowledge) -> dict[str, bool]:
    """The findings that typed numbers (ask id -> value [SI]) decide: present or absent; undecided ones are left out."""
    known = {ask.id: ask for ask in asks(knowledge)}
    numbers_ = {id_: known[id_].meant(value) for id_, value in typed.items()}
    found: dict[str, bool] = {}
    spoken = set()
    for line in lines(knowledge):
        if line.finding in spoken or not line.terms.keys() <= numbers_.keys():
            continue
        if line.below and not numbers_[line.below[0]] < line.below[1]:
            continue
        spoken.add(line.finding)
        total = sum(factor * numbers_[id_] for id_, factor in line.terms.items())
        spread = math.hypot(*(factor * known[id_].sd(numbers_[id_]) for id_, factor in line.terms.items()))
        chance = chance_above(total, line.spread * spread, line.limit)
        if chance > PRESENT or chance < ABSENT:
            found[line.finding] = chance > PRESENT
    return found


def remarks(typed: Mapping[str, float], knowledge: Knowledge) -> tuple[str, ...]:
    """What typed numbers (ask id -> value [SI]) mean where they decide no finding."""
    return tuple(
        line.otherwise
        for line in lines(knowledge)
        if line.below and line.below[0] in typed and typed[line.below[0]] >= line.below[1]
    )


def typed_of(
    file: CaseFile, found: ReadingSet | None, sets: Sequence[ReadingSet], knowledge: Knowledge
) -> dict[str, float]:
    """The same numbers of a case: its as-found readings, those with one thing changed, and its plate [SI]."""
    values: dict[str, float] = {}
    if file.site.room is not None:
        values["room-temperature"] = qty.si(file.site.room, qty.TEMPERATURE)
    for ask in asks(knowledge):
        if found and (taken := numbers.first(found.readings, ask.id, *_INSTEAD.get(ask.id, ()))):
            values[ask.id] = numbers.value(taken, knowledge)
    if found and found.rise:
        values["rise"] = found.rise.si
    if found and found.static:
        values["external-static"] = found.static.si
    if found and found.input:
        values["clocked-input"] = found.input.si
    for id_, (_, state) in _CHANGED.items():
        for one in sets:
            if one.phase == "changed" and one.rise and {p: h.split()[0].lower() for p, h in one.state.items()} == state:
                values[id_] = one.rise.si
    return values | _plate(file)


def _plate(file: CaseFile) -> dict[str, float]:
    furnace, blower = file.furnace, file.blower
    said: dict[str, Quantity | None] = {}
    if furnace:
        limit, switch = furnace.limit, furnace.pressure_switch
        least, most = furnace.rise or (None, None)
        lowest, highest = furnace.inlet_range or (None, None)
        said |= {
            "maximum rise": most,
            "minimum rise": least,
            "rated external static": furnace.static_maximum,
            "plate input": furnace.adjusted_input or furnace.input,
            "plate manifold": furnace.manifold,
            "lowest gas inlet": lowest,
            "highest gas inlet": highest,
            "limit marking": limit.opens if limit else None,
            "pressure switch closes at": switch.closes if switch else None,
            "least flame current": furnace.flame_current_minimum,
        }
    if blower:
        said |= {
            "blower speed for this setting": blower.speed,
            "capacitor marking": blower.capacitor,
            "full-load current": blower.full_load,
        }
    return {
        name.replace(" ", "-"): qty.si(value, _PLATE_KINDS[name]) for name, value in said.items() if value is not None
    }
