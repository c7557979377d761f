"""A case as an exercise: the same steps without the answer, each asked before it is shown."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from causebook import quantity as qty
from causebook.belief.verdict import Role
from causebook.casefile.model import CaseStep
from causebook.knowledge.model import Knowledge, Test
from causebook.workup import Workup
from causebook.writeup import prose, words
from causebook.writeup.answer import Answer, answer
from causebook.writeup.document import Page, render
from causebook.writeup.steps import StepView, step_views

SUSPECTS, CHOICES = 4, 3
"""As many causes to choose from; as many tests at each step."""


@dataclass(frozen=True, slots=True)
class Choice:
    """A test somebody might do next."""

    id: str
    name: str
    minutes: float
    risk: str
    taken: bool
    """Is it what was done in the case?"""


@dataclass(frozen=True, slots=True)
class Guess:
    """A number to foresee: the first reading of a step."""

    name: str
    unit: str
    value: float
    told: str


@dataclass(frozen=True, slots=True)
class Task:
    """One step of the exercise."""

    view: StepView
    choices: tuple[Choice, ...]
    guess: Guess | None
    leads: tuple[tuple[str, str], ...]
    """After the step: the causes in the order of belief, each with its percent."""
    leader: str
    minutes: float


def work_page(workup: Workup) -> Page:
    """The exercise page of one case.  Its title names complaint and equipment, nothing in sight names the cause."""
    given, knowledge = answer(workup), workup.knowledge
    family = knowledge.families[knowledge.resolve(workup.case.file.complaint.family)]
    furnace = workup.case.file.furnace
    equipment = f"{furnace.kind} furnace" if furnace and furnace.kind else "furnace"
    title = f"Work this call: {words.within(family.name)}, {equipment}"
    tasks = tuple(_tasks(workup, given))
    body = (
        f"# {prose.in_markdown(title)}",
        render(
            "work",
            workup=workup,
            suspects=_suspects(workup, given),
            tasks=tasks,
            spent=sum(task.minutes for task in tasks),
            roots=given.roots,
            missed=[t.name for t in workup.verdict.next_tests[:2]],
        ),
        "[Open the case](index.md)",
        render("end"),
    )
    meta = {
        "template": "work.html",
        "description": words.sentence(prose.plain(workup.case.file.complaint.words)),
        "search": {"exclude": True},
        "causebook": {"page": "work", "stop": False},
    }
    return Page(title, meta, "\n\n".join(body) + "\n")


def _suspects(workup: Workup, given: Answer) -> tuple[tuple[str, str], ...]:
    """Causes to choose from, by name: what it was, and what was most believed on the way or is taken for it."""
    peak: dict[str, float] = {}
    for step in workup.verdict.steps:
        for id_, share in step.after.items():
            peak[id_] = max(peak.get(id_, 0.0), share)
    known = workup.knowledge.causes
    roots = [c.id for c in given.roots] or [c.id for c in given.suspects[:1]]
    alike = [a for id_ in roots if id_ in known for a in known[id_].look_alikes]
    others = sorted(peak, key=lambda id_: -peak[id_])
    wanted = [c for c in dict.fromkeys((*roots, *others[:2], *alike, *others)) if c in known and not known[c].residual]
    return tuple(sorted(((id_, known[id_].name) for id_ in wanted[:SUSPECTS]), key=lambda pair: pair[1]))


def _tasks(workup: Workup, given: Answer) -> list[Task]:
    names = {c.id: c.name for c in workup.verdict.causes}
    after: Mapping[str, float] = {}
    done: set[str] = set()
    tasks = []
    for view in step_views(workup):
        if view.step.step.after:
            continue
        weighed = [w for w in workup.verdict.steps if w.step == view.number]
        after = weighed[-1].after if weighed else after
        ranked = sorted((id_ for id_ in after if id_ in names), key=lambda id_: -after[id_])[:3]
        taken = test_of(view.step, workup.knowledge)
        tasks.append(
            Task(
                view,
                _choices(workup, taken, done),
                _guess(workup, view),
                tuple((names[id_], words.percent(after[id_])) for id_ in ranked),
                ranked[0] if ranked else "",
                view.step.step.minutes or (taken.minutes if taken else 0.0),
            )
        )
        done |= {taken.id} if taken else set()
    return tasks


def test_of(step: CaseStep, knowledge: Knowledge) -> Test | None:
    """The test a step amounts to: the one that yields most of what it read and saw."""
    shown = {f for t in step.readings for f in knowledge.readings[t.reading].shows} | set(step.seen)
    best = max(knowledge.tests.values(), key=lambda t: len(shown & set(t.reveals)) / (3 + len(t.reveals)), default=None)
    return best if best is not None and shown & set(best.reveals) else None


def _choices(workup: Workup, taken: Test | None, done: set[str]) -> tuple[Choice, ...]:
    """The test of the case and others that suit its complaint, in the order of their names."""
    if taken is None:
        return ()
    family = workup.knowledge.resolve(workup.case.file.complaint.family)
    roles = (Role.ROOT, Role.HELPED_BY, Role.NOT_IT, Role.OPEN)
    suspects = [workup.knowledge.causes[c.id] for c in workup.verdict.causes if c.role in roles][:8]

    def worth(test: Test) -> float:
        return sum(c.links.get(f, 0.0) for c in suspects for f in test.reveals) / (5 + test.minutes)

    others = [
        test
        for test in workup.knowledge.tests.values()
        if test.id not in done | {taken.id} and (not test.families or family in test.families) and test.risk != "high"
    ]
    best = sorted(others, key=worth, reverse=True)[: CHOICES - 1]
    made = [Choice(t.id, t.name, t.minutes, t.risk, t is taken) for t in (taken, *best)]
    return tuple(sorted(made, key=lambda choice: choice.name))


def _guess(workup: Workup, view: StepView) -> Guess | None:
    counted: Sequence[str] = [read.name for read in view.read if not read.void]
    for taken in view.step.readings:
        known = workup.knowledge.readings[taken.reading]
        kind = words.kind_of(workup.knowledge, taken.reading)
        if known.name in counted and kind.us_text and not known.id.startswith("co-"):
            return Guess(known.name, kind.us_text, qty.us(taken.value, kind), words.both(taken.value, kind)[0])
    return None
