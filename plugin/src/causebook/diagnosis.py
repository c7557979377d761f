"""The diagnosis of one case: everything of a verdict, from the survey of its steps."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from causebook import quantity as qty
from causebook.belief import odds
from causebook.belief.after_repair import after_repair, telling
from causebook.belief.arrays import Array
from causebook.belief.barred import barred
from causebook.belief.next_test import next_tests
from causebook.belief.noisy_or import observations
from causebook.belief.posterior import COMPLAINT, Posterior, Reasoner
from causebook.belief.repaired import looks_after
from causebook.belief.roles import Roles, roles
from causebook.belief.root_chance import SETS, RootChances, root_chances
from causebook.belief.stops import stops
from causebook.belief.verdict import (
    Belief,
    CauseBelief,
    Expected,
    NextTest,
    Role,
    SetBelief,
    Spoke,
    StepWeight,
    StopNotice,
    Verdict,
    Weight,
    WhatIf,
)
from causebook.casefile.model import Case, Outcome
from causebook.equipment.furnace.facts import facts_of
from causebook.equipment.furnace.from_survey import evidence_of
from causebook.equipment.furnace.heat_and_air import FURNACES, HeatAndAir
from causebook.equipment.furnace.start.model import FurnaceStart, Weighed
from causebook.equipment.furnace.system import Identified, anchored
from causebook.knowledge.model import Knowledge
from causebook.physics.whatif import Plate
from causebook.survey.model import FindingState, State, Survey
from causebook.survey.numbers import optional_si
from causebook.survey.survey import survey

SUSPECTS = 6
"""How many causes of the end are followed through the steps."""
FAVORITES = 2
"""How many more of every step: the favorites of the moment, wrong ones too, as far as they were serious."""

LEAST_WEIGHT = 1.0
"""Weight of evidence from which a step spoke for a cause [deciban]; it moves even odds to 56 %."""


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """A verdict with the belief and the roles it rests on, for those who go on from here (sizing)."""

    verdict: Verdict
    stops: tuple[StopNotice, ...]
    posterior: Posterior
    roles: Roles
    plate: Plate
    identified: Identified | None
    """The furnace as the model makes it, for what-ifs of every kind."""


IN_TRACE = 512
"""Furnaces drawn for a step on the way; the end has all of them."""


def diagnose(case: Case, knowledge: Knowledge, surveyed: Survey | None = None, show_steps: bool = True) -> Diagnosis:
    """Diagnose a case.  The technician's conclusion is never read."""
    surveyed = surveyed or survey(case, knowledge)
    families = [case.file.complaint.family, *case.file.complaint.also]
    reasoner = Reasoner(knowledge, families, facts_of(case))
    posterior = _believe(reasoner, case, surveyed, _Models(reasoner, knowledge, FURNACES))
    chances = root_chances(posterior, knowledge)
    root = _root(chances, knowledge)
    present = believed(posterior, root, knowledge)
    places, share = _holding(posterior, present, knowledge)
    told = posterior.told
    table = told.what_ifs(present, places, share) if told is not None and _acts(present, knowledge) else ()
    root = _restoring(root, table, chances)
    short = root is not None and _leaves(root, table)
    group = told.needed(root, present, places, share) if told is not None and root is not None and short else None
    if group is not None and all({*row.repairs} != {*group.repairs} for row in table):
        table = (*table, group)
    settled = roles(present, root, table, knowledge, group.repairs if group is not None else ())
    causes = _causes(posterior, chances, settled, surveyed, knowledge)
    open_end = short and group is None
    answered, outcome = _outcome(case, causes, surveyed, knowledge, open_end)
    fired = stops(case, surveyed, causes, knowledge)
    leading = [c.id for c in causes if not knowledge.causes[c.id].residual][:3]
    tests = next_tests(
        posterior,
        chances.leads,
        _looked(case, surveyed, knowledge),
        knowledge,
        leading,
        families,
        barred(surveyed, fired, knowledge),
    )
    steps = _steps(case, reasoner, causes, knowledge) if show_steps else ()
    ranges: tuple[Expected, ...] = ()
    if told is not None:
        ranges = told.expected([c.id for c in causes if knowledge.causes[c.id].effects][:3])
    margin = table[0].limit_margin if table else None
    verdict = Verdict(
        outcome,
        answered,
        causes,
        tuple(SetBelief(tuple(sorted(s)), p) for s, p in posterior.top_sets()),
        _decided(steps, causes, knowledge),
        steps,
        ranges,
        table,
        tests[:8],
        () if answered else (*_missing(root if open_end else None, knowledge), *_settles(tests)),
        proven_good(surveyed, knowledge),
        margin,
    )
    made = None
    if isinstance(told, HeatAndAir) and table:
        made = told.identified(places, share)
        if made.moments is not None:
            made = replace(made, moments=anchored(made.moments, surveyed.found))
    return Diagnosis(verdict, fired, posterior, settled, plate_of(case), made)


