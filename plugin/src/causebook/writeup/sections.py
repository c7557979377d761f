"""The sections of a worked case, each as Markdown and HTML; empty where there is nothing to say."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from markupsafe import Markup, escape

from causebook import quantity as qty
from causebook.belief.verdict import Expected, Role
from causebook.casefile.model import CaseOption, Job, Opening
from causebook.casefile.review import RULES
from causebook.quantity import Quantity
from causebook.sizing.model import Option
from causebook.survey.model import State
from causebook.workup import Workup
from causebook.writeup import prose, words
from causebook.writeup.answer import Answer, by_role, cause_name, role_word, told_suspects
from causebook.writeup.charts.model import Chart, Missing
from causebook.writeup.document import render
from causebook.writeup.steps import StepView

SHOWN_SUSPECTS = 5
COMPARED_SUSPECTS = 3
TOLD_EVIDENCE = 2
SHOWN_TESTS = 2
_ELSEWHERE = {
    "for-and-against": "evidence",
    "cause-chain": "roles",
    "one-change": "what if",
    "return-sizing": "options",
}
"""Charts that stand in a section of their own subject; all others stand together."""
_SHOWN_BY: Mapping[str, tuple[str, ...]] = {
    "return": ("air-path", "run-log", "blower-and-duct"),
    "supply": ("air-path", "room-bars", "blower-and-duct", "run-log"),
    "blower": ("blower-and-duct", "air-path", "run-log"),
    "gas": ("gas-check", "run-log"),
    "electrical": ("run-log",),
    "equipment": ("run-log", "air-path"),
    "cooling": ("air-path",),
}
"""Side of the cause -> the charts that may show it, the most telling first."""
_OF_HEAT = ("air-path", "run-log", "blower-and-duct", "air-path-at-one-airflow", "return-sizing", "one-change")
"""Charts of heat and air: not drawn for a complaint that these have no part in."""


@dataclass(frozen=True, slots=True)
class _Grid:
    """Weights of evidence by step and suspect."""

    suspects: tuple[str, ...]
    lines: tuple[_GridLine, ...]
    beliefs: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class _GridLine:
    step: int
    evidence: str
    weights: tuple[float | None, ...]


@dataclass(frozen=True, slots=True)
class _ReadLine:
    """One reading, and the range that each suspect alone would have put it in."""

    name: str
    kind: qty.Kind
    read: Quantity
    cells: tuple[Expected | None, ...]


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
        """The charts of one section of the proof: those the complaint has to do with, but for the story's own."""
        told = deciding_chart(self)
        heat = self.air_path
        return [
            c
            for c in self.charts
            if c is not told and _ELSEWHERE.get(c.id, "charts") == section and (heat or c.id not in _OF_HEAT)
        ]

    @property
    def air_path(self) -> bool:
        """Has the complaint to do with heat and air?"""
        known = self.workup.knowledge
        family = known.families.get(known.resolve(self.workup.case.file.complaint.family))
        return family is not None and family.air_path


def _call(sources: Sources) -> str:
    return render(
        "call", workup=sources.workup, brief=_brief(sources.workup), job=job_facts(sources.workup.case.file.job)
    )


