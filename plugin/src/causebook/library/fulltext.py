"""The full-text index of a built site: what of a page is searched, and the program that indexes it.

Pagefind reads the built pages.  Only what stands in the marked body of a page is searched; charts, tables of numbers
and lists of other cases are left out.  The index is built elsewhere and then moved to its place, so that an
unfinished one is never found.
"""

from __future__ import annotations

import html
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from pagefind.service import get_executable

from causebook.knowledge.model import Knowledge
from causebook.library.facets import words_of
from causebook.library.index_order import in_order
from causebook.library.place import INDEX
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


def build_index(site: Path, work: Path | None = None) -> None:
    """Index the built site; NoIndex when the program is missing or fails, and then no index is left there.

    The index is made in a folder of its own below `work` (left out: beside the site), so that nothing of a build that
    was killed, nor of its indexing program, can come into this one.
    """
    if (site / FOLDER).exists():
        shutil.rmtree(site / FOLDER)
    part = Path(tempfile.mkdtemp(prefix=INDEX, dir=work or site.parent))
    made = part / FOLDER
    try:
        _run(site, made)
        for path in (path for pattern in _WIDGETS for path in made.glob(pattern)):
            path.unlink()
        in_order(made)
        shutil.move(made, site / FOLDER)
    finally:
        shutil.rmtree(part, ignore_errors=True)


def _run(site: Path, made: Path) -> None:
    """Run the program, which ends when this process does."""
    program = get_executable()
    if program is None:
        raise NoIndex("the program pagefind is not installed")
    command = [
        sys.executable,
        "-m",
        "causebook.library.minded",
        str(program),
        "--site",
        str(site),
        "--output-path",
        str(made),
        "--silent",
        "--force-language",
        "en",
        "--exclude-selectors",
        ",".join(LEFT_OUT),
    ]
    # Addresses with "index.html" at their end, so that they are the same from a stick as from a server.
    settings = os.environ | {"PAGEFIND_KEEP_INDEX_URL": "true"}
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, env=settings
    ) as running:
        assert running.stdout is not None
        said = running.stdout.read().decode("utf-8", errors="replace").strip()
        status = running.wait()
    if status != 0 or not (made / "pagefind.js").is_file():
        raise NoIndex((said or "it wrote nothing").splitlines()[-1])
