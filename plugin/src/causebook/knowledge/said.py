"""Checks on what people say: every phrase means something there is, and no alarm is silenced."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from causebook.knowledge.files import SAID, Table
from causebook.knowledge.model import Knowledge
from causebook.problems import Problem, did_you_mean


def check_said(built: Mapping[str, Mapping[str, Any]], table: Table, problems: list[Problem]) -> None:
    """What people say means something there is."""
    for section, target in SAID.items():
        for phrase, ids in built[section].items():
            for id_ in ids:
                if id_ not in table[target]:
                    problems.append(
                        table[section][phrase].marks.problem(
                            (), f"{section}.{phrase}", repr(id_), f"an id of {target}", did_you_mean(id_, built[target])
                        )
                    )


def check_alarms(
    built: Mapping[str, Mapping[str, Any]], ours: Knowledge, table: Table, problems: list[Problem]
) -> None:
    """A company's files leave every stop that our danger words bring."""
    for phrase, stops in ours.alarms.items():
        if not set(stops) <= set(built["alarms"][phrase]):
            problems.append(
                table["alarms"][phrase].marks.problem((), f"alarms.{phrase}", "leaves out a stop", "; ".join(stops))
            )
