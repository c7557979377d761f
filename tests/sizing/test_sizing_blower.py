"""Motor or wheel mended alone, where the diagnosis had no air model that tells the two apart."""

from __future__ import annotations

import pytest

from causebook import quantity as qty
from causebook.casefile.model import CaseOption
from causebook.diagnosis import diagnose
from causebook.sizing.changes import planned
from causebook.sizing.found import found
from causebook.sizing.job import Job
from causebook.sizing.plan import NOTHING, foretell
from causebook.survey.survey import survey
from survey.small import KNOWN, case, step

WEAK = {
    "supply-air": "150 degF",
    "return-air": "70 degF",
    "meter-time": "45 s",
    "tap-before-filter": "-0.05 inH2O",
    "tap-after-filter": "-0.10 inH2O",
    "tap-before-coil": "0.14 inH2O",
    "tap-after-coil": "0.06 inH2O",
}
"""740 cfm at 0.24 in. w.c., where the table gives 1350: six tenths of its speed."""
TABLE, AS_FOUND = 1187, 740
MOTOR, WHEEL, BOTH = {"capacitor": "new"}, {"wheel": "clean"}, {"blower": {"capacitor": "new", "wheel": "clean"}}


def job_of(seen=None, **read):
    one = case(
        [step(1, WEAK | read, {"only-one-room": "yes", **(seen or {})})],
        family="uneven",
        blower={"motor": "split capacitor", "setting": "high", "speed": "1075 rpm"},
    )
    surveyed = survey(one, KNOWN)
    told = diagnose(one, KNOWN, surveyed, show_steps=False)
    assert told.identified is None
    system = found(surveyed, told)
    return Job(surveyed, system, system.moments.airflow.value)


def airflow(job, change):
    """Predicted airflow [cfm]; what is missing, in words, where none is computed."""
    plan = planned(CaseOption(name="it", change=change), 1, job)
    if plan.not_understood:
        return plan.not_understood[0]
    return qty.us(foretell(job.found, plan).terms["airflow"].value, qty.AIRFLOW)


def test_where_nothing_tells_motor_from_wheel_neither_alone_is_computed():
    job = job_of()
    assert qty.us(foretell(job.found, NOTHING).terms["airflow"].value, qty.AIRFLOW) == pytest.approx(AS_FOUND, abs=5)
    for change in (MOTOR, WHEEL):
        assert "the motor's speed or the capacitor read, the wheel seen" in airflow(job, change)
    assert airflow(job, BOTH) == pytest.approx(TABLE, abs=5)


@pytest.mark.parametrize(
    ("seen", "motor", "wheel"),
    [
        ({"wheel-dirty": "no"}, TABLE, AS_FOUND),
        ({"capacitor-low": "no"}, AS_FOUND, TABLE),
        ({"wheel-dirty": "yes", "capacitor-low": "no"}, AS_FOUND, TABLE),
        ({"capacitor-low": "yes"}, TABLE, AS_FOUND),
    ],
)
def test_what_was_seen_says_whose_the_lack_is(seen, motor, wheel):
    job = job_of(seen)
    assert airflow(job, MOTOR) == pytest.approx(motor, abs=5)
    assert airflow(job, WHEEL) == pytest.approx(wheel, abs=5)


def test_a_tachometer_shares_the_lack_between_them():
    job = job_of(**{"motor-speed": "900 rpm"})
    alone = [airflow(job, MOTOR), airflow(job, WHEEL)]
    assert all(AS_FOUND + 20 < one < TABLE - 20 for one in alone)
    assert airflow(job, BOTH) == pytest.approx(TABLE, abs=5)


def test_mending_what_was_seen_good_is_not_computed():
    job = job_of({"wheel-dirty": "no", "capacitor-low": "no"})
    assert all(isinstance(airflow(job, change), str) for change in (MOTOR, WHEEL, BOTH))
