"""The commands and their options, and what each of them runs: check, work, find, schema, take, new, import."""

from __future__ import annotations

import argparse
import functools
import json
import sys
import tempfile
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TextIO

from causebook import knowledge
from causebook.casefile.model import Case
from causebook.casefile.read import CASE_FILE, read_case
from causebook.casefile.schema import case_schema
from causebook.commands import bring, new, take
from causebook.commands.watch import watching
from causebook.knowledge import Knowledge
from causebook.library import asking
from causebook.library.find import find
from causebook.library.folders import case_folders, overlooked, strays
from causebook.library.parcels import TRAY, waiting
from causebook.library.patience import SECONDS
from causebook.library.shelf import Shelf, over_all, safely, worked
from causebook.problems import Fence, Problem, errors
from causebook.workup import Workup, work_up
from causebook.writeup import contract, terminal

OK, WRONG, MISUSED = 0, 1, 2


def parser() -> argparse.ArgumentParser:
    """The command line; what it gives back has `run`, which gives back the exit status."""
    line = argparse.ArgumentParser(prog="causebook", description="Work with case files outside a site.")
    commands = line.add_subparsers(required=True, metavar="COMMAND")
    extra = argparse.ArgumentParser(add_help=False)
    extra.add_argument(
        "--knowledge",
        type=Path,
        metavar="FOLDER",
        help="your company's own knowledge files, laid over what is built in",
    )

    check = commands.add_parser("check", parents=[extra], help="say everything that is wrong with case files")
    check.add_argument(
        "paths", nargs="+", type=Path, metavar="PATH", help="a case folder, its case.yml, or a folder of case folders"
    )
    check.add_argument(
        "--seconds",
        type=float,
        default=SECONDS,
        metavar="N",
        help=f"how long one case may take, 0 for as long as it wants (default {SECONDS:g})",
    )
    check.add_argument("--watch", action="store_true", help="check again at every save, until interrupted")
    check.set_defaults(run=watching(_check))

    work = commands.add_parser("work", parents=[extra], help="work up one case and print the reasoning")
    work.add_argument("case", type=Path, metavar="CASE", help="a case folder or its case.yml")
    work.add_argument("--json", action="store_true", help="print the documented JSON instead of text")
    work.add_argument("--upto", type=int, metavar="STEP", help="stop after this step, as the case stood then")
    work.add_argument(
        "--next",
        action="store_true",
        help="print only the notices that are open and the tests worth doing next, best first",
    )
    work.set_defaults(run=_work)

    find = commands.add_parser("find", parents=[extra], help="find the past cases nearest to what is known of another")
    find.add_argument("casefiles", type=Path, metavar="FOLDER", help="the folder of case folders")
    find.add_argument("--complaint", default="", metavar="FAMILY", help="the complaint family, such as 'high limit'")
    find.add_argument(
        "--read",
        action="append",
        default=[],
        metavar="READING",
        help="a reading or a value of the plate, such as 'rise 78 degF' or 'maximum rise 65 degF'",
    )
    find.add_argument(
        "--seen",
        action="append",
        default=[],
        metavar="FINDING",
        help="a finding that is there, or with =no one that was ruled out: filter-dirty, filter-dirty=no",
    )
    find.add_argument("--fact", action="append", default=[], metavar="FACT", help="of the equipment: fuel=propane")
    find.add_argument(
        "--generated",
        type=Path,
        metavar="FOLDER",
        help="where the site's build keeps what it made (default: .causebook beside the case files); "
        "cases kept there are not worked up again",
    )
    find.add_argument("--count", type=int, default=5, metavar="N", help="how many cases (default 5)")
    find.set_defaults(run=_find)

    schema = commands.add_parser(
        "schema", parents=[extra], help="print a JSON Schema: of case files, for editors, or of `work --json`"
    )
    schema.add_argument("of", nargs="?", choices=("case", "work"), default="case")
    schema.set_defaults(run=_schema)
    for command in (take, new, bring):
        command.add(commands, extra)
    return line


