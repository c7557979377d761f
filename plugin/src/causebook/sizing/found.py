"""The furnace and air path as found, with what is uncertain in it, ready to be changed and asked again.

The numbers of a `Found` system are arrays: row 0 holds the best estimate, each further row has one uncertain value
moved by its standard uncertainty.  One solve answers all rows, and the root of the summed squares of what the rows
say differently is the uncertainty of a prediction (GUM, JCGM 100:2008, 5.1.3 note 2).  A moved airflow or drop moves
the blower's speed with it, so that every row still shows what was read.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from causebook import quantity as qty
from causebook.diagnosis import Diagnosis
from causebook.equipment.furnace.evidence import Evidence, Gauge
from causebook.equipment.furnace.from_survey import evidence_of
from causebook.equipment.furnace.heat_and_air import identified
from causebook.equipment.furnace.setup import Setup
from causebook.equipment.furnace.system import LEAST, SOUND, Identified, Moments, held, system_of
from causebook.knowledge.model import Knowledge
from causebook.physics.airpath import Part
from causebook.physics.fan import Fan
from causebook.physics.whatif import Plate, System, in_rows
from causebook.survey.model import State, Survey


@dataclass(frozen=True)
class Found:
    """The identified system in rows, with the evidence and the means it was made from."""

    system: System
    path: Identified
    moments: Moments

    @property
    def evidence(self) -> Evidence:
        """What was measured."""
        return self.path.evidence

    @property
    def density(self) -> float:
        """Of the air along the path [kg/m³]."""
        return float(self.system.density)

    def drop(self, part: str, airflow: float) -> float:
        """Drop of a part [Pa] at an airflow [m³/s], the part as found; 0 for one that is not there."""
        parts = {p.name: p for p in self.system.path.parts}
        if part not in parts:
            return 0.0
        return float(parts[part].at_flow(airflow, self.density)[0][0])

    def held(self, part: str, airflow: float) -> float:
        """What the fan table already holds of a part [Pa] at an airflow [m³/s]; 0 for one that counts as external."""
        return held(self.path, part, airflow)

    def fitted(self, part: Part, airflow: float) -> Part:
        """A new part as the system takes it: its drop at an airflow [m³/s] less what the fan table holds of it."""
        within = self.held(part.name, airflow)
        if not within:
            return part
        left = max(float(part.at_flow(airflow, self.density)[0]) - within, LEAST)
        return Part(part.name, left / airflow**part.exponent, part.exponent, self.density)


def found(surveyed: Survey, diagnosis: Diagnosis) -> Found | None:
    """The system as the diagnosis identified it, else straight from the readings; None where they do not allow it."""
    knowledge = surveyed.knowledge
    path = diagnosis.identified
    moments = path.moments if path is not None else None
    modelled = path is not None and moments is not None
    if path is None or moments is None:
        evidence = evidence_of(surveyed.case, surveyed, knowledge)
        moments = _as_read(surveyed, evidence) if evidence is not None else None
        if evidence is None or moments is None:
            return None
        path = identified(Setup(evidence, knowledge, ()), moments)
    try:
        best = system_of(path, moments, knowledge, diagnosis.plate)
    except ValueError:  # no speed of this blower fits the readings
        return None
    system = in_rows([best, *_moved(best, path, moments, knowledge, diagnosis.plate)])
    return Found(system, path, moments if modelled else _blower_as_read(moments, system, path.evidence, surveyed))


def _as_read(surveyed: Survey, evidence: Evidence) -> Moments | None:
    """Means from the as-found readings alone: airflow by its best method, every drop as read, input and rise.

    None where the airflow or a drop was not read.  Without a rise the input and the efficiency stand for it.
    """
    read = surveyed.found
    if read.best_airflow is None:
        return None
    drops = {d.part: Gauge(qty.si(d.value, qty.AIR_PRESSURE), qty.si(d.sd, qty.AIR_PRESSURE)) for d in read.drops}
    if not {"return", "filter", "supply"} | ({"coil"} if evidence.coil else set()) <= drops.keys():
        return None
    airflow = Gauge(*read.best_airflow.pair)
    put_in = evidence.found.input or Gauge(evidence.plate_input or 0.0, 0.05 * (evidence.plate_input or 0.0))
    steady = evidence.found.rise
    if steady is None:
        size = put_in.value * evidence.efficiency.value / (evidence.sensible * airflow.value)
        steady = Gauge(size, size * float(np.hypot(0.05, evidence.efficiency.sd / evidence.efficiency.value)))
    body = surveyed.knowledge.constants["limit-body-factor"]
    return Moments(
        airflow,
        put_in,
        Gauge(1.0, 0.0),
        Gauge(1.0, 0.0),
        {"inlet": Gauge(0.0, 0.0), "coil": Gauge(0.0, 0.0)} | drops,
        steady,
        Gauge(body.value, body.spread),
    )


TELLING = {"capacitor-low": "motor", "motor-slow": "motor", "wheel-dirty": "blower", "wheel-loose": "blower"}
"""Finding -> what of the blower it speaks of."""


def _blower_as_read(moments: Moments, system: System, evidence: Evidence, surveyed: Survey) -> Moments:
    """The speed that the readings ask for, shared between motor and wheel by the tachometer, else by what was seen.

    The motor's share is NaN where nothing tells the two apart, the speed too where both were seen good.
    """
    assert isinstance(system.fan, Fan)  # the diagnosis makes no other blower
    speed = float(system.fan.speed[0])
    said = [(on, f.state) for id_, on in TELLING.items() if (f := surveyed.finding(id_)) is not None]
    bad, good = ({on for on, state in said if state is wanted} for wanted in (State.PRESENT, State.ABSENT))
    suspects = bad or {"motor", "blower"} - good
    if speed > SOUND:
        motor = 1.0
    elif evidence.turned is not None:
        motor = min(float(np.exp(evidence.turned.value)), 1.0)
    else:
        motor = {"motor": speed, "blower": 1.0}[min(suspects)] if len(suspects) == 1 else float("nan")
    return replace(moments, speed=Gauge(speed if suspects else float("nan"), 0.0), motor=Gauge(motor, 0.0))


def _moved(best: System, path: Identified, moments: Moments, knowledge: Knowledge, plate: Plate) -> Iterator[System]:
    """The system with one uncertain value moved at a time."""

    def up(gauge: Gauge) -> Gauge:
        return Gauge(gauge.value + gauge.sd, gauge.sd)

    moved = [
        replace(moments, airflow=up(moments.airflow)),
        replace(moments, input=up(moments.input)),
        replace(moments, rise=up(moments.rise)),
    ]
    moved += [
        replace(moments, drops={**moments.drops, part: up(drop)}) for part, drop in moments.drops.items() if drop.sd
    ]
    for other in moved:
        try:
            yield system_of(path, other, knowledge, plate)
        except ValueError:  # beyond what the blower's table reaches: this row says nothing
            continue
    yield replace(best, return_temperature=best.return_temperature + path.evidence.return_temperature.sd)
    if best.limit is not None:
        opens = (
            path.evidence.measured["limit"].sd
            if "limit" in path.evidence.measured
            else knowledge.constants["limit-opening-spread"].value * qty.DEGREE
        )
        yield replace(best, limit=replace(best.limit, opens=best.limit.opens + opens))
        yield replace(best, limit=replace(best.limit, body_factor=best.limit.body_factor + moments.body.sd))
