"""The case file as JSON Schema, so that editors complete and check while an author types.

Known families, readings, findings, causes, parts and rules stand in it by name, with what they mean.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from causebook import quantity as qty
from causebook.casefile.blank import example
from causebook.casefile.model import CaseFile, quantity_schema
from causebook.casefile.review import RULES
from causebook.knowledge.entry import Named
from causebook.knowledge.model import Cause, Finding, Knowledge, slug

Schema = dict[str, Any]
_TRUTH: Schema = {"enum": ["yes", "no", "unclear", True, False]}
_CAUSE_BLOCKS = ("root", "underlying", "helped by", "damage done", "not it")


def case_schema(knowledge: Knowledge) -> Schema:
    """JSON Schema (draft 2020-12) of `case.yml` for the given knowledge."""
    schema = CaseFile.model_json_schema(by_alias=True)
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    schema["title"] = "Case file"
    schema["properties"]["private"] = {"type": "object", "description": "Never published, indexed, cached or logged."}
    schema["properties"]["answered"] |= _choice(
        {rule.id: _text(rule.sentence) for rule in RULES.values()}, map(_spaced, RULES)
    )
    blocks = schema["$defs"]
    families = knowledge.families.values()
    family = {
        "anyOf": [{"enum": [_spaced(f.id) for f in families]}, {"pattern": _pattern(_spellings(families))}],
        "description": "What the customer sees.",
    }
    blocks["Complaint"]["properties"]["family"] |= family
    step = blocks["Step"]["properties"]
    blocks |= {_of_kind(kind): _reading(quantity_schema(qty.KINDS[kind])) for kind in _kinds(knowledge)}
    blocks["Seen"] = _TRUTH
    readings = {
        _spaced(r.id): _named(_of_kind(r.kind), r.name, f"{r.where}. Such as {example(r)}".lstrip(". "))
        for r in knowledge.readings.values()
    }
    step["read"] |= _choice(readings, _spellings(knowledge.readings.values()))
    step["seen"] |= _choice(
        {_spaced(f.id): _named("Seen", f.name, _finding(f)) for f in knowledge.findings.values()},
        _spellings(knowledge.findings.values()),
    )
    step["with"] |= _choice(
        {
            _spaced(part.id): _text(", ".join(part.words)) | {"examples": list(part.words)}
            for part in knowledge.states.values()
        },
        _spellings(knowledge.states.values()),
    )
    blocks["Log"]["properties"]["shows"] |= _choice(
        {_spaced(r.id): _text(r.name) for r in knowledge.readings.values() if r.kind.endswith("temperature")},
        _spellings(knowledge.readings.values()),
    )
    blocks["Reasons"] = _choice(
        {_spaced(c.id): _text(_cause(c), c.name) for c in knowledge.causes.values()},
        _spellings(knowledge.causes.values()),
    ) | {"description": "Cause: reason."}
    reasons = {"$ref": "#/$defs/Reasons"}
    concluded = blocks["Conclusion"]["properties"]
    for block in _CAUSE_BLOCKS:
        forms = concluded[block].get("anyOf")
        concluded[block] = (
            {"anyOf": [reasons if form.get("type") == "object" else form for form in forms]} if forms else reasons
        )
    _allow_what_yaml_guesses(schema)
    return schema


def _choice(known: Mapping[str, Schema], spellings: Iterable[str] = ()) -> Schema:
    """A block whose keys are known: completed from `known`, accepted in every spelling.

    Other spellings stand in one pattern, since an editor would offer each name of a list.
    """
    return {
        "type": "object",
        "properties": dict(known),
        "propertyNames": {"pattern": _pattern({*known, *spellings})},
        "additionalProperties": True,
    }


def _spaced(name: str) -> str:
    return name.replace("-", " ")


def _pattern(names: Iterable[str]) -> str:
    """A pattern of these names, words joined by spaces, hyphens or underscores."""
    slugs = sorted({slug(name) for name in names})
    return f"^(?:{'|'.join(re.escape(name).replace(chr(92) + '-', '-').replace('-', '[-_ ]') for name in slugs)})$"


def _spellings(entries: Iterable[Named]) -> set[str]:
    return {word for entry in entries for word in (entry.id, *entry.aliases)}


def _text(description: str, title: str = "") -> Schema:
    return {"type": "string", "description": description} | ({"title": title} if title else {})


def _kinds(knowledge: Knowledge) -> list[str]:
    return sorted({reading.kind for reading in knowledge.readings.values()})


def _of_kind(kind: str) -> str:
    return f"reading-{slug(kind)}"


def _named(block: str, name: str, description: str) -> Schema:
    return {"$ref": f"#/$defs/{block}", "title": name, "description": description}


def _reading(quantity: Schema) -> Schema:
    """A reading of one kind: the quantity, or the quantity with the instrument's limits."""
    several = {
        "type": "object",
        "required": ["value"],
        "additionalProperties": False,
        "properties": {
            "value": quantity,
            "accuracy": _text("The instrument's limits: an amount, or `3 % of reading`."),
            "void": _text("Why it does not count."),
        },
    }
    return {"anyOf": [quantity, several]}


def _finding(finding: Finding) -> str:
    return finding.how


def _cause(cause: Cause) -> str:
    return cause.mechanism


def _allow_what_yaml_guesses(schema: Any) -> None:
    """Accept what an editor's YAML takes for a number or a truth where the reader takes the author's text.

    `when: 2019` is a number to an editor and words to us; `yes` is a truth in YAML 1.1 and a text in YAML 1.2.
    """
    if isinstance(schema, dict):
        if schema.get("type") == "boolean":
            del schema["type"]
            schema["enum"] = [True, False, "yes", "no"]
        elif schema.get("type") == "string" and not {"pattern", "enum", "format", "minLength"} & schema.keys():
            schema["type"] = ["string", "number"]
        for part in schema.values():
            _allow_what_yaml_guesses(part)
    elif isinstance(schema, list):
        for part in schema:
            _allow_what_yaml_guesses(part)
