"""A case as it was written down, for when the program fails on it: nothing computed, nothing lost.

What was read and seen stands there step by step.  Nothing was judged, so nothing on it clears anything, and it says
so first; notices that had been worked out before the failure stand above all else.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from markupsafe import Markup, escape

from causebook import quantity as qty
from causebook.belief.verdict import StopNotice
from causebook.casefile.model import Case, CaseStep
from causebook.knowledge.model import Knowledge
from causebook.quantity import KINDS
from causebook.writeup import prose
from causebook.writeup.document import Page

NOT_JUDGED = (
    "The program could not work this case up. It judged no reading and checked no stop-use notice. That no notice "
    "stands here clears nothing: judge the readings yourself."
)
CUSTOMER = "This page could not be written. Please ask your technician what was found, and whether it may be used."
LEAVE_OFF = "Leave the heating off until your technician tells you in writing that it may run."


def bare_page(case: Case, knowledge: Knowledge, stops: Sequence[StopNotice] = ()) -> Page:
    """The page of a case that could not be worked up or written up: its own words, readings and looks."""
    title = prose.plain(case.file.title)
    meta = {
        "description": "Could not be worked up.",
        "causebook": {"page": "case", "case": case.id, "stop": bool(stops)},
    }
    parts = [
        f"# {prose.in_markdown(title)}",
        *bare_notices(stops),
        _block(Markup('<p class="cb-failed"><strong>{}</strong></p>').format(NOT_JUDGED)),
        _block(Markup("<p>{}</p>").format(prose.plain(case.file.complaint.words))),
    ]
    for step in case.steps:
        parts += [f"### Step {step.number} · {prose.in_markdown(prose.plain(step.step.do))}", _step(step, knowledge)]
    return Page(title, meta, "\n\n".join(filter(None, parts)) + "\n")


def bare_customer_page(case: Case, title: str, stops: Sequence[StopNotice] = ()) -> Page:
    """The customer's page of such a case: whom to ask, and where a notice is open, to leave it off."""
    said = [CUSTOMER, *([LEAVE_OFF] if stops else [])]
    meta = {
        "template": "customer.html",
        "description": title,
        "causebook": {"page": "customer", "case": case.id, "stop": bool(stops)},
    }
    return Page(title, meta, "\n\n".join((f"# {title}", *(_block(Markup("<p>{}</p>").format(s)) for s in said))) + "\n")


def bare_notices(stops: Sequence[StopNotice]) -> Iterator[str]:
    """The open notices, without a template."""
    if stops:
        yield "## Stop-use notice"
    for stop in stops:
        yield _block(
            Markup('<div class="cb-stop cb-stop-open">\n<p><strong>Out of service: {}</strong></p>\n<p>{}</p>\n'
                   "<p>{}</p>\n</div>").format(stop.name, stop.notice, stop.do)
        )  # fmt: skip


def _step(step: CaseStep, knowledge: Knowledge) -> str:
    lines = [prose.plain(step.step.told)] if step.step.told else []
    for taken in step.readings:
        known = knowledge.readings[taken.reading]
        void = f" (does not count: {prose.plain(taken.void)})" if taken.void else ""
        lines.append(f"{known.name}: {qty.show(taken.value, KINDS[known.kind])}{void}")
    for id_, said in step.seen.items():
        known_finding = knowledge.findings.get(id_)
        lines.append(f"{known_finding.name if known_finding else id_}: {said}")
    items = Markup("").join(Markup("<li>{}</li>\n").format(line) for line in lines)
    return _block(Markup('<ul class="cb-tight">\n{}</ul>').format(items)) if lines else ""


def _block(html: Markup) -> str:
    return prose.in_html_block(escape(html))
