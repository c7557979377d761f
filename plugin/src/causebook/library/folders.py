"""Which folders are cases, and what looks like one and is none."""

from __future__ import annotations

import fnmatch
import re
from collections.abc import Iterator, Sequence
from pathlib import Path

from causebook.casefile.desk import shown_path
from causebook.casefile.read import CASE_FILE
from causebook.problems import Problem, Severity

_MEANT = re.compile(r"case\.ya?ml(\.txt)?", re.IGNORECASE)
"""What editors and systems make of the name of a case file."""
_YAML = (".yml", ".yaml")


def case_folders(casefiles: Path, only: Sequence[str] = ()) -> list[Path]:
    """The folders below `casefiles` that hold a case file, in order of name; `_` and `.` at the front hide one."""
    return sorted(path.parent for path in casefiles.glob(f"[!_.]*/{CASE_FILE}") if _wanted(path.parent, only))


def overlooked(casefiles: Path, only: Sequence[str] = ()) -> list[Problem]:
    """A warning for whatever stands below `casefiles` as a case would and is not read."""
    return [problem for path in sorted(casefiles.glob("[!_.]*")) if _wanted(path, only) for problem in _unread(path)]


def strays(folder: Path) -> list[Problem]:
    """A warning for each case file of a folder that has another name, or lies a folder too deep."""
    here = [] if (folder / CASE_FILE).exists() else sorted(folder.glob("[!_.]*"))
    deeper = sorted(folder.glob("[!_.]*/[!_.]*"))
    return [
        _say(path, "is not read", expected, "" if path.name == CASE_FILE else f"did you mean {CASE_FILE!r}?")
        for paths, expected in ((here, ""), (deeper, "case folders side by side, none in another"))
        for path in paths
        if _MEANT.fullmatch(path.name)
    ]


def _wanted(path: Path, only: Sequence[str]) -> bool:
    return not only or any(fnmatch.fnmatch(path.name, pattern) for pattern in only)


def _unread(path: Path) -> Iterator[Problem]:
    if not path.is_dir():
        if path.suffix.lower() in _YAML:
            yield _say(path, "is not read", f"a folder for each case, with its {CASE_FILE}")
        return
    misnamed = strays(path)
    yield from misnamed
    if not misnamed and not (path / CASE_FILE).exists():
        yield _say(path, f"holds no {CASE_FILE}", "a case, or `_` before the name of a folder that is none")


def _say(path: Path, found: str, expected: str, hint: str = "") -> Problem:
    return Problem(shown_path(path), 0, 0, "", found, expected, hint, Severity.WARNING)
