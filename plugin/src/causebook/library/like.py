"""The cases like one case, as a section of its page; and in words what is the same in two cases, and what differs."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from causebook.knowledge.model import Knowledge
from causebook.library.likeness import Near, Neighbor, features_of
from causebook.library.pages import case_source, linker
from causebook.writeup import prose
from causebook.writeup.first import OTHER_CASE

OTHER_ROOT = "Nearest case with another cause"
_SHOWN = 2
"""As many cases as a page names."""
_END = '<p class="cb-end">'
"""What closes a case's page: the section goes before it."""


def like_cases(id_: str, near: Near, knowledge: Knowledge) -> str:
    """The section of the cases like one case, as Markdown."""
    if not near.like:
        return "## Cases like this one\n\nNo case here is near this one.\n\n"
    to = linker(case_source(id_))
    other = near.other_root
    lines = ["## Cases like this one", "", *(_item(n, n == other, knowledge, to) for n in near.like[:_SHOWN])]
    if other and other not in near.like[:_SHOWN]:
        lines += ["", f"{OTHER_ROOT}:", "", _item(other, False, knowledge, to)]
    return "\n".join(lines) + "\n\n"


def with_section(page: str, section: str, near: Near) -> str:
    """A case's page (Markdown) with one more section at its end, and the way to the nearest case of another cause."""
    other = near.other_root
    link = "not this case."
    if other is not None:
        to = linker(case_source("x"))
        link = f"see [{prose.in_markdown(other.record.title)}]({to(case_source(other.record.id))})."
    page = page.replace(OTHER_CASE, link)
    at = (
        page.find(_END) if _END in page else len(page)
    )  # the page of a case that could not be worked up has no such end
    return page[:at] + section + page[at:]


def _item(neighbor: Neighbor, other_root: bool, knowledge: Knowledge, to: Callable[[str], str]) -> str:
    record = neighbor.record
    roots = ", ".join(knowledge.causes[r].name for r in record.roots if r in knowledge.causes) or "not proven"
    title = prose.in_markdown(record.title)
    return f"- [{title}]({to(case_source(record.id))}). Cause: {prose.in_markdown(roots)}." + (
        f" {OTHER_ROOT}." if other_root else ""
    )


def compared(neighbor: Neighbor, mine: str, knowledge: Knowledge) -> list[tuple[str, list[str]]]:
    """What is the same and what differs, in words, weightiest first; `mine` is what to call the case at hand."""
    here, there = neighbor.asked.features, features_of(neighbor.record)
    told = (("The same", neighbor.likeness.same), ("Different", neighbor.likeness.differ))
    return [
        (label, names)
        for label, features in told
        if (names := [name for f in features if (name := in_words(f, here, there, mine, knowledge))])
    ]


def in_words(feature: str, here: Mapping[str, str], there: Mapping[str, str], mine: str, knowledge: Knowledge) -> str:
    """A feature of what is at hand (`here`, called `mine`) beside that of another case; empty when unknown."""
    kind, _, id_ = feature.partition(" ")
    same = here[feature] == there[feature]
    if kind == "finding":
        if id_ not in knowledge.findings:
            return ""
        name, present = knowledge.findings[id_].name, there[feature] == "present"
        if same:
            return name
        return f"{name} ({'that case' if present else mine})"
    one, other = (
        knowledge.families[said].name if said in knowledge.families else said
        for said in (there[feature], here[feature])
    )
    return f"{id_ or kind}: " + (one if same else f"there {one}, here {other}")
