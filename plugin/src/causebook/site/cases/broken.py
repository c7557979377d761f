"""While somebody writes: a case whose last save broke keeps its last good page, with what is wrong on top of it.

Only `mkdocs serve` shows this.  A published site leaves such a case out.
"""

from __future__ import annotations

import html
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from causebook.problems import Problem

NEVER_GOOD = "# {id}\n\nThis case has no page yet.\n"
"""The page of a case that never was sound."""


def with_errors(output: str, problems: Sequence[Problem], root: Path) -> str:
    """A page with a box of problems above its heading; paths are shown relative to `root`."""
    items = "".join(f"<li>{html.escape(_shown(p, root))}</li>" for p in problems)
    count = f"{len(problems)} error{'s' if len(problems) != 1 else ''}"
    box = (
        f'<div class="cb-broken" role="alert"><p><strong>Your last save has {count}.</strong> '
        f"Below stands the page as it last was right.</p><ol>{items}</ol></div>"
    )
    before, heading, after = output.partition("<h1")
    return before + box + heading + after if heading else box + output


def _shown(problem: Problem, root: Path) -> str:
    path = problem.path.absolute()
    return str(replace(problem, path=path.relative_to(root)) if path.is_relative_to(root) else problem)
