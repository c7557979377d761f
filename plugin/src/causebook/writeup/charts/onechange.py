"""One change at a time: what did each change do?

A dot for each condition on one axis of temperature rise, the plate's range hatched.  Filled dots were measured, open
ones calculated with the air path as identified.
"""

from __future__ import annotations

from dataclasses import dataclass

from causebook.quantity import TEMPERATURE_DIFFERENCE, us
from causebook.workup import Workup
from causebook.writeup.charts.model import Chart, Missing, drawn
from causebook.writeup.charts.style import (
    ACCENT,
    INK,
    QUIET,
    RULE,
    Scale,
    Sheet,
    joined,
    number,
    sentence_of,
    text_width,
    wrap,
)

ID, TITLE, QUESTION = "one-change", "One change at a time", "What did each change do to the rise?"
_NOTE = "Filled: measured. Open: calculated with the drops as read. Hatched: the rise the plate allows."


@dataclass(frozen=True, slots=True)
class Condition:
    """The furnace in one condition and the rise there [°F]."""

    name: str
    rise: float
    measured: bool
    trips: bool
    changed: bool
    """Not merely as found or after repair: something was changed to see what it does."""


@dataclass(frozen=True, slots=True)
class View:
    """All that is drawn."""

    conditions: tuple[Condition, ...]
    low: float | None
    high: float | None

    def word(self, condition: Condition) -> str:
        """Where the rise stands against the plate."""
        if self.high is None or self.low is None:
            return ""
        above, below = condition.rise > self.high, condition.rise < self.low
        return f"above {number(self.high)}" if above else f"below {number(self.low)}" if below else "in range"

    @property
    def point(self) -> Condition | None:
        """The first change that brings the rise into range, measured before calculated."""
        good = [c for c in self.conditions if c.changed and self.word(c) == "in range"]
        return good[0] if good else None


def _conditions(workup: Workup) -> tuple[Condition, ...]:
    tripped = {log.phase for log in workup.survey.logs if log.trips}
    measured = [
        Condition(
            s.name.removeprefix("changed: "),
            us(s.rise.value, TEMPERATURE_DIFFERENCE),
            True,
            s.phase == "found" and "found" in tripped,
            s.phase == "changed",
        )
        for s in workup.survey.sets
        if s.rise is not None
    ]
    calculated = [
        Condition(w.change, us(w.rise, TEMPERATURE_DIFFERENCE), False, bool(w.trips), bool(w.repairs))
        for w in workup.verdict.what_ifs
        if w.rise is not None
    ]
    return (*measured, *calculated)


def chart(workup: Workup) -> Chart | Missing:
    """Every condition measured or calculated."""
    conditions = _conditions(workup)
    if not any(c.changed for c in conditions):
        return Missing(ID, TITLE, "not drawn: no change was tried or calculated")
    furnace = workup.case.file.furnace
    low, high = (
        (us(r, TEMPERATURE_DIFFERENCE) for r in furnace.rise) if furnace and furnace.rise is not None else (None, None)
    )
    view = View(conditions, low, high)
    return drawn(ID, TITLE, QUESTION, _sentence(view), lambda s, narrow: _draw(s, view, narrow), _table(view), _NOTE)


def _sentence(view: View) -> str:
    def told(c: Condition) -> str:
        word = view.word(c)
        return f"{c.name}, {number(c.rise, 1)} °F" + (f", {word}" if word else "")

    tried = [told(c) for c in view.conditions if c.measured and c.changed]
    text = sentence_of("; ".join(tried)) if tried else ""
    reckoned = [c for c in view.conditions if not c.measured and c.changed]
    if not reckoned or view.high is None:
        return text
    good = [f"“{c.name}”" for c in reckoned if view.word(c) == "in range"]
    if not good:
        return f"{text} Calculated, none of {len(reckoned)} changes brings the rise into range.".strip()
    only = "only " if len(good) < len(reckoned) else ""
    verb = "bring" if len(good) > 1 else "brings"
    return f"{text} {sentence_of(f'calculated, {only}{joined(good)} {verb} the rise into range')}".strip()


