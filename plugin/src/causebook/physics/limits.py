"""Limits in print: alarm times, action levels, distances and ranges, as data with a source each (`limits.yml`)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from types import MappingProxyType
from typing import Any

import yaml

from causebook.quantity import KINDS, Quantity, parse, parse_range


@dataclass(frozen=True, slots=True)
class Limit:
    """A range with its meaning, source and how the source was obtained; None where it has no end.

    A single value in print has `low` equal to `high`.
    """

    id: str
    low: Quantity | None
    high: Quantity | None
    words: str
    source: str
    status: str


def read_table(name: str) -> dict[str, dict[str, Any]]:
    """One of the data files beside this module, by id."""
    text = files(__package__).joinpath(name).read_text(encoding="utf-8")
    table: dict[str, dict[str, Any]] = yaml.safe_load(text)
    return table


def _limit(name: str, entry: Mapping[str, Any]) -> Limit:
    kind = KINDS[entry["kind"]]
    low = high = None
    if "between" in entry:
        low, high = parse_range(entry["between"], kind)
    elif "is" in entry:
        low = high = parse(entry["is"], kind)
    elif "at_least" in entry:
        low = parse(entry["at_least"], kind)
    else:
        high = parse(entry["at_most"], kind)
    return Limit(name, low, high, entry["words"], entry["source"], entry["status"])


LIMITS: Mapping[str, Limit] = MappingProxyType(
    {name: _limit(name, entry) for name, entry in read_table("limits.yml").items()}
)
