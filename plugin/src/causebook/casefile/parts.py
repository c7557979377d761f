"""The parts that a case file may name as changed, in the words of the knowledge."""

from __future__ import annotations

from collections.abc import Mapping

from causebook.knowledge.model import Knowledge, slug


def known_parts(knowledge: Knowledge) -> Mapping[str, str]:
    """Every word for a part, as a slug -> the component it belongs to; a part with states alone stands for itself."""
    states = {slug(name): part.id for part in knowledge.states.values() for name in (part.id, *part.aliases)}
    return {
        **{word: part for word, part in states.items() if not knowledge.states[part].of_reading},
        **{word: slug(component) for word, component in knowledge.pieces.items()},
        **{component: component for component in knowledge.components},
    }


def parts_named(words: str, knowledge: Knowledge) -> tuple[str, ...]:
    """The components that an author's words name ("second return grille"), the longest word for a part first."""
    known, text = known_parts(knowledge), f"-{slug(words)}-"
    found = [word for word in known if f"-{word}-" in text or f"-{word}s-" in text]
    return tuple(dict.fromkeys(known[word] for word in sorted(found, key=lambda word: (-len(word), word))))
