"""Fuel gas against the chemicals library, printed orifice tables, and the orifice equation's own symmetries."""

import math

import pytest
from chemicals import MW, CAS_from_any, Hfg
from chemicals.combustion import combustion_data
from hypothesis import given
from hypothesis import strategies as st

from causebook.physics import gas
from causebook.quantity import OutOfRange, q

MOLAR_VOLUME_FT3 = 379.48 / 453.59237  # ft³/mol at 60 °F, 14.696 psia, ideal gas
BTU = 1055.05585262
FORMULAS = {
    "methane": {"C": 1, "H": 4},
    "ethane": {"C": 2, "H": 6},
    "propane": {"C": 3, "H": 8},
    "isobutane": {"C": 4, "H": 10},
    "butane": {"C": 4, "H": 10},
    "pentane": {"C": 5, "H": 12},
    "hexane": {"C": 6, "H": 14},
    "hydrogen": {"H": 2},
}


@pytest.mark.parametrize("name", FORMULAS)
def test_heating_values_are_those_of_chemicals(name: str) -> None:
    burnt = combustion_data(FORMULAS[name], Hf=Hfg(CAS_from_any(name)))
    component = gas.COMPONENTS[name]
    # 0.25 %: chemicals counts from 25 °C, the table from 60 °F
    assert component.gross == pytest.approx(-burnt.HHV / BTU / MOLAR_VOLUME_FT3, rel=0.0025)
    assert component.net == pytest.approx(-burnt.LHV / BTU / MOLAR_VOLUME_FT3, rel=0.0025)


@pytest.mark.parametrize("name", gas.COMPONENTS)
def test_molar_masses_are_those_of_chemicals(name: str) -> None:
    assert gas.COMPONENTS[name].molar_mass == pytest.approx(MW(CAS_from_any(name)), rel=1e-4)


sizes = st.floats(0.3, 3.0)
pressures = st.floats(0.3, 14)
gravities = st.floats(0.5, 2.1)


@given(sizes, pressures, gravities, st.floats(0.8, 0.95))
def test_orifice_equation_is_the_one_in_print(mm: float, inches: float, gravity: float, coefficient: float) -> None:
    # Q = 1658.5 K A sqrt(h/SG), ft³/h, in², in. of water: NFPA 54 Annex E
    expected = 1658.5 * coefficient * math.pi / 4 * (mm / 25.4) ** 2 * math.sqrt(inches / gravity)
    flow = gas.orifice_flow(q(mm, "mm"), q(inches * 249.08891, "Pa"), q(gravity, ""), q(coefficient, ""))
    assert flow.to("foot**3/hour").m == pytest.approx(expected, rel=1e-9)


@given(sizes, st.floats(1.01, 1.5), pressures)
def test_more_pressure_or_a_larger_hole_gives_more_gas(mm: float, more: float, inches: float) -> None:
    here = gas.orifice_flow.si(mm, inches, 0.6)
    assert gas.orifice_flow.si(mm * more, inches, 0.6) > here
    assert gas.orifice_flow.si(mm, inches * more, 0.6) > here
    assert gas.orifice_flow.si(mm, inches, 0.6 * more) < here


@given(pressures, st.floats(80_000, 120_000), st.floats(80_000, 120_000))
def test_manifold_for_input_gives_that_input(inches: float, now: float, wanted: float) -> None:
    new = gas.manifold_for_input(q(inches, "inwc"), q(now, "btu_it/hour"), q(wanted, "btu_it/hour"))
    assert gas.input_scaling(q(inches, "inwc"), new).m * now == pytest.approx(wanted, rel=1e-9)


def test_a_larger_number_is_a_smaller_drill_and_the_nearest_is_itself() -> None:
    diameters = [diameter.m for _, diameter in sorted(gas.DRILLS.items())]
    assert diameters == sorted(diameters, reverse=True) and len(set(diameters)) == 39
    assert all(gas.nearest_drill(diameter) == number for number, diameter in gas.DRILLS.items())


