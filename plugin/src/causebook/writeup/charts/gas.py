"""Gas check: is the heat right, and does the flame stay undisturbed?

Clocked input beside the plate's and, where altitude asks for it, the adjusted one; CO and oxygen in the flue before
and after the blower starts, as arrows.
"""

from __future__ import annotations

from dataclasses import dataclass

from causebook.quantity import CO_FRACTION, GAS_FRACTION, HEAT_RATE, HEATING_VALUE, show, us
from causebook.workup import Workup
from causebook.writeup.charts.model import Chart, Missing, drawn, value_of
from causebook.writeup.charts.style import ACCENT, INK, PAPER, QUIET, RULE, Scale, Sheet, number, sentence_of

ID, TITLE, QUESTION = "gas-check", "Gas check", "Is the heat right?"
_BEFORE_AFTER = (
    ("CO in flue", "co-in-flue", CO_FRACTION, "ppm"),
    ("oxygen in flue", "oxygen-in-flue", GAS_FRACTION, "%"),
)

_NOTE = "Solid: measured, with the span that holds the true input 19 times in 20. Hatched: what the plate allows."


@dataclass(frozen=True, slots=True)
class Bar:
    """One input [Btu/h]; `sd` where it was measured."""

    name: str
    value: float
    sd: float | None = None


@dataclass(frozen=True, slots=True)
class Shift:
    """A flue reading before and after the blower starts."""

    name: str
    before: float
    after: float
    unit: str
    digits: int


@dataclass(frozen=True, slots=True)
class View:
    """All that is drawn."""

    bars: tuple[Bar, ...]
    shifts: tuple[Shift, ...]

    @property
    def share(self) -> float:
        """Clocked input over the input it should be."""
        return self.bars[0].value / self.bars[-1].value


def _shifts(workup: Workup) -> tuple[Shift, ...]:
    found = []
    for name, id_, kind, unit in _BEFORE_AFTER:
        for readings in workup.survey.sets:
            before, after = (value_of(readings, f"{id_}-{when}-blower", kind) for when in ("before", "after"))
            if before is not None and after is not None:
                found.append(Shift(name, before, after, unit, 0 if unit == "ppm" else 1))
                break
    return tuple(found)


def chart(workup: Workup) -> Chart | Missing:
    """Clocked against plate."""
    clocked = next((s.input for s in workup.survey.sets if s.input is not None), None)
    furnace = workup.case.file.furnace
    if clocked is None:
        return Missing(ID, TITLE, "not drawn: the gas was not clocked")
    if furnace is None:
        return Missing(ID, TITLE, "not drawn: the plate's input is not recorded")
    bars = [
        Bar("clocked", us(clocked.value, HEAT_RATE), us(clocked.sd, HEAT_RATE)),
        Bar("plate", us(furnace.input, HEAT_RATE)),
    ]
    adjusted = workup.survey.plate_input
    if adjusted is not None and abs(us(adjusted, HEAT_RATE) / bars[1].value - 1) > 0.001:
        bars.append(Bar("plate at this altitude", us(adjusted, HEAT_RATE)))
    view = View(tuple(bars), _shifts(workup))
    value = workup.case.file.site.heating_value
    heat = "The heating value is not recorded." if value is None else f"Heating value {show(value, HEATING_VALUE)}."
    return drawn(
        ID, TITLE, QUESTION, _sentence(view), lambda s, narrow: _draw(s, view, narrow), _table(view), f"{_NOTE} {heat}"
    )


def _sentence(view: View) -> str:
    clocked, due = view.bars[0], view.bars[-1]
    text = (
        f"clocked {number(clocked.value)} Btu/h, {number(100 * view.share)} % of the {number(due.value)} it should be"
    )
    moved = [
        f"{s.name} {number(s.before, s.digits)} {s.unit} before and {number(s.after, s.digits)} after"
        for s in view.shifts
    ]
    return sentence_of(text) + (f" {sentence_of('at blower start: ' + ', '.join(moved))}" if moved else "")


