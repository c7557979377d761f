"""The page of job notes: counts by model, part and year, and all notes as a table that a browser searches.

Notes are no cases.  They stand on this one page, and nothing that learns from cases ever sees them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

from causebook.casefile.notes import Note
from causebook.knowledge.model import Knowledge
from causebook.library.facets import script
from causebook.library.pages import fill
from causebook.writeup import prose

PAGE, DATA = "notes/index.md", "notes/notes-data.js"
MOST = 20
"""Rows of a table of counts."""


def pages(notes: Sequence[Note], knowledge: Knowledge) -> dict[str, str]:
    """The page and its data: source path -> text."""
    return {PAGE: _page(notes, knowledge), DATA: notes_script(notes, knowledge)}


def notes_script(notes: Sequence[Note], knowledge: Knowledge) -> str:
    """The script that sets `causebookNotes`: columns, with families and parts as numbers.

    Who worked, and for which job, stays in the folder of notes.
    """
    families = sorted({n.family for n in notes if n.family})
    parts = sorted({p for n in notes for p in n.part_ids})
    table: dict[str, Any] = {
        "families": [prose.plain(knowledge.families[id_].name) for id_ in families],
        "partNames": [prose.plain(knowledge.components[id_]) for id_ in parts],
        "synonyms": [[theirs.replace("-", " "), ours] for theirs, ours in knowledge.synonyms.items()],
        "id": [n.id for n in notes],
        "date": [str(n.date or "") for n in notes],
        "family": [families.index(n.family) if n.family else -1 for n in notes],
        "part": [[parts.index(p) for p in n.part_ids] for n in notes],
    }
    words = {
        name: [getattr(n, name) for n in notes] for name in ("complaint", "words", "done", "parts", "make", "model")
    }
    return script("causebookNotes", table | words)


def _page(notes: Sequence[Note], knowledge: Knowledge) -> str:
    years = Counter(str(n.date.year) for n in notes if n.date)
    parts = Counter(p for n in notes for p in n.part_ids)
    models = Counter(" ".join(filter(None, (n.make, n.model))) for n in notes if n.model)
    of_model = {model: Counter[str]() for model, _ in models.most_common(MOST)}
    for note in notes:
        name = " ".join(filter(None, (note.make, note.model)))
        if name in of_model:
            of_model[name].update(note.part_ids)
    return fill(
        "notes.md.j2",
        PAGE,
        count=len(notes),
        years=sorted(years.items(), reverse=True),
        parts=[(knowledge.components[p], n) for p, n in parts.most_common(MOST)],
        models=[
            (model, models[model], [(knowledge.components[p], n) for p, n in counted.most_common(3)])
            for model, counted in of_model.items()
        ],
    )
