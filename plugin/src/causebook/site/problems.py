"""Problems in the build's log: one line each, errors as errors, so that a strict build stops for them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from mkdocs.plugins import get_plugin_logger

from causebook.problems import Problem, Severity

log = get_plugin_logger("causebook")


def report(problems: Iterable[Problem], root: Path) -> None:
    """Log each problem; paths below `root` are shown relative to it."""
    for problem in problems:
        absolute = problem.path.absolute()
        shown = replace(problem, path=absolute.relative_to(root)) if absolute.is_relative_to(root) else problem
        (log.error if problem.severity is Severity.ERROR else log.warning)(str(shown))
