"""The reasoning of a case for a terminal, step by step, as an apprentice would want to hear it."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from causebook import quantity as qty
from causebook.belief.verdict import CauseBelief, StopNotice, WhatIf
from causebook.sizing.model import Option
from causebook.workup import Workup
from causebook.writeup import prose, words
from causebook.writeup.answer import Answer, Moved, answer, by_role, role_word
from causebook.writeup.steps import Shift, StepView, step_views

WIDTH = 90
_LABEL = 14
_END = (
    "Plate, the manufacturer's instructions, local code and license come first. Whether the appliance may run is "
    "decided by the licensed person on site."
)


def as_text(workup: Workup) -> str:
    """One workup as plain text of 90 columns: stops, steps, answer, roles, what-ifs, options, next tests."""
    given = answer(workup)
    sections = (
        _head(workup),
        _notices(workup.stops),
        _steps(workup),
        _answer(workup, given),
        _roles(workup),
        _what_ifs(workup),
        _options(workup),
        _after(workup),
        _next(workup),
        _problems(workup),
        _wrap(_END),
    )
    return "\n\n".join(filter(None, ("\n".join(lines) for lines in sections))) + "\n"


def _wrap(text: str, indent: int = 0, first: str = "") -> list[str]:
    pad = " " * indent
    return textwrap.wrap(text, WIDTH, initial_indent=first or pad, subsequent_indent=pad, break_long_words=True) or [
        first.rstrip()
    ]


def _labelled(label: str, text: str, indent: int = 2) -> list[str]:
    return _wrap(text, indent + _LABEL, " " * indent + f"{label:<{_LABEL}}")


def _titled(title: str, lines: list[str]) -> list[str]:
    return [title.upper(), *lines] if lines else []


def _head(workup: Workup) -> list[str]:
    return [
        *_wrap(prose.plain(workup.case.file.title)),
        "=" * WIDTH,
        *_wrap(f'"{prose.plain(workup.case.file.complaint.words)}"'),
    ]


def next_as_text(workup: Workup) -> str:
    """Only what to do next: the notices that are open, then the tests, best first."""
    held = [stop for stop in workup.stops if stop.open]
    tests = workup.verdict.next_tests
    lines = [*_notices(held), *_wrap(words.held_back(held)), ""] if held else []
    for number, test in enumerate(tests, start=1):
        licensed = ", licensed work" if test.licensed else ""
        lines += [
            f"{number}. {prose.plain(test.name)} ({words.minutes(test.minutes)}, risk: {test.risk}{licensed})",
            f"   {prose.plain(test.reason)}",
        ]
    nothing = () if tests or held else ("No further test would change the answer.",)
    return "\n".join([*lines, *nothing]) + "\n"


def _notices(stops: Iterable[StopNotice]) -> list[str]:
    lines: list[str] = []
    for stop in stops:
        lines += _wrap(f"{'STOP USE' if stop.open else 'Stop-use notice, closed'}: {stop.name}. {stop.notice}")
        lines += _labelled("because", f"{stop.because} (step {stop.step})")
        lines += _labelled("do", stop.do)
        lines += _labelled("technician", stop.technician) if stop.technician else []
        if stop.open and stop.way_on:
            lines += _labelled("confirm", stop.way_on.confirm)
            lines += _labelled("meanwhile", stop.way_on.meanwhile)
            lines += _labelled("ends", stop.way_on.ends)
        lines += _labelled("closed by", stop.closed_by) if not stop.open and stop.closed_by else []
    return lines and ["!" * WIDTH, *lines, "!" * WIDTH]


def _steps(workup: Workup) -> list[str]:
    lines: list[str] = []
    for view in step_views(workup):
        lines += ["", *_step(workup, view)]
    return _titled("Step by step", lines)


def _step(workup: Workup, view: StepView) -> list[str]:
    step = view.step.step
    time = f" ({words.minutes(step.minutes)})" if step.minutes is not None else ""
    lines = [
        *(
            line
            for c in view.cautions
            if not c.told
            for line in (
                *_wrap(f"CAUTION, {c.caution.name}: {prose.plain(c.caution.text)}"),
                *(row for level, do in c.caution.rows for row in _wrap(f"{level}: {do}", 4, "  - ")),
            )
        ),
        *_wrap(f"{prose.plain(step.do)}{time}", 4, f"{view.number:>2}. "),
    ]
    lines += _labelled("why", prose.plain(step.why)) if step.why else []
    lines += _labelled("state", view.state) if view.state else []
    lines += _labelled("expected", prose.plain(step.expect)) if step.expect else []
    for n, read in enumerate(view.read):
        void = f"  (void: {prose.plain(read.void)})" if read.void else ""
        lines += _labelled("" if n else "read", f"{read.name}: {read.text}{void}")
    for n, (said, names) in enumerate(view.seen.items()):
        lines += _labelled("" if n else "seen", f"{said}: {'; '.join(names)}")
    lines += _labelled("told", prose.plain(step.told)) if step.told else []
    for n, said in enumerate(view.means):
        lines += _labelled("" if n else "means", said)
    for n, said in enumerate(view.not_so):
        lines += _labelled("" if n else "checked", said)
    for n, shift in enumerate(view.shifts):
        lines += _labelled("" if n else "chances", _shift(shift))
    lines += [line for said in view.despite for line in _labelled("", words.sentence(said))]
    lines += _labelled("chances", "no change") if view.weighed and not view.shifts else []
    return lines + (_labelled("flaw", prose.plain(step.flaw)) if step.flaw else [])


def _shift(shift: Shift) -> str:
    moved = f"{words.percent(shift.before)} -> " if shift.before is not None else ""
    weight = "" if shift.decibans is None else f", {words.weight(shift.decibans)} ({words.signed(shift.decibans)})"
    return f"{shift.name}: {moved}{words.percent(shift.after)}{weight}"


def _cause(cause: CauseBelief) -> str:
    return "; ".join(filter(None, (f"{cause.name}: {words.belief(cause)}", cause.why)))


def _answer(workup: Workup, given: Answer) -> list[str]:
    lines = _labelled("outcome", given.outcome.value)
    if given.roots:
        lines += _labelled("cause", words.listed(r.name for r in given.roots))
    else:
        lines += _labelled("cause", "not proven yet; most likely:")
        lines += [line for s in given.suspects for line in _labelled("", f"{s.name}: {words.belief(s)}")]
    lines += _labelled("underlying", words.listed(u.name for u in given.underlying)) if given.underlying else []
    lines += _labelled("contributing", words.listed(h.name for h in given.helpers)) if given.helpers else []
    lines += _labelled("damage done", words.listed(d.name for d in given.damage)) if given.damage else []
    lines += _labelled("proved by" if given.roots else "told most", given.decided_by) if given.decided_by else []
    if given.differs:
        names = words.listed(name for _, name, _ in given.concluded)
        lines += _labelled("differs", f"concluded on the job: {names}; the readings point elsewhere")
    if given.did_it:
        lines += _labelled("done by", f"{words.listed(given.did_it)}, concluded on the job")
    lines += _labelled("fix", words.listed(map(prose.plain, given.fix))) if given.fix else []
    for n, moved in enumerate(given.moved):
        lines += _labelled("" if n else "readings", _moved(moved))
    for n, said in enumerate(given.put_out_of_use):
        lines += _labelled("" if n else "out of use", prose.plain(said))
    lines += _labelled("OK to run?", " ".join(given.may_run))
    untimed = f", {given.spent.untimed} of {given.spent.steps} steps without a time" if given.spent.untimed else ""
    return _titled("Answer", [*lines, *_labelled("found in", words.minutes(given.spent.minutes) + untimed)])


def _moved(moved: Moved) -> str:
    pair = [words.text(e.value, e.kind, e.sd) if e else words.NOT_KNOWN for e in (moved.before, moved.after)]
    return f"{moved.name} {pair[0]} -> {pair[1]}"


def _roles(workup: Workup) -> list[str]:
    told, further = by_role(workup)
    lines, before = [], None
    for cause in told:
        lines += _labelled("" if cause.role is before else role_word(workup, cause), _cause(cause))
        before = cause.role
    if further:
        lines += _labelled("ruled out", f"{len(further)} further: {'; '.join(c.name for c in further)}")
    return _titled("Causes by role", lines)


def _what_ifs(workup: Workup) -> list[str]:
    return _titled(
        "What if only this were changed",
        [line for w in workup.verdict.what_ifs for line in (*_wrap(w.change, 4, "  - "), *_wrap(_what_if(w), 6))],
    )


def _what_if(found: WhatIf) -> str:
    parts = [
        f"airflow {words.text(found.airflow, qty.AIRFLOW)}" if found.airflow is not None else "",
        f"rise {words.text(found.rise, qty.TEMPERATURE_DIFFERENCE)}" if found.rise is not None else "",
        f"limit margin {words.text(found.limit_margin, qty.TEMPERATURE_DIFFERENCE)}"
        if found.limit_margin is not None
        else "",
        f"limit opens: {words.yes_no(found.trips)}",
        f"rise in range: {words.yes_no(found.in_range)}",
        f"corrects it: {words.yes_no(found.restores)}",
        found.note,
    ]
    return "; ".join(filter(None, parts))


def _options(workup: Workup) -> list[str]:
    return _titled("Fixes considered", [line for o in workup.options for line in _option(o)])


def _option(option: Option) -> list[str]:
    mark = " (recommended)" if option.recommended else ""
    predicted = "; ".join(
        f"{p.name} {words.text(p.value, p.kind, p.sd)}"
        for p in (option.airflow, option.rise, option.static, option.outlet, option.limit_margin)
        if p
    )
    breaks = f" Leaves outside the plate: {words.listed(option.breaks_plate)}." if option.breaks_plate else ""
    return [
        *_wrap(f"{prose.plain(option.name)}{mark}", 4, "  - "),
        *_wrap(option.says + breaks, 6),
        *(_wrap(predicted, 6) if predicted else []),
    ]


def _after(workup: Workup) -> list[str]:
    return _titled(
        "After the repair, beside the prediction",
        [
            line
            for c in workup.after
            for line in _wrap(
                f"{c.name}: {c.says}; {'matched the prediction' if c.inside else 'off the prediction'}", 4, "  - "
            )
        ],
    )


def _next(workup: Workup) -> list[str]:
    held = words.held_back(workup.stops)
    lines = [
        *(_wrap(held, 2) if held else ()),
        *(
            line
            for t in workup.verdict.next_tests
            for line in (
                *_wrap(
                    f"{t.name} ({words.minutes(t.minutes)}, risk {t.risk}"
                    f"{', licensed work' if t.licensed else ''}): {t.reason}",
                    4,
                    "  - ",
                ),
            )
        ),
    ]
    settle = [line for s in workup.verdict.would_settle for line in _wrap(s, 4, "  - ")]
    return [*_titled("Check this next", lines), *(["", *_titled("What would settle it", settle)] if settle else [])]


def _problems(workup: Workup) -> list[str]:
    return _titled(
        "To look at in the case file",
        [
            line
            for p in workup.problems
            for line in _wrap(f"case.yml:{p.line}: {p.field}: {p.found}; expected {p.expected} [{p.rule}]", 4, "  - ")
        ],
    )
