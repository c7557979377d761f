"""Ids an author uses, given their one form: families, readings, findings and causes of the knowledge.

Works on the tree, before the schema, so that an unknown id is reported beside every other mistake of the file.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Literal

from causebook.casefile.desk import Desk, Place, short
from causebook.casefile.marked_yaml import Entry, Node
from causebook.knowledge.entry import Named
from causebook.knowledge.model import Knowledge, slug
from causebook.problems import nearest

Sort = Literal["family", "reading", "finding", "cause"]

_BELONGS: Mapping[Sort, str] = {
    "reading": "a reading: write it under `read`",
    "finding": "a finding: write it under `seen`",
    "cause": "a cause: write it under `concluded`",
    "family": "a complaint family: write it under `complaint`",
}
_PLURAL: Mapping[str, str] = {"reading": "readings", "finding": "findings", "cause": "causes"}


def known(sort: Sort, knowledge: Knowledge) -> Mapping[str, Named]:
    """The entries of one sort."""
    tables: Mapping[Sort, Mapping[str, Named]] = {
        "family": knowledge.families,
        "reading": knowledge.readings,
        "finding": knowledge.findings,
        "cause": knowledge.causes,
    }
    return tables[sort]


def resolve(word: str, sort: Sort, knowledge: Knowledge, at: Place, where: str, desk: Desk) -> str | None:
    """The id an author's word means, or None with the nearest known ids laid on the desk."""
    entries = known(sort, knowledge)
    for form in dict.fromkeys((word, in_our_words(word, knowledge))):
        for name in (slug(form), knowledge.resolve(form)):
            if name in entries:
                return name
    if desk.full:
        return None
    few = ", ".join(entries) if sort == "family" else f"the known {_PLURAL[sort]}"
    desk.say(at, where, f"unknown {sort} {short(word)!r}", f"one of {few}", _hint(word, sort, knowledge))
    return None


def in_our_words(word: str, knowledge: Knowledge) -> str:
    """An author's word with the trade's other words in it put into ours ("delta T" -> "rise")."""
    said = f"-{slug(word)}-"
    for theirs, ours in sorted(knowledge.synonyms.items(), key=lambda pair: -len(pair[0])):
        said = said.replace(f"-{slug(theirs)}-", f"-{slug(ours)}-")
    return said.strip("-")


def resolve_keys(
    block: Node, sort: Sort, knowledge: Knowledge, where: str, desk: Desk, also: Iterable[str] = ()
) -> None:
    """Give the keys of a block their ids, in place; the words of `also` stay as they are."""
    entries = block.entries()
    settled: dict[str, Entry] = {}
    for name, entry in entries.items():
        at = f"{where}.{short(entry.key.text)}"
        found = name if name in also else resolve(name, sort, knowledge, entry.key, at, desk)
        if found in settled:
            desk.say(
                entry.key,
                at,
                "is written twice",
                "each once in its block",
                f"line {settled[found].key.line} says {settled[found].key.text!r}",
            )
        settled.setdefault(found or name, entry)
    entries.clear()
    entries.update(settled)


def _hint(word: str, sort: Sort, knowledge: Knowledge) -> str:
    word = in_our_words(word, knowledge)
    name = knowledge.resolve(word)
    other: Sort
    for other in ("reading", "finding", "cause", "family"):
        if other != sort and name in known(other, knowledge):
            said = f"{name!r} is {_BELONGS[other]}"
            if (sort, other) == ("finding", "cause"):
                return f"{said}; what shows it: {_shows(name, knowledge)}"
            return said
    entries = known(sort, knowledge)
    spellings = {
        slug(spelling): id_ for id_, entry in entries.items() for spelling in (id_, entry.name, *entry.aliases)
    }
    if ":" in word:
        return f"put a space after the colon: `{word.partition(':')[0]}: …`"
    turned = [id_ for spelling, id_ in spellings.items() if set(spelling.split("-")) == set(slug(word).split("-"))]
    ids = list(dict.fromkeys([*turned, *(spellings[near] for near in nearest(slug(word), spellings))]))
    if not ids:
        words = set(slug(word).split("-"))
        ids = sorted(
            {id_ for spelling, id_ in spellings.items() if words & set(spelling.split("-")) - {"in", "at", "of"}}
        )
    return "did you mean " + " or ".join(map(repr, ids[:3])) + "?" if ids else "the page `words` lists them all"


def _shows(cause: str, knowledge: Knowledge) -> str:
    links = knowledge.causes[cause].links
    return ", ".join(sorted(links, key=lambda finding: (-links[finding], finding))[:3]) or "see the handbook"
