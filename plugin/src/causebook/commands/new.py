"""`causebook new`: a case folder with what a complaint of this family wants to be read, ready to fill in."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any


def add(commands: Any, extra: argparse.ArgumentParser) -> None:
    """Name the command and its options to the parser."""
    parser = commands.add_parser("new", parents=[extra], help="begin a case: a folder with a case.yml to fill in")
    parser.add_argument("family", nargs="?", metavar="FAMILY", help="the complaint family, such as 'high limit'")
    parser.add_argument(
        "--name", default="", metavar="NAME", help="the folder's name (default: the day and the family)"
    )
    parser.add_argument(
        "--from", dest="note", default="", metavar="NOTE", help="begin with what a job note says, by its id"
    )
    parser.add_argument(
        "--casefiles",
        type=Path,
        default=Path("casefiles"),
        metavar="FOLDER",
        help="the folder of case folders (default: casefiles)",
    )
    parser.add_argument(
        "--notes", type=Path, default=Path("notes"), metavar="FOLDER", help="the folder of job notes (default: notes)"
    )
    parser.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """0 when the case was begun; 2 when the family or the note is not known, or the folder is there already."""
    import datetime as dt

    from causebook import knowledge
    from causebook.casefile.blank import blank
    from causebook.casefile.desk import Desk, Spot, shown_path
    from causebook.casefile.ids import resolve
    from causebook.casefile.notes import read_notes
    from causebook.casefile.read import CASE_FILE
    from causebook.library.disk import write_if_different
    from causebook.library.parcels import case_name

    known = knowledge.load(given.knowledge)
    desk = Desk(Path("causebook new"))
    note = None
    if given.note:
        notes, _ = read_notes(given.notes, known)
        note = next((one for one in notes if one.id == given.note), None)
        if note is None:
            print(f"causebook: no note {given.note!r} in {given.notes}", file=sys.stderr)
            return 2
    said = given.family or (note.family if note else "")
    family = resolve(said, "family", known, Spot(), "FAMILY", desk) if said else None
    if family is None:
        hint = f"; {desk.problems[0].hint}" if desk.problems and desk.problems[0].hint else ""
        wanted = ", ".join(known.families)
        print(f"causebook: {said!r} is no complaint family: one of {wanted}{hint}", file=sys.stderr)
        return 2
    date = note.date if note and note.date else dt.date.today()
    folder = given.casefiles / case_name(given.name or f"{date} {note.id if note else family}")
    if folder.exists():
        print(f"causebook: {folder} is there already", file=sys.stderr)
        return 2
    text = (
        blank(family, known, date, title=note.words or note.done, words=note.words, done=note.done)
        if note
        else blank(family, known, date)
    )
    write_if_different(folder / CASE_FILE, text)
    print(shown_path(folder / CASE_FILE))
    return 0
