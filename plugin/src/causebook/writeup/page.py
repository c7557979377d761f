"""A workup as pages: the worked case in its first screen and its story, and the proof behind it.

A page is a Markdown document: headings and links to other pages in Markdown, so that the site's table of contents
and its link checks work; everything else blocks of HTML from the templates.  Charts are placeholders that the
site fills after Markdown has run.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from causebook.problems import Fence
from causebook.workup import Workup
from causebook.writeup import prose, words
from causebook.writeup.answer import answer
from causebook.writeup.bare import bare_notices
from causebook.writeup.charts.model import Chart, Missing
from causebook.writeup.document import Page, render, sections
from causebook.writeup.first import OTHER_CASE, same_check, stop_line, verdict_line
from causebook.writeup.photos import Picture
from causebook.writeup.sections import PROOF, STORY, Sources
from causebook.writeup.steps import step_views


@dataclass(frozen=True, slots=True)
class Beside:
    """Markdown link targets of the pages beside a case's own; empty for none."""

    proof: str = ""
    work: str = ""
    customer: str = ""
    cautions: str = ""


def case_page(
    workup: Workup,
    *,
    charts: Iterable[Chart | Missing] = (),
    pictures: Sequence[Picture] = (),
    photo_base: str = "photos/",
    beside: Beside | None = None,
    fence: Fence | None = None,
) -> Page:
    """The page of one worked case: its first screen, then the story.

    `charts` appear as placeholders `<div class="cb-chart" data-chart="ID">` with their sentence and data;
    `pictures` come from `photos.publish` and are linked below `photo_base`.  A section that fails says so in its
    place, and its fault is left with `fence`.
    """
    fence = fence or Fence(workup.case.path)
    sources = _sources(workup, charts, pictures, photo_base, fence)
    beside = beside or Beside()
    notices = "\n\n".join(bare_notices([s for s in workup.stops if s.open]))
    file = workup.case.file
    title = prose.plain(file.title)
    body = (
        f"# {prose.in_markdown(title)}",
        fence.keep("writing the first screen", lambda: _first(sources), f"{notices}\n\n{render('failed')}"),
        notices if workup.case.steps and not sources.views else "",
        _links(
            ("The proof", beside.proof),
            ("Work this call", beside.work),
            ("Customer copy", beside.customer),
            ("Cautions", beside.cautions),
        ),
        sections(_written(STORY, sources, fence)),
        render("end"),
    )
    return Page(title, _meta(sources, "case"), "\n\n".join(filter(None, body)) + "\n")


def proof_page(
    workup: Workup, *, charts: Iterable[Chart | Missing] = (), case: str = "", fence: Fence | None = None
) -> Page:
    """The proof of a case: weights, findings, what each suspect would have read, sizing, worked numbers."""
    fence = fence or Fence(workup.case.path)
    sources = _sources(workup, charts, (), "", fence)
    title = f"Proof: {prose.plain(workup.case.file.title)}"
    body = (
        f"# {prose.in_markdown(title)}",
        '<div class="cb-proofs"></div>',
        _links(("Back to the case", case)),
        sections(_written(PROOF, sources, fence)),
        render("end"),
    )
    return Page(title, _meta(sources, "proof"), "\n\n".join(filter(None, body)) + "\n")


def _written(
    parts: Iterable[tuple[str, Callable[[Sources], str]]], sources: Sources, fence: Fence
) -> Iterator[tuple[str, str]]:
    """Heading and body of each section; one that fails says so."""
    for heading, section in parts:
        yield heading, fence.keep(f"writing {heading!r}", functools.partial(section, sources), render("failed"))


def _sources(
    workup: Workup, charts: Iterable[Chart | Missing], pictures: Sequence[Picture], photo_base: str, fence: Fence
) -> Sources:
    charts = tuple(charts)
    return Sources(
        workup=workup,
        given=answer(workup),
        views=fence.keep("writing the steps", lambda: step_views(workup, pictures), ()),
        charts=tuple(c for c in charts if isinstance(c, Chart)),
        missing=tuple(c for c in charts if isinstance(c, Missing)),
        photo_base=photo_base,
    )


def _meta(sources: Sources, page: str) -> dict[str, object]:
    workup = sources.workup
    file = workup.case.file
    return {
        "description": _description(sources),
        "causebook": {
            "page": page,
            "case": workup.case.id,
            "outcome": sources.given.outcome.value,
            "family": workup.knowledge.resolve(file.complaint.family),
            "date": file.visits[-1].date.isoformat(),
            "stop": any(s.open for s in workup.stops),
        },
    }


def _description(sources: Sources) -> str:
    verdict = verdict_line(sources.given, sources.workup.verdict.answered)
    return f"{words.sentence(prose.plain(sources.workup.case.file.complaint.words))} {words.sentence(verdict)}"


def _first(sources: Sources) -> str:
    """The first screen, in Markdown, so that the link to the other case is checked like any other."""
    lines = list(_first_lines(sources))
    return '<div class="cb-first" markdown>\n\n' + "\n\n".join(lines) + "\n\n</div>"


def _first_lines(sources: Sources) -> Iterator[str]:
    workup, given = sources.workup, sources.given
    stop = stop_line(workup)
    if stop:
        open_ = any(s.open for s in workup.stops)
        shape = "cb-stop-open" if open_ else "cb-stop-closed"
        yield render("first_stop", line=stop, shape=shape)
    yield render("first_verdict", given=given, verdict=verdict_line(given, workup.verdict.answered))
    same = same_check(workup, given)
    known = workup.knowledge.stops
    burning = [s for s in workup.stops if s.id not in known or "burner" in known[s.id].forbids]
    if burning:
        yield render("first_unsafe", stop=burning[-1])
    elif same is not None:
        told = render("first_same", same=same).replace("\n", " ")
        yield f"{told} {OTHER_CASE}"
    if given.differs:
        yield render("first_differs", given=given)
    if given.did_it:
        yield render("first_did_it", given=given)
    yield render("first_fix", workup=workup, given=given)


def _links(*links: tuple[str, str]) -> str:
    """The ways on, as one line of Markdown links."""
    return " · ".join(f"[{words_}]({target})" for words_, target in links if target)
