"""Temperature logs: one column of time, columns of temperature with their unit, columns of events.

    time [s], T1 [degF], T2 [degF], burner, limit
    0, 67.0, 67.0, on, closed

Time may be in any unit of time and must rise.  `burner` and `blower` are 1, on or yes, and 0, off or no; `limit` is
1 or open, and 0 or closed.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from causebook import quantity as qty
from causebook.casefile.desk import Desk, Spot, short
from causebook.casefile.model import TemperatureLog
from causebook.casefile.possible import possible
from causebook.casefile.tables import Column, Table, numbers, read_table
from causebook.knowledge.model import slug
from causebook.problems import did_you_mean
from causebook.quantity import QuantityError

MOST_USED = 7_200
"""Rows of a log that are fitted and drawn: two hours at one a second."""
EVENTS = ("burner", "blower", "limit")
_STATES = {"1": 1.0, "on": 1.0, "yes": 1.0, "0": 0.0, "off": 0.0, "no": 0.0}
_LIMIT_STATES = {"1": 1.0, "open": 1.0, "0": 0.0, "closed": 0.0}


def read_log(path: Path, name: Path, shows: Mapping[str, str], desk: Desk) -> TemperatureLog | None:
    """Read a log; `shows` says which column holds which reading.  None when it is faulty, reasons on the desk."""
    table = read_table(path, desk, used=MOST_USED)
    if table is None:
        return None
    before = len(desk.problems)
    seconds = _seconds(table, desk)
    columns = {
        reading: values
        for reading, column in shows.items()
        if (values := _temperatures(table, column, desk)) is not None
    }
    columns |= {
        event: states
        for column in table.columns
        if (event := slug(column.name)) in EVENTS
        if (states := _states(column, event, table.lines, desk)) is not None
    }
    if seconds is None or len(desk.problems) > before:
        return None
    return TemperatureLog(file=name, seconds=seconds, columns=columns)


def _seconds(table: Table, desk: Desk) -> tuple[float, ...] | None:
    column = next((c for c in table.columns if slug(c.name) == "time"), None)
    if column is None:
        desk.say(Spot(1), "time", "is missing", "a column 'time [s]' or 'time [min]'")
        return None
    values = numbers(column, qty.DURATION, "s", table.lines, desk)
    if values is None:
        return None
    seconds = tuple(value for value in values if value is not None)
    for earlier, later, line in zip(seconds, seconds[1:], table.lines[1:], strict=False):
        if later <= earlier:
            desk.say(
                Spot(line),
                "time",
                "does not rise",
                "rows in the order they were taken",
                "start a new file where the clock was set back",
            )
            return None
    return seconds


def _temperatures(table: Table, name: str, desk: Desk) -> tuple[float, ...] | None:
    column = next((c for c in table.columns if c.name == name), None)
    if column is None:
        names = [c.name for c in table.columns]
        desk.say(
            Spot(1),
            short(name),
            "there is no such column",
            "one of " + ", ".join(map(short, names)),
            did_you_mean(name, names),
        )
        return None
    values = numbers(column, qty.PROBE_TEMPERATURE, "degF", table.lines, desk)
    if values is None:
        return None
    temperatures = tuple(value for value in values if value is not None)
    for extreme in (min(temperatures), max(temperatures)):
        try:
            possible(qty.q(extreme, "degF"), qty.PROBE_TEMPERATURE)
        except QuantityError as error:
            desk.refused(Spot(table.lines[temperatures.index(extreme)]), short(name), error)
            return None
    return temperatures


def _states(column: Column, event: str, lines: tuple[int, ...], desk: Desk) -> tuple[float, ...] | None:
    words = _LIMIT_STATES if event == "limit" else _STATES
    states = []
    for cell, line in zip(column.cells, lines, strict=True):
        state = words.get(cell.lower().removesuffix(".0"))
        if state is None:
            desk.say(Spot(line), event, f"{short(cell)!r}", "one of " + ", ".join(words))
            return None
        states.append(state)
    return tuple(states)
