"""YAML as a tree of texts that know their line and column.

Every scalar stays the text its author wrote: whether `2018`, `no` or `9:10` is a number, a truth or words is for the
schema to say, not for YAML's guesses.  Keys called `private`, and all below them, are dropped while reading and reach
neither the tree nor a message.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple

import yaml

from causebook.knowledge.model import slug
from causebook.problems import Problem

LARGEST_FILE = 1_000_000
"""Bytes; a long case file has some 20,000."""
MOST_NODES = 50_000
"""Values after aliases are written out; a long case file has some 1,000."""
DEEPEST = 40
"""Blocks inside one another; a case file needs some 8."""
LONGEST_TEXT = 20_000
"""Characters of one text; a long story of a step has some 2,000."""
LONGEST_WORD = 1_000
"""Characters without a space; a long address of the web has some 200."""
LONGEST_KEY = 200
MOST_BRACKETS = 200
"""Opening brackets of one text: each may begin a link, and Markdown looks from each to the end."""

_UNPRINTABLE = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_NOTHING = {"", "~", "null", "Null", "NULL"}
_BEGINS = ("do", "date")
"""Keys that open an item of a list: the second one in a block is a dash that was left out."""
_OPENED = re.compile(r"""^\s*(?:- +)*(?:[^\s:#'"]+(?: [^\s:#'"]+)*: +)?(["'])(?P<rest>.*)$""")
_HINTS = {
    "mapping values are not allowed in this context": "put quotes around a text that holds ': '",
    "did not find expected ',' or '}'": "close the { } and put commas between its entries; quote texts with commas",
    "did not find expected ',' or ']'": "close the [ ] and put commas between its entries",
    "found unexpected end of stream": "a quote or bracket was opened and not closed",
    "found character that cannot start any token": "indent with spaces, not tabs; quote texts that start with % @ `",
    "found a tab character that violates indentation": "indent with spaces, not tabs",
    "did not find expected key": "keep the keys of one block in one column; quote texts with quotes or colons in them",
    "did not find expected '-' indicator": "every item of this list begins with a dash: put `- ` before this line",
    "could not find expected ':'": "every line of a block is `key: value`",
}


@dataclass(slots=True)
class Key:
    """A key as written, and where."""

    text: str
    line: int
    column: int


class Entry(NamedTuple):
    key: Key
    node: Node


@dataclass(slots=True)
class Node:
    """A value: a text, a list, a mapping, or None for a blank; `size` counts the nodes in it."""

    value: str | list[Node] | dict[str, Entry] | None
    line: int
    column: int
    size: int = 1

    def entries(self) -> dict[str, Entry]:
        """The entries of a mapping; nothing for any other value."""
        return self.value if isinstance(self.value, dict) else {}

    def get(self, *path: str) -> Node | None:
        """The node down a path of keys, or None."""
        node: Node | None = self
        for name in path:
            entry = node.entries().get(name) if node else None
            node = entry.node if entry else None
        return node

    def items(self) -> list[Node]:
        """The items of a list; a single mapping or text counts as a list of one, a blank as none."""
        if isinstance(self.value, list):
            return self.value
        return [] if self.value is None else [self]

    @property
    def text(self) -> str | None:
        """The text of a scalar; None for anything else."""
        return self.value if isinstance(self.value, str) else None

    def plain(self) -> Any:
        """Dicts, lists and texts, blank entries of mappings left out."""
        if isinstance(self.value, dict):
            return {name: entry.node.plain() for name, entry in self.value.items() if entry.node.value is not None}
        if isinstance(self.value, list):
            return [item.plain() for item in self.value]
        return self.value

    def marks(self, above: str = "") -> Iterator[tuple[str, int]]:
        """Dotted path, list items counted from 1, and line of every value (of its key where it has one)."""
        if isinstance(self.value, dict):
            below = [(name, entry.key.line, entry.node) for name, entry in self.value.items()]
        elif isinstance(self.value, list):
            below = [(str(number), item.line, item) for number, item in enumerate(self.value, 1)]
        else:
            return
        for name, line, node in below:
            path = f"{above}.{name}" if above else name
            yield path, line
            yield from node.marks(path)


@dataclass(slots=True)
class _Open:
    """A list or mapping still being read."""

    node: Node
    private: bool
    anchor: str | None
    key: Key | None = None
    """Mapping: the key whose value comes next."""
    key_private: bool = False


class _Refused(Exception):
    """The file cannot be read further; the problem is already recorded."""


@dataclass(slots=True)
class _Builder:
    path: Path
    problems: list[Problem] = field(default_factory=list)
    root: Node | None = None
    open: list[_Open] = field(default_factory=list)
    anchors: dict[str, tuple[Node, bool]] = field(default_factory=dict)
    """Anchor -> its value, and whether it stands in a private block."""
    nodes: int = 0

    def say(self, line: int, column: int, found: str, expected: str, hint: str = "", at: str = "") -> None:
        self.problems.append(Problem(self.path, line, column, at, found, expected, hint))

    def refuse(self, line: int, column: int, found: str, expected: str, hint: str = "") -> None:
        self.say(line, column, found, expected, hint)
        raise _Refused

    def take(self, event: yaml.Event) -> None:
        line, column = event.start_mark.line + 1, event.start_mark.column + 1
        if isinstance(event, yaml.DocumentStartEvent) and self.root is not None:
            self.refuse(line, column, "a second document starts here", "one case a file", "remove the line `---`")
        elif isinstance(event, yaml.ScalarEvent):
            self.scalar(event, line, column)
        elif isinstance(event, yaml.AliasEvent):
            self.alias(event.anchor, line, column)
        elif isinstance(event, yaml.MappingStartEvent):
            self.start(Node({}, line, column), event)
        elif isinstance(event, yaml.SequenceStartEvent):
            self.start(Node([], line, column), event)
        elif isinstance(event, (yaml.MappingEndEvent, yaml.SequenceEndEvent)):
            done = self.open.pop()
            self.place(done.node)

    @property
    def private(self) -> bool:
        return bool(self.open) and (self.open[-1].private or self.open[-1].key_private)

    @property
    def here(self) -> str:
        """The key whose value comes next, for messages."""
        key = self.open[-1].key if self.open else None
        return key.text[:LONGEST_KEY] if key else ""

    def untagged(self, event: Any, line: int, column: int) -> None:
        if event.tag is not None and not self.private:
            self.say(
                line,
                column,
                "a YAML tag stands here",
                "plain text, lists and mappings",
                "put quotes around a text that starts with !",
            )

    def start(self, node: Node, event: Any) -> None:
        self.untagged(event, node.line, node.column)
        if len(self.open) == DEEPEST:
            self.refuse(node.line, node.column, "too many blocks inside one another", f"at most {DEEPEST}")
        if self.open and isinstance(self.open[-1].node.value, dict) and self.open[-1].key is None:
            self.refuse(node.line, node.column, "a list or mapping stands where a key belongs", "a text as key")
        self.open.append(_Open(node, self.private, event.anchor))
        if event.anchor is not None:
            self.anchors[event.anchor] = node, self.private

    def scalar(self, event: yaml.ScalarEvent, line: int, column: int) -> None:
        self.untagged(event, line, column)
        blank = event.implicit[0] and event.value in _NOTHING
        text: str = event.value
        if (fault := too_long(text)) and not self.private:
            self.say(line, column, *fault, at=self.here)
            text = text[:LONGEST_KEY]
        node = Node(None if blank else text, line, column)
        if event.anchor is not None:
            self.anchors[event.anchor] = node, self.private
        self.place(node)

    def alias(self, anchor: str, line: int, column: int) -> None:
        node, private = self.anchors.get(anchor, (None, False))
        if node is None:
            self.refuse(
                line,
                column,
                "an alias names nothing",
                "an anchor above it",
                "put quotes around a text that starts with *",
            )
        elif private and not self.private:
            self.refuse(
                line,
                column,
                "an alias names something private",
                "text of its own",
                "what is private must not be used elsewhere",
            )
        elif any(block.node is node for block in self.open):
            self.refuse(line, column, "an alias stands inside what it names", "no block that contains itself")
        else:
            self.place(Node(node.value, line, column, node.size))

    def place(self, node: Node) -> None:
        """Put a finished value where it belongs."""
        if not self.open:
            self.root = node
            return
        parent = self.open[-1]
        parent.node.size += node.size
        self.nodes = max(self.nodes, parent.node.size)
        if self.nodes > MOST_NODES:
            self.refuse(
                node.line,
                node.column,
                "the file holds too many values",
                f"at most {MOST_NODES:,} once aliases are written out",
            )
        if isinstance(parent.node.value, list):
            parent.node.value.append(node)
        elif isinstance(parent.node.value, dict):
            self.place_in_mapping(parent, parent.node.value, node)

    def place_in_mapping(self, parent: _Open, entries: dict[str, Entry], node: Node) -> None:
        if parent.key is None:
            if isinstance(node.value, (dict, list)):
                self.refuse(node.line, node.column, "a list or mapping stands where a key belongs", "a text as key")
            if len(node.text or "") > LONGEST_KEY:
                self.refuse(node.line, node.column, "a key is too long", f"at most {LONGEST_KEY} characters")
            parent.key = Key(node.text or "", node.line, node.column)
            parent.key_private = "private" in parent.key.text.lower() and slug(parent.key.text) == "private"
            return
        key, private = parent.key, parent.private or parent.key_private
        parent.key, parent.key_private = None, False
        if private or (node.value is None and _goes_on(entries, key)):
            return
        if key.text in entries:
            first = entries[key.text].key.line
            self.say(
                key.line,
                key.column,
                "is written twice",
                "each key once in its block",
                f"it stands on line {first} already; "
                + (
                    f"a new one begins with a dash: `- {key.text}: …`"
                    if key.text in _BEGINS
                    else "merge or rename them"
                ),
                key.text,
            )
        else:
            entries[key.text] = Entry(key, node)


def _quote_left_open(lines: list[str]) -> int:
    """The line that opens a quoted text and does not close it, where a later one then breaks; 0 where there is none."""
    for number, line in enumerate(lines, 1):
        found = _OPENED.match(line)
        if found and found[1] not in found["rest"].replace('\\"', "").replace("''", ""):
            later = " ".join(lines[number:])
            if found[1] in later:
                return number
    return 0


def _goes_on(entries: dict[str, Entry], key: Key) -> bool:
    """Whether a key without a value is the rest of the number before it, which a comma inside braces cut in two.

    `{input: 80,000 BTU}` is an input of `80` and a key `000 BTU` to YAML; the author wrote one number.
    """
    before = next(reversed(entries.values())).node if entries else None
    if before is None or before.text is None or not before.text[-1:].isdigit() or not key.text[:1].isdigit():
        return False
    if (before.line, before.column + len(before.text) + 1) != (key.line, key.column):
        return False
    before.value = f"{before.text},{key.text}"
    return True


def too_long(text: str) -> tuple[str, str, str] | None:
    """What is too much in a text, what was expected and what to do; None for one that a page can hold."""
    if len(text) > LONGEST_TEXT:
        return f"holds {len(text):,} characters", f"a text of at most {LONGEST_TEXT:,}", "keep what the reader needs"
    if len(text) > LONGEST_WORD and (longest := max(map(len, text.split()), default=0)) > LONGEST_WORD:
        return f"holds a word of {longest:,} characters", f"words of at most {LONGEST_WORD:,}", "put spaces in"
    if (brackets := text.count("[")) > MOST_BRACKETS:
        return f"holds {brackets:,} opening brackets", f"at most {MOST_BRACKETS} in one text", "take them out"
    return None


def load(path: Path, shown: Path) -> tuple[Node | None, list[Problem]]:
    """Read a YAML file; messages name it as `shown`.  No tree when it cannot be read to its end."""
    try:
        if path.stat().st_size > LARGEST_FILE:
            return None, [
                Problem(
                    shown,
                    0,
                    0,
                    "",
                    "the file is too large",
                    f"at most {LARGEST_FILE:,} bytes",
                    "keep logs and photos in files of their own",
                )
            ]
        data = path.read_bytes()
    except OSError as error:
        return None, [Problem(shown, 0, 0, "", f"cannot be read ({error.strerror})", "a readable file")]
    return parse(data, shown)


def parse(
    data: bytes, shown: Path, whole: str = "a case: title, complaint, visits"
) -> tuple[Node | None, list[Problem]]:
    """The tree of a YAML text and what is wrong with it; `whole` says in messages what the text should be."""
    builder = _Builder(shown)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        return None, [
            Problem(shown, line, 0, "", "a character is not UTF-8", "text in UTF-8", "save the file as UTF-8")
        ]
    if odd := _UNPRINTABLE.search(text):
        line = text.count("\n", 0, odd.start()) + 1
        return None, [
            Problem(
                shown,
                line,
                0,
                "",
                f"a control character (U+{ord(odd.group()):04X}) stands here",
                "printable text",
                "remove it",
            )
        ]
    try:
        for event in yaml.parse(text, Loader=yaml.CSafeLoader):
            builder.take(event)
    except _Refused:
        return None, builder.problems
    except yaml.MarkedYAMLError as error:
        # libyaml's own words only: the excerpt that str(error) adds could show a private line.
        mark = error.problem_mark or error.context_mark
        words = error.problem or "not YAML"
        line, column = (mark.line + 1, mark.column + 1) if mark else (0, 0)
        if opened := _quote_left_open(text.splitlines()[:line]):
            builder.say(opened, 0, "a text opens a quote and does not close it", "a quote at both ends of the text")
        else:
            builder.say(
                line,
                column,
                f"cannot be read as YAML: {words}",
                "",
                _HINTS.get(words, "look here and at the line above"),
            )
        return None, builder.problems
    if builder.root is None or builder.root.value is None:
        builder.say(1, 1, "the file is empty", whole)
    elif not isinstance(builder.root.value, dict):
        builder.say(builder.root.line, builder.root.column, "this is not a mapping", whole, "write `key: value` lines")
    else:
        return builder.root, builder.problems
    return None, builder.problems
