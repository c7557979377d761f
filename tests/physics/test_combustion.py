"""Combustion against the chemicals library (stoichiometry), CoolProp (enthalpies) and the Siegert formula."""

import CoolProp.CoolProp as coolprop
import pytest
from hypothesis import given
from hypothesis import strategies as st

from causebook.physics import combustion
from causebook.physics.gas import METHANE, NATURAL_GAS, PROPANE, Fuel
from causebook.quantity import OutOfRange, q

fuels = st.sampled_from([METHANE, NATURAL_GAS, PROPANE])
oxygen = st.floats(0, 0.17)
flue = st.floats(300, 560)


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
    net = efficiency * (NATURAL_GAS.gross_heating_value / NATURAL_GAS.net_heating_value)
    assert 100 * (1 - net.to("").m) == pytest.approx(siegert, abs=0.5)


@given(flue, st.floats(1, 50), st.floats(0, 0.10), st.floats(0.005, 0.05), fuels)
def test_hotter_or_more_dilute_flue_gas_loses_more(t: float, hotter: float, o2: float, more: float, fuel: Fuel) -> None:
    here = combustion.stack_loss.si(t, o2, 294, fuel)
    assert combustion.stack_loss.si(t + hotter, o2, 294, fuel) > here
    assert combustion.stack_loss.si(t, o2 + more, 294, fuel) > here


@given(st.floats(0, 0.12), fuels)
def test_below_its_dew_point_a_flue_gives_back_far_more_by_each_degree(o2: float, fuel: Fuel) -> None:
    dew = combustion.flue_dew_point.si(o2, fuel)
    above, at, below = (combustion.stack_loss.si(dew + k, o2, 294, fuel) for k in (1, 0, -1))
    assert at - below > 3 * (above - at) > 0


@given(oxygen, fuels)
def test_a_flue_at_room_temperature_keeps_almost_all_heat(o2: float, fuel: Fuel) -> None:
    loss = combustion.stack_loss.si(294.0, o2, 294.0, fuel)
    dry_gas_humidity_beyond_the_room = 1 - (fuel.net_heating_value / fuel.gross_heating_value).to("").m
    assert 0 <= loss < dry_gas_humidity_beyond_the_room


def test_si_and_us_inputs_give_the_same_loss() -> None:
    us = combustion.stack_loss(q(400, "degF"), q(7, "percent_"), q(70, "degF"))
    si = combustion.stack_loss(q(368 / 1.8, "degC"), q(0.07, ""), q(38 / 1.8 + 273.15, "K"))
    assert us.m == pytest.approx(si.m, rel=1e-9)


def test_nonsense_is_refused_by_name() -> None:
    with pytest.raises(OutOfRange, match="oxygen is 21.5 %; valid is 0.0 % to 20.9 %"):
        combustion.excess_air(q(21.5, "percent_"))
    with pytest.raises(OutOfRange, match="oxygen is 18.5 %; valid is 0.0 % to 18.0 %"):
        combustion.air_free_monoxide(q(30, "ppm_"), q(18.5, "percent_"))
    with pytest.raises(OutOfRange, match="monoxide is −5 ppm"):
        combustion.air_free_monoxide(q(-5, "ppm_"), q(5, "percent_"))
    with pytest.raises(OutOfRange, match="flue temperature"):
        combustion.stack_loss(q(1500, "degF"), q(5, "percent_"), q(70, "degF"))
