"""The one door into the core: a case goes in, a workup comes out; everything above only shows it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from causebook import quantity as qty
from causebook.belief.after_repair import AfterRepair, after_repair
from causebook.belief.verdict import Role, StopNotice, Verdict
from causebook.casefile.model import Case, CaseStep, Outcome
from causebook.casefile.parts import parts_named
from causebook.casefile.review import objection
from causebook.diagnosis import Diagnosis, diagnose
from causebook.equipment.furnace.start.model import Weighed
from causebook.equipment.furnace.start.view import StartView, view_of
from causebook.knowledge.model import Caution, Knowledge, slug
from causebook.problems import Fence, Problem, did_you_mean
from causebook.sizing.changes import change_problems
from causebook.sizing.compare import compare
from causebook.sizing.model import Compared, Option, ReturnSize
from causebook.sizing.options import options, return_size
from causebook.survey.model import ReadingSet, Survey
from causebook.survey.shown_work import shown_work
from causebook.survey.survey import survey

__all__ = ["StepCaution", "StopNotice", "Workup", "work_up"]


@dataclass(frozen=True, slots=True)
class StepCaution:
    """A caution to stand above the step that carries the risk; step 0 is for the whole page."""

    id: str
    name: str
    text: str
    step: int
    rows: tuple[tuple[str, str], ...] = ()
    """The rungs of its ladder, lowest first: the level, and what everybody does."""


@dataclass(frozen=True, slots=True)
class Workup:
    """Everything the core found out about one case."""

    case: Case
    knowledge: Knowledge
    survey: Survey
    verdict: Verdict
    stops: tuple[StopNotice, ...]
    cautions: tuple[StepCaution, ...]
    options: tuple[Option, ...]
    return_size: ReturnSize | None
    after: tuple[Compared, ...]
    repair: AfterRepair
    """What was looked at after the repair shows of the root concluded, else of the one found here."""
    start: StartView | None = None
    """The start of the furnace as it is shown, where the complaint is one of a start."""
    problems: tuple[Problem, ...] = ()
    """What the review of the reasoning found (warnings; errors stop the case before)."""


def work_up(case: Case, knowledge: Knowledge, upto: int | None = None, fence: Fence | None = None) -> Workup:
    """Work up a case, or what was known of it after step `upto`.

    Deterministic: the same case, knowledge and version give the same workup.  The technician's conclusion is read
    only by the review of the reasoning, after the core has reached its own.

    What comes after the verdict is fenced: an option, a size or a check that fails is left out, and its fault stands
    among the problems.
    """
    fence = fence or Fence(case.path)
    fence.at("judging the readings")
    case = case if upto is None else case.upto(upto)
    surveyed = survey(case, knowledge)
    fence.at("weighing the causes")
    diagnosis = diagnose(case, knowledge, surveyed)
    verdict = diagnosis.verdict
    fired = diagnosis.stops
    if any((s.open and s.out_of_service) or knowledge.stops[s.id].no_repair for s in fired):
        verdict = replace(verdict, outcome=Outcome.STOPPED)
    offered = fence.keep("sizing the options", lambda: options(surveyed, diagnosis, fired, fence), ())
    if any(s.open and s.leave for s in fired):
        offered = tuple(o for o in offered if o.by_author)  # nothing is proposed but leaving
    surveyed = replace(surveyed, works=fence.keep("working the numbers", lambda: shown_work(surveyed), ()))
    roots = [c for c in (case.conclusion.root if case.conclusion else ()) if c in knowledge.causes]
    repair = fence.keep(
        "judging the repair",
        lambda: after_repair(case, surveyed, roots or [c.id for c in verdict.with_role(Role.ROOT)], knowledge),
        AfterRepair(gone=False, goes_on=()),
    )
    size = fence.keep("sizing the return", lambda: return_size(surveyed, offered), None)
    after = fence.keep("holding the repair against its prediction", lambda: compare(surveyed, offered), ())
    checks = fence.keep(
        "reviewing the reasoning",
        lambda: (
            *reviewed(case, surveyed, verdict, knowledge),
            *closing_problems(case, fired),
            *corrected_problems(case, repair, fired),
            *change_problems(case, offered),
        ),
        (),
    )
    return Workup(
        case,
        knowledge,
        surveyed,
        verdict,
        fired,
        cautions(case, fired, knowledge),
        offered,
        size,
        after,
        repair,
        fence.keep("drawing up the start", lambda: _start(diagnosis), None),
        (*checks, *fence.problems),
    )


def _start(diagnosis: Diagnosis) -> StartView | None:
    posterior = diagnosis.posterior
    start = posterior.followed
    return view_of(start, posterior.chance) if isinstance(start, Weighed) else None


# ---------------------------------------------------------------- cautions


def cautions(case: Case, fired: Sequence[StopNotice], knowledge: Knowledge) -> tuple[StepCaution, ...]:
    """Cautions by trigger: those of the whole page first, then each at the step that carries the risk."""
    every = knowledge.cautions.values()
    out = [_caution(c, 0, knowledge) for c in every if not c.triggers and not c.states]
    for step in case.steps:
        ids = _touched(step, fired, knowledge)
        done = {slug(part): state for part, state in step.step.with_.items()}
        out += [_caution(c, step.number, knowledge) for c in every if c.called_by(ids, done)]
    return tuple(out)


def _caution(caution: Caution, step: int, knowledge: Knowledge) -> StepCaution:
    rungs = (knowledge.stops[id_] for id_ in caution.ladder)
    return StepCaution(caution.id, caution.name, caution.text, step, tuple((s.level, s.do) for s in rungs))


def _touched(step: CaseStep, fired: Sequence[StopNotice], knowledge: Knowledge) -> set[str]:
    """Everything that a step has to do with: readings, findings, tests, parts, and the notices that fired in it."""
    parts = [*step.step.with_, *step.step.changed]
    return (
        {taken.reading for taken in step.readings}
        | set(step.seen)
        | {slug(part) for part in parts}
        | {component for part in parts for component in parts_named(part, knowledge)}
        | {test.id for test in knowledge.tests.values() if set(test.reveals) & set(step.seen)}
        | {notice.id for notice in fired if notice.step == step.number}
    )


# ---------------------------------------------------------------- the reasoning, held against the workup


def reviewed(case: Case, surveyed: Survey, verdict: Verdict, knowledge: Knowledge) -> Iterator[Problem]:
    """What the readings say against the case file's own reasoning; each can be answered in the case file."""
    for one in surveyed.sets:
        # A blower that is the fault gives less than its table: that the methods differ is then what was found.
        if one.agree is False and one.phase in ("found", "after") and not _blower_believed(verdict, knowledge):
            flows = " and ".join(f"{qty.show(f.value, f.kind)} by {f.how}" for f in one.airflow[:2])
            yield from objection(
                case,
                "airflow-methods-disagree",
                f"visits.{one.visit}",
                f"{one.name}: {flows}",
                "two airflow methods that agree within 15 %",
                "say which one is believed and why, or answer the rule",
            )
        yield from _adding_up(case, one, knowledge)
    concluded = case.conclusion
    if concluded is None:
        return
    for cause in concluded.root:
        mine = verdict.cause(cause)
        rival = next((c for c in verdict.causes if not knowledge.causes[c.id].residual), None)
        if mine is None or rival is None or knowledge.causes[cause].underlying:
            continue
        if mine.probability < knowledge.constants["unlikely-below"].value:
            yield from objection(
                case,
                "conclusion-unsupported",
                case.place_of_root,
                f"the readings leave {mine.name} {mine.belief} ({mine.probability:.0%}); "
                f"{rival.name} stands at {rival.probability:.0%}",
                "a root that the readings support",
                "add what decided it, or answer the rule",
            )


