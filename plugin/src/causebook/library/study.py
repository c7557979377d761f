"""An order in which an apprentice may take the cases: by family, easier before harder, with the skill each trains."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from causebook.knowledge.model import Family, Knowledge
from causebook.library.record import Record

LEVELS = {1: "begin here", 2: "two things at once", 3: "it misled somebody"}
"""What the levels of difficulty mean."""


@dataclass(frozen=True, slots=True)
class Course:
    """The cases of one complaint family, in the order to take them."""

    family: Family
    records: tuple[Record, ...]


def courses(records: Sequence[Record], knowledge: Knowledge) -> tuple[Course, ...]:
    """A course for each family that has cases, families in the order of the knowledge.

    Within one: by difficulty, then those with fewer findings to keep in mind, then by id.
    """

    def order(record: Record) -> tuple[int, int, str]:
        return record.level, len(record.findings), record.id

    return tuple(
        Course(family, tuple(sorted(here, key=order)))
        for id_, family in knowledge.families.items()
        if (here := [r for r in records if r.families[0] == id_])
    )
