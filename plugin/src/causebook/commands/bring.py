"""`causebook import`: old job notes out of another program's CSV."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any


def add(commands: Any, extra: argparse.ArgumentParser) -> None:
    """Name the command and its options to the parser."""
    parser = commands.add_parser(
        "import", parents=[extra], help="bring old job notes in from a CSV, and say what was not understood"
    )
    parser.add_argument("file", type=Path, metavar="FILE.csv", help="what another program or a spreadsheet saved")
    parser.add_argument(
        "--map", type=Path, metavar="MAP.yml", help="which column is what, how dates are written, further phrases"
    )
    parser.add_argument(
        "--notes", type=Path, default=Path("notes"), metavar="FOLDER", help="the folder of job notes (default: notes)"
    )
    parser.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """0 when the notes were written; 1 when the file cannot be read or its columns cannot be told."""
    from causebook import knowledge
    from causebook.casefile.foreign import bring_in
    from causebook.library.disk import write_if_different
    from causebook.library.parcels import case_name

    known = knowledge.load(given.knowledge)
    try:
        data = given.file.read_bytes()
    except OSError as fault:
        print(f"{given.file}: cannot be read ({fault.strerror})", file=sys.stderr)
        return 1
    text, report, problems = bring_in(data, str(given.file), given.map, known)
    for problem in problems:
        print(problem)
    if text is None:
        return 1
    path = given.notes / f"{case_name(given.file.stem)}.csv"
    write_if_different(path, text)
    print(f"{path}: " + "\n  ".join(report.lines()))
    return 0
