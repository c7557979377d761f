"""Gas changes on a furnace with orifices too large and a manifold pressure too high at once."""

from __future__ import annotations

from itertools import permutations

import pytest

from causebook import quantity as qty
from causebook.casefile.model import CaseOption
from causebook.diagnosis import diagnose
from causebook.sizing.changes import planned
from causebook.sizing.found import found
from causebook.sizing.gas_input import to_plate
from causebook.sizing.job import Job
from causebook.sizing.judge import Judge
from causebook.sizing.options import options
from causebook.sizing.plan import foretell, together
from causebook.survey.survey import survey
from survey.small import KNOWN, case, step

TAPS = {
    "tap-before-filter": "-0.10 inH2O",
    "tap-after-filter": "-0.20 inH2O",
    "tap-before-coil": "0.28 inH2O",
    "tap-after-coil": "0.12 inH2O",
}


def read(seconds, manifold, **plate):
    """A furnace of 80,000 Btu/h that tripped, then ran: a foot of gas of 1000 Btu in so many seconds."""
    steps = [
        step(1, seen={"limit-opened-while-watched": "yes", "after-gas-work": "yes", "filter-dirty": "no"}),
        step(
            2,
            {
                "supply-air": "141 degF",
                "return-air": "70 degF",
                "meter-time": f"{seconds} s",
                "manifold": f"{manifold} inH2O",
                **TAPS,
            },
        ),
    ]
    one = case(
        steps,
        plate={"rise": "35 to 65 degF", "limit": {"opens": "180 degF", "closes": "150 degF"}, **plate},
        table=None,
    )
    surveyed = survey(one, KNOWN)
    return one, surveyed, diagnose(one, KNOWN, surveyed, show_steps=False)


@pytest.fixture(scope="module")
def both():
    """Clocked at 104,046 Btu/h: No. 43 where No. 45 belongs, and 4.2 in. w.c. where 3.5 does."""
    one, surveyed, told = read("34.6", "4.2", orifice="45")
    system = found(surveyed, told)
    return Job(surveyed, system, system.moments.airflow.value), told


def input_after(job, plan):
    return qty.us(foretell(job.found, plan).terms["input"].value, qty.HEAT_RATE)


def test_orifices_and_pressure_multiply_in_any_order(both):
    """Orifice equation, NFPA 54 Annex E: the flow goes with the area and with the root of the pressure."""
    job, _ = both
    right = 3600e3 / 34.6 * (0.082 / 0.089) ** 2 * (3.5 / 4.2) ** 0.5
    parts = {"orifices": {"from": "43", "to": "45"}, "manifold": "3.5 inH2O"}
    for order in permutations(parts):
        plan = planned(CaseOption(name="it", change={part: parts[part] for part in order}), 1, job)
        assert input_after(job, plan) == pytest.approx(right, rel=0.002)


def test_both_corrections_together_reach_the_plate_and_neither_does_alone(both):
    job, _ = both
    plans = [to_plate(job.surveyed, job.found, by) for by in ("set-manifold", "orifices")]
    for order in permutations(plans):
        assert input_after(job, together(order)) == pytest.approx(80000, rel=0.001)
    assert [input_after(job, p) for p in plans] == pytest.approx([80000 * 1.187, 80000 * (4.2 / 3.5) ** 0.5], rel=0.01)


def test_a_stated_input_holds_whatever_else_is_changed(both):
    job, _ = both
    change = {"input": "78000 Btu/h", "manifold": "3.3 inH2O"}
    for order in permutations(change):
        plan = planned(CaseOption(name="it", change={part: change[part] for part in order}), 1, job)
        assert input_after(job, plan) == pytest.approx(78000)


@pytest.mark.parametrize(("seconds", "manifold", "left"), [("36.0", "4.6", 1.09), ("37.0", "4.6", 1.06)])
def test_what_leaves_more_than_the_plate_allows_is_not_recommended(seconds, manifold, left):
    """The plate's pressure on orifices that are too large: shown, with the input it leaves."""
    one, surveyed, told = read(seconds, manifold)
    offered = {o.id: o for o in options(surveyed, told, ())}
    assert 3600e3 / float(seconds) * (3.5 / float(manifold)) ** 0.5 / 80000 == pytest.approx(left, abs=0.005)
    assert not any(o.recommended for o in offered.values())
    assert any(b.startswith("input ") for b in offered["set-manifold"].breaks_plate)


def test_an_option_that_leaves_the_gas_alone_is_judged_by_the_input_found(both):
    job, told = both
    judge = Judge(job, told.verdict, ())
    new = judge.option(planned(CaseOption(name="filter", change={"filter": "clean"}), 1, job))
    assert any(b.startswith("input 104,0") for b in new.breaks_plate)
