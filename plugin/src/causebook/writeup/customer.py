"""What a customer is told: plain words, two or three numbers, no ids and no instrument talk."""

from __future__ import annotations

import math
from collections.abc import Iterator

from markupsafe import Markup, escape

from causebook import quantity as qty
from causebook.casefile.model import Outcome
from causebook.workup import Workup
from causebook.writeup import prose, words
from causebook.writeup.answer import Answer, Moved, answer, still_out_of_use
from causebook.writeup.document import render

TITLE = "Your heating: what we found"
_FURTHER = "Follow what your technician told you about using it."
_HELP = (
    "If an alarm for carbon monoxide sounds, anyone feels ill, or you smell gas: leave the house and call for "
    "help from outside."
)
_SAFE = {
    Outcome.CORRECTED: "It was put right and measured again. When we left, {nothing} we know of spoke against "
    "using it.",
    Outcome.FIRST_WRONG: "Our first answer was wrong. The true fault was then put right and measured again. When we "
    "left, {nothing} we know of spoke against using it.",
    Outcome.NOT_CORRECTED: f"We know the fault, and it is not yet put right. {_FURTHER}",
    Outcome.LIKELY: f"We believe we know the fault, and watch whether it stays away. {_FURTHER}",
    Outcome.UNDETERMINED: f"We have not yet found the fault for certain. {_FURTHER}",
    Outcome.STOPPED: "It was taken out of service for safety. Please leave it off until we tell you in writing.",
}
_GOES_ON = f"Work was done on it, and what we found afterwards is not yet right. {_FURTHER}"
_UNSHOWN = f"Work was done on it, and nothing written here shows yet that the fault is gone. {_FURTHER}"


def customer_sections(workup: Workup) -> tuple[tuple[str, str], ...]:
    """Heading and body of each part of the customer's page, in order."""
    given, file = answer(workup), workup.case.file
    proof = list(_proof(workup, given))
    next_ = list(_next(workup))
    found = prose.block(file.customer) if file.customer else Markup("<p>{}</p>").format(_found(workup, given))
    return (
        ("Please do not use it", render("customer_stop", stops=[s for s in workup.stops if s.open], help=_HELP)),
        ("What you noticed", render("customer_noticed", words_of_customer=file.complaint.words)),
        ("What we found and did", render("customer_text", body=found)),
        ("Is it safe?", render("customer_text", body=Markup("<p>{}</p>").format(_safe(workup, given)))),
        ("How we know", render("customer_proof", lines=proof) if proof else ""),
        ("What comes next", render("customer_list", lines=next_) if next_ else ""),
        (
            "What you can do",
            render("customer_do", lines=list(_do(workup)), help=_HELP, company=file.company, date=file.visits[-1].date),
        ),
    )


def _safe(workup: Workup, given: Answer) -> str:
    if any(s.open for s in workup.stops) or still_out_of_use(workup):
        return _SAFE[Outcome.STOPPED]
    if given.outcome in (Outcome.CORRECTED, Outcome.FIRST_WRONG) and not workup.repair.gone:
        safe = _GOES_ON if workup.repair.goes_on else _UNSHOWN
        return f"{safe} {_beyond(len(given.beyond))}".rstrip()
    safe = _SAFE[given.outcome].format(nothing="nothing else" if given.beyond else "nothing")
    ended = " ".join(dict.fromkeys(words.sentence(s.closed_by) for s in workup.stops if s.closed_by))
    if ended and given.outcome is Outcome.STOPPED:
        safe = f"It was not, and so it was taken out of service. What has been done since: {ended}"
    elif ended:
        safe = f"It was out of service for a time. That has ended: {ended} {safe}"
    return f"{safe} {_beyond(len(given.beyond))}".rstrip()


def _beyond(count: int) -> str:
    """That readings are still beyond what the maker allows; empty where none is."""
    if not count:
        return ""
    what = "One reading is" if count == 1 else f"{count} readings are"
    return f"{what} still beyond the maker's figure. Please ask us about it."


def _measured(workup: Workup) -> bool:
    """Was anything read or looked at, before or after?"""
    return any(step.readings or step.seen or step.log for step in workup.case.steps)


def _found(workup: Workup, given: Answer) -> str:
    if not _measured(workup):
        changed = dict.fromkeys(part for step in workup.case.steps for part in step.step.changed)
        did = f"We worked on: {words.listed(changed)}. " if changed else ""
        return f"{did}Nothing was measured on this visit, so the cause is not proven."
    if not given.roots:
        return "We measured what could be measured and have not yet found the cause for certain."
    root = f"The cause: {words.listed(r.name for r in given.roots)}."
    return f"{root} It was made worse by: {words.listed(h.name for h in given.helpers)}." if given.helpers else root


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
        yield escape("Before, the flame was shut off while we watched. Afterwards it burned without a break.")


def _warming(moved: Moved) -> Markup:
    before, after = (_degrees(qty.us(e.value, moved.kind)) for e in (moved.before, moved.after) if e)
    line = Markup("The furnace now warms the air by {}; before, by {}.").format(after, before)
    if moved.low is None or moved.high is None:
        return line
    low, high = (round(qty.us(v, moved.kind)) for v in (moved.low, moved.high))
    allowed = words.spans(f"{low} to {high} °F", f"{low / 1.8:.0f} to {high / 1.8:.0f} °C")
    return Markup("{} The maker allows {}.").format(line, allowed)


def _degrees(difference: float) -> Markup:
    return words.spans(f"{difference:.0f} °F", f"{difference / 1.8:.0f} °C")


def _next(workup: Workup) -> Iterator[str]:
    file = workup.case.file
    if not _measured(workup):
        yield "If the trouble comes back, we will measure to find the cause."
    elif not workup.verdict.answered and workup.verdict.next_tests:
        yield "We would like to come back for a further test, to be certain of the cause."
    if left := len(file.visits[-1].open):
        what = "One thing is" if left == 1 else f"{left} things are"
        yield f"{what} left to do or to watch. Please ask us to go through it with you."
    for seen in file.follow_up:
        yield f"We asked or looked again {words.span_of_time(seen.after)} after the repair."


def _do(workup: Workup) -> Iterator[str]:
    if any(s.open for s in workup.stops):
        yield "Leave it off, and keep warm in a safe way: no oven, grill or burner without a flue."
    yield "Change or clean the filter when it is due."
    yield "Keep the openings for air in your rooms free."
    yield "Call us if the trouble comes back."
