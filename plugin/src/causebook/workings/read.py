"""Reads a block and makes the calculation; what is wrong is collected as problems at the page's own lines."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from causebook.casefile.marked_yaml import Entry, Node, parse
from causebook.problems import Problem, did_you_mean
from causebook.quantity import OutOfRange
from causebook.workings.kinds import WORKINGS
from causebook.workings.model import Example, Field, Line, Variant, Worked, Working

LINES = "lines of `field: value`"
WORDS = {"title": "what the table is headed", "note": "a sentence below it"}
VARIANTS = {
    "mistakes": "mistakes, each with the fields it gets wrong",
    "instead": "changes, each with the fields it changes",
}
COMMON = (*WORDS, *VARIANTS)
"""Fields that every block may have."""


def work_out(name: str, text: str, path: Path, line: int, indent: int = 0) -> tuple[Example | None, list[Problem]]:
    """The block called `name` with the inputs `text`, whose fence stands on `line` of `path`, indented by `indent`.

    Nothing but problems when anything is wrong with it.
    """
    reading = _Reading(path, line, indent)
    working = WORKINGS.get(name)
    if working is None:
        found = f"unknown calculation {name!r}" if name else "the calculation is not named"
        reading.say(line, 1, found, "a calculation such as 'airflow-from-rise'", did_you_mean(name, WORKINGS))
        return None, reading.problems
    if not text.strip():
        needed = ", ".join(f.name for f in working.fields if f.needed and not f.otherwise)
        reading.say(line, 1, "the block is empty", LINES, f"it needs {needed}")
        return None, reading.problems
    root, wrong = parse(text.encode(), path, LINES)
    for problem in wrong:
        reading.say(line + problem.line, problem.column, problem.found, problem.expected, problem.hint, problem.field)
    example = reading.example(working, root.entries()) if root is not None and not wrong else None
    return (None if reading.problems else example), reading.problems


class _Reading:
    """One block while it is read."""

    def __init__(self, path: Path, fence: int, indent: int) -> None:
        self.path, self.fence, self.indent = path, fence, indent
        self.problems: list[Problem] = []

    def say(self, line: int, column: int, found: str, expected: str, hint: str = "", at: str = "") -> None:
        self.problems.append(Problem(self.path, line, column + self.indent, at, found, expected, hint))

    def example(self, working: Working, entries: Mapping[str, Entry]) -> Example | None:
        own = {name: e for name, e in entries.items() if name not in COMMON}
        words = {name: self._words(entries[name]) for name in WORDS if name in entries}
        values = self._values(working, own)
        worked = None if values is None else self._make(working, values, own, self.fence)
        if worked is None or values is None:
            return None
        mistakes, instead = (tuple(self._variants(working, own, entries.get(name))) for name in VARIANTS)
        return Example(
            words.get("title") or working.title,
            tuple(_given(working, values, own)),
            worked,
            working.source,
            tuple(note for note in (worked.says, working.note, words.get("note")) if note),
            mistakes,
            instead,
        )

    def _words(self, entry: Entry) -> str:
        if entry.node.text is None:
            self.say(
                self.fence + entry.node.line, entry.node.column, "no words", WORDS[entry.key.text], "", entry.key.text
            )
        return entry.node.text or ""

    def _values(self, working: Working, entries: Mapping[str, Entry]) -> dict[str, Any] | None:
        """Every field's value by name; None, with the reasons said, when one cannot be read."""
        before = len(self.problems)
        known = [f.name for f in working.fields]
        for name, entry in entries.items():
            if name not in known:
                near = did_you_mean(name, (*known, *COMMON))
                self.say(
                    self.fence + entry.key.line,
                    entry.key.column,
                    f"unknown field in {working.name}",
                    f"one of {', '.join(known)}",
                    near,
                    name,
                )
        values = {field.name: self._value(working, field, entries.get(field.name)) for field in working.fields}
        return values if len(self.problems) == before else None

    def _value(self, working: Working, field: Field, entry: Entry | None) -> Any:
        if entry is None and not field.otherwise:
            if field.needed:
                self.say(self.fence, 1, f"{working.name} needs it", field.words.lower(), "", field.name)
            return None
        node = entry.node if entry else Node(field.otherwise, 0, 0)
        return field.form.read(
            node,
            lambda line, column, found, expected, hint: self.say(
                self.fence + line, column, found, expected, hint, field.name
            ),
        )

    def _make(
        self, working: Working, values: Mapping[str, Any], entries: Mapping[str, Entry], line: int
    ) -> Worked | None:
        try:
            return working.make(**{f.parameter: values[f.name] for f in working.fields})
        except OutOfRange as wrong:
            entry = entries.get(wrong.name.replace(" ", "-"))
            self.say(
                self.fence + entry.key.line if entry else line,
                entry.key.column if entry else 1,
                f"{wrong.name} is {wrong.shown}",
                wrong.valid,
                "",
                working.name,
            )
        except (ValueError, KeyError, TypeError) as wrong:
            self.say(line, 1, str(wrong.args[0]), "", "", working.name)
        except ArithmeticError:
            self.say(
                line,
                1,
                "these values cannot be computed with",
                "no zeros and nothing beyond all bounds",
                "",
                working.name,
            )
        return None

    def _variants(self, working: Working, own: Mapping[str, Entry], entry: Entry | None) -> Iterator[Variant]:
        if entry is None:
            return
        if not entry.node.entries():
            self.say(
                self.fence + entry.key.line,
                entry.key.column,
                "nothing is changed",
                VARIANTS[entry.key.text],
                "",
                entry.key.text,
            )
        for words, variant in entry.node.entries().items():
            line = self.fence + variant.key.line
            if not variant.node.entries():
                self.say(
                    line,
                    variant.key.column,
                    "nothing is changed",
                    "the fields with other values, indented below",
                    "",
                    words,
                )
                continue
            changed = _laid_over(own, variant.node.entries())
            values = self._values(working, changed)
            worked = None if values is None else self._make(working, values, changed, line)
            if worked is not None:
                yield Variant(words, worked.results)


def _laid_over(entries: Mapping[str, Entry], changes: Mapping[str, Entry]) -> dict[str, Entry]:
    """The entries with the changes: tables merged by their keys, what is changed to nothing taken away."""
    laid = dict(entries)
    for name, change in changes.items():
        if change.node.value is None:
            laid.pop(name, None)
        elif name in laid and laid[name].node.entries() and change.node.entries():
            merged = {
                key: entry
                for key, entry in (laid[name].node.entries() | change.node.entries()).items()
                if entry.node.value is not None
            }
            laid[name] = Entry(change.key, Node(merged, change.node.line, change.node.column))
        else:
            laid[name] = change
    return laid


def _given(working: Working, values: Mapping[str, Any], entries: Mapping[str, Entry]) -> Iterator[Line]:
    for field in working.fields:
        if field.shown and values[field.name] is not None:
            yield from field.form.lines(field.words, values[field.name], "" if field.name in entries else "assumed")
