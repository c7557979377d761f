"""Will it hold?  Plans solved on the system found, their chances weighed, the plate held, the smallest recommended."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from causebook import quantity as qty
from causebook.belief.verdict import Role, StopNotice, Verdict
from causebook.diagnosis import limit_proven
from causebook.equipment.furnace.system import LEAST, mended_as
from causebook.measured import Measured
from causebook.physics.whatif import ScalePart
from causebook.quantity import CFM
from causebook.sizing.job import Job
from causebook.sizing.model import Option, Predicted, Replacement
from causebook.sizing.plan import Foretold, Plan, foretell, together
from causebook.sizing.replacement import carried, cooling_least, cooling_short, cooling_work, suits
from causebook.sizing.return_air import inlet_break, tons_of
from causebook.sizing.shapes import text
from causebook.survey.model import State

SURE = 0.75
"""Probability with which an option must bring the reading into range before it is recommended; expert estimate."""
QUIET = 0.6
"""Probability with which it must end the complaint; less, since a rise within the plate is what the limit was chosen
for, and where the limit opens is seldom known better than to 10 °F; expert estimate."""
AS_SURE = 0.1
"""Chances that differ by no more count as the same; expert estimate."""
INPUT_MOST = 1.02
"""Share of the plate's input, altitude allowed for, up to which an input is right; common practice, no source."""
LOADED = 1.5
"""How far a filter may load, times its drop, while a recommended option still holds; common practice, no source."""
TRIPS = ("limit-opened-while-watched", "limit-fault-stored")
"""Findings that make the limit the complaint."""
NOTHING_ACTS = "nothing in it acts on airflow or heat"
SHOWN = ("return", "filter", "coil", "supply")

Holds = Literal["complaint and reading", "complaint only", "neither", "not computed"]
_WORDS: dict[Holds, str] = {
    "complaint and reading": "Ends the {complaint} and {moves} the {reading} {where} range",
    "complaint only": "Ends the {complaint}, not the reading: the {reading} stays out of range",
    "neither": "Does not end the {complaint}",
    "not computed": "The air path is predicted; whether the complaint ends is not",
}


@dataclass(frozen=True)
class Solved:
    """A plan solved: what it shows, the chances that complaint and reading are right, and what it breaks."""

    plan: Plan
    told: Foretold
    complaint: float | None
    reading: float | None
    breaks: tuple[str, ...]

    @property
    def chance(self) -> float:
        """The smaller of its chances; 1 where nothing is weighed."""
        return min(c for c in (self.complaint, self.reading, 1.0) if c is not None)


