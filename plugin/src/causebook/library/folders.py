"""Which folders are cases."""

from __future__ import annotations

import fnmatch
from collections.abc import Sequence
from pathlib import Path

from causebook.casefile.read import CASE_FILE


def case_folders(casefiles: Path, only: Sequence[str] = ()) -> list[Path]:
    """The folders below `casefiles` that hold a case file, in order of name; `_` and `.` at the front hide one."""
    return sorted(path.parent for path in casefiles.glob(f"[!_.]*/{CASE_FILE}")
                  if not only or any(fnmatch.fnmatch(path.parent.name, pattern) for pattern in only))
