"""From readings to findings: one small rule for each computed finding, by the name the knowledge gives it.

A rule returns how probable it is that the finding is present, a sentence with the numbers, and the readings behind
it; None when its readings were not taken (the finding then stays "not looked for").  Limits come from the plate, or
from the knowledge's findings and constants.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from causebook import quantity as qty
from causebook.casefile.model import Case, Taken
from causebook.casefile.sizes import read_size
from causebook.knowledge.model import Finding, Knowledge
from causebook.physics.combustion import air_free_monoxide
from causebook.quantity import Kind, Quantity
from causebook.survey import numbers
from causebook.survey.heat import Heat, rise_at_trip
from causebook.survey.model import Estimate, LimitEvidence, ReadingSet


@dataclass(frozen=True, slots=True)
class Judged:
    """What one rule found."""

    probability: float
    because: str
    readings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Facts:
    """What the rules look at."""

    case: Case
    knowledge: Knowledge
    heat: Heat
    found: ReadingSet
    """As-found readings, the later visit over the earlier."""
    sets: tuple[ReadingSet, ...]
    limit: LimitEvidence | None

    def taken(self, *names: str) -> Taken | None:
        """The first of the named as-found readings."""
        return numbers.first(self.found.readings, *names)

    def gauge(self, name: str) -> tuple[float, float] | None:
        """An as-found reading as (value, standard uncertainty) [SI]."""
        taken = self.found.readings.get(name)
        return (numbers.value(taken, self.knowledge), numbers.sd(taken, self.knowledge)) if taken else None

    def constant(self, name: str) -> float:
        """A constant of the knowledge, as it stands there."""
        return numbers.constant(self.knowledge, name)

    def change(self, wanted: Mapping[str, str]) -> ReadingSet | None:
        """The changed set in exactly this state of the air path (how it was opened does not matter)."""
        for one in reversed(self.sets):
            if one.phase == "changed" and {p: _how(h) for p, h in one.state.items()} == dict(wanted):
                return one
        return None


def _how(text: str) -> str:
    return text.split()[0].lower()


Rule = Callable[[Facts, Finding], Judged | None]
RULES: dict[str, Rule] = {}


def rule(name: str) -> Callable[[Rule], Rule]:
    """Register a rule under the name the knowledge uses."""
    def keep(function: Rule) -> Rule:
        RULES[name] = function
        return function
    return keep


def judge(finding: Finding, facts: Facts) -> Judged | None:
    """Apply the rule of a computed finding."""
    return RULES[finding.computed](facts, finding)


def _limit(known: Finding, kind: Kind) -> float:
    """The limit of a finding [SI of `kind`]; a share or a difference where its unit says so."""
    assert known.limit is not None, f"{known.id} needs a limit"
    return qty.si(qty.q(known.limit, known.limit_unit), kind)


def _over(value: tuple[float, float], limit: float, kind: Kind, what: str, against: str,
          readings: Sequence[str], below: bool = False, of: str = "") -> Judged:
    """Is a value over (or below) its limit?  `of`: what it is a share of.

    The sentence is true of both answers: "coil takes 0.13 in. w.c. (looked at above 0.30)".
    """
    chance = numbers.above(*value, limit)
    shown = qty.show(qty.from_si(value[0], kind), kind)
    bound = qty.show(qty.from_si(limit, kind), kind)
    if kind.us_text != "%":
        bound = bound.removesuffix(kind.us_text).rstrip()
    said = f"{what} {shown}{of and ' of ' + of} ({against} {bound})"
    return Judged(1 - chance if below else chance, said, tuple(readings))


def _over_estimate(found: Estimate, limit: float, what: str, against: str, below: bool = False) -> Judged:
    return _over(numbers.si_of(found), limit, found.kind, what, against, found.readings, below)


def return_above_room(case: Case, found: ReadingSet, knowledge: Knowledge) -> tuple[float, float] | None:
    """Return at the furnace less the rooms, with its uncertainty [K]; None unless both are known."""
    back = found.readings.get("return-air")
    room = numbers.first(found.readings, "rooms-mean-temperature", "room-temperature")
    if back is None or (room is None and case.file.site.room is None):
        return None
    rooms = (numbers.value(room, knowledge), numbers.sd(room, knowledge)) if room else (
        qty.si(case.file.site.room, qty.TEMPERATURE), 0.6)
    return numbers.value(back, knowledge) - rooms[0], math.hypot(numbers.sd(back, knowledge), rooms[1])


# ---------------------------------------------------------------- rise and temperatures

RISE = qty.TEMPERATURE_DIFFERENCE


def _rise_range(facts: Facts) -> tuple[float, float] | None:
    furnace = facts.case.file.furnace
    return None if furnace is None or furnace.rise is None else (qty.si(furnace.rise[0], RISE),
                                                                qty.si(furnace.rise[1], RISE))


@rule("rise-high")
def _rise_high(facts: Facts, known: Finding) -> Judged | None:
    limits = _rise_range(facts)
    if limits is None:
        return None
    if facts.found.rise is not None:
        return _over_estimate(facts.found.rise, limits[1], "rise", "plate maximum")
    trip = rise_at_trip(facts.found.readings, "", facts.knowledge)
    if trip is None:
        return None
    # The limit opened before the rise was steady: the steady rise is higher by a known share.
    size, spread = numbers.si_of(trip)
    share = facts.constant("trip-to-steady")
    return _over((size / share, math.hypot(spread / share, 0.035 * size)), limits[1], RISE,
                 "steady rise, worked out from the trip:", "plate maximum", trip.readings)


@rule("rise-low")
def _rise_low(facts: Facts, known: Finding) -> Judged | None:
    limits = _rise_range(facts)
    if limits is None or facts.found.rise is None:
        return None
    return _over_estimate(facts.found.rise, limits[0], "rise", "plate minimum", below=True)


@rule("rise-ok-at-trip")
def _rise_ok_at_trip(facts: Facts, known: Finding) -> Judged | None:
    limits, trip = _rise_range(facts), rise_at_trip(facts.found.readings, "", facts.knowledge)
    if limits is None or trip is None:
        return None
    return _over_estimate(trip, limits[1], "rise at the trip", "plate maximum", below=True)


def _return_less_room(facts: Facts) -> tuple[float, float] | None:
    return return_above_room(facts.case, facts.found, facts.knowledge)


@rule("return-warm")
def _return_warm(facts: Facts, known: Finding) -> Judged | None:
    gap = _return_less_room(facts)
    return None if gap is None else _over(gap, _limit(known, RISE), RISE, "return air less rooms", "looked at above",
                                          ("return-air",))


@rule("return-cold")
def _return_cold(facts: Facts, known: Finding) -> Judged | None:
    gap = _return_less_room(facts)
    return None if gap is None else _over(gap, _limit(known, RISE), RISE, "return air less rooms", "looked at below",
                                          ("return-air",), below=True)


@rule("duct-loses-heat")
def _duct_loses_heat(facts: Facts, known: Finding) -> Judged | None:
    supply, register = facts.gauge("supply-air"), facts.gauge("register-air")
    if supply is None or register is None:
        return None
    return _over((supply[0] - register[0], math.hypot(supply[1], register[1])), _limit(known, RISE), RISE,
                 "lost between plenum and register", "looked at above", ("supply-air", "register-air"))


@rule("stack-hot")
def _stack_hot(facts: Facts, known: Finding) -> Judged | None:
    stack = facts.gauge("stack")
    if stack is None or known.limit is None:
        return None
    return _over(stack, _limit(known, qty.TEMPERATURE), qty.TEMPERATURE, "stack", "usual at most", ("stack",))


# ---------------------------------------------------------------- pressures and airflow

@rule("static-high")
def _static_high(facts: Facts, known: Finding) -> Judged | None:
    furnace, static = facts.case.file.furnace, facts.found.static
    if furnace is None or furnace.static_maximum is None or static is None:
        return None
    return _over_estimate(static, qty.si(furnace.static_maximum, qty.AIR_PRESSURE), "external static", "rating")


@rule("static-low-rise-high")
def _static_low(facts: Facts, known: Finding) -> Judged | None:
    high = _rise_high(facts, known)
    static, flow = facts.found.static, next((f for f in facts.found.airflow if f.method.startswith("rise")), None)
    table = next((f for f in facts.found.airflow if f.method.startswith("fan table")), None)
    if high is None or static is None or flow is None or table is None:
        return None
    here, there = numbers.si_of(flow), numbers.si_of(table)
    low = 1 - numbers.above(here[0] / there[0], math.hypot(here[1], there[1]) / there[0], 0.5 * (1 + _limit(known, qty.RATIO)))
    return Judged(low * high.probability, f"static {qty.show(static.value, qty.AIR_PRESSURE)} belongs to "
                  f"{qty.show(table.value, qty.AIRFLOW)} by the fan table; the rise says "
                  f"{qty.show(flow.value, qty.AIRFLOW)}", (*static.readings, *flow.readings))


def _drop(facts: Facts, known: Finding, part: str, words: str) -> Judged | None:
    drop = next((d for d in facts.found.drops if d.part == part), None)
    if drop is None:
        return None
    value = qty.si(drop.value, qty.AIR_PRESSURE), qty.si(drop.sd, qty.AIR_PRESSURE)
    limit = _limit(known, qty.AIR_PRESSURE)
    readings = tuple(r for r in facts.found.readings if facts.knowledge.readings[r].tap)
    return _over(value, limit, qty.AIR_PRESSURE, words, "looked at above", readings)


for _part, _words in (("return", "return duct takes"), ("filter", "filter takes"), ("inlet", "inlet takes"),
                      ("coil", "coil takes"), ("supply", "supply duct takes")):
    RULES[f"{_part}-drop-high"] = functools.partial(_drop, part=_part, words=_words)


@rule("airflow-low")
def _airflow_low(facts: Facts, known: Finding) -> Judged | None:
    limits, flow = _rise_range(facts), facts.found.best_airflow
    if limits is None or flow is None or facts.heat.output is None or facts.found.mode == "cooling":
        return None
    least = facts.heat.output / (facts.heat.sensible * limits[1])
    return _over_estimate(flow, least, "airflow", "least for the plate's rise", below=True)


@rule("airflow-below-table")
def _below_table(facts: Facts, known: Finding) -> Judged | None:
    table = next((f for f in facts.found.airflow if f.method.startswith("fan table")), None)
    other = next((f for f in facts.found.airflow if f is not table), None)
    if table is None or other is None:
        return None
    here, there = numbers.si_of(other), numbers.si_of(table)
    ratio = here[0] / there[0]
    spread = ratio * math.hypot(here[1] / here[0], there[1] / there[0])
    return Judged(1 - numbers.above(ratio, spread, 1 - _limit(known, qty.RATIO)), f"{qty.show(other.value, qty.AIRFLOW)} by {other.method}, "
                  f"{qty.show(table.value, qty.AIRFLOW)} by {table.method}", (*other.readings, *table.readings))


@rule("cooling-airflow-low")
def _cooling_low(facts: Facts, known: Finding) -> Judged | None:
    coil, flow = facts.case.file.coil, facts.found.best_airflow
    if coil is None or coil.cooling is None or flow is None or facts.found.mode not in ("cooling", "fan only"):
        return None
    tons = qty.us(coil.cooling, qty.COOLING_CAPACITY)
    least = (known.limit or 0.0) * tons * 0.3048 ** 3 / 60
    return _over_estimate(flow, least, "airflow", f"least for {tons:g} ton", below=True)


@rule("return-area-low")
def _return_area_low(facts: Facts, known: Finding) -> Judged | None:
    if facts.heat.output is None:
        return None
    taken = facts.gauge("smallest-return-section")
    ducts = [read_size(o.size) for o in facts.case.file.return_ if "grille" not in o.of]
    area = taken[0] if taken else sum(
        qty.si(size.area, qty.SMALL_AREA) * o.count
        for size, o in zip(ducts, [o for o in facts.case.file.return_ if "grille" not in o.of], strict=True))
    if not area:
        return None
    floor = (known.limit or 0.0) * facts.heat.output / 293.071 * 0.0254 ** 2
    return _over((area, 0.05 * area), floor, qty.SMALL_AREA, "smallest return section", "code floor",
                 ("smallest-return-section",) if taken else (), below=True)


@rule("filter-face-fast")
def _filter_fast(facts: Facts, known: Finding) -> Judged | None:
    filter_, flow = facts.case.file.filter, facts.found.best_airflow
    if filter_ is None or not filter_.size or flow is None:
        return None
    size = read_size(filter_.size)
    if size.depth is None or qty.us(size.depth, qty.SMALL_LENGTH) > 2.1:
        return None
    area = qty.si(size.area, qty.SMALL_AREA)
    here = numbers.si_of(flow)
    return _over((here[0] / area, here[1] / area), _limit(known, qty.VELOCITY),
                 qty.VELOCITY, "filter face velocity", "looked at above", flow.readings)


# ---------------------------------------------------------------- gas and combustion

def _input_ratio(facts: Facts) -> tuple[float, float] | None:
    if facts.found.input is None or not facts.heat.plate_input:
        return None
    watts, spread = numbers.si_of(facts.found.input)
    return watts / facts.heat.plate_input, spread / facts.heat.plate_input


@rule("input-high")
def _input_high(facts: Facts, known: Finding) -> Judged | None:
    ratio = _input_ratio(facts)
    return None if ratio is None else _over(ratio, _limit(known, qty.RATIO), qty.SHARE, "clocked input", "high above",
                                            ("meter-time",), of="the plate")


@rule("input-low")
def _input_low(facts: Facts, known: Finding) -> Judged | None:
    ratio = _input_ratio(facts)
    return None if ratio is None else _over(ratio, _limit(known, qty.RATIO), qty.SHARE, "clocked input", "low below",
                                            ("meter-time",), below=True, of="the plate")


def _manifold(facts: Facts, known: Finding, below: bool) -> Judged | None:
    furnace, read = facts.case.file.furnace, facts.gauge("manifold")
    if furnace is None or furnace.manifold is None or read is None:
        return None
    limit = qty.si(furnace.manifold, qty.GAS_PRESSURE) + _limit(known, qty.GAS_PRESSURE)
    return _over(read, limit, qty.GAS_PRESSURE, "manifold", "low below" if below else "high above",
                 ("manifold",), below)


@rule("manifold-high")
def _manifold_high(facts: Facts, known: Finding) -> Judged | None:
    return _manifold(facts, known, below=False)


@rule("manifold-low")
def _manifold_low(facts: Facts, known: Finding) -> Judged | None:
    return _manifold(facts, known, below=True)


@rule("gas-inlet-high")
def _inlet_high(facts: Facts, known: Finding) -> Judged | None:
    furnace, read = facts.case.file.furnace, facts.taken("gas-inlet-at-rest", "gas-inlet")
    if furnace is None or furnace.inlet_range is None or read is None:
        return None
    value = numbers.value(read, facts.knowledge), numbers.sd(read, facts.knowledge)
    return _over(value, qty.si(furnace.inlet_range[1], qty.GAS_PRESSURE), qty.GAS_PRESSURE, "gas inlet",
                 "plate maximum", (read.reading,))


@rule("gas-inlet-low")
def _inlet_low(facts: Facts, known: Finding) -> Judged | None:
    furnace, read = facts.case.file.furnace, facts.taken("gas-inlet-all-on", "gas-inlet")
    if furnace is None or furnace.inlet_range is None or read is None:
        return None
    value = numbers.value(read, facts.knowledge), numbers.sd(read, facts.knowledge)
    return _over(value, qty.si(furnace.inlet_range[0], qty.GAS_PRESSURE), qty.GAS_PRESSURE, "gas inlet",
                 "plate minimum", (read.reading,), below=True)


def flue_pairs(readings: Mapping[str, Taken]) -> list[tuple[Taken, Taken]]:
    """CO and oxygen readings of the flue that belong together."""
    names = (("co-in-flue", "oxygen-in-flue"), ("co-in-flue-after-blower", "oxygen-in-flue-after-blower"),
             ("co-in-flue-before-blower", "oxygen-in-flue-before-blower"))
    return [(readings[c], readings[o]) for c, o in names if c in readings and o in readings]


def air_free(pair: tuple[Taken, Taken], knowledge: Knowledge) -> tuple[float, float] | None:
    """CO free of air, with its uncertainty; None above 18 % oxygen, where it says nothing."""
    try:
        value = qty.si(air_free_monoxide(pair[0].value, pair[1].value), qty.CO_FRACTION)
    except ValueError:
        return None
    read, oxygen = numbers.value(pair[0], knowledge), numbers.value(pair[1], knowledge)
    share = math.hypot(numbers.sd(pair[0], knowledge) / max(read, 1e-9),
                       numbers.sd(pair[1], knowledge) / max(0.209 - oxygen, 1e-3))
    return value, value * share


def _co_flue(facts: Facts, limit: float) -> Judged | None:
    best = None
    for pair in flue_pairs(facts.found.readings):
        value = air_free(pair, facts.knowledge)
        if value is not None and (best is None or value[0] > best[0][0]):
            best = value, pair
    if best is None:
        return None
    return _over(best[0], limit, qty.CO_FRACTION, "flue CO free of air", "looked at above",
                 tuple(t.reading for t in best[1]))


@rule("co-flue-high")
def _co_high(facts: Facts, known: Finding) -> Judged | None:
    return _co_flue(facts, _limit(known, qty.CO_FRACTION))


@rule("co-flue-very-high")
def _co_very_high(facts: Facts, known: Finding) -> Judged | None:
    return _co_flue(facts, _limit(known, qty.CO_FRACTION))


@rule("oxygen-low")
def _oxygen_low(facts: Facts, known: Finding) -> Judged | None:
    read = facts.gauge("oxygen-in-flue") or facts.gauge("oxygen-in-flue-before-blower")
    return None if read is None else _over(read, _limit(known, qty.GAS_FRACTION), qty.GAS_FRACTION, "oxygen in flue", "low below",
                                           ("oxygen-in-flue",), below=True)


@rule("oxygen-shift")
def _oxygen_shift(facts: Facts, known: Finding) -> Judged | None:
    pairs = [(name, facts.gauge(f"{name}-before-blower"), facts.gauge(f"{name}-after-blower"), limit, kind)
             for name, limit, kind in (("oxygen-in-flue", _limit(known, qty.GAS_FRACTION), qty.GAS_FRACTION),
                                       ("co-in-flue", facts.constant("co-shift") * 1e-6, qty.CO_FRACTION))]
    best: Judged | None = None
    for name, before, after, limit, kind in pairs:
        if before is None or after is None:
            continue
        # The same cell a minute apart: only its noise counts, not its calibration.
        moved = after[0] - before[0] if name.startswith("oxygen") else abs(after[0] - before[0])
        chance = numbers.above(moved, 0.35 * max(before[1], after[1]) + 1e-9, limit)
        words = (f"{name.replace('-', ' ')} {qty.show(qty.from_si(before[0], kind), kind)} before the blower, "
                 f"{qty.show(qty.from_si(after[0], kind), kind)} after")
        if best is None or chance > best.probability:
            best = Judged(chance, words, (f"{name}-before-blower", f"{name}-after-blower"))
    return best


@rule("co-room")
def _co_room(facts: Facts, known: Finding) -> Judged | None:
    inside, outside = facts.gauge("co-indoors"), facts.gauge("co-outdoors") or (0.0, 1e-6)
    if inside is None:
        return None
    return _over((inside[0] - outside[0], 1.5e-6), _limit(known, qty.CO_FRACTION), qty.CO_FRACTION, "CO indoors above outdoors",
                 "looked at above", ("co-indoors", "co-outdoors"))


# ---------------------------------------------------------------- limit and control circuit

@rule("limit-opens-low")
def _limit_opens_low(facts: Facts, known: Finding) -> Judged | None:
    limit = facts.limit
    if limit is None or limit.opened_at is None or limit.marked is None:
        return None
    at, spread = numbers.si_of(limit.opened_at)
    marked = qty.si(limit.marked, qty.TEMPERATURE)
    gap = qty.show(qty.from_si(abs(marked - at), RISE), RISE)
    weak = -_limit(known, RISE)
    return Judged(numbers.above(marked - at, spread, weak),
                  f"limit opened at {qty.show(limit.opened_at.value, qty.TEMPERATURE)}, {gap} "
                  f"{'under' if at <= marked else 'over'} its marking "
                  f"(weak from {qty.show(qty.from_si(weak, RISE), RISE)} under)", ("limit-opened-at",))


@rule("limit-volts")
def _limit_volts(facts: Facts, known: Finding) -> Judged | None:
    read = facts.gauge("volts-across-limit")
    # Near control voltage the limit is open, which is no contact drop.
    if read is None or read[0] > 15:
        return None
    return _over(read, _limit(known, qty.VOLTAGE), qty.VOLTAGE, "across the closed limit", "looked at above", ("volts-across-limit",))


@rule("other-device-open")
def _other_device_open(facts: Facts, known: Finding) -> Judged | None:
    names = [r for r in facts.found.readings
             if r.startswith("volts-across-") and r not in ("volts-across-limit", "volts-across-board-limit-input")]
    best = max((numbers.value(facts.found.readings[r], facts.knowledge), r) for r in names) if names else None
    if best is None:
        return None
    words = f"{best[0]:.1f} V {best[1].removeprefix('volts-').replace('-', ' ')}"
    return Judged(numbers.above(best[0], 2.0, 12.0), words, (best[1],))


@rule("control-volts-missing")
def _control_volts(facts: Facts, known: Finding) -> Judged | None:
    read = facts.gauge("secondary-volts")
    return None if read is None else _over(read, _limit(known, qty.VOLTAGE), qty.VOLTAGE, "secondary", "missing below",
                                           ("secondary-volts",), below=True)


# ---------------------------------------------------------------- blower

def _against_plate(facts: Facts, reading: str, plate: Quantity | None, kind: Kind, share: float, words: str,
                   below: bool) -> Judged | None:
    read = facts.gauge(reading)
    if read is None or plate is None:
        return None
    limit = share * qty.si(plate, kind)
    return _over(read, limit, kind, words, "low below" if below else "high above", (reading,), below)


@rule("speed-slow")
def _speed_slow(facts: Facts, known: Finding) -> Judged | None:
    blower = facts.case.file.blower
    return _against_plate(facts, "motor-speed", blower.speed if blower else None, qty.SPEED, _limit(known, qty.RATIO), "motor speed", True)


@rule("capacitor-low")
def _capacitor_low(facts: Facts, known: Finding) -> Judged | None:
    blower = facts.case.file.blower
    return _against_plate(facts, "capacitor", blower.capacitor if blower else None, qty.CAPACITANCE, _limit(known, qty.RATIO),
                          "capacitor", True)


@rule("amps-high")
def _amps_high(facts: Facts, known: Finding) -> Judged | None:
    blower = facts.case.file.blower
    return _against_plate(facts, "motor-amps", blower.full_load if blower else None, qty.CURRENT, 1.0,
                          "motor current", False)


@rule("amps-low")
def _amps_low(facts: Facts, known: Finding) -> Judged | None:
    blower, low = facts.case.file.blower, _airflow_low(facts, known)
    judged = _against_plate(facts, "motor-amps", blower.full_load if blower else None, qty.CURRENT, _limit(known, qty.RATIO),
                            "motor current", True)
    if judged is None or low is None:
        return None
    return Judged(judged.probability * low.probability, f"{judged.because}; {low.because}", judged.readings)


# ---------------------------------------------------------------- flame, suction, rooms, load

@rule("flame-current-low")
def _flame_low(facts: Facts, known: Finding) -> Judged | None:
    furnace, read = facts.case.file.furnace, facts.gauge("flame-current")
    if read is None:
        return None
    least = qty.si(furnace.flame_current_minimum, qty.FLAME_CURRENT) if furnace and furnace.flame_current_minimum \
        else facts.constant("flame-current-least") * 1e-6
    usual = qty.si(furnace.flame_current_usual, qty.FLAME_CURRENT) if furnace and furnace.flame_current_usual else 0.0
    return _over(read, max(least, usual / 2), qty.FLAME_CURRENT, "flame current", "low below", ("flame-current",), True)


@rule("flame-current-restored")
def _flame_restored(facts: Facts, known: Finding) -> Judged | None:
    before = facts.gauge("flame-current")
    cleaned = next((s for s in facts.sets if s.phase == "changed" and "flame-current" in s.readings
                    and any("rod" in part for part in s.state)), None)
    furnace = facts.case.file.furnace
    if before is None or cleaned is None:
        return None
    after = numbers.value(cleaned.readings["flame-current"], facts.knowledge)
    usual = qty.si(furnace.flame_current_usual, qty.FLAME_CURRENT) if furnace and furnace.flame_current_usual else 2e-6
    kind = qty.FLAME_CURRENT
    return Judged(numbers.above(after, 0.1 * usual, 0.6 * usual),
                  f"rod cleaned: {qty.show(qty.from_si(before[0], kind), kind)} became "
                  f"{qty.show(qty.from_si(after, kind), kind)}, usual {qty.show(qty.from_si(usual, kind), kind)}",
                  ("flame-current",))


@rule("bond-bad")
def _bond_bad(facts: Facts, known: Finding) -> Judged | None:
    read = facts.gauge("neutral-to-burner")
    return None if read is None else _over(read, _limit(known, qty.VOLTAGE), qty.VOLTAGE, "neutral to burner", "looked at above",
                                           ("neutral-to-burner",))


@rule("suction-low")
def _suction_low(facts: Facts, known: Finding) -> Judged | None:
    furnace = facts.case.file.furnace
    switch = furnace.pressure_switch if furnace else None
    read = facts.taken("suction-at-pressure-switch", "suction-at-start", "suction-at-end")
    if switch is None or read is None:
        return None
    value = abs(numbers.value(read, facts.knowledge)), numbers.sd(read, facts.knowledge)
    limit = abs(qty.si(switch.closes, qty.GAS_PRESSURE))
    return _over(value, limit, qty.AIR_PRESSURE, "suction", "switch closes at", (read.reading,), below=True)


@rule("suction-fades")
def _suction_fades(facts: Facts, known: Finding) -> Judged | None:
    start, end = facts.gauge("suction-at-start"), facts.gauge("suction-at-end")
    if start is None or end is None:
        return None
    lost = abs(start[0]) - abs(end[0]), math.hypot(start[1], end[1])
    return _over(lost, _limit(known, qty.RATIO) * abs(start[0]), qty.AIR_PRESSURE, "suction lost in the run", "looked at above",
                 ("suction-at-start", "suction-at-end"))


@rule("room-pressure")
def _room_pressure(facts: Facts, known: Finding) -> Judged | None:
    read = facts.gauge("room-pressure")
    return None if read is None else _over(read, _limit(known, qty.ROOM_PRESSURE), qty.ROOM_PRESSURE,
                                           "shut room above hall", "looked at above", ("room-pressure",))


@rule("room-flow-low")
def _room_flow_low(facts: Facts, known: Finding) -> Judged | None:
    flow, share = facts.gauge("room-flow-open"), facts.gauge("room-share")
    if flow is None or share is None:
        return None
    return _over((flow[0], flow[1]), _limit(known, qty.RATIO) * share[0], qty.AIRFLOW, "room flow", "four fifths of its share",
                 ("room-flow-open", "room-share"), below=True)


@rule("door-open-helps")
def _door_open(facts: Facts, known: Finding) -> Judged | None:
    open_, shut = facts.gauge("room-flow-open"), facts.gauge("room-flow-closed")
    if open_ is None or shut is None:
        return None
    ratio = open_[0] / shut[0]
    return _over((ratio, 0.05 * ratio), 1 + _limit(known, qty.RATIO), qty.SHARE, "room flow with the door open",
                 "helps above", ("room-flow-open", "room-flow-closed"), of="that with it shut")


@rule("oversize")
def _oversize(facts: Facts, known: Finding) -> Judged | None:
    loss = facts.case.file.site.design_heat_loss
    read = facts.gauge("design-heat-loss")
    watts = read[0] if read else numbers.optional_si(loss, qty.HEAT_RATE)
    if watts is None or facts.heat.output is None:
        return None
    ratio = facts.heat.output / watts
    return _over((ratio, 0.1 * ratio), _limit(known, qty.RATIO), qty.SHARE, "output", "oversized above", (),
                 of="the design heat loss")


# ---------------------------------------------------------------- one change at a time

def _helps(known: Finding, base: ReadingSet | None, changed: ReadingSet | None, words: str) -> Judged | None:
    if base is None or changed is None or base.rise is None or changed.rise is None:
        return None
    before, after = numbers.si_of(base.rise), numbers.si_of(changed.rise)
    # Same probes, minutes apart: their common error drops out, half of their spread is kept.
    return _over((before[0] - after[0], 0.5 * math.hypot(before[1], after[1])), _limit(known, RISE), RISE,
                 words, "counts from", changed.rise.readings)


@rule("filter-out-helps")
def _filter_out(facts: Facts, known: Finding) -> Judged | None:
    return _helps(known, facts.found, facts.change({"filter": "removed"}), "filter out: rise falls by")


@rule("return-open-helps")
def _return_open(facts: Facts, known: Finding) -> Judged | None:
    return _helps(known, facts.change({"filter": "removed"}),
                  facts.change({"filter": "removed", "return": "opened"}),
                  "return opened as well: rise falls by a further")


@rule("supply-open-helps")
def _supply_open(facts: Facts, known: Finding) -> Judged | None:
    return _helps(known, facts.found, facts.change({"supply": "opened"}), "supply opened: rise falls by")


@rule("opening-changes-nothing")
def _nothing(facts: Facts, known: Finding) -> Judged | None:
    opened = [s for s in facts.sets if s.phase == "changed"
              and {"return", "supply"} <= {p for p, h in s.state.items() if _how(h) == "opened"}]
    judged = _helps(known, facts.found, opened[-1] if opened else None, "return and supply opened: rise falls by")
    return None if judged is None else Judged(1 - judged.probability, judged.because, judged.readings)


@rule("speed-up-helps")
def _speed_up(facts: Facts, known: Finding) -> Judged | None:
    limits = _rise_range(facts)
    faster = next((s for s in facts.sets if s.phase == "changed" and "blower" in s.state and s.rise), None)
    if limits is None or faster is None or faster.rise is None:
        return None
    return _over_estimate(faster.rise, limits[1], "rise at the next setting", "plate maximum", below=True)
