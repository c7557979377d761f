"""What became of one case in the company's hands: callbacks, wrong first answers, what is open and when it is due."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from causebook.casefile.model import Case, Outcome
from causebook.knowledge.model import Knowledge

CLEARED = (Outcome.CORRECTED, Outcome.FIRST_WRONG)
"""Outcomes after which nothing is left of the complaint."""


@dataclass(frozen=True, slots=True)
class Handled:
    """One case as its manager looks at it; nothing in it names a person or a place."""

    callback: bool = False
    first_said: tuple[str, ...] = ()
    """Causes that an earlier visit named as root and that were not it: what was done about them was for nothing."""
    why_open: str = ""
    """Why the complaint is not cleared; empty when it is."""
    open: tuple[str, ...] = ()
    """What is still to be done."""
    due: str = ""
    """The day by which somebody asks or looks again, ISO."""

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Handled:
        """It back from its JSON; KeyError or TypeError when that is not one."""
        values = {f.name: data[f.name] for f in fields(cls)}
        return cls(**values | {name: tuple(values[name]) for name in ("first_said", "open")})


def handled_of(case: Case, outcome: Outcome, roots: tuple[str, ...], knowledge: Knowledge) -> Handled:
    """What became of a case, given how it ended and the roots under which the library lists it."""
    visits, last = case.file.visits, case.conclusion
    earlier = [knowledge.resolve(c) for v in visits[:-1] if v.concluded for c in v.concluded.root]
    why = ""
    if outcome not in CLEARED:
        said = (last.would_settle, last.stop) if last else ("", "")
        why = next((text for text in (*said, *visits[-1].open) if text), "no reason given")
    return Handled(
        callback=any(v.kind == "callback" for v in visits),
        first_said=tuple(dict.fromkeys(c for c in earlier if c not in roots and c in knowledge.causes)),
        why_open=why,
        open=tuple(visits[-1].open),
        due=case.file.job.follow_up_due.isoformat() if case.file.job.follow_up_due else "",
    )
