"""The sections of the data files, and how a company's own files are laid over ours."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from causebook.knowledge import model
from causebook.knowledge.marked import Marks, read_marked
from causebook.knowledge.model import slug
from causebook.knowledge.rules import Value
from causebook.problems import Problem, did_you_mean

DATA = Path(__file__).parent / "data"
"""Our own data files."""

BY_ID: dict[str, Any] = {
    "families": model.Family,
    "readings": model.Reading,
    "bounds": model.Bound,
    "ranges": model.Range,
    "differences": model.Difference,
    "states": model.PartStates,
    "values": Value,
    "voids": model.Void,
    "findings": model.Finding,
    "causes": model.Cause,
    "tests": model.Test,
    "remedies": model.Remedy,
    "verification": model.Verification,
    "stops": model.Stop,
    "cautions": model.Caution,
    "parts": model.PartModel,
    "unknowns": model.Unknown,
    "constants": model.Constant,
    "sources": str,
    "components": str,
    "pieces": str,
    "synonyms": str,
    "phrases": str,
    "complaints": model.Meant,
    "culprits": model.Meant,
    "alarms": model.Meant,
    "meters": model.Meant,
    "instruments": model.Accuracy,
    "malfunctions": model.Malfunction,
    "stages": model.Stage,
    "messages": model.Message,
}
"""Sections that map ids to entries."""

LISTED: dict[str, tuple[Any, tuple[str, ...]]] = {
    "pairs": (model.Pair, ("first", "second")),
    "damage": (model.Damage, ("cause", "does")),
    "context": (model.Context, ("fact", "is", "value")),
    "proofs": (model.Proof, ("part", "finding")),
}
"""Sections that list entries, and the fields that make two of them the same one."""

SAID = {"complaints": "families", "culprits": "causes", "alarms": "stops", "meters": "readings"}
"""Sections of what people say -> the section whose ids it means.  They change what a search finds and no workup."""

KEPT = ("alarms", "bounds", "constants", "parts", "states", "stops")
"""Sections of which no entry may be taken away: the core counts on each, or people do."""


@dataclass(slots=True)
class Draft:
    """One entry while it is put together: plain data, and where each part of it stands."""

    data: Any
    marks: Marks

    def laid_under(self, other: Draft) -> Draft:
        """This entry with another's fields over its own."""
        return Draft(_merged(self.data, other.data), self.marks.laid_under(other.marks))


Table = dict[str, dict[str, Draft]]


def files(folder: Path) -> list[Path]:
    """The data files of a folder, in the order they are laid over one another."""
    return sorted(folder.glob("*.yml"))


def unread(folder: Path) -> list[Path]:
    """The files of YAML in a folder that are no data files, by their ending or by standing deeper."""
    read = set(files(folder))
    return sorted(p for p in folder.rglob("*") if p.suffix.lower() in (".yml", ".yaml") and p not in read)


@dataclass(frozen=True, slots=True)
class Removed:
    """An entry that a file takes away, and where."""

    section: str
    id: str
    marks: Marks


def read_file(path: Path, table: Table, problems: list[Problem]) -> list[Removed]:
    """Lay the entries of one file over those read before it; what it takes away is returned."""
    data, marks = read_marked(path, problems)
    removed: list[Removed] = []
    if not isinstance(data, dict):
        if data is not None:
            problems.append(marks.problem((), "", f"a {type(data).__name__}", "a mapping of sections"))
        return removed
    defaults = data.pop("defaults", None)
    if not isinstance(defaults, dict | None):
        problems.append(
            marks.problem(("defaults",), "defaults", f"a {type(defaults).__name__}", "a mapping of fields to values")
        )
        defaults = None
    for section, entries in data.items():
        word, here = slug(str(section)), marks.at([section])
        if word not in table:
            problems.append(
                here.problem(
                    (), str(section), "no section of knowledge", "one of " + ", ".join(table), did_you_mean(word, table)
                )
            )
        elif isinstance(entries, list if word in LISTED else dict):
            for key, entry in _keyed(word, entries):
                if entry is None and word in KEPT:
                    problems.append(here.problem((key[1],), f"{word}.{key[0]}", "taken away", "what it says"))
                elif entry is None:
                    if table[word].pop(key[0], None):
                        removed.append(Removed(word, key[0], here.at([key[1]])))
                else:
                    _lay(table[word], key[0], Draft(_filled(entry, defaults or {}, word), here.at([key[1]])))
        elif entries is not None:
            expected = "a list of entries" if word in LISTED else "a mapping of ids to entries"
            problems.append(here.problem((), word, f"a {type(entries).__name__}", expected))
    return removed


def identity(section: str, entry: Mapping[str, Any]) -> str:
    """What makes two entries of a listed section the same one."""
    words = [slug(str(entry.get(field))) for field in LISTED[section][1]]
    return " ".join(sorted(words) if section == "pairs" else words)


def _keyed(section: str, entries: Any) -> Iterator[tuple[tuple[str, Any], Any]]:
    """(identity, key in the file) and entry for every entry of a section."""
    if section not in LISTED:
        yield from (((slug(str(key)), key), entry) for key, entry in entries.items())
        return
    for number, entry in enumerate(entries):
        yield (identity(section, entry) if isinstance(entry, dict) else str(number), number), entry


def _filled(entry: Any, defaults: Mapping[str, Any], section: str) -> Any:
    kind = BY_ID.get(section) or LISTED[section][0]
    if not isinstance(entry, dict) or kind is str:
        return entry
    return {**{k: v for k, v in defaults.items() if k in kind.model_fields}, **entry}


def _lay(entries: dict[str, Draft], id_: str, entry: Draft) -> None:
    entries[id_] = entries[id_].laid_under(entry) if id_ in entries else entry


def _merged(under: Any, over: Any) -> Any:
    """`over` laid over `under`: mappings key by key, the rest replaced, None taking away."""
    if not isinstance(under, dict) or not isinstance(over, dict):
        return over
    both = {key: _merged(under.get(key), value) for key, value in over.items()}
    return {key: value for key, value in {**under, **both}.items() if value is not None}
