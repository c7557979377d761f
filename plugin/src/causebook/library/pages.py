"""The pages across cases, as Markdown: lists by complaint, cause, part, equipment and outcome; tallies; study order.

Each cause has a page of its own.  No page lists more than `PER_PAGE` cases; longer lists go on in further pages.  Links
are written as Markdown links to source files, so that MkDocs checks and rewrites them.
"""

from __future__ import annotations

import hashlib
import posixpath
import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

import jinja2

from causebook.belief.verdict import Role
from causebook.casefile.blank import example
from causebook.casefile.review import RULES
from causebook.knowledge.model import Cause, Knowledge, slug
from causebook.knowledge.worth import findings_first, readings_first
from causebook.library import sheet, study
from causebook.library.addresses import SOMETHING_ELSE, cause_source
from causebook.library.beginning import causes_of, first_tests
from causebook.library.bounds import bound
from causebook.library.entrance import entrance
from causebook.library.lines import line_of
from causebook.library.manage import screen
from causebook.library.record import LISTED_ROLES, Record, newest_first
from causebook.library.signature_chart import cause_charts, partings
from causebook.writeup import prose

PER_PAGE = 100
GUIDE = "case-file.md"
"""The guide to the case file, which every site of cases has."""
_FIRST = 12
"""So many readings and looks are named under a complaint."""
_USUAL = 5
"""How many of a complaint's causes are named where no case is like the one at hand."""
CHANCE_WORDS = ((0.9, "nearly always"), (0.7, "usually"), (0.4, "often"), (0.15, "sometimes"), (0.0, "seldom"))
"""Words for the chance that a cause shows a finding."""
ROLE_HEADINGS = {
    Role.ROOT: "It was the cause",
    Role.UNDERLYING: "It was behind the cause",
    Role.HELPED_BY: "It contributed",
    Role.DAMAGE: "It was damage done by another cause",
    Role.NOT_IT: "It was suspected, and was not it",
}
PART_HEADINGS = {
    "The air path": (
        "return-grille",
        "return-duct",
        "filter",
        "inlet",
        "blower-wheel",
        "blower-motor",
        "heat-exchanger",
        "secondary-heat-exchanger",
        "coil",
        "supply-plenum",
        "supply-duct",
        "register",
        "house",
    ),
    "Gas and flame": ("gas-supply", "gas-valve", "igniter", "burner", "flame-rod"),
    "Venting and condensate": ("inducer", "pressure-switch", "vent", "drain"),
    "Electrical": ("power-supply", "thermostat", "zone-control", "control-board", "limit", "other-safety"),
}
"""Parts in the order in which air, gas, smoke and current meet them; others follow under a heading of their own."""
OTHER_PARTS = "Other parts"
FACT_HEADINGS = {
    "furnace": "Furnace",
    "fuel": "Fuel",
    "stages": "Stages",
    "zoning": "Zoning",
    "age": "Age at the first visit",
    "blower motor": "Blower motor",
    "cooling coil": "Cooling coil",
    "filter": "Filter",
    "elevation": "Elevation",
}


@dataclass(frozen=True, slots=True)
class Group:
    """Cases that have one thing in common, listed on a page of their own."""

    folder: str
    id: str
    title: str
    about: str
    records: tuple[Record, ...]

    def source(self, number: int = 1) -> str:
        """Source path of its page, or of a further page."""
        return f"{self.folder}/{self.id}.md" if number == 1 else f"{self.folder}/{self.id}-{number}.md"


def case_source(id_: str) -> str:
    """Source path of a case's page."""
    return f"cases/{id_}/index.md"


