"""Cause chain: how did it come about?

From what underlies it through the root and what it does to the reading and the complaint.  What helped joins with a
plus; damage done branches off, or stands in the line where it is what brought the complaint; what was ruled out stands
struck below.  Each arrow says how it is known: by a
reading, by calculation, or by judgment.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from causebook.belief.verdict import CauseBelief, Role
from causebook.quantity import AIR_PRESSURE, AIRFLOW, TEMPERATURE, TEMPERATURE_DIFFERENCE, show, us
from causebook.workup import Workup
from causebook.writeup.answer import decided, least_airflow
from causebook.writeup.charts import runlog
from causebook.writeup.charts.layers import layered
from causebook.writeup.charts.model import Chart, Missing, drawn
from causebook.writeup.charts.style import (
    ACCENT,
    DASHED,
    DOTTED,
    INK,
    PAPER,
    QUIET,
    RULE,
    SOLID,
    Sheet,
    clock,
    joined,
    mid_sentence,
    number,
    sentence_of,
    text_width,
    wrap,
)

ID, TITLE, QUESTION = "cause-chain", "Cause chain", "How did it come about?"
READING, CALCULATION, JUDGMENT = "reading", "calculation", "judgment"
_DASHES = {READING: SOLID, CALCULATION: DASHED, JUDGMENT: DOTTED}
_NOTE = (
    "Arrows known by reading are solid, by calculation dashed, by judgment dotted. The heavy frame is the root. "
    "Struck: ruled out, and why."
)
_AIR = "Too little air"
_HOT = "Too much heat"
_DECIDED = "what decided it"
_NOT_IT = 5


@dataclass(frozen=True, slots=True)
class Node:
    """One box: its place in the story, what it is, and the numbers."""

    id: str
    role: str
    name: str
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Arrow:
    """One arrow, and how it is known."""

    source: str
    target: str
    tag: str
    joins: bool = False
    """Joins the arrow of the root with a plus."""


@dataclass(frozen=True, slots=True)
class View:
    """All that is drawn."""

    nodes: tuple[Node, ...]
    arrows: tuple[Arrow, ...]
    damage: tuple[Node, ...]
    not_it: tuple[tuple[str, str], ...]

    def node(self, id_: str) -> Node:
        """One node by id."""
        return next(n for n in self.nodes if n.id == id_)

    @property
    def layers(self) -> list[list[str]]:
        """Node ids in layers, in the direction of the arrows."""
        return layered([n.id for n in self.nodes], [(a.source, a.target) for a in self.arrows])


# ---------------------------------------------------------------- the story


def _underlying(workup: Workup) -> list[Node]:
    names = [(c.id, c.name) for c in workup.verdict.with_role(Role.UNDERLYING)]
    said = workup.case.conclusion.underlying if workup.case.conclusion else {}
    known = workup.knowledge.causes
    names += [
        (id_, known[id_].name if id_ in known else id_.replace("-", " ").capitalize())
        for id_ in said
        if id_ not in dict(names)
    ]
    return [Node(f"under-{id_}", "underlying", name) for id_, name in names]


def _through(workup: Workup, root: CauseBelief) -> tuple[CauseBelief, ...]:
    """The damage that brought the complaint: it is a commoner cause of such complaints than the root is."""
    family, known = workup.knowledge.resolve(workup.case.file.complaint.family), workup.knowledge.causes

    def brings(id_: str) -> float:
        return known[id_].priors.get(family, 0.0) if id_ in known else 0.0

    return tuple(d for d in workup.verdict.with_role(Role.DAMAGE) if brings(d.id) > brings(root.id))


def _damage(workup: Workup, through: tuple[CauseBelief, ...]) -> tuple[Node, ...]:
    names = [c.name for c in workup.verdict.with_role(Role.DAMAGE) if c not in through]
    conclusion = workup.case.conclusion
    known, told = workup.knowledge.causes, {c.name for c in through}
    for said in conclusion.damage_done if conclusion else ():
        name = known[said].name if said in known else said
        names += [name] if name not in {*names, *told} else []
    return tuple(Node(f"damage-{n}", "damage done", name) for n, name in enumerate(names[:2]))


def _does(workup: Workup, cause: CauseBelief) -> Node | None:
    """What a cause does to air or heat, with the airflow and the static where those are the matter."""
    entry = workup.knowledge.causes.get(cause.id)
    if entry is None or not entry.effects:
        return None
    on = workup.knowledge.unknowns[entry.effects[0].on]
    name = on.does
    found, detail = workup.survey.found, ""
    if name == _AIR:
        detail = _air(workup)
    elif on.of == "input" and found is not None and found.input is not None and workup.survey.plate_input:
        share = float((found.input.value / workup.survey.plate_input).to("").magnitude)
        name = _HOT if share > 1 else "Too little heat"
        furnace = workup.case.file.furnace
        adjusted = furnace is not None and furnace.adjusted_input is not None
        detail = f"{number(100 * share)} % of the plate{' at this altitude' if adjusted else ''}"
    return Node("does", "what it does", name, detail)


def _air(workup: Workup) -> str:
    """The airflow against what is needed, and a static above its rating: both follow from the cause, side by side."""
    found, furnace, least = workup.survey.found, workup.case.file.furnace, least_airflow(workup)
    parts = []
    if found is not None and found.best_airflow is not None:
        short = least is not None and found.best_airflow.value < least
        parts.append(
            show(found.best_airflow.value, AIRFLOW)
            + (f", {number(us(least, AIRFLOW))} needed at least" if least is not None and short else "")
        )
    rated = furnace.static_maximum if furnace is not None else None
    if found is not None and found.static is not None and rated is not None and found.static.value > rated:
        parts.append(f"static {show(found.static.value, AIR_PRESSURE)}, rated {number(us(rated, AIR_PRESSURE), 2)}")
    return "; ".join(parts)


def _reading(workup: Workup, does: Node | None) -> Node | None:
    """The reading that shows it: the limit's own, or the rise; for all other faults what decided."""
    found, furnace, limit = workup.survey.found, workup.case.file.furnace, workup.survey.limit
    if does is None:
        told, _ = decided(workup)
        return Node("reading", _DECIDED, told) if told else None
    early = does.name == workup.knowledge.unknowns["limit"].does
    if early and limit is not None and limit.opened_at is not None and limit.marked is not None:
        return Node(
            "reading",
            "reading",
            f"Limit opened at {show(limit.opened_at.value, TEMPERATURE)}",
            f"marked {show(limit.marked, TEMPERATURE)}",
        )
    if found is not None and found.rise is not None and furnace is not None and furnace.rise is not None:
        low, high = (number(us(r, TEMPERATURE_DIFFERENCE)) for r in furnace.rise)
        return Node(
            "reading", "reading", f"Rise {show(found.rise.value, TEMPERATURE_DIFFERENCE)}", f"plate: {low} to {high} °F"
        )
    return None


