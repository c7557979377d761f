"""What people type and what must come of it (`queries.yml`), and how an answer is held against it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import yaml

AMONG = 3


def queries() -> list[dict[str, Any]]:
    """Every query with what it must bring."""
    read: list[dict[str, Any]] = yaml.safe_load(Path(__file__).with_name("queries.yml").read_text(encoding="utf-8"))
    return [{**one, "ask": str(one["ask"])} for one in read]


def missed(query: Mapping[str, Any], answer: Mapping[str, Any]) -> str:
    """What an answer lacks, in words; empty when it brings all.

    `answer`: `pages` as "kind id" in their order, `stops`, `said` (the sentences), and of readings `cases`, `causes`
    and `warns` (ids).
    """
    pages: Sequence[str] = answer["pages"]
    lacks = []
    if "first" in query and pages[:1] != [query["first"]]:
        lacks.append(f"first {query['first']}, not {pages[:3]}")
    if "among" in query and query["among"] not in pages[: query.get("of", AMONG)]:
        lacks.append(f"among the first {query['among']}, not {pages[:5]}")
    if "stop" in query and query["stop"] not in answer["stops"]:
        lacks.append(f"stop {query['stop']}, not {answer['stops']}")
    if "says" in query and query["says"] not in answer["said"]:
        lacks.append(f"{query['says']!r}, not {answer['said']!r}")
    if "case" in query and answer["cases"][:1] != [query["case"]]:
        lacks.append(f"nearest {query['case']}, not {answer['cases']}")
    if "cause" in query and query["cause"] not in answer["causes"][:AMONG]:
        lacks.append(f"cause {query['cause']}, not {answer['causes']}")
    if "warns" in query and query["warns"] not in answer["warns"]:
        lacks.append(f"a warning of {query['warns']}")
    if "none" in query and (pages or "Nothing fits" not in answer["said"]):
        lacks.append(f"nothing, not {pages[:3]} {answer['said']!r}")
    return "; ".join(lacks)