def _acts(present: Sequence[str], knowledge: Knowledge) -> bool:
    return any(knowledge.causes[c].effects for c in present)


def _leaves(cause: str, table: Sequence[WhatIf]) -> bool:
    """Does putting right this cause alone leave the complaint, by the what-ifs?"""
    rows = [row.restores for row in table if row.repairs == (cause,)]
    return bool(rows) and not any(rows)


def _restoring(root: str | None, table: Sequence[WhatIf], chances: RootChances) -> str | None:
    """The root, or in place of one whose own repair leaves the complaint the best of those whose repair ends it."""
    if root is None or not _leaves(root, table):
        return root
    ends = {row.repairs[0] for row in table if len(row.repairs) == 1 and row.restores}
    return max(sorted(ends), key=chances.standing, default=root)


def _holding(posterior: Posterior, present: Sequence[str], knowledge: Knowledge) -> tuple[list[int], Array]:
    """The likeliest sets, by place, that hold most of the causes believed present; with their chances."""
    order = np.argsort(-posterior.chance, kind="stable")[:SETS]
    wanted = {c for c in present if knowledge.causes[c].effects}
    shared = [len(wanted & posterior.sets.names(int(n))) for n in order]
    kept = [int(n) for n, many in zip(order, shared, strict=True) if many > 0] or [int(order[0])]
    return kept, posterior.chance[kept]


def _looked(case: Case, surveyed: Survey, knowledge: Knowledge) -> dict[str, tuple[float, ...]]:
    """What was looked for -> what each look said.  A look at what stands still, taken on an earlier visit, is left
    out: another would take its place (`survey`), not join it."""
    visits = {s.number: s.visit for s in case.steps}
    now = max((s.visit for s in case.steps if not s.step.after), default=1)
    return {
        f.id: f.looks
        for f in surveyed.findings
        if f.state is not State.NOT_LOOKED_FOR
        and not (f.looks and knowledge.findings[f.id].stands and visits[f.step] < now)
    }


class _Models:
    """What the machine's models make of one case as it is told; they weigh anew only what is news to them."""

    def __init__(self, reasoner: Reasoner, knowledge: Knowledge, count: int) -> None:
        self.reasoner, self.knowledge, self.count = reasoner, knowledge, count
        self._heat: HeatAndAir | None = None
        self._start: Weighed | None = None

    def heat(self, case: Case, surveyed: Survey) -> HeatAndAir | None:
        """Heat and air; None where nothing was read of them, or where the complaint does not ask."""
        evidence = evidence_of(case, surveyed, self.knowledge)
        if evidence is None or not evidence.speaks or not self.reasoner.asks_model:
            return None
        if self._heat is None or self._heat.evidence != evidence:
            self._heat = HeatAndAir(evidence, self.knowledge, self.reasoner.sets, self.count)
        return self._heat

    def start(self, case: Case, surveyed: Survey) -> Weighed | None:
        """The start; None where the complaint is none of one."""
        model = FurnaceStart(case, surveyed, self.knowledge)
        if self._start is None or self._start.record != model.record:
            self._start = model.weigh(self.reasoner.sets)
        return self._start


def _believe(reasoner: Reasoner, case: Case, surveyed: Survey, models: _Models) -> Posterior:
    knowledge = models.knowledge
    told = models.heat(case, surveyed)
    weighed = told.weighed if told else frozenset()
    seen, again = observations(surveyed, weighed, knowledge), looks_after(case, weighed, knowledge)
    return reasoner.believe(told, seen, models.start(case, surveyed), again)