def _known_by(workup: Workup, cause: CauseBelief) -> str:
    """How it is known that a cause does what it does."""
    entry = workup.knowledge.causes.get(cause.id)
    on = entry.effects[0].on if entry is not None and entry.effects else ""
    found = workup.survey.found
    known = workup.knowledge.unknowns.get(on)
    clocked = known is not None and known.of == "input" and found is not None and found.input is not None
    if clocked or (found is not None and any(d.part == on for d in found.drops)):
        return READING
    return CALCULATION if any(cause.id in w.repairs for w in workup.verdict.what_ifs) else JUDGMENT


def _story(workup: Workup, roots: tuple[CauseBelief, ...]) -> View:
    under = _underlying(workup)
    helpers = workup.verdict.with_role(Role.HELPED_BY)
    does = _does(workup, roots[0])
    reading = _reading(workup, does)
    family = workup.knowledge.families.get(workup.case.file.complaint.family)
    trips = [runlog.trips_of(log, workup)[0] for log in workup.survey.logs if log.trips]
    complaint = Node(
        "complaint",
        "complaint",
        family.name if family else workup.case.file.complaint.family,
        f"{clock(60 * trips[0].minute)} after lighting" if trips else "",
    )
    through = _through(workup, roots[0])
    if through and reading is None and does is not None and does.name in (_AIR, _HOT):
        reading = Node("reading", "what followed", "Metal too hot")
    harm = Node("through", "damage done", joined([d.name for d in through])) if through else None
    line = [n for n in (does, reading, harm, complaint) if n is not None]
    tags = {
        "does": CALCULATION if does is not None and does.detail else JUDGMENT,
        "reading": READING if trips else JUDGMENT,
        "through": JUDGMENT,
    }
    nodes = [
        *under,
        *(Node(c.id, "cause", c.name) for c in roots),
        *(Node(c.id, "contributing", c.name) for c in helpers),
        *line,
    ]
    arrows = [Arrow(u.id, roots[0].id, JUDGMENT) for u in under]
    arrows += [Arrow(c.id, line[0].id, _known_by(workup, c), joins=n > 0) for n, c in enumerate((*roots, *helpers))]
    arrows += [Arrow(a.id, b.id, tags[a.id]) for a, b in pairwise(line)]
    not_it = tuple((c.name, c.why) for c in workup.verdict.with_role(Role.NOT_IT) if c.why)[:_NOT_IT]
    return View(tuple(nodes), tuple(arrows), _damage(workup, through), not_it)


