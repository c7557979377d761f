"""Run log: did it overheat, and when?

Supply and return air against time, found and after at equal scales.  The limit is metal and has its own scale above
the air's, so that nobody reads its marking off the air curve.  Burner, blower and limit stand as bars below.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from causebook.quantity import DURATION, PROBE_TEMPERATURE, TEMPERATURE_DIFFERENCE, Kind, us
from causebook.survey.model import RunLog
from causebook.workup import Workup
from causebook.writeup.charts.model import Chart, Missing, drawn
from causebook.writeup.charts.style import (
    ACCENT,
    DASHED,
    DOTTED,
    INK,
    QUIET,
    RULE,
    Scale,
    Sheet,
    clock,
    number,
    sentence_of,
)

ID, TITLE, QUESTION = "run-log", "Run log", "Did it overheat, and when?"
_NOTE = (
    "Supply and return are air. The hatched strip is the limit's own metal between closing and opening, on its "
    "own scale: it runs hotter than the air beside it. The line in it is worked out while the burner is lit: return "
    "plus a multiple of the rise, the multiple that its own trip shows, else the usual one. Dotted: where the supply "
    "air was heading, by the fit."
)
_PHASES = {"found": "as found", "after": "after repair"}
_EVENTS = ("burner", "blower", "limit")
Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Moment:
    """One moment of a run: minute, supply air and return air [°F]."""

    minute: float
    supply: float
    level: float | None


def trips_of(log: RunLog, workup: Workup) -> tuple[Moment, ...]:
    """Every trip of a log, at the warmest air before it; the first as it was read in that step, where it was."""
    trips = tuple(_logged(log, seconds) for seconds in log.trips)
    minute = _read(workup, log.step, "time-to-trip", DURATION)
    supply, level = (_read(workup, log.step, name, PROBE_TEMPERATURE) for name in ("supply-air-at-trip", "return-air"))
    if not trips:
        return ()
    first = trips[0]
    if supply is not None:
        first = replace(first, supply=supply, level=first.level if level is None else level)
    if minute is not None:
        first = replace(first, minute=minute / 60)
    return (first, *trips[1:])


def _logged(log: RunLog, seconds: float) -> Moment:
    """The sample of a trip, or the one before where the air had begun to cool by then."""
    opened = int(np.searchsorted(log.seconds, seconds))
    peak = opened - 1 if opened and log.supply[opened - 1] > log.supply[opened] else opened
    return Moment(log.seconds[peak] / 60, log.supply[peak], log.return_[peak] if log.return_ else None)


def _read(workup: Workup, step: int, reading: str, kind: Kind) -> float | None:
    """A reading of one step that counts, as a bare number in the US unit."""
    void = [v.taken for v in workup.survey.voided]
    return next(
        (
            us(t.value, kind)
            for s in workup.case.steps
            if s.number == step
            for t in s.readings
            if t.reading == reading and not t.void and t not in void
        ),
        None,
    )


@dataclass(frozen=True, slots=True)
class Panel:
    """One log as drawn: minutes and °F."""

    name: str
    minutes: tuple[float, ...]
    supply: tuple[float, ...]
    return_: tuple[float, ...]
    trips: tuple[Moment, ...]
    """When the limit opened."""
    relights: tuple[float, ...]
    heading: tuple[tuple[float, float], ...]
    """Minute and supply air where the run was heading, after the first trip."""
    steady: float | None
    """Steady supply air by the fit, when it had to be extrapolated."""
    events: tuple[tuple[str, tuple[Span, ...] | None], ...]
    """Burner, blower, limit -> spans on (limit: open); None when not logged."""


def _spans(minutes: tuple[float, ...], on: tuple[float, ...]) -> tuple[Span, ...]:
    """The spans in which a 0/1 column is 1."""
    spans, start = [], None
    for minute, value in zip(minutes, on, strict=True):
        if value and start is None:
            start = minute
        elif not value and start is not None:
            spans.append((start, minute))
            start = None
    return tuple(spans if start is None else [*spans, (start, minutes[-1])])


def _burner(trips: list[float], relights: list[float], end: float) -> tuple[Span, ...]:
    """On from each light to the next trip."""
    starts = [0.0, *relights]
    return tuple((s, min((t for t in trips if t > s), default=end)) for s in starts if s < end)


def _panel(log: RunLog, workup: Workup) -> Panel:
    minutes = tuple(s / 60 for s in log.seconds)
    trips = trips_of(log, workup)
    level = log.return_ or ()
    heading: tuple[tuple[float, float], ...] = ()
    steady = None
    if log.extrapolated and log.steady_rise is not None and level and trips:
        first, reached = trips[0].minute, trips[0].supply
        aim = float(np.mean(level)) + us(log.steady_rise.value, TEMPERATURE_DIFFERENCE)
        if aim > reached:
            steady = aim
            fitted = zip(minutes, log.fitted, strict=True) if log.fitted else ()
            heading = tuple((m, f) for m, f in fitted if m >= first and f >= reached - 1)
            heading = heading or ((first, steady), (minutes[-1], steady))
    step = next((s for s in workup.case.steps if s.number == log.step), None)
    columns = step.log.columns if step is not None and step.log is not None else {}
    burner = _burner([t.minute for t in trips], [r / 60 for r in log.relights], minutes[-1])
    known: dict[str, tuple[Span, ...] | None] = {"burner": burner, "blower": None, "limit": None}
    for name in _EVENTS:
        if name in columns and len(columns[name]) == len(minutes):
            known[name] = _spans(minutes, columns[name])
    return Panel(
        _PHASES.get(log.phase, log.phase),
        minutes,
        log.supply,
        level,
        trips,
        tuple(r / 60 for r in log.relights),
        heading,
        steady,
        tuple(known.items()),
    )


@dataclass(frozen=True, slots=True)
class View:
    """Both panels on one set of scales, in minutes and °F."""

    panels: tuple[Panel, ...]
    opens: float | None
    closes: float | None
    outlet: float | None
    body: float | None
    """Body of the limit above the return, as a multiple of the rise: what its trip shows, else the usual one."""

    @property
    def minutes(self) -> float:
        """The longest run."""
        return max(p.minutes[-1] for p in self.panels)

    @property
    def span(self) -> tuple[float, float]:
        """Lowest and highest air temperature that must fit."""
        values = [
            v
            for p in self.panels
            for v in (*p.supply, *p.return_, *(f for _, f in p.heading), *(t.supply for t in p.trips))
        ]
        return min(values), max([*values, *([] if self.outlet is None else [self.outlet])])


def _chosen(logs: tuple[RunLog, ...]) -> list[RunLog]:
    """The last log found, one with a trip before others, and the last after the repair."""
    found = [log for log in logs if log.phase != "after"]
    tripped = [log for log in found if log.trips]
    return [*(tripped or found)[-1:], *[log for log in logs if log.phase == "after"][-1:]]


def chart(workup: Workup) -> Chart | Missing:
    """The run found and the run after the repair."""
    logs = [log for log in _chosen(workup.survey.logs) if len(log.seconds) > 1]
    if not logs:
        return Missing(ID, TITLE, "not drawn: no temperatures were logged over a run")
    plate = workup.case.file.furnace
    limit = plate.limit if plate else None
    panels = tuple(_panel(log, workup) for log in logs)
    opens = us(limit.opens, PROBE_TEMPERATURE) if limit else None
    usual = workup.knowledge.constants.get("limit-body-factor")
    view = View(
        panels,
        opens,
        us(limit.closes, PROBE_TEMPERATURE) if limit and limit.closes is not None else None,
        us(plate.outlet_maximum, PROBE_TEMPERATURE) if plate and plate.outlet_maximum is not None else None,
        _body(panels, opens) or (usual.value if usual else None),
    )
    return drawn(ID, TITLE, QUESTION, _sentence(view), lambda s, narrow: _draw(s, view, narrow), _table(view), _NOTE)


def _body(panels: Sequence[Panel], opens: float | None) -> float | None:
    """The factor that this furnace's own first trip shows: its limit opened at its marking."""
    trips = [t for panel in panels for t in panel.trips if t.level is not None and t.supply > t.level]
    if opens is None or not trips or trips[0].level is None:
        return None
    return (opens - trips[0].level) / (trips[0].supply - trips[0].level)


