"""The shelf: every case worked up and written up once, and kept until something it depends on changes.

Two files are kept of a case.  The small one, an `Entry`, holds what the library needs of every case at every build:
its record, the names of its pictures, what the review said.  The large one, `Written`, holds its pages and charts
and is only opened for a page that is built.  Their key is a digest of the case folder, of the knowledge and of this
package's own files, so that a new template or a corrected formula makes every page anew.  What cannot be read, or
was cut short, is made again.
"""

from __future__ import annotations

import hashlib
import json
import logging
import multiprocessing
import os
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Executor, ProcessPoolExecutor
from dataclasses import asdict, dataclass, replace
from functools import cache
from multiprocessing import connection
from pathlib import Path
from typing import Any, TypeVar

import causebook
from causebook.belief.verdict import StopNotice
from causebook.casefile.desk import shown_path
from causebook.casefile.model import Case
from causebook.casefile.read import CASE_FILE, read_case
from causebook.knowledge.model import Knowledge
from causebook.library.disk import prune, write_if_different
from causebook.library.folders import case_folders, overlooked
from causebook.library.patience import SECONDS, TookTooLong, at_most
from causebook.library.record import Record, bare_record, record_of
from causebook.problems import Fence, Problem, Severity, errors, fault_of, of_the_machine
from causebook.workup import Workup, work_up
from causebook.writeup.bare import bare_customer_page, bare_page
from causebook.writeup.charts import charts_for
from causebook.writeup.charts.model import Chart
from causebook.writeup.customer import TITLE, customer_page
from causebook.writeup.page import Beside, case_page, proof_page
from causebook.writeup.photos import publish
from causebook.writeup.workit import work_page

log = logging.getLogger(__name__)
T = TypeVar("T")
PHOTOS = "photos"
"""Folder of the pictures beside a case's pages."""
MOST_WRITTEN = 12_000_000
"""Bytes that the pages and charts of one case may have; the largest of the demo have a twentieth of that."""
TOO_LONG = "part the case into several, or report it with the file"
BESIDE = Beside(proof="proof.md", work="work.md", customer="customer.md", cautions="../cautions.md")
"""Where the pages beside a case's own stand."""
ALONE = 6
"""Up to so many cases are worked up in this process; more are worth starting others for."""
NOT_ONE = (OSError, ValueError, KeyError, TypeError, AttributeError)
"""What reading a kept file raises that is not what it should be."""