def _plate(sources: Sources) -> str:
    file, furnace = sources.workup.case.file, sources.workup.case.file.furnace
    family = sources.workup.knowledge.families.get(sources.workup.knowledge.resolve(file.complaint.family))
    plate = (
        []
        if furnace is None
        else [
            (
                "Furnace",
                ", ".join(
                    filter(
                        None,
                        (
                            furnace.kind,
                            furnace.fuel,
                            furnace.position,
                            "two stages" if furnace.stages == 2 else "",
                            f"made {furnace.made}" if furnace.made else "",
                        ),
                    )
                ),
            ),
            ("Plate input", words.shown(furnace.input, qty.HEAT_RATE)),
            ("Adjusted input", _joined(_maybe(furnace.adjusted_input, qty.HEAT_RATE), furnace.derate_rule)),
            ("Plate output", _maybe(furnace.output, qty.HEAT_RATE)),
            ("Plate rise", words.span(*furnace.rise, qty.TEMPERATURE_DIFFERENCE) if furnace.rise else ""),
            ("Maximum outlet", _maybe(furnace.outlet_maximum, qty.TEMPERATURE)),
            ("Maximum static", _maybe(furnace.static_maximum, qty.AIR_PRESSURE)),
            ("Counted in that", words.listed(furnace.counted_as_external or ())),
            ("Limit opens", _maybe(furnace.limit.opens, qty.TEMPERATURE) if furnace.limit else ""),
            ("Blower starts after", _seconds(furnace.blower_on_delay)),
            ("Blower stops after", _seconds(furnace.blower_off_delay)),
        ]
    )
    pairs = [
        ("Complaint family", family.name if family else ""),
        ("Place", file.site.place),
        ("House", file.site.house),
        *plate,
        (
            "Blower",
            f"{file.blower.motor}{', setting ' + file.blower.setting if file.blower.setting else ''}"
            if file.blower
            else "",
        ),
        ("Told to hold", _maybe(file.blower.airflow_setting, qty.AIRFLOW) if file.blower else ""),
        ("Filter", f"{file.filter.kind} {file.filter.size}".strip() if file.filter else ""),
        (
            "Cooling coil",
            ("none" if file.coil.none else _maybe(file.coil.cooling, qty.COOLING_CAPACITY) or "fitted")
            if file.coil
            else "",
        ),
        ("Return", _openings(file.return_)),
        ("Supply", _openings(file.supply)),
        ("Elevation", _maybe(file.site.elevation, qty.LENGTH)),
        ("Outdoors", _maybe(file.site.outdoors, qty.TEMPERATURE)),
        ("First visit", words.day(file.visits[0].date)),
        *job_facts(file.job),
    ]
    return render("plate", pairs=pairs, brief=_brief(sources.workup))


def job_facts(job: Job) -> tuple[tuple[str, str], ...]:
    """What the company keeps of the job and publishes: the control's code as given, parts, time on site."""
    time = job.time_on_site
    facts = (
        ("Code on the board", words.listed(job.code)),
        ("Parts used", words.listed(job.parts)),
        ("Time on site", words.minutes(qty.si(time, qty.LONG_DURATION) / 60) if time is not None else ""),
    )
    return tuple((name, value) for name, value in facts if value)


def _brief(workup: Workup) -> Markup:
    """The furnace and house in one line."""
    file, furnace = workup.case.file, workup.case.file.furnace
    if furnace is None:
        return escape(words.sentence(file.site.house or "What was known at the door"))
    kind = escape(
        ", ".join(
            filter(
                None,
                (
                    f"{furnace.kind} {furnace.fuel} furnace",
                    furnace.position,
                    f"made {furnace.made}" if furnace.made else "",
                ),
            )
        ).capitalize()
    )
    line = kind + ", " + words.shown(furnace.input, qty.HEAT_RATE)
    if furnace.static_maximum is not None:
        line += Markup("; static at most {}").format(words.shown(furnace.static_maximum, qty.AIR_PRESSURE))
    if furnace.rise:
        line += Markup("; plate rise {}").format(words.span(*furnace.rise, qty.TEMPERATURE_DIFFERENCE))
    # A unit such as "in. w.c." brings its own period.
    return line + ("." if furnace.rise or furnace.static_maximum is None else "")


def _openings(openings: Iterable[Opening]) -> str:
    return words.listed(f"{o.what} {o.size}{o.note and f' ({o.note})'}" for o in openings)


def _joined(*parts: Markup | str) -> Markup:
    return Markup("; ").join(filter(None, parts))


def _maybe(value: Quantity | None, kind: qty.Kind) -> Markup | str:
    return "" if value is None else words.shown(value, kind)


def _seconds(value: Quantity | None) -> str:
    return "" if value is None else qty.show(value, qty.DURATION, 0)


