"""Files a case names: only regular files that lie inside its own folder, symbolic links followed."""

from __future__ import annotations

import os
import unicodedata
from pathlib import Path

from causebook.casefile.desk import Desk, Place, short
from causebook.problems import did_you_mean

PICTURES = (".jpg", ".jpeg", ".png", ".webp")
LARGEST_PICTURE = 40_000_000
"""Bytes; a phone's picture has some 5,000,000."""
LARGEST_TABLE = 5_000_000
"""Bytes of a log or fan table; an hour at one row a second has some 100,000."""


def find_file(
    name: str, folder: Path, kinds: tuple[str, ...], largest: int, at: Place, where: str, desk: Desk
) -> Path | None:
    """The file `name` of a case folder, or None with the problem laid on the desk."""
    path = folder / name
    if "\0" in name or Path(name).is_absolute() or not _inside(path, folder):
        desk.say(
            at,
            where,
            f"{short(name)!r} lies outside the case folder",
            "a file inside the case folder",
            "copy it into the folder; links that lead out are not followed",
        )
    elif "\\" in name:
        desk.say(at, where, f"{short(name)!r} has a backslash in it", "`/` between folder and file, on every system")
    elif _is_there(path) and not _is_file(path):
        desk.say(at, where, f"{short(name)!r} is no ordinary file", "a file, not a folder or a device")
    elif not _is_file(path):
        desk.say(
            at,
            where,
            f"there is no file {short(name)!r}",
            "a file of the case folder",
            did_you_mean(name, (other for other in _names(folder) if other != name)) or _other_kind(path, kinds),
        )
    elif spelled := _spelled_otherwise(path, folder):
        desk.say(
            at,
            where,
            f"{short(name)!r} is called {spelled!r} in the folder",
            "the name as the folder has it: capitals and accents count where the site is built",
        )
    elif path.suffix.lower() not in kinds:
        desk.say(
            at,
            where,
            f"{short(name)!r} is of another kind",
            "a file ending in " + ", ".join(kinds),
            _other_kind(path, kinds),
        )
    elif path.stat().st_size > largest:
        desk.say(at, where, f"{short(name)!r} is too large", f"at most {largest / 1e6:.0f} MB")
    else:
        return path
    return None


def _other_kind(path: Path, kinds: tuple[str, ...]) -> str:
    """What to do about a phone's own kind of picture."""
    phone = path.suffix.lower() in (".heic", ".heif") and kinds == PICTURES
    return "save it as .jpg: the call sheet does so by itself, and so does mailing it to yourself" if phone else ""


def _inside(path: Path, folder: Path) -> bool:
    try:
        return path.resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError):  # a loop of links, or a name too long for the system
        return False
    except ValueError:  # a letter that names of files cannot have here: no such file
        return True


def _is_there(path: Path) -> bool:
    try:
        return path.exists()
    except OSError:  # a name too long for the system
        return False


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:  # a name too long for the system
        return False


def _spelled_otherwise(path: Path, folder: Path) -> str:
    """The name a file really has, where the system finds it by another (Windows and macOS do); else empty."""
    at = folder
    for part in path.relative_to(folder).parts:
        names = os.listdir(at)
        if part not in names and part not in (os.curdir, os.pardir):
            return next((n for n in names if _folded(n) == _folded(part)), "")
        at /= part
    return ""


def _folded(name: str) -> str:
    return unicodedata.normalize("NFC", name).casefold()


def _names(folder: Path) -> list[str]:
    return [
        p.relative_to(folder).as_posix() for pattern in ("*.*", "*/*.*") for p in sorted(folder.glob(pattern))[:200]
    ]