@dataclass(frozen=True, slots=True)
class Entry:
    """What the library needs of one case at every build."""

    record: Record
    key: str
    pictures: tuple[str, ...]
    """Paths of the published pictures, below the case's own."""
    problems: tuple[Problem, ...]
    size: int
    """Bytes of the kept pages and charts."""

    def as_json(self) -> dict[str, Any]:
        """The entry as plain JSON data."""
        problems = [asdict(p) | {"path": str(p.path), "severity": p.severity.value} for p in self.problems]
        return {
            "record": self.record.as_json(),
            "key": self.key,
            "pictures": list(self.pictures),
            "problems": problems,
            "size": self.size,
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Entry:
        """The entry back from its JSON; one of `NOT_ONE` when it is not one."""
        problems = (p | {"path": Path(p["path"]), "severity": Severity(p["severity"])} for p in data["problems"])
        return cls(
            Record.from_json(data["record"]),
            str(data["key"]),
            tuple(data["pictures"]),
            tuple(Problem(**p) for p in problems),
            int(data["size"]),
        )


@dataclass(frozen=True, slots=True)
class Written:
    """The pages and charts of one case."""

    pages: Mapping[str, str]
    """Source path below the case's own -> Markdown."""
    charts: Mapping[str, str]
    """Placeholder -> what stands in its place once Markdown is done."""

    def as_bytes(self) -> bytes:
        """The bytes that are kept of it."""
        return json.dumps(asdict(self), ensure_ascii=False).encode()


@dataclass(frozen=True, slots=True)
class Shelved:
    """What came of one look at the case files."""

    entries: tuple[Entry, ...]
    problems: tuple[Problem, ...]
    """All problems of all cases, of those left out too, and what was passed over."""
    renewed: frozenset[str]
    """Ids of the cases that were worked up anew."""
    broken: Mapping[str, tuple[Problem, ...]]
    """Ids of the cases that are not sound now -> why; among `entries` stands the last good one, where that was asked
    for and there is one."""


class Shelf:
    """The cases below `casefiles`, kept in `kept`, their pictures published in `pages`."""

    def __init__(self, casefiles: Path, kept: Path, pages: Path, knowledge: Knowledge) -> None:
        self.casefiles, self.kept, self.pages, self.knowledge = casefiles, kept, pages, knowledge

    @classmethod
    def within(cls, generated: Path, casefiles: Path, knowledge: Knowledge) -> Shelf:
        """The shelf of a site that keeps everything generated below one folder."""
        return cls(casefiles, generated / "kept", generated / "pages" / "cases", knowledge)

    def take(self, only: Sequence[str] = (), last_good: bool = False, executor: Executor | None = None) -> Shelved:
        """The entries of all cases, or of those whose folder name matches a pattern of `only`, in order of id.

        With `last_good` a case that is not sound any more stands as it last was.  `executor`: see `over_all`.
        """
        folders = case_folders(self.casefiles, only)
        found = {folder: self._find(folder) for folder in folders}
        stale = [folder for folder, entry in found.items() if entry is None]
        made = dict(zip(stale, over_all(self.make, stale, executor), strict=True))
        problems = overlooked(self.casefiles, only) + [p for _, wrong in made.values() for p in wrong]
        entries = [entry for folder in folders if (entry := found[folder] or made[folder][0])]
        problems += [p for entry in entries for p in entry.problems]
        broken = {folder.name: tuple(wrong) for folder, (entry, wrong) in made.items() if entry is None}
        if last_good:
            before = (self._kept(self.casefiles / id_) for id_ in broken)
            entries = sorted([*entries, *(entry for entry in before if entry)], key=lambda e: e.record.id)
        if not only:
            prune(self.kept, (path for folder in folders for path in self._paths(folder.name)))
        return Shelved(
            tuple(entries),
            tuple(sorted(problems)),
            frozenset(folder.name for folder, (entry, _) in made.items() if entry),
            broken,
        )

    def record(self, folder: Path) -> tuple[Record | None, Sequence[Problem]]:
        """The record of one case, as kept or, without writing it up, worked up now; none, and the errors, when it is
        not sound."""
        if (entry := self._find(folder)) is not None:
            return entry.record, ()
        return safely(folder, lambda fence: self._record(folder, fence))

    def _record(self, folder: Path, fence: Fence) -> tuple[Record | None, Sequence[Problem]]:
        case, problems = read_case(folder, self.knowledge)
        wrong = errors(problems)
        if case is None or wrong:
            return None, wrong
        record = fence.keep(
            "working it up",
            lambda: record_of(work_up(case, self.knowledge, fence=fence)),
            bare_record(case, self.knowledge, stopped=False),
        )
        return record, fence.problems

    def written(self, entry: Entry) -> Written:
        """The pages and charts of a case on the shelf; made again when what was kept is broken."""
        path = self._paths(entry.record.id)[1]
        for _ in range(2):
            try:
                data = json.loads(path.read_text(encoding="utf-8"))
                return Written(
                    {str(k): str(v) for k, v in data["pages"].items()},
                    {str(k): str(v) for k, v in data["charts"].items()},
                )
            except NOT_ONE:
                self.make(self.casefiles / entry.record.id)
        raise RuntimeError(f"{path} cannot be kept")

    def make(self, folder: Path) -> tuple[Entry | None, Sequence[Problem]]:
        """Work one case up and keep it; no entry, and the problems, when it is not sound."""
        key = self._key(folder)
        written, problems = worked(folder, self.knowledge, self.pages)
        if written is None:
            return None, problems
        entry, pages = written
        content = pages.as_bytes()
        small, large = self._paths(folder.name)
        write_if_different(large, content)
        entry = replace(entry, key=key, size=len(content), problems=tuple(dict.fromkeys((*problems, *entry.problems))))
        write_if_different(small, json.dumps(entry.as_json(), ensure_ascii=False))
        return entry, ()

    def _paths(self, id_: str) -> tuple[Path, Path]:
        return self.kept / f"{id_}.json", self.kept / f"{id_}.written.json"

    def _key(self, folder: Path) -> str:
        digest = hashlib.sha256(f"{package_digest()} {self.knowledge.version} {folder}\n".encode())
        for path in sorted(p for p in folder.rglob("*") if p.is_file()):
            at = path.stat()
            digest.update(f"{path.relative_to(folder)} {at.st_size} {at.st_mtime_ns}\n".encode())
        return digest.hexdigest()

    def _find(self, folder: Path) -> Entry | None:
        """What is kept of a case, if it still holds."""
        entry = self._kept(folder)
        return entry if entry and entry.key == self._key(folder) else None

    def _kept(self, folder: Path) -> Entry | None:
        """What is kept of a case, whole, of whatever state of its folder."""
        small, large = self._paths(folder.name)
        try:
            entry = Entry.from_json(json.loads(small.read_text(encoding="utf-8")))
            whole = large.stat().st_size == entry.size and entry.record.id == folder.name
        except NOT_ONE:
            return None
        published = all((self.pages / folder.name / name).is_file() for name in entry.pictures)
        return entry if whole and published else None


def safely(
    folder: Path, work: Callable[[Fence], tuple[T | None, Sequence[Problem]]], seconds: float = SECONDS
) -> tuple[T | None, Sequence[Problem]]:
    """What `work` makes of a case; nothing, and a problem that names its file, when it faults or takes too long.

    A fault of our own in one case must not take the other cases with it; one of the machine is none of the case's.
    """
    at = "reading the case file"

    def now(place: str) -> None:
        nonlocal at
        at = place

    path = shown_path(folder / CASE_FILE)
    try:
        with at_most(seconds):
            return work(Fence(path, now))
    except TookTooLong:
        return None, [
            Problem(
                path,
                0,
                0,
                at,
                f"took more than {seconds:g} s",
                "a case that is worked up in a few",
                TOO_LONG,
                rule="time",
            )
        ]
    except Exception as fault:
        if of_the_machine(fault):
            raise
        log.debug("%s: %s", folder.name, at, exc_info=True)
        return None, [fault_of(path, at, fault)]


def worked(
    folder: Path, knowledge: Knowledge, pages: Path, seconds: float = SECONDS
) -> tuple[tuple[Entry, Written] | None, Sequence[Problem]]:
    """One case read, worked up and written up, its pictures published below `pages`: all that a build does with it.

    Nothing, and the problems, when its file is not sound.  When the program fails on it, its page holds what the file
    says, and the fault is among the problems of the entry.
    """
    return safely(folder, lambda fence: _worked(folder, knowledge, pages, fence), seconds)


def _worked(
    folder: Path, knowledge: Knowledge, pages: Path, fence: Fence
) -> tuple[tuple[Entry, Written] | None, Sequence[Problem]]:
    case, problems = read_case(folder, knowledge)
    if case is None or errors(problems):
        return None, problems
    workup = fence.keep("working it up", lambda: work_up(case, knowledge, fence=fence), None)
    if workup is None:
        made = bare(case, knowledge)
    else:
        made = write_up(workup, pages / case.id, fence)
    entry, written = made
    told = tuple(dict.fromkeys((*problems, *entry.problems, *fence.problems)))
    largest = max((*written.pages.items(), *written.charts.items()), key=lambda part: len(part[1]))
    if len(written.as_bytes()) > MOST_WRITTEN:
        name, text = largest
        return None, [
            *told,
            Problem(
                fence.path,
                0,
                0,
                name,
                f"the case makes {len(written.as_bytes()) / 1e6:.1f} MB of pages, this part {len(text) / 1e6:.1f}",
                f"at most {MOST_WRITTEN / 1e6:.0f} MB",
                "part it into several cases",
                rule="size",
            ),
        ]
    return (replace(entry, problems=told), written), ()


def bare(case: Case, knowledge: Knowledge, stops: Sequence[StopNotice] = ()) -> tuple[Entry, Written]:
    """A case on which the program failed, as it was written down."""
    empty = bare_page(case, knowledge, stops).text
    pages = {
        "index.md": empty,
        "proof.md": empty,
        "work.md": empty,
        "customer.md": bare_customer_page(case, TITLE, stops).text,
    }
    return Entry(bare_record(case, knowledge, bool(stops)), "", (), (), 0), Written(pages, {})


def over_all(work: Callable[[Path], T], folders: Sequence[Path], executor: Executor | None = None) -> Iterator[T]:
    """What `work` makes of each case folder, in their order, as it comes: by this machine's processes, or by another
    executor (`work` is sent to it, and what it reads and writes must be there)."""
    if executor is not None:
        yield from executor.map(work, folders)
    elif len(folders) <= ALONE or (os.cpu_count() or 1) == 1:
        yield from map(work, folders)
    else:
        # Spawned, not forked: mkdocs may be serving from threads of this process.
        with ProcessPoolExecutor(
            mp_context=multiprocessing.get_context("spawn"), initializer=_adopt, initargs=(work,)
        ) as pool:
            yield from pool.map(_do, folders, chunksize=1)


_own: Callable[[Path], Any]
"""What a worker process does with each folder, sent to it once."""


def _adopt(work: Callable[[Path], Any]) -> None:
    global _own
    _own = work
    parent = multiprocessing.parent_process()
    assert parent is not None

    def mind() -> None:
        connection.wait([parent.sentinel])
        os._exit(1)  # whoever asked is gone, and nobody would end this process

    threading.Thread(target=mind, daemon=True).start()


def _do(folder: Path) -> Any:
    return _own(folder)


def write_up(workup: Workup, folder: Path, fence: Fence | None = None) -> tuple[Entry, Written]:
    """Write up one workup; its pictures are published below `folder`.  Key and size are left to whoever keeps it.

    What fails is left with the fence, and costs its own place: a chart, a photo, a section, at worst the workup.
    """
    case, knowledge = workup.case, workup.knowledge
    fence = fence or Fence(case.path)
    stops = [stop for stop in workup.stops if stop.open]
    spare_entry, spare = bare(case, knowledge, stops)
    fence.at("publishing the photos")
    published = publish(case, folder / PHOTOS)
    charts = charts_for(workup, fence)
    pages = {
        "index.md": fence.keep(
            "writing the page",
            lambda: (
                case_page(
                    workup,
                    charts=charts,
                    pictures=published.pictures,
                    photo_base=f"{PHOTOS}/",
                    beside=BESIDE,
                    fence=fence,
                ).text
            ),
            spare.pages["index.md"],
        ),
        "proof.md": fence.keep(
            "writing the proof",
            lambda: proof_page(workup, charts=charts, case="index.md", fence=fence).text,
            spare.pages["proof.md"],
        ),
        "work.md": fence.keep("writing the exercise", lambda: work_page(workup).text, spare.pages["work.md"]),
        "customer.md": fence.keep(
            "writing the customer copy",
            lambda: customer_page(workup, published.pictures, f"{PHOTOS}/").text,
            spare.pages["customer.md"],
        ),
    }
    record = fence.keep("filing it in the library", lambda: record_of(workup), spare_entry.record)
    pictures = tuple(f"{PHOTOS}/{name}" for p in published.pictures for name in p.names)
    problems = (*workup.problems, *published.problems, *fence.problems)
    return Entry(record, "", pictures, tuple(dict.fromkeys(problems)), 0), Written(
        pages, {_place(c): c.drawings for c in charts if isinstance(c, Chart)}
    )


def _place(chart: Chart) -> str:
    """Where the page keeps the place of a chart."""
    return f'<div class="cb-chart" data-chart="{chart.id}"></div>'


@cache
def package_digest() -> str:
    """Digest of this package's own files: code, data and templates."""
    digest = hashlib.sha256()
    root = Path(causebook.__file__).parent
    for path in sorted(p for p in root.rglob("*") if p.is_file() and p.suffix != ".pyc"):
        digest.update(str(path.relative_to(root)).encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()