def _sentence(view: View) -> str:
    words = []
    for panel in view.panels:
        late = "after the repair " if panel.name == _PHASES["after"] else ""
        if panel.trips:
            trip = panel.trips[0]
            over = "" if trip.level is None else f" over {number(trip.level, 1)} °F return"
            text = (
                f"{late}the limit opened {clock(60 * trip.minute)} after the burner lit, with "
                f"{number(trip.supply, 1)} °F supply air{over}"
            )
            if panel.steady is not None:
                text += f"; left alone the supply air was heading for {number(panel.steady, 1)} °F"
        else:
            text = (
                f"{late}it ran {number(panel.minutes[-1])} minutes without a trip and levelled off at "
                f"{number(panel.supply[-1], 1)} °F supply air"
            )
        words.append(sentence_of(text))
    return " ".join(words)


def _table(view: View) -> tuple[tuple[str, ...], ...]:
    rows = [("Run", "Time [min:s]", "Supply air [°F]", "Return air [°F]", "Event")]
    for panel in view.panels:
        trips = {t.minute: t for t in panel.trips}
        events = dict.fromkeys(trips, "limit opened") | dict.fromkeys(panel.relights, "burner relit")
        every = max(1, len(panel.minutes) // 20)
        times = sorted({*panel.minutes[::every], panel.minutes[-1], *events})
        for minute in times:
            here = trips.get(minute) or _at(panel, minute)
            level = "not logged" if here.level is None else number(here.level, 1)
            rows.append((panel.name, clock(60 * minute), number(here.supply, 1), level, events.get(minute, "")))
    return tuple(rows)


def _at(panel: Panel, minute: float) -> Moment:
    return Moment(
        minute,
        float(np.interp(minute, panel.minutes, panel.supply)),
        float(np.interp(minute, panel.minutes, panel.return_)) if panel.return_ else None,
    )


# ---------------------------------------------------------------- how it is drawn

_STRIP, _GAP, _AIR, _ROW = 46.0, 26.0, 210.0, 20.0


def _draw(sheet: Sheet, view: View, narrow: bool) -> None:
    left, gap = 92.0, 26.0
    count = 1 if narrow else len(view.panels)
    width = (sheet.width - left - 8.0 - gap * (count - 1)) / count
    tall = 26 + (_STRIP + _GAP if view.opens is not None else 0) + _AIR + 12 + 3 * _ROW + 44
    low, high = view.span
    for n, panel in enumerate(view.panels):
        x0 = left + (0 if narrow else n * (width + gap))
        top = n * (tall + 14) if narrow else 0.0
        _draw_panel(
            sheet, view, panel, Scale(0, view.minutes, x0, x0 + width), top, (low, high), named=narrow or n == 0
        )
    sheet.height = tall * (len(view.panels) if narrow else 1) + (14 * (len(view.panels) - 1) if narrow else 0)


def _draw_panel(
    sheet: Sheet, view: View, panel: Panel, x: Scale, top: float, span: tuple[float, float], named: bool
) -> None:
    left, right = x.from_px, x.to_px
    sheet.text(left, top + 15, panel.name, bold=True, size=sheet.text_size + 1)
    top += 26
    if view.opens is not None:
        _limit_strip(sheet, view, panel, x, top, named)
        top += _STRIP + _GAP
    y = Scale(span[0] - 0.14 * (span[1] - span[0]), span[1] + 0.15 * (span[1] - span[0]), top + _AIR, top)
    _air(sheet, view, panel, x, y, named)
    top += _AIR + 12
    for name, spans in panel.events:
        if named:
            sheet.text(left - 8, top + 13, f"{name} {'open' if name == 'limit' else 'on'}", anchor="end")
        if not spans:
            words = "not logged" if spans is None else "stayed closed" if name == "limit" else "stayed off"
            sheet.text(left, top + 13, words, ink=QUIET)
        for start, end in spans or ():
            sheet.box(x(start), top + 3, x(end) - x(start), 11, fill=INK)
        top += _ROW
    sheet.line((left, top), (right, top), width=RULE)
    for tick in x.ticks(5):
        sheet.line((x(tick), top), (x(tick), top + 4), width=RULE)
        sheet.text(x(tick), top + 18, number(tick), anchor="middle", ink=QUIET)
    sheet.text((left + right) / 2, top + 35, "minutes since the burner lit", anchor="middle", ink=QUIET)


def _limit_strip(sheet: Sheet, view: View, panel: Panel, x: Scale, top: float, named: bool) -> None:
    """The limit's own scale: hatched between closing and opening, with a mark where it did either."""
    opens = view.opens or 0.0
    closes = opens - 30.0 if view.closes is None else view.closes
    y = Scale(closes, opens, top + _STRIP, top)
    if view.closes is not None:
        sheet.allowed(x.from_px, top, x.to_px - x.from_px, _STRIP)
    for run in _body_runs(view, panel, closes, opens):
        sheet.line(*((x(minute), y(body)) for minute, body in run))
    sheet.line((x.from_px, top), (x.to_px, top), width=RULE)
    if view.closes is not None:
        sheet.line((x.from_px, top + _STRIP), (x.to_px, top + _STRIP), width=RULE)
    if named:
        sheet.text(x.from_px - 8, top + 5, f"{number(opens)} °F", anchor="end")
        if view.closes is not None:
            sheet.text(x.from_px - 8, top + _STRIP + 4, f"{number(closes)} °F", anchor="end")
        sheet.text(x.from_px + 4, top + 16, "opens", size=max(sheet.text_size - 0.5, 12.5))
        if view.closes is not None:
            sheet.text(x.from_px + 4, top + _STRIP - 5, "closes", size=max(sheet.text_size - 0.5, 12.5))
    sheet.text(x.to_px - 4, top + _STRIP + 15, "limit body, not air", anchor="end", bold=True)
    for trip in panel.trips:
        px, py = x(trip.minute), y(opens)
        sheet.shape((px, py - 1), (px - 6, py + 10), (px + 6, py + 10), fill=ACCENT)


def _body_runs(view: View, panel: Panel, low: float, high: float) -> list[list[tuple[float, float]]]:
    """While the burner is lit, the stretches in which the limit's body lies on the strip: return + factor × rise."""
    spans = (dict(panel.events)["burner"] or ()) if view.body is not None else ()
    runs: list[list[tuple[float, float]]] = []
    for start, end in spans:
        inside = False
        for minute, supply, level in zip(panel.minutes, panel.supply, panel.return_, strict=False):
            body = level + (view.body or 0.0) * (supply - level)
            if not (start <= minute <= end and low <= body <= high + 1):
                inside = False
                continue
            if not inside:
                runs.append([])
            inside = True
            runs[-1].append((minute, min(body, high)))
    return [run for run in runs if len(run) > 1]


def _air(sheet: Sheet, view: View, panel: Panel, x: Scale, y: Scale, named: bool) -> None:
    left, right = x.from_px, x.to_px
    for tick in y.ticks(5):
        sheet.line((left - 4, y(tick)), (left, y(tick)), width=RULE)
        if named:
            sheet.text(left - 8, y(tick) + 4.5, f"{number(tick)} °F", anchor="end", ink=QUIET)
    sheet.line((left, y.from_px), (left, y.to_px), width=RULE)
    if view.outlet is not None:
        sheet.line((left, y(view.outlet)), (right, y(view.outlet)), width=RULE, ink=INK)
        sheet.text(right, y(view.outlet) - 7, f"plate: air {number(view.outlet)} °F at most", anchor="end")
    if panel.return_:
        sheet.line(*((x(m), y(v)) for m, v in zip(panel.minutes, panel.return_, strict=True)), dash=DASHED)
        sheet.text(right, y(panel.return_[-1]) + 15, "return air", anchor="end")
    if panel.heading:
        sheet.line(*((x(m), y(v)) for m, v in panel.heading), dash=DOTTED)
        sheet.text(right, y(panel.heading[-1][1]) - 7, f"heading for {number(panel.steady or 0.0, 1)}", anchor="end")
    sheet.line(*((x(m), y(v)) for m, v in zip(panel.minutes, panel.supply, strict=True)), width=2.5)
    if not panel.trips:
        sheet.text(right, y(panel.supply[-1]) + 18, f"supply air, {number(panel.supply[-1], 1)} °F", anchor="end")
    for n, trip in enumerate(panel.trips):
        minute, supply, level = trip.minute, trip.supply, trip.level
        sheet.dot(x(minute), y(supply), ink=ACCENT)
        if n == 0:
            sheet.line((x(minute), y(supply) + 8), (x(minute), y.from_px + 70), ink=ACCENT, width=1, dash=DOTTED)
            rise = [] if level is None else [f"rise {number(supply - level, 1)} °F"]
            words = [f"trips at {clock(60 * minute)}", f"{number(supply, 1)} °F supply", *rise]
            floor = y.from_px if level is None else y(level)
            y0 = floor - 7 - 1.25 * sheet.text_size * (len(words) - 1)
            sheet.text_where_free(
                [(x(minute) + 10, y0, "start"), (x(minute) - 10, y0, "end"), (x(minute) + 10, y(supply) + 24, "start")],
                words,
                bold=True,
            )
