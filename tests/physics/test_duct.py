"""Ducts against the fluids library, and what must hold of any duct."""

import math

import fluids
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from causebook.physics import air, duct
from causebook.quantity import OutOfRange, q

flows = st.floats(20, 3000)
sizes = st.floats(4, 30)
rates = st.floats(0.01, 0.5)
ratios = st.floats(0.45, 1.0)
roughnesses = st.sampled_from(list(duct.ROUGHNESSES.values()))


@given(st.floats(2040, 1e7), st.floats(0, 0.05))
def test_friction_factor_is_colebrook_of_fluids(reynolds: float, relative: float) -> None:
    expected = fluids.friction_factor(reynolds, relative, Method="Colebrook")
    assert duct.friction_factor.si(reynolds, relative) == pytest.approx(expected, rel=1e-9)


@given(st.floats(1, 1999))
def test_laminar_friction_is_that_of_fluids(reynolds: float) -> None:
    assert duct.friction_factor.si(reynolds, 0.001) == pytest.approx(fluids.friction_factor(reynolds, 0.001), rel=1e-12)


@given(flows, sizes, roughnesses, st.floats(0.8, 1.3))
def test_friction_rate_is_darcy_weisbach_by_fluids(cfm: float, inches: float, rough: float, density: float) -> None:
    diameter, flow = inches * 0.0254, cfm * 4.719474e-4
    speed = flow / (math.pi / 4 * diameter**2)
    reynolds = fluids.Reynolds(speed, diameter, density, duct.VISCOSITY)
    assume(reynolds > 2040)
    factor = fluids.friction_factor(reynolds, rough / diameter, Method="Colebrook")
    expected = fluids.dP_from_K(fluids.K_from_f(factor, 1.0, diameter), density, speed)
    assert duct.friction_rate.si(flow, diameter, rough, density) == pytest.approx(expected, rel=1e-8)


@given(st.floats(6, 30), st.floats(0.2, 1.0), st.floats(400, 3000))
def test_the_two_ways_through_a_rectangle_agree(width: float, flatness: float, cfm: float) -> None:
    # 8 %: how far the equal-friction formula may lie from the true velocity with the hydraulic diameter
    shape = duct.rectangular_duct(q(width, "inch"), q(width * flatness, "inch"))
    by_diameter = duct.friction_rate.si(cfm * 4.719e-4, shape.equal_friction_si)
    assert duct.friction_rate_in.si(shape, cfm * 4.719e-4) == pytest.approx(by_diameter, rel=0.08)


@pytest.mark.parametrize(("inches", "equal"), [((4, 4), 4.37), ((12, 6), 9.14), ((30, 12), 20.2)])
def test_equal_friction_diameter_is_that_of_the_table(inches: tuple[float, float], equal: float) -> None:
    # ASHRAE Fundamentals, duct design, table of circular equivalents of rectangular ducts, from memory
    found = duct.rectangular_duct(*(q(side, "inch") for side in inches)).equal_friction_si / 0.0254
    assert found == pytest.approx(equal, rel=0.01)


@given(st.floats(0.05, 3), st.floats(20, 800), sizes)
def test_equivalent_length_loses_what_the_fitting_loses(coefficient: float, cfm: float, inches: float) -> None:
    flow, size = q(cfm, "cfm"), q(inches, "inch")
    speed = duct.velocity(flow, duct.area(duct.round_duct(size)))
    length = duct.equivalent_length(coefficient, flow, size)
    over = duct.loss_over(duct.friction_rate(flow, size), length)
    assert over.to("Pa").m == pytest.approx(duct.fitting_loss(coefficient, speed).to("Pa").m, rel=1e-9)


@given(flows, rates, roughnesses)
def test_size_undoes_friction_rate(cfm: float, rate: float, rough: float) -> None:
    wanted = q(rate, "inwc_per_100ft")
    size = duct.round_size(q(cfm, "cfm"), wanted, q(rough, "m"))
    assert duct.friction_rate(q(cfm, "cfm"), size, q(rough, "m")).to(wanted.u).m == pytest.approx(rate, rel=1e-6)


@given(sizes, ratios)
def test_width_for_a_height_has_the_same_friction(inches: float, share: float) -> None:
    width = duct.width_for(q(inches, "inch"), q(inches * share, "inch"))
    found = duct.rectangular_duct(width, q(inches * share, "inch")).equal_friction_si / 0.0254
    assert found == pytest.approx(inches, rel=1e-6)


def test_too_low_a_height_is_refused() -> None:
    with pytest.raises(ValueError, match=r"available height is 3 in.*14 in.*eight times"):
        duct.width_for(q(14, "inch"), q(3, "inch"))


@given(st.floats(4, 20), st.floats(0, 0.3), st.floats(0.01, 0.1))
def test_more_slack_costs_more_and_a_stretched_duct_nothing(inches: float, slack: float, more: float) -> None:
    size = q(inches, "inch")
    assert duct.flex_factor(size, 0.0).m == 1
    assert duct.flex_factor(size, slack + more) > duct.flex_factor(size, slack)


@given(flows, sizes, st.floats(0.05, 0.5))
def test_a_larger_duct_or_less_air_loses_less(cfm: float, inches: float, more: float) -> None:
    flow, size = cfm * 4.719e-4, inches * 0.0254
    assert duct.friction_rate.si(flow, size * (1 + more)) < duct.friction_rate.si(flow, size)
    assert duct.friction_rate.si(flow * (1 + more), size) > duct.friction_rate.si(flow, size)


def test_inch_and_metric_inputs_give_the_same_answer() -> None:
    here = duct.friction_rate(q(400, "cfm"), q(10, "inch"), q(0.0003, "foot"), air.STANDARD_DENSITY)
    there = duct.friction_rate(q(400 * 0.47194745, "L/s"), q(254, "mm"), q(0.09144, "mm"), q(1.2013847, "kg/m**3"))
    assert here.to("Pa/m").m == pytest.approx(there.to("Pa/m").m, rel=1e-7)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: duct.friction_rate(q(-5, "cfm"), q(6, "inch")), "airflow is −5 cfm"),
        (lambda: duct.friction_rate(q(100, "cfm"), q(0, "inch")), "diameter is 0.00 in"),
        (lambda: duct.velocity(q(100, "cfm"), q(-1, "foot**2")), "free area is −1 ft²"),
        (lambda: duct.available_static(q(0.5, "inwc"), q(0.6, "inwc")), "drop of the parts is 0.60 in. w.c."),
        (lambda: duct.flex_factor(q(6, "inch"), q(80, "percent_")), "compression is 80 %"),
    ],
)
def test_nonsense_is_refused_by_name(call, says: str) -> None:
    with pytest.raises((OutOfRange, ValueError), match=says.replace(".", r"\.")):
        call()


def test_a_bare_number_is_refused() -> None:
    with pytest.raises(TypeError, match="diameter is 6; expected a small length with its unit"):
        duct.friction_rate(q(100, "cfm"), 6)
