"""Options put back into the identified furnace and air path, each with the readings it predicts: the three doors."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Literal

from causebook import quantity as qty
from causebook.casefile.model import Case
from causebook.diagnosis.diagnose import Diagnosis
from causebook.diagnosis.model import Role, Verdict
from causebook.knowledge.model import Knowledge
from causebook.physics.uncertain import Uncertain, probability_above
from causebook.sizing import blower
from causebook.sizing.changes import Job, offered, planned
from causebook.sizing.compare import compare
from causebook.sizing.filters import ordinary
from causebook.sizing.found import Found, found
from causebook.sizing.model import Compared, Option, Predicted, ReturnSize
from causebook.sizing.plan import Foretold, Plan, foretell, together
from causebook.sizing.remedies import corrections
from causebook.sizing.replacement import cooling_work, replaced
from causebook.sizing.return_air import design_airflow, inlet_break, size_return, tons_of
from causebook.sizing.shapes import CFM, text
from causebook.survey.heat import heat_of
from causebook.survey.model import Survey, Work

SURE = 0.8
"""Probability with which an option must hold before it is recommended; expert estimate."""
Holds = Literal["complaint and reading", "complaint only", "neither", "not computed"]


def options(case: Case, surveyed: Survey, diagnosis: Diagnosis, knowledge: Knowledge) -> tuple[Option, ...]:
    """What could be done: each believed cause corrected alone and together, and what the author offered.

    The smallest option that corrects the root, holds and breaks no rule of the plate is recommended; where several
    are as small, the one the author drew up for this house.
    """
    system = found(case, surveyed, diagnosis, knowledge)
    if system is None:
        return tuple(_unsized(place, name, "the readings do not identify the air path") for place, name in _asked(case))
    tons = tons_of(case)
    wanted = design_airflow(surveyed, tons if system.evidence.cooling_airflow_needed is not None else None)
    job = Job(case, surveyed, system, knowledge, wanted or system.moments.airflow.value)
    judge = Judge(job, diagnosis.verdict)
    own = [judge.judged(plan) for plan in _own(job, diagnosis.verdict, judge)]
    theirs = [judge.judged(planned(option, number, job), by_author=True)
              for number, (_, option) in enumerate(offered(case), 1) if option.change]
    theirs += [_unsized(place, name, "no change to compute") for place, name in _asked(case, empty=True)]
    best = judge.best([*theirs, *own])
    order = {o.name: n for n, (_, o) in enumerate(offered(case))}
    theirs.sort(key=lambda o: order[o.name])
    return tuple(replace(o, recommended=o is best) for o in [*own, *theirs])


def return_size(case: Case, surveyed: Survey, knowledge: Knowledge) -> ReturnSize | None:
    """Return openings found, the legal floor, what the airflow needs, and what closes the gap."""
    return size_return(case, surveyed, heat_of(case, knowledge), knowledge)


def compared(case: Case, surveyed: Survey, offered: Sequence[Option], knowledge: Knowledge) -> tuple[Compared, ...]:
    """The readings after repair held against what the option that was done had promised."""
    return compare(case, surveyed, offered)


# ---------------------------------------------------------------------------------------------- which options

def _own(job: Job, verdict: Verdict, judge: Judge) -> Iterator[Plan]:
    """The core's own plans: each correction alone, the smallest that is enough, all together, and what tempts."""
    acting = [c.id for c in verdict.causes
              if c.role in (Role.ROOT, Role.HELPED_BY) and job.knowledge.causes[c.id].effects]
    plans = list(corrections(acting, job))
    yield from plans
    if any("filter" in p.on for p in plans) and job.case.file.filter is not None and all(p.id != "new-filter" for p in plans):
        plain = ordinary(job.found, job.case.file.filter.size, job.airflow)
        if plain is not None:
            yield plain
    enough = next((together(chosen) for count in range(1, len(plans)) for chosen in combinations(plans, count)
                   if judge.holds(together(chosen))), None)
    everything = together(plans) if len(plans) > 1 else None
    if enough is not None and "+" in enough.id:
        yield enough
    if everything is not None:
        yield everything
    rise = foretell(job.found, Plan("", "", ())).get("rise")
    high = job.found.system.plate.rise_maximum
    if rise is not None and high is not None and rise.si > high and not any("setting" in p.on for p in plans):
        faster = blower.next_up(job.case, job.found)
        if faster is not None:
            yield faster
    drawn = {p.id for p in plans}
    yield from (p for p in replaced(job.case, job.surveyed, job.found, heat_of(job.case, job.knowledge)) if p.id not in drawn)


def _asked(case: Case, empty: bool = False) -> Iterator[tuple[str, str]]:
    """Ids and names of the author's options, or only of those that change nothing."""
    for number, (_, option) in enumerate(offered(case), 1):
        if not (empty and option.change):
            yield f"offered-{number}", option.name