def plate_of(case: Case) -> Plate:
    """The plate's limits as bare SI numbers, for what-ifs."""
    furnace = case.file.furnace
    if furnace is None:
        return Plate()
    low, high = furnace.rise if furnace.rise else (None, None)
    rise = qty.TEMPERATURE_DIFFERENCE
    return Plate(
        optional_si(low, rise),
        optional_si(high, rise),
        optional_si(furnace.outlet_maximum, qty.TEMPERATURE),
        optional_si(furnace.static_maximum, qty.AIR_PRESSURE),
        tuple(p for p in furnace.counted_as_external or () if p != "coil" or _has_coil(case)),
    )


def _has_coil(case: Case) -> bool:
    return case.file.coil is not None and not case.file.coil.none


def _root(chances: RootChances, knowledge: Knowledge) -> str | None:
    """The cause that stands out as the root, unless even that is unlikely."""
    named = sorted(c for c in chances.chance if not knowledge.causes[c].residual)
    best = max(named, key=chances.standing, default=None)
    return best if best is not None and chances.standing(best) >= knowledge.constants["unlikely-below"].value else None


def believed(posterior: Posterior, root: str | None, knowledge: Knowledge) -> list[str]:
    """Causes taken as present: the root and those believed likely; most believed first."""
    marginal = posterior.marginal
    likely = [c for c, p in marginal.items() if p >= knowledge.constants["likely-from"].value]
    chosen = likely if root is None else {*likely, root}
    return sorted((c for c in chosen if not knowledge.causes[c].residual), key=lambda c: (-marginal[c], c))


def word(probability: float, confirmed: bool, knowledge: Knowledge) -> Belief:
    """The belief word of a probability; settled also needs something that confirms it."""
    limit = {
        name: knowledge.constants[name].value
        for name in ("ruled-out-below", "unlikely-below", "likely-from", "settled-from")
    }
    if probability < limit["ruled-out-below"]:
        return Belief.RULED_OUT
    if probability < limit["unlikely-below"]:
        return Belief.UNLIKELY
    if probability < limit["likely-from"]:
        return Belief.POSSIBLE
    return Belief.SETTLED if probability >= limit["settled-from"] and confirmed else Belief.LIKELY


def _causes(
    posterior: Posterior, chances: RootChances, settled: Roles, surveyed: Survey, knowledge: Knowledge
) -> tuple[CauseBelief, ...]:
    out = []
    states = {f.id: f for f in surveyed.findings}
    for cause, chance in sorted(posterior.marginal.items(), key=lambda item: (-item[1], item[0])):
        known = knowledge.causes[cause]
        role = settled.by_cause.get(cause)
        confirmed = (
            any(r.restores for r in settled.table if r.repairs == (cause,)) or _confirmed(cause, states, knowledge)
        ) and _may_settle(cause, surveyed, knowledge)
        belief = word(chance, confirmed, knowledge)
        if role is None:
            role = Role.NOT_IT if belief in (Belief.RULED_OUT, Belief.UNLIKELY) else Role.OPEN
        out.append(
            CauseBelief(
                cause,
                known.name,
                chance,
                belief,
                role,
                _why(cause, role, settled, states, knowledge),
                chances.chance[cause],
                chances.restores[cause],
            )
        )
    for known in knowledge.causes.values():
        # Underlying reasons stand outside the belief: they are told when their own findings are there.
        if (
            known.underlying
            and _confirmed(known.id, states, knowledge)
            and any(e.cause == known.id and settled.by_cause.get(e.does) for e in knowledge.damage)
        ):
            out.append(
                CauseBelief(
                    known.id,
                    known.name,
                    max(p for p in _present(known.id, states, knowledge)),
                    Belief.LIKELY,
                    Role.UNDERLYING,
                    _why(known.id, Role.UNDERLYING, settled, states, knowledge),
                )
            )
    return tuple(out)


def _present(cause: str, states: Mapping[str, FindingState], knowledge: Knowledge) -> list[float]:
    """Probabilities of the cause's own telling findings that are present."""
    return [
        states[f].probability
        for f, p in knowledge.causes[cause].links.items()
        if telling(knowledge.findings[f], p) and f in states and states[f].state is State.PRESENT
    ]


def _may_settle(cause: str, surveyed: Survey, knowledge: Knowledge) -> bool:
    """A limit is never called settled before airflow and input are proven and it was itself seen to open."""
    return not any(e.on == "limit" for e in knowledge.causes[cause].effects) or limit_proven(surveyed, knowledge)


def limit_proven(surveyed: Survey, knowledge: Knowledge) -> bool:
    """Were airflow and input measured, and the limit seen to open at a temperature that was read?"""
    found = surveyed.found
    return (
        found.best_airflow is not None
        and found.input is not None
        and surveyed.limit is not None
        and surveyed.limit.opened_at is not None
    )


