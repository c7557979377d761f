"""The start of the furnace: a strip of its stages with what proved each and where it ended, and the 24-volt circuit.

Both are drawn from the model of a start (`equipment.furnace.start.view`): a stage is solid where a reading or a look
proves it passed, open where it is only believed, struck through behind the end.
"""

from __future__ import annotations

from causebook.equipment.furnace.start.view import Point, StageShown, StartView
from causebook.workup import Workup
from causebook.writeup.charts.model import Chart, Missing, drawn
from causebook.writeup.charts.style import ACCENT, INK, QUIET, RULE, Sheet, number, sentence_of, wrap

ID, TITLE, QUESTION = "start-strip", "The start, stage by stage", "How far does a start get?"
CIRCUIT_ID, CIRCUIT_TITLE = "start-circuit", "The 24-volt circuit"
CIRCUIT_QUESTION = "Where do the 24 volts stop?"
HALF_SURE = 0.6
SURE = 0.85
"""Chance from which a stage counts as passed, or a start as ending there."""
_NOTE = (
    "Filled: proven by a reading or a look. Open: believed from everything read. Crossed: the start ends here, as far "
    "as the record tells. Gray: never reached."
)
_CIRCUIT_NOTE = (
    "Bold: read on the furnace. Gray: what a sound circuit shows with a call on and every switch closed, worked out "
    "from a 40 VA transformer and usual loads; the furnace's own sheet wins. Volts across a switch: near 0 closed, "
    "full volts open."
)
_ACROSS, _BEHIND = "volts-across-", "volts-to-common-after-"


def chart(workup: Workup) -> Chart | Missing:
    """The strip of stages."""
    view = workup.start
    if view is None:
        return Missing(ID, TITLE, "not drawn: the complaint is not about a start")
    return drawn(ID, TITLE, QUESTION, _sentence(view), lambda s, narrow: _draw(s, view, narrow), _table(view), _NOTE)


def _sentence(view: StartView) -> str:
    end = view.end
    if not end.missing:
        return sentence_of(f"the start runs to the end of the call ({number(100 * end.ends)} %)")
    proven = [s for s in view.stages[: view.stages.index(end)] if s.proof]
    upto = f" {proven[-1].name} is proven good." if proven else ""
    sure = "ends" if end.ends >= SURE else "most likely ends"
    words = f"the start {sure} at “{end.name.lower()}” ({number(100 * end.ends)} %): {_lower(end.missing)}"
    ran = " It ran while somebody was there: what stops it comes and goes." if view.ran > HALF_SURE else ""
    return sentence_of(words) + upto + ran


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _table(view: StartView) -> tuple[tuple[str, ...], ...]:
    rows = [("Stage", "Passed", "Ends here", "What proves it")]
    rows += [(s.name, f"{number(100 * s.passed)} %", f"{number(100 * s.ends)} %", _proof_of(s)) for s in view.stages]
    return tuple(rows)


def _proof_of(stage: StageShown) -> str:
    if stage.proof:
        return stage.proof
    return (
        f"not passed: {stage.shown}"
        if stage.shown and stage.ends > stage.passed
        else f"would be: {_lower(stage.proves)}"
    )


def _draw(sheet: Sheet, view: StartView, narrow: bool) -> None:
    """Stages from top to bottom on a line, in the order of time."""
    spine, words = 14.0, 38.0
    share_at = sheet.width - 2
    room = share_at - words - 62
    y, points = 16.0, []
    for stage in view.stages:
        reached = stage.passed + stage.ends
        state = _state(stage, view)
        ink = QUIET if reached < 1 - SURE and not stage.proof else INK
        ends = stage.id == view.end.id and bool(stage.missing)
        sheet.text(words, y + 4.5, stage.name, bold=True, ink=ACCENT if ends else ink)
        if stage.ends >= 0.02 and stage.missing:
            sheet.text(
                share_at, y + 4.5, f"{number(100 * stage.ends)} %", anchor="end", bold=ends, ink=ACCENT if ends else INK
            )
        said = stage.proof or (_says_missing(stage) if ends else "")
        lines = wrap(said, room, 12.5, lines=3) if said else []
        below = sheet.text(words, y + 21, lines, size=12.5, ink=ink) if lines else y + 21
        points.append((y, state, ends))
        y = below + (4 if narrow else 6)
    last = points[-1][0]
    end = next((at for at, _, ends in points if ends), last)
    sheet.line((spine, points[0][0]), (spine, end), width=RULE)
    if end < last:
        sheet.line((spine, end), (spine, last), width=0.8, ink=QUIET, dash=(3, 4))
    for at, state, ends in points:
        if ends:
            sheet.dot(spine, at, filled=False, ink=ACCENT, radius=8)
            for sign in (1, -1):
                sheet.line((spine - 5, at - 5 * sign), (spine + 5, at + 5 * sign), ink=ACCENT, width=2.25)
        else:
            sheet.dot(spine, at, filled=state == "proven", ink=QUIET if state == "not reached" else INK)
    sheet.height = y + 2


