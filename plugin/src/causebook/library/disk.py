"""Files written by the build: whole or not at all, and only when their bytes differ."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable
from pathlib import Path


def write_if_different(path: Path, content: str | bytes) -> bool:
    """Put `content` at `path`; True when that changed anything.

    The content goes to a file beside it which then takes its place, so that a build killed at any moment leaves
    the old file or the new one, never half of one.
    """
    data = content.encode() if isinstance(content, str) else content
    try:
        if path.read_bytes() == data:
            return False
    except OSError:
        path.parent.mkdir(parents=True, exist_ok=True)
    handle, beside = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        os.chmod(beside, 0o644)
        os.replace(beside, path)
    except BaseException:
        os.unlink(beside)
        raise
    return True


def prune(folder: Path, keep: Iterable[Path]) -> list[Path]:
    """Remove every file below `folder` that is not among `keep`, and the folders left empty; what was removed."""
    kept = set(keep)
    removed = []
    for root, _, files in os.walk(folder, topdown=False):
        for path in (Path(root, name) for name in files):
            if path not in kept:
                path.unlink()
                removed.append(path)
        if not os.listdir(root):
            os.rmdir(root)
    return removed
