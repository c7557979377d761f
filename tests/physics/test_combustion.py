"""Combustion against the chemicals library (stoichiometry), CoolProp (enthalpies) and the Siegert formula."""

import CoolProp.CoolProp as coolprop
import pytest
from chemicals.combustion import combustion_stoichiometry
from hypothesis import given
from hypothesis import strategies as st

from causebook.physics import combustion
from causebook.physics.gas import METHANE, NATURAL_GAS, PROPANE, Fuel
from causebook.quantity import OutOfRange, q

fuels = st.sampled_from([METHANE, NATURAL_GAS, PROPANE])
oxygen = st.floats(0, 0.17)
flue = st.floats(300, 560)


@pytest.mark.parametrize(("fuel", "atoms"), [(METHANE, {"C": 1, "H": 4}), (PROPANE, {"C": 3, "H": 8})])
def test_air_and_water_are_those_of_chemicals(fuel: Fuel, atoms: dict[str, int]) -> None:
    moles = combustion_stoichiometry(atoms)
    assert combustion.stoichiometric_air(fuel).m == pytest.approx(-moles["O2"] / 0.20946, rel=1e-9)
    per_mole = fuel.gross_heating_value.to("J/m**3").m * combustion.MOLAR_VOLUME
    assert combustion.water_formed.si(per_mole, fuel) == pytest.approx(moles["H2O"] * 0.01801528, rel=1e-6)


def _coolprop_loss(flue_temperature: float, o2: float, air_temperature: float) -> float:
    """Gross stack loss of methane burnt in dry air, no condensing, by CoolProp enthalpies."""
    air = 2 / 0.20946
    spare = o2 * (1 + air - 2) / (0.20946 - o2)
    moles = {"CO2": 1.0, "O2": 0.20946 * spare, "N2": air * 0.79054 + spare * 0.79054, "H2O": 2.0}
    # at a low pressure, where the gases are ideal and water stays vapour
    warming = sum(
        n
        * (
            coolprop.PropsSI("Hmolar", "T", flue_temperature, "P", 500, g)
            - coolprop.PropsSI("Hmolar", "T", air_temperature, "P", 500, g)
        )
        for g, n in moles.items()
    )
    latent = 2 * (
        coolprop.PropsSI("Hmolar", "T", air_temperature, "Q", 1, "Water")
        - coolprop.PropsSI("Hmolar", "T", air_temperature, "Q", 0, "Water")
    )
    return float((warming + latent) / (1010.0 * 1055.05585262 / 0.3048**3 * 8.314462618 * 288.7056 / 101325))


@given(st.floats(380, 600), st.floats(0, 0.12), st.floats(275, 305))
def test_stack_loss_is_that_of_coolprop(flue_temperature: float, o2: float, air_temperature: float) -> None:
    ours = combustion.stack_loss.si(flue_temperature, o2, air_temperature, METHANE, 101325.0, 0.0)
    assert ours == pytest.approx(_coolprop_loss(flue_temperature, o2, air_temperature), abs=0.001)


@given(st.floats(100, 250), st.floats(0.03, 0.10))
def test_net_loss_is_near_the_siegert_formula(celsius: float, o2: float) -> None:
    # ΔT (A2/(21 − O2) + B), natural gas A2 0.66, B 0.009, 1. BImSchV as quoted on a trade page
    siegert = (celsius - 20) * (0.66 / (21 - 100 * o2) + 0.009)
    efficiency = combustion.combustion_efficiency(q(celsius, "degC"), q(o2, ""), q(20, "degC"))
    net = combustion.efficiency_on_net_basis(efficiency)
    assert 100 * (1 - net.m) == pytest.approx(siegert, abs=0.5)


@given(oxygen, fuels)
def test_excess_air_goes_round_through_oxygen_and_carbon_dioxide(o2: float, fuel: Fuel) -> None:
    excess = combustion.excess_air(q(o2, ""), fuel)
    assert combustion.oxygen_at(excess, fuel).m == pytest.approx(o2, abs=1e-12)
    co2 = combustion.carbon_dioxide_at(q(o2, ""), fuel)
    assert combustion.excess_air_from_carbon_dioxide(co2, fuel).m == pytest.approx(excess.m, abs=1e-9)


