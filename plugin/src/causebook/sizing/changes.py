"""What an author's `change:` means: each part of it read as a plan, whatever is not understood named.

    change:
      filter: {kind: deep media, size: 20 x 25 x 4 in}     # with `clean drop:` and `at:` from its label where known
      filter: clean                                         # or: removed
      add return: {duct: 14 in round, length: 22 ft, grille: 18 x 24 in}   # `of: flex`, `slack: 8 %`, `count: 2`
      add return: {drop: 0.10 inH2O, at: 600 cfm}           # as it was designed elsewhere
      return: {duct: 20 x 10 in, length: 30 ft}             # in the place of the old one; `drop:` and `at:` too
      coil: clean                                           # or {clean drop: 0.16 inH2O, at: 1000 cfm}
      supply: {branches: 2, duct: 7 in round, length: 20 ft}   # or {drop:, at:}, or opened
      blower: {setting: high}                               # or clean, {capacitor: new}
      orifices: 45                                          # drill number or diameter; {from: 43, to: 45}
      manifold: 3.5 inH2O
      input: 80000 Btu/h
      furnace: {input: 60000 Btu/h, output: 57000 Btu/h, rise: 35 to 65 degF, airflow: 1050 cfm, holds to: 0.8 inH2O}
      limit: new                                            # or {opens: 200 degF}
      recirculation: closed                                 # or `bypass: removed`
      capacitor: 10 µF                                      # also `wheel:` and `motor:`
      add supply: {duct: 8 in round, length: 4 ft}
      inlet: one side                                       # or two sides, bottom

Every number carries its unit.  `FORMS` holds the same for the guide and for messages.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from causebook.casefile.model import Case, CaseOption
from causebook.casefile.review import objection
from causebook.knowledge.model import slug
from causebook.problems import Problem, did_you_mean
from causebook.quantity import QuantityError
from causebook.sizing.forms import BESIDE_THE_AIR, FORMS, NotUnderstood, read
from causebook.sizing.job import Job
from causebook.sizing.model import Option
from causebook.sizing.plan import Plan, foretell, together

RULE = "option-not-understood"
"""The rule of the review under which an unread change is reported."""


def planned(option: CaseOption, number: int, job: Job) -> Plan:
    """An author's option as a plan; what could not be read stands in `not_understood`.

    What stands beside another furnace is sized for that one's airflow, and no longer for the old one's.
    """
    plan = _planned(option, number, job)
    if not plan.replaces_furnace or len(option.change) == 1:
        return plan
    return _planned(option, number, replace(job, airflow=foretell(job.found, plan).terms["airflow"].si))


def _planned(option: CaseOption, number: int, job: Job) -> Plan:
    plans: list[Plan] = []
    lost: list[str] = []
    for part, value in option.change.items():
        try:
            plan = (
                read(part, value, job)
                if not (part == "orifices" and "input" in option.change)
                else Plan("orifices", "Orifices", (f"Orifices: {value}",), effort=0)
            )
        except NotUnderstood as problem:
            lost.append(str(problem))
        except (QuantityError, KeyError, ValueError) as problem:
            lost.append(f"{part}: {problem.args[0] if problem.args else problem}; expected {FORMS.get(part, '')}")
        else:
            plans.append(plan)
    if not plans:
        return Plan(f"offered-{number}", option.name, (), not_understood=tuple(lost))
    return replace(together(plans), id=f"offered-{number}", name=option.name, not_understood=tuple(lost))


# ---------------------------------------------------------------------------------------------- problems


def acts_on_air(option: CaseOption) -> bool:
    """Does an option change anything that may act on airflow or heat?"""
    return any(" ".join(slug(part).split("-")) not in BESIDE_THE_AIR for part in option.change)


def offered(case: Case) -> Iterator[tuple[str, CaseOption]]:
    """Every option of the case with its place in the file, in order."""
    for visit, one in enumerate(case.file.visits, 1):
        for number, option in enumerate(one.options, 1):
            yield f"visits.{visit}.options.{number}", option


def change_problems(case: Case, options: Iterable[Option]) -> list[Problem]:
    """A located warning for each part of an author's change that was not understood.

    `options` are those of `sizing.options.options`.
    """
    unread = {o.id: o.not_understood for o in options if o.by_author}
    out: list[Problem] = []
    for number, (place, _) in enumerate(offered(case), 1):
        for lost in unread.get(f"offered-{number}", ()):
            part, _, rest = lost.partition(": ")
            found, _, expected = rest.partition("; expected ")
            out += objection(
                case,
                RULE,
                f"{place}.change.{part}",
                found or lost,
                expected or FORMS.get(part, ""),
                did_you_mean(part, FORMS) if part not in FORMS else "",
            )
    return out