def _says_missing(stage: StageShown) -> str:
    if stage.shown:
        return f"{stage.shown}."
    return f"{stage.missing}. Would prove it: {_lower(stage.proves)}."


def _state(stage: StageShown, view: StartView) -> str:
    if stage.proof:
        return "proven"
    return "believed" if stage.passed >= 1 - SURE else "not reached"


# ---------------------------------------------------------------- the circuit


def chart_of_circuit(workup: Workup) -> Chart | Missing:
    """The circuit with the volts found and due."""
    view = workup.start
    if view is None or not any(p.read is not None for p in view.points):
        return Missing(CIRCUIT_ID, CIRCUIT_TITLE, "not drawn: no 24-volt reading was taken")
    return drawn(
        CIRCUIT_ID,
        CIRCUIT_TITLE,
        CIRCUIT_QUESTION,
        _circuit_sentence(view),
        lambda s, narrow: _draw_circuit(s, view, narrow),
        _circuit_table(view),
        _CIRCUIT_NOTE,
    )


def _off(point: Point) -> bool:
    """Is a reading far from what a sound circuit shows?"""
    return point.read is not None and abs(point.read - point.sound) > 8


def _circuit_sentence(view: StartView) -> str:
    off = [p for p in view.points if _off(p)]
    open_ = next((p for p in off if p.is_device), None)
    if open_ is not None:
        return sentence_of(f"{number(open_.read or 0, 1)} V stands across the {open_.name}: it is open")
    if off:
        first = off[0]
        return sentence_of(
            f"{_where(first)} reads {number(first.read or 0, 1)} V where {number(first.sound, 1)} are due"
        )
    read = sum(p.read is not None for p in view.points)
    return sentence_of(
        f"all {read} readings of the 24-volt circuit are as in a sound one"
        if read > 1
        else "the one reading of the 24-volt circuit is as in a sound one"
    )


def _where(point: Point) -> str:
    if point.is_device:
        return f"across the {point.name}"
    if point.reading.startswith(_BEHIND):
        return f"behind the {point.name}, to common"
    if point.reading.startswith("volts-to-common-before-"):
        return f"before the {point.name}, to common"
    return f"the {point.name}"


def _circuit_table(view: StartView) -> tuple[tuple[str, ...], ...]:
    rows = [("Where", "Read", "Sound circuit")]
    rows += [
        (_where(p), f"{number(p.read, 1)} V", f"{number(p.sound, 1)} V") for p in view.points if p.read is not None
    ]
    return tuple(rows)


def _draw_circuit(sheet: Sheet, view: StartView, narrow: bool) -> None:
    """From the transformer down to the gas valve: every switch with the volts across it, and between them to common."""
    by = {p.reading: p for p in view.points}
    devices = [p for p in view.points if p.is_device]
    x, y, step = 26.0, 14.0, 46.0
    mid = sheet.width * (0.56 if narrow else 0.5)
    far = sheet.width - 4

    def volts(point: Point, at: float, y: float) -> None:
        read = "" if point.read is None else f"{number(point.read, 1)} V"
        if read:
            sheet.text(at, y, read, bold=True, anchor="end", ink=ACCENT if _off(point) else INK)
        sheet.text(at, y + (16 if read else 0), f"{number(point.sound, 1)} V", size=12, anchor="end", ink=QUIET)

    sheet.text(mid, y, "across", anchor="end", ink=QUIET)
    sheet.text(far, y, "to common", anchor="end", ink=QUIET)
    y += 24
    top = y
    rows = [("transformer", None, by["secondary-volts"])]
    rows += [(d.name, d, _to_common(by, d)) for d in devices]
    rows += [("gas valve", None, by["volts-at-gas-valve"]), ("call at the board", None, by["call-volts"])]
    for name, across, common in rows:
        if across is None:
            sheet.box(x - 12, y - 11, 24, 22, fill="none", edge=INK, line=1.5)
        else:
            _switch(sheet, x, y, open_=_off(across))
            volts(across, mid, y + 2)
        sheet.text(x + 26, y + 4.5, wrap(name, mid - x - 92, sheet.text_size, lines=2), bold=across is None)
        volts(common, far, y + 2)
        y += step
    for n in range(len(rows) - 2):
        sheet.line((x, top + n * step + 11), (x, top + (n + 1) * step - 11), width=1.5)
    sheet.height = y - 14


def _to_common(by: dict[str, Point], device: Point) -> Point:
    """Volts to common behind a device; before it, where only that was read."""
    name = device.reading.removeprefix(_ACROSS)
    behind = by[f"{_BEHIND}{name}"]
    return behind


def _switch(sheet: Sheet, x: float, y: float, open_: bool) -> None:
    """A contact on a wire that runs down: closed, or standing open."""
    ink = ACCENT if open_ else INK
    sheet.dot(x, y - 9, filled=True, ink=ink, radius=2.5)
    sheet.dot(x, y + 9, filled=True, ink=ink, radius=2.5)
    sheet.line((x, y + 9), (x + (9 if open_ else 0), y - (5 if open_ else 9)), ink=ink, width=2)