def _confirmed(cause: str, states: Mapping[str, FindingState], knowledge: Knowledge) -> bool:
    return bool(_present(cause, states, knowledge))


def _why(cause: str, role: Role, settled: Roles, states: Mapping[str, FindingState], knowledge: Knowledge) -> str:
    known = knowledge.causes[cause]
    # Of two what-ifs of one cause (with upkeep and without), the one that restores is the reason.
    row = max((r for r in settled.table if r.repairs == (cause,)), key=lambda r: bool(r.restores), default=None)
    speaking = [
        states[f]
        for f in sorted(known.links, key=lambda f: -known.links[f])
        if f in states and knowledge.findings[f].group != COMPLAINT
    ]
    for_it = next((f for f in speaking if f.state is State.PRESENT and f.because), None)
    against = next((f for f in speaking if f.state is State.ABSENT and known.links[f.id] > 0.5), None)
    parts = []
    if role is Role.NOT_IT:
        # What speaks for it is no reason to strike it out.
        parts += [_said(against)] if against is not None else []
    elif for_it is not None:
        parts.append(_said(for_it))
    if row is not None and row.rise is not None and role in (Role.ROOT, Role.HELPED_BY, Role.ALSO_FOUND):
        parts.append(_corrected(row, known.name))
    return "; ".join(parts)


def _corrected(row: WhatIf, name: str) -> str:
    """What correcting one cause brings: "corrected alone: rise 43.7 °F, in range and no trip"."""
    change = row.change.removeprefix(f"{name} ") if row.change.startswith(name) else "corrected alone"
    if row.note:
        return f"{change}: airflow {qty.show(row.airflow, qty.AIRFLOW)}, {row.note}"
    ends = (
        "in range and no trip"
        if row.restores
        else "still trips"
        if row.trips
        else ("still out of range" if row.in_range is False else "still not right")
    )
    return f"{change}: rise {qty.show(row.rise, qty.TEMPERATURE_DIFFERENCE)}, {ends}"


def _said(finding: FindingState) -> str:
    """A finding in words: its numbers where it has any, else its name and what was seen."""
    return finding.because or finding.name


def _tells(finding: FindingState, suspects: Sequence[str], knowledge: Knowledge) -> float:
    """How much a finding tells the followed suspects apart: the spread of its chances over them."""
    known = knowledge.findings[finding.id]
    chances = [knowledge.causes[c].links.get(finding.id, known.leak) for c in suspects]
    return max(chances, default=0.0) - min(*chances, known.leak) if chances else 0.0


def proven_good(surveyed: Survey, knowledge: Knowledge) -> tuple[str, ...]:
    """What was proven good: the proofs of the knowledge whose finding was looked for and is absent."""
    absent = {f.id: f for f in surveyed.findings if f.state is State.ABSENT and f.probability < 0.05}
    return tuple(
        f"{proof.part.replace('-', ' ')}: "
        f"{absent[proof.finding].because if absent[proof.finding].readings else proof.how}"
        for proof in knowledge.proofs
        if proof.holds(absent)
    )


# ---------------------------------------------------------------- step by step


def _steps(
    case: Case, reasoner: Reasoner, causes: Sequence[CauseBelief], knowledge: Knowledge
) -> tuple[StepWeight, ...]:
    """What each step did to the belief, as weight of evidence (10·log₁₀ of the change in odds)."""
    steps = [step for step in case.steps if not step.step.after]
    surveys = [survey(case, knowledge, step.number) for step in steps]
    models = _Models(reasoner, knowledge, IN_TRACE)
    beliefs = [
        _believe(reasoner, case.upto(step.number), surveyed, models).marginal
        for step, surveyed in zip(steps, surveys, strict=True)
    ]
    followed = _followed(case, causes, beliefs, knowledge)
    before = reasoner.believe(None, []).marginal
    known: dict[str, FindingState] = {}
    out = []
    for step, surveyed, after in zip(steps, surveys, beliefs, strict=True):
        told = {f.id: f for f in surveyed.findings}
        new = sorted(
            (f for f in told.values() if _news(f, known.get(f.id))),
            key=lambda f: (-_tells(f, followed, knowledge), f.id),
        )
        evidence = tuple(Spoke(f.id, f.state, _said(f)) for f in new)
        weights = tuple(Weight(c, _decibans(before[c], after[c])) for c in followed)
        out.append(StepWeight(step.number, step.step.do, evidence, weights, {c: after[c] for c in followed}))
        before, known = after, told
    return tuple(out)