def _steps(sources: Sources) -> str:
    """The steps, visit by visit; one whose answer was wrong is folded: another section says what it missed."""
    parts = []
    wrong = _wrong_visits(sources.workup)
    visits, compared = sources.workup.case.file.visits, _against_prediction(sources)
    for number, visit in enumerate(visits, 1):
        views = [v for v in sources.views if v.step.visit == number]
        if not views:
            continue
        heading = render("visit", number=number, visit=visit, steps=len(views), folded=number in wrong)
        told = [
            block
            for view in views
            for block in (
                f"### {_step_heading(view)}",
                render(
                    "step",
                    view=view,
                    photo_base=sources.photo_base,
                    compared=compared if view.step.step.after == "repair" else "",
                ),
            )
        ]
        if number in wrong:
            parts += [f'<details class="cb-fold cb-spare" markdown>\n{heading}', *told, "</details>"]
        else:
            parts += [heading if len(visits) > 1 else "", *told]
    return "\n\n".join(filter(None, parts))


def _step_heading(view: StepView) -> str:
    minutes = view.step.step.minutes
    time = f" · {words.minutes(minutes)}" if minutes is not None else ""
    return f"Step {view.number}{time} · {prose.in_markdown(view.step.step.do)}"


def _wrong_visits(workup: Workup) -> frozenset[int]:
    """The visits that came to another answer than the case, and fired no stop."""
    own = workup.case.conclusion
    if own is None:
        return frozenset()
    stopped = {s.visit for s in workup.case.steps if s.number in {stop.step for stop in workup.stops}}
    return frozenset(
        number
        for number, visit in enumerate(workup.case.file.visits[:-1], 1)
        if visit.concluded and visit.concluded.root.keys() - own.root.keys() and number not in stopped
    )


def _against_prediction(sources: Sources) -> str:
    """The readings after repair in one line: which came as predicted and which did not."""
    groups = (
        ("Matched the prediction", [c.name for c in sources.workup.after if c.inside]),
        ("Off the prediction", [c.name for c in sources.workup.after if not c.inside]),
    )
    return " ".join(f"{how}: {words.listed(names)}." for how, names in groups if names)


def _decided(sources: Sources) -> str:
    """The one chart that decided it, where one shows it."""
    chart = deciding_chart(sources)
    return render("charts", drawn=[chart], aside=[], missing=(), failed=()) if chart else ""


def deciding_chart(sources: Sources) -> Chart | None:
    """The chart that shows the cause; None where none of those drawn does."""
    lead = (*sources.given.roots, *sources.given.suspects)
    known = sources.workup.knowledge.causes.get(lead[0].id) if lead else None
    drawn = {chart.id: chart for chart in sources.charts}
    wanted = _SHOWN_BY.get(known.side, ()) if known else ()
    kept = [drawn[id_] for id_ in wanted if id_ in drawn and (sources.air_path or id_ not in _OF_HEAT)]
    return kept[0] if kept else None


def _charts(sources: Sources) -> str:
    drawn = sources.drawn("charts")
    failed = [c for c in sources.missing if c.failed]
    if not drawn and not failed:
        return ""
    return render("charts", drawn=[], aside=drawn, missing=(), failed=failed)


def _numbers(sources: Sources) -> str:
    survey = sources.workup.survey
    return render("numbers", workup=sources.workup) if survey.works or any(s.airflow for s in survey.sets) else ""


def _evidence(sources: Sources) -> str:
    findings = [f for f in sources.workup.survey.findings if f.state is not State.NOT_LOOKED_FOR]
    grid = _grid(sources.workup)
    if not grid and not findings:
        return ""
    counts = words.listed(f"{n} {state.value}" for state in State if (n := sum(f.state is state for f in findings)))
    return render("evidence", grid=grid, findings=findings, counts=counts, drawn=sources.drawn("evidence"))


def _grid(workup: Workup) -> _Grid | None:
    suspects = told_suspects(workup, SHOWN_SUSPECTS)
    if not suspects:
        return None
    lines = []
    for step in workup.verdict.steps:
        weights = {w.cause: w.decibans for w in step.weights}
        told = [e.text for e in step.evidence[:TOLD_EVIDENCE]] or [prose.plain(step.did)]
        more = len(step.evidence) - TOLD_EVIDENCE
        lines.append(
            _GridLine(
                step.step,
                "; ".join(told) + (f"; and {more} more" if more > 0 else ""),
                tuple(weights.get(c.id) for c in suspects),
            )
        )
    return _Grid(tuple(c.name for c in suspects), tuple(lines), tuple(c.probability for c in suspects))


