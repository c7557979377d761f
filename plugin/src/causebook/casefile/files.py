"""Files a case names: only regular files that lie inside its own folder, symbolic links followed."""

from __future__ import annotations

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
    elif not _is_file(path):
        desk.say(
            at,
            where,
            f"there is no file {short(name)!r}",
            "a file of the case folder",
            did_you_mean(name, _names(folder)) or _other_kind(path, kinds),
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


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:  # a name too long for the system
        return False


def _names(folder: Path) -> list[str]:
    return [str(p.relative_to(folder)) for pattern in ("*.*", "*/*.*") for p in sorted(folder.glob(pattern))[:200]]
