"""One case as the library knows it: what it can be found by, and nothing private or long.

A record is made from a workup, and goes to and from JSON unchanged, so that it can be kept in the cache and be put
into the pages' scripts.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field, fields
from typing import Any

from causebook import quantity as qty
from causebook.belief.verdict import Belief, Role
from causebook.casefile.model import Case, CaseFile, Conclusion, Job, Outcome, tested
from causebook.knowledge.model import Knowledge
from causebook.library.account import NOTHING, Account, account_of
from causebook.library.handled import Handled, handled_of
from causebook.library.typed import typed_of
from causebook.library.vectors import kept
from causebook.quantity import Quantity
from causebook.survey.model import State
from causebook.workup import Workup
from causebook.writeup.answer import decided

LISTED_ROLES = (Role.ROOT, Role.UNDERLYING, Role.HELPED_BY, Role.DAMAGE, Role.NOT_IT)
"""Roles by which a case is listed under a cause."""


@dataclass(frozen=True, slots=True)
class Record:
    """One row of the library."""

    id: str
    title: str
    words: str
    """The complaint as the customer said it."""
    families: tuple[str, ...]
    """Complaint families, the main one first."""
    outcome: str
    date: str
    """Day of the first visit, ISO."""
    visits: int
    level: int
    trains: tuple[str, ...]
    roles: Mapping[str, tuple[str, ...]]
    """Role word -> cause ids."""
    concluded: bool
    """Whether the roles are the technician's conclusion; otherwise they are what the readings support."""
    facts: Mapping[str, str]
    """Equipment fact -> what it is here; a fact that is not known is left out."""
    findings: Mapping[str, bool]
    """Finding id -> present or absent.  Unclear and not looked for are left out: they say nothing."""
    minutes: float
    stopped: bool
    """A stop-use notice is open."""
    read: Mapping[str, float] = field(default_factory=dict)
    """What a searcher might type, as it was in this case: ask id -> value [SI]."""
    account: Account = NOTHING
    """What it adds to the tallies."""
    deciding: str = ""
    """The number or look that decided it, in words."""
    codes: tuple[str, ...] = ()
    """Codes as the control gave them."""
    equipment: Mapping[str, str] = field(default_factory=dict)
    """What the company says of the job and may be published: make, model, technician, serial, job, parts."""
    on_site: float | None = None
    """Minutes on site."""
    handled: Handled = Handled()

    @property
    def year(self) -> int:
        """Year of the first visit."""
        return int(self.date[:4])

    @property
    def roots(self) -> tuple[str, ...]:
        """Cause ids named as root."""
        return self.roles.get(Role.ROOT.value, ())

    def as_json(self) -> dict[str, Any]:
        """The record as plain JSON data."""
        return asdict(self)

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Record:
        """The record back from its JSON; KeyError or TypeError when that is not one."""
        values = {f.name: data[f.name] for f in fields(cls)}
        values["families"], values["trains"] = tuple(values["families"]), tuple(values["trains"])
        values["roles"] = {role: tuple(causes) for role, causes in values["roles"].items()}
        values["codes"] = tuple(values["codes"])
        values["handled"] = Handled.from_json(values["handled"])
        values["account"] = Account.from_json(values["account"])
        return cls(**values)


def newest_first(records: Iterable[Record]) -> list[Record]:
    """The cases by date, newest first; those of one day by id."""
    return sorted(sorted(records, key=lambda r: r.id), key=lambda r: r.date, reverse=True)


def record_of(workup: Workup) -> Record:
    """The library's record of one workup."""
    case, knowledge = workup.case, workup.knowledge
    file = case.file
    first = min(v.date for v in file.visits)
    concluded = case.conclusion is not None and bool(_conclusion_roles(case.conclusion, knowledge))
    roles = _roles(workup)
    typed = typed_of(workup.survey)
    return Record(
        id=case.id,
        title=file.title,
        words=file.complaint.words,
        families=_distinct(knowledge.resolve(f) for f in (file.complaint.family, *file.complaint.also)),
        outcome=(file.outcome or workup.verdict.outcome).value,
        date=first.isoformat(),
        visits=len(file.visits),
        level=file.study.level,
        trains=tuple(file.study.trains),
        roles=roles,
        concluded=concluded,
        facts=equipment_facts(file, first),
        findings={
            f.id: f.state is State.PRESENT for f in workup.survey.findings if f.state in (State.PRESENT, State.ABSENT)
        },
        minutes=sum(s.step.minutes or 0 for s in case.steps),
        stopped=any(stop.open for stop in workup.stops),
        read={id_: kept(value) for id_, value in typed.items()},
        account=account_of(workup, roles),
        deciding=decided(workup)[0].partition(";")[0],
        codes=file.job.code,
        equipment=company_facts(file.job),
        on_site=minutes_of(file.job.time_on_site),
        handled=handled_of(case, file.outcome or workup.verdict.outcome, roles.get(Role.ROOT.value, ()), knowledge),
    )


