"""Changes one place of a deciding module at a time and says which change no test sees.

    python -m tests.mutants          # all; about ten minutes on one core
    python -m tests.mutants 3 7      # some of them

Each change is made in a copy of the package that the tests of that module then import; the tree stays as it is.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "plugin/src"
DECISIONS = "tests/test_decisions.py"


class Mutant(NamedTuple):
    """A place, what stands there and what is put there instead, and the tests that must see it."""

    file: str
    old: str
    new: str
    tests: str = DECISIONS


MUTANTS = (
    Mutant("belief/stops.py", '>= knowledge.constants["likely-from"].value', ">= 0.9"),
    Mutant("belief/stops.py", '>= knowledge.constants["likely-from"].value', ">= 0.2"),
    Mutant("belief/stops.py", "and value >= qty.si", "and value > 2 * qty.si", "tests/belief/test_stops.py"),
    Mutant(
        "belief/noisy_or.py", "fresh, same = (1.0, 0.0) if before is None else", "fresh, same = (1.0, 0.0) if True else"
    ),
    Mutant("belief/noisy_or.py", "or tells > best[key][0]", "or tells < best[key][0]"),
    Mutant("belief/roles.py", "SHARE_THAT_COUNTS = 0.12", "SHARE_THAT_COUNTS = 0.2"),
    Mutant("belief/roles.py", "SHARE_THAT_COUNTS = 0.12", "SHARE_THAT_COUNTS = 0.05"),
    Mutant("belief/roles.py", "/ before * 30.0", "/ before * 15.0"),
    Mutant("diagnosis.py", 'if probability < limit["likely-from"]', 'if probability < limit["unlikely-below"]'),
    Mutant("diagnosis.py", 'limit["settled-from"] and confirmed', 'limit["settled-from"]'),
    Mutant("diagnosis.py", "root.root_chance < least", "root.root_chance < least / 2"),
    Mutant("sizing/judge.py", "SURE = 0.75", "SURE = 0.35"),
    Mutant("sizing/judge.py", "QUIET = 0.6", "QUIET = 0.5"),
    Mutant("sizing/judge.py", "AS_SURE = 0.1", "AS_SURE = 0.2"),
    Mutant("sizing/judge.py", "INPUT_MOST = 1.02", "INPUT_MOST = 1.05"),
    Mutant("sizing/judge.py", "LOADED = 1.5", "LOADED = 1.0", "tests/sizing/test_sizing_filters.py"),
    Mutant("sizing/judge.py", "one.complaint < 0.5", "one.complaint < 0.3"),
    Mutant("survey/reading_sets.py", "LEAST_RISE = qty.DEGREE", "LEAST_RISE = 0.1 * qty.DEGREE"),
    Mutant("survey/reading_sets.py", "LEAST_RISE = qty.DEGREE", "LEAST_RISE = 5 * qty.DEGREE"),
    Mutant("physics/building.py", "0.410099989 * airflow_share", "0.615 * airflow_share"),
    Mutant("writeup/charts/runlog.py", "for t in trips if t > s", "for t in trips if t > 0"),
)


def survives(mutant: Mutant) -> bool:
    """Whether no test of the mutant fails."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(shutil.copytree(SOURCE, Path(folder) / "src", ignore=shutil.ignore_patterns("__pycache__")))
        path = copy / "causebook" / mutant.file
        text = path.read_text(encoding="utf-8")
        assert mutant.old in text, f"{mutant.file} no longer holds {mutant.old!r}"
        path.write_text(text.replace(mutant.old, mutant.new, 1), encoding="utf-8")
        command = [sys.executable, "-m", "pytest", "-q", "-x", "-n", "0", "-p", "no:cacheprovider", mutant.tests]
        done = subprocess.run(command, cwd=ROOT, capture_output=True, env=os.environ | {"PYTHONPATH": str(copy)})
    assert done.returncode in (0, 1), done.stdout.decode()[-2000:]
    return done.returncode == 0


def main() -> int:
    """The command; 1 where a mutant lives."""
    asked = [int(number) for number in sys.argv[1:]] or range(len(MUTANTS))
    alive = [number for number in asked if survives(MUTANTS[number])]
    for number in asked:
        one = MUTANTS[number]
        print(f"{number:2} {'ALIVE ' if number in alive else 'killed'} {one.file}: {one.old} -> {one.new}")
    return int(bool(alive))


if __name__ == "__main__":
    raise SystemExit(main())
