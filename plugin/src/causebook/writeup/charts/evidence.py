"""For and against: why this cause and not that one?

One row for each step that told something, in the order it was done; one column for each suspect.  A bar to the right
speaks for the suspect, to the left against; its length is the weight of evidence rounded to three words.
"""

from __future__ import annotations

from dataclasses import dataclass

from causebook.belief.verdict import Belief, CauseBelief, Role, StepWeight
from causebook.survey.model import State
from causebook.workup import Workup
from causebook.writeup.answer import decided, told_suspects
from causebook.writeup.charts.model import Chart, Missing, drawn
from causebook.writeup.charts.style import (
    ACCENT,
    INK,
    PAPER,
    QUIET,
    RULE,
    Scale,
    Sheet,
    joined,
    mid_sentence,
    number,
    sentence_of,
    wrap,
)
from causebook.writeup.words import CLEAR, STRONG, WEAK

ID, TITLE, QUESTION = "for-and-against", "For and against", "Why this cause and not that one?"
STRENGTHS: tuple[tuple[float, str], ...] = ((STRONG, "strong"), (CLEAR, "clear"), (WEAK, "weak"))
"""Least weight [decibans] for each word, the same as in the steps."""
SUSPECTS = 5
_TOLD = 3
"""Findings written beside a step; the page tells them all."""
_NOTE = (
    "A bar to the right speaks for the suspect, an open bar to the left against it, no bar is no view. "
    "Weak, clear and strong: the odds shift by less than 2, by 2 to 10, by 10 or more. Only what "
    "was checked has a row."
)


@dataclass(frozen=True, slots=True)
class Cell:
    """What one step says about one suspect: for (1), against (−1) or no view (0), and how strongly (0 to 3)."""

    side: int
    strength: int
    word: str

    @property
    def words(self) -> str:
        """For the table."""
        return f"{self.word} {'for' if self.side > 0 else 'against'}" if self.side else "no view"


@dataclass(frozen=True, slots=True)
class Row:
    """One step and its cells, in the order of the suspects."""

    step: int
    did: str
    evidence: tuple[str, ...]
    cells: tuple[Cell, ...]
    after: tuple[float | None, ...]


@dataclass(frozen=True, slots=True)
class View:
    """All that is drawn."""

    suspects: tuple[CauseBelief, ...]
    rows: tuple[Row, ...]
    decisive: tuple[int, int] | None
    """Row and column of the cell that holds what decided it."""
    decided_by: str
    """What decided it, in its numbers."""


def cell(decibans: float) -> Cell:
    """The words for a weight of evidence."""
    for rank, (least, word) in enumerate(STRENGTHS):
        if abs(decibans) >= least:
            return Cell(1 if decibans > 0 else -1, 3 - rank, word)
    return Cell(0, 0, "no view")


def _suspects(workup: Workup) -> tuple[CauseBelief, ...]:
    """The suspects of the story of whom any step spoke."""
    spoken = {w.cause for step in workup.verdict.steps for w in step.weights if abs(w.decibans) >= WEAK}
    return tuple(c for c in told_suspects(workup, SUSPECTS) if c.id in spoken)


def _row(step: StepWeight, suspects: tuple[CauseBelief, ...]) -> Row:
    weights = {w.cause: w.decibans for w in step.weights}
    spoke = sorted(step.evidence, key=lambda e: e.state is not State.PRESENT)  # what is there, before what is not
    return Row(
        step.step,
        step.did,
        tuple(e.text for e in spoke[:_TOLD]),
        tuple(cell(weights.get(c.id, 0.0)) for c in suspects),
        tuple(step.after.get(c.id) for c in suspects),
    )


