"""A worked example as HTML: one table of what is given, the steps and the result, and one of what else would come out.

Classes, for the style sheet:

  cb-work-block     the whole example
  cb-work-table     its tables; cb-work-how: the formula under a name; cb-work-result: a row of the result
  cb-work-note      sentences below it
  cb-work-wrong     in place of a block that could not be worked out
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from markupsafe import Markup

from causebook import quantity as qty
from causebook.problems import Problem
from causebook.quantity import Quantity
from causebook.workings.model import Example, Line, Variant
from causebook.writeup import words

OFF, NOTHING = "Off by", "–"


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
    return Markup('<div class="cb-work-wrong"><p>This example could not be worked out.</p><ul>{}</ul></div>').format(
        said
    )


def _table(caption: str, head: Sequence[str], rows: Sequence[Markup], results: Sequence[Markup] = ()) -> Markup:
    header = Markup("").join(Markup('<th scope="col">{}</th>').format(name) for name in head)
    body = Markup("").join(
        Markup("<tbody>\n{}\n</tbody>\n").format(Markup("\n").join(part)) for part in (rows, results) if part
    )
    return Markup(
        '<table class="cb-work-table">\n<caption>{}</caption>\n<thead><tr>{}</tr></thead>\n{}</table>\n'
    ).format(caption, header, body)


def _row(line: Line, attribute: str = "") -> Markup:
    under = Markup("") if line.under is None else Markup("{} {}").format(line.under[0], words.shown(*line.under[1:]))
    how = [part for part in (under, line.how) if part]
    below = Markup(' <span class="cb-work-how">{}</span>').format(Markup(", ").join(how)) if how else ""
    return Markup('<tr{}><th scope="row">{}{}</th><td>{}</td></tr>').format(
        Markup(attribute), line.words, below, _value(line)
    )


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
    right = example.worked.results
    rows = (("As it is", right), *((variant.words, variant.results) for variant in variants))
    names = list(dict.fromkeys(line.words for _, results in rows for line in results))
    return _table(
        caption,
        (first, *names, *((OFF,) if off else ())),
        [_compared(label, results, names, right if off else None) for label, results in rows],
    )


def _compared(label: str, results: Sequence[Line], names: Sequence[str], right: Sequence[Line] | None) -> Markup:
    found = {line.words: line for line in results}
    cells = [(name, _value(found[name]) if name in found else NOTHING) for name in names]
    if right is not None:
        cells.append((OFF, next((off for line in right if (off := _off(line, found.get(line.words)))), NOTHING)))
    return Markup('<tr><th scope="row">{}</th>{}</tr>').format(
        label, Markup("").join(Markup('<td data-label="{}">{}</td>').format(*cell) for cell in cells)
    )


def _off(right: Line, found: Line | None) -> Markup:
    """By how much a mistaken result is off: in percent; in degrees or points where a percentage means nothing."""
    if found is None or not isinstance(found.value, Quantity) or not isinstance(right.value, Quantity):
        return Markup("")
    assert right.kind is not None
    truth, taken = qty.si(right.value, right.kind), qty.si(found.value, right.kind)
    if math.isclose(taken, truth) or (not truth and right.kind.si != "K"):
        return Markup("")
    sign, gap = "+" if taken > truth else "−", abs(taken - truth)
    if right.kind.si == "K":
        degrees = qty.from_si(gap, qty.TEMPERATURE_DIFFERENCE)
        return sign + words.shown(degrees, qty.TEMPERATURE_DIFFERENCE)
    if right.kind.us_text == "%":
        return Markup("{}{:.0f} points").format(sign, 100 * gap)
    return Markup("{}{:.0f} %").format(sign, 100 * gap / abs(truth))
