"""The full-text index of a built site: what of a page is searched, and the program that indexes it.

Pagefind reads the built pages.  Only what stands in the marked body of a page is searched; charts, tables of numbers
and lists of other cases are left out.  The index is built beside its place and then moved there, so that an unfinished
one is never found.
"""

from __future__ import annotations

import html
import os
import shutil
import subprocess
import sys
from pathlib import Path

from causebook.knowledge.model import Knowledge
from causebook.library.facets import words_of
from causebook.library.index_order import in_order
from causebook.library.record import Record

FOLDER = "pagefind"
LEFT_OUT = (
    ".cb-chart",
    "table",
    "svg",
    ".headerlink",
    ".cb-cases",
    ".cb-pager",
    ".cb-print-answers",
    ".cb-study",
    ".cb-line",
    ".cb-edit",
    ".cb-caution",
    "dt",
)
"""Selectors of what is not searched."""
_WIDGETS = ("pagefind-ui.*", "pagefind-modular-ui.*", "pagefind-component-ui.*", "pagefind-highlight.*")
"""Ready-made search boxes that come with the index; this site has its own."""


class NoIndex(Exception):
    """The index could not be built; says why."""


def searched(page: str) -> str:
    """A page's HTML, marked to be searched."""
    return f"<div data-pagefind-body>{page}</div>"


def searched_case(page: str, record: Record, knowledge: Knowledge) -> str:
    """A case's HTML, marked to be searched, with what it can be filtered and sorted by.

    By date only: each order costs every first search 22 kB at 10,000 cases.
    """
    filters = {**words_of(record, knowledge), "year": [str(record.year)]}
    marks = [_mark("filter", name, value) for name, values in filters.items() for value in values]
    marks += [_mark("sort", "date", record.date), _mark("meta", "case", record.id)]
    return searched("".join(marks) + page)


def _mark(kind: str, name: str, value: str) -> str:
    return f'<span hidden data-v="{html.escape(value)}" data-pagefind-{kind}="{name}[data-v]"></span>'


def build_index(site: Path) -> None:
    """Index the built site; NoIndex when the program is missing or fails, and then no index is left there."""
    part = site / f".{FOLDER}-part"
    for left in (part, site / FOLDER):  # a killed build may have left either, with words that were taken back since
        if left.exists():
            shutil.rmtree(left)
    command = [
        sys.executable,
        "-m",
        "pagefind",
        "--site",
        str(site),
        "--output-path",
        str(part),
        "--silent",
        "--force-language",
        "en",
        "--exclude-selectors",
        ",".join(LEFT_OUT),
    ]
    # Addresses with "index.html" at their end, so that they are the same from a stick as from a server.
    settings = os.environ | {"PAGEFIND_KEEP_INDEX_URL": "true"}
    try:
        done = subprocess.run(command, capture_output=True, encoding="utf-8", env=settings)
        if done.returncode != 0 or not (part / "pagefind.js").is_file():
            raise NoIndex((done.stderr.strip() or done.stdout.strip() or "it wrote nothing").splitlines()[-1])
        for path in (path for pattern in _WIDGETS for path in part.glob(pattern)):
            path.unlink()
        in_order(part)
        part.rename(site / FOLDER)
    finally:
        shutil.rmtree(part, ignore_errors=True)