def _check(given: argparse.Namespace) -> int:
    known = knowledge.load(given.knowledge)
    folders = [folder for path in given.paths for folder in _folders(path)]
    problems = [problem for path in given.paths for problem in _not_read(path)]
    say(problems)
    with tempfile.TemporaryDirectory(prefix="causebook-") as pages:
        checked = functools.partial(_checked, known=known, pages=Path(pages), seconds=given.seconds)
        for folder, found in zip(folders, over_all(checked, folders), strict=True):
            say(found)
            wrong = len(errors(found))
            print(f"{folder.name}: {_counted(wrong, len(found))}", file=sys.stderr, flush=True)
            problems += found
    for path in given.paths:
        if tray := waiting(path):
            print(f"{len(tray)} in {path / TRAY} to be taken in: causebook take", file=sys.stderr)
    wrong = len(errors(problems))
    print(
        f"{len(folders)} case file{'s' if len(folders) != 1 else ''}: {_counted(wrong, len(problems))}", file=sys.stderr
    )
    return WRONG if wrong or not folders else OK


def _counted(wrong: int, all_: int) -> str:
    return f"{wrong} error{'s' if wrong != 1 else ''}, {all_ - wrong} to look at"


def _checked(folder: Path, known: Knowledge, pages: Path, seconds: float) -> Sequence[Problem]:
    """All that is wrong with one case: it is made as a build makes it, pages, charts and photos, and thrown away."""
    if not (folder / CASE_FILE).is_file():
        return [_no_case(folder)]
    made, problems = worked(folder, known, pages, seconds)
    return problems if made is None else made[0].problems


def _work(given: argparse.Namespace) -> int:
    known = knowledge.load(given.knowledge)
    folder = _folder(given.case)
    case, problems = safely(folder, lambda _: _read(folder, known))
    say(errors(problems), sys.stderr)
    if case is None:
        return WRONG
    if given.upto is not None:
        last = case.steps[-1].number
        if not 1 <= given.upto <= last:
            print(f"causebook: --upto {given.upto}: this case has steps 1 to {last}", file=sys.stderr)
            return MISUSED
    text, faults = safely(folder, lambda fence: _worked(given, case, known, fence))
    say(faults, sys.stderr)
    if text is None:
        return WRONG
    print(text, end="")
    return OK


def _worked(given: argparse.Namespace, case: Case, known: Knowledge, fence: Fence) -> tuple[str, Sequence[Problem]]:
    workup = work_up(case, known, given.upto, fence)
    return _told(given, workup), fence.problems


def _told(given: argparse.Namespace, workup: Workup) -> str:
    """A workup in the form that was asked for."""
    if given.json:
        return json.dumps(contract.as_json(workup), indent=2, ensure_ascii=False) + "\n"
    return terminal.next_as_text(workup) if given.next else terminal.as_text(workup)


def _find(given: argparse.Namespace) -> int:
    known = knowledge.load(given.knowledge)
    try:
        query = asking.query(given.complaint, given.read, given.seen, given.fact, known)
    except asking.NotUnderstood as wrong:
        print(f"causebook: {wrong}", file=sys.stderr)
        return MISUSED
    casefiles = given.casefiles.absolute()
    shelf = Shelf.within(given.generated or casefiles.parent / ".causebook", casefiles, known)
    told = [shelf.record(folder) for folder in case_folders(casefiles)]
    records = [record for record, _ in told if record is not None]
    say((problem for _, problems in told for problem in problems), sys.stderr)
    print(asking.as_text(find(records, query, known, given.count), len(records), known), end="")
    return OK if records else WRONG


def _schema(given: argparse.Namespace) -> int:
    schema = case_schema(knowledge.load(given.knowledge)) if given.of == "case" else contract.json_schema()
    print(json.dumps(schema, ensure_ascii=False))
    return OK


def _folder(path: Path) -> Path:
    return path.parent if path.name == CASE_FILE else path


def _folders(path: Path) -> list[Path]:
    """The case folders a path stands for; a path with none stands for itself, so that its absence is reported."""
    folder = _folder(path)
    return [folder] if (folder / CASE_FILE).exists() else case_folders(folder) or [folder]


def _not_read(path: Path) -> list[Problem]:
    """What of a path is passed over: of a folder of case folders, or of one that should be a case."""
    if _folder(path) != path or (path / CASE_FILE).exists():
        return []
    return overlooked(path) if case_folders(path) else strays(path)


def _read(folder: Path, known: Knowledge) -> tuple[Case | None, Sequence[Problem]]:
    if not (folder / CASE_FILE).is_file():
        return None, [_no_case(folder)]
    return read_case(folder, known)


def _no_case(folder: Path) -> Problem:
    return Problem(folder, 0, 0, "", "holds no case", f"a folder with a {CASE_FILE} in it")


def say(problems: Iterable[Problem], to: TextIO | None = None) -> None:
    """Print problems, one a line."""
    for problem in problems:
        print(problem, file=to, flush=True)
