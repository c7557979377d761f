"""Fan tables as the instructions print them: airflow at a static pressure, one column a blower setting.

    static [inH2O], high [cfm], medium-high [cfm]
    0.1, 1400, 1210
    0.2, 1350, 1180

Every header states its unit.  A dash or an empty cell is a point that the table does not print.
The same may stand in the case file: `fan table: {0.1 inH2O: {high: 1400 cfm}}`.  Airflow falls while static rises,
save that of a motor that holds its airflow.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from pathlib import Path

from causebook import quantity as qty
from causebook.casefile.desk import Desk, Place, Spot, short
from causebook.casefile.marked_yaml import Node
from causebook.casefile.model import HOLDS_AIRFLOW, FanTable
from causebook.casefile.possible import possible
from causebook.casefile.tables import MOST_COLUMNS, numbers, read_table
from causebook.quantity import Kind, QuantityError

Where = Callable[[int], Place]
"""Row -> its place."""
MOST_ROWS = 500
"""Rows of a fan table; one in print has some 12."""
HELD_WITHIN = 0.05
"""So far the airflow of a motor that holds it may rise from row to row; common practice, no source."""


def read_fan_csv(path: Path, desk: Desk, holds: bool = False) -> FanTable | None:
    """Read a fan table from a CSV file; None when it is faulty, reasons on the desk.

    `holds`: it is that of a motor that holds its airflow.
    """
    table = read_table(path, desk, MOST_ROWS)
    if table is None:
        return None
    first, *settings = table.columns
    before = len(desk.problems)
    if first.name.lower() not in ("static", "external static", "static pressure"):
        desk.say(Spot(1), short(first.name), "stands first", "the column 'static [inH2O]' first")
    if not settings:
        desk.say(Spot(1), "", "there is no setting", "a column of airflow a setting, such as 'medium-high [cfm]'")
    static = numbers(first, qty.AIR_PRESSURE, "inwc", table.lines, desk)
    airflow = {c.name: numbers(c, qty.AIRFLOW, "cfm", table.lines, desk, blank=True) for c in settings}
    if len(desk.problems) > before or static is None:
        return None
    return _checked(
        static,
        {name: column for name, column in airflow.items() if column is not None},
        lambda row: Spot(table.lines[row]),
        "",
        holds,
        desk,
    )


def read_inline(node: Node, holds: bool, where: str, desk: Desk) -> FanTable | None:
    """Read a fan table written in the case file, as `read_fan_csv` does from its own."""
    if len(node.entries()) > MOST_ROWS:
        desk.say(node, where, f"there are {len(node.entries()):,} rows", f"at most {MOST_ROWS}")
        return None
    before = len(desk.problems)
    static: list[float | None] = []
    names = list(dict.fromkeys(name for entry in node.entries().values() for name in entry.node.entries()))
    if len(names) > MOST_COLUMNS:
        desk.say(node, where, f"there are {len(names):,} settings", f"at most {MOST_COLUMNS}")
        return None
    airflow: dict[str, list[float | None]] = {name: [] for name in names}
    for entry in node.entries().values():
        row = f"{where}.{short(entry.key.text)}"
        static.append(_number(entry.key.text, qty.AIR_PRESSURE, entry.key, row, desk))
        if not entry.node.entries():
            desk.say(entry.key, row, "has no airflow", "`setting: airflow` entries, such as {high: 1400 cfm}")
        for name in names:
            cell = entry.node.get(name)
            airflow[name].append(
                None
                if cell is None or cell.value is None
                else _number(cell.text or "", qty.AIRFLOW, cell, f"{row}.{short(name)}", desk)
            )
    if len(desk.problems) > before:
        return None
    keys = [entry.key for entry in node.entries().values()]
    return _checked(
        tuple(static), {name: tuple(column) for name, column in airflow.items()}, keys.__getitem__, where, holds, desk
    )


def _number(text: str, kind: Kind, at: Place, where: str, desk: Desk) -> float | None:
    try:
        return qty.us(possible(qty.parse(text, kind), kind), kind)
    except QuantityError as error:
        desk.refused(at, where, error)
        return None


def _checked(
    static: tuple[float | None, ...],
    airflow: dict[str, tuple[float | None, ...]],
    place: Where,
    where: str,
    holds: bool,
    desk: Desk,
) -> FanTable | None:
    """The table when its static rises from row to row, and its airflow is possible and falls."""
    before = len(desk.problems)
    pressures = tuple(value for value in static if value is not None)
    _check_static(pressures, place, where, desk)
    for name, column in airflow.items():
        printed = [(row, cfm) for row, cfm in enumerate(column) if cfm is not None]
        _check_setting(printed, short(name), place, holds, desk)
    return FanTable(static=pressures, airflow=airflow) if len(desk.problems) == before else None


def _check_static(pressures: tuple[float, ...], place: Where, where: str, desk: Desk) -> None:
    """The first static [in. w.c.] that cannot be, and the first that does not rise."""
    for row, pressure in enumerate(pressures):
        try:
            possible(qty.q(pressure, "inwc"), qty.AIR_PRESSURE)
        except QuantityError as error:
            desk.refused(place(row), where, error)
            break
    for row, (lower, higher) in enumerate(pairwise(pressures), 1):
        if higher <= lower:
            desk.say(place(row), where, f"static {higher:g} follows {lower:g}", "static rising from row to row")
            break


def _check_setting(printed: Sequence[tuple[int, float]], name: str, place: Where, holds: bool, desk: Desk) -> None:
    """The first fault of the airflow [cfm] printed for a setting, as (row, airflow)."""
    if len(printed) < 2:
        desk.say(place(0), name, f"{len(printed)} airflow(s) printed", "at least two points a setting")
        return
    for row, cfm in printed:
        if not 0 <= cfm <= 10_000:
            desk.say(place(row), name, f"{cfm:g} cfm", "the airflow of a house blower, 0 to 10,000 cfm")
            return
    most = 1 + HELD_WITHIN if holds else 1.0
    for (_, lower), (row, higher) in pairwise(printed):
        if higher > most * lower:
            desk.say(
                place(row),
                name,
                f"{higher:g} cfm follows {lower:g}",
                "airflow that falls while static rises",
                "check for swapped rows or settings",
            )
            return
    (_, first), (row, last) = printed[0], printed[-1]
    if last == first and not holds:
        desk.say(
            place(row),
            name,
            f"{last:g} cfm in every row",
            "airflow that falls while static rises",
            f"or say `motor: {HOLDS_AIRFLOW}` if it holds its airflow",
        )
