"""Calls handed in as one zip: what such a file may hold, and its way into a folder of cases.

A parcel comes from a phone and passes through mail: it is taken apart only within limits, nothing of it is put outside
its own folder, and one that was filed before is not filed again.
"""

from __future__ import annotations

import hashlib
import re
import shutil
import stat
import tempfile
import unicodedata
import zipfile
import zlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from causebook.casefile.files import LARGEST_PICTURE, LARGEST_TABLE, PICTURES
from causebook.casefile.marked_yaml import LARGEST_FILE
from causebook.casefile.read import CASE_FILE
from causebook.library.disk import write_if_different
from causebook.problems import Problem

TRAY = "_in"
"""Folder among the cases in which parcels wait; cases do not begin with `_`."""
FILED = "filed.txt"
"""In the tray: the digest of every parcel filed, and the case it became."""
DONE = "done"
MOST_FILES = 200
LARGEST_PARCEL = 300_000_000
"""Bytes of everything in it, taken apart."""
_ALLOWED = re.compile(
    rf"(?P<case>{re.escape(CASE_FILE)})|photos/[^/]+(?P<picture>{'|'.join(map(re.escape, PICTURES))})"
    r"|(?:logs/)?[^/]+(?P<table>\.csv)",
    re.IGNORECASE,
)
_HINT = "the call sheet's own file, saved or shared as it is"


@dataclass(frozen=True, slots=True)
class Parcel:
    """A zip taken apart: the name of the case it should become, its files and their digest."""

    name: str
    files: Mapping[str, bytes]
    digest: str


def waiting(casefiles: Path) -> list[Path]:
    """The parcels in the tray, in order of name."""
    return sorted((casefiles / TRAY).glob("*.zip"))


def open_parcel(path: Path) -> tuple[Parcel | None, list[Problem]]:
    """Take a zip apart; None with the reason when it is none of ours."""
    try:
        with zipfile.ZipFile(path) as archive:
            found = _refused(path, archive.infolist())
            if found:
                return None, found
            files = dict(_contents(archive))
    except _TooLarge as large:
        return None, [_say(path, str(large), "a call of the usual size", "send large files on their own")]
    except (OSError, zipfile.BadZipFile, RuntimeError, EOFError, ValueError, zlib.error) as fault:
        return None, [_say(path, f"cannot be opened as a zip ({fault})", _HINT)]
    if CASE_FILE not in files:
        return None, [_say(path, f"holds no {CASE_FILE}", _HINT)]
    digest = hashlib.sha256()
    for name, data in sorted(files.items()):
        digest.update(name.encode() + b"\0" + hashlib.sha256(data).digest())
    return Parcel(case_name(path.stem), files, digest.hexdigest()), []


def file_parcel(parcel: Parcel, casefiles: Path) -> tuple[Path | None, str]:
    """Put a parcel among the cases; its folder, or None and the case that it has become before."""
    known = _filed(casefiles)
    if parcel.digest in known:
        return None, known[parcel.digest]
    folder = _free(casefiles, parcel.name)
    casefiles.mkdir(parents=True, exist_ok=True)
    beside = Path(tempfile.mkdtemp(dir=casefiles, prefix=".taking-"))
    try:
        for name, data in parcel.files.items():
            write_if_different(beside / name, data)
        beside.chmod(0o755)
        beside.rename(folder)
    except BaseException:
        shutil.rmtree(beside, ignore_errors=True)
        raise
    lines = [f"{digest} {name}" for digest, name in (known | {parcel.digest: folder.name}).items()]
    write_if_different(casefiles / TRAY / FILED, "\n".join(lines) + "\n")
    return folder, ""


def put_away(path: Path, casefiles: Path) -> None:
    """Move a parcel of the tray out of the way once it is filed; one from elsewhere stays where it is."""
    if path.parent.resolve() == (casefiles / TRAY).resolve():
        (casefiles / TRAY / DONE).mkdir(exist_ok=True)
        path.replace(casefiles / TRAY / DONE / path.name)


def case_name(words: str) -> str:
    """A folder's name from words: small letters, digits and hyphens."""
    plain = unicodedata.normalize("NFKD", words).encode("ascii", "ignore").decode().lower()
    plain = re.sub(r"\s*\(\d+\)$", "", plain)  # as browsers name the second download of a file
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:80].strip("-") or "call"


class _TooLarge(Exception):
    """A parcel, or one file in it, is larger than any call."""


def _refused(path: Path, entries: Iterable[zipfile.ZipInfo]) -> list[Problem]:
    """What no call sheet writes: too many files, two of one name, links, names that lead elsewhere, other kinds."""
    out, names = [], set[str]()
    for entry in (e for e in entries if not e.is_dir()):
        name = entry.filename
        if name.lower() in names:
            out.append(_say(path, f"holds {name!r} twice", _HINT))
        names.add(name.lower())
        if stat.S_ISLNK(entry.external_attr >> 16):
            out.append(_say(path, f"holds a link, {name!r}", _HINT))
        elif entry.flag_bits & 1:
            out.append(_say(path, f"holds {name!r} under a password", _HINT))
        elif "\\" in name or name.startswith("/") or ".." in name.split("/") or ":" in name or "\0" in name:
            out.append(_say(path, f"holds {name!r}, which leads out of its folder", _HINT))
        elif not _ALLOWED.fullmatch(name) or name.rpartition("/")[2].startswith("."):
            out.append(_say(path, f"holds {name!r}", f"{CASE_FILE}, photos and logs only"))
    if len(names) > MOST_FILES:
        out.append(_say(path, f"holds {len(names)} files", f"at most {MOST_FILES}"))
    return out[:10]


def _contents(archive: zipfile.ZipFile) -> Iterable[tuple[str, bytes]]:
    """Every file, read no further than its kind may be large: what the zip says of its size may be a lie."""
    left = LARGEST_PARCEL
    for entry in archive.infolist():
        if entry.is_dir():
            continue
        found = _ALLOWED.fullmatch(entry.filename)
        assert found is not None  # refused before
        most = LARGEST_FILE if found["case"] else LARGEST_PICTURE if found["picture"] else LARGEST_TABLE
        with archive.open(entry) as file:
            data = file.read(min(most, left) + 1)
        if len(data) > most:
            raise _TooLarge(f"{entry.filename!r} is larger than {most / 1e6:.0f} MB")
        left -= len(data)
        if left < 0:
            raise _TooLarge(f"holds more than {LARGEST_PARCEL / 1e6:.0f} MB")
        yield entry.filename, data


def _filed(casefiles: Path) -> dict[str, str]:
    try:
        lines = (casefiles / TRAY / FILED).read_text(encoding="utf-8").splitlines()
    except OSError:
        return {}
    return {digest: name for digest, _, name in (line.partition(" ") for line in lines) if name}


def _free(casefiles: Path, name: str) -> Path:
    """A folder that is not there yet: the name, or the name with the next free number."""
    taken = {path.name for path in casefiles.glob("*")} if casefiles.is_dir() else set()
    number = next(n for n in range(1, 10_000) if (name if n == 1 else f"{name}-{n}") not in taken)
    return casefiles / (name if number == 1 else f"{name}-{number}")


def _say(path: Path, found: str, expected: str, hint: str = "") -> Problem:
    return Problem(path, 0, 0, "", found, expected, hint)