def chart(workup: Workup) -> Chart | Missing:
    """The evidence as it came."""
    suspects = _suspects(workup)
    steps = [s for s in workup.verdict.steps if any(abs(w.decibans) >= WEAK for w in s.weights)]
    if not suspects or not steps:
        return Missing(ID, TITLE, "not drawn: nothing read or seen speaks for one cause against another")
    rows = tuple(_row(s, suspects) for s in steps)
    told, at = decided(workup)
    decisive = [
        (n, m) for n, row in enumerate(rows) for m, c in enumerate(suspects) if row.step == at and c.role is Role.ROOT
    ]
    view = View(suspects, rows, decisive[0] if decisive else None, told)
    return drawn(
        ID,
        TITLE,
        QUESTION,
        _sentence(view),
        lambda s, narrow: (_draw_list if narrow else _draw_grid)(s, view),
        _table(view),
        _NOTE,
    )


def _sentence(view: View) -> str:
    open_ = [c for c in view.suspects if c.belief not in (Belief.RULED_OUT, Belief.UNLIKELY)]
    ends = [f"{mid_sentence(c.name)} is {c.belief} ({_belief(c.probability)})" for c in open_]
    rest = len(view.suspects) - len(open_)
    end = f"in the end {joined(ends) or 'no suspect stands out'}"
    others = "the other suspects here are" if rest > 1 else "the other suspect here is"
    end += f", and {others} unlikely or ruled out" if rest else ""
    if view.decisive is None:
        return sentence_of(end)
    row, lead = view.rows[view.decisive[0]], view.suspects[view.decisive[1]]
    return sentence_of(
        f"step {row.step} ({view.decided_by}) is the most direct evidence for {mid_sentence(lead.name)}; {end}"
    )


def _belief(probability: float) -> str:
    """Two decimals; no belief is complete, so neither 0.00 nor 1.00 is ever written."""
    if probability < 0.01:
        return "under 0.01"
    return "over 0.99" if probability > 0.99 else number(probability, 2)


def _table(view: View) -> tuple[tuple[str, ...], ...]:
    rows: list[tuple[str, ...]] = [("Step", "What it told", *(c.name for c in view.suspects))]
    rows += [
        (
            f"{r.step}. {r.did}",
            "; ".join(r.evidence),
            *(
                c.words + ("" if a is None else f", belief then {_belief(a)}")
                for c, a in zip(r.cells, r.after, strict=True)
            ),
        )
        for r in view.rows
    ]
    rows.append(("In the end", "", *(f"{c.belief} {_belief(c.probability)}" for c in view.suspects)))
    return tuple(rows)


# ---------------------------------------------------------------- how it is drawn

_UNIT, _TALL = 14.0, 11.0


def _bar(sheet: Sheet, x: float, y: float, what: Cell, point: bool) -> None:
    """A bar beside its centre line at x, its middle at y."""
    ink = ACCENT if point else INK
    for n in range(what.strength):
        left = x + 2 + n * _UNIT if what.side > 0 else x - 2 - (n + 1) * _UNIT + 3
        sheet.box(left, y - _TALL / 2, _UNIT - 3, _TALL, fill=ink if what.side > 0 else PAPER, edge=ink, line=1.5)


