"""What the core answers, written down before and after a change: one JSON line for each case.

    python -m tests.net before.jsonl [calls.jsonl] [--every 5]      # now
    python -m tests.net --compare before.jsonl after.jsonl          # what a change has changed

The cases are the demo's and, where a file of calls is given, those too: one call a line, `id`, `case` (a case file as
data) and `log` (`t_s`, `supply_air_temperature_F`) or null.
"""

from __future__ import annotations

import argparse
import json
import shutil
import tempfile
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

import yaml

from causebook.casefile.read import read_case
from causebook.knowledge import load
from causebook.workup import work_up
from causebook.writeup.contract import as_json

DEMO = Path(__file__).parents[1] / "casefiles"


def answer(folder: Path) -> str:
    """One case folder as a line: its workup, or the problems that keep it from being read."""
    knowledge = load()
    case, problems = read_case(folder, knowledge)
    if case is None:
        return json.dumps({"case": folder.name, "refused": [str(p) for p in problems]})
    return json.dumps(as_json(work_up(case, knowledge)), sort_keys=True)


def write_call(call: dict[str, Any], folder: Path) -> Path:
    """One call as a case folder."""
    folder.mkdir()
    (folder / "case.yml").write_text(yaml.safe_dump(call["case"], allow_unicode=True, sort_keys=False), "utf-8")
    if log := call["log"]:
        rows = zip(log["t_s"], log["supply_air_temperature_F"], strict=True)
        text = "\n".join(["time [s],T1 [degF]", *(f"{t},{degrees}" for t, degrees in rows)])
        (folder / "call.csv").write_text(text + "\n", "utf-8")
    return folder


def folders(calls: Path | None, every: int, scratch: Path) -> Iterator[Path]:
    """The case folders to work up, those of the calls written into `scratch`."""
    yield from sorted(p.parent for p in DEMO.glob("*/case.yml"))
    if calls is not None:
        for line in calls.read_text("utf-8").splitlines()[::every]:
            call = json.loads(line)
            yield write_call(call, scratch / call["id"])


def differences(before: Any, after: Any, at: str = "") -> Iterator[str]:
    """Every place where two answers differ, with both values."""
    if isinstance(before, dict) and isinstance(after, dict):
        for key in dict.fromkeys([*before, *after]):
            yield from differences(before.get(key), after.get(key), f"{at}.{key}")
    elif isinstance(before, list) and isinstance(after, list) and len(before) == len(after):
        for place, (one, other) in enumerate(zip(before, after, strict=True)):
            yield from differences(one, other, f"{at}[{place}]")
    elif before != after:
        yield f"{at.removeprefix('.')}: {before!r} -> {after!r}"


def compare(before: Path, after: Path) -> int:
    """Print what differs; how many cases do."""
    old, new = (
        {(row := json.loads(line))["case"]: row for line in path.read_text("utf-8").splitlines()}
        for path in (before, after)
    )
    changed = 0
    for case in sorted(old.keys() & new.keys()):
        found = list(differences(old[case], new[case]))
        changed += bool(found)
        for one in found:
            print(f"{case}  {one[:300]}")
    print(f"{changed} of {len(old.keys() & new.keys())} cases differ")
    return changed


def main() -> int:
    """The command."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("out", type=Path, nargs="+")
    parser.add_argument("--compare", action="store_true")
    parser.add_argument("--every", type=int, default=1, help="work up every n-th call only")
    asked = parser.parse_args()
    if asked.compare:
        return int(bool(compare(*asked.out)))
    calls = asked.out[1] if len(asked.out) > 1 and asked.out[1].exists() else None
    scratch = Path(tempfile.mkdtemp())
    with ProcessPoolExecutor(2) as pool:
        lines = list(pool.map(answer, folders(calls, asked.every, scratch), chunksize=4))
    shutil.rmtree(scratch)
    asked.out[0].write_text("\n".join(lines) + "\n", "utf-8")
    refused = sum("refused" in json.loads(line) for line in lines)
    print(f"{len(lines)} cases, {refused} refused")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
