"""How long 5,000 job notes take from another program's CSV to the built page.

    python tests/benchmarks/notes_import.py [COUNT]

Import and build run as a company runs them, in a project with one case that was built before.  Prints wall and
processor time of each.
"""

from __future__ import annotations

import csv
import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from make_library import DEMO, make_project
from projects import mkdocs, quiet

SAID = (
    ("NO HEAT", "plugged trap, water in inducer", "cleared trap", "trap"),
    ("limit code 33", "dirty filter, wheel packed", "cleaned wheel, new filter", "filter"),
    ("short cycling", "static .9, undersized return", "quoted return", ""),
    ("flame drops out", "flame sensor 0.4 uA", "cleaned rod", "flame sensor"),
    ("blower not running", "cap 3.1 of 7.5", "replaced cap", "run capacitor 7.5 MFD"),
)


def measured(command: list[str], where: Path) -> str:
    """Run a command; its wall and processor time."""
    began, before = time.perf_counter(), os.times()
    subprocess.run(command, cwd=where, env=quiet(), check=True, capture_output=True)
    after = os.times()
    spent = after.children_user + after.children_system - before.children_user - before.children_system
    return f"{time.perf_counter() - began:.1f} s, {spent:.1f} s of processor time"


def main(count: int) -> None:
    """Make the notes, import them, build."""
    with tempfile.TemporaryDirectory() as folder:
        root = make_project(Path(folder) / "project")
        shutil.copytree(DEMO / "narrow-return", root / "casefiles" / "narrow-return")
        rows = [
            (f"{1 + n % 12}/{1 + n % 28}/{2015 + n % 10}", *SAID[n % len(SAID)], "Norhill", f"N{60 + n % 9}", f"W{n}")
            for n in range(count)
        ]
        with (root / "old.csv").open("w", encoding="utf-8", newline="") as out:
            csv.writer(out).writerows(
                [("Date", "Problem", "Notes", "Resolution", "Parts", "Make", "Model", "Job"), *rows]
            )
        columns = "date: Date, complaint: Problem, words: Notes, done: Resolution, parts: Parts"
        (root / "map.yml").write_text(
            f"columns: {{{columns}, make: Make, model: Model, job: Job}}\ndates: month/day/year\n", encoding="utf-8"
        )
        subprocess.run(mkdocs("build", "-q"), cwd=root, env=quiet(), check=True, capture_output=True)
        command = [sys.executable, "-m", "causebook", "import", "old.csv", "--map", "map.yml"]
        print(f"import of {count}: {measured(command, root)}")
        print(f"build: {measured(mkdocs('build', '-q'), root)}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5000)