@given(st.floats(1, 2000), oxygen, fuels)
def test_air_free_monoxide_agrees_by_oxygen_and_by_carbon_dioxide(ppm: float, o2: float, fuel: Fuel) -> None:
    by_oxygen = combustion.air_free_monoxide(q(ppm, "ppm_"), q(o2, ""))
    by_carbon = combustion.air_free_monoxide_from_carbon_dioxide(
        q(ppm, "ppm_"), combustion.carbon_dioxide_at(q(o2, ""), fuel), combustion.ultimate_carbon_dioxide(fuel)
    )
    # 20.9 % in one, 20.946 % in the other
    assert by_carbon.m == pytest.approx(by_oxygen.m, rel=0.012)
    assert by_oxygen.to("ppm_").m >= ppm * (1 - 1e-9)


@given(flue, st.floats(1, 50), st.floats(0, 0.10), st.floats(0.005, 0.05), fuels)
def test_hotter_or_more_dilute_flue_gas_loses_more(t: float, hotter: float, o2: float, more: float, fuel: Fuel) -> None:
    here = combustion.stack_loss.si(t, o2, 294, fuel)
    assert combustion.stack_loss.si(t + hotter, o2, 294, fuel) > here
    assert combustion.stack_loss.si(t, o2 + more, 294, fuel) > here


@given(flue, st.floats(0, 0.12), fuels)
def test_what_condenses_is_what_condensing_recovers(t: float, o2: float, fuel: Fuel) -> None:
    water = combustion.condensate.si(1.0, t, o2, fuel)
    dew = combustion.flue_dew_point.si(o2, fuel)
    assert (water > 0) == (t < dew)
    dry = combustion.stack_loss.si(max(t, dew), o2, 294, fuel)
    # about 2.4 MJ/kg and the sensible heat of a cooler gas
    assert dry - combustion.stack_loss.si(t, o2, 294, fuel) >= water * 2.3e6


@given(oxygen, fuels)
def test_a_flue_at_room_temperature_keeps_almost_all_heat(o2: float, fuel: Fuel) -> None:
    loss = combustion.stack_loss.si(294.0, o2, 294.0, fuel)
    dry_gas_humidity_beyond_the_room = combustion.latent_share(fuel).m
    assert 0 <= loss < dry_gas_humidity_beyond_the_room


@given(st.floats(0.5, 0.99), fuels)
def test_net_and_gross_bases_undo_each_other(efficiency: float, fuel: Fuel) -> None:
    net = combustion.efficiency_on_net_basis(q(efficiency, ""), fuel)
    assert net.m > efficiency
    assert combustion.efficiency_on_gross_basis(net, fuel).m == pytest.approx(efficiency, rel=1e-9)


def test_si_and_us_inputs_give_the_same_loss() -> None:
    us = combustion.stack_loss(q(400, "degF"), q(7, "percent_"), q(70, "degF"))
    si = combustion.stack_loss(q(368 / 1.8, "degC"), q(0.07, ""), q(38 / 1.8 + 273.15, "K"))
    assert us.m == pytest.approx(si.m, rel=1e-9)


def test_nonsense_is_refused_by_name() -> None:
    with pytest.raises(OutOfRange, match="oxygen is 21.5 %; valid is 0.0 % to 20.9 %"):
        combustion.excess_air(q(21.5, "percent_"))
    with pytest.raises(OutOfRange, match="oxygen is 18.5 %; valid is 0.0 % to 18.0 %"):
        combustion.air_free_monoxide(q(30, "ppm_"), q(18.5, "percent_"))
    with pytest.raises(OutOfRange, match="carbon dioxide is 13.0 %; valid is at most the fuel's ultimate 11.9 %"):
        combustion.excess_air_from_carbon_dioxide(q(13, "percent_"))
    with pytest.raises(OutOfRange, match="carbon dioxide is 1.0 %; valid is at least what goes with 18 % oxygen"):
        combustion.air_free_monoxide_from_carbon_dioxide(q(30, "ppm_"), q(1, "percent_"), q(11.9, "percent_"))
    with pytest.raises(OutOfRange, match="monoxide is −5 ppm"):
        combustion.air_free_monoxide(q(-5, "ppm_"), q(5, "percent_"))
    with pytest.raises(OutOfRange, match="flue temperature"):
        combustion.stack_loss(q(1500, "degF"), q(5, "percent_"), q(70, "degF"))
