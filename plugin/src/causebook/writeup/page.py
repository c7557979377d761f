"""A workup as pages: the worked case, which unfolds for colleague and apprentice, and the customer's own page.

A page is a Markdown document: headings and links to other pages in Markdown, so that the site's table of contents
and its link checks work; everything else blocks of HTML from the templates.  Charts are placeholders that the
site fills after Markdown has run.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable, Iterator, Sequence

from markdown.extensions.toc import slugify

from causebook.problems import Fence
from causebook.workup import Workup
from causebook.writeup import prose, words
from causebook.writeup.answer import answer
from causebook.writeup.bare import bare_notices
from causebook.writeup.charts.model import Chart, Missing
from causebook.writeup.customer import TITLE, customer_sections
from causebook.writeup.document import Page, render, sections
from causebook.writeup.photos import Picture
from causebook.writeup.sections import SECTIONS, Sources, print_answers
from causebook.writeup.steps import step_views


def case_page(
    workup: Workup,
    *,
    charts: Iterable[Chart | Missing] = (),
    pictures: Sequence[Picture] = (),
    photo_base: str = "photos/",
    customer: str = "",
    fence: Fence | None = None,
) -> Page:
    """The page of one worked case.

    `charts` appear as placeholders `<div class="cb-chart" data-chart="ID">` with their sentence and data;
    `pictures` come from `photos.publish` and are linked below `photo_base`; `customer` is the Markdown link target
    of the customer's page, empty for none.  A section that fails says so in its place, and its fault is left with
    `fence`.
    """
    charts, fence = tuple(charts), fence or Fence(workup.case.path)
    sources = Sources(
        workup=workup,
        given=answer(workup),
        views=fence.keep("writing the steps", lambda: step_views(workup, pictures), ()),
        charts=tuple(c for c in charts if isinstance(c, Chart)),
        missing=tuple(c for c in charts if isinstance(c, Missing)),
        photo_base=photo_base,
    )
    file = workup.case.file
    title = prose.plain(file.title)
    first, *rest = (
        (heading, fence.keep(f"writing {heading!r}", functools.partial(section, sources), render("failed")))
        for heading, section in SECTIONS
    )
    open_ = [s for s in workup.stops if s.open]
    body = (
        f"# {prose.in_markdown(title)}",
        *fence.keep("writing the notices", lambda: list(_stops(workup)), list(bare_notices(open_))),
        render("study"),
        sections([first]),
        render("contents", headings={slugify(heading, "-"): heading for heading, section in rest if section}),
        *fence.keep("writing the cautions", lambda: list(_general(workup, customer)), [render("failed")]),
        sections(rest),
        fence.keep("writing the answers for print", lambda: print_answers(sources), ""),
        render("end"),
    )
    meta = {
        "description": _description(sources),
        "causebook": {
            "page": "case",
            "case": workup.case.id,
            "outcome": sources.given.outcome.value,
            "family": workup.knowledge.resolve(file.complaint.family),
            "date": file.visits[-1].date.isoformat(),
            "stop": bool(open_),
        },
    }
    return Page(title, meta, "\n\n".join(filter(None, body)) + "\n")


def customer_page(workup: Workup) -> Page:
    """The customer's page: what was noticed, found and done, whether it is safe, and what comes next."""
    meta = {
        "description": "What was found and done, in plain words.",
        "causebook": {"page": "customer", "case": workup.case.id, "stop": any(s.open for s in workup.stops)},
    }
    return Page(TITLE, meta, f"# {TITLE}\n\n{sections(customer_sections(workup))}\n")


def _description(sources: Sources) -> str:
    roots = sources.given.roots
    root = f"Root: {words.listed(r.name for r in roots)}." if roots else "Root not determined."
    return f"{words.sentence(prose.plain(sources.workup.case.file.complaint.words))} {root}"


def _stops(workup: Workup) -> Iterator[str]:
    """What stands before all else: open notices in full, closed ones by name."""
    open_, closed = [s for s in workup.stops if s.open], [s for s in workup.stops if not s.open]
    if open_:
        yield "## Stop-use notice"
        yield render("stop", stops=open_)
    if closed:
        yield "## Stop-use notice, closed"
        yield render("stops_closed", stops=closed, closed_by="; ".join(dict.fromkeys(s.closed_by for s in closed)))


def _general(workup: Workup, customer: str) -> Iterator[str]:
    """What stands right below the answer: closed notices, whom the page is for, the way to the customer's page."""
    closed = [s for s in workup.stops if not s.open]
    if closed:
        yield '<div class="cb-anchor" id="cb-stops-closed"></div>'
        yield render("stop", stops=closed)
    for caution in workup.cautions:
        if not caution.step:
            yield render("caution", caution=caution)
    if customer:
        yield f"[The same for the customer, in plain words]({customer})"
