"""The facet table: all cases in one small script, so that a browser can filter and sort them without a server.

A classic script, not JSON to fetch, since a page opened from a folder may not fetch.  Columns instead of rows and
codes instead of words keep it small: words stand once, in `words`, and a case holds their numbers.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from typing import Any

from causebook.belief.verdict import Role
from causebook.knowledge.model import Knowledge
from causebook.library.lines import line_of
from causebook.library.record import Record, newest_first
from causebook.writeup import prose

SOURCE = "cases/facets.js"
FACETS = (
    "complaint",
    "outcome",
    "root",
    "helped by",
    "not it",
    "equipment",
    "found",
    "make",
    "model",
    "technician",
    "code",
)


def facet_script(records: Iterable[Record], knowledge: Knowledge) -> str:
    """The script that sets `causebookFacets`; the cases stand newest first."""
    cases = newest_first(records)
    table: dict[str, Any] = {
        "id": [r.id for r in cases],
        "title": [prose.plain(r.title) for r in cases],
        "date": [r.date for r in cases],
        "minutes": [round(r.minutes) for r in cases],
        "stopped": [i for i, r in enumerate(cases) if r.stopped],
    }
    table["line"] = [line_of(r, knowledge) for r in cases]
    of_each = [words_of(r, knowledge) for r in cases]
    return script("causebookFacets", table | {facet: _coded([words[facet] for words in of_each]) for facet in FACETS})


def words_of(record: Record, knowledge: Knowledge) -> dict[str, list[str]]:
    """What one case can be filtered by: facet -> its words."""
    return {
        "complaint": [_family(f, knowledge) for f in record.families],
        "outcome": [record.outcome],
        "root": _causes(record, Role.ROOT, knowledge),
        "helped by": _causes(record, Role.HELPED_BY, knowledge),
        "not it": _causes(record, Role.NOT_IT, knowledge),
        "equipment": [f"{name}: {value}" for name, value in record.facts.items()],
        **{
            name: [record.equipment[name]] if name in record.equipment else []
            for name in ("make", "model", "technician")
        },
        "code": list(record.codes),
        "found": [
            knowledge.findings[f].name for f, present in record.findings.items() if present and f in knowledge.findings
        ],
    }


def script(name: str, data: Any) -> str:
    """A classic script that sets one variable; "<" is escaped so that no title can end a script."""
    packed = json.dumps(data, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")
    return f"var {name}={packed};\n"


def _family(id_: str, knowledge: Knowledge) -> str:
    return knowledge.families[id_].name if id_ in knowledge.families else id_


def _causes(record: Record, role: Role, knowledge: Knowledge) -> list[str]:
    return [knowledge.causes[c].name for c in record.roles.get(role.value, ()) if c in knowledge.causes]


def _coded(of_each: Sequence[list[str]]) -> dict[str, Any]:
    """A column of words as {"words": [each word once], "of": [for each case the numbers of its words]}."""
    distinct = sorted({word for some in of_each for word in some})
    number = {word: i for i, word in enumerate(distinct)}
    return {"words": distinct, "of": [[number[word] for word in some] for some in of_each]}