def library_pages(records: Iterable[Record], knowledge: Knowledge) -> dict[str, str]:
    """Every page across cases: source path -> Markdown."""
    write = _Writer(knowledge)
    newest = newest_first(records)
    pages = write.listing(Group("cases", "index", "All cases", "", tuple(newest)), "cases.md.j2")
    for folder, groups in (
        ("complaints", _by_complaint(newest, knowledge)),
        ("outcomes", _by_outcome(newest)),
        ("equipment", _by_equipment(newest)),
        ("parts", _by_part(newest, knowledge)),
    ):
        flat = [group for named in groups.values() for group in named]
        pages[f"{folder}/index.md"] = write.index(folder, groups)
        for group in flat:
            if folder == "complaints":
                way = entrance(group.id, newest, knowledge)
                pages |= write.listing(group, "complaint.md.j2", way=way)
            else:
                pages |= write.listing(group, "group.md.j2")
    pages["tallies/index.md"] = write.fill(
        "tallies.md.j2", "tallies/index.md", s=screen(newest, knowledge), bars=month_bars
    )
    pages["study/index.md"] = write.fill(
        "study.md.j2", "study/index.md", courses=study.courses(newest, knowledge), levels=study.LEVELS
    )
    beginnings = [
        (family, causes_of(family.id, knowledge)[:_USUAL], first_tests(family.id, knowledge))
        for family in knowledge.families.values()
    ]
    pages["find/index.md"] = write.fill(
        "find.md.j2", "find/index.md", beginnings=[(None, (), first_tests("", knowledge)), *beginnings]
    )
    pages[sheet.PAGE] = write.fill("sheet.md.j2", sheet.PAGE)
    pages["words/index.md"] = write.fill(
        "words.md.j2",
        "words/index.md",
        knowledge=knowledge,
        parts=tuple(knowledge.states.values()),
        rules=list(RULES.values()),
        example=example,
        plate=list(sheet.plate()),
        first=[
            (family, readings_first(id_, knowledge)[:_FIRST], findings_first(id_, knowledge)[:_FIRST])
            for id_, family in knowledge.families.items()
        ],
        grouped=_causes_by_part(knowledge),
    )
    pages[GUIDE] = resources.files("causebook.library").joinpath(f"templates/{GUIDE}").read_text(encoding="utf-8")
    return pages | write.causes(newest)


DOOR = '<div class="cb-door"></div>'
"""Where a page written by hand wants the entrance: the box, the complaints, the newest cases."""
NEWEST = 5


def with_door(page: str, source: str, records: Iterable[Record], knowledge: Knowledge) -> str:
    """A page (Markdown, at the source path `source`) with the entrance in the place it keeps for it."""
    if DOOR not in page:
        return page
    newest = newest_first(records)[:NEWEST]
    door = _Writer(knowledge).fill("door.md.j2", source, families=knowledge.families.values(), newest=newest)
    return page.replace(DOOR, door)


def month_bars(months: Sequence[tuple[str, Sequence[Record]]]) -> str:
    """Cases by month as bars (SVG), each with its number."""
    width, most = 36, max((len(of) for _, of in months), default=1)
    marks = []
    for n, (month, of) in enumerate(months):
        x, height = n * width, 48 * len(of) / most
        marks.append(
            f'<rect x="{x + 4}" y="{66 - height:.0f}" width="{width - 8}" height="{height:.0f}"/>'
            f'<text x="{x + width / 2:.0f}" y="{60 - height:.0f}">{len(of)}</text>'
            f'<text x="{x + width / 2:.0f}" y="80">{month[5:]}</text>'
            + (f'<text x="{x + width / 2:.0f}" y="93">{month[:4]}</text>' if n == 0 or month[5:] == "01" else "")
        )
    told = ", ".join(f"{month}: {len(of)}" for month, of in months)
    return (
        f'<svg class="cb-bars" width="{width * max(len(months), 1)}" height="96"'
        f' viewBox="0 0 {width * max(len(months), 1)} 96" role="img"'
        f' aria-label="Cases by month. {told}">{"".join(marks)}</svg>'
    )


def _causes_by_part(knowledge: Knowledge) -> dict[str, list[Cause]]:
    """The causes under the part they lie in; what is something else of a complaint stands last, under its complaint."""
    grouped: dict[str, list[Cause]] = {}
    for cause in sorted(knowledge.causes.values(), key=lambda cause: (cause.residual, cause.part)):
        heading = "Something else" if cause.residual else knowledge.components.get(cause.part, cause.part)
        grouped.setdefault(heading, []).append(cause)
    return grouped


