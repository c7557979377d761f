"""Problems in the build's log: one line each, errors as errors, so that a strict build stops for them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.plugins import get_plugin_logger

from causebook.problems import Problem, Severity

log = get_plugin_logger("causebook")


def report(problems: Iterable[Problem], root: Path) -> None:
    """Log each problem; paths below `root` are shown relative to it."""
    for problem in problems:
        absolute = problem.path.absolute()
        shown = replace(problem, path=absolute.relative_to(root)) if absolute.is_relative_to(root) else problem
        (log.error if problem.severity is Severity.ERROR else log.warning)(str(shown))


def folder_problems(config: MkDocsConfig) -> list[Problem]:
    """Would a click in the built folder, opened without a server, show a list of files instead of a page?

    Whoever names the address of the site means to serve it, and is not told.
    """
    if not config.use_directory_urls or config.site_url:
        return []
    path = Path(config.config_file_path or "mkdocs.yml")
    lines = path.read_text(encoding="utf-8").splitlines() if path.is_file() else []
    line = next((n for n, text in enumerate(lines, 1) if text.startswith("use_directory_urls")), 0)
    return [
        Problem(
            path,
            line,
            0,
            "use_directory_urls",
            "opened from a stick, a link shows a list of files",
            "`use_directory_urls: false`",
            "or, where the library is only served, its address as `site_url`",
            Severity.WARNING,
        )
    ]
