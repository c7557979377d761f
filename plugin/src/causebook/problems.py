"""Problems: what is wrong in an author's file, where, and what to do; collected, never thrown one at a time."""

from __future__ import annotations

import difflib
import errno
import logging
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import TypeVar

T = TypeVar("T")
U = TypeVar("U")
log = logging.getLogger(__name__)
_MACHINE = frozenset(
    getattr(errno, name)
    for name in ("ENOSPC", "EDQUOT", "EFBIG", "EROFS", "EACCES", "EPERM", "EMFILE", "ENFILE", "EIO", "ENOMEM")
    if hasattr(errno, name)
)


class Severity(StrEnum):
    """An error stops the case; a warning is shown and the case goes on."""

    ERROR = "error"
    WARNING = "warning"


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One thing wrong at one place.

    `line` and `column` count from 1; 0 where the problem has no place in the file.  `rule` names the documented
    rule behind it, so that a case file can answer it by name.
    """

    path: Path
    line: int
    column: int
    field: str
    found: str
    expected: str
    hint: str = ""
    severity: Severity = Severity.ERROR
    rule: str = ""

    def __str__(self) -> str:
        where = f"{self.path}:{self.line}" if self.line else f"{self.path}"
        text = f"{where}: {self.field}: {self.found}" if self.field else f"{where}: {self.found}"
        text += f"; expected {self.expected}" if self.expected else ""
        text += f"; {self.hint}" if self.hint else ""
        return f"{text} [{self.rule}]" if self.rule else text


def errors(problems: Iterable[Problem]) -> list[Problem]:
    """Those that stop a case, in file order."""
    return sorted(p for p in problems if p.severity is Severity.ERROR)


_LONGEST_WORD = 80


def nearest(word: str, known: Iterable[str], count: int = 3) -> list[str]:
    """The known words nearest to a mistyped one, nearest first; none for a text too long to be a word."""
    if len(word) > _LONGEST_WORD:
        return []
    return difflib.get_close_matches(word, list(known), n=count, cutoff=0.55)


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A hint naming the nearest known words, or an empty text."""
    near = nearest(word, known)
    return "did you mean " + " or ".join(repr(n) for n in near) + "?" if near else ""


def of_the_machine(fault: BaseException) -> bool:
    """Is it the machine that fails (disk full, folder read-only, no more files), and so every case and not this one?"""
    return isinstance(fault, OSError) and fault.errno in _MACHINE


def fault_of(path: Path, place: str, fault: Exception) -> Problem:
    """A fault of the program in one place of one case, as a problem that names both."""
    return Problem(
        path,
        0,
        0,
        place,
        f"could not be made ({type(fault).__name__}: {fault})",
        "",
        "a fault of the program, not of the case file; please report it with the file",
        rule="fault",
    )


class Fence:
    """Keeps a fault of the program to the piece of a case in which it happens: the piece is lost, the case is not.

    `at` is told each piece before it is made, so that whoever waits can say where it is.
    """

    def __init__(self, path: Path, at: Callable[[str], None] = lambda place: None) -> None:
        self.path, self.at = path, at
        self.problems: list[Problem] = []

    def keep(self, place: str, make: Callable[[], T], instead: U) -> T | U:
        """What `make` gives; `instead`, and a problem that names the place, when it fails."""
        self.at(place)
        try:
            return make()
        except Exception as fault:
            if of_the_machine(fault):
                raise
            log.debug("%s: %s", self.path, place, exc_info=True)
            self.problems.append(fault_of(self.path, place, fault))
            return instead
