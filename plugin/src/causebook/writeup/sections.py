"""The sections of a worked case, each as Markdown and HTML; empty where there is nothing to say."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from markupsafe import Markup

from causebook import quantity as qty
from causebook.casefile.model import CaseOption
from causebook.diagnosis.model import Expected, Role
from causebook.quantity import Quantity
from causebook.survey.model import State
from causebook.workup import Workup
from causebook.writeup import prose, words
from causebook.writeup.answer import Answer, by_role, cause_name
from causebook.writeup.charts.model import Chart, Missing
from causebook.writeup.document import render
from causebook.writeup.steps import StepView

SHOWN_SUSPECTS = 5
_ELSEWHERE = {"for-and-against": "evidence", "cause-chain": "roles", "return-sizing": "options"}
"""Charts that stand in a section of their own subject; all others stand together."""


@dataclass(frozen=True, slots=True)
class _Grid:
    """Weights of evidence by step and suspect."""

    suspects: tuple[str, ...]
    lines: tuple[_GridLine, ...]
    beliefs: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class _GridLine:
    step: int
    evidence: tuple[str, ...]
    weights: tuple[float | None, ...]


@dataclass(frozen=True, slots=True)
class Sources:
    """All that a section may draw on."""

    workup: Workup
    given: Answer
    views: tuple[StepView, ...]
    charts: tuple[Chart, ...]
    missing: tuple[Missing, ...]
    photo_base: str

    def drawn(self, section: str) -> list[Chart]:
        """The charts of one section."""
        return [c for c in self.charts if _ELSEWHERE.get(c.id, "charts") == section]


def _answer(sources: Sources) -> str:
    return render("answer", workup=sources.workup, given=sources.given)


def _door(sources: Sources) -> str:
    file, furnace = sources.workup.case.file, sources.workup.case.file.furnace
    family = sources.workup.knowledge.families.get(sources.workup.knowledge.resolve(file.complaint.family))
    plate = [] if furnace is None else [
        ("Furnace", ", ".join(filter(None, (furnace.kind, furnace.fuel, furnace.position,
                                            "two stages" if furnace.stages == 2 else "",
                                            f"made {furnace.made}" if furnace.made else "")))),
        ("Plate input", words.shown(furnace.input, qty.HEAT_RATE)),
        ("Plate output", _maybe(furnace.output, qty.HEAT_RATE)),
        ("Plate rise", words.span(*furnace.rise, qty.TEMPERATURE_DIFFERENCE) if furnace.rise else ""),
        ("Maximum outlet", _maybe(furnace.outlet_maximum, qty.TEMPERATURE)),
        ("Maximum static", _maybe(furnace.static_maximum, qty.AIR_PRESSURE)),
        ("Counted in that", words.listed(furnace.counted_as_external or ())),
        ("Limit opens", _maybe(furnace.limit.opens, qty.TEMPERATURE) if furnace.limit else ""),
    ]
    pairs = [
        ("Complaint family", family.name if family else ""),
        *plate,
        ("Blower", f"{file.blower.motor}{', setting ' + file.blower.setting if file.blower.setting else ''}"
         if file.blower else ""),
        ("Filter", f"{file.filter.kind} {file.filter.size}".strip() if file.filter else ""),
        ("Cooling coil", ("none" if file.coil.none else _maybe(file.coil.cooling, qty.COOLING_CAPACITY) or "fitted")
         if file.coil else ""),
        ("Return", words.listed(f"{o.what} {o.size}" for o in file.return_)),
        ("Supply", words.listed(f"{o.what} {o.size}" for o in file.supply)),
        ("House", file.site.house),
        ("Elevation", _maybe(file.site.elevation, qty.LENGTH)),
        ("Outdoors", _maybe(file.site.outdoors, qty.TEMPERATURE)),
        ("First visit", words.day(file.visits[0].date)),
    ]
    return render("door", workup=sources.workup, pairs=pairs)


def _maybe(value: Quantity | None, kind: qty.Kind) -> Markup | str:
    return "" if value is None else words.shown(value, kind)


def _steps(sources: Sources) -> str:
    parts, visit = [], 0
    visits = sources.workup.case.file.visits
    for view in sources.views:
        parts.append(render("visit", view=view, visit_begins=view.step.visit != visit and len(visits) > 1,
                             visit_kind=visits[view.step.visit - 1].kind))
        parts += [render("caution", caution=c.caution, told=c.told) for c in view.cautions]
        parts.append(f"### Step {view.number} · {prose.in_markdown(view.step.step.do)}")
        parts.append(render("step", view=view, photo_base=sources.photo_base))
        visit = view.step.visit
    return "\n\n".join(parts)


def _charts(sources: Sources) -> str:
    drawn = sources.drawn("charts")
    return render("charts", drawn=drawn, missing=sources.missing) if drawn or sources.missing else ""


def _numbers(sources: Sources) -> str:
    survey = sources.workup.survey
    return render("numbers", workup=sources.workup) if survey.works or any(s.airflow for s in survey.sets) else ""


def _evidence(sources: Sources) -> str:
    findings = [f for f in sources.workup.survey.findings if f.state is not State.NOT_LOOKED_FOR]
    grid = _grid(sources.workup)
    if not grid and not findings:
        return ""
    return render("evidence", grid=grid, findings=findings, drawn=sources.drawn("evidence"))


def _grid(workup: Workup) -> _Grid | None:
    weighed = {w.cause for s in workup.verdict.steps for w in s.weights}
    suspects = [c for c in workup.verdict.causes if c.id in weighed][:SHOWN_SUSPECTS]
    if not suspects:
        return None
    lines = []
    for step in workup.verdict.steps:
        weights = {w.cause: w.decibans for w in step.weights}
        lines.append(_GridLine(step.step, tuple(e.text for e in step.evidence) or (prose.plain(step.did),),
                               tuple(weights.get(c.id) for c in suspects)))
    return _Grid(tuple(c.name for c in suspects), tuple(lines), tuple(c.probability for c in suspects))


def _expected(sources: Sources) -> str:
    verdict = sources.workup.verdict
    groups: list[tuple[str, list[Expected]]] = []
    for cause in verdict.causes:
        lines = [e for e in verdict.expected if e.cause == cause.id]
        if lines:
            groups.append((cause.name, lines))
    return render("expected", groups=groups) if groups else ""


def _roles(sources: Sources) -> str:
    workup = sources.workup
    causes, further = by_role(workup)
    if not causes:
        return ""
    return render("roles", causes=causes, further=further, what_ifs=workup.verdict.what_ifs,
                  concluded=_concluded(workup), drawn=sources.drawn("roles"))


def _concluded(workup: Workup) -> list[tuple[str, str, str]]:
    """The technician's own conclusion: role, cause, reason."""
    own = workup.case.conclusion
    if own is None:
        return []
    damage = own.damage_done if isinstance(own.damage_done, Mapping) else {}
    named = ((Role.ROOT, own.root), (Role.UNDERLYING, own.underlying), (Role.HELPED_BY, own.helped_by),
             (Role.DAMAGE, damage), (Role.NOT_IT, own.not_it))
    told = [(role.value, cause_name(workup, id_), why) for role, group in named for id_, why in group.items()]
    loose = () if damage else tuple(own.damage_done)
    return [*told, *((Role.DAMAGE.value, "", text) for text in loose),
            *((Role.ALSO_FOUND.value, "", text) for text in own.also_found)]


