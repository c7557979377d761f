"""Room bars: does the room get its share of the air, with its door open and shut?"""

from __future__ import annotations

from dataclasses import dataclass

from causebook.quantity import AIRFLOW, ROOM_PRESSURE
from causebook.workup import Workup
from causebook.writeup.charts.model import Chart, Missing, drawn, value_of
from causebook.writeup.charts.style import ACCENT, INK, QUIET, RULE, Scale, Sheet, number, sentence_of, wrap

ID, TITLE, QUESTION = "room-bars", "Air to the room", "Does the room get its share of the air?"
_NOTE = (
    "Bar: airflow with the door shut. Open dot: with the door open. Line: the room's share. Hatched: at least its "
    "share."
)


@dataclass(frozen=True, slots=True)
class RoomRow:
    """One condition: airflow door shut and open [cfm], pressure under the shut door [Pa]."""

    name: str
    shut: float | None
    opened: float | None
    pressure: float | None


def chart(workup: Workup) -> Chart | Missing:
    """The room's air in every condition it was read in."""
    rows = tuple(
        RoomRow(
            s.name.removeprefix("changed: "),
            value_of(s, "room-flow-closed", AIRFLOW),
            value_of(s, "room-flow-open", AIRFLOW),
            value_of(s, "room-pressure", ROOM_PRESSURE),
        )
        for s in workup.survey.sets
        if {"room-flow-closed", "room-flow-open"} & s.readings.keys()
    )
    rows = tuple(r for r in rows if r.shut is not None or r.opened is not None)
    if not rows:
        return Missing(ID, TITLE, "not drawn: no room's airflow was read")
    share = next((v for s in workup.survey.sets if (v := value_of(s, "room-share", AIRFLOW)) is not None), None)
    return drawn(
        ID,
        TITLE,
        QUESTION,
        _sentence(rows, share),
        lambda s, narrow: _draw(s, rows, share, narrow),
        _table(rows, share),
        _NOTE,
    )


def _words(row: RoomRow) -> str:
    both = ((row.shut, "door shut"), (row.opened, "door open"))
    values = [f"{number(v)} cfm {how}" for v, how in both if v is not None]
    return f"{row.name} {' and '.join(values)}"


def _sentence(rows: tuple[RoomRow, ...], share: float | None) -> str:
    text = _words(rows[0]) + ("" if share is None else f" of a share of {number(share)}")
    if len(rows) > 1:
        text += f"; {_words(rows[-1])}"
    return sentence_of(text)


def _table(rows: tuple[RoomRow, ...], share: float | None) -> tuple[tuple[str, ...], ...]:
    def value(of: float | None, digits: int = 0) -> str:
        return "not measured" if of is None else number(of, digits)

    table = [("Condition", "Door shut [cfm]", "Door open [cfm]", "Pressure under the door [Pa]")]
    table += [(r.name, value(r.shut), value(r.opened), value(r.pressure, 1)) for r in rows]
    return (*table, *([("share of the room", number(share), number(share), "")] if share is not None else []))


def _draw(sheet: Sheet, rows: tuple[RoomRow, ...], share: float | None, narrow: bool) -> None:
    left, row, bar, top = (0.0, 62.0, 18.0, 26.0) if narrow else (190.0, 46.0, 20.0, 26.0)
    right = sheet.width - (116.0 if narrow else 150.0)
    most = max([v for r in rows for v in (r.shut, r.opened) if v is not None] + [share or 0.0])
    x = Scale(0, most * 1.06, left, right)
    tall = row * len(rows)
    if share is not None:
        sheet.allowed(x(share), top, right - x(share), tall)
        sheet.line((x(share), top), (x(share), top + tall))
        sheet.text(x(share), top - 8, f"its share {number(share)} cfm", anchor="middle")
    y = top
    for n, each in enumerate(rows):
        if narrow:
            sheet.text(0, y + 17, wrap(each.name, right, 12.5, lines=1))
        else:
            sheet.text(left - 12, y + row / 2 + 4.5, wrap(each.name, left - 20, 13.5, lines=2), anchor="end")
        at = y + (26 if narrow else (row - bar) / 2)
        if each.shut is not None:
            short = share is not None and n == 0 and each.shut < share
            sheet.box(left, at, x(each.shut) - left, bar, fill=ACCENT if short else INK)
            sheet.text(right + 8, at + 6, f"{number(each.shut)} door shut", bold=True)
        if each.opened is not None:
            sheet.dot(x(each.opened), at + bar / 2, filled=False)
            sheet.text(right + 8, at + 22, f"{number(each.opened)} door open", ink=QUIET)
        y += row
    if not narrow:
        sheet.line((left, top), (left, top + tall), width=RULE)
    sheet.height = top + tall + 8
