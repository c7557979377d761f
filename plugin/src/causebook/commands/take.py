"""`causebook take`: put calls handed in from the call sheet among the cases."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any


def add(commands: Any, extra: argparse.ArgumentParser) -> None:
    """Name the command and its options to the parser."""
    parser = commands.add_parser(
        "take", parents=[extra], help="put calls from the call sheet among the cases, and say what they still want"
    )
    parser.add_argument(
        "files",
        nargs="*",
        type=Path,
        metavar="FILE.zip",
        help="what the call sheet saved or shared (default: all that wait in the tray, casefiles/_in)",
    )
    parser.add_argument(
        "--casefiles",
        type=Path,
        default=Path("casefiles"),
        metavar="FOLDER",
        help="the folder of case folders (default: casefiles)",
    )
    parser.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """0 when every file was filed without an error; 1 when one was refused or has errors."""
    from causebook import knowledge
    from causebook.casefile.desk import shown_path
    from causebook.casefile.read import read_case
    from causebook.library import parcels
    from causebook.problems import errors

    known = knowledge.load(given.knowledge)
    files = given.files or parcels.waiting(given.casefiles)
    if not files:
        print(f"No calls wait in {given.casefiles / parcels.TRAY}.", file=sys.stderr)
        return 0
    wrong = 0
    for path in files:
        parcel, problems = parcels.open_parcel(path)
        if parcel is not None:
            folder, before = parcels.file_parcel(parcel, given.casefiles)
            if folder is None:
                print(f"{path}: filed before as {given.casefiles / before}", file=sys.stderr)
            else:
                _, problems = read_case(folder, known)
                print(f"{path} -> {shown_path(folder)}")
            parcels.put_away(path, given.casefiles)
        for problem in problems:
            print(problem)
        wrong += bool(errors(problems))
    return 1 if wrong else 0
