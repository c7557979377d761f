"""The desk on which a reader lays every problem it meets, each with its place, while it goes on reading."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

from causebook.problems import Problem, Severity
from causebook.quantity import QuantityError

MOST_PROBLEMS = 100
"""Problems told of one file at once."""


class Place(Protocol):
    """Anything that knows where it stands."""

    @property
    def line(self) -> int: ...

    @property
    def column(self) -> int: ...


@dataclass(frozen=True, slots=True)
class Spot:
    """A bare line, for files that are not YAML; 0 for the file as a whole."""

    line: int = 0
    column: int = 0


@dataclass(slots=True)
class Desk:
    """Collects the problems of one file; `path` is the file as messages name it."""

    path: Path
    problems: list[Problem] = field(default_factory=list)

    @property
    def full(self) -> bool:
        """Is there more wrong than anybody reads at once?  What comes after is not looked at."""
        return len(self.problems) >= MOST_PROBLEMS

    def say(
        self,
        at: Place,
        where: str,
        found: str,
        expected: str,
        hint: str = "",
        *,
        severity: Severity = Severity.ERROR,
        rule: str = "",
    ) -> None:
        """Lay down one problem; the same one twice (an alias read twice) counts once."""
        if self.full:
            return
        problem = Problem(self.path, at.line, at.column, where, found, expected, hint, severity, rule)
        if problem not in self.problems:
            self.problems.append(problem)

    def refused(self, at: Place, where: str, error: QuantityError) -> None:
        """Lay down a text that was not the quantity or size asked for."""
        self.say(at, where, repr(short(error.found)) + (f": {error.hint}" if error.hint else ""), error.expected)


def short(text: str, most: int = 60) -> str:
    """A text cut to a length that a message can hold."""
    line = " ".join(text.split())
    return line if len(line) <= most else line[: most - 1] + "…"


def shown_path(path: Path) -> Path:
    """A path as messages name it: relative to the working folder when inside it."""
    try:
        return path.resolve().relative_to(Path.cwd())
    except ValueError:
        return path
