"""The site, built beside its place and put there once it is whole; and one build of a library at a time.

What a killed build left lies in the folder of what is generated, never in the site: the next build removes it before
it begins.  A build that fails leaves the site that was there.
"""

from __future__ import annotations

import errno
import os
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path

from causebook.library.disk import write_if_different

BUILDING, FORMER, LOCK, INDEX = "site", "former-site", "lock", "index-"
"""Names in the folder of what is generated: the site being built, the one it takes the place of, the lock, and what
the folders in which an index is made begin with."""
_PATIENCE = 24 * 3600
"""How long one build waits for another [s]."""


class Turn:
    """One build's turn with a library: held by the system, so that it ends with its process however that ends.

    The lock is that of an empty SQLite database, which means the same on every system.
    """

    def __init__(self, generated: Path, waiting: Callable[[], None]) -> None:
        """Wait for the turn; `waiting` is called when another build has it.  OSError where nothing can be written."""
        generated.mkdir(parents=True, exist_ok=True)
        path = generated / LOCK
        path.touch()
        self._held = sqlite3.connect(path, timeout=0.1, isolation_level=None, check_same_thread=False)
        try:
            self._take()
        except sqlite3.OperationalError:
            waiting()
            self._held.execute(f"PRAGMA busy_timeout = {_PATIENCE * 1000}")
            try:
                self._take()
            except sqlite3.OperationalError as refused:
                raise OSError(errno.EIO, str(refused), str(path)) from None

    def _take(self) -> None:
        self._held.execute("PRAGMA journal_mode = OFF")  # nothing is written that could be taken back
        self._held.execute("BEGIN EXCLUSIVE")

    def end(self) -> None:
        """Let the next build have it."""
        self._held.close()


def clear(generated: Path, site: Path) -> Path:
    """Remove what killed builds left, put back a site that one had set aside, and give the folder to build in."""
    former = generated / FORMER
    if former.exists() and not site.exists():
        shutil.move(former, site)
    for left in (former, generated / BUILDING, *generated.glob(f"{INDEX}*")):
        if left.exists():
            shutil.rmtree(left)
    for folder, _, names in os.walk(generated):
        for name in names:
            if name.startswith(".") and (name.endswith(".part") or name.startswith(".part-")):
                Path(folder, name).unlink()
    return generated / BUILDING


def put(built: Path, site: Path) -> None:
    """Put a built site in its place, in two moves of whole folders where the system lets them be moved.

    Files that did not change keep their time of change, so that servers and copying programs see that they did not.
    """
    site = site.resolve()
    for path in _files(built):
        _keep_time(path, site / path.relative_to(built))
    former = built.with_name(FORMER)
    try:
        if site.exists():
            os.rename(site, former)
        try:
            os.rename(built, site)
        except OSError:
            if former.exists():
                os.rename(former, site)
            raise
    except OSError:  # another disk, or a folder that another program holds open
        _put_each(built, site)
    shutil.rmtree(former, ignore_errors=True)
    shutil.rmtree(built, ignore_errors=True)


def _put_each(built: Path, site: Path) -> None:
    """The same file by file, each whole."""
    wanted = {path.relative_to(built) for path in _files(built)}
    for path in wanted:
        write_if_different(site / path, (built / path).read_bytes())
    for path in list(_files(site)):
        if path.relative_to(site) not in wanted:
            path.unlink()
    for folder, _, _ in os.walk(site, topdown=False):
        if not os.listdir(folder):
            os.rmdir(folder)


def _keep_time(new: Path, old: Path) -> None:
    try:
        then = old.stat()
        if then.st_size == new.stat().st_size and old.read_bytes() == new.read_bytes():
            os.utime(new, ns=(then.st_atime_ns, then.st_mtime_ns))
    except OSError:  # it was not there before
        return


def _files(folder: Path) -> Iterator[Path]:
    return (Path(root, name) for root, _, names in os.walk(folder) for name in names)
