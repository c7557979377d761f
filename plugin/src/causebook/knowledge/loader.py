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
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

import pint
from pydantic import TypeAdapter, ValidationError

from causebook import quantity as qty
from causebook.knowledge import model
from causebook.knowledge.marked import Marks, read_marked
from causebook.knowledge.model import Knowledge, slug
from causebook.problems import Problem, did_you_mean

DATA = Path(__file__).parent / "data"

BY_ID: dict[str, Any] = {
    "families": model.Family, "readings": model.Reading, "voids": model.Void, "findings": model.Finding,
    "causes": model.Cause, "tests": model.Test, "remedies": model.Remedy, "verification": model.Verification,
    "stops": model.Stop, "cautions": model.Caution, "parts": model.PartModel, "constants": model.Constant,
    "sources": str, "components": str, "instruments": model.Accuracy,
}
"""Sections that map ids to entries."""

LISTED: dict[str, tuple[Any, tuple[str, ...]]] = {
    "pairs": (model.Pair, ("first", "second")), "damage": (model.Damage, ("cause", "does")),
    "context": (model.Context, ("fact", "is", "value")), "proofs": (model.Proof, ("part", "finding")),
}
"""Sections that list entries, and the fields that make two of them the same one."""

REFERENCES: dict[str, dict[str, tuple[str, ...]]] = {
    "readings": {"accuracy": ("instruments",)},
    "voids": {"strikes": ("readings", "findings"), "findings": ("findings",)},
    "findings": {"stop": ("stops",)},
    "causes": {"part": ("components",), "priors": ("families",), "links": ("findings",), "pushes_down": ("findings",),
               "remedies": ("remedies",), "verify": ("verification",), "look_alikes": ("causes",), "stop": ("stops",)},
    "pairs": {"first": ("causes",), "second": ("causes",)},
    "damage": {"cause": ("causes",), "does": ("causes",)},
    "context": {"factors": ("causes",)},
    "tests": {"reveals": ("findings",), "needs": ("tests",), "clears": ("causes",)},
    "verification": {"reading": ("readings",)},
    "proofs": {"part": ("components",), "finding": ("findings",), "clears": ("causes",)},
    "stops": {"any_of.finding": ("findings",), "any_of.and_finding": ("findings",), "any_of.reading": ("readings",),
              "any_of.minus": ("readings",)},
    "cautions": {"triggers": ("readings", "findings", "tests", "causes", "components")},
}
"""Section -> field -> the sections in which its words must be found."""

BASIS_DUE: dict[str, str] = {
    "findings": "leak_basis", "causes": "basis", "pairs": "basis", "context": "basis", "tests": "basis",
    "proofs": "basis", "cautions": "basis",
}
"""Fields that may be absent from an entry in code but never from one in a file: no number without its basis."""

NAMED_ALIKE = ("readings", "findings", "causes")
"""Sections whose aliases share one space of names."""


