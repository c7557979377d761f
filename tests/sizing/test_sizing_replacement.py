"""Another furnace on the old ducts: everything beside it is sized for its own airflow, and it must be carried."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from causebook import quantity as qty
from causebook.casefile.model import Opening
from causebook.sizing.options import return_size


def airflow_of(option):
    return qty.us(option.airflow.value, qty.AIRFLOW)


def work_of(option, title):
    return next(w for w in option.works if w.title == title)


def test_the_filter_beside_another_furnace_is_sized_for_the_airflow_of_that_one(worked):
    """20 × 25 in. are 3.47 ft²: what the option predicts, over that, and not the old furnace's 1,675 cfm."""
    option = worked("too-large").option("half the size")
    speed = work_of(option, "Face velocity of the filter").result
    assert float(re.match(r"[0-9,]+", speed)[0].replace(",", "")) == pytest.approx(airflow_of(option) / 3.472, rel=0.02)


def test_the_return_is_sized_for_the_furnace_that_was_chosen(worked):
    one = worked("too-large")
    file = one.case.file.model_copy(update={"return_": (Opening(what="return drop", size="20 x 10 in"),)})
    of = replace(one.surveyed, case=one.case.model_copy(update={"file": file}))
    new = return_size(of, one.options)
    old = return_size(of, ())
    # 57,000 Btu/h of output against 100,000; 1056 cfm as its blower is set, 1200 for three tons of cooling.
    assert qty.us(new.floor, qty.SMALL_AREA) == pytest.approx(2 * 57, rel=0.01)
    assert qty.us(old.floor, qty.SMALL_AREA) == pytest.approx(2 * 100, rel=0.01)
    assert qty.us(new.airflow, qty.AIRFLOW) == pytest.approx(1200)
    assert qty.us(old.airflow, qty.AIRFLOW) > 1600


def test_a_furnace_that_the_ducts_do_not_carry_is_not_recommended(worked):
    one = worked("too-large")
    small = next(o for o in one.options if o.id == "smaller-furnace")
    assert "not carried" in work_of(small, "Will these ducts carry it?").note and not small.recommended
    assert any("external static" in b for b in small.breaks_plate)
    (best,) = [o for o in one.options if o.recommended]
    assert best.static.value <= one.case.file.furnace.static_maximum
    for option in one.options:
        if option.furnace is not None:
            over = qty.us(option.static.value, qty.AIR_PRESSURE) > 0.5
            assert over == any("external static" in b for b in option.breaks_plate), option.name


def test_an_airflow_short_of_the_cooling_coil_is_said_in_one_sentence(worked):
    for option in worked("too-large").options:
        if option.furnace is not None:
            short = airflow_of(option) < 0.95 * 3 * 350
            assert short == ("to cool, the coil of 3 ton asks for a faster setting" in option.says), option.says