def test_from_45_to_43_is_18_percent_more() -> None:
    # area ratio of the drills in print
    big, small = gas.drill_diameter(43), gas.drill_diameter(45)
    assert ((big / small) ** 2).m == pytest.approx(1.178, abs=0.001)


@given(st.floats(0, 6000), st.floats(0, 6000), st.sampled_from(sorted(gas.DERATE_RULES)))
def test_no_rule_gives_more_input_higher_up(feet: float, more: float, rule: str) -> None:
    low, high = sorted((feet, more))
    shares = [gas.derated_share(q(z, "foot"), rule).m for z in (low, high)]
    assert 0 < shares[1] <= shares[0] <= 1


def test_rules_in_print_differ_and_none_is_chosen_silently() -> None:
    shares = {round(gas.derated_share(q(5000, "foot"), rule).m, 4) for rule in gas.DERATE_RULES}
    assert shares == {0.80, 0.88, 0.90, 0.864}
    with pytest.raises(TypeError):
        gas.derated_share(q(5000, "foot"))


@given(st.floats(0.2, 5), st.floats(10, 300), st.floats(900, 1100))
def test_clocked_input_is_flow_times_heating_value_in_both_systems(cubic: float, seconds: float, value: float) -> None:
    flow = gas.metered_flow(q(cubic, "foot**3"), q(seconds, "s"))
    us = gas.clocked_input(q(cubic, "foot**3"), q(seconds, "s"), q(value, "btu_it/foot**3"))
    si = gas.clocked_input(q(cubic * 0.3048**3, "m**3"), q(seconds / 60, "minute"), q(value * 37258.9458, "J/m**3"))
    assert us.to("W").m == pytest.approx(si.to("W").m, rel=1e-6)
    assert us.to("W").m == pytest.approx((flow * q(value, "btu_it/foot**3")).to("W").m, rel=1e-9)


def test_a_mixture_lies_between_its_parts() -> None:
    half = gas.Fuel("half", {"methane": 0.5, "propane": 0.5})
    assert half.gross_heating_value.m == pytest.approx((1010.0 + 2516.1) / 2)
    assert gas.METHANE.specific_gravity < half.specific_gravity < gas.PROPANE.specific_gravity
    assert half.wobbe_index.m == pytest.approx(half.gross_heating_value.to("J/m**3").m / half.specific_gravity.m**0.5)


def test_nonsense_is_refused_by_name() -> None:
    value = q(1000, "btu_it/foot**3")
    with pytest.raises(OutOfRange, match="duration is 0 s; valid is 1 s to 7,200 s"):
        gas.clocked_input(q(1, "foot**3"), q(0, "s"), value)
    with pytest.raises(OutOfRange, match="dial is −1.0 ft³"):
        gas.metered_flow(q(-1, "foot**3"), q(30, "s"))
    with pytest.raises(OutOfRange, match="manifold"):
        gas.orifice_flow(q(2, "mm"), q(-1, "inwc"), q(0.6, ""))
    with pytest.raises(OutOfRange, match="diameter"):
        gas.nearest_drill(q(1, "inch"))
    with pytest.raises(OutOfRange, match="elevation is 7,000 ft; valid is −1,640 ft to 6,000 ft"):
        gas.derated_share(q(7000, "foot"), "package table")
    with pytest.raises(OutOfRange, match="rated input"):
        gas.derated_input(q(-5, "kW"), q(0, "foot"), "package table")
    with pytest.raises(KeyError, match="known are '4 % from sea level'"):
        gas.derated_share(q(7000, "foot"), "some rule")
    with pytest.raises(KeyError, match="No. 41"):
        gas.drill_diameter(41)
    with pytest.raises(ValueError, match="add up to 1"):
        gas.Fuel("bad", {"methane": 0.7})
    with pytest.raises(ValueError, match="unknown component 'helium'"):
        gas.Fuel("bad", {"methane": 0.7, "helium": 0.3})
    with pytest.raises(TypeError, match="heating value is 1000; expected a heating value with its unit"):
        gas.clocked_input(q(1, "foot**3"), q(30, "s"), 1000)