def _by_complaint(records: Sequence[Record], knowledge: Knowledge) -> dict[str, list[Group]]:
    return {
        "": [
            Group("complaints", id_, family.name, family.complaint, tuple(r for r in records if id_ in r.families))
            for id_, family in knowledge.families.items()
        ]
    }


def _by_outcome(records: Sequence[Record]) -> dict[str, list[Group]]:
    words = dict.fromkeys(sorted(r.outcome for r in records))
    return {
        "": [
            Group(
                "outcomes",
                slug(word.replace(",", "")),
                word.capitalize(),
                "",
                tuple(r for r in records if r.outcome == word),
            )
            for word in words
        ]
    }


def _by_equipment(records: Sequence[Record]) -> dict[str, list[Group]]:
    groups = {}
    for fact, heading in FACT_HEADINGS.items():
        values = sorted({r.facts[fact] for r in records if fact in r.facts})
        if values:
            groups[heading] = [
                Group(
                    "equipment",
                    file_name(f"{fact} {value}"),
                    f"{heading}: {value}",
                    "",
                    tuple(r for r in records if r.facts.get(fact) == value),
                )
                for value in values
            ]
    return groups


def _by_part(records: Sequence[Record], knowledge: Knowledge) -> dict[str, list[Group]]:
    """The parts that causes name, by their ways; of each the cases that had a root there."""
    named = {cause.part for cause in knowledge.causes.values() if not cause.residual}
    placed = {part for parts in PART_HEADINGS.values() for part in parts}
    headings = PART_HEADINGS | {OTHER_PARTS: tuple(sorted(named - placed))}
    roots = {r.id: {knowledge.causes[root].part for root in r.roots if root in knowledge.causes} for r in records}
    return {
        heading: groups
        for heading, parts in headings.items()
        if (
            groups := [
                Group(
                    "parts",
                    part,
                    knowledge.components.get(part, part),
                    "",
                    tuple(r for r in records if part in roots[r.id]),
                )
                for part in parts
                if part in named
            ]
        )
    }


@cache
def _templates() -> jinja2.Environment:
    templates = jinja2.Environment(
        loader=jinja2.PackageLoader("causebook.library"),
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        autoescape=False,
    )  # Markdown, not HTML: case text passes `text` instead
    templates.filters |= {"text": prose.in_markdown, "chance": chance_word}
    templates.globals["case_source"] = case_source
    templates.globals["bound"] = bound
    return templates


def fill(template: str, source: str, **values: Any) -> str:
    """One page of a template as Markdown; in it, `to(path)` is the link from this page to another source file."""
    return _templates().get_template(template).render(to=linker(source), **values)


