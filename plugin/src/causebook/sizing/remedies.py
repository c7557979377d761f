"""What corrects a believed cause, sized: the remedies the knowledge names, each as a plan on the system found."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from causebook import quantity as qty
from causebook.equipment.furnace.system import mended_as, repairs
from causebook.knowledge.model import Cause
from causebook.physics.whatif import Change
from causebook.quantity import CFM
from causebook.sizing import blower, gas_input
from causebook.sizing.ducts import supply_enlarged
from causebook.sizing.filters import cabinet, renewed
from causebook.sizing.job import Job
from causebook.sizing.plan import Plan
from causebook.sizing.replacement import replaced
from causebook.sizing.return_air import added
from causebook.survey.model import Work


def corrections(causes: Sequence[str], job: Job) -> tuple[Plan, ...]:
    """One plan for each cause that acts on air, gas or limit; causes with the same correction share it."""
    out: list[Plan] = []
    for cause in causes:
        plan = correction(cause, job)
        if plan is not None and all(p.id != plan.id for p in out):
            out.append(plan)
    return tuple(out)


def correction(cause: str, job: Job) -> Plan | None:
    """What corrects one cause: the first of its remedies that can be sized, else the part as it should be.

    None for a cause that acts on nothing the model holds.
    """
    known = job.knowledge.causes[cause]
    for remedy in known.remedies:
        sized = _SIZED.get(remedy)
        plan = sized(remedy, known, job) if sized is not None else None
        if plan is not None:
            return plan
    return _as_it_should_be(known, job)


def _as_it_should_be(known: Cause, job: Job) -> Plan | None:
    """The part clean, the blower as its table, the input as the plate, the limit as marked."""
    on = frozenset(mended_as(e.on) for e in known.effects)
    try:
        changes: tuple[Change, ...] = tuple(repairs(job.found.path, job.found.moments, known.effects))
    except ValueError:  # what mending the blower would win back is not known
        return None
    works: tuple[Work, ...] = ()
    if on == {"filter"} and (same := renewed(job.case, job.found, job.airflow)) is not None:
        changes, works = (same[0],), same[1]
    limit = job.found.evidence.limit_opens if "limit" in on else None
    if not changes and limit is None:
        return None
    remedies = [job.knowledge.remedies[r] for r in known.remedies]
    name = remedies[0].name if remedies else f"{known.name} corrected"
    return Plan(
        known.remedies[0] if remedies else known.id,
        name,
        tuple(r.text for r in remedies),
        changes,
        on,
        works,
        limit_opens=limit,
    )


def second_return(job: Job) -> Plan | None:
    """The smallest new return beside the old one, as long as the longest there is; None where the old one will do."""
    lengths = [qty.si(o.length, qty.LENGTH) for o in job.case.file.return_ if o.length is not None]
    return added(job.found, job.airflow, max(lengths, default=None))


def larger_supply(job: Job) -> Plan:
    """The supply as a well-made one."""
    effect = next(e for c in job.knowledge.causes.values() for e in c.effects if e.on == "supply")
    return supply_enlarged(job.case, job.found, job.airflow, repairs(job.found.path, job.found.moments, [effect]))


def _return(remedy: str, cause: Cause, job: Job) -> Plan | None:
    return second_return(job)


def _cabinet(remedy: str, cause: Cause, job: Job) -> Plan | None:
    return cabinet(job.found, job.airflow)


def _setting(remedy: str, cause: Cause, job: Job) -> Plan | None:
    cooling = job.found.evidence.cooling_airflow_needed
    tons = (
        qty.us(job.case.file.coil.cooling, qty.COOLING_CAPACITY)
        if job.case.file.coil is not None and job.case.file.coil.cooling is not None
        else None
    )
    return blower.chosen(
        job.case, job.settings, 350 * tons * CFM if cooling is not None and tons else None, job.airflow
    )


def _gas(remedy: str, cause: Cause, job: Job) -> Plan | None:
    return gas_input.to_plate(job.surveyed, job.found, remedy)


def _supply(remedy: str, cause: Cause, job: Job) -> Plan | None:
    effects = [e for e in cause.effects if e.on == "supply"]
    return supply_enlarged(job.case, job.found, job.airflow, repairs(job.found.path, job.found.moments, effects))


def _smaller(remedy: str, cause: Cause, job: Job) -> Plan | None:
    return next((p for p in replaced(job.surveyed, job.found) if p.id == "smaller-furnace"), None)


_SIZED: Mapping[str, Callable[[str, Cause, Job], Plan | None]] = {
    "add-return": _return,
    "filter-cabinet": _cabinet,
    "set-speed": _setting,
    "staging": _setting,
    "set-manifold": _gas,
    "orifices": _gas,
    "house-regulator": _gas,
    "gas-supply": _gas,
    "gas-valve": _gas,
    "enlarge-supply": _supply,
    "smaller-furnace": _smaller,
}