def _first_answer(sources: Sources) -> str:
    workup = sources.workup
    earlier = [(visit, number, [(cause_name(workup, id_), why) for id_, why in visit.concluded.root.items()])
               for number, visit in enumerate(workup.case.file.visits[:-1], 1)
               if visit.concluded and visit.concluded is not workup.case.conclusion and visit.concluded.root]
    flawed = [v for v in sources.views if v.step.step.flaw]
    return render("first_answer", earlier=earlier, flawed=flawed) if earlier else ""


def _limit(sources: Sources) -> str:
    return render("limit", workup=sources.workup) if sources.workup.survey.limit else ""


def _options(sources: Sources) -> str:
    workup = sources.workup
    wishes: dict[str, CaseOption] = {o.name: o for v in workup.case.file.visits for o in v.options}
    if not workup.options and not workup.return_size and not wishes:
        return ""
    offered = [o for name, o in wishes.items() if name not in {option.name for option in workup.options}]
    return render("options", workup=workup, wishes=wishes, offered=offered, drawn=sources.drawn("options"))


def _after(sources: Sources) -> str:
    return render("after", workup=sources.workup) if sources.workup.after else ""


def _open(sources: Sources) -> str:
    return render("open", workup=sources.workup) if any(v.open for v in sources.workup.case.file.visits) else ""