def _table(view: View) -> tuple[tuple[str, ...], ...]:
    rows = [("What", "Value")]
    rows += [
        (b.name, number(b.value) + (f" ± {number(b.sd)}" if b.sd is not None else "") + " Btu/h") for b in view.bars
    ]
    for s in view.shifts:
        rows += [
            (f"{s.name} before the blower starts", f"{number(s.before, s.digits)} {s.unit}"),
            (f"{s.name} after the blower starts", f"{number(s.after, s.digits)} {s.unit}"),
        ]
    return tuple(rows)


def _draw(sheet: Sheet, view: View, narrow: bool) -> None:
    left, row, bar = (0.0, 46.0, 18.0) if narrow else (180.0, 32.0, 18.0)
    right = sheet.width - (128.0 if narrow else 150.0)
    most = max(b.value + 2 * (b.sd or 0.0) for b in view.bars)
    x = Scale(0, most, left, right)
    off = abs(view.share - 1) > 0.05 and abs(view.bars[0].value - view.bars[-1].value) > 2 * (view.bars[0].sd or 0.0)
    y = 4.0
    for n, each in enumerate(view.bars):
        at = y + (20 if narrow else 0)
        sheet.text(0 if narrow else left - 12, y + 14, each.name, anchor="start" if narrow else "end")
        if each.sd is not None:
            ink = ACCENT if off else INK
            sheet.box(left, at, x(each.value) - left, bar, fill=ink)
            low, high = x(each.value - 2 * each.sd), x(each.value + 2 * each.sd)
            for ink_, width in ((PAPER, 4.5), (INK, 1.75)):
                sheet.line((low, at + bar / 2), (high, at + bar / 2), ink=ink_, width=width)
            for end in (low, high):
                sheet.line((end, at + 3), (end, at + bar - 3), ink=PAPER if end == low else INK, width=1.75)
        else:
            sheet.allowed(left, at, x(each.value) - left, bar)
            sheet.box(left, at, x(each.value) - left, bar, edge=INK, line=1.25)
        edge = x(each.value + 2 * (each.sd or 0.0))
        sheet.text(max(edge, right) + 8, at + 14, f"{number(each.value)} Btu/h", bold=n == 0)
        y += row
    if not narrow:
        sheet.line((left, 0), (left, y - 10), width=RULE)
    if view.shifts:
        y += 10
        sheet.text(0, y + 12, "before and after the blower starts", ink=QUIET)
        y += 26
    for shift in view.shifts:
        y = _draw_shift(sheet, shift, y, left, right, narrow)
    sheet.height = y + 2


def _draw_shift(sheet: Sheet, shift: Shift, y: float, left: float, right: float, narrow: bool) -> float:
    """Two values on their own scale from zero, joined by an arrow in the direction of time."""
    at = y + (30 if narrow else 14)
    sheet.text(0 if narrow else left - 12, y + (12 if narrow else 18), shift.name, anchor="start" if narrow else "end")
    x = Scale(0, max(shift.before, shift.after, 1e-9) * 1.05, left + 4, right)
    sheet.line((left, at), (right, at), width=0.6, ink=QUIET)
    sheet.line((left, at - 7), (left, at + 7), width=RULE)
    start, end = x(shift.before), x(shift.after)
    moved = abs(end - start) > 24
    ink = ACCENT if moved else INK
    sheet.dot(start, at, filled=False)
    if moved:
        sheet.arrow((start + (6 if end > start else -6), at), (end, at), ink=ink, width=2.5)
    else:
        sheet.dot(end, at, radius=3.5)
    words = f"{number(shift.before, shift.digits)} → {number(shift.after, shift.digits)} {shift.unit}"
    sheet.text(right + 8, at + 4.5, words, bold=True, ink=ink)
    return y + (50 if narrow else 34)
