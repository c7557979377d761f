"""The shelf: every case worked up and written up once, and kept until something it depends on changes.

What is kept of a case is an `Entry`: its record, its pages, its charts, the names of its pictures and what the
review said.  Its key is a digest of the case folder, of the knowledge and of this package's own files, so that a
new template or a corrected formula makes every page anew.  An entry that cannot be read is made again.
"""

from __future__ import annotations

import hashlib
import json
import logging
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

import causebook
from causebook.casefile.read import read_case
from causebook.knowledge.model import Knowledge
from causebook.library.disk import prune, write_if_different
from causebook.library.folders import case_folders
from causebook.library.record import Record, record_of
from causebook.problems import Problem, Severity, errors
from causebook.workup import Workup, work_up
from causebook.writeup.charts import charts_for
from causebook.writeup.charts.model import Chart
from causebook.writeup.page import case_page, customer_page
from causebook.writeup.photos import publish

log = logging.getLogger(__name__)
PHOTOS = "photos"
"""Folder of the pictures beside a case's pages."""


@dataclass(frozen=True, slots=True)
class Entry:
    """What the site needs of one case."""

    record: Record
    pages: Mapping[str, str]
    """Source path below the case's own -> Markdown."""
    charts: Mapping[str, str]
    """Placeholder -> what stands in its place once Markdown is done."""
    pictures: tuple[str, ...]
    """Paths of the published pictures, below the case's own."""
    problems: tuple[Problem, ...]

    def as_json(self) -> dict[str, Any]:
        """The entry as plain JSON data."""
        return {"record": self.record.as_json(), "pages": dict(self.pages), "charts": dict(self.charts),
                "pictures": list(self.pictures),
                "problems": [{"path": str(p.path), "line": p.line, "column": p.column, "field": p.field,
                              "found": p.found, "expected": p.expected, "hint": p.hint, "severity": p.severity.value,
                              "rule": p.rule} for p in self.problems]}

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Entry:
        """The entry back from its JSON; KeyError, TypeError, ValueError or AttributeError when it is not one."""
        problems = (p | {"path": Path(p["path"]), "severity": Severity(p["severity"])} for p in data["problems"])
        return cls(Record.from_json(data["record"]), dict(data["pages"]), dict(data["charts"]),
                   tuple(data["pictures"]), tuple(Problem(**p) for p in problems))


@dataclass(frozen=True, slots=True)
class Shelved:
    """What came of one look at the case files."""

    entries: tuple[Entry, ...]
    problems: tuple[Problem, ...]
    """All problems of all cases, of those left out too."""
    renewed: frozenset[str]
    """Ids of the cases that were worked up anew."""


class Shelf:
    """The entries of the cases below `casefiles`, kept in `kept`, their pictures published in `pages`."""

    def __init__(self, casefiles: Path, kept: Path, pages: Path, knowledge: Knowledge) -> None:
        self.casefiles, self.kept, self.pages, self.knowledge = casefiles, kept, pages, knowledge

    def take(self, only: Sequence[str] = ()) -> Shelved:
        """The entries of all cases, or of those whose folder name matches a pattern of `only`, in order of id."""
        entries: list[Entry] = []
        problems: list[Problem] = []
        renewed = set()
        for folder in case_folders(self.casefiles, only):
            key = self._key(folder)
            entry = self._find(folder.name, key)
            if entry is None:
                entry, wrong = self._make(folder)
                problems += wrong
                if entry is None:
                    continue
                renewed.add(folder.name)
                write_if_different(self._path(folder.name), json.dumps({"key": key} | entry.as_json(),
                                                                       ensure_ascii=False))
            problems += entry.problems
            entries.append(entry)
        if not only:
            prune(self.kept, (self._path(folder.name) for folder in case_folders(self.casefiles)))
        return Shelved(tuple(entries), tuple(sorted(problems)), frozenset(renewed))

    def _path(self, id_: str) -> Path:
        return self.kept / f"{id_}.json"

    def _key(self, folder: Path) -> str:
        digest = hashlib.sha256(f"{package_digest()} {self.knowledge.version} {folder}\n".encode())
        for path in sorted(p for p in folder.rglob("*") if p.is_file()):
            at = path.stat()
            digest.update(f"{path.relative_to(folder)} {at.st_size} {at.st_mtime_ns}\n".encode())
        return digest.hexdigest()

    def _find(self, id_: str, key: str) -> Entry | None:
        try:
            data = json.loads(self._path(id_).read_text())
            entry = Entry.from_json(data) if data["key"] == key else None
        except (OSError, ValueError, KeyError, TypeError, AttributeError):
            return None
        if entry and all((self.pages / id_ / name).is_file() for name in entry.pictures):
            return entry
        return None

    def _make(self, folder: Path) -> tuple[Entry | None, Iterable[Problem]]:
        case, problems = read_case(folder, self.knowledge)
        if case is None or errors(problems):
            return None, problems
        try:
            entry = entry_of(work_up(case, self.knowledge), self.pages / case.id)
        except Exception as fault:  # whatever it is, it must not take the other cases with it
            log.debug("%s could not be worked up", folder.name, exc_info=True)
            return None, [Problem(case.path, 0, 0, "", f"could not be worked up ({type(fault).__name__}: {fault})", "",
                                  "a fault of the program, not of the case file; please report it with the file")]
        return replace(entry, problems=tuple(dict.fromkeys((*problems, *entry.problems)))), ()


def entry_of(workup: Workup, folder: Path) -> Entry:
    """Write up one workup; its pictures are published below `folder`."""
    published = publish(workup.case, folder / PHOTOS)
    charts = charts_for(workup)
    pages = {"index.md": case_page(workup, charts=charts, pictures=published.pictures, photo_base=f"{PHOTOS}/",
                                   customer="customer.md"),
             "customer.md": customer_page(workup)}
    return Entry(
        record=record_of(workup),
        pages={name: page.text for name, page in pages.items()},
        charts={f'<div class="cb-chart" data-chart="{c.id}"></div>': _drawings(c) for c in charts if isinstance(c, Chart)},
        pictures=tuple(f"{PHOTOS}/{name}" for picture in published.pictures for name in picture.names),
        problems=(*workup.problems, *published.problems))


def _drawings(chart: Chart) -> str:
    """Both drawings of a chart; the style sheet shows the one that fits."""
    return (f'<div class="cb-chart" data-chart="{chart.id}"><div class="cb-wide">{chart.svg_wide}</div>'
            f'<div class="cb-narrow">{chart.svg_narrow}</div></div>')


@cache
def package_digest() -> str:
    """Digest of this package's own files: code, data and templates."""
    digest = hashlib.sha256()
    root = Path(causebook.__file__).parent
    for path in sorted(p for p in root.rglob("*") if p.is_file() and p.suffix != ".pyc"):
        digest.update(str(path.relative_to(root)).encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()
