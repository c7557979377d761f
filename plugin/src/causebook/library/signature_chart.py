"""Signatures drawn: the pressures along the air path of several furnaces, one over the other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from causebook.knowledge.model import Cause, Knowledge
from causebook.library.signature import READINGS, ROOM, Shown, Signature, most_moved, signatures, told_apart
from causebook.writeup.charts.model import Chart, drawn
from causebook.writeup.charts.style import (
    ACCENT,
    DASHED,
    DOTTED,
    HEAVY,
    INK,
    LINE,
    QUIET,
    RULE,
    SOLID,
    Scale,
    Sheet,
    mid_sentence,
    number,
    sentence_of,
    wrap,
)

BESIDE = 1
"""Beside how many of the causes that it is taken for a cause is drawn; how it is told from the others is said."""
PARTS = ("return", "filter", "inlet", "blower", "coil", "supply")
"""What stands between two taps of `Shown.taps`."""
_NOTE = (
    "A usual furnace, not yours: 80,000 Btu/h, plate rise 35 to 65 °F, limit 200 °F, PSC blower, usual clean ducts "
    "(expert estimates). Pressures against the room, in. w.c. Sizes: the usual one of this cause, and one standard "
    "deviation less and more."
)


@dataclass(frozen=True, slots=True)
class _Line:
    shown: Shown
    label: str
    ink: str
    width: float
    dash: Sequence[float]


def partings(cause: Cause, knowledge: Knowledge) -> Mapping[str, str]:
    """Of the causes that one is taken for, those with a signature -> how it is told from each."""
    of = signatures(knowledge)
    if cause.id not in of:
        return {}
    return {id_: parting_sentence(of[cause.id], of[id_]) for id_ in cause.look_alikes if id_ in of}


def cause_charts(knowledge: Knowledge) -> Mapping[str, tuple[Chart, ...]]:
    """Cause id -> its charts: the three sizes, then beside what it is taken for.  Drawn once for each knowledge."""
    if knowledge.version not in _drawn:
        _drawn.clear()
        of = signatures(knowledge)
        _drawn[knowledge.version] = {
            id_: (sizes_chart(one), *(beside_chart(one, of[other]) for other in _alike(one, of)))
            for id_, one in of.items()
        }
    return _drawn[knowledge.version]


_drawn: dict[str, Mapping[str, tuple[Chart, ...]]] = {}


def _alike(one: Signature, of: Mapping[str, Signature]) -> list[str]:
    alike = [other for other in one.cause.look_alikes if other in of]
    return sorted(alike, key=lambda other: told_apart(one, of[other]) is None)[:BESIDE]


def sizes_chart(of: Signature) -> Chart:
    """A cause at three sizes beside the clean furnace."""
    pens = ((QUIET, RULE + 0.5, SOLID), (INK, LINE, SOLID), (ACCENT, HEAVY, SOLID))
    lines = [_Line(of.clean, _said("Clean", of.clean), INK, LINE, DASHED)]
    lines += [_Line(s, _said(s.name.capitalize(), s), *pen) for s, pen in zip(of.sizes, pens, strict=True)]
    return drawn(
        f"signature-{of.cause.id}",
        "What it does to the readings",
        "What does it do to the readings?",
        _sentence(of),
        lambda sheet, narrow: _draw(sheet, lines),
        _table(("Clean", of.clean), *((s.name.capitalize(), s) for s in of.sizes)),
        _NOTE,
    )


def beside_chart(of: Signature, other: Signature) -> Chart:
    """A cause beside another that is taken for it, both at their usual size."""
    one, two = of.middling, other.middling
    names = of.cause.name, other.cause.name
    lines = [
        _Line(of.clean, _said("Clean", of.clean), QUIET, RULE + 0.5, DASHED),
        _Line(one, _said(names[0], one), ACCENT, HEAVY, SOLID),
        _Line(two, _said(names[1], two), INK, LINE, DOTTED),
    ]
    return drawn(
        f"signature-{of.cause.id}-{other.cause.id}",
        f"Beside {mid_sentence(names[1])}",
        f"How is it told from {mid_sentence(names[1])}?",
        parting_sentence(of, other),
        lambda sheet, narrow: _draw(sheet, lines),
        _table((names[0], one), (names[1], two)),
    )


def parting_sentence(of: Signature, other: Signature) -> str:
    """The one reading that parts two causes whatever their sizes, or that none does."""
    reading = told_apart(of, other)
    if reading is None:
        said = f" {sentence_of(of.cause.told_apart_by)}" if of.cause.told_apart_by else ""
        return f"Readings of air and heat alone do not tell the two apart.{said}"

    def spoken(signature: Signature) -> str:
        low, high = (number(v, reading.digits) for v in signature.span(reading))
        return f"{low if low == high else f'{low} to {high}'} {reading.unit} with {mid_sentence(signature.cause.name)}"

    return f"{reading.name} tells them apart: {spoken(of)}, {spoken(other)}."


def _said(name: str, shown: Shown) -> str:
    return f"{name}: {number(shown.airflow)} cfm, rise {number(shown.readings['rise'])} °F"


def _sentence(of: Signature) -> str:
    clean, gross = of.clean, of.sizes[-1]
    parts = []
    if abs(gross.airflow - clean.airflow) > 0.02 * clean.airflow:
        parts.append(f"airflow goes from {number(clean.airflow)} to {number(gross.airflow)} cfm")
    moved = {r.id for r in READINGS if abs(gross.readings[r.id] - clean.readings[r.id]) > r.error}
    for one in READINGS:
        if one.id in moved & {"rise", most_moved(clean, gross).id}:
            a, b = (number(s.readings[one.id], one.digits) for s in (clean, gross))
            parts.append(f"{mid_sentence(one.name)} from {a} to {b} {one.unit}")
    margin = "the limit opens" if gross.margin < 0 else f"the limit keeps {number(gross.margin)} °F to spare"
    return sentence_of(f"gross: {', '.join([*parts, margin])}")


def _table(*columns: tuple[str, Shown]) -> tuple[tuple[str, ...], ...]:
    rows = [("Reading", *(name for name, _ in columns))]
    rows.append(("Airflow, cfm", *(number(s.airflow) for _, s in columns)))
    for reading in READINGS:
        values = [s.readings[reading.id] for _, s in columns]
        if reading.id in ("rise", "static") or max(values) - min(values) > reading.error / 2:
            rows.append((f"{reading.name}, {reading.unit}", *(number(v, reading.digits) for v in values)))
    rows.append(("Limit margin, °F", *(number(s.margin) if s.margin > 0 else "opens" for _, s in columns)))
    return tuple(rows)


def _draw(sheet: Sheet, lines: Sequence[_Line]) -> None:
    size, left = sheet.text_size, 46.0
    top = 8.0
    for line in lines:
        top += 1.5 * size
        sheet.line((8, top - 0.35 * size), (38, top - 0.35 * size), ink=line.ink, width=line.width, dash=line.dash)
        words = wrap(line.label, sheet.width - left - 4, size, lines=2)
        top = sheet.text(left, top, words) - 1.25 * size
    top += 1.2 * size
    if _moves_air(lines):
        top = _pressures(sheet, lines, left, top) + 1.2 * size
    sheet.height = _temperatures(sheet, lines, left, top)


def _moves_air(lines: Sequence[_Line]) -> bool:
    return any(abs(a - b) > 0.01 for n in lines for a, b in zip(n.shown.taps, lines[0].shown.taps, strict=True))


def _pressures(sheet: Sheet, lines: Sequence[_Line], left: float, top: float) -> float:
    """The stairs of pressure along the air path; returns where they end."""
    size = sheet.text_size
    taps = [p for line in lines for p in line.shown.taps]
    sheet.text(0, top + size, "Pressure, in. w.c.", ink=QUIET)
    top += 2 * size
    scale = Scale(max(taps), min(taps), top, top + (190.0 if sheet.narrow else 230.0))
    step = (sheet.width - left - 8) / (len(PARTS) + 1)
    for tick in scale.ticks(5):
        dash = DOTTED if tick else SOLID
        sheet.line((left, scale(tick)), (sheet.width - 8, scale(tick)), ink=QUIET, width=0.6, dash=dash)
        sheet.text(left - 4, scale(tick) + 0.35 * size, number(tick, 1, sign=True), anchor="end", ink=QUIET)
    for line in lines:
        points = []
        for place, pressure in enumerate(line.shown.taps):
            points += [(left + place * step, scale(pressure)), (left + (place + 1) * step, scale(pressure))]
        sheet.line(*points, ink=line.ink, width=line.width, dash=line.dash)
    bottom = scale(min(taps)) + 1.6 * size
    for place, part in enumerate(PARTS, start=1):
        sheet.text(left + place * step, bottom, part, anchor="middle")
    return bottom


def _temperatures(sheet: Sheet, lines: Sequence[_Line], left: float, top: float) -> float:
    """Each furnace's air from return to supply, the body of its limit (dot) and where that opens (upright)."""
    size, row = sheet.text_size, 20.0
    words = "Air from return to supply; dot: limit's body; upright: limit opens"
    top = sheet.text(0, top + size, wrap(words, sheet.width - 4, size), ink=QUIET)
    warm = [(s.readings["warm"] + ROOM, s.readings["opens"], s.readings["opens"] - s.margin) for s in map(_of, lines)]
    low, high = min(w for w, _, _ in warm) - 5, max(max(o, b) for _, o, b in warm) + 8
    scale = Scale(low, high, left, sheet.width - 12)
    for n, (line, (back, opens, body)) in enumerate(zip(lines, warm, strict=True)):
        y = top + n * row
        supply = back + line.shown.readings["rise"]
        sheet.line((scale(back), y), (scale(supply), y), ink=line.ink, width=line.width + 1, dash=line.dash)
        sheet.dot(scale(body), y, ink=line.ink, filled=line.dash == SOLID, radius=4.5)
        sheet.line((scale(opens), y - 8), (scale(opens), y + 8), ink=line.ink, width=line.width)
    bottom = top + len(lines) * row - 4
    sheet.line((left, bottom), (sheet.width - 12, bottom), width=RULE)
    for tick in scale.ticks(4 if sheet.narrow else 7):
        sheet.line((scale(tick), bottom), (scale(tick), bottom + 4), width=RULE)
        sheet.text(scale(tick), bottom + 18, f"{number(tick)} °F", anchor="middle", ink=QUIET)
    return bottom + 26


def _of(line: _Line) -> Shown:
    return line.shown
