"""JSON Schema of the data files, with which an editor completes and checks while somebody types."""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter

from causebook.knowledge import model
from causebook.knowledge.files import BY_ID, LISTED


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
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Causebook knowledge file",
        "type": "object",
        "additionalProperties": False,
        "properties": sections,
        "$defs": definitions,
    }


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
