"""A search in words: what somebody types after `causebook find`, and the answer as text."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping, Sequence

from causebook import quantity as qty
from causebook.knowledge import sentences
from causebook.knowledge.model import Knowledge, slug
from causebook.library.beginning import Fit
from causebook.library.find import Apart, Found, Query
from causebook.library.like import OTHER_ROOT, compared
from causebook.library.likeness import Neighbor
from causebook.library.record import Record
from causebook.library.stopping import Way
from causebook.library.typed import asks, wrong
from causebook.library.typed import lines as lines_of
from causebook.writeup import prose

_READING = re.compile(r"\s*(?P<name>[^\d+−]*[^\d+−\s-])\s+(?P<value>[-+−]?\s*[\d.].*)")


class NotUnderstood(ValueError):
    """Something typed that means nothing here; says what would."""


def query(
    complaint: str, read: Sequence[str], seen: Sequence[str], facts: Sequence[str], knowledge: Knowledge
) -> Query:
    """The search meant by these words; NotUnderstood for the first that is unknown, has no unit or cannot be."""
    typed = dict(_typed(text, knowledge) for text in read)
    for reason in wrong(typed, knowledge).values():
        raise NotUnderstood(f"--read: {reason}")
    return Query(
        _known(complaint, knowledge.families, "complaint", knowledge) if complaint else "",
        dict(_seen(text, knowledge) for text in seen),
        typed,
        dict(_fact(text) for text in facts),
    )


def _typed(text: str, knowledge: Knowledge) -> tuple[str, float]:
    found = _READING.fullmatch(text)
    if not found:
        raise NotUnderstood(f"--read {text!r}: write a reading and its value with a unit, such as 'rise 78 degF'")
    may = {ask.id: ask for ask in asks(knowledge)}
    ask = may[_known(found["name"], may, "reading", knowledge)]
    try:
        return ask.id, qty.si(
            qty.parse(found["value"].replace(" ", "", 1) if found["value"][0] in "-+−" else found["value"], ask.kind),
            ask.kind,
        )
    except qty.QuantityError as wrong:
        raise NotUnderstood(f"--read {text!r}: {wrong}") from None


def _seen(text: str, knowledge: Knowledge) -> tuple[str, bool]:
    name, _, answer = text.partition("=")
    if answer not in ("", "yes", "no"):
        raise NotUnderstood(f"--seen {text!r}: after = stands yes or no")
    return _known(name, knowledge.findings, "finding", knowledge), answer != "no"


def _fact(text: str) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not equals:
        raise NotUnderstood(f"--fact {text!r}: write name=value, such as fuel=propane")
    return name.strip(), value.strip()


def _known(text: str, among: Mapping[str, object], what: str, knowledge: Knowledge) -> str:
    for id_ in (slug(text), knowledge.resolve(text), *knowledge.meters.get(slug(text), ())):
        if id_ in among:
            return id_
    near = difflib.get_close_matches(slug(text), among, n=3)
    raise NotUnderstood(
        f"{text!r} is no {what} that can be searched for" + (f"; meant {' or '.join(near)}?" if near else "")
    )


def as_text(found: Found, cases: int, knowledge: Knowledge) -> str:
    """The answer for a terminal, the stops first."""
    lines = [line for id_, way in found.stops.items() for line in _stop(id_, way, knowledge)]
    lines += [f"WARNING: {one.says}" for one in found.beyond] + [f"{one.says}." for one in found.contradicts]
    lines += [f"{sentence}. Read the plate." for sentence in plates_told(found, knowledge)]
    if any(knowledge.stops[id_].leave for id_ in found.stops):
        return "\n".join([*lines, "Get everybody out first. Nothing else is proposed until then."]) + "\n"
    if not found.like:
        lines += [f"None of the {cases} cases is like that. Causes that fit best:", ""]
        lines += [f"- {fit.cause.name}" + _told_by(fit, knowledge) for fit in found.fits]
        lines += ["", "Do first what the notice says." if found.stops else "Read these first:", ""]
        lines += [f"- {test.name} ({test.minutes:g} min). {test.how}".rstrip() for test in found.first]
        return "\n".join(lines).rstrip() + "\n"
    said = [sentences.said(knowledge.findings[f], present) for f, present in found.findings.items()]
    lines += ["What is known:", "", *(f"- {one}." for one in said or ["The complaint and the equipment"])]
    lines += ["", f"The nearest of {cases} cases:", ""]
    lines += [line for n in found.like for line in _case(n, n == found.other_root, knowledge)]
    if found.other_root and found.other_root not in found.like:
        lines += [f"{OTHER_ROOT}:", "", *_case(found.other_root, False, knowledge)]
    if found.apart:
        lines += ["Check this next. It tells the two nearest cases with different causes apart:", ""]
        lines += [_apart(a, knowledge) for a in found.apart]
    return "\n".join(lines).rstrip() + "\n"


def plates_told(found: Found, knowledge: Knowledge) -> list[str]:
    """What is said of the usual plates on which findings were decided."""
    decided = [
        line.terms for line in lines_of(knowledge) if line.finding in found.assumed and found.findings[line.finding]
    ]
    return [plate.says for plate in found.plates if any(plate.ask in terms for terms in decided)]


def _told_by(fit: Fit, knowledge: Knowledge) -> str:
    return f". Look for: {knowledge.findings[fit.tells].name}" if fit.tells else ""


def _stop(id_: str, way: Way, knowledge: Knowledge) -> list[str]:
    stop = knowledge.stops[id_]
    because = knowledge.findings[way.finding].name if way.finding else knowledge.readings[way.reading].name
    technician = [f"  technician: {stop.technician}"] if stop.technician else []
    out = stop.way_on
    return [
        f"STOP USE: {stop.name}.",
        f"  because: {because}",
        f"  do: {stop.do}",
        *technician,
        f"  confirm: {out.confirm}",
        f"  meanwhile: {out.meanwhile}",
        f"  ends: {out.ends}",
        "",
    ]


def _case(neighbor: Neighbor, other_root: bool, knowledge: Knowledge) -> list[str]:
    record = neighbor.record
    said = [
        f"{record.id}: {prose.plain(record.title)} ({neighbor.word})",
        f"  cause: {_roots(record, knowledge)}; {record.outcome}",
    ]
    said += [f"  {OTHER_ROOT.lower()}"] if other_root else []
    said += [f"  {label.lower()}: {'; '.join(names[:4])}" for label, names in compared(neighbor, "yours", knowledge)]
    return [*said, ""]


def _roots(record: Record, knowledge: Knowledge) -> str:
    return ", ".join(knowledge.causes[r].name for r in record.roots if r in knowledge.causes) or "not proven"


def _apart(apart: Apart, knowledge: Knowledge) -> str:
    finding = knowledge.findings[apart.finding]
    how = f" {finding.how}." if finding.how else ""
    return f"- {finding.name} ({finding.minutes:g} min).{how} If so, more like {apart.speaks_for}."
