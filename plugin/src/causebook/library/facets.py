"""The facet table: all cases in one small script, so that a browser can filter and sort them without a server.

A classic script, not JSON to fetch, since a page opened from a folder may not fetch.  Columns instead of rows and
codes instead of words keep it small: words stand once, in `words`, and a case holds their numbers.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from causebook.diagnosis.model import Role
from causebook.knowledge.model import Knowledge
from causebook.library.record import Record, newest_first
from causebook.writeup import prose

SOURCE = "cases/facets.js"


def facet_script(records: Iterable[Record], knowledge: Knowledge) -> str:
    """The script that sets `causebookFacets`; the cases stand newest first."""
    cases = newest_first(records)
    table = {
        "id": [r.id for r in cases],
        "title": [prose.plain(r.title) for r in cases],
        "words": [prose.plain(r.words) for r in cases],
        "date": [r.date for r in cases],
        "minutes": [round(r.minutes) for r in cases],
        "stopped": [i for i, r in enumerate(cases) if r.stopped],
        "complaint": _coded(cases, lambda r: [_family(f, knowledge) for f in r.families]),
        "outcome": _coded(cases, lambda r: [r.outcome]),
        "root": _coded(cases, lambda r: _causes(r, Role.ROOT, knowledge)),
        "helped by": _coded(cases, lambda r: _causes(r, Role.HELPED_BY, knowledge)),
        "not it": _coded(cases, lambda r: _causes(r, Role.NOT_IT, knowledge)),
        "equipment": _coded(cases, lambda r: [f"{name}: {value}" for name, value in r.facts.items()]),
        "found": _coded(cases, lambda r: [knowledge.findings[f].name for f, present in r.findings.items()
                                          if present and f in knowledge.findings]),
    }
    # "<" is written as an escape so that no title can end the script where the table stands in a page.
    packed = json.dumps(table, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")
    return f"var causebookFacets={packed};\n"


def _family(id_: str, knowledge: Knowledge) -> str:
    return knowledge.families[id_].name if id_ in knowledge.families else id_


def _causes(record: Record, role: Role, knowledge: Knowledge) -> list[str]:
    return [knowledge.causes[c].name for c in record.roles.get(role.value, ()) if c in knowledge.causes]


def _coded(cases: Sequence[Record], words: Callable[[Record], list[str]]) -> dict[str, Any]:
    """A column of words as {"words": [each word once], "of": [for each case the numbers of its words]}."""
    of_each = [words(case) for case in cases]
    distinct = sorted({word for some in of_each for word in some})
    number = {word: i for i, word in enumerate(distinct)}
    return {"words": distinct, "of": [[number[word] for word in some] for some in of_each]}
