"""Running a command again whenever a file below its paths is saved."""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Iterable
from pathlib import Path

PAUSE = 0.5
"""Seconds between two looks at the files."""
Run = Callable[[argparse.Namespace], int]


def watching(run: Run) -> Run:
    """`run`, and with `--watch` again at every save below `paths` until somebody interrupts it."""

    def runs(given: argparse.Namespace) -> int:
        status = run(given)
        while given.watch:
            try:
                wait_for_save(given.paths)
            except KeyboardInterrupt:
                break
            print(f"--- {time.strftime('%H:%M:%S')}", flush=True)
            status = run(given)
        return status

    return runs


def wait_for_save(paths: Iterable[Path], pause: float = PAUSE) -> None:
    """Come back when a file below the paths is new, gone or changed."""
    before = _stamps(paths)
    while _stamps(paths) == before:
        time.sleep(pause)


def _stamps(paths: Iterable[Path]) -> dict[Path, tuple[int, int]]:
    found = {}
    for path in paths:
        for file in (path, *path.rglob("*")) if path.is_dir() else (path,):
            try:
                at = file.stat()
            except OSError:  # gone between two looks
                continue
            found[file] = at.st_mtime_ns, at.st_size
    return found