class KnowledgeError(Exception):
    """The data cannot be used; `problems` names every reason with its file and line."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(problems))
        super().__init__("\n".join(map(str, self.problems)))


class _Entry:
    """One entry while it is put together: plain data, and where each part of it stands."""

    def __init__(self, data: Any, marks: Marks) -> None:
        self.data, self.marks = data, marks

    def laid_under(self, other: _Entry) -> _Entry:
        return _Entry(_merged(self.data, other.data), self.marks.laid_under(other.marks))


Table = dict[str, dict[str, _Entry]]


def load(extra: Path | None = None) -> Knowledge:
    """The knowledge, with a company's own folder laid over it.

    Raises KnowledgeError with all that is wrong in the files.  Read once for each state of the company's folder.
    """
    stamp = tuple((p.name, p.stat().st_mtime_ns, p.stat().st_size) for p in _files(extra)) if extra else ()
    return _load(extra, stamp)


@functools.lru_cache(maxsize=8)
def _load(extra: Path | None, stamp: tuple[tuple[str, int, int], ...]) -> Knowledge:
    problems: list[Problem] = []
    table: Table = {section: {} for section in (*BY_ID, *LISTED)}
    for folder in (DATA, extra):
        if folder is not None:
            for path in _files(folder):
                _read(path, table, problems)
    names = _names(table, problems)
    for section, fields in REFERENCES.items():
        for entry in table[section].values():
            for field, targets in fields.items():
                _resolve(entry, field.split("."), targets, table, names, problems)
    for section, entries in table.items():
        for entry in entries.values():
            _read_bases(entry, section, table["sources"], problems)
    version = hashlib.sha256(json.dumps({s: {i: e.data for i, e in es.items()} for s, es in table.items()},
                                        sort_keys=True).encode()).hexdigest()[:16]
    built = _built(table, problems)
    _check_quantities(built, table, problems)
    if problems:
        raise KnowledgeError(problems)
    return Knowledge(**_completed(built), aliases=names, version=version)


def json_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of one data file, for editors: every section optional, ids free."""
    definitions: dict[str, Any] = {}
    sections: dict[str, Any] = {"defaults": {"type": "object", "description": "fills fields entries leave out"}}
    for section, kind in BY_ID.items():
        one = _one_schema(kind, definitions)
        # Only an entry of ours may be given in part, and an editor cannot know which those are.
        sections[section] = {"type": "object", "additionalProperties": one}
    for section, (kind, _) in LISTED.items():
        sections[section] = {"type": "array", "items": _one_schema(kind, definitions)}
    basis, accuracy = definitions["Basis"], definitions["Accuracy"]
    kinds = "|".join(basis["properties"]["kind"]["enum"])
    definitions["Basis"] = {"type": "string", "pattern": f"^({kinds})(: .+)?$", "description": basis["description"]}
    definitions["Accuracy"] = {"anyOf": [{"type": "string", "description": "id of an instrument"}, accuracy]}
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "Causebook knowledge file",
            "type": "object", "additionalProperties": False, "properties": sections, "$defs": definitions}


def _one_schema(kind: Any, definitions: dict[str, Any]) -> dict[str, Any]:
    schema = TypeAdapter(kind).json_schema(ref_template="#/$defs/{model}", by_alias=True)
    definitions.update(schema.pop("$defs", {}))
    if kind is model.Accuracy:
        definitions.setdefault("Accuracy", schema)
        return {"$ref": "#/$defs/Accuracy"}
    # The id is the key; a company's change of one of our entries may leave out any field it keeps.
    schema.get("properties", {}).pop("id", None)
    schema.pop("required", None)
    return schema


# ------------------------------------------------------------------------------------------- reading and laying over

def _files(folder: Path) -> list[Path]:
    return sorted(folder.glob("*.yml"))


def _read(path: Path, table: Table, problems: list[Problem]) -> None:
    """Lay the entries of one file over those read before it."""
    data, marks = read_marked(path, problems)
    if not isinstance(data, dict):
        return
    defaults = data.pop("defaults", None) or {}
    for section, entries in data.items():
        word, here = slug(str(section)), marks.at([section])
        if word not in table:
            problems.append(here.problem((), str(section), "no section of knowledge", "one of " + ", ".join(table),
                                         did_you_mean(word, table)))
        elif isinstance(entries, list if word in LISTED else dict):
            for key, entry in _keyed(word, entries):
                _lay(table[word], key[0], _Entry(_filled(entry, defaults, word), here.at([key[1]])))
        elif entries is not None:
            expected = "a list of entries" if word in LISTED else "a mapping of ids to entries"
            problems.append(here.problem((), word, f"a {type(entries).__name__}", expected))


def _keyed(section: str, entries: Any) -> Iterator[tuple[tuple[str, Any], Any]]:
    """(identity, key in the file) and entry for every entry of a section."""
    if section not in LISTED:
        yield from (((slug(str(key)), key), entry) for key, entry in entries.items())
        return
    for number, entry in enumerate(entries):
        fields = LISTED[section][1]
        words = [slug(str(entry.get(f))) for f in fields] if isinstance(entry, dict) else [str(number)]
        yield (" ".join(sorted(words) if section == "pairs" else words), number), entry


def _filled(entry: Any, defaults: Mapping[str, Any], section: str) -> Any:
    kind = BY_ID.get(section) or LISTED[section][0]
    if not isinstance(entry, dict) or kind is str:
        return entry
    return {**{k: v for k, v in defaults.items() if k in kind.model_fields}, **entry}