def _next(sources: Sources) -> str:
    verdict = sources.workup.verdict
    return render("next", workup=sources.workup) if verdict.next_tests or verdict.would_settle else ""


def _proven_good(sources: Sources) -> str:
    good = sources.workup.verdict.proven_good
    return render("list", items=[words.sentence(g) for g in good]) if good else ""


def _not_looked_for(sources: Sources) -> str:
    names = [f.name for f in sources.workup.survey.findings if f.state is State.NOT_LOOKED_FOR]
    return render("not_looked_for", items=names) if names else ""


def _questions(sources: Sources) -> str:
    return render("questions", workup=sources.workup) if sources.workup.case.file.teach.questions else ""


def _mistakes(sources: Sources) -> str:
    mistakes = sources.workup.case.file.teach.mistakes
    return render("prose_list", items=mistakes) if mistakes else ""


def _follow_up(sources: Sources) -> str:
    return render("follow_up", workup=sources.workup, days=_after_days) if sources.workup.case.file.follow_up else ""


def _after_days(time: Quantity) -> str:
    days = time.to("day").magnitude
    return f"{days:.0f} day{'s' if round(days) != 1 else ''}" if days >= 1 else f"{time.to('hour').magnitude:.0f} h"


def _taken_for_it(sources: Sources) -> str:
    """Causes easily taken for the root, and what tells them apart."""
    items = []
    for root in sources.given.roots:
        cause = sources.workup.knowledge.causes.get(root.id)
        if cause and cause.look_alikes and cause.told_apart_by:
            names = words.listed(cause_name(sources.workup, id_) for id_ in cause.look_alikes)
            items.append(f"{names}: {words.sentence(cause.told_apart_by)}")
    return render("list", items=items) if items else ""


def _cautions(sources: Sources) -> str:
    """Every caution of the page once more, by name, with the step it stands above."""
    first: dict[str, str] = {}
    for caution in sources.workup.cautions:
        if caution.step:
            first.setdefault(caution.id, f"{caution.name}: before step {caution.step}. {prose.plain(caution.text)}")
    return render("list", items=list(first.values())) if first else ""


def print_answers(sources: Sources) -> str:
    """All answers at the end, for print: what a closed fold would keep back."""
    if any(v.reveals for v in sources.views) or sources.workup.case.file.teach.questions:
        return render("print_answers", workup=sources.workup, views=sources.views)
    return ""


SECTIONS: tuple[tuple[str, Callable[[Sources], str]], ...] = (
    ("The answer", _answer),
    ("At the door", _door),
    ("Step by step", _steps),
    ("The readings, drawn", _charts),
    ("The numbers, worked", _numbers),
    ("For and against", _evidence),
    ("Expected and read", _expected),
    ("Roles, and what decided them", _roles),
    ("The first answer, and what it missed", _first_answer),
    ("The limit: hot, or wrong?", _limit),
    ("What could be done", _options),
    ("After the repair", _after),
    ("What stays open", _open),
    ("What else would tell", _next),
    ("Proven good", _proven_good),
    ("Not looked for", _not_looked_for),
    ("Questions", _questions),
    ("Common mistakes", _mistakes),
    ("Follow-up", _follow_up),
    ("Easily taken for it", _taken_for_it),
    ("Cautions of this page", _cautions),
)
