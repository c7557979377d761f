"""All cautions in full, once, on a page of their own."""

from __future__ import annotations

from causebook.knowledge.model import Caution, Knowledge
from causebook.writeup import prose
from causebook.writeup.document import Page, render

TITLE = "Cautions"


def cautions_page(knowledge: Knowledge) -> Page:
    """The page of the cautions that case pages name."""
    parts = [
        f"## {prose.in_markdown(one.name)}\n\n{render('caution_text', text=one.text, rows=_ladder(one, knowledge))}"
        for one in knowledge.cautions.values()
    ]
    meta = {"description": "The cautions that the cases name, in full.", "causebook": {"page": "cautions"}}
    return Page(TITLE, meta, "\n\n".join((f"# {TITLE}", *parts)) + "\n")


def _ladder(caution: Caution, knowledge: Knowledge) -> list[tuple[str, str]]:
    """The rungs of a caution's ladder, lowest first: the level, and what everybody does."""
    return [(knowledge.stops[id_].level, knowledge.stops[id_].do) for id_ in caution.ladder]