def _draw_grid(sheet: Sheet, view: View) -> None:
    labels = 252.0
    column = (sheet.width - labels) / len(view.suspects)
    centres = [labels + column * (n + 0.5) for n in range(len(view.suspects))]
    heads = [wrap(c.name, column - 8, 13.5, bold=True, lines=5) for c in view.suspects]
    tallest = max(len(h) for h in heads)
    for x, head in zip(centres, heads, strict=True):
        sheet.text(x, 14 + 17 * (tallest - len(head)), head, anchor="middle", bold=True)
        sheet.text(x - 6, 17 * tallest + 16, "against", anchor="end", size=13, ink=QUIET)
        sheet.text(x + 6, 17 * tallest + 16, "for", size=13, ink=QUIET)
    top = y = 17.0 * tallest + 26
    for n, row in enumerate(view.rows):
        sheet.line((0, y), (sheet.width, y), width=0.6, ink=QUIET)
        did = wrap(row.did, labels - 36, 13.5, lines=2)
        told = wrap("; ".join(row.evidence), labels - 36, 13, lines=4)
        sheet.text(0, y + 18, f"{row.step}", bold=True)
        below = sheet.text(22, y + 18, did, bold=view.decisive is not None and n == view.decisive[0])
        below = sheet.text(22, below, told, size=13, ink=QUIET)
        middle = y + (below - y) / 2 - 2
        for m, (x, what) in enumerate(zip(centres, row.cells, strict=True)):
            _bar(sheet, x, middle - 5, what, (n, m) == view.decisive)
            if what.side:
                sheet.text(
                    x + 4 * what.side,
                    middle + 16,
                    what.word,
                    anchor="start" if what.side > 0 else "end",
                    size=13,
                    bold=(n, m) == view.decisive,
                )
        y = below - 4
    for x in centres:
        sheet.line((x, top), (x, y), width=RULE, ink=QUIET)
    sheet.line((0, y), (sheet.width, y), width=RULE)
    y += 12
    sheet.text(0, y + 22, ["Belief after each step,", "from 0 to 1"])
    for n, (x, cause) in enumerate(zip(centres, view.suspects, strict=True)):
        _course(sheet, x - 0.36 * column, x + 0.36 * column, y, y + 44, [r.after[n] for r in view.rows])
        sheet.text(x, y + 62, str(cause.belief), anchor="middle", bold=True)
        sheet.text(x, y + 79, _belief(cause.probability), anchor="middle", size=13)
    sheet.height = y + 86


def _course(sheet: Sheet, left: float, right: float, top: float, bottom: float, beliefs: list[float | None]) -> None:
    """Belief after each step, as a small line between 0 and 1."""
    sheet.line((left, bottom), (right, bottom), width=0.6, ink=QUIET)
    sheet.line((left, top), (right, top), width=0.6, ink=QUIET)
    x, y = Scale(0, max(len(beliefs) - 1, 1), left, right), Scale(0, 1, bottom, top)
    points = [(x(n), y(b)) for n, b in enumerate(beliefs) if b is not None]
    if len(points) > 1:
        sheet.line(*points)
    if points:
        sheet.dot(*points[-1], radius=3)


def _draw_list(sheet: Sheet, view: View) -> None:
    centre = 206.0
    sheet.text(centre - 6, 14, "against", anchor="end", ink=QUIET)
    sheet.text(centre + 6, 14, "for", ink=QUIET)
    y = 24.0
    for n, row in enumerate(view.rows):
        sheet.line((0, y), (sheet.width, y), width=RULE)
        sheet.text(0, y + 18, f"{row.step}", bold=True)
        below = sheet.text(20, y + 18, wrap(row.did, sheet.width - 22, 12.5, bold=True, lines=3), bold=True)
        below = sheet.text(20, below, wrap("; ".join(row.evidence), sheet.width - 22, 12.5, lines=5), ink=QUIET)
        top = below - 8
        for m, (cause, what) in enumerate(zip(view.suspects, row.cells, strict=True)):
            if what.side:
                name = wrap(cause.name, centre - 50, 12.5, lines=2)
                sheet.text(0, below + 3, name)
                middle = below - 1.5 + 8 * (len(name) - 1)
                _bar(sheet, centre, middle, what, (n, m) == view.decisive)
                sheet.text(centre + 50, middle + 4.5, what.word, bold=(n, m) == view.decisive)
                below += 6 + 16 * len(name)
        sheet.line((centre, top), (centre, below - 10), width=RULE, ink=QUIET)
        y = below - 2
    sheet.line((0, y), (sheet.width, y), width=RULE)
    y = sheet.text(0, y + 20, "Belief after each step, from 0 to 1", bold=True) + 2
    for n, cause in enumerate(view.suspects):
        sheet.text(0, y + 8, wrap(cause.name, 128, 12.5, lines=2))
        _course(sheet, 140, 214, y - 2, y + 26, [r.after[n] for r in view.rows])
        sheet.text(226, y + 8, str(cause.belief), bold=True)
        sheet.text(226, y + 24, _belief(cause.probability))
        y += 46
    sheet.height = y - 8