def chart(workup: Workup) -> Chart | Missing:
    """The chain, when there is a root to begin it."""
    roots = workup.verdict.with_role(Role.ROOT) if workup.verdict.answered else ()
    if not roots:
        return Missing(ID, TITLE, "not drawn: no root is settled")
    view = _story(workup, roots)
    return drawn(
        ID,
        TITLE,
        QUESTION,
        _sentence(view),
        lambda s, narrow: (_draw_down if narrow else _draw_across)(s, view),
        _table(view),
        _NOTE,
    )


def _told(node: Node) -> str:
    return mid_sentence(node.name) + (f" ({node.detail})" if node.detail else "")


def _sentence(view: View) -> str:
    def those(role: str) -> list[str]:
        return [_told(n) for n in view.nodes if n.role == role]

    text = f"cause: {joined(those('cause'))}"
    if helped := those("contributing"):
        text += f"; contributing: {joined(helped)}"
    if under := those("underlying"):
        text += f"; underlying: {joined(under)}"
    line = ("does", "reading", "through", "complaint")
    followed = [_told(n) for n in view.nodes if n.id in line and n.role != _DECIDED]
    text = f"{sentence_of(text)} {sentence_of('what followed: ' + ', '.join(followed))}"
    return " ".join([text, *(sentence_of(f"{_DECIDED}: {told}") for told in those(_DECIDED))])


def _table(view: View) -> tuple[tuple[str, ...], ...]:
    rows: list[tuple[str, ...]] = [("Place in the story", "What", "Leads to", "Known by", "Cleared by")]
    out = {a.source: a for a in view.arrows}
    for node in view.nodes:
        arrow = out.get(node.id)
        what = node.name + (f", {node.detail}" if node.detail else "")
        rows.append((node.role, what, view.node(arrow.target).name if arrow else "", arrow.tag if arrow else "", ""))
    rows += [(d.role, d.name, "", JUDGMENT, "") for d in view.damage]
    rows += [("not it", name, "", "", why) for name, why in view.not_it]
    return tuple(rows)


# ---------------------------------------------------------------- how it is drawn


@dataclass(frozen=True, slots=True)
class _Box:
    """A node's place on the sheet."""

    x: float
    y: float
    width: float
    height: float

    @property
    def middle(self) -> float:
        """Half its height down."""
        return self.y + self.height / 2


def _lines(node: Node, width: float, size: float) -> tuple[list[str], list[str]]:
    return wrap(node.name, width - 16, size, bold=True, lines=6), wrap(node.detail, width - 16, size, lines=6)


def _height(node: Node, width: float, size: float) -> float:
    name, detail = _lines(node, width, size)
    return 1.25 * size * (1 + len(name) + (len(detail) if node.detail else 0)) + 14


def _put(sheet: Sheet, node: Node, box: _Box) -> None:
    size = 13.0 if not sheet.narrow else 12.5
    root = node.role == "cause"
    sheet.box(box.x, box.y, box.width, box.height, fill=PAPER, edge=ACCENT if root else INK, line=3.5 if root else 1.25)
    name, detail = _lines(node, box.width, size)
    y = sheet.text(box.x + 8, box.y + 17, node.role, size=size, ink=ACCENT if root else QUIET, bold=root)
    y = sheet.text(box.x + 8, y, name, size=size, bold=True)
    if node.detail:
        sheet.text(box.x + 8, y, detail, size=size)


def _plus(sheet: Sheet, x: float, y: float) -> None:
    sheet.ellipse(x, y, 8, 8, fill=PAPER, line=1.5)
    sheet.line((x - 4.5, y), (x + 4.5, y), width=1.75)
    sheet.line((x, y - 4.5), (x, y + 4.5), width=1.75)


def _draw_across(sheet: Sheet, view: View) -> None:
    layers = view.layers
    gap = 42.0 if len(layers) > 4 else 56.0
    width = (sheet.width - 4 - gap * (len(layers) - 1)) / len(layers)
    heights = {n.id: _height(n, width, 13.0) for n in view.nodes}
    firsts = max(heights[layer[0]] for layer in layers)
    above = (max(_height(d, width * 1.4, 13.0) for d in view.damage) + 40) if view.damage else 0.0
    axis = above + 30 + firsts / 2
    boxes: dict[str, _Box] = {}
    for n, layer in enumerate(layers):
        y = axis - heights[layer[0]] / 2
        for id_ in layer:
            boxes[id_] = _Box(2 + n * (width + gap), y, width, heights[id_])
            y += heights[id_] + 22
    tops = above + 14
    for arrow in view.arrows:
        _arrow_across(sheet, arrow, boxes, axis, tops, gap)
    for node in view.nodes:
        _put(sheet, node, boxes[node.id])
    for n, node in enumerate(view.damage):
        start = boxes["does" if "does" in boxes else "reading" if "reading" in boxes else "complaint"]
        box = _Box(
            min(start.x + n * (width * 1.4 + 20), sheet.width - 2 - width * 1.4),
            2,
            width * 1.4,
            _height(node, width * 1.4, 13.0),
        )
        x = start.x + start.width / 2
        sheet.arrow((x, start.y), (x, box.y + box.height), dash=DOTTED) if n == 0 else sheet.line(
            (box.x - 20, box.middle), (box.x, box.middle), dash=DOTTED
        )
        if n == 0:
            sheet.text(x + 8, box.y + box.height + 22, JUDGMENT, size=13, ink=QUIET)
        _put(sheet, node, box)
    bottom = max(b.y + b.height for b in boxes.values())
    sheet.height = _draw_not_it(sheet, view, bottom + 16)


