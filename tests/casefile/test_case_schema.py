"""The JSON Schema accepts what the reader accepts, knows the known words, and refuses what an editor should mark."""

from __future__ import annotations

import copy
import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml
from small_knowledge import small_knowledge

from causebook.casefile.schema import case_schema
from causebook.knowledge import Knowledge, load

SOUND = (Path(__file__).parent / "sound-case" / "case.yml").read_text(encoding="utf-8")


class EditorLoader(yaml.SafeLoader):
    """YAML as editors read it for JSON Schema: dates are texts."""


EditorLoader.yaml_implicit_resolvers = {
    first: [(tag, pattern) for tag, pattern in resolvers if tag != "tag:yaml.org,2002:timestamp"]
    for first, resolvers in yaml.SafeLoader.yaml_implicit_resolvers.items()
}


class Yaml12Loader(EditorLoader):
    """YAML 1.2, where only true and false are truths."""


Yaml12Loader.yaml_implicit_resolvers = {
    first: [(tag, pattern) for tag, pattern in resolvers if tag != "tag:yaml.org,2002:bool"]
    for first, resolvers in EditorLoader.yaml_implicit_resolvers.items()
}


@pytest.fixture(scope="module")
def schema() -> dict[str, Any]:
    return case_schema(small_knowledge())


def refusals(schema: dict[str, Any], case: Any) -> list[str]:
    return [error.json_path for error in jsonschema.Draft202012Validator(schema).iter_errors(case)]


def test_it_is_a_json_schema(schema: dict[str, Any]) -> None:
    jsonschema.Draft202012Validator.check_schema(schema)


@pytest.mark.parametrize("loader", [EditorLoader, Yaml12Loader])
def test_the_sound_case_is_accepted(schema: dict[str, Any], loader: type[yaml.SafeLoader]) -> None:
    assert refusals(schema, yaml.load(SOUND, loader)) == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("family: high-limit", "family: hi-limit"),
        ("wheel dirty: no", "weel dirty: no"),
        ("wheel dirty: no", "wheel dirty: maybe"),
        ("tap after coil: 0.11 inH2O", "tap behind coil: 0.11 inH2O"),
        ("tap after coil: 0.11 inH2O", "tap after coil: 0.11"),
        ("root: {return-undersized:", "root: {return-undersize:"),
        ("outcome: settled and corrected", "outcome: fixed"),
        ("elevation: 620 ft", "elevation: 620"),
        ("elevation: 620 ft", "elevations: 620 ft"),
        ("with: {filter: out", "with: {fliter: out"),
        ("rise: 30 to 60 degF", "rise: 30 degF"),
        (', shows: "A duct no wider than a hand"', ""),
        ("chosen: yes", "chosen: perhaps"),
        ("shows: {supply air: T1", "shows: {supply: T1"),
        ("minutes: 15", "minutes: 15 min"),
        ("teach:", "answered: {tap-differ: so}\nteach:"),
    ],
)
def test_an_editor_marks_what_the_reader_refuses(schema: dict[str, Any], old: str, new: str) -> None:
    assert old in SOUND
    assert refusals(schema, yaml.load(SOUND.replace(old, new), EditorLoader)) != []


def test_editors_complete_the_known_words_with_their_meaning(schema: dict[str, Any], knowledge: Knowledge) -> None:
    step, reasons = schema["$defs"]["Step"]["properties"], schema["$defs"]["Reasons"]
    assert {name.replace(" ", "-") for name in step["read"]["properties"]} == set(knowledge.readings)
    assert {name.replace(" ", "-") for name in step["seen"]["properties"]} == set(knowledge.findings)
    assert {name.replace(" ", "-") for name in reasons["properties"]} == set(knowledge.causes)
    assert "It hinders." in reasons["properties"]["coil plugged"]["description"]
    assert re.fullmatch(step["seen"]["propertyNames"]["pattern"], "f_filter_dirty")


def test_an_editor_offers_each_name_once(schema: dict[str, Any]) -> None:
    assert "enum" not in schema["$defs"]["Step"]["properties"]["read"]["propertyNames"]


@pytest.mark.parametrize("value", ["147.4 F", "147.4 °F", "64 degC", "147.4degF"])
def test_units_as_meters_print_them_pass(schema: dict[str, Any], value: str) -> None:
    case = yaml.load(SOUND.replace("supply air: 121.0 degF", f"supply air: {value}"), EditorLoader)
    assert refusals(schema, case) == []


@pytest.mark.parametrize("value", ["147.4 cfm", "147.4", "147,4 degF", "F"])
def test_a_wrong_unit_is_marked(schema: dict[str, Any], value: str) -> None:
    case = yaml.load(SOUND.replace("supply air: 121.0 degF", f'supply air: "{value}"'), EditorLoader)
    assert refusals(schema, case)


def test_it_is_of_a_size_that_an_editor_likes() -> None:
    assert len(json.dumps(case_schema(load()))) < 200_000


def test_making_it_changes_nothing_that_is_shared(knowledge: Knowledge) -> None:
    first = copy.deepcopy(case_schema(knowledge))
    assert case_schema(knowledge) == first


def test_the_trade_knowledge_makes_a_schema_that_accepts_the_sound_case() -> None:
    whole = case_schema(load())
    jsonschema.Draft202012Validator.check_schema(whole)
    assert refusals(whole, yaml.load(SOUND, EditorLoader)) == []
