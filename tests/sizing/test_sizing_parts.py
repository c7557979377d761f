"""Runs, filters, returns, blower settings, uncertainty: what they must hold whatever the numbers are."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from causebook import quantity as qty
from causebook.casefile.sizes import read_size
from causebook.physics.duct import Rectangular, Round
from causebook.physics.whatif import AddParallel, ReplacePart, SetInput, apply, told_by
from causebook.quantity import CFM, INCH, INWC
from causebook.sizing import plan as plans
from causebook.sizing.blower import chosen
from causebook.sizing.compare import compare
from causebook.sizing.filters import CABINETS, MEDIA, cabinet, filter_part, medium_of
from causebook.sizing.options import options, return_size
from causebook.sizing.plan import NOTHING, Plan, foretell, together
from causebook.sizing.return_air import DROP_MOST, DUCT_VELOCITY, GRILLE_VELOCITY, inlet_note, ways
from causebook.sizing.runs import Run

RHO = 1.2041
AIRFLOWS = st.floats(400, 2000)


@given(cfm=AIRFLOWS, old=st.one_of(st.none(), st.floats(0.02, 1.0)), length=st.floats(1, 15))
@settings(max_examples=60, deadline=None)
def test_every_way_keeps_its_pressure_and_its_velocities(cfm, old, length):
    resistance = None if old is None else old * INWC / (800 * CFM) ** 2
    for way in ways(cfm * CFM, resistance, RHO, length):
        each = way.airflow / way.run.count
        assert way.run.drop(each, RHO) <= DROP_MOST * (1 + 1e-9)
        assert each / way.run.shape.area_si <= DUCT_VELOCITY * (1 + 1e-9)
        assert each / way.run.grille <= GRILLE_VELOCITY * (1 + 1e-9)
        carried = (DROP_MOST / resistance) ** 0.5 if resistance else 0.0
        assert way.airflow + carried == pytest.approx(cfm * CFM)
        assert str(way.grille[0]) in way.words


def test_a_return_that_is_enough_asks_for_nothing():
    assert ways(600 * CFM, 0.05 * INWC / (600 * CFM) ** 2, RHO) == ()


@given(
    cfm=st.floats(50, 2000),
    inches=st.sampled_from([6, 8, 10, 14, 18]),
    length=st.floats(1, 30),
    of=st.sampled_from(["metal", "flex", "duct board", "joist bay"]),
)
@settings(max_examples=60, deadline=None)
def test_a_run_takes_more_with_more_air_more_length_and_a_rougher_wall(cfm, inches, length, of):
    run = Run(Round(inches * INCH), length, of, 0.04 if of == "flex" else 0.0)
    drop = run.drop(cfm * CFM, RHO)
    assert drop > 0
    assert run.drop(1.1 * cfm * CFM, RHO) > drop
    assert replace(run, length=2 * length).drop(cfm * CFM, RHO) > drop
    assert replace(run, of="metal").drop(cfm * CFM, RHO) <= drop
    assert run.part("it", cfm * CFM, RHO).at_flow(cfm * CFM, RHO)[0] == pytest.approx(drop, rel=1e-9)


def test_two_equal_runs_carry_twice_the_air_of_one_at_the_same_drop():
    one, two = Run(Round(12 * INCH), 6.0), Run(Round(12 * INCH), 6.0, count=2)
    assert two.part("it", 1000 * CFM, RHO).at_flow(1000 * CFM, RHO)[0] == pytest.approx(one.drop(500 * CFM, RHO))


def test_a_flat_duct_of_one_area_takes_more_than_a_round_one():
    area = Round(12 * INCH).area_si
    assert Run(Rectangular(area / (4 * INCH), 4 * INCH), 6.0).drop(600 * CFM, RHO) > Run(Round(12 * INCH), 6.0).drop(
        600 * CFM, RHO
    )


@pytest.mark.parametrize(
    ("kind", "size", "name"),
    [
        ("fine pleated", "16 x 20 x 1 in", "fine pleated"),
        ("fine pleated", "20 x 25 x 4 in", "deep media"),
        ("coarse pleated", "16 x 25 x 1 in", "coarse pleated"),
        ("deep media", None, "deep media"),
        ("washable fibre", "16 x 20 x 1 in", "fibre mat"),
        ("velvet", "16 x 20 x 1 in", None),
    ],
)
def test_filters_are_known_by_their_words_and_their_depth(kind, size, name):
    found = medium_of(kind, read_size(size) if size else None)
    assert (found.name if found else None) == name


@given(medium=st.sampled_from(MEDIA), area=st.floats(0.1, 1.0), cfm=AIRFLOWS)
def test_twice_the_face_takes_less_of_the_same_air(medium, area, cfm):
    small, large = (filter_part(medium, a, RHO).at_flow(cfm * CFM, RHO)[0] for a in (area, 2 * area))
    assert large < small
    assert small / large == pytest.approx(2**medium.exponent)


def test_the_cabinet_keeps_a_tenth_of_an_inch_and_is_the_smallest_that_does(worked):
    found = worked("short-of-return").found
    plan = cabinet(found, 1185 * CFM)
    (change,) = plan.changes
    assert change.part.at_flow(1185 * CFM, RHO)[0] <= DROP_MOST
    areas = sorted(w * h for w, h in CABINETS)
    words = [int(x) for x in plan.scope[0].replace("×", " ").split() if x.isdigit()][:2]
    smaller = [a for a in areas if a < words[0] * words[1]]
    assert filter_part(MEDIA[0], smaller[-1] * INCH**2, found.density).at_flow(1185 * CFM, found.density)[0] > DROP_MOST


def test_the_smallest_setting_that_is_enough_is_chosen_unless_the_sheet_names_another(worked):
    one = worked("cooling-on-two")
    settings_ = one.job.settings
    assert [t.airflow for t in settings_] == sorted(t.airflow for t in settings_)
    named = chosen(one.case, settings_, 800 * CFM, 1000 * CFM)
    assert named is not None and named.id == "setting-5"  # the sheet says 5, and 5 is enough
    blower = one.case.file.blower.model_copy(update={"instructed_setting": ""})
    silent = one.case.model_copy(update={"file": one.case.file.model_copy(update={"blower": blower})})
    smallest = chosen(silent, settings_, 850 * CFM, 1000 * CFM)
    assert smallest is not None and smallest.id == "setting-3"


def test_rows_solved_together_are_the_rows_solved_alone(worked):
    found = worked("short-of-return").found
    part = filter_part(MEDIA[0], 0.3, found.density)
    plan = Plan("it", "it", (), (ReplacePart("filter", part, 0.2), SetInput(qty.q(75000, "btu_it/hour"), 0.03)))
    told = foretell(found, plan)
    rows = len(found.system.return_temperature)

    def alone(row, factor=1.0, more=1.0):
        system = found.system
        single = replace(
            system,
            path=system.path.each(lambda p: replace(p, resistance=float(p.resistance[row]))),
            fan=replace(system.fan, speed=float(system.fan.speed[row])),
            heat=replace(
                system.heat, input=float(system.heat.input[row]), efficiency=float(system.heat.efficiency[row])
            ),
            limit=replace(
                system.limit,
                opens=float(system.limit.opens[row]),
                closes=float(system.limit.closes[row]),
                body_factor=float(system.limit.body_factor[row]),
            ),
            return_temperature=float(system.return_temperature[row]),
        )
        changed = (
            ReplacePart("filter", replace(part, resistance=part.resistance * factor)),
            SetInput(qty.q(75000 * more, "btu_it/hour")),
        )
        return float(told_by(apply(single, changed))["rise"])

    base = alone(0)
    others = [alone(r) for r in range(1, rows)] + [alone(0, factor=1.2), alone(0, more=1.03)]
    assert told.terms["rise"].si == pytest.approx(base, rel=1e-6)
    assert told.terms["rise"].sd_si == pytest.approx(np.sqrt(sum((o - base) ** 2 for o in others)), rel=1e-4)


def test_a_less_certain_part_makes_a_less_certain_prediction(worked):
    found = worked("short-of-return").found
    part = Run(Round(14 * INCH), 6.0).part("new return", 600 * CFM, found.density)
    spreads = [
        foretell(found, Plan(f"{s}", "", (), (AddParallel(("return",), part, s),))).terms["airflow"].sd_si
        for s in (0.0, 0.1, 0.3)
    ]
    assert spreads == sorted(spreads) and spreads[0] > 0


def test_what_is_as_found_is_told_with_the_uncertainty_of_what_was_read(worked):
    one = worked("short-of-return")
    told = foretell(one.found, NOTHING)
    assert told.terms["rise"].sd_si == pytest.approx(one.found.moments.rise.sd, rel=0.2)
    assert told.terms["airflow"].sd_si == pytest.approx(one.found.moments.airflow.sd, rel=0.3)


def test_plans_together_change_everything_and_work_nothing_twice(worked):
    one = worked("short-of-return")
    both = together([cabinet(one.found, 0.5), cabinet(one.found, 0.5)])
    assert len(both.changes) == 1 and len(both.works) == 2 and both.effort == 4


def test_options_cost_few_solves(worked, monkeypatch):
    """A solve is nearly all that an option costs (about a millisecond)."""
    one = worked("short-of-return")
    count = 0
    real = plans.told_by

    def counted(system):
        nonlocal count
        count += 1
        return real(system)

    monkeypatch.setattr(plans, "told_by", counted)
    options(one.surveyed, one.diagnosis, one.fired)
    assert count <= 3 * len(one.options)


def test_every_computed_option_says_what_it_predicts_and_shows_its_work(worked):
    for name in ("short-of-return", "matted-coil", "large-orifices", "weak-start", "too-large", "cooling-on-two"):
        for option in worked(name).options:
            if option.airflow is None:
                continue
            assert option.says.endswith(".") and ".." not in option.says
            assert qty.si(option.airflow.sd, qty.AIRFLOW) >= 0
            for shown in option.works:
                assert shown.title and shown.formula and shown.result and shown.source
    shown = [w.title for o in worked("short-of-return").options for w in o.works]
    assert {"Face velocity of the filter", "Clean drop of the filter", "New return: drop"} <= set(shown)


def test_the_return_is_measured_against_floor_and_design(worked):
    one = worked("short-of-return")
    size = return_size(one.surveyed, one.options)
    (opening,) = size.openings
    assert "below the legal floor" in opening.says
    assert size.closes_gap and all("grille" in way for way in size.closes_gap)
    assert any("closet" in place and "local code decides" in place for place in size.not_from)
    assert "One side" in size.inlet and "two sides" in inlet_note(2000 * CFM)
    assert {w.title for w in size.works} >= {"Legal floor of the return", "Return area by velocity"}


def test_a_joist_bay_is_judged_by_area_friction_and_leakage(worked):
    one = worked("short-of-return")
    bay = one.case.file.return_[0].model_copy(
        update={"of": "joist bay", "size": "14.5 x 9.25 in", "length": qty.q(20, "foot")}
    )
    case = one.case.model_copy(update={"file": one.case.file.model_copy(update={"return_": (bay,)})})
    (opening,) = return_size(replace(one.surveyed, case=case), one.options).openings
    assert "legal floor" in opening.says and "in. w.c." in opening.says
    assert "leak" in opening.says and "IRC M1601.1.1" in opening.says


def test_a_reading_outside_the_prediction_is_told_by_how_much_and_what_it_suggests(worked):
    one = worked("matted-coil")
    option = one.option("coil cleaned")
    wrong = replace(option, airflow=replace(option.airflow, si=option.airflow.si * 1.4))
    row = next(r for r in compare(one.surveyed, [wrong]) if r.name == "airflow")
    assert not row.inside and "less than predicted" in row.says and "blower gives less" in row.says


def test_without_a_computed_choice_the_recommended_option_is_compared_and_said_so(worked):
    one = worked("matted-coil")
    offered = replace(one.option("coil cleaned"), by_author=False, name="Clean coil", recommended=True)
    rows = compare(one.surveyed, [offered])
    assert rows and all("Clean coil" in r.says for r in rows)
