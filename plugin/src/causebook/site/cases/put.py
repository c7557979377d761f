"""Which pages were put together from what: so that the pages of an unchanged case are not even read."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Container, Mapping
from pathlib import Path

from causebook.library.disk import write_if_different


class Put:
    """The pages of cases as they were put below `pages`, remembered in the file `memory`.

    A memory that cannot be read, or a page that is missing or not as long as it was, means putting it together again.
    """

    def __init__(self, memory: Path, pages: Path) -> None:
        self._memory, self._pages = memory, pages
        try:
            read = json.loads(memory.read_text(encoding="utf-8"))
            self._of = {
                str(id_): (str(stamp), {str(n): int(s) for n, s in sizes.items()})
                for id_, (stamp, sizes) in read.items()
            }
        except (OSError, ValueError, TypeError, AttributeError):
            self._of = {}

    def differs(self, id_: str, made_of: str) -> bool:
        """Must the pages of this case be put together anew?"""
        stamp, sizes = self._of.get(id_, ("", {}))
        return stamp != _digest(made_of) or not all(
            path.is_file() and path.stat().st_size == sizes[path.name] for path in self.paths(id_)
        )

    def put(self, id_: str, made_of: str, texts: Mapping[str, str]) -> None:
        """Write the pages of a case.  They count as changed even where their bytes are the same, for their charts."""
        sizes = {}
        for name, text in texts.items():
            path = self._pages / "cases" / id_ / name
            if not write_if_different(path, text):
                os.utime(path)
            sizes[name] = path.stat().st_size
        self._of[id_] = (_digest(made_of), sizes)

    def paths(self, id_: str) -> list[Path]:
        """Where the pages of a case stand."""
        return [self._pages / "cases" / id_ / name for name in self._of.get(id_, ("", {}))[1]]

    def keep(self, ids: Container[str]) -> None:
        """Write the memory of these cases."""
        write_if_different(self._memory, json.dumps({id_: of for id_, of in self._of.items() if id_ in ids}))


def _digest(made_of: str) -> str:
    return hashlib.sha256(made_of.encode()).hexdigest()