def _expected(sources: Sources) -> str:
    verdict = sources.workup.verdict
    suspects = [c for c in verdict.causes if any(e.cause == c.id for e in verdict.expected)][:COMPARED_SUSPECTS]
    if not suspects:
        return ""
    by_cell = {(e.reading, e.cause): e for e in verdict.expected}
    lines = []
    for reading in dict.fromkeys(e.reading for e in verdict.expected if e.read is not None):
        cells = tuple(by_cell.get((reading, c.id)) for c in suspects)
        known = next(cell for cell in cells if cell)
        lines.append(_ReadLine(known.name, known.kind, known.read, cells))
    if not lines:
        return ""
    misfits = [
        (c.name, [words.within(line.name) for line in lines if (cell := line.cells[n]) and cell.fits is False])
        for n, c in enumerate(suspects)
    ]
    return render("expected", suspects=[c.name for c in suspects], lines=lines, misfits=misfits)


def _roles(sources: Sources) -> str:
    workup = sources.workup
    told, further = by_role(workup)
    changes = sources.drawn("what if")
    if not told and not further and not changes:
        return ""
    story = [c for c in told if c.role is not Role.NOT_IT]
    return render(
        "roles",
        workup=workup,
        role_word=role_word,
        causes=story,
        cleared=[c for c in told if c not in story],
        further=further,
        what_ifs=workup.verdict.what_ifs,
        look_alikes=_look_alikes(sources),
        concluded=_concluded(workup),
        drawn=sources.drawn("roles"),
        changes=changes,
    )


def _concluded(workup: Workup) -> list[tuple[str, str, str]]:
    """The technician's own conclusion: role, cause, reason."""
    own = workup.case.conclusion
    if own is None:
        return []
    damage = own.damage_done if isinstance(own.damage_done, Mapping) else {}
    named = (
        (Role.ROOT, own.root),
        (Role.UNDERLYING, own.underlying),
        (Role.HELPED_BY, own.helped_by),
        (Role.DAMAGE, damage),
        (Role.NOT_IT, own.not_it),
    )
    told = [(role.value, cause_name(workup, id_), why) for role, group in named for id_, why in group.items()]
    loose = () if damage else tuple(own.damage_done)
    return [
        *told,
        *((Role.DAMAGE.value, "", text) for text in loose),
        *((Role.ALSO_FOUND.value, "", text) for text in own.also_found),
    ]


def _first_answer(sources: Sources) -> str:
    workup, own = sources.workup, sources.workup.case.conclusion
    earlier = [
        (visit, number, [(cause_name(workup, id_), why) for id_, why in visit.concluded.root.items()])
        for number, visit in enumerate(workup.case.file.visits[:-1], 1)
        if own and visit.concluded and visit.concluded.root.keys() - own.root.keys()
    ]
    flawed = [v for v in sources.views if v.step.step.flaw]
    return render("first_answer", earlier=earlier, flawed=flawed) if earlier else ""


def _limit(sources: Sources) -> str:
    limit = sources.workup.survey.limit
    told = limit is not None and (limit.verdict or limit.switch)
    return render("limit", limit=limit) if told and sources.air_path else ""


def _computes(option: Option) -> bool:
    """Does an option change anything that can be worked out?"""
    return any((option.airflow, option.rise, option.static, option.outlet, option.limit_margin))


def _options(sources: Sources) -> str:
    workup = sources.workup
    wishes: dict[str, CaseOption] = {o.name: o for v in workup.case.file.visits for o in v.options}
    if not workup.options and not workup.return_size and not wishes:
        return ""
    offered = [o for name, o in wishes.items() if name not in {o.name for o in workup.options if _computes(o)}]
    if not offered and not any(_computes(o) for o in workup.options) and not (workup.return_size and sources.air_path):
        return ""
    computed = [o for o in workup.options if _computes(o)]
    shown = [o for o in computed if o.recommended or o.by_author or o.name in wishes] or computed
    return render(
        "options",
        workup=workup,
        wishes=wishes,
        options=shown,
        offered=offered,
        further=[o for o in computed if o not in shown],
        sized=sources.air_path,
        drawn=sources.drawn("options"),
    )


