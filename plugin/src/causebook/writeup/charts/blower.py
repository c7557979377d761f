"""Blower and duct: is it the blower or the path?

Airflow across, static pressure up: the fan table's line for the setting, the duct's own curve through each operating
point, and the points with their uncertainty.  Nothing of the blower is drawn beyond its table.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from causebook.belief.verdict import Role
from causebook.casefile.model import FanTable
from causebook.physics.air import STANDARD_DENSITY
from causebook.quantity import AIR_PRESSURE, AIRFLOW, us
from causebook.survey.airflow import setting_of
from causebook.survey.model import Estimate, Method, ReadingSet
from causebook.workup import Workup
from causebook.writeup.answer import least_airflow
from causebook.writeup.charts.model import Chart, Missing, drawn
from causebook.writeup.charts.style import (
    ACCENT,
    DASHED,
    INK,
    QUIET,
    RULE,
    SOLID,
    Scale,
    Sheet,
    number,
    sentence_of,
    text_width,
)

ID, TITLE, QUESTION = "blower-and-duct", "Blower and duct", "Is it the blower or the path?"
_NOTE = (
    "Line with dots: the fan table for the setting, at the density of this air. Thin curves: the ducts, static as "
    "airflow squared. Ellipses hold the true point 19 times in 20. Hatched: enough air for the plate's rise, "
    "from its limit to its middle."
)


@dataclass(frozen=True, slots=True)
class Operating:
    """One operating point: airflow [cfm] and static [in. w.c.] with standard uncertainties."""

    name: str
    flow: float
    flow_sd: float
    static: float
    static_sd: float
    table_flow: float | None
    """What the fan table gives at that static [cfm]; None beyond the table."""

    @property
    def missing(self) -> float:
        """Air the table promises and the duct does not get [cfm]; 0 within the uncertainty of both."""
        if self.table_flow is None:
            return 0.0
        short = self.table_flow - self.flow
        # 15 % is how far a sound blower may stray from its table (common practice, no source)
        return short if short > max(2 * self.flow_sd, 0.15 * self.table_flow) else 0.0


def _own_flow(readings: ReadingSet) -> Estimate | None:
    """The airflow known without the fan table where the methods disagree, else the combined one."""
    if readings.agree is False:
        return next((e for e in readings.airflow if e.method is not Method.FAN_TABLE), readings.best_airflow)
    return readings.best_airflow


def _operating(name: str, readings: ReadingSet | None) -> Operating | None:
    if readings is None or readings.static is None or (flow := _own_flow(readings)) is None:
        return None
    table = next((e for e in readings.airflow if e.method is Method.FAN_TABLE), None)
    return Operating(
        name,
        us(flow.value, AIRFLOW),
        us(flow.sd, AIRFLOW),
        us(readings.static.value, AIR_PRESSURE),
        us(readings.static.sd, AIR_PRESSURE),
        None if table is None else us(table.value, AIRFLOW),
    )


@dataclass(frozen=True, slots=True)
class Line:
    """One setting of the fan table, statics [in. w.c.] and airflows [cfm] at the density of this air."""

    setting: str
    static: tuple[float, ...]
    flow: tuple[float, ...]


def _line(table: FanTable, setting: str, density_ratio: float) -> Line | None:
    """One setting of the fan table, its blank cells left out; None where nothing is printed for it."""
    printed = [
        (s * density_ratio, f)
        for s, f in zip(table.static, table.airflow.get(setting, ()), strict=False)
        if f is not None
    ]
    return Line(setting, tuple(s for s, _ in printed), tuple(f for _, f in printed)) if printed else None


def chart(workup: Workup) -> Chart | Missing:
    """The fan table's line with the points found and after, each with the setting it was read at."""
    table, blower, survey = workup.case.fan_table, workup.case.file.blower, workup.survey
    if table is None:
        return Missing(ID, TITLE, "not drawn: the case has no fan table")
    if blower is None or blower.setting not in table.airflow:
        return Missing(ID, TITLE, "not drawn: the fan table has no column for the blower's setting")
    ratio = float((survey.air.density / STANDARD_DENSITY).to("").magnitude)
    settings = [setting_of(workup.case, s.state) for s in (survey.found, survey.after) if s is not None]
    lines = [line for setting in dict.fromkeys([blower.setting, *settings]) if (line := _line(table, setting, ratio))]
    if not lines or lines[0].setting != blower.setting:
        return Missing(ID, TITLE, "not drawn: the fan table is blank for the blower's setting")
    points = [
        p
        for name, s in (("as found", survey.found), ("after repair", survey.after))
        if (p := _operating(name, s)) is not None
    ]
    if not points:
        note = survey.found.static_note if survey.found else ""
        return Missing(ID, TITLE, f"not drawn: {note or 'external static and airflow were not both read'}")
    plate = workup.case.file.furnace.static_maximum if workup.case.file.furnace else None
    least, cooling = least_airflow(workup), survey.found is not None and survey.found.mode == "cooling"
    middle = None if cooling else survey.middle_airflow
    view = View(
        tuple(lines),
        tuple(points),
        None if least is None else us(least, AIRFLOW),
        None if middle is None else us(middle, AIRFLOW),
        None if plate is None else us(plate, AIR_PRESSURE),
        "the coil" if cooling else "the plate's rise",
        _by_setting(workup),
    )
    return drawn(ID, TITLE, QUESTION, _sentence(view), lambda s, narrow: _draw(s, view, narrow), _table(view), _NOTE)


