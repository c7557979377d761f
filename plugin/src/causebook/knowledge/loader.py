"""Reads the data files, a company's own laid over ours, and checks every word in them that names something.

A folder of knowledge is any number of `*.yml` files.  Each is a mapping of sections (`causes:`, `findings:`, ...);
which file a section stands in does not matter.  `defaults:` at the top of a file fills fields that its entries leave
out.  A company's entry with a known id changes the fields it names and keeps the rest: mappings are merged key by
key, lists and texts replaced, and a key set to nothing (`~`) is taken away.
"""

from __future__ import annotations

import functools
import hashlib
import json
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError

from causebook.knowledge import model
from causebook.knowledge.checks import (
    REFERENCES,
    check_bounds,
    check_quantities,
    check_roles,
    check_rules,
    check_states,
    names_of,
    read_bases,
    resolve,
)
from causebook.knowledge.files import BY_ID, DATA, LISTED, SAID, Draft, Table, files, read_file, unread
from causebook.knowledge.marked import cut
from causebook.knowledge.model import Knowledge
from causebook.knowledge.said import check_alarms, check_said
from causebook.knowledge.seal import check_removed, check_sealed
from causebook.problems import Problem, did_you_mean


class KnowledgeError(Exception):
    """The data cannot be used; `problems` names every reason with its file and line."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(problems))
        super().__init__("\n".join(map(str, self.problems)))


def load(extra: Path | None = None) -> Knowledge:
    """The knowledge, with a company's own folder laid over it.

    Raises KnowledgeError with all that is wrong in the files.  Read once for each state of the company's folder.
    """
    if extra is not None and not extra.is_dir():
        raise KnowledgeError([Problem(extra, 0, 0, "", "no such folder", "a folder of *.yml files")])
    read = (*files(extra), *unread(extra)) if extra else ()
    stamp = tuple((str(p), p.stat().st_mtime_ns, p.stat().st_size) for p in read)
    return _load(extra, stamp)


@functools.lru_cache(maxsize=8)
def _load(extra: Path | None, stamp: tuple[tuple[str, int, int], ...]) -> Knowledge:
    problems: list[Problem] = []
    table: Table = {section: {} for section in (*BY_ID, *LISTED)}
    for path in files(DATA):
        read_file(path, table, problems)
    if extra is not None:
        removed = [one for path in files(extra) for one in read_file(path, table, problems)]
        if lost := tuple(check_removed(removed, load())):
            raise KnowledgeError([*problems, *lost])  # the rest would only tell of words that now name nothing
    for path in unread(extra) if extra else ():
        problems.append(Problem(path, 0, 0, "", "is not read", "a name that ends in .yml, directly in the folder"))
    names = names_of(table, problems)
    for section, fields in REFERENCES.items():
        for entry in table[section].values():
            for field, targets in fields.items():
                resolve(entry, field.split("."), targets, table, names, problems)
    for section, entries in table.items():
        for entry in entries.values():
            read_bases(entry, section, table["sources"], problems)
    version = hashlib.sha256(
        json.dumps(
            {s: {i: e.data for i, e in es.items()} for s, es in table.items() if s not in SAID}, sort_keys=True
        ).encode()
    ).hexdigest()[:16]
    built = _built(table, problems)
    check_quantities(built, table, problems)
    check_bounds(built, table, problems)
    check_states(built, table, problems)
    check_said(built, table, problems)
    if not problems:
        check_rules(built, load() if extra is not None else None, table, problems)
    if extra is not None and not problems:
        check_roles(built, load(), table, problems)
        check_alarms(built, load(), table, problems)
        check_sealed(built, load(), table, problems)
    if problems:
        raise KnowledgeError(problems)
    return Knowledge(**_completed(built), aliases=names, version=version)


def _built(table: Table, problems: list[Problem]) -> dict[str, dict[str, Any]]:
    """Every entry as its typed class, by section and id."""
    instruments = {id_: entry.data for id_, entry in table["instruments"].items()}
    built: dict[str, dict[str, Any]] = {}
    for section, entries in table.items():
        kind = BY_ID.get(section) or LISTED[section][0]
        adapter = TypeAdapter(kind)
        built[section] = {}
        for id_, entry in entries.items():
            data = entry.data
            if isinstance(data, dict) and kind is not str:
                if "id" in getattr(kind, "model_fields", ()):
                    data = {"id": id_, **data}
                if section == "readings" and isinstance(word := data.get("accuracy"), str):
                    if word not in instruments:
                        continue  # told already, as a word that names nothing
                    data["accuracy"] = instruments[word]
            try:
                built[section][id_] = adapter.validate_python(data)
            except ValidationError as error:
                problems.extend(_told(entry, f"{section}.{id_}", error, kind))
    return built


def _told(entry: Draft, name: str, error: ValidationError, kind: Any) -> Iterator[Problem]:
    for one in error.errors(include_url=False):
        place = one["loc"]
        hint = ""
        if one["type"] == "extra_forbidden":
            hint = did_you_mean(str(place[-1]), getattr(kind, "model_fields", ()))
            found, expected = "unknown field", "a field of this entry"
        elif one["type"] == "missing":
            found, expected = "missing", "this field"
        else:
            said = one["msg"].removeprefix("Input should be ")
            found, expected = cut(repr(one["input"])), said[:1].lower() + said[1:]
        yield entry.marks.problem(place, ".".join(map(str, (name, *place))), found, expected, hint)


def _completed(built: dict[str, dict[str, Any]]) -> dict[str, Any]:
    """The sections as Knowledge holds them, with what follows from other entries filled in."""
    for finding in built["findings"].values():
        for id_ in {i for rule in finding.when for i in rule.ids} & built["readings"].keys():
            reading = built["readings"][id_]
            if finding.id not in reading.shows:
                built["readings"][id_] = reading.model_copy(update={"shows": (*reading.shows, finding.id)})
    strikes = {void.id: void.strikes for void in built["voids"].values()}
    for id_, reading in built["readings"].items():
        voided_by = tuple(void for void, struck in strikes.items() if id_ in struck)
        built["readings"][id_] = reading.model_copy(update={"voided_by": voided_by})
    for id_, stop in built["stops"].items():
        stated = {c.finding for c in stop.any_of}
        named = (model.Condition(finding=f.id) for f in built["findings"].values() if f.stop == id_)
        more = tuple(c for c in named if c.finding not in stated)
        built["stops"][id_] = stop.model_copy(update={"any_of": (*stop.any_of, *more)})
    return {section: tuple(entries.values()) if section in LISTED else entries for section, entries in built.items()}