def _lay(entries: dict[str, _Entry], id_: str, entry: _Entry) -> None:
    if entry.data is None:
        entries.pop(id_, None)
    else:
        entries[id_] = entries[id_].laid_under(entry) if id_ in entries else entry


def _merged(under: Any, over: Any) -> Any:
    """`over` laid over `under`: mappings key by key, the rest replaced, None taking away."""
    if not isinstance(under, dict) or not isinstance(over, dict):
        return over
    both = {key: _merged(under.get(key), value) for key, value in over.items()}
    return {key: value for key, value in {**under, **both}.items() if value is not None}


# ------------------------------------------------------------------------------------------- words that name entries

def _names(table: Table, problems: list[Problem]) -> dict[str, str]:
    """Alias -> id; an alias must mean one thing only."""
    names: dict[str, str] = {}
    for section in ("families", *NAMED_ALIKE):
        for id_, entry in table[section].items():
            listed = entry.data.get("aliases") if isinstance(entry.data, dict) else None
            for alias in map(slug, map(str, listed if isinstance(listed, list) else ())):
                taken = alias if any(alias in table[s] for s in NAMED_ALIKE) else names.get(alias, id_)
                if taken != id_:
                    problems.append(entry.marks.problem(("aliases",), f"{section}.{id_}.aliases",
                                                        f"{alias!r} already means {taken!r}", "a name of its own"))
                names[alias] = id_
    return names


def _resolve(entry: _Entry, fields: list[str], targets: tuple[str, ...], table: Table, names: Mapping[str, str],
             problems: list[Problem]) -> None:
    """Turn the words of one field into ids, in place; a word that names nothing is a problem."""

    def id_of(word: Any, place: tuple[Any, ...]) -> Any:
        if not isinstance(word, str) or word == "":
            return word
        known = [known for target in targets for known in table[target]]
        id_ = slug(word)
        id_ = id_ if id_ in known else names.get(id_, id_)
        if id_ not in known:
            problems.append(entry.marks.problem(place, ".".join(map(str, place)), repr(word),
                                                "an id of " + " or ".join(targets), did_you_mean(id_, known)))
        return id_

    def walk(data: Any, rest: list[str], place: tuple[Any, ...]) -> None:
        if isinstance(data, list):
            for number, item in enumerate(data):
                walk(item, rest, (*place, number))
        elif isinstance(data, dict) and rest[0] in data:
            key, value = rest[0], data[rest[0]]
            place = (*place, key)
            if len(rest) > 1:
                walk(value, rest[1:], place)
            elif isinstance(value, dict) and targets == ("instruments",):
                return
            elif isinstance(value, dict):
                data[key] = {id_of(word, (*place, word)): number for word, number in value.items()}
            elif isinstance(value, list):
                data[key] = [id_of(word, (*place, number)) for number, word in enumerate(value)]
            else:
                data[key] = id_of(value, place)

    walk(entry.data, fields, ())


def _read_bases(entry: _Entry, section: str, sources: Mapping[str, _Entry], problems: list[Problem]) -> None:
    """Turn "kind: source" into its parts, in place; a standard must name a known source, a number have a basis."""

    def walk(data: Any, place: tuple[Any, ...]) -> None:
        for key, value in data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ():
            here = (*place, key)
            if isinstance(key, str) and key.endswith("basis") and isinstance(value, str):
                kind, _, source = value.partition(": ")
                data[key] = {"kind": kind, "source": source}
                named = source.replace(";", ",").split(",")[0].strip()
                if kind == "standard" and named not in sources:
                    problems.append(entry.marks.problem(here, ".".join(map(str, here)), f"source {named!r}",
                                                        "an id of sources", did_you_mean(named, sources)))
            else:
                walk(value, here)

    walk(entry.data, ())
    due = BASIS_DUE.get(section)
    if due and isinstance(entry.data, dict) and due not in entry.data:
        problems.append(entry.marks.problem((), due, "missing", "where its numbers come from",
                                            "such as `expert estimate`, or `defaults:` at the top of the file"))


# ------------------------------------------------------------------------------------------- entries and their checks

