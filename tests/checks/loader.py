"""Published values as data: read the row files, run each row against the project's own functions.

A row file is a CSV with the columns `id, function, inputs, expected, tolerance, source, status`.

- `id`: may stand on several lines, one for each call.
- `function`: `module.name` below `causebook.physics`, or a bare name from `compositions.py` (for `rows.csv`) or
  `compositions_<x>.py` (for `rows_<x>.csv`) where a row needs more than one call.
- `inputs`: `name=value` pairs divided by `;`.  A value is read as the kind of quantity the function declares for
  that parameter; elsewhere as a number if it is one, otherwise as a word.
- `expected`: one value, or `field: value` pairs divided by `;` for a result with fields.  A value is a quantity with
  its unit, a number, or a word.  `refused: text` expects an error that says `text`.
- `tolerance`: `0.1 %` (relative), `0.2 degF` or another amount with its unit (absolute), `0.4 points` (absolute, of a
  share in percent), `0.00002` (absolute, of a plain number), `printed` (half a unit in the last printed digit),
  `exact`.  One for all, or `field: tolerance` pairs.
- `status`: how the value was obtained: `computed` with the library named, `read` in the source, `read, secondary`,
  `from memory`, `common practice`.
"""

from __future__ import annotations

import csv
import importlib
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pint

from causebook.quantity import KINDS, RATIO, TEMPERATURE_DIFFERENCE, Kind, Physical, Quantity, parse, si

HERE = Path(__file__).parent
EXACT = 1e-9


@dataclass(frozen=True)
class Row:
    """One line of a row file; `file` says which."""

    file: str
    line: int
    id: str
    function: str
    inputs: str
    expected: str
    tolerance: str
    source: str
    status: str

    def __str__(self) -> str:
        return f"{self.id}-line{self.line}"

    @property
    def refused(self) -> str | None:
        """What the error must say, where the row expects one."""
        found = re.fullmatch(r"refused:\s*(.+)", self.expected)
        return found[1] if found else None

    def call(self) -> Any:
        """The project's own answer to the inputs."""
        function = self._function()
        kinds = {name: param.kind for name, param in function.params.items()} if isinstance(function, Physical) else {}
        return function(**{name: _value(text, kinds.get(name)) for name, text in _pairs(self.inputs, "=")})

    def differences(self) -> Iterator[str]:
        """A sentence for each value that is not the published one within its tolerance."""
        result = self.call()
        tolerances = dict(_pairs(self.tolerance, ":")) if ":" in self.tolerance else {}
        for field, text in _pairs(self.expected, ":") if ":" in self.expected else [("", self.expected)]:
            value = getattr(result, field) if field else result
            if not _agrees(value, text, tolerances.get(field, self.tolerance)):
                yield f"{self.id}: {field or self.function} is {value}, published {text} ({self.source})"

    def _function(self) -> Callable[..., Any]:
        module, dot, name = self.function.rpartition(".")
        if dot:
            return getattr(importlib.import_module(f"causebook.physics.{module}"), name)
        return getattr(importlib.import_module(self.file.replace("rows", "compositions").removesuffix(".csv")), name)


def rows() -> list[Row]:
    """Every row of every row file here."""
    found = []
    for path in sorted(HERE.glob("rows*.csv")):
        with path.open(encoding="utf-8", newline="") as stream:
            reader = csv.DictReader(stream)
            found += [Row(path.name, reader.line_num, **record) for record in reader]
    return found


def left_out() -> list[dict[str, str]]:
    """The published values that are not asserted, each with the reason."""
    found: list[dict[str, str]] = []
    for path in sorted(HERE.glob("left_out*.csv")):
        with path.open(encoding="utf-8", newline="") as stream:
            found += csv.DictReader(stream)
    return found


def _pairs(text: str, separator: str) -> list[tuple[str, str]]:
    parts = (part.partition(separator) for part in text.split(";") if part.strip())
    return [(name.strip(), value.strip()) for name, _, value in parts]


def _value(text: str, kind: Kind | None) -> Any:
    if kind is not None:
        return Quantity(float(text), "") if kind.si == "" and _is_number(text) else parse(text, kind)
    return float(text) if _is_number(text) else text


def _is_number(text: str) -> bool:
    return re.fullmatch(r"[-+]?\d+(\.\d+)?([eE][-+]?\d+)?", text.strip()) is not None


def _kind_of(quantity: Quantity) -> Kind:
    if str(quantity.units).startswith("delta_degree"):
        return TEMPERATURE_DIFFERENCE
    if quantity.is_compatible_with("dimensionless"):
        return RATIO
    return next(
        kind
        for kind in KINDS.values()
        if kind is not TEMPERATURE_DIFFERENCE and kind.si and quantity.is_compatible_with(kind.si)
    )


def _agrees(value: Any, text: str, tolerance: str) -> bool:
    if isinstance(value, bool) or not isinstance(value, (int, float, pint.Quantity)):
        return str(value) == text
    kind = _kind_of(value) if isinstance(value, pint.Quantity) else RATIO
    number = si(value, kind) if isinstance(value, pint.Quantity) else float(value)
    published = si(parse(text, kind), kind)
    return abs(number - published) <= _allowed(published, text, tolerance, kind)


def _allowed(published: float, text: str, tolerance: str, kind: Kind) -> float:
    if tolerance == "exact":
        return max(EXACT * abs(published), EXACT)
    if tolerance == "printed":
        return _half_last_digit(text, kind)
    if tolerance.endswith("points"):
        return float(tolerance.removesuffix("points")) / 100
    if tolerance.endswith("%"):
        return float(tolerance.removesuffix("%")) / 100 * abs(published)
    difference = TEMPERATURE_DIFFERENCE if kind.si == "K" else kind
    return si(parse(tolerance, difference), difference)


def _half_last_digit(text: str, kind: Kind) -> float:
    digits = re.match(r"[-+−]?[\d,]+(?:\.(\d+))?", text)
    assert digits, text
    unit = text[digits.end() :].strip()
    step = 0.5 * 10.0 ** -len(digits[1] or "")
    difference = TEMPERATURE_DIFFERENCE if kind.si == "K" else kind
    return si(parse(f"{step:.12f} {unit}".strip(), difference), difference) * (1 + EXACT)
