"""The keys a case file may have, found by walking the schema beside the tree."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from typing import Any, get_args

from causebook.casefile.desk import Desk, short
from causebook.casefile.marked_yaml import Entry, Node
from causebook.casefile.model import Block
from causebook.knowledge.model import slug


def keys(block: type[Block]) -> list[str]:
    """The keys of a block as authors write them."""
    return [field.alias or name for name, field in block.model_fields.items()]


def meaning(block: type[Block], key: str) -> str:
    """What the schema says a key of a block means; empty when its name says it all."""
    return next((f.description or "" for name, f in block.model_fields.items() if key in (f.alias, name)), "")


@functools.cache
def below(block: type[Block], key: str) -> type[Block] | None:
    """The block that stands under a key of a block, alone or in a list; None for texts and free mappings."""
    return next((_block_in(f.annotation) for name, f in block.model_fields.items() if key in (f.alias, name)), None)


def _block_in(annotation: Any) -> type[Block] | None:
    if isinstance(annotation, type) and issubclass(annotation, Block):
        return annotation
    return next((found for part in get_args(annotation) if (found := _block_in(part))), None)


@functools.cache
def _spellings(block: type[Block]) -> Mapping[str, str]:
    return {slug(key): key for key in keys(block)}


def settle_keys(node: Node, block: type[Block], where: str, desk: Desk) -> None:
    """Give keys written with other capitals, hyphens or underscores their one form, in place, all the way down."""
    if isinstance(node.value, list):
        for number, item in enumerate(node.value, 1):
            settle_keys(item, block, f"{where}.{number}" if where else str(number), desk)
        return
    spellings = _spellings(block)
    settled: dict[str, Entry] = {}
    for name, entry in node.entries().items():
        key = spellings.get(slug(name), name)
        at = f"{where}.{short(key)}" if where else short(key)
        if key in settled:
            desk.say(
                entry.key,
                at,
                "is written twice",
                "each key once in its block",
                f"line {settled[key].key.line} says {settled[key].key.text!r}",
            )
            continue
        settled[key] = entry
        if inner := below(block, key):
            settle_keys(entry.node, inner, at, desk)
    if isinstance(node.value, dict):
        node.value = settled
