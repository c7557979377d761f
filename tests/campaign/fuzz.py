"""Made-up case files, worked up and looked at: no crash, no hang, no number that is none, nothing lost in silence.

.venv/bin/python -m tests.campaign.fuzz --examples 20000 --seed 1
.venv/bin/python -m tests.campaign.fuzz --seed 1 --only 4711      # one example again, with its file
"""

from __future__ import annotations

import argparse
import json
import math
import signal
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType
from typing import Any

import yaml
from tests.campaign.making import KNOWN, demo, made

from causebook.casefile import read_case
from causebook.casefile.model import Case
from causebook.library.shelf import write_up
from causebook.problems import Problem, errors
from causebook.workup import Workup, work_up
from causebook.writeup.contract import as_json

LONGEST = 10.0
"""Seconds of the processor that one case may take."""


WRITTEN_UP = 20
"""One in so many is also drawn and written up, as a build does it."""


class TooSlow(Exception):
    """A case took longer than `LONGEST`."""


@dataclass(slots=True)
class Tally:
    """What came of the examples."""

    tried: Counter[str] = field(default_factory=Counter)
    refused: int = 0
    sound: int = 0
    slowest: float = 0.0
    lost: dict[str, list[int]] = field(default_factory=dict)
    """What went wrong, in a line -> the numbers of the examples."""


def broken(data: Any, folder: Path, written_up: bool = True) -> tuple[str, bool]:
    """What is wrong with how a case file was dealt with (empty: nothing), and whether it was refused.

    `written_up`: its pages and drawings are made too.
    """
    case_folder = folder / "made-up"
    case_folder.mkdir(exist_ok=True)
    text = yaml.safe_dump(data, sort_keys=False, allow_unicode=True, default_flow_style=False)
    (case_folder / "case.yml").write_text(text, encoding="utf-8")
    try:
        with _no_longer_than(LONGEST):
            case, problems = read_case(case_folder, KNOWN)
            if case is None:
                told = errors(problems)
                return ("" if told and all(p.found for p in told) else "refused without a word"), True
            if len(case.steps) != sum(len(v.steps) for v in case.file.visits):
                return "a step was lost", False
            workup = work_up(case, KNOWN)
            wrong = wrong_in(workup)
            if written_up and not wrong:
                wrong = _fault(write_up(workup, folder / "pages")[0].problems)
            return wrong or _lost(data, case), False
    except TooSlow:
        return f"took longer than {LONGEST:g} s", False
    except Exception as fault:
        last = traceback.extract_tb(fault.__traceback__)[-1]
        return f"{type(fault).__name__} in {Path(last.filename).name}:{last.lineno}: {str(fault)[:100]}", False


def _lost(data: Any, case: Case) -> str:
    """A reading that the file holds and the case does not; of keys in another spelling none is counted."""
    steps = [step for visit in _items(data.get("visits")) for step in _items(visit.get("steps"))]
    typed = sum(value not in (None, "") for step in steps for value in (step.get("read") or {}).values())
    kept = sum(len(step.readings) + len(step.seen) for step in case.steps)
    return "" if kept >= typed else f"{typed - kept} reading(s) lost in silence"


def _fault(problems: Iterable[Problem]) -> str:
    """The first fault of our own that was fenced in."""
    return next((f"{p.field}: {p.found}" for p in problems if p.rule == "fault"), "")


def _items(block: Any) -> list[Any]:
    return block if isinstance(block, list) else [block] if isinstance(block, dict) else []


def wrong_in(workup: Workup) -> str:
    """What no workup may hold: a fault that was fenced in, a chance that is none, a number that is none."""
    if fault := _fault(workup.problems):
        return fault
    for cause in workup.verdict.causes:
        if not (math.isfinite(cause.probability) and 0 <= cause.probability <= 1):
            return f"{cause.id} has the chance {cause.probability}"
    for step in workup.verdict.steps:
        if bad := [c for c in step.after.values() if not (math.isfinite(c) and 0 <= c <= 1)]:
            return f"after step {step.step} a chance is {bad[0]}"
    json.dumps(as_json(workup), allow_nan=False)
    return ""


@contextmanager
def _no_longer_than(seconds: float) -> Iterator[None]:
    def stop(signum: int, frame: FrameType | None) -> None:
        raise TooSlow

    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def run(examples: range, seed: int) -> Tally:
    """Deal with the examples of these numbers."""
    tally, demos = Tally(), demo()
    with tempfile.TemporaryDirectory() as folder:
        for number in examples:
            sort, data = made(seed, number, demos)
            began = time.process_time()
            wrong, refused = broken(data, Path(folder), number % WRITTEN_UP == 0)
            tally.slowest = max(tally.slowest, time.process_time() - began)
            tally.tried[sort] += 1
            tally.refused += refused
            tally.sound += not refused and not wrong
            if wrong:
                tally.lost.setdefault(wrong, []).append(number)
    return tally


def main() -> None:
    arguments = argparse.ArgumentParser(description="Deal with made-up case files.")
    arguments.add_argument("--examples", type=int, default=500)
    arguments.add_argument("--first", type=int, default=0)
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--only", type=int)
    asked = arguments.parse_args()
    if asked.only is not None:
        _, data = made(asked.seed, asked.only, demo())
        print(yaml.safe_dump(data, sort_keys=False, allow_unicode=True))
        with tempfile.TemporaryDirectory() as folder:
            print(broken(data, Path(folder)))
        return
    tally = run(range(asked.first, asked.first + asked.examples), asked.seed)
    print(
        f"{sum(tally.tried.values())} tried {dict(tally.tried)}: {tally.refused} refused, {tally.sound} sound, "
        f"{sum(map(len, tally.lost.values()))} lost; slowest {tally.slowest:.1f} s"
    )
    for wrong, numbers in sorted(tally.lost.items(), key=lambda item: -len(item[1])):
        print(f"{len(numbers)} x {wrong}: {numbers[:8]}")


if __name__ == "__main__":
    main()
