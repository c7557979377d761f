"""The reference: every key, command and option, written out of the code that reads them.

Each page is made from what is checked when a file or a command line is read (JSON Schema, argparse), so that it cannot
differ from it.
"""

from __future__ import annotations

import argparse
import json
import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from causebook.casefile.model import CaseFile
from causebook.casefile.notes import MEANS
from causebook.knowledge.schema import json_schema as knowledge_schema
from causebook.writeup import contract

Schema = Mapping[str, Any]
Pages = dict[str, str]
PAGE = "reference/index.md"
_MOST_WORDS = 24
"""So many of the words of a choice are written out."""


def reference_pages(command: argparse.ArgumentParser, options: Mapping[str, Mapping[str, tuple[str, str]]]) -> Pages:
    """The pages of the reference: source path -> Markdown.

    `command` is the command line; `options` are those of mkdocs.yml: plugin -> name -> (default, what it does).
    """
    told = {
        "case-file": ("Case file", "Every key of `case.yml`.", case_file()),
        "notes": ("Job notes", "Every column of a note.", notes()),
        "knowledge": ("Knowledge files", "Every key of a company's own knowledge.", knowledge_files()),
        "commands": ("Commands", "Every command of the terminal and its options.", commands(command)),
        "options": ("Options", "What may stand in `mkdocs.yml`.", site_options(options)),
        "json": ("JSON of a case", "What `causebook work --json` prints.", json_of_a_case()),
    }
    pages = {f"reference/{id_}.md": _page(name, [says, "", *lines]) for id_, (name, says, lines) in told.items()}
    contents = [f"- [{name}]({id_}.md). {says}" for id_, (name, says, _) in told.items()]
    words = "- [Words of a case file](../words/index.md). Every reading, finding, cause, state and stop by its name."
    started = "Made from the code at each build. For a start read [Write a case](../case-file.md)."
    return pages | {PAGE: _page("Reference", [started, "", *contents, words])}


def case_file() -> list[str]:
    """The keys of a case file, block by block."""
    units = "Units, examples and choices of the plate and the house are in the [words](../words/index.md)."
    return [units, "", *_blocks(CaseFile.model_json_schema(by_alias=True), "The file")]


def knowledge_files() -> list[str]:
    """The keys of a knowledge file, section by section."""
    schema = knowledge_schema()
    blocks = schema["$defs"] | {
        name: schema["properties"][name].get("additionalProperties") or schema["properties"][name].get("items")
        for name in schema["properties"]
        if name != "defaults"
    }
    lines = ["`defaults` fills the fields that the entries of a section leave out."]
    of_text = [name for name in schema["properties"] if blocks.get(name, {}).get("type") == "string"]
    lines += ["", f"Sections that map an id to a text: {', '.join(f'`{name}`' for name in of_text)}."]
    for name, block in blocks.items():
        if name not in of_text:
            lines += ["", *_block(name, name, block)]
    return lines


def json_of_a_case() -> list[str]:
    """The keys of the JSON of a worked case."""
    return list(_blocks(contract.json_schema(), "The whole"))


def notes() -> list[str]:
    """The columns of a job note."""
    rows = [f"| `{name}` | {_text(says)} |" for name, says in MEANS.items()]
    where = (
        "In `notes/*.csv` a header of these names; in `notes/*.yml` a list `notes:` of the same. All may be left out."
    )
    return [where, "", "| column | meaning |", "|---|---|", *rows]


def commands(command: argparse.ArgumentParser) -> list[str]:
    """Each command with its usage and its options, as `--help` tells them."""
    (subcommands,) = (a for a in command._actions if isinstance(a, argparse._SubParsersAction))
    helps = {choice.dest: choice.help or "" for choice in subcommands._choices_actions}
    lines = ["`causebook --version` prints the version. Exit status: 0 all is well, 1 a file has errors, 2 misused."]
    for name, sub in subcommands.choices.items():
        usage = " ".join(sub.format_usage().removeprefix("usage: ").split())
        lines += ["", f"## causebook {name}", "", _sentence(helps[name]), "", f"    {usage}", ""]
        lines += ["| argument | meaning |", "|---|---|"]
        for action in sub._actions:
            if not isinstance(action, argparse._HelpAction):
                said = (action.help or ", ".join(map(str, action.choices or ()))) % vars(action)
                lines.append(f"| {_called(action)} | {_text(said)} |")
    return lines