def _after(sources: Sources) -> str:
    return render("after", workup=sources.workup) if sources.workup.after else ""


def _open(sources: Sources) -> str:
    file = sources.workup.case.file
    answers = [(RULES[rule].sentence, why) for rule, why in file.answered.items()]
    out = sources.given.put_out_of_use
    if not file.follow_up and not answers and not out and not any(v.open for v in file.visits):
        return ""
    return render("open", file=file, answers=answers, put_out_of_use=out)


def _next(sources: Sources) -> str:
    """What to do next, in a line each; only what an open notice says where one tells everybody to leave."""
    verdict = sources.workup.verdict
    open_ = [s for s in sources.workup.stops if s.open]
    settle, tests = _settling(sources), verdict.next_tests[:SHOWN_TESTS]
    if any(s.leave for s in open_):
        settle = ()
    if (verdict.answered or not (settle or tests)) and not open_:
        return ""
    return render("next", settle=settle, held=words.held_back(open_), tests=() if verdict.answered else tests)


def _settling(sources: Sources) -> tuple[str, ...]:
    """What would settle it, beside the tests that are named anyway."""
    verdict, conclusion = sources.workup.verdict, sources.workup.case.conclusion
    own = (prose.inline(conclusion.would_settle.rstrip(". ")),) if conclusion and conclusion.would_settle else ()
    tests = tuple(f"{test.name}: " for test in verdict.next_tests)
    return (*own, *(s for s in verdict.would_settle if not s.startswith(tests)))


def _tests(sources: Sources) -> str:
    """The tests worth doing next, each with its reason."""
    tests = sources.workup.verdict.next_tests
    held = words.held_back(sources.workup.stops)
    return render("tests", tests=tests, held=held) if tests else ""


def _proven_good(sources: Sources) -> str:
    good = sources.workup.verdict.proven_good
    parts: dict[str, list[str]] = {}
    for proof in good:
        part, _, why = proof.partition(": ")
        parts.setdefault(part, []).append(why)
    return (
        render("list", items=[words.sentence(f"{part}: {'; '.join(why)}") for part, why in parts.items()])
        if good
        else ""
    )


def _not_looked_for(sources: Sources) -> str:
    names = [f.name for f in sources.workup.survey.findings if f.state is State.NOT_LOOKED_FOR]
    return render("not_looked_for", items=names) if names else ""


def _look_alikes(sources: Sources) -> list[tuple[str, str]]:
    """Causes easily taken for the root, and what tells them apart."""
    known = (sources.workup.knowledge.causes.get(root.id) for root in sources.given.roots)
    return [
        (words.listed(cause_name(sources.workup, id_) for id_ in cause.look_alikes), cause.told_apart_by)
        for cause in known
        if cause and cause.look_alikes and cause.told_apart_by
    ]


def _alike(sources: Sources) -> str:
    alike = _look_alikes(sources)
    return render("alike", look_alikes=alike) if alike else ""


STORY: tuple[tuple[str, Callable[[Sources], str]], ...] = (
    ("The call", _call),
    ("Step by step", _steps),
    ("What proved it", _decided),
    ("The first answer, and what it missed", _first_answer),
    ("What else it could have been", _alike),
    ("Check this next", _next),
    ("Still open", _open),
)
PROOF: tuple[tuple[str, Callable[[Sources], str]], ...] = (
    ("Furnace and house", _plate),
    ("What it was and what it was not", _roles),
    ("What each step did", _evidence),
    ("Expected and read", _expected),
    ("The limit: hot, or weak?", _limit),
    ("Proven good", _proven_good),
    ("Fixes considered", _options),
    ("After the repair", _after),
    ("More tests", _tests),
    ("Charts", _charts),
    ("Numbers behind it", _numbers),
    ("Not checked", _not_looked_for),
)
