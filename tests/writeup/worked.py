"""The hand-made workups, with the readings they use named in their knowledge."""

from __future__ import annotations

import functools
from collections.abc import Iterator
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import sample
from markdown import Markdown

from causebook.casefile.read import read_case
from causebook.knowledge.loader import load
from causebook.knowledge.model import Accuracy, Basis, Reading
from causebook.workup import StopNotice, Workup, work_up

_KINDS = {
    "ppm_": "CO fraction",
    "percent_": "gas fraction",
    "second": "duration",
    "inwc": "air pressure",
    "degree_Fahrenheit": "probe temperature",
}
_MEMORY = Accuracy(basis=Basis(kind="from memory"))
_VOID = {"area", "base", "br", "circle", "col", "hr", "img", "input", "link", "meta", "source"}


@functools.cache
def demo(id_: str) -> Workup:
    """A case of the demo, worked up."""
    known = load()
    case, problems = read_case(Path(__file__).parents[2] / "casefiles" / id_, known)
    assert case is not None, problems
    return work_up(case, known)


def worked(base: Workup | None = None) -> Workup:
    """A workup whose readings the knowledge knows by name and kind, and whose visits count from 1."""
    base = base or sample.workup()
    taken = (*(t for s in base.case.steps for t in s.readings), *(v.taken for v in base.survey.voided))
    readings = {
        t.reading: Reading(
            id=t.reading, name=t.reading.replace("-", " "), accuracy=_MEMORY, kind=_KINDS[str(t.value.units)]
        )
        for t in taken
    }
    first = base.case.steps[0].visit
    steps = tuple(s.model_copy(update={"visit": s.visit - first + 1}) for s in base.case.steps)
    return replace(
        base,
        case=base.case.model_copy(update={"steps": steps}),
        knowledge=base.knowledge.model_copy(update={"readings": readings}),
    )


def with_file(base: Workup, **changes: object) -> Workup:
    """The same with other words in its case file."""
    return replace(base, case=base.case.model_copy(update={"file": base.case.file.model_copy(update=changes)}))


def with_step(base: Workup, number: int, **changes: object) -> Workup:
    """The same with one step changed."""
    steps = tuple(
        s.model_copy(update={"step": s.step.model_copy(update=changes)}) if s.number == number else s
        for s in base.case.steps
    )
    return replace(base, case=base.case.model_copy(update={"steps": steps}))


def closed(base: Workup) -> Workup:
    """The same with its stop-use notices ended by a recorded correction."""
    stops: tuple[StopNotice, ...] = tuple(
        replace(s, open=False, closed_by="burner put right, test repeated on 20 February") for s in base.stops
    )
    return replace(base, stops=stops)


def html(markdown: str) -> str:
    """What a site makes of a page."""
    return Markdown(
        extensions=[
            "admonition",
            "attr_list",
            "md_in_html",
            "tables",
            "toc",
            "pymdownx.details",
            "pymdownx.superfences",
            "pymdownx.tilde",
        ]
    ).convert(markdown)


class Outline(HTMLParser):
    """Every tag with its attributes and the text within; complains about tags that do not pair."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.open: list[str] = []
        self.unpaired: list[str] = []
        self.texts: list[tuple[tuple[str, ...], str]] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))
        if tag not in _VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.unpaired.append(tag)

    def handle_data(self, data: str) -> None:
        self.texts.append((tuple(self.open), data))

    def named(self, tag: str) -> Iterator[dict[str, str]]:
        """The attributes of each `tag`."""
        return (attributes for name, attributes in self.tags if name == tag)