def _built(table: Table, problems: list[Problem]) -> dict[str, dict[str, Any]]:
    instruments = {id_: entry.data for id_, entry in table["instruments"].items()}
    built: dict[str, dict[str, Any]] = {}
    for section, entries in table.items():
        kind = BY_ID.get(section) or LISTED[section][0]
        adapter = TypeAdapter(kind)
        built[section] = {}
        for id_, entry in entries.items():
            data = entry.data
            if isinstance(data, dict):
                if "id" in getattr(kind, "model_fields", ()):
                    data = {"id": id_, **data}
                if section == "readings" and isinstance(data.get("accuracy"), str):
                    data["accuracy"] = instruments.get(data["accuracy"])
            try:
                built[section][id_] = adapter.validate_python(data)
            except ValidationError as error:
                problems.extend(_told(entry, f"{section}.{id_}", error, kind))
    return built


def _told(entry: _Entry, name: str, error: ValidationError, kind: Any) -> Iterator[Problem]:
    for one in error.errors(include_url=False):
        place = one["loc"]
        hint = ""
        if one["type"] == "extra_forbidden":
            hint = did_you_mean(str(place[-1]), getattr(kind, "model_fields", ()))
            found, expected = "unknown field", "a field of this entry"
        elif one["type"] == "missing":
            found, expected = "missing", "this field"
        else:
            found, expected = repr(one["input"]), one["msg"][:1].lower() + one["msg"][1:]
        yield entry.marks.problem(place, ".".join(map(str, (name, *place))), found, expected, hint)


def _check_quantities(built: Mapping[str, Mapping[str, Any]], table: Table, problems: list[Problem]) -> None:
    """Kinds that exist, accuracies and limits in units of their kind."""

    def check(section: str, id_: str, place: tuple[Any, ...], text: str, kind: qty.Kind) -> None:
        try:
            qty.parse(text, kind)
        except qty.QuantityError as error:
            problems.append(table[section][id_].marks.problem(place, f"{section}.{id_}", error.found, error.expected,
                                                              error.hint))

    readings = built["readings"]
    for id_, reading in readings.items():
        if reading.kind not in qty.KINDS:
            problems.append(table["readings"][id_].marks.problem(("kind",), f"readings.{id_}.kind", repr(reading.kind),
                                                                 "a kind of quantity",
                                                                 did_you_mean(reading.kind, qty.KINDS)))
        elif reading.accuracy.fixed:
            kind = qty.KINDS[reading.kind]
            kind = qty.TEMPERATURE_DIFFERENCE if kind.si == "K" else kind
            check("readings", id_, ("accuracy",), reading.accuracy.fixed, kind)
    for id_, stop in built["stops"].items():
        for number, condition in enumerate(stop.any_of):
            kind = qty.KINDS.get(getattr(readings.get(condition.reading), "kind", ""))
            for text in filter(None, (condition.above, condition.below)):
                if kind:
                    check("stops", id_, ("any_of", number), text, kind)
    for section, field in (("findings", "limit_unit"), ("constants", "unit")):
        for id_, entry in built[section].items():
            unit = getattr(entry, field)
            try:
                qty.ureg.parse_units(unit)
            except (pint.PintError, AttributeError, ValueError):
                problems.append(table[section][id_].marks.problem((field,), f"{section}.{id_}.{field}", repr(unit),
                                                                  "a unit of the registry"))


def _completed(built: dict[str, dict[str, Any]]) -> dict[str, Any]:
    """The sections as Knowledge holds them, with what follows from other entries filled in."""
    strikes = {void.id: void.strikes for void in built["voids"].values()}
    for id_, reading in built["readings"].items():
        voided_by = tuple(void for void, struck in strikes.items() if id_ in struck)
        built["readings"][id_] = reading.model_copy(update={"voided_by": voided_by})
    for id_, stop in built["stops"].items():
        stated = {c.finding for c in stop.any_of if not c.and_finding}
        named = (model.Condition(finding=f.id) for f in built["findings"].values() if f.stop == id_)
        more = tuple(c for c in named if c.finding not in stated)
        built["stops"][id_] = stop.model_copy(update={"any_of": (*stop.any_of, *more)})
    return {section: tuple(entries.values()) if section in LISTED else entries for section, entries in built.items()}
