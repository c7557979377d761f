"""A worked example as HTML: one table of what is given, the steps and the result, and one of what else would come out.

Classes, for the style sheet:

  cb-work-block     the whole example
  cb-work-table     its tables; cb-work-how: the formula under a name; cb-work-result: a row of the result
  cb-work-note      sentences below it
  cb-work-wrong     in place of a block that could not be worked out
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from markupsafe import Markup

from causebook import quantity as qty
from causebook.problems import Problem
from causebook.workings.model import Example, Line, Variant
from causebook.writeup import words


def html(example: Example) -> Markup:
    """The example."""
    rows = [_row(line) for line in (*example.given, *example.worked.steps)]
    results = [_row(line, ' class="cb-work-result"') for line in example.worked.results]
    return Markup('<div class="cb-work-block">\n{}{}{}{}<p class="cb-source">Source: {}.</p>\n</div>').format(
        _table(example.title, ("What", "Value"), rows, results),
        _variants("Mistakes, and what each gives", "Mistake", example, example.mistakes, off=True),
        _variants("With one thing changed", "Change", example, example.instead, off=False),
        Markup("").join(Markup('<p class="cb-work-note">{}</p>\n').format(note) for note in example.notes),
        example.source,
    )


def wrong(problems: Iterable[Problem]) -> Markup:
    """What stands in place of a block that could not be worked out."""
    said = Markup("").join(
        Markup("<li>Line {}: {}</li>").format(p.line, f"{p.field}: {p.found}" if p.field else p.found) for p in problems
    )
    return Markup('<div class="cb-work-wrong"><p>This example could not be worked out.</p><ul>{}</ul></div>').format(said)


def _table(caption: str, head: Sequence[str], rows: Sequence[Markup], results: Sequence[Markup] = ()) -> Markup:
    header = Markup("").join(Markup('<th scope="col">{}</th>').format(name) for name in head)
    body = Markup("").join(Markup("<tbody>\n{}\n</tbody>\n").format(Markup("\n").join(part)) for part in (rows, results) if part)
    return Markup(
        '<table class="cb-work-table">\n<caption>{}</caption>\n<thead><tr>{}</tr></thead>\n{}</table>\n'
    ).format(caption, header, body)


def _row(line: Line, attribute: str = "") -> Markup:
    how = Markup(' <span class="cb-work-how">{}</span>').format(line.how) if line.how else ""
    return Markup('<tr{}><th scope="row">{}{}</th><td>{}</td></tr>').format(Markup(attribute), line.words, how, _value(line))


def _value(line: Line) -> Markup:
    if isinstance(line.value, str):
        return Markup("{}").format(line.value)
    assert line.kind is not None
    if isinstance(line.value, tuple):
        return words.span(*line.value, line.kind)
    return words.shown(line.value, line.kind, line.sd)


def _variants(caption: str, first: str, example: Example, variants: Sequence[Variant], *, off: bool) -> Markup:
    if not variants:
        return Markup("")
    names = [line.words for line in example.worked.results]
    right = ("As it is", example.worked.results)
    rows = [_compared(*row, names, example.worked.results[0] if off else None)
            for row in (right, *((v.words, v.results) for v in variants))]
    return _table(caption, (first, *names, *(("Off by",) if off else ())), rows)


def _compared(label: str, results: Sequence[Line], names: Sequence[str], right: Line | None) -> Markup:
    found = {line.words: line for line in results}
    cells = [_value(found[name]) if name in found else Markup("–") for name in names]
    if right is not None:
        cells.append(Markup("{}").format(_off(right, found.get(right.words))))
    return Markup('<tr><th scope="row">{}</th>{}</tr>').format(
        label, Markup("").join(Markup('<td data-label="{}">{}</td>').format(name, cell)
                               for name, cell in zip((*names, "Off by"), cells, strict=False)))


def _off(right: Line, found: Line | None) -> str:
    """By how much a mistaken result is off: in percent, or in degrees where a percentage has no meaning."""
    if found is None or isinstance(found.value, (str, tuple)) or isinstance(right.value, (str, tuple)) or right.kind is None:
        return "–"
    truth, taken = qty.si(right.value, right.kind), qty.si(found.value, right.kind)
    if taken == truth:
        return "–"
    if right.kind.si == "K":
        gap = qty.from_si(taken - truth, qty.TEMPERATURE_DIFFERENCE)
        return _signed(qty.show(gap, qty.TEMPERATURE_DIFFERENCE), taken > truth)
    return _signed(f"{100 * (taken / truth - 1):.0f} %".replace("-", "−"), taken > truth) if truth else "–"


def _signed(text: str, positive: bool) -> str:
    return f"+{text}" if positive else text
