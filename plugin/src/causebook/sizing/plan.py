"""A plan: what would be changed, with its calculations; and what the changed system would show."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from causebook import quantity as qty
from causebook.measured import Measured
from causebook.physics.airpath import Part
from causebook.physics.whatif import (
    AddParallel,
    Change,
    ReplaceFurnace,
    ReplacePart,
    ScaleInput,
    ScalePart,
    SetInput,
    apply,
    rows_differ,
    told_by,
    with_rows,
)
from causebook.sizing.found import Found
from causebook.survey.model import Work

USUAL_AIRFLOW = 0.5
"""Airflow of a usual house [m³/s], about 1060 cfm, at which two parts are compared."""


@dataclass(frozen=True)
class Plan:
    """A set of changes that belong together, and what they touch."""

    id: str
    name: str
    scope: tuple[str, ...]
    """What is done, in words, with sizes."""
    changes: tuple[Change, ...] = ()
    on: frozenset[str] = frozenset()
    """Unknowns of the heat-and-air model that it puts right: filter, return, input, ..."""
    works: tuple[Work, ...] = ()
    breaks: tuple[str, ...] = ()
    """Rules of plate and instructions that it breaks by itself, whatever the airflow."""
    short_of: tuple[str, ...] = ()
    """Design values it does not reach."""
    not_understood: tuple[str, ...] = ()
    limit_opens: float | None = None
    """A limit that opens here [K], where the plan changes the limit."""
    inlet_sides: int | None = None
    """From how many sides of the cabinet the air comes in; None where the plan leaves that open."""
    output: float | None = None
    """Output [W] of the new furnace, where there is one."""
    airflow: float | None = None
    """Heating airflow that it is meant to move [m³/s], where its setting or its rise range says so."""
    effort: int = 1
    """Rough order of work and cost: 1 a setting or a part, 2 duct work or a motor, 6 a furnace; expert estimate."""

    @property
    def replaces_furnace(self) -> bool:
        """Does the old furnace go?"""
        return any(isinstance(c, ReplaceFurnace) for c in self.changes)


def together(plans: Sequence[Plan]) -> Plan:
    """Several plans as one: everything they change, each calculation once."""
    changes = _composed(_all(p.changes for p in plans))
    # A new filter has no place beside the cabinet that takes its place: nothing of it would be left.
    gone = [c for p in plans for c in p.changes if isinstance(c, ReplacePart) and c not in changes]
    plans = [p for p in plans if not p.changes or any(c not in gone for c in p.changes)]
    if len(plans) == 1:
        return plans[0]
    return Plan(
        "+".join(p.id for p in plans),
        joined(p.name for p in plans),
        _all(p.scope for p in plans),
        changes,
        frozenset().union(*(p.on for p in plans)),
        _all(p.works for p in plans),
        _all(p.breaks for p in plans),
        _all(p.short_of for p in plans),
        _all(p.not_understood for p in plans),
        next((p.limit_opens for p in plans if p.limit_opens is not None), None),
        next((p.inlet_sides for p in plans if p.inlet_sides is not None), None),
        next((p.output for p in plans if p.output is not None), None),
        next((p.airflow for p in plans if p.airflow is not None), None),
        sum(p.effort for p in plans),
    )


def _composed(changes: Sequence[Change]) -> tuple[Change, ...]:
    """The changes that count when all are made: of one part's successors the one that takes least, and a stated input
    whatever orifices and pressure bring it about."""
    least: dict[str, ReplacePart] = {}
    for change in changes:
        if isinstance(change, ReplacePart):
            least[change.name] = min(least.get(change.name, change), change, key=_drop)
    stated = any(isinstance(c, SetInput) for c in changes)
    return tuple(
        c
        for c in changes
        if not (isinstance(c, ReplacePart) and c is not least[c.name] or isinstance(c, ScaleInput) and stated)
    )


def _drop(change: ReplacePart) -> float:
    """Of the new part [Pa] at a usual airflow."""
    return float(change.part.at_flow(USUAL_AIRFLOW, change.part.reference_density)[0])


NOTHING = Plan("", "as found", ())
"""No change at all."""


def joined(names: Iterable[str]) -> str:
    """Names as one: "second return, deep filter cabinet and higher setting"; after the first, small letters."""
    names = list(names)
    names = [names[0], *(n[:1].lower() + n[1:] for n in names[1:])]
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]


def _all(lists: Iterable[Iterable[Any]]) -> tuple[Any, ...]:
    out: list[Any] = []
    for one in lists:
        out += [x for x in one if x not in out]
    return tuple(out)


@dataclass(frozen=True)
class Foretold:
    """What the changed system shows; None where it does not say."""

    terms: dict[str, Measured]
    """By the names of `physics.whatif.told_by`: "airflow", "rise", "drop filter", "static", ..."""
    beyond_table: bool
    rise_range: tuple[float | None, float | None]
    outlet_maximum: float | None
    static_maximum: float | None

    def get(self, name: str) -> Measured | None:
        """One predicted reading."""
        return self.terms.get(name)


_DIFFERENCES = ("rise", "limit margin")
_TEMPERATURES = ("outlet", "limit body")


def foretell(found: Found, plan: Plan) -> Foretold:
    """The system as found with the plan carried out, solved for its best estimate and every moved value at once.

    KeyError or ValueError for a change that does not fit the system.
    """
    unsure = [c for c in plan.changes if _sd(c)]
    rows = len(found.system.return_temperature) + len(unsure)

    def factors(change: Change) -> np.ndarray:
        """1, and in the change's own row 1 more its standard uncertainty."""
        out = np.ones(rows)
        if change in unsure:
            out[rows - len(unsure) + unsure.index(change)] += _sd(change)
        return out

    system = apply(with_rows(found.system, len(unsure)), [_spread(c, factors(c)) for c in plan.changes])
    for change in plan.changes:
        if isinstance(change, SetInput) and system.heat is not None:
            system = replace(system, heat=replace(system.heat, input=system.heat.input * factors(change)))
    if plan.limit_opens is not None and system.limit is not None:
        moved = system.limit.opens - system.limit.opens[0]
        system = replace(system, limit=replace(system.limit, opens=plan.limit_opens + moved))
    told = told_by(system)
    terms = {
        name: Measured(float(np.ravel(value)[0]), rows_differ(value), _kind(name))
        for name, value in told.items()
        if name not in ("beyond table", "at limit") and not name.startswith("tap ")
    }
    plate = system.plate
    return Foretold(
        terms,
        bool(np.ravel(told["beyond table"])[0]),
        (plate.rise_minimum, plate.rise_maximum),
        plate.outlet_maximum,
        plate.static_maximum,
    )


def _sd(change: Change) -> float:
    """Standard uncertainty of what a change puts in, as a share."""
    return float(getattr(change, "relative_sd", 0.0))


def _kind(name: str) -> qty.Kind:
    if name in _DIFFERENCES:
        return qty.TEMPERATURE_DIFFERENCE
    if name in _TEMPERATURES:
        return qty.PROBE_TEMPERATURE
    return {"airflow": qty.AIRFLOW, "input": qty.HEAT_RATE}.get(name, qty.AIR_PRESSURE)


def _spread(change: Change, factors: np.ndarray) -> Change:
    """The change with its resistance in rows."""

    def rows(part: Part) -> Part:
        return replace(part, resistance=part.resistance * factors)

    match change:
        case ReplacePart():
            return replace(change, part=rows(change.part))
        case ScalePart() | ScaleInput():
            return replace(change, factor=change.factor * factors)
        case AddParallel():
            return replace(change, element=change.element.each(rows))
    return change