def _by_setting(workup: Workup) -> bool:
    """Is the root the setting itself?"""
    known = workup.knowledge.causes
    return any(
        e.on == "setting" for c in workup.verdict.with_role(Role.ROOT) if c.id in known for e in known[c.id].effects
    )


@dataclass(frozen=True, slots=True)
class View:
    """All that is drawn, in cfm and in. w.c."""

    lines: tuple[Line, ...]
    """Of the setting found, and of any other that a point was read at."""
    points: tuple[Operating, ...]
    minimum: float | None
    middle: float | None
    plate_static: float | None
    needing: str
    """What the least airflow is for."""
    by_setting: bool
    """Is the setting itself the root?"""

    @property
    def holder(self) -> str:
        """What holds a sound blower below the airflow needed: not the path where its static is within the rating."""
        easy = self.plate_static is not None and self.points[0].static <= self.plate_static
        return "the setting" if self.by_setting or easy else "the path"


def _sentence(view: View) -> str:
    first = view.points[0]
    where = f"at {number(first.static, 2)} in. w.c."
    if first.missing:
        text = (
            f"the blower moves {number(first.flow)} of the {number(first.table_flow or 0)} cfm its table gives "
            f"{where}: the air is missing at the blower, not in the ducts"
        )
    elif first.table_flow is None:
        text = f"the blower moves {number(first.flow)} cfm {where}, which is beyond its table"
    else:
        text = (
            f"the blower does what its table says, {number(first.flow)} cfm against {number(first.table_flow)} {where}"
        )
        if view.minimum is not None and first.flow < view.minimum:
            text += f"; {view.holder} holds it below the {number(view.minimum)} cfm {view.needing} needs"
    if first.name != "as found":
        text = f"after the repair {text}"
    if len(view.points) > 1:
        last = view.points[-1]
        text += f"; after the repair {number(last.flow)} cfm at {number(last.static, 2)}"
    return sentence_of(text)


def _table(view: View) -> tuple[tuple[str, ...], ...]:
    rows = [("What", "Airflow [cfm]", "Static [in. w.c.]")]
    rows += [
        (p.name, f"{number(p.flow)} ± {number(p.flow_sd)}", f"{number(p.static, 2)} ± {number(p.static_sd, 3)}")
        for p in view.points
    ]
    rows += [
        (
            f"fan table at the static {p.name}",
            "beyond the table" if p.table_flow is None else number(p.table_flow),
            number(p.static, 2),
        )
        for p in view.points
    ]
    rows += [
        (f"fan table, {line.setting}", number(f), number(s, 2))
        for line in view.lines
        for s, f in zip(line.static, line.flow, strict=True)
    ]
    if view.minimum is not None:
        rows.append((f"least airflow for {view.needing}", number(view.minimum), ""))
    if view.middle is not None:
        rows.append(("airflow for the middle of the plate's rise", number(view.middle), ""))
    if view.plate_static is not None:
        rows.append(("plate maximum", "", number(view.plate_static, 2)))
    return tuple(rows)


def _draw(sheet: Sheet, view: View, narrow: bool) -> None:
    left, right, top, tall = 44.0, sheet.width - (14.0 if narrow else 150.0), 54.0 if narrow else 40.0, 290.0
    bottom = top + tall
    sheet.height = bottom + 44
    flows = [
        *(f for line in view.lines for f in line.flow),
        *(p.flow for p in view.points),
        *(f for f in (view.minimum, view.middle) if f),
    ]
    statics = [*(s for line in view.lines for s in line.static), *(p.static for p in view.points)]
    room = (max(flows) - min(flows)) * (0.55 if narrow else 0.24)  # for words left of the leftmost point
    x = Scale(max(min(flows) - room, 0.0), max(flows) + 0.12 * room, left, right)
    y = Scale(0.0, max(statics) * 1.04, bottom, top)
    if view.minimum is not None and view.middle is not None:
        sheet.allowed(x(view.minimum), top, x(view.middle) - x(view.minimum), tall)
        words = f"enough air: {number(view.minimum)} to {number(view.middle)} cfm"
        middle = min((x(view.minimum) + x(view.middle)) / 2, right - text_width(words, 12.5) / 2)
        sheet.text(middle, top - 8, words, anchor="middle", size=12.5 if narrow else 13)
    _axes(sheet, x, y, left, right, bottom, narrow)
    if view.plate_static is not None:
        sheet.line((left, y(view.plate_static)), (right, y(view.plate_static)), width=RULE)
    for n, point in enumerate(view.points):
        _duct_curve(sheet, x, y, point, dashed=n > 0)
    for n, line in enumerate(view.lines):
        ends = [(x(f), y(s)) for f, s in zip(line.flow, line.static, strict=True)]
        sheet.line(*ends, dash=DASHED if n else SOLID)
        for end in ends:
            sheet.dot(*end, radius=2.5)
        _fan_name(sheet, ends, line.setting, narrow, right, upper=n > 0)
    if view.plate_static is not None:
        at, words = y(view.plate_static), f"plate maximum {number(view.plate_static, 2)}"
        sheet.text(*((left + 4, at + 16) if narrow else (right + 8, at + 4.5)), words)
    for n, point in enumerate(view.points):
        _point(sheet, x, y, point, view, dashed=n > 0)