def closing_problems(case: Case, notices: Sequence[StopNotice]) -> Iterator[Problem]:
    """Where `stop closed` does not say which notice it ends, or names one that had not fired."""
    visits = {s.number: s.visit for s in case.steps}
    for number, visit in enumerate(case.file.visits, 1):
        said = visit.concluded.stop_closed if visit.concluded else ""
        before = [n for n in notices if visits.get(n.step, 1) <= number]
        place = f"visits.{number}.concluded.stop closed"
        if isinstance(said, str):
            open_ = ", ".join(n.id for n in before if n.open)
            if said and open_ and all(n.closed_by != said for n in notices):
                yield from objection(
                    case,
                    "stop-closed-unclear",
                    place,
                    f"does not say which it ends of: {open_}",
                    "for each notice that has ended its id and how, {id: how}",
                )
        else:
            ids = list(dict.fromkeys(n.id for n in before))
            for id_ in said:
                if slug(id_) not in ids:
                    yield from objection(
                        case,
                        "stop-closed-unclear",
                        f"{place}.{id_}",
                        "no such notice had fired",
                        f"one that had: {', '.join(ids) or 'none'}",
                        did_you_mean(id_, ids),
                    )


def corrected_problems(case: Case, repair: AfterRepair, notices: Sequence[StopNotice]) -> Iterator[Problem]:
    """Where a case is called corrected and what was read afterwards does not bear that out."""
    if case.file.outcome not in (Outcome.CORRECTED, Outcome.FIRST_WRONG):
        return
    unshown = []
    if open_ := [n.name for n in notices if n.open]:
        unshown.append((f"a notice is open: {'; '.join(open_)}", "`stop closed:` for each notice that has ended"))
    if repair.goes_on:
        unshown.append(
            (
                f"after the repair there was still: {'; '.join(repair.goes_on)}",
                "readings after the repair in which it is gone",
            )
        )
    elif not repair.gone:
        unshown.append(
            ("nothing looked at afterwards shows it", "a step with `after: repair` and what was read or seen then")
        )
    for said, wanted in unshown:
        yield from objection(
            case,
            "corrected-unshown",
            "outcome",
            f"{case.file.outcome.value!r}, and {said}",
            f"{wanted}, or another outcome",
        )


def _adding_up(case: Case, one: ReadingSet, knowledge: Knowledge) -> Iterator[Problem]:
    """A static that was read as one number, held against the drops that make it up."""
    stated, furnace = one.readings.get("external-static"), case.file.furnace
    drops = {d.part: d for d in one.drops}
    counted = furnace.counted_as_external if furnace else None
    if stated is None or counted is None or not set(counted) <= set(drops):
        return
    total = sum(qty.si(drops[p].value, qty.AIR_PRESSURE) for p in counted)
    spread = sum(qty.si(drops[p].sd, qty.AIR_PRESSURE) ** 2 for p in counted) ** 0.5
    if abs(abs(qty.si(stated.value, qty.AIR_PRESSURE)) - total) > 2 * spread:
        shown = qty.show(qty.from_si(total, qty.AIR_PRESSURE), qty.AIR_PRESSURE)
        yield from objection(
            case,
            "drops-do-not-add-up",
            f"visits.{one.visit}",
            f"{one.name}: static read as {qty.show(stated.value, qty.AIR_PRESSURE)}, drops make {shown}",
            "drops that add up to the static",
            "look for a swapped hose or another boundary",
        )


def _blower_believed(verdict: Verdict, knowledge: Knowledge) -> bool:
    return any(
        knowledge.causes[c.id].side == "blower" and c.probability >= knowledge.constants["likely-from"].value
        for c in verdict.causes
    )
