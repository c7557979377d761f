"""States in which a step may be done: `with: {filter: removed, return: opened at the filter slot}`.

The vocabulary stands in the knowledge (`states`).  A state is one of the part's words, alone or followed by how and
where, or a value ("16 x 25 x 1 in", "0.5 in gap").  Synonyms are made one, so that the core meets one word a state.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping

from causebook.casefile.desk import Desk, short
from causebook.casefile.marked_yaml import Entry, Node
from causebook.knowledge.model import Knowledge, PartStates, slug
from causebook.problems import did_you_mean

_VALUE = re.compile(r"[-+−]?\d[\d.,]*\s*\S")


def spaced(part: str) -> str:
    """A part's id as authors write it: "inner doors"."""
    return part.replace("-", " ")


def settle_states(states: Node, where: str, knowledge: Knowledge, desk: Desk) -> None:
    """Check the states of one step and give each part and state its one name, in place."""
    names = {slug(name): part for part in knowledge.states.values() for name in (part.id, *part.aliases)}
    for name, entry in list(states.entries().items()):
        if desk.full:
            return
        at = f"{where}.{short(entry.key.text)}"
        part = names.get(slug(name))
        if part is None:
            parts = [spaced(id_) for id_ in knowledge.states]
            desk.say(entry.key, at, "unknown part", "one of " + ", ".join(parts), did_you_mean(name, parts))
        elif settled := _state(part, entry, at, desk):
            entry.node.value = settled
            del states.entries()[name]
            if spaced(part.id) in states.entries():
                desk.say(entry.key, at, "is written twice", "each part once")
            states.entries()[spaced(part.id)] = entry


def _state(part: PartStates, entry: Entry, where: str, desk: Desk) -> str | None:
    text = " ".join((entry.node.text or "").split())
    for written, word in _spellings(part.id, _frozen(part.words)):
        if re.match(rf"{re.escape(written)}(?![\w-])", text):
            return word + text[len(written) :]
    if _VALUE.match(text):
        return text
    desk.say(
        entry.node,
        where,
        f"{short(text)!r} is no known state" if text else "no state stands here",
        "a text starting with " + ", ".join(part.words) + ("" if part.of_reading else ", or a value with its unit"),
        did_you_mean(text.partition(" ")[0], part.words),
    )
    return None


def _frozen(words: Mapping[str, tuple[str, ...]]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    return tuple(words.items())


@functools.cache
def _spellings(part: str, words: tuple[tuple[str, tuple[str, ...]], ...]) -> tuple[tuple[str, str], ...]:
    """Every spelling of a part's states with the word it stands for, the longest first."""
    every = [(spelling, word) for word, others in words for spelling in (word, *others)]
    return tuple(sorted(every, key=lambda pair: (-len(pair[0]), pair[0])))
