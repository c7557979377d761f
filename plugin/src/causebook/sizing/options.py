"""Two doors of sizing: what could be done, and the return's size."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial
from itertools import combinations

from causebook.belief.verdict import Role, StopNotice, Verdict
from causebook.diagnosis import Diagnosis
from causebook.problems import Fence
from causebook.quantity import CFM
from causebook.sizing import blower
from causebook.sizing.changes import acts_on_air, offered, planned
from causebook.sizing.compare import done
from causebook.sizing.filters import ordinary
from causebook.sizing.found import found
from causebook.sizing.job import Job
from causebook.sizing.judge import NOTHING_ACTS, Judge, unsized
from causebook.sizing.model import Option, ReturnSize
from causebook.sizing.plan import Plan, together
from causebook.sizing.remedies import corrections, larger_supply, second_return
from causebook.sizing.replacement import replaced
from causebook.sizing.return_air import design_airflow, size_return, tons_of
from causebook.survey.model import Survey

NO_PATH = "the readings do not identify the air path"
NOT_WORKED_OUT = "the program failed on this option"


def options(
    surveyed: Survey, diagnosis: Diagnosis, fired: Sequence[StopNotice], fence: Fence | None = None
) -> tuple[Option, ...]:
    """What could be done: each believed cause corrected alone and together, and what the author offered.

    The smallest option that corrects the root, holds and breaks no rule of the plate is recommended; where several
    are as small and as sure, the one the author drew up for this house.  After a stop that no repair ends, only
    another furnace is; while any other stop that `fired` keeps the furnace out of service, nothing is.  An option
    that cannot be worked out says so, and its fault is left with the fence.
    """
    case, system = surveyed.case, found(surveyed, diagnosis)
    fence = fence or Fence(case.path)
    if system is None:
        return tuple(
            unsized(f"offered-{number}", option.name, NO_PATH if acts_on_air(option) else NOTHING_ACTS)
            for number, (_, option) in enumerate(offered(case), 1)
        )
    wanted = design_airflow(surveyed, tons_of(case))
    job = Job(surveyed, system, wanted or system.moments.airflow.value)
    judge = Judge(job, diagnosis.verdict, fired)
    wishes = [
        (f"offered-{n}", o.name, fence.keep(f"reading the option {o.name!r}", partial(planned, o, n, job), None))
        for n, (_, o) in enumerate(offered(case), 1)
    ]
    theirs = [plan for _, _, plan in wishes if plan is not None]
    own = fence.keep("drawing up options", lambda: _unlike(_own(job, diagnosis.verdict, judge), theirs), [])

    def judged(id_: str, name: str, plan: Plan | None, by_author: bool) -> Option:
        failed = unsized(id_, name, NOT_WORKED_OUT, by_author)
        if plan is None:
            return failed
        return fence.keep(f"sizing the option {name!r}", lambda: judge.option(plan, by_author=by_author), failed)

    drawn_up = [judged(id_, name, plan, True) for id_, name, plan in wishes]
    ours = [judged(plan.id, plan.name, plan, False) for plan in own]
    best = judge.best([*drawn_up, *ours])
    return tuple(replace(o, recommended=o is best) for o in [*ours, *drawn_up])


def return_size(surveyed: Survey, offered: Sequence[Option]) -> ReturnSize | None:
    """Return openings found, the legal floor, what the airflow needs, and what closes the gap.

    For the furnace of the option chosen, else recommended, where that is another one.
    """
    taken = done(surveyed.case, offered)
    return size_return(surveyed, taken.furnace if taken else None)


def _unlike(plans: Iterator[Plan], others: Sequence[Plan]) -> list[Plan]:
    """The plans that are not already among the others, by what they change or by name, each once."""
    done = [(p.changes, p.limit_opens) for p in others if p.changes or p.limit_opens]
    names = {p.name for p in others}
    out: list[Plan] = []
    for plan in plans:
        same = (plan.changes, plan.limit_opens)
        if same not in done and plan.name not in names:
            out.append(plan)
            done.append(same)
            names.add(plan.name)
    return out


def _own(job: Job, verdict: Verdict, judge: Judge) -> Iterator[Plan]:
    """The core's own plans: each correction alone, the smallest that is enough, all together, and what tempts."""
    acting = [
        c.id for c in verdict.causes if c.role in (Role.ROOT, Role.HELPED_BY) and job.knowledge.causes[c.id].effects
    ]
    plans = list(corrections(acting, job))
    yield from plans
    frame = job.case.file.filter.size if job.case.file.filter is not None else ""
    if any(p.id == "filter-cabinet" for p in plans) and (plain := ordinary(job.found, frame, job.airflow)) is not None:
        yield plain
    chosen = [list(some) for count in range(1, len(plans) + 1) for some in combinations(plans, count)]
    enough = next((some for some in chosen if judge.holds(together(some))), None)
    if enough is not None and len(enough) > 1:
        yield _short(enough)
    if len(plans) > 1:
        yield _short(plans)
    # Another furnace is not enough on ducts that do not carry it.
    least = enough or [p for p in plans if p.replaces_furnace]
    if least and (quiet := _within_static(least, job, judge)) is not None:
        yield quiet
    rise, high = job.as_found.get("rise"), job.as_found.rise_range[1]
    hot = rise is not None and high is not None and rise.si > high and not any("setting" in p.on for p in plans)
    if hot and (faster := blower.next_up(job.case, job.settings)) is not None:
        yield faster
    yield from replaced(job.surveyed, job.found)


def _short(plans: Sequence[Plan]) -> Plan:
    """Several plans as one, without the calculations that already stand beside each."""
    return replace(together(plans), works=())


def _within_static(enough: Sequence[Plan], job: Job, judge: Judge) -> Plan | None:
    """What is enough and keeps the static rating too: with a larger supply and, if need be, a slower setting; beside
    another furnace with a second return.

    None where the rating is kept already, or where even that does not keep it.
    """
    whole = together(enough)
    if not judge.over_static(judge.solved(whole).told):
        return None
    if whole.replaces_furnace:
        job = replace(job, airflow=max(whole.airflow or 0.0, 400 * (tons_of(job.case) or 0.0) * CFM) or job.airflow)
    ways = [[*enough, *([] if "supply" in whole.on else [larger_supply(job)])]]
    if whole.replaces_furnace and "return" not in whole.on and (second := second_return(job)) is not None:
        ways.append([*ways[-1], second])
    less = job.as_found.terms["airflow"].si * 0.99
    slower = [t.setting for t in job.settings if t.airflow < less and "setting" not in whole.on]
    ways += [[*ways[-1], blower.set_to(job.case, setting, job.settings)] for setting in reversed(slower)]
    for plans in ways:
        whole = together(plans)
        if len(plans) > len(enough) and not judge.over_static(judge.solved(whole).told) and judge.holds(whole):
            return _short(plans)
    return None