def _table(view: View) -> tuple[tuple[str, ...], ...]:
    rows = [("Condition", "Rise [°F]", "Against the plate", "Limit", "Known by")]
    rows += [
        (
            c.name,
            number(c.rise, 1),
            view.word(c),
            "opens" if c.trips else "",
            "measured" if c.measured else "calculated",
        )
        for c in view.conditions
    ]
    return tuple(rows)


def _draw(sheet: Sheet, view: View, narrow: bool) -> None:
    labels, top, row = (8.0, 24.0, 44.0) if narrow else (270.0, 24.0, 30.0)
    right = sheet.width - (8 if narrow else 124)
    rises = [c.rise for c in view.conditions] + [b for b in (view.low, view.high) if b is not None]
    margin = 0.10 * (max(rises) - min(rises))
    x = Scale(min(rises) - margin, max(rises) + margin, labels, right)
    groups = [g for known in (True, False) if (g := [c for c in view.conditions if c.measured is known])]
    names = {
        c: wrap(c.name, sheet.width - 4 if narrow else labels - 16, sheet.text_size, bold=True, lines=2)
        for c in view.conditions
    }
    heights = {c: row + 17 * (len(lines) - 1) for c, lines in names.items()}
    tall = sum(24 + sum(heights[c] for c in g) for g in groups)
    if view.low is not None and view.high is not None:
        if not narrow:
            sheet.allowed(x(view.low), top, x(view.high) - x(view.low), tall)
            for edge in (view.low, view.high):
                sheet.line((x(edge), top), (x(edge), top + tall), width=RULE)
        sheet.text(
            (x(view.low) + x(view.high)) / 2,
            top - 8,
            f"plate: {number(view.low)} to {number(view.high)} °F",
            anchor="middle",
        )
    y = top
    for group in groups:
        sheet.text(0, y + 17, "measured" if group[0].measured else "calculated", ink=QUIET)
        y += 24
        for condition in group:
            _row(sheet, view, condition, names[condition], x, y, heights[condition], labels)
            y += heights[condition]
    sheet.line((labels, y), (right, y), width=RULE)
    for tick in x.ticks(5 if narrow else 7):
        sheet.line((x(tick), y), (x(tick), y + 4), width=RULE)
        sheet.text(x(tick), y + 18, number(tick), anchor="middle", ink=QUIET)
    sheet.text((labels + right) / 2, y + 35, "temperature rise, °F", anchor="middle", ink=QUIET)
    sheet.height = y + 42


def _row(
    sheet: Sheet, view: View, condition: Condition, name: list[str], x: Scale, y: float, row: float, labels: float
) -> None:
    point = condition == view.point
    ink = ACCENT if point else INK
    value = number(condition.rise, 1) + (", limit opens" if condition.trips else "")
    sheet.text(0, y + (14 if sheet.narrow else 4.5 + row / 2 - 8.5 * (len(name) - 1)), name, bold=point)
    middle = y + (row - 13 if sheet.narrow else row / 2)
    if sheet.narrow and view.low is not None and view.high is not None:  # strips leave the names clear
        sheet.allowed(x(view.low), middle - 9, x(view.high) - x(view.low), 18)
    sheet.line((labels, middle), (x(condition.rise), middle), width=0.6, ink=QUIET)
    sheet.dot(x(condition.rise), middle, filled=condition.measured, ink=ink, radius=5.5 if point else 5)
    wide = text_width(value, sheet.text_size, True) + 12
    left = x(condition.rise) + wide > sheet.width
    sheet.text(
        x(condition.rise) + (-10 if left else 10),
        middle + 4.5,
        value,
        bold=True,
        ink=ink,
        anchor="end" if left else "start",
    )