def bare_record(case: Case, knowledge: Knowledge, stopped: bool) -> Record:
    """The record of a case on which the program failed: what its file says, and nothing that was judged."""
    file = case.file
    first = min(v.date for v in file.visits)
    return Record(
        id=case.id,
        title=file.title,
        words=file.complaint.words,
        families=_distinct(knowledge.resolve(f) for f in (file.complaint.family, *file.complaint.also)),
        outcome=Outcome.UNDETERMINED.value,
        date=first.isoformat(),
        visits=len(file.visits),
        level=file.study.level,
        trains=tuple(file.study.trains),
        roles=_conclusion_roles(case.conclusion, knowledge) if case.conclusion else {},
        concluded=case.conclusion is not None,
        facts=equipment_facts(file, first),
        findings={},
        minutes=0,
        stopped=stopped,
    )


def _roles(workup: Workup) -> dict[str, tuple[str, ...]]:
    """Roles by the technician's conclusion; where there is none, by what the readings support.

    A root that its author calls not tested counts nowhere as one: the readings may still support it.
    """
    if workup.case.conclusion and (said := _conclusion_roles(workup.case.conclusion, workup.knowledge)):
        return said
    believed = (Belief.LIKELY, Belief.SETTLED)
    found = {
        role.value: tuple(c.id for c in workup.verdict.with_role(role) if role is Role.NOT_IT or c.belief in believed)
        for role in LISTED_ROLES
    }
    return {role: causes for role, causes in found.items() if causes}


def _conclusion_roles(conclusion: Conclusion, knowledge: Knowledge) -> dict[str, tuple[str, ...]]:
    said: dict[Role, Iterable[str]] = {
        Role.ROOT: (cause for cause, reason in conclusion.root.items() if tested(reason)),
        Role.UNDERLYING: conclusion.underlying,
        Role.HELPED_BY: conclusion.helped_by,
        Role.DAMAGE: conclusion.damage_done if isinstance(conclusion.damage_done, Mapping) else (),
        Role.NOT_IT: conclusion.not_it,
    }
    resolved = {
        role.value: _distinct(c for c in map(knowledge.resolve, causes) if c in knowledge.causes)
        for role, causes in said.items()
    }
    return {role: causes for role, causes in resolved.items() if causes}


def minutes_of(time: Quantity | None) -> float | None:
    """A time in minutes."""
    return None if time is None else qty.si(time, qty.LONG_DURATION) / 60


def company_facts(job: Job) -> dict[str, str]:
    """What the company says of the job and may be published: name -> what it is."""
    said = {
        "make": job.make,
        "model": job.model,
        "technician": job.technician,
        "serial": job.serial,
        "job": job.number,
        "parts": ", ".join(job.parts),
    }
    return {name: text for name, text in said.items() if text}


def equipment_facts(file: CaseFile, seen: dt.date) -> dict[str, str]:
    """The equipment as facts in words: what two furnaces can have in common."""
    furnace, blower = file.furnace, file.blower
    facts: dict[str, str] = {}
    if furnace:
        facts["furnace"] = furnace.kind
        facts["fuel"] = furnace.fuel
        if furnace.stages is not None:
            facts["stages"] = f"{furnace.stages} stage" + ("s" if furnace.stages > 1 else "")
        if furnace.zoned:
            facts["zoning"] = "zoned"
        if furnace.made:
            facts["age"] = _band(seen.year - furnace.made, (10, 20), "years")
    if blower:
        facts["blower motor"] = blower.motor
    if file.coil:
        facts["cooling coil"] = "no coil" if file.coil.none else "coil"
    if file.filter:
        facts["filter"] = file.filter.kind
    if file.site.elevation is not None:
        facts["elevation"] = _band(float(file.site.elevation.to("foot").magnitude), (2000, 5000), "ft")
    return facts


def _band(value: float, edges: tuple[float, float], unit: str) -> str:
    low, high = edges
    if value < low:
        return f"under {low:g} {unit}"
    return f"{low:g} to {high:g} {unit}" if value < high else f"over {high:g} {unit}"


def _distinct(ids: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(ids))