def _arrow_across(sheet: Sheet, arrow: Arrow, boxes: dict[str, _Box], axis: float, tops: float, gap: float) -> None:
    """A straight arrow on the axis, or one that joins it from below; its tag above the gap or beside the join."""
    source, target = boxes[arrow.source], boxes[arrow.target]
    right, dash = source.x + source.width, _DASHES[arrow.tag]
    join = right + gap * 0.36
    if arrow.joins:
        sheet.line((right, source.middle), (join, source.middle), (join, axis + 8), dash=dash)
        _plus(sheet, join, axis)
        sheet.text(join + 8, source.middle + 4.5, arrow.tag, size=13, ink=QUIET)
        return
    if abs(source.middle - target.middle) > 1:  # one of several that lie underneath the same root
        sheet.line((right, source.middle), (join, source.middle), (join, axis), dash=dash)
        return
    sheet.arrow((right, axis), (target.x, axis), dash=dash)
    centre = (right + target.x) / 2
    sheet.line((centre, tops + 6), (centre, axis - 5), width=0.75, ink=QUIET)
    sheet.text(centre, tops, arrow.tag, anchor="middle", size=13, ink=QUIET)


def _draw_down(sheet: Sheet, view: View) -> None:
    width, x, y = 236.0, 2.0, 2.0
    for layer in view.layers:
        arrow = None
        for n, id_ in enumerate(layer):
            node = view.node(id_)
            arrow = next((a for a in view.arrows if a.source == id_ and not a.joins), arrow)
            own = next((a for a in view.arrows if a.source == id_), None)
            if n:
                _plus(sheet, x + 20, y + 11)
                if own is not None and own.joins:
                    sheet.text(x + 38, y + 15, own.tag, ink=QUIET)
                y += 22
            box = _Box(x, y, width, _height(node, width, 12.5))
            _put(sheet, node, box)
            if node.id == "does" and view.damage:
                y = _damage_down(sheet, view, box, _DASHES[own.tag] if own is not None else SOLID)
            y = max(y, box.y + box.height)
        if arrow is not None:
            sheet.arrow((x + 20, y), (x + 20, y + 34), dash=_DASHES[arrow.tag])
            sheet.text(x + 38, y + 21, arrow.tag, ink=QUIET)
            y += 34
    sheet.height = _draw_not_it(sheet, view, y + 14)


def _damage_down(sheet: Sheet, view: View, start: _Box, dash: tuple[float, ...]) -> float:
    """Damage branches off to the right, below what did it, and leaves the line of the story."""
    y = start.y + start.height
    for node in view.damage:
        box = _Box(78, y + 24, sheet.width - 80, _height(node, sheet.width - 80, 12.5))
        sheet.arrow((56, start.y + start.height), (56, box.middle), (box.x, box.middle), dash=DOTTED)
        sheet.text(80, box.y - 6, JUDGMENT, ink=QUIET)
        _put(sheet, node, box)
        y = box.y + box.height
    sheet.line((22, start.y + start.height), (22, y), dash=dash)
    return y


def _draw_not_it(sheet: Sheet, view: View, top: float) -> float:
    """Ruled-out suspects, struck, with the reason beside or below each; returns the height of the sheet."""
    if not view.not_it:
        return top
    sheet.line((0, top), (sheet.width, top), width=RULE, ink=QUIET)
    size = sheet.text_size if sheet.narrow else 13.0
    y = sheet.text(0, top + 20, "not it", size=size, ink=QUIET)
    column = 0.0 if sheet.narrow else min(260.0, max(text_width(n, size) for n, _ in view.not_it) + 20)
    for name, why in view.not_it:
        names = wrap(name, (column or sheet.width) - 10, size)
        after_name = y
        for words in names:
            after_name = sheet.text(0, after_name, words, size=size, struck=True)
        reasons = wrap(why, sheet.width - column - 4 - (14 if sheet.narrow else 0), size, lines=3) if why else []
        after_why = sheet.text(column or 14, after_name if sheet.narrow else y, reasons, size=size)
        y = max(after_name, after_why) + 4
    return y - 8
