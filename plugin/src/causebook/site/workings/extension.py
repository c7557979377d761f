"""The Python-Markdown extension: a fence called `workings` becomes the calculation.

    ```workings airflow-from-rise
    input: 80000 Btu/h
    efficiency: 80 %
    rise: 65 degF
    ```

It works without MkDocs: `markdown.markdown(text, extensions=[WorkingsExtension()])`.  What is wrong is collected in
`problems`; a fence inside another fence is left alone, so that a page can show how a block is written.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from markdown import Markdown
from markdown.extensions import Extension
from markdown.preprocessors import Preprocessor

from causebook.problems import Problem
from causebook.site.workings import show
from causebook.workings.read import work_out

NAME = "workings"
_FENCE = re.compile(r"^(?P<indent> *)(?P<marks>`{3,}|~{3,})\s*(?P<info>[^`]*?)\s*$")
BEFORE_FENCES = 27
"""Priority: after whitespace is put in order (30), before fences are made code (25)."""


class WorkingsExtension(Extension):
    """Puts the calculations in place of their blocks.

    `path` and `above` say which file the text comes from and how many of its lines stand before the text.
    """

    def __init__(self, path: Path = Path(), above: int = 0) -> None:
        super().__init__()
        self.path, self.above = path, above
        self.problems: list[Problem] = []

    def extendMarkdown(self, md: Markdown) -> None:
        """Hang the blocks into Python-Markdown's own order of work."""
        md.preprocessors.register(_Blocks(md, self), "causebook-workings", BEFORE_FENCES)


class _Blocks(Preprocessor):
    """Finds the blocks in the lines of a page."""

    def __init__(self, md: Markdown, extension: WorkingsExtension) -> None:
        super().__init__(md)
        self.extension = extension

    def run(self, lines: list[str]) -> list[str]:
        return list(self._replaced(lines))

    def _replaced(self, lines: list[str]) -> Iterator[str]:
        place = 0
        while place < len(lines):
            fence = _FENCE.match(lines[place])
            if not fence:
                yield lines[place]
                place += 1
                continue
            end = _end(lines, place, fence["marks"])
            kind, _, name = fence["info"].partition(" ")
            if kind == NAME:
                yield from self._worked(
                    name.strip(), lines[place + 1 : end], place, len(fence["indent"]), end < len(lines)
                )
            else:
                yield from lines[place : end + 1]
            place = end + 1

    def _worked(self, name: str, lines: list[str], place: int, indent: int, closed: bool) -> Iterator[str]:
        path, line = self.extension.path, self.extension.above + place + 1
        text = "\n".join(each[indent:] if not each[:indent].strip() else each for each in lines)
        if closed:
            example, problems = work_out(name, text, path, line, indent)
        else:
            example, problems = (
                None,
                [
                    Problem(
                        path, line, indent + 1, name, "the block is not closed", "a line of the same marks as its first"
                    )
                ],
            )
        self.extension.problems += problems
        block = show.wrong(problems) if example is None else show.html(example)
        yield ""
        yield " " * indent + self.md.htmlStash.store(block)
        yield ""


def _end(lines: list[str], start: int, marks: str) -> int:
    """Where the fence that opens at `start` closes; the number of lines when it does not."""
    for place in range(start + 1, len(lines)):
        line = lines[place].strip()
        if len(line) >= len(marks) and line == marks[0] * len(line):
            return place
    return len(lines)