class _Writer:
    """Fills the templates; holds what all of them need."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge

    def fill(self, template: str, source: str, **values: Any) -> str:
        """One page as `fill` makes it, which can name causes and tell a case in a line."""
        return fill(
            template,
            source,
            cause_name=self._cause_name,
            cause_source=lambda id_: cause_source(self.knowledge.causes[id_]),
            case_line=lambda record: line_of(record, self.knowledge),
            **values,
        )

    def listing(self, group: Group, template: str, **values: Any) -> dict[str, str]:
        """The page of a group, and the further pages of a long one."""
        parts = [group.records[i : i + PER_PAGE] for i in range(0, len(group.records), PER_PAGE)] or [()]
        sources = [group.source(number) for number in range(1, len(parts) + 1)]
        return {
            source: self.fill(
                template,
                source,
                group=group,
                records=part,
                sources=sources,
                number=number,
                roots=self._roots(group.records),
                **values,
            )
            for number, (source, part) in enumerate(zip(sources, parts, strict=True), start=1)
        }

    def index(self, folder: str, groups: Mapping[str, Sequence[Group]]) -> str:
        """The page that leads to the groups of one kind."""
        at_part: dict[str, list[Cause]] = {}
        for cause in self.knowledge.causes.values():
            if not cause.residual:
                at_part.setdefault(cause.part, []).append(cause)
        return self.fill(
            f"{folder}.md.j2",
            f"{folder}/index.md",
            groups=groups,
            causes=at_part,
            roots={g.id: self._roots(g.records) for named in groups.values() for g in named},
        )

    def causes(self, records: Sequence[Record]) -> dict[str, str]:
        """The index of causes and a page for each."""
        listed = {
            id_: {role: tuple(r for r in records if id_ in r.roles.get(role.value, ())) for role in LISTED_ROLES}
            for id_ in self.knowledge.causes
        }
        sides: dict[str, list[Cause]] = {}
        residual = [cause for cause in self.knowledge.causes.values() if cause.residual]
        for cause in self.knowledge.causes.values():
            if not cause.residual:
                sides.setdefault(cause.side, []).append(cause)
        pages = {"causes/index.md": self.fill("causes.md.j2", "causes/index.md", sides=sides, listed=listed, Role=Role)}
        pages[SOMETHING_ELSE] = self.fill(
            "something-else.md.j2",
            SOMETHING_ELSE,
            causes=residual,
            knowledge=self.knowledge,
            shown={
                cause.id: {ROLE_HEADINGS[role]: of[:PER_PAGE] for role, of in listed[cause.id].items() if of}
                for cause in residual
            },
        )
        charts = cause_charts(self.knowledge)
        for id_, cause in self.knowledge.causes.items():
            if cause.residual:
                continue
            by_role = {ROLE_HEADINGS[role]: cases for role, cases in listed[id_].items() if cases}
            source = f"causes/{id_}.md"
            shown = {heading: cases[:PER_PAGE] for heading, cases in by_role.items()}
            pages[source] = self.fill(
                "cause.md.j2",
                source,
                cause=cause,
                knowledge=self.knowledge,
                shown=shown,
                by_role=by_role,
                tests=self._tests(cause),
                charts=charts.get(id_, ()),
                partings=partings(cause, self.knowledge),
            )
            for heading, cases in by_role.items():
                if len(cases) > PER_PAGE:
                    group = Group(
                        "causes",
                        f"{id_}-{slug(heading.replace(',', ''))}",
                        f"{cause.name}: {heading[0].lower()}{heading[1:]}",
                        "",
                        cases,
                    )
                    pages |= self.listing(group, "group.md.j2")
        return pages

    def _tests(self, cause: Cause) -> list[tuple[Any, list[str], bool]]:
        """Tests that speak about a cause: the test, the findings it yields, whether it can clear the cause."""
        tests = []
        for test in self.knowledge.tests.values():
            findings = [f for f in test.reveals if f in cause.links or f in cause.pushes_down]
            if findings or cause.id in test.clears:
                tests.append((test, findings, cause.id in test.clears))
        return sorted(tests, key=lambda t: (not t[2], -sum(cause.links.get(f, 0) for f in t[1]), t[0].minutes))[:6]

    def _cause_name(self, id_: str) -> str:
        return self.knowledge.causes[id_].name

    def _roots(self, records: Iterable[Record]) -> list[tuple[str, int]]:
        """Roots of these cases with their counts, most frequent first."""
        counts = Counter(root for r in records for root in r.roots)
        return sorted(counts.items(), key=lambda pair: (-pair[1], pair[0]))


def file_name(text: str) -> str:
    """A name for the page of something an author wrote: letters, digits and hyphens, whatever the text holds.

    What that leaves out, a digest stands for, so that two texts never share a page.
    """
    words = re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")
    if slug(text) == words and len(words) <= 60:
        return words
    return f"{words[:50].strip('-')}-{hashlib.sha256(text.encode()).hexdigest()[:8]}"


def chance_word(chance: float) -> str:
    """A chance in a word."""
    return next(word for least, word in CHANCE_WORDS if chance >= least)


def linker(source: str) -> Callable[[str], str]:
    """From a page's source path, the relative path to another source file."""
    here = posixpath.dirname(source)
    return lambda target: posixpath.relpath(target, here or ".")
