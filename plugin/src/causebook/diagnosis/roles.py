"""Roles by what-if: each present cause is repaired alone in the identified system, and the system asked again.

Root: its repair alone, with ordinary upkeep otherwise, ends the complaint and brings the reading into range (of a
cooling coil: its airflow), with the largest gain in limit margin; which cause that is stands in `root_chance`, over all
that may be present.
Contributing: a real share of the lost margin, not enough alone.  Damage: only along known edges.  Causes that the
heat-and-air model does not know take their role from belief and from the edges.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from causebook import quantity as qty
from causebook.diagnosis.airpath_belief import Moments, PathBelief
from causebook.diagnosis.model import Role, WhatIf
from causebook.diagnosis.posterior import Posterior
from causebook.diagnosis.system import anchored, limit_repaired, repairs, system_of
from causebook.knowledge.model import Knowledge
from causebook.physics.whatif import Change, Plate, System, apply, told_by
from causebook.survey.model import ReadingSet

SHARE_THAT_COUNTS = 0.12
"""Share of the margin won by all repairs together from which one counts as contributing (expert estimate)."""


@dataclass(frozen=True, slots=True)
class Told:
    """What a system shows, as bare SI numbers."""

    airflow: float
    rise: float | None
    margin: float | None

    @classmethod
    def by(cls, system: System) -> Told:
        told = told_by(system)
        return cls(
            float(told["airflow"]),
            float(told["rise"]) if "rise" in told else None,
            float(told["limit margin"]) if "limit margin" in told else None,
        )


@dataclass(frozen=True, slots=True)
class Roles:
    """Role of each present cause, with the table that decided, and the system it was decided on."""

    by_cause: dict[str, Role]
    table: tuple[WhatIf, ...]
    system: System | None
    moments: Moments | None


def roles(
    present: Sequence[str],
    root: str | None,
    posterior: Posterior,
    found_readings: ReadingSet,
    knowledge: Knowledge,
    plate: Plate,
) -> Roles:
    """Roles of the causes believed present, most believed first; `root` is the one most likely to be the root."""
    causes = knowledge.causes
    physical = [c for c in present if causes[c].effects]
    path = posterior.path
    if path is None or not physical or not _has_heat(path, plate):
        return Roles(_by_belief(present, root, knowledge), (), None, None)
    moments = anchored(path.moments(frozenset(present)), found_readings)
    found = system_of(path, moments, knowledge, plate)
    least = _least_cooling(path, knowledge)
    as_found = _row("as found", (), found, plate, least)
    rows: list[WhatIf] = []
    together = repaired(found, path, moments, physical, knowledge)
    gain_all = _gain(found, together)
    alone: dict[str, float] = {}
    for cause in physical:
        changed = repaired(found, path, moments, [cause], knowledge)
        kept_up = _kept_up(found, changed, path, moments, cause, present, knowledge)
        row = _row(f"only this corrected: {causes[cause].name}", (cause,), kept_up, plate, least)
        if kept_up is not changed:
            rows.append(_row(f"{causes[cause].name} corrected, the rest as found", (cause,), changed, plate, least))
            row = replace(row, change=f"{causes[cause].name} corrected, filter ordinary and clean")
        rows.append(row)
        alone[cause] = _gain(found, changed)
    if len(physical) > 1:
        rows.append(_row("all of them corrected", tuple(physical), together, plate, least))
    by_cause = _assign(present, root, alone, gain_all, knowledge)
    if as_found.restores:
        # Heat and air do not explain the complaint: then no change of them is shown to end it.
        rows = [replace(row, restores=None) for row in rows]
    return Roles(by_cause, (replace(as_found, restores=False), *rows), found, moments)


def _has_heat(path: PathBelief, plate: Plate) -> bool:
    e = path.evidence
    return (
        e.plate_input is not None
        and bool(e.rise or e.rise_at_trip or e.airflow or e.taps)
        and (plate.rise_maximum is not None or e.limit_opens is not None)
    ) or e.cooling_airflow_needed is not None


def repaired(found: System, path: PathBelief, moments: Moments, which: Sequence[str], knowledge: Knowledge) -> System:
    """The system as found with the given causes corrected."""
    effects = [e for c in which for e in knowledge.causes[c].effects]
    changes: list[Change] = repairs(path, moments, effects)
    return limit_repaired(apply(found, changes), path.evidence, effects)


def _kept_up(
    found: System,
    changed: System,
    path: PathBelief,
    moments: Moments,
    cause: str,
    present: Sequence[str],
    knowledge: Knowledge,
) -> System:
    """The system after one repair and ordinary upkeep: an ordinary clean filter, where the filter is a cause too."""
    causes = knowledge.causes
    upkeep = [c for c in present if c != cause and any(e.on == "filter" for e in causes[c].effects)]
    if not upkeep:
        return changed
    return repaired(found, path, moments, [cause, *upkeep], knowledge)


def _least_cooling(path: PathBelief, knowledge: Knowledge) -> float | None:
    """Least airflow of the cooling coil [m³/s]; None for complaints of heating."""
    freezes, constants = path.evidence.cooling_airflow_needed, knowledge.constants
    if freezes is None:
        return None
    return freezes * constants["cooling-airflow-least"].value / constants["cooling-airflow-ice"].value


def _row(change: str, repaired: Sequence[str], system: System, plate: Plate, least: float | None) -> WhatIf:
    told = Told.by(system)
    trips = None if told.margin is None else told.margin < 0
    within = None
    if told.rise is not None and plate.rise_maximum is not None:
        within = (plate.rise_minimum or 0.0) <= told.rise <= plate.rise_maximum
    restores = None if trips is None and within is None else not trips and within is not False
    note = ""
    if least is not None:
        restores = told.airflow >= least
        note = f"the coil needs {qty.show(qty.from_si(least, qty.AIRFLOW), qty.AIRFLOW)}"
    return WhatIf(
        change,
        tuple(repaired),
        qty.from_si(told.airflow, qty.AIRFLOW),
        None if told.rise is None else qty.from_si(told.rise, qty.TEMPERATURE_DIFFERENCE),
        None if told.margin is None else qty.from_si(told.margin, qty.TEMPERATURE_DIFFERENCE),
        trips,
        within,
        restores,
        note,
    )


def _gain(found: System, changed: System) -> float:
    before, after = Told.by(found), Told.by(changed)
    if before.margin is not None and after.margin is not None:
        return after.margin - before.margin
    if before.rise is not None and after.rise is not None:
        return before.rise - after.rise
    return (after.airflow - before.airflow) / before.airflow * 30.0


def _assign(
    present: Sequence[str], root: str | None, alone: dict[str, float], gain_all: float, knowledge: Knowledge
) -> dict[str, Role]:
    out: dict[str, Role] = {}
    damage = damaged_by(present, knowledge)
    for cause in present:
        if cause == root:
            out[cause] = Role.ROOT
        elif cause in damage and damage[cause] in present:
            out[cause] = Role.DAMAGE
        elif cause in alone:
            share = alone[cause] / gain_all if gain_all > 0 else 0.0
            out[cause] = Role.HELPED_BY if share >= SHARE_THAT_COUNTS else Role.ALSO_FOUND
        else:
            out[cause] = Role.HELPED_BY if "contributing" in knowledge.causes[cause].often else Role.ALSO_FOUND
    return out


def damaged_by(present: Sequence[str], knowledge: Knowledge) -> dict[str, str]:
    """Cause that is damage -> the present cause that does it."""
    return {edge.does: edge.cause for edge in knowledge.damage if edge.does in present and edge.cause in present}


def _by_belief(present: Sequence[str], root: str | None, knowledge: Knowledge) -> dict[str, Role]:
    """Without a what-if: what is not the root and not damage of another may have helped."""
    damage = damaged_by(present, knowledge)
    out: dict[str, Role] = {}
    for cause in present:
        if cause == root:
            out[cause] = Role.ROOT
        elif cause in damage:
            out[cause] = Role.DAMAGE
        else:
            out[cause] = Role.HELPED_BY
    return out