def _axes(sheet: Sheet, x: Scale, y: Scale, left: float, right: float, bottom: float, narrow: bool) -> None:
    sheet.line((left, bottom), (right, bottom), width=RULE)
    for tick in y.ticks(6):
        sheet.text(left - 8, y(tick) + 4.5, number(tick, 1), anchor="end", ink=QUIET)
        sheet.line((left - 4, y(tick)), (left, y(tick)), width=RULE)
    for tick in x.ticks(4 if narrow else 7):
        sheet.line((x(tick), bottom), (x(tick), bottom + 4), width=RULE)
        sheet.text(x(tick), bottom + 18, number(tick), anchor="middle", ink=QUIET)
    sheet.text((left + right) / 2, bottom + 36, "airflow, cfm", anchor="middle", ink=QUIET)
    sheet.text(0, 14, "external static, in. w.c.", ink=QUIET)


def _duct_curve(sheet: Sheet, x: Scale, y: Scale, point: Operating, dashed: bool) -> None:
    most = min(x.high, point.flow * math.sqrt(y.high / point.static)) if point.static > 0 else x.high
    flows = np.linspace(x.low, most, 24)
    sheet.line(
        *((x(f), y(point.static * (f / point.flow) ** 2)) for f in flows),
        ink=QUIET,
        width=1.25,
        dash=DASHED if dashed else SOLID,
    )


def _point(sheet: Sheet, x: Scale, y: Scale, point: Operating, view: View, dashed: bool) -> None:
    px, py = x(point.flow), y(point.static)
    ink = INK if dashed else ACCENT
    sheet.ellipse(
        px,
        py,
        2 * point.flow_sd * x.slope,
        2 * point.static_sd * abs(y.slope),
        edge=ink,
        line=1.5,
        dash=DASHED if dashed else SOLID,
    )
    sheet.dot(px, py, ink=ink)
    words = [point.name, f"{number(point.flow)} cfm"]
    width = max(text_width(w, sheet.text_size, True) for w in words)
    if point.missing and point.table_flow is not None:
        sheet.arrow((px + 8, py), (x(point.table_flow), py), ink=ACCENT)
        gap = f"missing air: {number(point.missing)} cfm"
        sheet.text(
            (px + x(point.table_flow)) / 2, py - 10, gap, anchor="middle", bold=True, ink=ACCENT, size=sheet.text_size
        )
        sheet.text(max(px, x.from_px + width / 2 + 2), py + 26, words, anchor="middle", bold=True)
        return
    # left of the point only the duct curve passes, low; right of it and above, only the same curve, high
    high = 2 * point.static_sd * abs(y.slope) + 8
    near = [p for p in view.points if abs(y(p.static) - py) < 34]
    left = min(x(p.flow) - 2 * p.flow_sd * x.slope for p in near) - 8
    right = max(x(p.flow) + 2 * p.flow_sd * x.slope for p in near) + 8
    sheet.text_where_free(
        [
            (left, py - 4, "end"),
            (px + 6, py - high - 22, "start"),
            (right, py - 12, "start"),
            (left, py - 38, "end"),
            (left, py + 34, "end"),
            (px - 6, py + high + 16, "end"),
            (px - 4, py + high + 16, "start"),
        ],
        words,
        bold=not dashed,
    )


def _fan_name(
    sheet: Sheet, ends: list[tuple[float, float]], setting: str, narrow: bool, right: float, upper: bool
) -> None:
    """At the foot of the line; on a phone a second line is named at its top, clear of the first."""
    words = [f"fan table, {setting}"] if narrow else ["fan table,", setting]
    px, py = ends[0]
    if narrow and upper:
        sheet.text(ends[-1][0] + 10, ends[-1][1] + 3, setting)
    elif narrow:
        sheet.text(min(px + 8, right), py + 20 if py + 24 < sheet.height - 44 else py - 10, words, anchor="end")
    else:
        sheet.text(px + 10, py - 6, words)
