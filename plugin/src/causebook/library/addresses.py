"""Where the page of a cause stands."""

from __future__ import annotations

from causebook.knowledge.model import Cause

SOMETHING_ELSE = "causes/something-else.md"
"""The one page of all causes that only say that it is none of the others."""


def cause_source(cause: Cause) -> str:
    """Source path of a cause's page."""
    return SOMETHING_ELSE if cause.residual else f"causes/{cause.id}.md"
