"""The reference names all that the code reads: keys, columns, commands and options."""

from __future__ import annotations

import argparse
import re

import pytest

from causebook.casefile.model import CaseFile
from causebook.casefile.notes import FIELDS
from causebook.commands.line import parser
from causebook.knowledge.schema import json_schema
from causebook.library.reference import PAGE, reference_pages
from causebook.site.cases.config import CasesConfig
from causebook.site.options import options_of
from causebook.writeup import contract

PAGES = reference_pages(parser(), {"causebook/cases": options_of(CasesConfig)})


def named(page: str) -> set[str]:
    """What stands in the first column of its tables."""
    return set(re.findall(r"^\| `([^`]+)`", PAGES[f"reference/{page}.md"], re.MULTILINE))


def keys(schema: dict) -> set[str]:
    return {k for block in (schema, *schema["$defs"].values()) for k in block.get("properties", {})}


def test_every_key_stands_in_it() -> None:
    assert named("case-file") == keys(CaseFile.model_json_schema(by_alias=True))
    assert named("json") == keys(contract.json_schema())
    assert named("notes") == set(FIELDS)
    sections = json_schema()["properties"]
    for section, of in sections.items():
        entry = of.get("additionalProperties") or of.get("items") or {}
        assert f"`{section}`" in PAGES["reference/knowledge.md"] or f"## {section} " in PAGES["reference/knowledge.md"]
        assert set(entry.get("properties", {})) <= named("knowledge"), section


@pytest.mark.parametrize("page", ["case-file", "notes", "knowledge", "json"])
def test_every_key_has_a_meaning(page: str) -> None:
    rows = [line for line in PAGES[f"reference/{page}.md"].splitlines() if line.startswith("| `")]
    assert rows and not [row for row in rows if not row.split(" | ")[-1].strip(" |")]


def test_every_command_and_option_stands_in_it() -> None:
    (commands,) = (a for a in parser()._actions if isinstance(a, argparse._SubParsersAction))
    for name, command in commands.choices.items():
        assert f"## causebook {name}\n" in PAGES["reference/commands.md"]
        for action in command._actions:
            if not isinstance(action, argparse._HelpAction):
                shown = (action.option_strings or [action.metavar or action.dest.upper()])[0]
                assert f"| `{shown}" in PAGES["reference/commands.md"], (name, shown)


def test_an_option_stands_with_its_default_and_what_it_does() -> None:
    assert "| `like` | `4` | How many like cases" in PAGES["reference/options.md"]
    assert named("options") == set(CasesConfig().keys())
    assert all(says for _, says in options_of(CasesConfig).values())


@pytest.mark.parametrize("page", PAGES)
def test_its_links_lead_to_a_heading_of_their_page(page: str) -> None:
    text = PAGES[page]
    anchors = set(re.findall(r"\{ #([\w-]+) \}", text))
    assert set(re.findall(r"\]\(#([\w-]+)\)", text)) <= anchors
    assert page == PAGE or "| " in text
