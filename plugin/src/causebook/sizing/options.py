"""Options put back into the identified furnace and air path, each with the readings it predicts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from causebook import quantity as qty
from causebook.casefile.model import Case
from causebook.casefile.sizes import read_size
from causebook.diagnosis.diagnose import Diagnosis
from causebook.diagnosis.model import Role
from causebook.diagnosis.roles import repaired
from causebook.knowledge.model import Knowledge
from causebook.physics.uncertain import Uncertain
from causebook.physics.whatif import Prediction, System, predict
from causebook.sizing.model import Compared, Option, Predicted, ReturnSize
from causebook.survey.heat import heat_of
from causebook.survey.model import Estimate, Survey


def options(case: Case, surveyed: Survey, diagnosis: Diagnosis, knowledge: Knowledge) -> tuple[Option, ...]:
    """One option for each believed cause corrected alone, and one for all of them together."""
    found, moments, path = diagnosis.roles.system, diagnosis.roles.moments, diagnosis.posterior.path
    if found is None or moments is None or path is None:
        return ()
    acting = [c.id for c in diagnosis.verdict.causes
              if c.role in (Role.ROOT, Role.HELPED_BY) and knowledge.causes[c.id].effects]
    choices = [(c,) for c in acting] + ([tuple(acting)] if len(acting) > 1 else [])
    out = [_option(choice, repaired(found, path, moments, choice, knowledge), knowledge) for choice in choices]
    best = next((o for o in out if o.holds == "complaint and reading" and not o.breaks_plate), None) or next(
        (o for o in reversed(out) if o.holds == "complaint and reading"), None)
    return tuple(replace(o, recommended=o is best) for o in out)


def _option(causes: Sequence[str], system: System, knowledge: Knowledge) -> Option:
    told = predict(system)
    texts = [knowledge.remedies[r].text for c in causes for r in knowledge.causes[c].remedies[:1]]
    trips = told.trips
    holds: Literal["complaint and reading", "complaint only", "neither", "not computed"]
    if trips is None and told.rise_within is None:
        holds = "not computed"
    elif not trips and told.rise_within is not False:
        holds = "complaint and reading"
    else:
        holds = "neither" if trips else "complaint only"
    return Option("+".join(causes), " and ".join(knowledge.causes[c].name for c in causes) + " corrected", tuple(texts),
                  tuple(causes), _predicted("airflow", told.airflow, qty.AIRFLOW),
                  _predicted("rise", told.rise, qty.TEMPERATURE_DIFFERENCE),
                  _predicted("external static", told.static, qty.AIR_PRESSURE),
                  _predicted("outlet", told.outlet, qty.PROBE_TEMPERATURE),
                  _predicted("limit margin", told.limit_margin, qty.TEMPERATURE_DIFFERENCE), trips, holds,
                  _says(told, holds), told.broken)


def _predicted(name: str, term: Uncertain | None, kind: qty.Kind) -> Predicted | None:
    return None if term is None else Predicted(name, term.value, term.sd, kind)


def _says(told: Prediction, holds: str) -> str:
    words = {"complaint and reading": "Ends the tripping and brings the rise into range",
             "complaint only": "Ends the tripping and leaves the rise out of range",
             "neither": "The limit would still open", "not computed": "Not computed"}[holds]
    return words + (f"; still out of its plate: {', '.join(told.broken)}." if told.broken else ".")


def return_size(case: Case, surveyed: Survey, knowledge: Knowledge) -> ReturnSize | None:
    """Return openings found, the code floor and what the middle airflow needs at the design face velocity."""
    heat = heat_of(case, knowledge)
    ducts = [o for o in case.file.return_ if "grille" not in o.of]
    if heat.output is None or surveyed.middle_airflow is None or not case.file.return_:
        return None
    area = sum(qty.si(read_size(o.size).area, qty.SMALL_AREA) * o.count for o in ducts or case.file.return_)
    flow = qty.si(surveyed.middle_airflow, qty.AIRFLOW)
    speed = 700 * 0.3048 / 60
    floor = knowledge.constants["return-area-floor"].value * heat.output / 293.071 * 0.0254 ** 2
    return ReturnSize(surveyed.middle_airflow, qty.from_si(area, qty.SMALL_AREA), qty.from_si(floor, qty.SMALL_AREA),
                      "mechanical code family: 2 in² of duct for each 1000 Btu/h of output",
                      qty.from_si(flow / speed, qty.SMALL_AREA), "700 fpm in the duct (common practice, no source)",
                      qty.from_si(flow / area, qty.VELOCITY), ())


def compared(case: Case, surveyed: Survey, offered: Sequence[Option], knowledge: Knowledge) -> tuple[Compared, ...]:
    """The readings after repair held against what the nearest option predicted."""
    after = surveyed.after
    option = next((o for o in offered if o.recommended), None)
    if after is None or option is None:
        return ()
    pairs: list[tuple[Predicted | None, Estimate | None]] = [
        (option.airflow, after.best_airflow), (option.rise, after.rise), (option.static, after.static)]
    return tuple(_compare(p, r) for p, r in pairs if p is not None and r is not None)


def _compare(predicted: Predicted, read: Estimate) -> Compared:
    kind = predicted.kind
    value, spread = qty.si(predicted.value, kind), qty.si(predicted.sd, kind)
    seen, seen_sd = qty.si(read.value, kind), qty.si(read.sd, kind)
    inside = abs(seen - value) <= 2 * (spread ** 2 + seen_sd ** 2) ** 0.5
    gap = qty.show(qty.from_si(seen - value, kind), kind)
    return Compared(predicted.name, predicted, read.value, inside,
                    f"{'inside' if inside else 'outside'} the prediction by {gap}")
