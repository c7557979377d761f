"""What the schema refuses, in words an author can act on."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from causebook.casefile.desk import Desk, Place, short
from causebook.casefile.keys import below, keys, meaning
from causebook.casefile.marked_yaml import Node
from causebook.casefile.model import Block, CaseFile, Reads, ReadsRange
from causebook.casefile.trade_words import CHOICES, KEYS
from causebook.knowledge.model import slug
from causebook.problems import did_you_mean
from causebook.quantity import QuantityError

_EXPECTED: dict[str, str] = {
    "string_type": "a text",
    "string_too_short": "a text that is not empty",
    "int_parsing": "a whole number",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "float_parsing": "a number without a unit",
    "float_type": "a number without a unit",
    "finite_number": "a finite number",
    "bool_parsing": "yes or no",
    "bool_type": "yes or no",
    "model_type": "a block of `key: value` entries",
    "dict_type": "a block of `key: value` entries",
    "mapping_type": "a block of `key: value` entries",
    "tuple_type": "a list, each item after a dash",
    "path_type": "the name of a file in the case folder",
}


_BLOCK_DUE = ("model_type", "dict_type", "mapping_type", "model_attributes_type")
_SHAPES: dict[str, str] = {
    "read": "{supply air: 146 F}",
    "seen": "{WORDS: yes}",
    "with": "{filter: removed}",
    "changed": "{WORDS: new}",
    "root": "{WORDS: why you say so}",
    "underlying": "{WORDS: why you say so}",
    "helped by": "{WORDS: why you say so}",
    "damage done": "{WORDS: why you say so}",
    "not it": "{WORDS: what ruled it out}",
    "answered": "{taps differ: why the rule does not apply here}",
    "shows": "{supply air: T1}",
}
"""How a block of free keys is written; WORDS stands for what the author wrote in its place."""


def shape(block: type[Block], key: str, written: str) -> str:
    """How the block under a key is written, with what its author wrote in the place where it most likely belongs."""
    part, _, state = written.rpartition(" ")
    if key == "with" and part:
        return f"{{{short(part, 20)}: {short(state, 20)}}}"
    if key in _SHAPES:
        return _SHAPES[key].replace("WORDS", short(written, 30) or "…")
    needed = [(f.alias or name, f) for name, f in block.model_fields.items() if f.is_required()]
    if not needed or below(block, key) is not None:
        return ""
    (first, field), *rest = needed
    number = next((m.kind for m in field.metadata if isinstance(m, Reads | ReadsRange)), None)
    if number:
        value = short(written, 30) if written[:1].isdigit() or written[:1] in "-.−" else number.example
        value = value if value[-1:].isalpha() or value[-1:] in "%°Ω" else f"{value} {number.example.split()[-1]}"
    else:
        value = short(written, 30) or "…"
    return "{" + ", ".join([f"{first}: {value}", *(f"{name}: …" for name, _ in rest)]) + "}"


def lay_down(error: ValidationError, root: Node, desk: Desk) -> None:
    """Lay every refusal of the schema on the desk, each at its place in the file."""
    said: set[tuple[int, int, str]] = set()
    for detail in error.errors(include_url=False):
        if desk.full:
            return
        if detail["type"] == "too_short" and len(detail["input"]) >= detail["ctx"]["min_length"]:
            continue  # long enough as written: the schema counts only its sound items, and names the others itself
        at, where, block = _placed(root, detail["loc"])
        place = at.line, at.column, where
        # A union refuses once for each of its forms; the author made one mistake.
        if place not in said:
            said.add(place)
            _say(detail, at, where, block, desk)


def _placed(root: Node, loc: tuple[int | str, ...]) -> tuple[Place, str, type[Block]]:
    """The place a location of the schema points to, its name for people, and the block it lies in.

    Parts of a location that are no key of the file (names of a union's forms) are passed over; a key that is
    missing is placed at the block that should hold it.
    """
    node, names = root, list[str]()
    block: type[Block] = CaseFile
    place: Place = root
    for part in loc:
        entry = node.entries().get(part) if isinstance(part, str) else None
        if entry:
            block, node, place = below(block, str(part)) or block, entry.node, entry.key
            names.append(entry.key.text)
        elif isinstance(part, int) and isinstance(node.value, list) and part < len(node.value):
            node = node.value[part]
            place = node
            names.append(str(part + 1))
        elif part == loc[-1] and isinstance(part, str) and node.entries() and part in keys(block):
            names.append(part)
    if node.line and not node.entries() and not isinstance(node.value, list) and node.value is not None:
        place = node
    return place, ".".join(names), block


def _say(detail: ErrorDetails, at: Place, where: str, block: type[Block], desk: Desk) -> None:
    kind, context = detail["type"], detail.get("ctx", {})
    cause = context.get("error")
    key = str(detail["loc"][-1]) if detail["loc"] else ""
    if isinstance(cause, QuantityError):
        desk.refused(at, where, cause)
    elif kind == "missing":
        desk.say(at, where, "is missing", _missing(block, key))
    elif kind == "extra_forbidden":
        desk.say(at, where, "unknown key", _known_keys(block), _key_hint(block, key))
    elif kind in ("literal_error", "enum"):
        choices = _choices(str(context["expected"]))
        desk.say(
            at,
            where,
            found(detail["input"]),
            ", ".join(f"'{word}' ({CHOICES[word]})" if word in CHOICES else f"'{word}'" for word in choices),
            did_you_mean(str(detail["input"]), choices),
        )
    elif kind in _BLOCK_DUE:
        key = next((str(part) for part in reversed(detail["loc"]) if isinstance(part, str)), key)
        form = shape(block, key, _first(detail["input"]))
        desk.say(at, where, found(detail["input"]), _EXPECTED[kind], f"write `{key}: {form}`" if form else "")
    elif kind in _EXPECTED:
        desk.say(at, where, found(detail["input"]), _EXPECTED[kind], _HINTS.get(kind, lambda _: "")(detail["input"]))
    else:
        desk.say(at, where, found(detail["input"]), _bound(kind, context) or detail["msg"])


def _first(value: Any) -> str:
    """What an author wrote, or the first item of a list of it."""
    if isinstance(value, (list, tuple)):
        return _first(value[0]) if value else ""
    return str(value or "") if not isinstance(value, dict) else ""


def found(value: Any) -> str:
    """What stands there, short."""
    if value is None:
        return "nothing stands here"
    if isinstance(value, (list, tuple)):
        return "a list stands here"
    return "a block stands here" if isinstance(value, dict) else repr(short(str(value)))


def _number_hint(value: Any) -> str:
    return "write the number alone: the key is its unit" if str(value)[:1].isdigit() else ""


_HINTS: dict[str, Callable[[Any], str]] = {"float_parsing": _number_hint, "int_parsing": _number_hint}


def _bound(kind: str, context: dict[str, Any]) -> str:
    words = {
        "greater_than_equal": ("ge", "a number of at least"),
        "less_than_equal": ("le", "a number of at most"),
        "greater_than": ("gt", "a number above"),
        "less_than": ("lt", "a number below"),
    }.get(kind)
    if words:
        return f"{words[1]} {context[words[0]]:g}" + (" (the whole year)" if context[words[0]] == 1900 else "")
    if kind == "too_short":
        return f"at least {context['min_length']} item{'s' if context['min_length'] > 1 else ''}"
    return f"at most {context['max_length']} items" if kind == "too_long" else ""


def _choices(expected: str) -> list[str]:
    return [word for word in re.findall(r"'([^']*)'", expected) if word]


def _missing(block: type[Block], key: str) -> str:
    words = meaning(block, key).split("\n")[0].rstrip(".")
    return f"`{key}:` here" + (f" ({words[:1].lower()}{words[1:]})" if words else "")


def _known_keys(block: type[Block]) -> str:
    return "one of " + ", ".join(sorted(keys(block)))


def _key_hint(block: type[Block], key: str) -> str:
    if ":" in key:
        return f"put a space after the colon: `{key.partition(':')[0]}: …`"
    meant = KEYS.get(slug(key))
    if meant in keys(block):
        return f"write `{meant}:`"
    if near := did_you_mean(key, keys(block)):
        return near
    owner = next((top for top in keys(CaseFile) if (inner := below(CaseFile, top)) and key in keys(inner)), None)
    return f"it belongs under `{owner}`" if owner else "remove it"
