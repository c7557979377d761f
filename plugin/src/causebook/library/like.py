"""The cases like one case, as a section of its page: what is the same, what differs, the nearest with another root."""

from __future__ import annotations

from collections.abc import Callable

from causebook.knowledge.model import Knowledge
from causebook.library.likeness import Near, Neighbour
from causebook.library.pages import case_source, linker
from causebook.library.record import Record
from causebook.writeup import prose

_NAMED = 3
_ENDS = ('<section class="cb-print-answers"', '<p class="cb-end">')
"""What closes a case's page: the section goes before the first of these."""


def like_cases(id_: str, near: Near, knowledge: Knowledge) -> str:
    """The section of the cases like one case, as Markdown; empty when there are none."""
    if not near.like:
        return ""
    to = linker(case_source(id_))
    lines = ["## Cases like this one", "", *(_item(n, knowledge, to) for n in near.like)]
    if near.other_root:
        lines += ["", "Nearest case with another root:", "", _item(near.other_root, knowledge, to)]
    return "\n".join(lines) + "\n\n"


def with_section(page: str, section: str) -> str:
    """A case's page (Markdown) with one more section at its end, before what closes the page."""
    at = min(found for found in (page.find(end) for end in _ENDS) if found >= 0)
    return page[:at] + section + page[at:]


def _item(neighbour: Neighbour, knowledge: Knowledge, to: Callable[[str], str]) -> str:
    record = neighbour.record
    roots = ", ".join(knowledge.causes[r].name for r in record.roots if r in knowledge.causes) or "not determined"
    title = prose.in_markdown(record.title)
    return (f"- [{title}]({to(case_source(record.id))}). Root: {prose.in_markdown(roots)}."
            + _named("The same", neighbour.likeness.same, True, record, knowledge)
            + _named("Different", neighbour.likeness.differ, False, record, knowledge))


def _named(label: str, features: tuple[str, ...], same: bool, record: Record, knowledge: Knowledge) -> str:
    names = [name for name in (in_words(f, same, record, knowledge) for f in features) if name][:_NAMED]
    return f" {label}: {prose.in_markdown('; '.join(names))}." if names else ""


def in_words(feature: str, same: bool, there: Record, knowledge: Knowledge) -> str:
    """A feature that is the same, or differs, between what is at hand and the case `there`; empty when unknown."""
    kind, _, id_ = feature.partition(" ")
    if kind != "finding":
        return id_ if kind == "fact" else "complaint"
    if id_ not in knowledge.findings:
        return ""
    present = there.findings[id_]
    where = ("" if present else " (in neither)") if same else (" (only there)" if present else " (only here)")
    return knowledge.findings[id_].name + where
