"""The customer copy: fixed or not, what was wrong, what was done, what is open, what to watch; on one sheet."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from markupsafe import Markup, escape

from causebook import quantity as qty
from causebook.casefile.model import Outcome
from causebook.workup import Workup
from causebook.writeup import prose, words
from causebook.writeup.answer import NO, NOT_PROVEN, REPLACED, Answer, Moved, answer
from causebook.writeup.document import Page, render, sections
from causebook.writeup.photos import Picture

TITLE = "Your heating: what we found"
FIXED, NOT_YET, OFF = "Fixed.", "Not fixed yet.", "Off, do not use."
_HELP = "If a CO alarm sounds, anyone feels ill, or you smell gas: leave the house and call for help from outside."


def customer_page(workup: Workup, pictures: Sequence[Picture] = (), photo_base: str = "photos/") -> Page:
    """The customer copy of one case: a page without the library around it, that prints on one sheet."""
    meta = {
        "template": "customer.html",
        "description": "What was found and done, in plain words.",
        "search": {"exclude": True},
        "causebook": {"page": "customer", "case": workup.case.id, "stop": any(s.open for s in workup.stops)},
    }
    parts = sections(customer_sections(workup, pictures, photo_base))
    first = render("customer_status", status=status(workup, answer(workup)))
    return Page(TITLE, meta, f"# {TITLE}\n\n{first}\n\n{parts}\n")


def customer_sections(
    workup: Workup, pictures: Sequence[Picture] = (), photo_base: str = "photos/"
) -> tuple[tuple[str, str], ...]:
    """Heading and body of each part below the first line, in order."""
    given, file = answer(workup), workup.case.file
    done = prose.block(file.customer) if file.customer else Markup("<p>{}</p>").format(_found(workup, given))
    open_ = list(_open(workup))
    return (
        (
            "What you noticed",
            render("customer_text", body=Markup("<p>“{}”</p>").format(prose.inline(file.complaint.words))),
        ),
        (
            "What was wrong and what we did",
            render(
                "customer_done",
                body=done,
                lines=list(_proof(workup, given)),
                pictures=_pair(pictures),
                photo_base=photo_base,
            ),
        ),
        ("Still open", render("customer_list", lines=open_) if open_ else ""),
        (
            "What to watch",
            render("customer_do", lines=list(_do(workup)), help=_HELP, company=file.company, date=file.visits[-1].date),
        ),
    )


def status(workup: Workup, given: Answer) -> tuple[str, str]:
    """The first line: fixed, not fixed yet, or off; and one sentence more."""
    short, gone = given.may_run[0], workup.repair.gone
    if short == REPLACED:
        return FIXED, "Your old furnace was shut down for safety and stays off. The new one runs."
    if short == NO:
        notices = " ".join(dict.fromkeys(s.notice for s in workup.stops if s.open))
        return OFF, notices or "Leave it off until we tell you in writing."
    if given.outcome in (Outcome.CORRECTED, Outcome.FIRST_WRONG) and gone:
        first = "Our first answer was wrong. " if given.outcome is Outcome.FIRST_WRONG else ""
        stopped = "It was out of service for a time; that has ended. " if workup.stops else ""
        return FIXED, f"{first}{stopped}We repaired it and measured it again."
    if given.outcome in (Outcome.CORRECTED, Outcome.FIRST_WRONG):
        return NOT_YET, "We worked on it. Our readings do not show yet that the fault is gone."
    if short == NOT_PROVEN:
        return NOT_YET, "We have not proven the cause yet. If it shuts off again, leave it off and call us."
    return NOT_YET, "We know the cause. The repair is still to be done. You may use it until then."


def _measured(workup: Workup) -> bool:
    """Was anything read or looked at, before or after?"""
    return any(step.readings or step.seen or step.log for step in workup.case.steps)


def _found(workup: Workup, given: Answer) -> str:
    if not _measured(workup):
        changed = dict.fromkeys(part for step in workup.case.steps for part in step.step.changed)
        did = f"We worked on: {words.listed(changed)}. " if changed else ""
        return f"{did}Nothing was measured on this visit, so the cause is not proven."
    if not given.roots:
        return "We measured what we could. The cause is not proven yet."
    root = f"The cause: {words.listed(r.name for r in given.roots)}."
    return f"{root} It was made worse by: {words.listed(h.name for h in given.helpers)}." if given.helpers else root


def _pair(pictures: Sequence[Picture]) -> tuple[Picture, ...]:
    """The first two pictures that show before and after; none where no two do."""
    for one in pictures:
        mates = tuple(p for p in pictures if p.photo.pair and p.photo.pair == one.photo.pair)
        if len(mates) == 2:
            return mates
    return ()


def _proof(workup: Workup, given: Answer) -> Iterator[Markup]:
    for moved in given.moved:
        if moved.before and moved.after and moved.kind is qty.TEMPERATURE_DIFFERENCE:
            yield _warming(moved)
        elif moved.before and moved.after and moved.kind is qty.AIRFLOW:
            before, after = (qty.us(e.value, moved.kind) for e in (moved.before, moved.after))
            # A difference within what the methods may err by tells a customer nothing.
            if abs(after - before) > 2 * math.hypot(*(qty.us(e.sd, moved.kind) for e in (moved.before, moved.after))):
                change = round(100 * (after / before - 1))
                yield escape(f"{abs(change)} % {'more' if change > 0 else 'less'} air moves through it than before.")
    found = [log for log in workup.survey.logs if log.phase == "found" and log.trips]
    after_repair = [log for log in workup.survey.logs if log.phase == "after"]
    if found and after_repair and not any(log.trips for log in after_repair):
        yield escape("Before, the flame shut off while we watched. Now it burns without a break.")


def _warming(moved: Moved) -> Markup:
    before, after = (f"{qty.us(e.value, moved.kind):.0f} °F" for e in (moved.before, moved.after) if e)
    line = f"The furnace now warms the air by {after}; before, by {before}."
    if moved.low is None or moved.high is None:
        return escape(line)
    low, high = (round(qty.us(v, moved.kind)) for v in (moved.low, moved.high))
    return escape(f"{line} The manufacturer allows {low} to {high} °F.")


def _open(workup: Workup) -> Iterator[str]:
    file = workup.case.file
    for left in file.visits[-1].open:
        yield prose.inline(left)
    if not _measured(workup):
        yield "If the trouble comes back, we will measure to find the cause."
    elif not workup.verdict.answered and workup.verdict.next_tests:
        test = workup.verdict.next_tests[0]
        yield f"We will come back for one more test: {words.within(test.name)}. We will call you with the day."
    for seen in file.follow_up:
        yield Markup("We checked back after {}: {}").format(words.span_of_time(seen.after), prose.inline(seen.found))


def _do(workup: Workup) -> Iterator[str]:
    if any(s.open for s in workup.stops):
        yield "Leave it off, and keep warm safely: never an oven, a grill or an unvented burner."
    yield "Change or clean the filter when it is due."
    yield "Keep registers and return grilles clear."
    yield "Call us if the trouble comes back."