def _unsized(id_: str, name: str, why: str) -> Option:
    return Option(id_, name, (), (), None, None, None, None, None, None, "not computed", f"Not computed: {why}.",
                  by_author=True)


# ---------------------------------------------------------------------------------------------- what they are worth

@dataclass(frozen=True)
class Verified:
    """A plan solved: what it shows, and with which probability complaint and reading are right."""

    plan: Plan
    told: Foretold
    complaint: float | None
    reading: float | None
    breaks: tuple[str, ...]


class Judge:
    """Weighs plans on one job."""

    def __init__(self, job: Job, verdict: Verdict) -> None:
        self.job = job
        self.roots = [c.id for c in verdict.with_role(Role.ROOT)]
        self.acting = [c.id for c in verdict.causes if c.role in (Role.ROOT, Role.HELPED_BY)]
        likely = job.knowledge.constants["likely-from"].value
        stops = [job.knowledge.stops[job.knowledge.causes[c.id].stop] for c in verdict.causes
                 if c.probability >= likely and job.knowledge.causes[c.id].stop]
        self.beyond_repair = any(s.no_repair for s in stops)
        self._solved: dict[str, Verified] = {}
        self._plans: dict[str, Plan] = {}

    def solved(self, plan: Plan) -> Verified:
        """The plan carried out and solved; each id once."""
        if plan.id not in self._solved:
            told = foretell(self.job.found, plan)
            self._solved[plan.id] = Verified(plan, told, self._complaint(told), self._reading(told), self._broken(plan, told))
        return self._solved[plan.id]

    def holds(self, plan: Plan) -> bool:
        """Does it end the complaint and bring the reading into range, surely enough, and break nothing?"""
        one = self.solved(plan)
        return (self._sure(one.complaint) and self._sure(one.reading) and not one.breaks and not plan.short_of
                and (one.complaint is not None or one.reading is not None))

    def repairs(self, plan: Plan) -> tuple[str, ...]:
        """The causes of which the plan puts everything right."""
        effects = {c: {e.on for e in self.job.knowledge.causes[c].effects} for c in self.acting}
        if plan.replaces_furnace:
            return tuple(c for c in self.acting if effects[c] <= plan.on or "smaller-furnace" in self.job.knowledge.causes[c].remedies
                         or self.job.knowledge.causes[c].stop == "breach")
        return tuple(c for c, on in effects.items() if on and on <= plan.on)

    def best(self, candidates: Sequence[Option]) -> Option | None:
        """The smallest that holds, corrects the root and breaks nothing; None where there is none."""
        able = [o for o in candidates if o.id in self._solved and self._may(o)]
        return min(able, key=lambda o: self._solved[o.id].plan.size, default=None)

    def _may(self, option: Option) -> bool:
        plan = self._solved[option.id].plan
        if option.breaks_plate or option.not_understood or not self.holds(plan):
            return False
        return bool(set(self.roots) & set(option.repairs))

    def judged(self, plan: Plan, by_author: bool = False) -> Option:
        """The plan as an option, with what it predicts and what it leaves."""
        if not plan.changes and plan.limit_opens is None:
            return replace(_unsized(plan.id, plan.name, "; ".join(plan.not_understood) or "no change to compute"),
                           scope=plan.scope, not_understood=plan.not_understood, by_author=by_author)
        try:
            one = self.solved(plan)
        except (KeyError, ValueError) as problem:
            return replace(_unsized(plan.id, plan.name, str(problem.args[0])), scope=plan.scope, by_author=by_author)
        told = one.told
        margin = told.get("limit margin")
        holds = self._word(one)
        leaves = self._leaves(told)
        return Option(
            plan.id, plan.name, plan.scope, self.repairs(plan), _predicted("airflow", told.get("airflow")),
            _predicted("rise", told.get("rise")), _predicted("external static", told.get("static")),
            _predicted("outlet", told.get("outlet")), _predicted("limit margin", margin), None if margin is None else margin.si < 0,
            holds, self._says(one, holds, leaves), one.breaks, False, by_author, (*plan.works, *self._works(told)), leaves,
            tuple(d for part in told.terms if part.startswith("drop ") and part.removeprefix("drop ") in _SHOWN
                  if (d := _predicted(f"{part.removeprefix('drop ')} drop", told.get(part))) is not None), plan.not_understood)

    # ------------------------------------------------------------------ probabilities

    def _complaint(self, told: Foretold) -> float | None:
        """Chance that the complaint is gone: the limit stays closed; for cooling, the coil does not freeze."""
        need = self.job.found.evidence.cooling_airflow_needed
        if need is not None:
            return probability_above(told.terms["airflow"], need)
        margin = told.get("limit margin")
        return None if margin is None else probability_above(margin, 0.0)

    def _reading(self, told: Foretold) -> float | None:
        """Chance that the reading is in range: the rise; for cooling, 350 cfm a ton."""
        tons = tons_of(self.job.case)
        if self.job.found.evidence.cooling_airflow_needed is not None and tons:
            least = self.job.knowledge.constants["cooling-airflow-least"].value * tons * CFM
            return probability_above(told.terms["airflow"], least)
        rise, (low, high) = told.get("rise"), told.rise_range
        if rise is None or high is None:
            return None
        return probability_above(rise, low or 0.0) - probability_above(rise, high)

    @staticmethod
    def _sure(chance: float | None) -> bool:
        return chance is None or chance >= SURE

    @staticmethod
    def _word(one: Verified) -> Holds:
        if one.complaint is None and one.reading is None:
            return "not computed"
        if one.complaint is not None and one.complaint < 0.5:
            return "neither"
        return "complaint only" if one.reading is not None and one.reading < 0.5 else "complaint and reading"

    # ------------------------------------------------------------------ rules and words

    def _broken(self, plan: Plan, told: Foretold) -> tuple[str, ...]:
        out = list(plan.breaks)
        rise, (low, high) = told.get("rise"), told.rise_range
        if rise is not None and high is not None and rise.si > high:
            out.append(f"rise {text(rise.si, qty.TEMPERATURE_DIFFERENCE)}, the plate allows {text(high, qty.TEMPERATURE_DIFFERENCE, 0)}")
        if rise is not None and low is not None and rise.si < low:
            out.append(f"rise {text(rise.si, qty.TEMPERATURE_DIFFERENCE)}, the plate asks for {text(low, qty.TEMPERATURE_DIFFERENCE, 0)}")
        outlet, most = told.get("outlet"), told.outlet_maximum
        if outlet is not None and most is not None and outlet.si > most:
            out.append(f"outlet {text(outlet.si, qty.PROBE_TEMPERATURE)}, the plate allows {text(most, qty.TEMPERATURE)}")
        least = self.job.case.file.furnace.return_minimum if self.job.case.file.furnace is not None else None
        if least is not None and not plan.replaces_furnace and outlet is not None and rise is not None \
                and outlet.si - rise.si < qty.si(least, qty.TEMPERATURE) - 1e-6:
            out.append(f"return air {text(outlet.si - rise.si, qty.PROBE_TEMPERATURE)}, the plate asks for "
                       f"{qty.show(least, qty.TEMPERATURE)} at least")
        inlet = inlet_break(told.terms["airflow"].si, plan.inlet_sides)
        out += [inlet] if inlet else []
        if self.beyond_repair and not plan.replaces_furnace:
            out.append("the furnace is out of service and cannot be mended")
        return tuple(out)

    @staticmethod
    def _leaves(told: Foretold) -> tuple[str, ...]:
        static, most = told.get("static"), told.static_maximum
        if static is None or most is None or static.si <= most:
            return ()
        return (f"external static {text(static.si, qty.AIR_PRESSURE)} against a rating of {text(most, qty.AIR_PRESSURE)}",)

    def _says(self, one: Verified, holds: Holds, leaves: tuple[str, ...]) -> str:
        cooling = self.job.found.evidence.cooling_airflow_needed is not None
        reading = "airflow of the coil" if cooling else "rise"
        complaint = "ice" if cooling else "tripping" if one.complaint is not None else "complaint"
        words = {"complaint and reading": f"Ends the {complaint} and brings the {reading} into range",
                 "complaint only": f"Ends the {complaint}, not the reading: the {reading} stays out of range",
                 "neither": "The coil would still freeze" if cooling else "The limit would still open",
                 "not computed": "Only the air path is predicted, no rise"}[holds]
        chance = min(c for c in (one.complaint, one.reading, 1.0) if c is not None)
        parts = [words]
        if holds == "complaint and reading" and chance < SURE:
            parts.append(f"not surely: {chance:.0%}")
        parts += [f"leaves {x}" for x in leaves]
        parts += [f"short of good practice: {x}" for x in one.plan.short_of]
        if one.told.beyond_table:
            parts.append("beyond the printed fan table, so the airflow is extrapolated")
        if one.plan.not_understood:
            parts.append("not counted: " + ", ".join(one.plan.not_understood))
        return "; ".join(parts) + "."

    def _works(self, told: Foretold) -> tuple[Work, ...]:
        tons = tons_of(self.job.case)
        return (cooling_work(tons, told.terms["airflow"].si),) if tons else ()


_SHOWN = ("return", "filter", "coil", "supply")


def _predicted(name: str, term: Uncertain | None) -> Predicted | None:
    return None if term is None else Predicted(name, term.value, term.sd, term.kind)
