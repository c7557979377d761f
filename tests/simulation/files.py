"""From a simulated visit to a `Case`: built in memory for speed, or written as `case.yml` and read like any other."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import yaml

from causebook import quantity as qty
from causebook.casefile.model import Case, CaseFile, CaseStep, FanTable, Taken, TemperatureLog
from causebook.casefile.read import read_case
from causebook.knowledge.model import Knowledge
from causebook.problems import Problem

from .visit import Visit

DAY = dt.date(2024, 1, 15)


def in_memory(visit: Visit, knowledge: Knowledge) -> Case:
    """The case as the reader would give it, without a file."""
    whole = visit.file()
    steps = whole["visits"][0]["steps"]
    logs = [step.get("log") for step in steps]
    whole["visits"] = [{"date": DAY, "steps": [{k: v for k, v in s.items() if k != "log"} for s in steps]}]
    table = whole.get("blower", {}).pop("fan table", None)
    file = CaseFile.model_validate(whole)
    done = []
    for number, (step, log) in enumerate(zip(file.visits[0].steps, logs, strict=True), 1):
        taken = tuple(
            Taken(reading=r, value=qty.parse(text, qty.KINDS[knowledge.readings[r].kind]), step=number)
            for r, text in step.read.items()
        )
        done.append(
            CaseStep(
                number=number,
                visit=1,
                date=DAY,
                step=step,
                readings=taken,
                seen=step.seen,
                log=_log(log, visit.call.seed, number),
            )
        )
    return Case(id=f"call-{visit.call.seed}", folder=Path("."), file=file, steps=tuple(done), fan_table=_table(table))


def _log(columns: dict[str, list[float]] | None, seed: int, number: int) -> TemperatureLog | None:
    if columns is None:
        return None
    rest = {name: tuple(values) for name, values in columns.items() if name != "seconds"}
    return TemperatureLog(file=Path(f"{seed}-{number}.csv"), seconds=tuple(columns["seconds"]), columns=rest)


def _table(rows: dict[str, dict[str, str]] | None) -> FanTable | None:
    if rows is None:
        return None
    settings = list(dict.fromkeys(s for row in rows.values() for s in row))
    return FanTable(
        static=tuple(float(text.split()[0]) for text in rows),
        airflow={s: tuple(float(row[s].split()[0]) if s in row else None for row in rows.values()) for s in settings},
    )


def on_disk(visit: Visit, knowledge: Knowledge, folder: Path) -> tuple[Case | None, list[Problem]]:
    """Write `case.yml` and its log into a new folder below `folder`, and read them."""
    home = folder / f"call-{visit.call.seed}"
    home.mkdir()
    whole: dict[str, Any] = visit.file()
    for number, step in enumerate(whole["visits"][0]["steps"], 1):
        if log := step.pop("log", None):
            (home / f"log-{number}.csv").write_text(_csv(log), encoding="utf-8")
            step["log"] = {"file": f"log-{number}.csv", "shows": {"supply air": "supply", "return air": "return"}}
    (home / "case.yml").write_text(yaml.safe_dump(whole, sort_keys=False, allow_unicode=True), encoding="utf-8")
    return read_case(home, knowledge)


def _csv(log: dict[str, list[float]]) -> str:
    lines = ["time [s], supply [degF], return [degF], limit"]
    for row in zip(log["seconds"], log["supply-air"], log["return-air"], log["limit"], strict=True):
        lines.append(f"{row[0]:g}, {row[1]:.2f}, {row[2]:.2f}, {row[3]:g}")
    return "\n".join(lines) + "\n"
