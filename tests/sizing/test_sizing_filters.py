"""What a new filter promises, by what is known of it, alone and beside a cabinet, counted as external or not."""

from __future__ import annotations

from itertools import permutations

import pytest

from causebook.diagnosis import diagnose
from causebook.quantity import INCH, INWC
from causebook.sizing.filters import MEDIA, cabinet, filter_part
from causebook.sizing.forms import read
from causebook.sizing.found import found
from causebook.sizing.job import Job
from causebook.sizing.judge import Judge
from causebook.sizing.options import options
from causebook.sizing.plan import foretell, together
from causebook.sizing.remedies import correction
from causebook.survey.survey import survey
from survey.small import KNOWN, TABLE, case, step

LOADED_READ = {
    "supply-air": "150 degF",
    "return-air": "70 degF",
    "meter-time": "45 s",
    "tap-before-filter": "-0.12 inH2O",
    "tap-after-filter": "-0.62 inH2O",
    "tap-before-coil": "0.24 inH2O",
    "tap-after-coil": "0.10 inH2O",
}
FINE = {"kind": "fine pleated", "size": "16 x 20 x 1 in"}
LABEL = FINE | {"clean drop": "0.28 inH2O", "at": "1000 cfm"}
WITHIN = {"counted as external": ["return", "coil", "supply"]}


def job_of(filter_=FINE, table=None, plate=None, **readings):
    one = case(
        [step(1, LOADED_READ | readings, {"filter-dirty": "yes", "after-filter-change": "yes"})],
        table=table,
        filter=filter_,
        plate=plate,
    )
    surveyed = survey(one, KNOWN)
    told = diagnose(one, KNOWN, surveyed, show_steps=False)
    system = found(surveyed, told)
    return Job(surveyed, system, 1.2 * system.moments.airflow.value), told


def told_by(job, plan):
    return foretell(job.found, plan).terms


def test_a_new_filter_without_a_label_takes_what_its_kind_and_size_take():
    """Not what is usual for a furnace of this size: that is a third of it."""
    job, _ = job_of()
    renewed, named = read("filter", "clean", job), read("filter", FINE, job)
    assert correction("filter-loaded", job).changes == renewed.changes == named.changes
    at = told_by(job, renewed)
    fine = filter_part(MEDIA[1], 16 * 20 * INCH**2, job.found.density).at_flow(at["airflow"].si, job.found.density)[0]
    assert at["drop filter"].si == pytest.approx(fine) and fine > 0.25 * INWC


def test_the_label_goes_before_kind_and_size():
    at = told_by((job := job_of(LABEL)[0]), read("filter", "clean", job))
    exponent = job.found.path.exponent["filter"]
    label = 0.28 * INWC * (at["airflow"].si / (1000 * 0.3048**3 / 60)) ** exponent
    assert at["drop filter"].si == pytest.approx(label, rel=0.03)


def test_a_new_filter_is_never_worse_than_the_one_found():
    job, _ = job_of(**{"tap-after-filter": "-0.24 inH2O"})
    assert told_by(job, read("filter", "clean", job))["drop filter"].si <= job.as_found.terms["drop filter"].si * 1.001


def test_a_filter_that_is_still_too_fine_when_new_is_not_recommended():
    job, told = job_of()
    offered = {o.id: o for o in options(job.surveyed, told, ())}
    assert told.verdict.cause("filter-too-restrictive").probability > 0.5
    assert not offered["new-filter"].recommended and offered["filter-cabinet"].recommended


@pytest.mark.parametrize("filter_", [FINE, LABEL])
def test_of_two_filters_in_one_plan_only_the_freer_is_fitted(filter_):
    job, told = job_of(filter_)
    plans = [correction("filter-loaded", job), correction("filter-too-restrictive", job)]
    for order in permutations(plans):
        assert together(order) == cabinet(job.found, job.airflow)
    names = [o.name for o in options(job.surveyed, told, ())]
    # A filter whose label promises little drop wins too little to be corrected for itself.
    assert ("Deep filter cabinet" in names) is (filter_ is FINE)
    assert not any("filter" in n.lower().replace("filter cabinet", "") and "cabinet" in n for n in names)


def test_of_a_filter_inside_the_furnace_only_what_its_table_does_not_hold_is_charged():
    job, _ = job_of(table=TABLE, plate=WITHIN)
    deep = {"kind": "deep media", "size": "20 x 25 x 4 in"}
    at = told_by(job, read("filter", deep, job))
    whole = filter_part(MEDIA[0], 20 * 25 * INCH**2, job.found.density).at_flow(at["airflow"].si, job.found.density)[0]
    beyond = float(whole) - job.found.held("filter", at["airflow"].si)
    assert at["drop filter"].si == pytest.approx(max(beyond, 0.1), abs=0.5)
    assert at["airflow"].si >= told_by(job, read("filter", FINE, job))["airflow"].si


def test_a_filter_inside_the_furnace_loads_as_a_whole():
    """Half of its clean drop more, though the fan table holds all of that."""
    job, told = job_of(table=TABLE, plate=WITHIN)
    plan, seen = read("filter", {"kind": "deep media", "size": "20 x 25 x 4 in"}, job), []
    judge = Judge(job, told.verdict, ())
    judge._reading = lambda after: seen.append(after) or 1.0
    clean = judge.solved(plan).told.terms
    judge._holds_later(plan)
    within = job.found.held("filter", clean["airflow"].si)
    more = 0.5 * (within + clean["drop filter"].si)
    loaded = seen[-1].terms
    scale = (loaded["airflow"].si / clean["airflow"].si) ** MEDIA[0].exponent
    assert loaded["drop filter"].si == pytest.approx((clean["drop filter"].si + more) * scale, rel=1e-6)
    assert within > 10
