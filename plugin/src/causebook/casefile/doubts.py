"""Readings that can hardly be so: kept, struck with their reason until the case file answers for them.

A doubtful reading never stops a case, and never settles one.  What is plausible stands in the knowledge (`ranges`
and `differences` of bounds.yml).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from causebook import quantity as qty
from causebook.casefile.meant import meant
from causebook.casefile.model import CaseStep, Taken
from causebook.casefile.possible import for_mode, mode_of
from causebook.knowledge.bounds import read_bounds
from causebook.knowledge.model import Knowledge
from causebook.quantity import KINDS, TEMPERATURE_DIFFERENCE, Kind, Quantity, show, si

RISE_TOLERANCE = qty.q(1.5, "delta_degF")
"""Rounding of three readings to whole degrees; common practice, no source."""
PRESSURE_TOLERANCE = qty.q(0.02, "inwc")
"""Two steps of a gauge that shows 0.01 in. w.c.; common practice, no source."""
WHEEL_AFTER_TAP = 4
"""The wheel stands between tap 4 (blower box) and tap 5 (furnace outlet)."""
HOSES = "check for swapped hoses"


@dataclass(frozen=True, slots=True)
class Doubt:
    """A reading that can hardly be so: the rule of the review that doubts it, and why."""

    taken: Taken
    rule: str
    found: str
    expected: str
    hint: str = ""
    strikes: tuple[Taken, ...] = ()
    """What does not count while it is not answered."""

    @property
    def why(self) -> str:
        """The reason in a sentence, for the page."""
        said = f"{self.found}; expected {self.expected}"
        return f"{said[:1].upper()}{said[1:]}" + (f" ({self.hint})" if self.hint else "") + "."


def doubts(steps: Sequence[CaseStep], answered: Mapping[str, str], knowledge: Knowledge) -> tuple[Doubt, ...]:
    """What is doubtful in each step, in order; nothing under a rule that the case file answers."""
    return tuple(
        doubt
        for step in steps
        for check in (_out_of_range, _out_of_step, _wrong_side, _uphill, _no_difference)
        for doubt in check(step, knowledge)
        if not answered.get(doubt.rule)
    )


def valid(step: CaseStep) -> dict[str, Taken]:
    """The readings of a step that its author counts, by id."""
    return {taken.reading: taken for taken in step.readings if not taken.void}


def standard_uncertainty(taken: Taken, knowledge: Knowledge) -> float:
    """That of a reading [SI; of a temperature a difference]: the author's, else its instrument's usual one."""
    kind = KINDS[knowledge.readings[taken.reading].kind]
    spread = TEMPERATURE_DIFFERENCE if kind.si == "K" else kind
    if taken.sd is not None:
        return si(taken.sd, spread)
    accuracy = knowledge.readings[taken.reading].accuracy
    fixed = si(qty.parse(accuracy.fixed, spread), spread) if accuracy.fixed else 0.0
    return math.hypot(accuracy.relative * si(taken.value, kind) if kind.si != "K" else 0.0, fixed)


def _kind(taken: Taken, knowledge: Knowledge) -> Kind:
    return KINDS[knowledge.readings[taken.reading].kind]


def _named(taken: Taken, knowledge: Knowledge) -> str:
    return f"{knowledge.readings[taken.reading].name.lower()} {show(taken.value, _kind(taken, knowledge))}"


def _slip(value: Quantity, kind: Kind, words: str) -> str:
    likely = meant(value, kind, read_bounds(words, kind))
    return f"meant {likely}?" if likely else "check the decimal point and the unit"


def _out_of_range(step: CaseStep, knowledge: Knowledge) -> Iterator[Doubt]:
    for name, taken in valid(step).items():
        range_, kind = knowledge.ranges.get(name), _kind(taken, knowledge)
        words = for_mode(range_.plausible, step.step.mode) if range_ else ""
        if words and not read_bounds(words, kind).hold(si(taken.value, kind)):
            yield Doubt(
                taken,
                "reading-doubtful",
                show(taken.value, kind),
                f"{knowledge.readings[name].name.lower()} {read_bounds(words, kind).words}",
                _slip(taken.value, kind, words),
                (taken,),
            )


def _out_of_step(step: CaseStep, knowledge: Knowledge) -> Iterator[Doubt]:
    """Two readings whose difference cannot be, though each alone might."""
    read = valid(step)
    alone = {id(doubt.taken) for doubt in _out_of_range(step, knowledge)}
    for rule in knowledge.differences.values():
        upper, lower = read.get(rule.reading), read.get(rule.less)
        if upper is None or lower is None or alone & {id(upper), id(lower)}:
            continue
        if rule.modes and mode_of(step.step.mode) not in rule.modes:
            continue
        kind = _kind(upper, knowledge)
        spread = TEMPERATURE_DIFFERENCE if kind.si == "K" else kind
        between = si(upper.value, kind) - si(lower.value, kind)
        limits = read_bounds(rule.plausible, spread)
        if not limits.hold(between):
            shown = show(qty.from_si(between, spread), spread)
            swapped = rule.low if between < limits.low else rule.high
            yield Doubt(
                upper,
                "reading-doubtful",
                f"{_named(upper, knowledge)} less {_named(lower, knowledge)} is {shown}",
                f"a difference {limits.words}",
                swapped or "check both",
                (upper, lower),
            )


def taps(step: CaseStep, knowledge: Knowledge) -> list[tuple[int, Taken]]:
    """The valid air pressures of a step at numbered taps, going with the air."""
    found = [(knowledge.readings[name].tap, taken) for name, taken in valid(step).items()]
    return sorted(
        (
            (tap, taken)
            for tap, taken in found
            if tap is not None and taken.value.is_compatible_with(qty.AIR_PRESSURE.si)
        ),
        key=lambda pair: pair[0],
    )


def _slack(knowledge: Knowledge, *readings: Taken) -> float:
    """So far readings of pressure may be out of order: twice their standard uncertainty together [Pa]."""
    together = math.hypot(*(standard_uncertainty(taken, knowledge) for taken in readings))
    return max(si(PRESSURE_TOLERANCE, qty.AIR_PRESSURE), 2 * together) * (1 + 1e-9)


def _wrong_side(step: CaseStep, knowledge: Knowledge) -> Iterator[Doubt]:
    """Suction stands before the wheel and pressure after it."""
    for tap, taken in taps(step, knowledge):
        suction = tap <= WHEEL_AFTER_TAP
        against = si(taken.value, qty.AIR_PRESSURE) * (1 if suction else -1)
        if against > _slack(knowledge, taken):
            yield Doubt(
                taken,
                "pressure-order",
                f"{show(taken.value, qty.AIR_PRESSURE)} {'before' if suction else 'after'} the wheel",
                "suction (−) before the wheel, pressure (+) after it",
                f"{HOSES}, or a minus left out",
                (taken,),
            )


def _uphill(step: CaseStep, knowledge: Knowledge) -> Iterator[Doubt]:
    """Going with the air, pressure rises nowhere but across the wheel."""
    wrong = {id(doubt.taken) for doubt in _wrong_side(step, knowledge)}
    right = [pair for pair in taps(step, knowledge) if id(pair[1]) not in wrong]
    for (tap, taken), (next_tap, next_taken) in pairwise(right):
        rise = si(next_taken.value, qty.AIR_PRESSURE) - si(taken.value, qty.AIR_PRESSURE)
        one_side = (tap <= WHEEL_AFTER_TAP) == (next_tap <= WHEEL_AFTER_TAP)
        if one_side and rise > _slack(knowledge, taken, next_taken):
            yield Doubt(
                next_taken,
                "pressure-order",
                f"{show(next_taken.value, qty.AIR_PRESSURE)} follows {show(taken.value, qty.AIR_PRESSURE)}",
                "pressure that falls going with the air",
                HOSES,
                (taken, next_taken),
            )


def _no_difference(step: CaseStep, knowledge: Knowledge) -> Iterator[Doubt]:
    """A rise that was read is supply less return of the same step; the two temperatures go before it."""
    read = valid(step)
    if not {"rise", "supply-air", "return-air"} <= read.keys():
        return
    rise = si(read["rise"].value, TEMPERATURE_DIFFERENCE)
    between = si(read["supply-air"].value, qty.TEMPERATURE) - si(read["return-air"].value, qty.TEMPERATURE)
    if abs(rise - between) > si(RISE_TOLERANCE, TEMPERATURE_DIFFERENCE) * (1 + 1e-9):
        made = show(qty.from_si(between, TEMPERATURE_DIFFERENCE), TEMPERATURE_DIFFERENCE)
        yield Doubt(
            read["rise"],
            "rise-not-difference",
            f"{show(read['rise'].value, TEMPERATURE_DIFFERENCE)}, and supply less return is {made}",
            "the difference of the two",
            "",
            (read["rise"],),
        )
