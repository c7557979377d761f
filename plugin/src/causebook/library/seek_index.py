"""The index of the search: what every page is, in words made alike, and what people say for it.

A classic script, so that it is the same from a server, from the store of a device and from a folder.  A page is found
for what it is: a case by its title, complaint, roots and what was found present, a cause and a complaint by their
names and by what people say for them, a page of the handbook by its title, headings and text.  What a case ruled out,
readings, boilerplate and the titles of other pages are not in it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from causebook.knowledge.model import Knowledge
from causebook.library.facets import script
from causebook.library.find_index import units_of
from causebook.library.lines import line_of
from causebook.library.record import Record, newest_first
from causebook.library.search import BETWEEN, CODE_WORDS, UNIT_WORDS
from causebook.library.spoken import FILLERS, NEGATIVES, raw_words, stems
from causebook.library.summaries import headings, summary
from causebook.library.typed import asks
from causebook.writeup import prose

SOURCE = "find/seek.js"
TITLE, SAID, HEADING, WORDS, FOUND, BODY = 8, 6, 5, 4, 3, 1
"""How much a word weighs by where it stands: title and root, what people say, heading, the customer's words, what was
found and equipment, running text."""


def seek_index(
    records: Iterable[Record], knowledge: Knowledge, handbook: Mapping[str, str], address: Callable[[str], str]
) -> dict[str, Any]:
    """The index as plain data.

    `handbook`: source path -> Markdown; `address`: where the page of a source path stands on the site.
    """
    index = _Index()
    said: dict[tuple[str, str], list[str]] = {}
    for kind, phrases in (("complaint", knowledge.complaints), ("cause", knowledge.culprits)):
        for phrase, ids in phrases.items():
            for id_ in ids:
                said.setdefault((kind, id_), []).append(phrase)
    for family in knowledge.families.values():
        words = [(TITLE, family.name), (WORDS, family.complaint)]
        index.add("complaint", family.id, address(f"complaints/{family.id}.md"), family.name, family.complaint, words)
        index.says([family.name, *said.get(("complaint", family.id), ())])
    for cause in knowledge.causes.values():
        if not cause.residual:
            words = [(TITLE, cause.name), (BODY, cause.mechanism)]
            index.add("cause", cause.id, address(f"causes/{cause.id}.md"), cause.name, "Cause", words)
            index.says([cause.name, *said.get(("cause", cause.id), ())])
    for record in newest_first(records):
        _add_case(index, record, knowledge, address)
    for source, text in sorted(handbook.items()):
        title, body = summary(text)
        words = [(TITLE, title), *((HEADING, heading) for heading in headings(text)), (BODY, body)]
        index.add("page", source, address(source), title, "Handbook", words)
        index.says([title])
    return {
        "docs": index.docs,
        "terms": {
            term: [x for doc, w in sorted(of.items()) for x in (doc, w)] for term, of in sorted(index.terms.items())
        },
        "phrases": index.phrases,
        "codes": index.codes,
        "synonyms": {
            theirs: ours
            for phrase, meant in knowledge.synonyms.items()
            if (theirs := " ".join(stems(phrase.replace("-", " ")))) != (ours := " ".join(stems(meant)))
        },
        "alarms": {" ".join(stems(phrase.replace("-", " "))): list(ids) for phrase, ids in knowledge.alarms.items()},
        "stops": {s.id: [prose.plain(s.name), prose.plain(s.do)] for s in knowledge.stops.values()},
        "meters": {" ".join(raw_words(phrase.replace("-", " "))): ids[0] for phrase, ids in knowledge.meters.items()},
        "asks": {ask.id: [ask.name, units_of(ask.kind)] for ask in asks(knowledge)},
        "between": sorted(BETWEEN),
        "unitWords": sorted(UNIT_WORDS),
        "codeWords": sorted(CODE_WORDS),
        "fillers": sorted(FILLERS),
        "negatives": sorted(NEGATIVES),
    }


def seek_script(index: Mapping[str, Any]) -> str:
    """The script that sets `causebookSeekIndex`."""
    return script("causebookSeekIndex", index)


def code_of(text: str) -> str:
    """A code, model or part as it is compared: letters and digits only."""
    return re.sub(r"[^a-z0-9]", "", text.lower())


class _Index:
    def __init__(self) -> None:
        self.docs: list[list[str]] = []
        self.terms: dict[str, dict[int, int]] = {}
        self.phrases: dict[str, list[int]] = {}
        self.codes: dict[str, list[int]] = {}

    def add(self, kind: str, id_: str, address: str, title: str, line: str, words: Iterable[tuple[int, str]]) -> None:
        """A page, found by its words, each with its weight; a word counts where it weighs most."""
        number = len(self.docs)
        self.docs.append([kind, id_, address, prose.plain(title), prose.plain(line)])
        for weight, text in words:
            self._words(number, weight, text)

    def _words(self, number: int, weight: int, text: str) -> None:
        for term in stems(prose.plain(text)):
            if not term.isdigit():
                of = self.terms.setdefault(term, {})
                of[number] = max(of.get(number, 0), weight)

    def says(self, phrases: Iterable[str]) -> None:
        """What people say for the page added last."""
        number = len(self.docs) - 1
        for phrase in phrases:
            words = stems(phrase.replace("-", " "))
            of = self.phrases.setdefault(" ".join(words), [])
            if number not in of:
                of.append(number)
            self._words(number, SAID, " ".join(words))

    def coded(self, texts: Iterable[str]) -> None:
        """What the page added last is found by exactly, whole or by a word with a digit: codes, models, numbers."""
        number = len(self.docs) - 1
        for text in texts:
            digits = (word for word in raw_words(text) if any(map(str.isdigit, word)))
            for code in dict.fromkeys((code_of(text), *digits)):
                of = self.codes.setdefault(code, [])
                if number not in of:
                    of.append(number)


def _add_case(index: _Index, record: Record, knowledge: Knowledge, address: Callable[[str], str]) -> None:
    def causes(*roles: str) -> list[str]:
        return [knowledge.causes[c].name for role in roles for c in record.roles.get(role, ()) if c in knowledge.causes]

    families = [knowledge.families[f].name for f in record.families if f in knowledge.families]
    found = [knowledge.findings[f].name for f, there in record.findings.items() if there and f in knowledge.findings]
    words = [
        (TITLE, record.title),
        *((TITLE, name) for name in causes("root", "underlying")),
        *((HEADING, name) for name in families),
        *((WORDS, name) for name in causes("helped by", "damage done")),
        (WORDS, record.words),
        *((FOUND, text) for text in (*found, *record.facts.values(), *record.equipment.values())),
    ]
    line = line_of(record, knowledge)
    index.add("case", record.id, address(f"cases/{record.id}/index.md"), record.title, line, words)
    index.coded([*record.codes, *(record.equipment[n] for n in ("model", "serial", "job") if n in record.equipment)])
