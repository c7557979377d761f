"""Air-path profile: where does the pressure go?

A stair from the room through the return, the wheel and the supply back to the room.  Treads are taps, risers are
parts.  A tap that was not read breaks the stair; nothing is drawn between its neighbors.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

from causebook.belief.verdict import Role
from causebook.quantity import AIR_PRESSURE, AIRFLOW, show, us
from causebook.survey.model import ReadingSet
from causebook.workup import Workup
from causebook.writeup.charts.model import Chart, Missing, drawn
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
    Anchor,
    Scale,
    Sheet,
    joined,
    number,
    sentence_of,
    text_width,
    wrap,
)

ID, TITLE, QUESTION = "air-path", "Air-path profile", "Where does the pressure go?"
COMMON_ID, COMMON_TITLE = "air-path-at-one-airflow", "Air-path profile at one airflow"
COMMON_QUESTION = "Which part really changed?"
WHEEL = "wheel"
_SAME = 0.02
"""Drops that differ by no more than this [in. w.c.] are the same: two gauge readings (common practice, no source)."""
_TAP_NAMES = {
    1: "behind grille",
    2: "before filter",
    3: "after filter",
    4: "blower box",
    5: "furnace outlet",
    6: "after coil",
    7: "end of trunk",
    8: "behind register",
}
_PART_NAMES = {
    "return": "return",
    "grille": "return grille",
    "filter": "filter",
    "inlet": "furnace inlet",
    WHEEL: "blower",
    "coil": "coil",
    "supply": "supply",
    "trunk": "supply trunk",
    "branch": "branch",
    "register": "register",
}
_NOTE = (
    "Solid: as found. Dashed: after the repair. Hatched beside a step: the most that is usual for that part. "
    "Pressures against the room, as on the gauge. What is usual at most is an expert estimate, not a rule."
)
_COMMON_NOTE = (
    "Solid: as found, as read at {flow}. Dashed: after the repair, every drop worked over to {flow} with "
    "its own exponent, so that a part can be compared with itself."
)


@dataclass(frozen=True, slots=True)
class Tread:
    """One tap: its number (None for the room), name, and the pressure found and after [in. w.c.]."""

    number: int | None
    name: str
    found: float | None
    after: float | None


@dataclass(frozen=True, slots=True)
class Riser:
    """One part between two treads: its drop found and after, its share of the whole, what is usual at most."""

    part: str
    name: str
    found: float | None
    after: float | None
    share: float | None
    usual: float | None
    point: bool
    """Among the few parts that take most of the pressure: the point of the picture."""

    @property
    def label(self) -> str:
        """What is written beside it: drop and share, or that it is not known."""
        if self.found is None:
            return "not measured"
        if self.part == WHEEL:
            return f"adds {number(self.found, 2)}"
        return number(self.found, 2) + ("" if self.share is None else f" · {number(100 * self.share)} %")


@dataclass(frozen=True, slots=True)
class Profile:
    """All that is drawn: treads one more than risers, and the words for both stairs."""

    treads: tuple[Tread, ...]
    risers: tuple[Riser, ...]
    found_flow: str
    after_flow: str
    has_after: bool

    @property
    def lowest(self) -> float:
        """The lowest pressure of either stair [in. w.c.]."""
        return min((p for t in self.treads for p in (t.found, t.after) if p is not None), default=0.0)

    @property
    def highest(self) -> float:
        """The highest pressure of either stair [in. w.c.]."""
        return max((p for t in self.treads for p in (t.found, t.after) if p is not None), default=0.0)


# ---------------------------------------------------------------- what is drawn


def _pressures(readings: ReadingSet | None) -> dict[int, float]:
    return {
        t.number: us(t.value, AIR_PRESSURE)
        for t in (readings.taps if readings else ())
        if t.value is not None and t.number in _TAP_NAMES
    }


def _part_between(before: int | None, after: int | None) -> str:
    """The part that lies between two neighboring taps (None: the room)."""
    if before is None:
        return "grille" if after == 1 else "return"
    if after is None:
        return {7: "branch", 8: "register"}.get(before, "supply")
    if before <= 4 < after:
        return WHEEL
    return {(1, 2): "return", (2, 3): "filter", (3, 4): "inlet", (5, 6): "coil", (7, 8): "branch"}.get(
        (before, after), "trunk"
    )


def _profile(
    numbers: list[int],
    found: dict[int, float],
    after: dict[int, float],
    workup: Workup,
    flows: tuple[str, str],
    usual: bool,
) -> Profile:
    names = {t.number: t.name for s in workup.survey.sets for t in s.taps} | {None: "room"}
    stations: list[int | None] = [None, *numbers, None]
    level = {None: 0.0}
    treads = tuple(
        Tread(
            n,
            _TAP_NAMES.get(n, names.get(n, "")) if n else "room",
            (level | found).get(n),
            (level | after).get(n) if after else None,
        )
        for n in stations
    )
    drops: list[tuple[str, float | None, float | None]] = []
    for (number_in, here), (number_out, there) in pairwise(zip(stations, treads, strict=True)):
        part = _part_between(number_in, number_out)
        sign = -1.0 if part == WHEEL else 1.0
        drops.append((part, _less(here.found, there.found, sign), _less(here.after, there.after, sign)))
    known = [d for part, d, _ in drops if part != WHEEL]
    whole = None if None in known else sum(d for d in known if d is not None)
    most = _most([(part, d) for part, d, _ in drops if part != WHEEL and d is not None], whole)
    models = workup.knowledge.parts
    risers = tuple(
        Riser(
            part,
            _PART_NAMES[part],
            d,
            a,
            d / whole if whole and d is not None and part != WHEEL else None,
            models[part].look_closer if usual and part in models else None,
            part in most,
        )
        for part, d, a in drops
    )
    return Profile(treads, risers, *flows, bool(after))


def _less(here: float | None, there: float | None, sign: float) -> float | None:
    return None if here is None or there is None else sign * (here - there)


def _most(drops: list[tuple[str, float]], whole: float | None) -> list[str]:
    """The fewest parts that together take at least half of the whole, largest first; none where it is not known."""
    taken, parts = 0.0, []
    for part, drop in sorted(drops, key=lambda d: -d[1]):
        if whole is None or taken >= 0.5 * whole - 1e-9:
            break
        parts.append(part)
        taken += drop
    return parts


def _flow(readings: ReadingSet | None) -> str:
    if readings is None or readings.best_airflow is None:
        return "airflow not known"
    return show(readings.best_airflow.value, AIRFLOW)


def _numbers(workup: Workup, *pressures: dict[int, float]) -> list[int]:
    """The taps to draw: those a profile needs, and any other that was read."""
    coil = workup.case.file.coil
    needed = {2, 3, 5} if coil is not None and coil.none else {2, 3, 5, 6}
    return sorted(needed.union(*pressures))


def _sentence(profile: Profile) -> str:
    parts = [r for r in profile.risers if r.part != WHEEL]
    unknown = [r.name for r in parts if r.found is None]
    if unknown:
        known = [f"the {r.name} takes {number(r.found, 2)}" for r in parts if r.found is not None]
        text = sentence_of(f"the drop of {joined([f'the {n}' for n in unknown])} was not measured")
        return f"{text} {sentence_of(joined(known) + ' in. w.c.')}" if known else text
    most = sorted((r for r in parts if r.point), key=lambda r: -(r.found or 0.0))
    whole = sum(r.found or 0.0 for r in parts)
    taken = sum(r.found or 0.0 for r in most)
    verb = "takes" if len(most) == 1 else "take"
    text = f"the {joined([r.name for r in most])} {verb} {number(taken, 2)} of {number(whole, 2)} in. w.c."
    if profile.has_after and all(r.after is not None for r in parts):
        text += (
            f" at {profile.found_flow}; after the repair {number(sum(r.after or 0.0 for r in most), 2)} of "
            f"{number(sum(r.after or 0.0 for r in parts), 2)} at {profile.after_flow}"
        )
    return sentence_of(text)


def _table(profile: Profile) -> tuple[tuple[str, ...], ...]:
    def value(of: float | None) -> str:
        return "not measured" if of is None else number(of, 2)

    def row(*cells: str) -> tuple[str, ...]:
        return cells if profile.has_after else cells[:-1]

    rows = [row("Along the air path", "As found [in. w.c.]", "Share", "After repair [in. w.c.]")]
    for tread, riser in zip(profile.treads, (*profile.risers, None), strict=True):
        if tread.number is not None:
            rows.append(
                row(f"pressure at tap {tread.number}, {tread.name}", value(tread.found), "", value(tread.after))
            )
        if riser is not None:
            what = "pressure the blower adds" if riser.part == WHEEL else f"drop of {riser.name}"
            share = "" if riser.share is None else f"{number(100 * riser.share)} %"
            rows.append(row(what, value(riser.found), share, value(riser.after)))
    return tuple(rows)


def chart(workup: Workup) -> Chart | Missing:
    """The profile as read."""
    found, after = _pressures(workup.survey.found), _pressures(workup.survey.after)
    if not found:
        return Missing(ID, TITLE, "not drawn: no pressure was read along the air path")
    flows = (_flow(workup.survey.found), _flow(workup.survey.after))
    profile = _profile(_numbers(workup, found, after), found, after, workup, flows, usual=True)
    return drawn(
        ID, TITLE, QUESTION, _sentence(profile), lambda s, narrow: _draw(s, profile, narrow), _table(profile), _NOTE
    )


def chart_at_one_airflow(workup: Workup) -> Chart | Missing:
    """The profile with the drops after the repair worked over to the airflow as found."""
    coil = workup.case.file.coil
    parts = {"return", "filter", "supply"} | (set() if coil is not None and coil.none else {"coil"})
    sides = [_from_drops(s, parts) for s in (workup.survey.found, workup.survey.after)]
    if not sides[0] or not sides[1]:
        return Missing(
            COMMON_ID, COMMON_TITLE, "not drawn: drops at one airflow need every part read before and after the repair"
        )
    if _went_round(workup):
        return Missing(
            COMMON_ID,
            COMMON_TITLE,
            "not drawn: as found, part of the furnace's air came straight back and never passed the ducts of the house",
        )
    if _same_airflow(workup.survey.found, workup.survey.after):
        return Missing(COMMON_ID, COMMON_TITLE, "not drawn: the airflow was the same before and after the repair")
    flow = _flow(workup.survey.found)  # the common airflow is the one found, whose drops stay as read
    words = (f"as read at {flow}", f"worked over to {flow}")
    profile = _profile(sorted(sides[0]), sides[0], sides[1], workup, words, usual=False)
    changed = max(
        (r for r in profile.risers if r.part != WHEEL), key=lambda r: abs((r.after or 0.0) - (r.found or 0.0))
    )
    moved = abs((changed.after or 0.0) - (changed.found or 0.0)) > _SAME
    text = (
        f"the {_change(changed)} in. w.c.; {joined(_others(profile, changed))}"
        if moved
        else f"no part changed by more than {number(_SAME, 2)} in. w.c.: the same path with other air"
    )
    text = sentence_of(f"at {flow} {text}")
    marked = replace(profile, risers=tuple(replace(r, point=moved and r.part == changed.part) for r in profile.risers))
    return drawn(
        COMMON_ID,
        COMMON_TITLE,
        COMMON_QUESTION,
        text,
        lambda s, narrow: _draw(s, marked, narrow),
        _table(marked),
        _COMMON_NOTE.format(flow=flow),
    )


def _went_round(workup: Workup) -> bool:
    """Did supply air come back past the ducts?  Then their drops belong to less air than the furnace moved."""
    known = workup.knowledge.causes
    return any(
        e.on == "recirculation"
        for c in workup.verdict.causes
        if c.role in (Role.ROOT, Role.HELPED_BY) and c.id in known
        for e in known[c.id].effects
    )


def _same_airflow(found: ReadingSet | None, after: ReadingSet | None) -> bool:
    """Within 5 %, less than airflow can be told apart: then the profile as read needs no working over."""
    flows = [us(s.best_airflow.value, AIRFLOW) for s in (found, after) if s is not None and s.best_airflow is not None]
    return len(flows) == 2 and abs(flows[0] / flows[1] - 1) < 0.05


def _change(riser: Riser) -> str:
    verb = "fell" if (riser.after or 0.0) < (riser.found or 0.0) else "rose"
    return f"{riser.name} {verb} most, from {number(riser.found or 0.0, 2)} to {number(riser.after or 0.0, 2)}"


def _others(profile: Profile, changed: Riser) -> list[str]:
    """What the other parts did; those that moved by no more than a gauge can tell stay as they were."""
    rest = [r for r in profile.risers if r.part not in (WHEEL, changed.part)]
    moved = [r for r in rest if abs((r.after or 0.0) - (r.found or 0.0)) > _SAME]
    still = [r.name for r in rest if r not in moved]
    words = [f"the {r.name} went from {number(r.found or 0.0, 2)} to {number(r.after or 0.0, 2)}" for r in moved]
    return words + ([f"{joined(still)} stayed as {'they were' if len(still) > 1 else 'it was'}"] if still else [])


def _from_drops(readings: ReadingSet | None, parts: set[str]) -> dict[int, float]:
    """Tap pressures from the drops of `parts` at the common airflow; empty where one is missing."""
    drops = {
        d.part: us(d.at_common_airflow, AIR_PRESSURE)
        for d in (readings.drops if readings else ())
        if d.at_common_airflow is not None
    }
    if not parts <= drops.keys():
        return {}
    below = {2: -drops["return"], 3: -drops["return"] - drops["filter"]}
    if "coil" not in parts:
        return below | {5: drops["supply"]}
    return below | {5: drops["supply"] + drops["coil"], 6: drops["supply"]}


# ---------------------------------------------------------------- how it is drawn


def _draw(sheet: Sheet, profile: Profile, narrow: bool) -> None:
    (_draw_down if narrow else _draw_across)(sheet, profile)


def _path(
    profile: Profile, after: bool, at: list[float], shift: float, start: float, end: float
) -> list[list[tuple[float, float, int]]]:
    """The unbroken runs of one stair as (along, pressure, riser index that starts here or −1)."""
    runs: list[list[tuple[float, float, int]]] = [[]]
    edges = [start, *(a + shift for a in at), end]
    for n, tread in enumerate(profile.treads):
        level = tread.after if after else tread.found
        if level is None:
            runs.append([])
            continue
        runs[-1] += [(edges[n], level, -1), (edges[n + 1], level, n)]
    return [run for run in runs if run]


def _draw_across(sheet: Sheet, profile: Profile) -> None:
    left, right, top = 56.0, sheet.width - 10.0, 52.0
    step = (right - left) / len(profile.treads)
    at = [left + step * (n + 1) for n in range(len(profile.risers))]
    bottom = top + 250.0
    pad = 0.06 * (profile.highest - profile.lowest)
    y = Scale(profile.highest + pad, min(profile.lowest, 0.0) - 1.6 * pad, top, bottom)
    sheet.height = bottom + 62
    for tick in y.ticks(7):
        if abs(tick) > 1e-9:
            sheet.line((left, y(tick)), (right, y(tick)), ink=QUIET, width=0.5, dash=DOTTED)
        sheet.text(left - 8, y(tick) + 4.5, number(tick, 1, sign=True), anchor="end", ink=QUIET, size=13)
    sheet.text(0, 14, ["in. w.c."], size=13, ink=QUIET)
    sheet.line((left, y(0)), (right, y(0)), width=RULE)
    for n, tread in enumerate(profile.treads):
        middle = left + step * (n + 0.5)
        if tread.number is None:
            sheet.text(middle, y(0) - 7, "room", anchor="middle", ink=QUIET, size=13)
            continue
        sheet.text(middle, 14, f"tap {tread.number}", anchor="middle", size=13, bold=True)
        sheet.text(middle, 30, wrap(tread.name, step - 4, 13, lines=1), anchor="middle", size=13, ink=QUIET)
        if tread.found is None:
            sheet.line((middle, 40), (middle, bottom), ink=QUIET, width=RULE, dash=DOTTED)
            sheet.text(
                middle,
                (y(0) + bottom) / 2 if tread.number < 5 else (top + y(0)) / 2 - 4,
                ["not", "measured", *_together(profile, n)],
                anchor="middle",
                size=13,
            )
    for n, riser in enumerate(profile.risers):
        start = profile.treads[n].found
        if riser.usual is not None and start is not None and riser.part != WHEEL:
            sheet.allowed(at[n] - 22, y(start), 17, y(start - riser.usual) - y(start))
    _stairs(sheet, profile, at, left, right, lambda along, level: (along, y(level)))
    wheel = at[[r.part for r in profile.risers].index(WHEEL)]
    _stair_names_across(sheet, profile, wheel, y)
    for n, tread in enumerate(profile.treads):
        if tread.number is not None:
            _tread_values_across(sheet, tread, left + step * (n + 0.5) - 6, y)
    first = profile.risers[0]
    if first.usual is not None:
        sheet.text(
            at[0] - 28, y(0) + 18, ["usual,", f"{number(first.usual, 2)} at", "most"], anchor="end", size=13, ink=QUIET
        )
    for n, riser in enumerate(profile.risers):
        _riser_label(sheet, riser, at[n], bottom + 16, step - 6)
    for n, riser in enumerate(profile.risers[1:], start=1):
        start = profile.treads[n].found
        if riser.usual is not None and start is not None and riser.part != WHEEL:
            spot = (at[n] - 24, y(start - riser.usual) + 4, "end")
            sheet.text_where_free([spot], [f"≤ {number(riser.usual, 2)}"], ink=QUIET, spare=True)


def _stairs(
    sheet: Sheet,
    profile: Profile,
    at: list[float],
    start: float,
    end: float,
    place: Callable[[float, float], tuple[float, float]],
) -> None:
    for after in (True, False) if profile.has_after else (False,):
        for run in _path(profile, after, at, -4.0 if after else 4.0, start, end):
            sheet.line(
                *(place(along, level) for along, level, _ in run),
                dash=DASHED if after else SOLID,
                width=LINE if after else 2.5,
            )
            for (along, level, n), nxt in zip(run, [*run[1:], None], strict=True):
                if not after and n >= 0 and nxt is not None and profile.risers[n].point:
                    sheet.line(place(along, level), place(along, nxt[1]), ink=ACCENT, width=HEAVY + 2)
                if nxt is None and along < end:
                    _break(sheet, *place(along, level))
            if run[0][0] > start:
                _break(sheet, *place(run[0][0], run[0][1]))


def _break(sheet: Sheet, x: float, y: float) -> None:
    """Two short strokes across the end of a broken line."""
    for shift in (-2.5, 2.5):
        sheet.line((x + shift - 3, y + 7), (x + shift + 3, y - 7))


def _together(profile: Profile, n: int) -> list[str]:
    """What two parts take together when only the tap between them is missing, in words."""
    before, after = profile.treads[n - 1].found, profile.treads[n + 1].found
    if before is None or after is None or WHEEL in (profile.risers[n - 1].part, profile.risers[n].part):
        return []
    return [f"({number(before - after, 2)}", "together)"]


def _tread_values_across(sheet: Sheet, tread: Tread, x: float, y: Scale) -> None:
    for value, other, bold in _values(tread):
        if value is not None:
            below = y(value) > y(0) if _outside(value, other, 24 / abs(y.slope)) else y(value) <= y(0)
            at, words = y(value) + (17 if below else -8), number(value, 2, sign=True)
            if at - 11 < y(0) < at + 3:  # the room line would strike it through
                spots: list[tuple[float, float, Anchor]] = [(x, y(0) + (15 if value >= 0 else -6), "middle")]
                sheet.text_where_free([*spots, (x, at, "middle")], [words], bold=bold)
            else:
                sheet.text(x, at, words, anchor="middle", bold=bold, size=13)


def _values(tread: Tread) -> list[tuple[float | None, float | None, bool]]:
    """(this stair, the other stair, bold) for each figure to write; two that read the same are written once."""
    if tread.found is not None and tread.after is not None and round(tread.found - tread.after, 2) == 0:
        return [(tread.found, None, True)]
    return [(tread.found, tread.after, True), (tread.after, tread.found, False)]


def _outside(value: float, other: float | None, room: float) -> bool:
    """Does the figure of this stair go on the side away from the room line?  Not where the other is in the way."""
    return other is None or abs(value) >= abs(other) or value * other < 0 or abs(other) - abs(value) > room


def _riser_label(sheet: Sheet, riser: Riser, x: float, y: float, width: float) -> None:
    name = wrap(riser.name[:1].upper() + riser.name[1:], width, 13.5, bold=True, lines=1)
    sheet.text(x, y, name, anchor="middle", bold=True, ink=ACCENT if riser.point else INK)
    sheet.text(x, y + 18, riser.label, anchor="middle", size=13, bold=riser.point)
    if riser.after is not None:
        sheet.text(x, y + 35, f"after {number(riser.after, 2)}", anchor="middle", size=13, ink=QUIET)


def _stair_names_across(sheet: Sheet, profile: Profile, wheel: float, y: Scale) -> None:
    """Each stair is named where the other is not: found below the room line, after above it, beside the wheel."""
    low = min((t.found for t in profile.treads if t.found is not None), default=0.0)
    middle = (y(0) + y(low)) / 2
    sheet.text(wheel + 14, max(middle, y(0) + 18), ["as found", profile.found_flow], bold=True)
    if profile.has_after:
        high = max((t.after for t in profile.treads if t.after is not None), default=0.0)
        middle = min((y(0) + y(high)) / 2, y(0) - 24)
        sheet.text(wheel - 14, middle - 2, ["after repair", profile.after_flow], anchor="end")


def _draw_down(sheet: Sheet, profile: Profile) -> None:
    centre, room_row, row, more, top = sheet.width / 2, 26.0, 80.0, 26.0, 34.0
    reach = centre - 48.0
    scale = reach / max(abs(profile.lowest), profile.highest, 0.01)

    def x(level: float) -> float:
        return centre + scale * level

    heights = [room_row, *(row for _ in profile.treads[1:-1]), room_row + 22]
    wheel_index = [r.part for r in profile.risers].index(WHEEL)
    at, along = [], top
    for n in range(len(profile.risers)):
        along += heights[n] + (more if n in (wheel_index, wheel_index + 1) else 0)
        at.append(along)
    end = along + heights[-1]
    sheet.height = end + 8
    sheet.text(centre - 8, 14, "below the room", anchor="end", ink=QUIET)
    sheet.text(centre + 8, 14, "above", ink=QUIET)
    sheet.line((centre, top - 12), (centre, end), width=RULE)
    for n, riser in enumerate(profile.risers):
        start = profile.treads[n].found
        if riser.usual is not None and start is not None and riser.part != WHEEL:
            sheet.allowed(x(start - riser.usual), at[n] - 22, scale * riser.usual, 14)
    _stairs(sheet, profile, at, top, end, lambda a, level: (x(level), a))
    for n, riser in enumerate(profile.risers):
        returning = n < wheel_index
        side = centre + 10 if returning else centre - 10
        anchor: Anchor = "start" if returning else "end"
        if riser.part == WHEEL:
            after = wrap(f"after repair {profile.after_flow}", centre - 24, 12.5) if profile.has_after else []
            sheet.text(centre + 10, at[n] - 2 - 16 * len(after), after)
            sheet.text(centre - 10, at[n] + 22, ["as found", profile.found_flow], anchor="end", bold=True)
            continue
        y = at[n] - 4 if returning else at[n] - 8
        name = riser.name[:1].upper() + riser.name[1:]
        y = sheet.text(side, y, name, anchor=anchor, bold=True, ink=ACCENT if riser.point else INK)
        y = sheet.text(side, y, riser.label, anchor=anchor, bold=riser.point)
        if riser.after is not None:
            sheet.text(side, y, f"after {number(riser.after, 2)}", anchor=anchor, ink=QUIET)
    edges = [top, *at, end]
    for n, tread in enumerate(profile.treads):
        middle = (edges[n] + edges[n + 1]) / 2 + 4
        if tread.number is None:
            continue
        if tread.found is None:
            words = " ".join([f"tap {tread.number}", "not measured", *_together(profile, n)])
            below_room = n <= wheel_index
            sheet.text(
                6 if below_room else sheet.width - 6,
                middle - 6,
                wrap(words, reach, 12.5),
                anchor="start" if below_room else "end",
            )
            continue
        for value, other, bold in _values(tread):
            if value is not None:
                left = (value < 0) == _outside(value, other, 52 / scale)
                words, at_value = number(value, 2, sign=True), x(value) + (-6 if left else 6)
                far = at_value + (-1 if left else 1) * text_width(words, sheet.text_size, bold)
                if min(at_value, far) < centre < max(at_value, far):  # the room line would strike it through
                    at_value, left = (centre + 6, False) if value < 0 else (centre - 6, True)
                sheet.text(at_value, edges[n] + 0.66 * row, words, anchor="end" if left else "start", bold=bold)
    for n, riser in enumerate(profile.risers):
        start = profile.treads[n].found
        if riser.usual is not None and start is not None and riser.part != WHEEL:
            words = f"{'' if n else 'usual '}≤ {number(riser.usual, 2)}"
            # After the wheel there stands, left of the box, what the part takes.
            left = (
                (x(start - riser.usual) - 4, at[n] - 10, "end")
                if n < wheel_index
                else (x(start) + 6, at[n] - 10, "start")
            )
            sheet.text_where_free([left], [words], ink=QUIET, spare=True)
