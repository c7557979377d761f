"""What a phone keeps of the site for where there is no signal: a list of files, and the worker that keeps them.

The worker (`templates/sw.js`) fetches the list when the site is first visited, asks the network first ever after, and
shows its copy, with a line that says so, only when the network does not answer.  Its text carries the digest of the
list, so that a changed site brings a changed worker; files whose digest is the same are not fetched again.  When the
site was built stands in a small file of its own, which is in neither.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Iterable, Sequence
from importlib import resources
from pathlib import Path

from causebook.library.disk import write_if_different

LIST, WORKER, BUILT = "offline.json", "sw.js", "built.js"
THUMBNAIL = "-480."
"""What the names of the smallest pictures have in them."""
_NOT_KEPT = ("assets/javascripts/lunr/", "assets/javascripts/workers/", "assets/images/", "search/")
_NEVER = {LIST, WORKER, BUILT, "sitemap.xml", "sitemap.xml.gz", "404.html", "objects.inv"}


def write_built(site: Path, at: dt.datetime, digest: str = "") -> None:
    """Write when a site was built, and the digest of its list.  The one file that differs where nothing changed."""
    built = {"at": at.strftime("%Y-%m-%dT%H:%MZ"), "digest": digest}
    write_if_different(site / BUILT, f"window.causebookBuilt = {json.dumps(built)};\n")


def write_worker(site: Path, cases: Sequence[str], limit: int, at: dt.datetime) -> int:
    """Write the list and the worker of a site built `at` a time; how many of `cases` (ids, in order of importance) they
    keep.

    `limit` is the size in bytes beyond which no further case is kept.  Pages across cases, handbook and what draws
    the pages are always kept; then cases in their order, each with its smallest pictures; then the full-text index,
    if all of it fits.
    """
    common, of_case, fulltext = _sorted(site, set(cases))
    kept = list(common)
    room = limit - _size(site, common)
    number = 0
    for id_ in cases:
        room -= _size(site, of_case[id_])
        if room < 0:
            break
        kept += of_case[id_]
        number += 1
    if number == len(cases) and _size(site, fulltext) <= room:
        kept += fulltext
    files = [[path, hashlib.sha256((site / path).read_bytes()).hexdigest()[:12]] for path in kept]
    digest = hashlib.sha256(json.dumps(files).encode()).hexdigest()[:16]
    size = _size(site, kept)
    listing = {"digest": digest, "cases": number, "of": len(cases), "bytes": size, "files": files}
    write_if_different(site / LIST, json.dumps(listing, separators=(",", ":")))
    worker = resources.files("causebook.library").joinpath("templates/sw.js").read_text(encoding="utf-8")
    write_if_different(site / WORKER, worker.replace("@DIGEST@", digest))
    write_built(site, at, digest)
    return number


def _sorted(site: Path, cases: set[str]) -> tuple[list[str], dict[str, list[str]], list[str]]:
    """The files worth keeping: those of no case, those of each case, those of the full-text index."""
    common: list[str] = []
    of_case: dict[str, list[str]] = {id_: [] for id_ in cases}
    fulltext: list[str] = []
    for path in sorted(p.relative_to(site).as_posix() for p in site.rglob("*") if p.is_file()):
        folder, _, rest = path.partition("/")
        id_ = rest.partition("/")[0] if folder == "cases" else ""
        if path in _NEVER or path.endswith(".map") or path.startswith((*_NOT_KEPT, ".")):
            continue
        if id_ in cases:
            if path.endswith(".html") or THUMBNAIL in path:
                of_case[id_].append(path)
        elif folder == "pagefind":
            fulltext.append(path)
        else:
            common.append(path)
    return common, of_case, fulltext


def _size(site: Path, paths: Iterable[str]) -> int:
    return sum((site / path).stat().st_size for path in paths)