class Judge:
    """Weighs the plans of one job; each is solved once."""

    def __init__(self, job: Job, verdict: Verdict, fired: Sequence[StopNotice]) -> None:
        self.job = job
        least = job.knowledge.constants["undetermined-below"].value
        self.limit_proven = limit_proven(job.surveyed, job.knowledge)
        self.roots = {c.id for c in verdict.with_role(Role.ROOT)}
        acting = [c for c in verdict.causes if c.role in (Role.ROOT, Role.HELPED_BY)]
        self.acting = [c.id for c in acting]
        self.likely = any(c.restores_chance >= least for c in acting)
        stops = job.knowledge.stops
        # A stop is a rule outside the probabilities: that it fired decides, not how likely its cause is.
        self.beyond_repair = tuple(s.name for s in fired if stops[s.id].no_repair)
        # Another furnace ends whatever else stopped this one, and only another furnace is left then.
        self.out_of_service = () if self.beyond_repair else tuple(s.name for s in fired if s.open and s.out_of_service)
        findings = (job.surveyed.finding(f) for f in TRIPS)
        self.limit_complains = any(f is not None and f.state is State.PRESENT for f in findings)
        self.tons = tons_of(job.case) if job.found.evidence.cooling_airflow_needed is not None else None
        self._solved: dict[str, Solved] = {}
        self._held: dict[str, bool] = {}

    # ------------------------------------------------------------------ solving

    def solved(self, plan: Plan) -> Solved:
        """The plan carried out and solved.  KeyError or ValueError for a change that does not fit the system."""
        if plan.id not in self._solved:
            told = foretell(self.job.found, plan)
            self._solved[plan.id] = Solved(
                plan, told, self._complaint(plan, told), self._reading(told), self._broken(plan, told)
            )
        return self._solved[plan.id]

    def holds(self, plan: Plan) -> bool:
        """Does it end the complaint and bring the reading into range, surely enough, and still with a filter that has
        loaded, and break nothing?"""
        if plan.id not in self._held:
            one = self.solved(plan)
            self._held[plan.id] = not (
                one.breaks
                or plan.short_of
                or plan.not_understood
                or not _enough(one)
                or one.complaint is one.reading is None
            ) and self._holds_later(plan)
        return self._held[plan.id]

    def _holds_later(self, plan: Plan) -> bool:
        """Does it still hold, more likely than not, once the filter has loaded?"""
        clean = self.solved(plan).told.terms
        within, beyond = self.job.found.held("filter", clean["airflow"].si), clean["drop filter"].si
        # The whole filter loads, also what the fan table holds of it.
        factor = LOADED + (LOADED - 1) * within / max(beyond, LEAST)
        told = foretell(self.job.found, together([plan, Plan("loaded", "", (), (ScalePart("filter", factor),))]))
        return min(c for c in (self._complaint(plan, told), self._reading(told), 1.0) if c is not None) >= 0.5

    def repairs(self, plan: Plan) -> tuple[str, ...]:
        """The believed causes of which the plan puts everything right."""
        return tuple(c for c in self.acting if self._repairs(c, plan))

    def _repairs(self, cause: str, plan: Plan) -> bool:
        known = self.job.knowledge.causes[cause]
        if plan.replaces_furnace:
            if known.stop and self.job.knowledge.stops[known.stop].no_repair:
                return True
            if "smaller-furnace" in known.remedies:
                old = (self.job.found.evidence.plate_input or 0.0) * self.job.found.evidence.efficiency.value
                return suits(self.job.surveyed, plan.output or 0.0, old)
        on = {mended_as(e.on) for e in known.effects}
        return bool(on) and on <= plan.on

    def best(self, options: Sequence[Option]) -> Option | None:
        """The smallest that holds, corrects the root and breaks nothing; of equals the first that is as sure as any.

        None while too little speaks for correcting the root, or while a stop keeps the furnace out of service.
        """
        if not self.likely or self.out_of_service:
            return None
        able = [(o, self._solved[o.id]) for o in options if self._may(o)]
        least = min((one.plan.effort for _, one in able), default=0)
        surest = max((one.chance for _, one in able if one.plan.effort == least), default=0.0)
        return next((o for o, one in able if one.plan.effort == least and one.chance >= surest - AS_SURE), None)

    def _may(self, option: Option) -> bool:
        if option.id not in self._solved or not self.roots & set(option.repairs):
            return False
        plan = self._solved[option.id].plan
        # No new limit before airflow and input are proven and it was itself seen to open.
        unproven = "limit" in plan.on and not plan.replaces_furnace and not self.limit_proven
        return not unproven and self.holds(plan)

    # ------------------------------------------------------------------ chances

    def _complaint(self, plan: Plan, told: Foretold) -> float | None:
        """Chance that the complaint ends: the limit stays closed, the coil does not freeze, the root is corrected."""
        need = self.job.found.evidence.cooling_airflow_needed
        if need is not None:
            return told.terms["airflow"].above(need)
        if plan.replaces_furnace:
            # Its limit is made for its own range of rise: within that it stays closed.
            return self._reading(told)
        margin, found = told.get("limit margin"), self.job.as_found.get("limit margin")
        # Where even the furnace as found would not open its limit, a limit that stays closed proves no change.
        if margin is not None and found is not None and found.si < 0 and self.limit_complains:
            return margin.above(0.0)
        return float(bool(self.roots & set(self.repairs(plan)))) if self.roots else None

    def _reading(self, told: Foretold) -> float | None:
        """Chance that the reading is in range: the rise or, for cooling, 350 cfm a ton."""
        if self.tons:
            least = self.job.knowledge.constants["cooling-airflow-least"].value * self.tons * CFM
            return told.terms["airflow"].above(least)
        rise, (low, high) = told.get("rise"), told.rise_range
        if rise is None or high is None:
            return None
        return rise.above(low or 0.0) - rise.above(high)

    # ------------------------------------------------------------------ rules of plate and instructions

    def _broken(self, plan: Plan, told: Foretold) -> tuple[str, ...]:
        out = list(plan.breaks)
        rise, (low, high) = told.get("rise"), told.rise_range
        outlet, most = told.get("outlet"), told.outlet_maximum
        if rise is not None and high is not None and rise.si > high:
            out.append(
                f"rise {text(rise.si, qty.TEMPERATURE_DIFFERENCE)}, the plate allows "
                f"{text(high, qty.TEMPERATURE_DIFFERENCE, 0)}"
            )
        if rise is not None and low is not None and rise.si < low:
            out.append(
                f"rise {text(rise.si, qty.TEMPERATURE_DIFFERENCE)}, the plate asks for "
                f"{text(low, qty.TEMPERATURE_DIFFERENCE, 0)} at least"
            )
        if outlet is not None and most is not None and outlet.si > most:
            out.append(
                f"outlet {text(outlet.si, qty.PROBE_TEMPERATURE)}, the plate allows {text(most, qty.TEMPERATURE)}"
            )
        furnace = self.job.case.file.furnace
        if furnace is not None and furnace.return_minimum is not None and outlet is not None and rise is not None:
            back = outlet.si - rise.si
            if back < qty.si(furnace.return_minimum, qty.TEMPERATURE) - 1e-6:
                out.append(
                    f"return air {text(back, qty.PROBE_TEMPERATURE)}, the plate asks for "
                    f"{qty.show(furnace.return_minimum, qty.TEMPERATURE)} at least"
                )
        out += self._over_input(plan, told)
        inlet = inlet_break(told.terms["airflow"].si, plan.inlet_sides)
        out += [inlet] if inlet else []
        if plan.replaces_furnace:
            # A blower that works again may leave old ducts over the rating; nobody puts a new furnace on them.
            out += [f"{over} (plate)" for over in self.over_static(told)]
        if self.beyond_repair and not plan.replaces_furnace:
            out.append(f"the furnace is out of service and no repair ends that: {', '.join(self.beyond_repair)}")
        return tuple(out)

    def _over_input(self, plan: Plan, told: Foretold) -> Iterator[str]:
        """The input reached above the plate's; another furnace has a plate of its own."""
        put_in, plate = told.get("input"), self.job.found.evidence.plate_input
        if put_in is None or plate is None or plan.replaces_furnace:
            return
        # An input that is set is set right; one left as found is over only as surely as it was clocked.
        if put_in.above(INPUT_MOST * plate) > (0.5 if "input" in plan.on else SURE):
            yield f"input {text(put_in.si, qty.HEAT_RATE)}, the plate allows {text(plate, qty.HEAT_RATE)}"

    @staticmethod
    def over_static(told: Foretold) -> tuple[str, ...]:
        """External static above its rating, in words; empty where it is not."""
        static, most = told.get("static"), told.static_maximum
        if static is None or most is None or static.si <= most:
            return ()
        return (
            f"external static {text(static.si, qty.AIR_PRESSURE)} against a rating of {text(most, qty.AIR_PRESSURE)}",
        )

    # ------------------------------------------------------------------ as an option

    def option(self, plan: Plan, by_author: bool = False) -> Option:
        """The plan as an option, with what it predicts and what it leaves."""
        if not plan.changes and plan.limit_opens is None:
            why = "; ".join(plan.not_understood) or NOTHING_ACTS
            return replace(
                unsized(plan.id, plan.name, why, by_author), scope=plan.scope, not_understood=plan.not_understood
            )
        try:
            one = self.solved(plan)
        except (KeyError, ValueError) as problem:
            return replace(unsized(plan.id, plan.name, str(problem.args[0]), by_author), scope=plan.scope)
        told, holds, new = one.told, _word(one), plan.replaces_furnace
        leaves = () if new else self.over_static(told)
        margin = told.get("limit margin")
        works = (*plan.works, *carried(self.job.found, told)) if new else plan.works
        if self._cools(plan):
            works = (*works, cooling_work(self._cools(plan), told.terms["airflow"].si))
        drops = [_predicted(f"{part} drop", told.get(f"drop {part}")) for part in SHOWN if part in plan.on]
        return Option(
            plan.id,
            plan.name,
            plan.scope,
            self.repairs(plan),
            _predicted("airflow", told.get("airflow")),
            _predicted("rise", told.get("rise")),
            _predicted("external static", told.get("static")),
            _predicted("outlet", told.get("outlet")),
            _predicted("limit margin", margin),
            None if margin is None else margin.si < 0,
            holds,
            self._says(one, holds, leaves),
            one.breaks,
            False,
            by_author,
            works,
            leaves,
            tuple(d for d in drops if d is not None),
            plan.not_understood,
            Replacement(
                qty.from_si(plan.output or 0.0, qty.HEAT_RATE),
                qty.from_si(plan.airflow or told.terms["airflow"].si, qty.AIRFLOW),
            )
            if new
            else None,
        )

    def _cools(self, plan: Plan) -> float:
        """Cooling capacity [ton] whose airflow the plan decides; 0 where it decides none."""
        return self.tons or (tons_of(self.job.case) if plan.replaces_furnace else 0.0) or 0.0

    def _says(self, one: Solved, holds: Holds, leaves: tuple[str, ...]) -> str:
        complaint = "ice" if self.tons else "tripping" if self.limit_complains else "complaint"
        reading = "airflow of the coil" if self.tons else "rise"
        was = self._reading(self.job.as_found)
        moves, where = ("leaves", "in") if was is not None and was >= 0.5 else ("brings", "into")
        words = _WORDS[holds].format(complaint=complaint, reading=reading, moves=moves, where=where)
        if holds == "neither" and one.reading is not None and one.reading >= 0.5:
            words += f", though the {reading} is in range"
        parts = [words]
        if holds == "complaint and reading" and one.chance < SURE:
            parts.append(f"not surely, {one.chance:.0%}")
        parts += [f"leaves {x}" for x in leaves]
        parts += [f"short of good practice: {x}" for x in one.plan.short_of]
        if one.told.beyond_table:
            parts.append("beyond the printed fan table, so the airflow is extrapolated")
        tons, airflow = self._cools(one.plan), one.told.terms["airflow"]
        if one.plan.replaces_furnace and tons and airflow.above(cooling_least(tons)) < 1 - SURE:
            parts.append(cooling_short(tons, airflow.si))
        if one.plan.not_understood:
            parts.append("not counted: " + "; ".join(one.plan.not_understood))
        if self.out_of_service:
            names = ", ".join(self.out_of_service)
            parts.append(f"nothing is recommended while the furnace is out of service: {names}")
        return "; ".join(parts).rstrip(".") + "."


def _enough(one: Solved) -> bool:
    """Are the chances of complaint and reading what a recommendation asks for?"""
    return (one.complaint is None or one.complaint >= QUIET) and (one.reading is None or one.reading >= SURE)


def _word(one: Solved) -> Holds:
    if one.complaint is None and one.reading is None:
        return "not computed"
    if one.complaint is not None and one.complaint < 0.5:
        return "neither"
    return "complaint only" if one.reading is not None and one.reading < 0.5 else "complaint and reading"


def _predicted(name: str, term: Measured | None) -> Predicted | None:
    return None if term is None else Predicted(*term.pair, term.kind, name)


def unsized(id_: str, name: str, why: str, by_author: bool = True) -> Option:
    """An option of which nothing is computed, and why."""
    return Option(
        id_,
        name,
        (),
        (),
        None,
        None,
        None,
        None,
        None,
        None,
        "not computed",
        f"Not computed: {why.rstrip('.')}.",
        by_author=by_author,
    )
