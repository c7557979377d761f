"""CSV files with units in their headers, `T1 [degF]`: what logs and fan tables have in common."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from causebook import quantity as qty
from causebook.casefile.desk import Desk, Spot, short
from causebook.problems import Severity
from causebook.quantity import Kind, QuantityError

MOST_ROWS = 200_000
"""Rows of one table: two days at one a second."""
MOST_COLUMNS = 60
_HEADER = re.compile(r"\s*(?P<name>[^\[\]]*?)\s*(?:\[\s*(?P<unit>[^\[\]]+?)\s*\])?\s*")


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its name, the unit its header states (empty: none) and its cells as written."""

    name: str
    unit: str
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A CSV file read: its columns, and the line of each row."""

    columns: tuple[Column, ...]
    lines: tuple[int, ...]


def read_table(path: Path, desk: Desk, most: int = MOST_ROWS, used: int = MOST_ROWS) -> Table | None:
    """Read a CSV file; None when it is no table or holds more than `most` rows, with the reasons on the desk.

    Empty rows and rows starting with `#` are passed over.  Of more than `used` rows only every so-manyth is kept, and
    a warning says so.
    """
    try:
        lines = list(io.StringIO(path.read_bytes().decode("utf-8-sig"), newline=""))
        body_lines = sum(map(_is_row, lines)) - 1
        if body_lines > most:
            desk.say(Spot(), "", f"there are {body_lines:,} rows", f"at most {most:,}", "keep every tenth row")
            return None
        step = max(1, -(-body_lines // used))
        rows = list(_rows(lines, step))
    except UnicodeDecodeError:
        desk.say(Spot(), "", "a character is not UTF-8", "text in UTF-8")
        return None
    except (OSError, csv.Error) as error:
        desk.say(Spot(), "", f"cannot be read as CSV ({error})", "a table of values separated by commas")
        return None
    if len(rows) < 2:
        desk.say(Spot(1), "", "there are no rows below the header", "a header and at least one row")
        return None
    (top, header), body = rows[0], rows[1:]
    if len(header) > MOST_COLUMNS:
        desk.say(Spot(top), "", f"there are {len(header):,} columns", f"at most {MOST_COLUMNS}")
        return None
    if step > 1:
        desk.say(
            Spot(),
            "",
            f"there are {body_lines:,} rows; one in {step} is used",
            f"at most {used:,} rows",
            "keep the part of the run that shows it",
            severity=Severity.WARNING,
        )
    uneven = [line for line, row in body if len(row) != len(header)]
    if uneven:
        desk.say(
            Spot(uneven[0]),
            "",
            f"{len(uneven)} row(s), this the first, do not have {len(header)} values",
            "as many values as the header has names",
            "a decimal comma splits a number in two: write a point, or part the cells with semicolons",
        )
        return None
    columns = []
    for index, head in enumerate(header):
        found = _HEADER.fullmatch(head)
        name, unit = (found["name"], found["unit"] or "") if found else (head.strip(), "")
        columns.append(Column(name, unit, tuple(row[index].strip() for _, row in body)))
    names = [column.name for column in columns]
    doubled = sorted({name for name in names if names.count(name) > 1})
    for name in doubled:
        desk.say(Spot(top), short(name), "is the name of two columns", "each name once")
    return None if doubled else Table(tuple(columns), tuple(line for line, _ in body))


def _rows(lines: Sequence[str], step: int) -> Iterator[tuple[int, list[str]]]:
    """Line number and cells of the rows; below the header only every `step`-th line is looked at."""
    header = next((number for number, line in enumerate(lines) if _is_row(line)), 0)
    kept = [n for n in range(len(lines)) if n <= header or (n - header - 1) % step == 0]
    delimiter = max(",;\t", key=lines[header].count) if lines else ","
    reader = csv.reader((lines[number] for number in kept), delimiter=delimiter)
    for row in reader:
        if any(cell.strip() for cell in row) and not row[0].lstrip().startswith("#"):
            yield kept[reader.line_num - 1] + 1, row


def _is_row(line: str) -> bool:
    return bool(line.strip(",; \t\r\n")) and not line.lstrip().startswith("#")


def numbers(
    column: Column, kind: Kind, target: str, lines: tuple[int, ...], desk: Desk, blank: bool = False
) -> tuple[float | None, ...] | None:
    """The cells of a column as numbers in the unit `target`; None when one is no number.

    The unit of the header is read as any quantity of `kind` is; a header without one is refused.  With `blank`,
    empty cells and dashes stand for "nothing printed" and become None.
    """
    try:
        # Every unit here is a straight line of every other: two points give it, and no cell is parsed by pint.
        zero = qty.parse(f"0 {column.unit}", kind).to(target).magnitude
        one = qty.parse(f"1 {column.unit}", kind).to(target).magnitude
    except QuantityError as error:
        hint = error.hint if column.unit else "the unit is missing"
        desk.say(
            Spot(1),
            short(column.name),
            hint or f"{column.unit!r} is no unit",
            f"a header with a unit of {kind.name}, such as '{short(column.name)} [{kind.example.split()[-1]}]'",
        )
        return None
    values: list[float | None] = []
    for cell, line in zip(column.cells, lines, strict=True):
        if blank and cell in ("", "-", "–", "—"):
            values.append(None)
        elif number := _NUMBER.fullmatch(cell):
            values.append(zero + float(number.group().replace("−", "-").replace(",", ".")) * (one - zero))
        else:
            desk.say(
                Spot(line),
                short(column.name),
                f"{short(cell)!r}" if cell else "nothing stands here",
                "a number",
                "remove the row if the meter lost the value",
            )
            return None
    return tuple(values)


_NUMBER = re.compile(r"[-+−]?(?:\d+(?:[.,]\d*)?|\.\d+)(?:[eE][-+]?\d{1,2})?")
"""A comma within a cell is a decimal point: cells are parted by semicolons or tabs then, as many spreadsheets write."""