def _followed(
    case: Case, causes: Sequence[CauseBelief], beliefs: Sequence[Mapping[str, float]], knowledge: Knowledge
) -> list[str]:
    """The causes whose belief is told step by step, most believed at the end first.

    Also those that led on the way, so that nothing is told in hindsight, and what was concluded on the job, which is
    followed and never believed for it.
    """
    serious = knowledge.constants["unlikely-below"].value
    order = [c.id for c in causes if c.role is not Role.UNDERLYING]
    led = {c for after in beliefs for c in sorted(after, key=lambda c: -after[c])[:FAVORITES] if after[c] >= serious}
    concluded = {knowledge.resolve(c) for v in case.file.visits if v.concluded for c in v.concluded.root}
    return [c for n, c in enumerate(order) if n < SUSPECTS or c in led | concluded]


def _news(finding: FindingState, before: FindingState | None) -> bool:
    """Does a finding say more than it did a step before?"""
    return before is None or abs(before.probability - finding.probability) > 0.05 or before.looks != finding.looks


def _decibans(before: float, after: float) -> float:
    low, high = 1e-6, 1 - 1e-6
    first, last = (odds.odds(min(max(p, low), high)) for p in (before, after))
    return odds.decibans(last / first)


def _decided(steps: Sequence[StepWeight], causes: Sequence[CauseBelief], knowledge: Knowledge) -> str:
    """What is most telling of the root among all that is there, and the step that showed it.

    What was read or seen goes before what was told, and a step that spoke for the root before one that did not.
    """
    root = next((c.id for c in causes if c.role is Role.ROOT), None)
    if root is None:
        return ""
    told = {f for test in knowledge.tests.values() if test.once for f in test.reveals}
    links = knowledge.causes[root].links

    def tells(one: tuple[StepWeight, Spoke]) -> tuple[bool, bool, float]:
        step, finding = one[0], one[1].finding
        spoke = any(w.cause == root and w.decibans >= LEAST_WEIGHT for w in step.weights)
        return spoke and finding not in told, spoke, links[finding] - knowledge.findings[finding].leak

    spoke = [
        (step, said)
        for step in steps
        for said in step.evidence
        if said.state is State.PRESENT and said.finding in links and knowledge.findings[said.finding].group != COMPLAINT
    ]
    if not spoke:
        return ""
    step, said = max(spoke, key=tells)
    return f"{step.did}: {said.text}"


# ---------------------------------------------------------------- the end


def _outcome(
    case: Case, causes: Sequence[CauseBelief], surveyed: Survey, knowledge: Knowledge, open_end: bool
) -> tuple[bool, Outcome]:
    """How far the core itself would go, from readings alone; stops are laid over it in the workup.

    `open_end`: no repair of what is believed ends the complaint, alone or together: part of the answer is missing.
    """
    root = max((c for c in causes if c.role is Role.ROOT), key=lambda c: c.root_chance, default=None)
    least = knowledge.constants["undetermined-below"].value
    if root is None or root.root_chance < least or open_end:
        return False, Outcome.UNDETERMINED
    if root.belief is not Belief.SETTLED:
        return True, Outcome.LIKELY
    if not after_repair(case, surveyed, [root.id], knowledge).gone:
        return True, Outcome.NOT_CORRECTED
    came_back = any(
        s.phase == "after" and any(f.phase == "found" and f.visit > s.visit for f in surveyed.sets)
        for s in surveyed.sets
    ) or any(v.kind == "callback" for v in case.file.visits)
    return True, Outcome.FIRST_WRONG if came_back else Outcome.CORRECTED


def _missing(root: str | None, knowledge: Knowledge) -> tuple[str, ...]:
    """That a cause is still to be found, where putting right all that is believed leaves the complaint."""
    if root is None:
        return ()
    return (f"Another cause: with “{knowledge.causes[root].name}” corrected, the furnace would still not run right",)


def _settles(tests: Sequence[NextTest]) -> tuple[str, ...]:
    """The tests that tell most, whatever their minutes: nothing less settles what is open."""
    telling = sorted(tests, key=lambda test: -test.information)
    return tuple(f"{test.name}: {test.reason}" for test in telling[:3])
