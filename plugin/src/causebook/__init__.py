"""Causebook: worked cases from a heating company's case files.

The core (everything from `quantity` up to `workup`) runs without MkDocs.  A script needs three names of it:

    >>> from pathlib import Path
    >>> import causebook
    >>> known = causebook.load()
    >>> case, problems = causebook.read_case(Path("casefiles/tired-limit"), known)
    >>> workup = causebook.work_up(case, known)
    >>> [cause.name for cause in workup.verdict.causes if cause.role == "root"]
    ['Weak high limit (opens early)']

`causebook.site` puts the results on a MkDocs site, `causebook.cli` in a terminal.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from causebook.casefile.read import read_case
    from causebook.knowledge.loader import load
    from causebook.workup import work_up

__all__ = ["load", "read_case", "work_up"]

_HOME = {"load": "knowledge.loader", "read_case": "casefile.read", "work_up": "workup"}


def __getattr__(name: str) -> Any:
    """The three names, fetched when first asked for: whoever needs only `causebook.quantity` loads nothing else."""
    if name not in _HOME:
        raise AttributeError(f"module 'causebook' has no attribute {name!r}")
    return getattr(import_module(f"causebook.{_HOME[name]}"), name)
