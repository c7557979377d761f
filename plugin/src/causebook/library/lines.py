"""One case in one line, for lists: complaint, the number that decided it, root, minutes, outcome, year."""

from __future__ import annotations

from causebook.knowledge.model import Knowledge
from causebook.library.record import Record


def line_of(record: Record, knowledge: Knowledge) -> str:
    """The line under a case's title."""
    family = knowledge.families.get(record.families[0]) if record.families else None
    roots = [knowledge.causes[r].name for r in record.roots if r in knowledge.causes]
    parts = [
        family.name if family else "",
        record.deciding,
        "Cause: " + ", ".join(roots) if roots else "Cause not proven",
        f"{record.minutes:.0f} min" if record.minutes else "",
        record.outcome,
        str(record.year),
    ]
    return " · ".join(part for part in parts if part)
