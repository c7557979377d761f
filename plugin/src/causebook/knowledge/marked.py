"""YAML data files with the place of every value: typed by YAML's own rules, aliases and doubled keys refused."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

from causebook.problems import Problem


@dataclass(frozen=True, slots=True)
class Marks:
    """Where a value stands, and where the values in it stand."""

    path: Path
    line: int = 0
    column: int = 0
    inside: dict[Any, Marks] = field(default_factory=dict)

    def at(self, place: Iterable[Any]) -> Marks:
        """The marks of a value further in, or of the nearest one around it."""
        here = self
        for key in place:
            if key not in here.inside:
                break
            here = here.inside[key]
        return here

    def laid_under(self, over: Marks) -> Marks:
        """Those of a value over which another was laid."""
        inside = {
            key: self.inside[key].laid_under(marks) if key in self.inside else marks
            for key, marks in over.inside.items()
        }
        return Marks(over.path, over.line, over.column, {**self.inside, **inside})

    def problem(self, place: Iterable[Any], name: str, found: str, expected: str, hint: str = "") -> Problem:
        """A problem at a value further in."""
        here = self.at(place)
        return Problem(here.path, here.line, here.column, name, found, expected, hint)


def cut(text: str, most: int = 80) -> str:
    """A text short enough for a message."""
    return text if len(text) <= most else f"{text[:most]} …"


def read_marked(path: Path, problems: list[Problem]) -> tuple[Any, Marks]:
    """A file's data and marks; what is wrong with it is added to `problems`.  Keys are texts (`on` is not a truth)."""
    try:
        loader = yaml.CSafeLoader(path.read_text(encoding="utf-8"))
        node = loader.get_single_node()
    except (OSError, UnicodeDecodeError, yaml.YAMLError) as error:
        mark = getattr(error, "problem_mark", None)
        words = getattr(error, "problem", None) or getattr(error, "strerror", None) or "not text in UTF-8"
        problems.append(
            Problem(path, mark.line + 1 if mark else 0, mark.column + 1 if mark else 0, "", words, "a file of YAML")
        )
        return None, Marks(path)
    if node is None:
        return None, Marks(path)
    built: dict[int, tuple[Any, Marks] | None] = {}

    def build(node: yaml.Node) -> tuple[Any, Marks]:
        place = Marks(path, node.start_mark.line + 1, node.start_mark.column + 1)
        if not isinstance(node, yaml.ScalarNode) and id(node) in built:
            problems.append(place.problem((), "", "an alias stands for what begins here", "each thing written out"))
            return built[id(node)] or (None, place)
        built[id(node)] = None
        built[id(node)] = found = read(node, place)
        return found

    def read(node: yaml.Node, place: Marks) -> tuple[Any, Marks]:
        if isinstance(node, yaml.SequenceNode):
            items = [build(item) for item in node.value]
            place.inside.update(enumerate(marks for _, marks in items))
            return [value for value, _ in items], place
        if not isinstance(node, yaml.MappingNode):
            return scalar(node, place), place
        data = {}
        for key_node, value_node in node.value:
            value, marks = build(value_node)
            key = key_node.value if isinstance(key_node, yaml.ScalarNode) else str(key_node.value)
            here = Marks(path, key_node.start_mark.line + 1, key_node.start_mark.column + 1, marks.inside)
            if key in data:
                problems.append(here.problem((), key, "written twice", "each key once in its block"))
            data[key], place.inside[key] = value, here
        return data, place

    def scalar(node: yaml.Node, place: Marks) -> Any:
        """A text, number, truth or nothing; a date, or a number that cannot be read, is told and taken as text."""
        try:
            value = loader.construct_object(node)
        except ValueError:
            value = ()
        if value is None or isinstance(value, str | int | float):
            return value
        problems.append(place.problem((), "", cut(repr(node.value)), "a text (in quotes), or a number of usual length"))
        return str(node.value)

    try:
        return build(node)
    except yaml.YAMLError as error:
        problems.append(
            Problem(
                path,
                node.start_mark.line + 1,
                0,
                "",
                str(getattr(error, "problem", error)),
                "plain texts, numbers, lists and mappings",
            )
        )
        return None, Marks(path)