def site_options(options: Mapping[str, Mapping[str, tuple[str, str]]]) -> list[str]:
    """The options of each plugin."""
    lines: list[str] = []
    for plugin, named in options.items():
        lines += [f"## `{plugin}`", "", "| option | default | meaning |", "|---|---|---|"]
        lines += [f"| `{name}` | `{default}` | {_text(says)} |" for name, (default, says) in named.items()]
        lines.append("")
    return lines


# ------------------------------------------------------------------------------------------------------ a JSON Schema


def _blocks(schema: Schema, top: str) -> Iterator[str]:
    yield from _block("top", top, schema)
    for name, block in schema.get("$defs", {}).items():
        if "properties" in block:
            yield ""
            yield from _block(name, name, block)
        elif "enum" in block:
            yield from ("", f"## {name} {{ #{_anchor(name)} }}", "", _sentence(_text(block.get("description", ""))), "")
            yield f"One of: {_choice(block['enum'], len(block['enum']))}."


def _block(id_: str, title: str, block: Schema) -> Iterator[str]:
    needed = block.get("required", ())
    yield from (f"## {title} {{ #{_anchor(id_)} }}", "")
    if block.get("description"):
        yield from (_sentence(_text(block["description"])), "")
    keyed = next((b for b in (block, *block.get("anyOf", ())) if "properties" in b), None)
    if keyed is not block:
        yield from (f"Written as {_kind(block)}.", "")
    if keyed is None:
        return
    yield from ("| key | what stands there | meaning |", "|---|---|---|")
    for key, of in keyed["properties"].items():
        must = ", needed" if key in needed else ""
        default = of.get("default")
        told = default not in (None, "") and not isinstance(default, list | dict)
        else_ = f". Without it: `{_value(default)}`" if told else ""
        yield f"| `{key}` | {_kind(of)}{must}{else_} | {_text(of.get('description', ''))} |"


def _kind(of: Schema) -> str:
    """What may stand behind a key, in words."""
    if "$ref" in of:
        name = of["$ref"].rpartition("/")[2]
        return f"[{name}](#{_anchor(name)})"
    if "allOf" in of:
        return " and ".join(map(_kind, of["allOf"]))
    if "anyOf" in of:
        may = dict.fromkeys(_kind(one) for one in of["anyOf"] if one.get("type") != "null")
        return " or ".join(may) or "nothing"
    if "enum" in of:
        return _choice(of["enum"], _MOST_WORDS)
    if "const" in of:
        return f"`{_value(of['const'])}`"
    match of.get("type"):
        case "array":
            return f"a list of {_kind(of.get('items') or {})}"
        case "object" if "properties" in of:
            return "a block of these keys"
        case "object":
            inner = of.get("additionalProperties")
            return f"names, each with {_kind(inner)}" if isinstance(inner, Mapping) else "names and what they say"
        case list() as several:
            return " or ".join(_PLAIN.get(one, one) for one in several)
        case str() as one:
            return _PLAIN.get(one, one)
    return "any value"


_PLAIN = {
    "string": "text",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "yes or no",
    "null": "nothing",
}


def _choice(words: Iterable[object], most: int) -> str:
    shown = [f"`{_value(word)}`" for word in words if word != ""]
    return ", ".join(shown[:most]) + (f" and {len(shown) - most} more" if len(shown) > most else "")


def _value(value: object) -> str:
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False).replace("|", "\\|")


# ------------------------------------------------------------------------------------------------------------- words


def _page(title: str, lines: Iterable[str]) -> str:
    return "\n".join(["---", f"title: {title}", "search: {exclude: true}", "---", "", f"# {title}", "", *lines, ""])


def _anchor(name: str) -> str:
    return f"of-{re.sub(r'[^a-z0-9]+', '-', name.lower())}"


def _called(action: argparse.Action) -> str:
    value = "" if action.nargs == 0 else f" {action.metavar or action.dest.upper()}"
    names = action.option_strings or [""]
    return ", ".join(f"`{(name + value).strip()}`" for name in names)


def _text(text: str) -> str:
    """A docstring or a help text in one cell of a table: its first paragraphs in one line, nothing taken as markup."""
    line = " ".join(text.split())
    return "".join({"|": "\\|", "<": "&lt;", "{": "&#123;", "}": "&#125;", "*": "\\*"}.get(c, c) for c in line)


def _sentence(text: str) -> str:
    return text and text[0].upper() + text[1:] + ("" if text.endswith((".", ":")) else ".")
