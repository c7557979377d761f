"""Moist air against psychrolib (the same ideal-gas equations) and CoolProp (real-gas humid air, RP-1485)."""

import CoolProp.CoolProp as coolprop
import numpy as np
import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from causebook.physics import air
from causebook.quantity import OutOfRange, q

psychrolib.SetUnitSystem(psychrolib.SI)

celsius = st.floats(-30, 60)
wetness = st.floats(0.02, 0.99)
elevation = st.floats(-300, 4000)


@given(elevation)
def test_standard_pressure_is_that_of_psychrolib(metres: float) -> None:
    assert air.standard_pressure.si(metres) == pytest.approx(psychrolib.GetStandardAtmPressure(metres), rel=1e-9)


@given(celsius)
def test_saturation_pressure_is_that_of_psychrolib(t: float) -> None:
    assert air.saturation_pressure.si(t + 273.15) == pytest.approx(psychrolib.GetSatVapPres(t), rel=1e-6)


@given(celsius, wetness, elevation)
def test_state_is_that_of_psychrolib(t: float, rh: float, metres: float) -> None:
    state = air.air_state(q(t, "degC"), q(metres, "m"), q(rh, ""))
    pressure = psychrolib.GetStandardAtmPressure(metres)
    moisture = psychrolib.GetHumRatioFromRelHum(t, rh, pressure)
    # psychrolib never returns a humidity ratio below 1e-7
    assert state.humidity_ratio.magnitude == pytest.approx(moisture, rel=1e-6, abs=1e-7)
    volume = psychrolib.GetMoistAirVolume(t, moisture, pressure)
    assert state.specific_volume.magnitude == pytest.approx(volume, rel=1e-5)
    assert state.density.magnitude == pytest.approx(psychrolib.GetMoistAirDensity(t, moisture, pressure), rel=1e-5)
    assert state.enthalpy.magnitude == pytest.approx(psychrolib.GetMoistAirEnthalpy(t, moisture), rel=1e-5, abs=1)


@given(st.floats(2, 45), st.floats(0.05, 0.98), elevation)
def test_dew_point_and_wet_bulb_are_those_of_psychrolib(t: float, rh: float, metres: float) -> None:
    state = air.air_state(q(t, "degC"), q(metres, "m"), q(rh, ""))
    pressure = psychrolib.GetStandardAtmPressure(metres)
    wet = psychrolib.GetTWetBulbFromRelHum(t, rh, pressure)
    assert state.dew_point.to("degC").magnitude == pytest.approx(psychrolib.GetTDewPointFromRelHum(t, rh), abs=0.02)
    if abs(wet) > 0.5:  # at 0 °C the equation for ice takes over from that for water, with a small step
        assert state.wet_bulb.to("degC").magnitude == pytest.approx(wet, abs=0.02)


@given(st.floats(0, 55), st.floats(0.05, 0.95), st.floats(0, 3000))
def test_real_gas_air_differs_by_less_than_is_claimed(t: float, rh: float, metres: float) -> None:
    rh = min(rh, float(air.saturation_pressure.si(303.15) / air.saturation_pressure.si(t + 273.15)))
    state = air.air_state(q(t, "degC"), q(metres, "m"), q(rh, ""))
    inputs = ("T", t + 273.15, "R", rh, "P", state.pressure.magnitude)
    assert state.humidity_ratio.magnitude == pytest.approx(coolprop.HAPropsSI("W", *inputs), rel=0.008)
    assert state.specific_volume.magnitude == pytest.approx(coolprop.HAPropsSI("V", *inputs), rel=0.001)
    factor = coolprop.HAPropsSI("C", *inputs) / coolprop.HAPropsSI("V", *inputs)
    assert state.sensible_factor.magnitude == pytest.approx(factor, rel=0.005)


@given(celsius, wetness, elevation)
def test_humidity_goes_round(t: float, rh: float, metres: float) -> None:
    state = air.air_state(q(t, "degC"), q(metres, "m"), q(rh, ""))
    assert state.relative_humidity.magnitude == pytest.approx(rh, rel=1e-9)


@given(celsius, wetness, st.floats(0, 3000), st.floats(1, 300))
def test_higher_places_and_hotter_air_carry_less_heat(t: float, rh: float, metres: float, more: float) -> None:
    here = air.air_state(q(t, "degC"), q(metres, "m"), q(0, ""))
    higher = air.air_state(q(t, "degC"), q(metres + more, "m"), q(0, ""))
    hotter = air.air_state(q(t + more / 10, "degC"), q(metres, "m"), q(0, ""))
    assert higher.sensible_factor < here.sensible_factor
    assert hotter.sensible_factor < here.sensible_factor
    assert air.density.si(t + 273.15, 1e5, 0.01 * rh) < air.density.si(t + 273.15, 1e5, 0)  # vapour is light


@given(st.floats(-20, 140), st.floats(-900, 12000))
def test_si_and_us_inputs_give_the_same_air(fahrenheit: float, feet: float) -> None:
    us = air.air_state(q(fahrenheit, "degF"), q(feet, "foot"))
    si = air.air_state(q((fahrenheit - 32) / 1.8, "degC"), q(feet * 0.3048, "m"))
    assert us.sensible_factor.magnitude == pytest.approx(si.sensible_factor.magnitude, rel=1e-9)


@given(st.lists(st.tuples(celsius, wetness, st.floats(0.01, 2)), min_size=1, max_size=4))
def test_mixing_keeps_mass_water_and_heat_and_stays_between(parts: list[tuple[float, float, float]]) -> None:
    states = [(air.air_state(q(t, "degC"), q(0, "m"), q(rh, "")), flow) for t, rh, flow in parts]
    streams = [air.Stream(state, q(flow, "m**3/s")) for state, flow in states]
    mixed = air.mix(*streams)

    def carried(stream: air.Stream, amount: str) -> float:
        return float((stream.airflow / stream.state.specific_volume * getattr(stream.state, amount)).to_base_units().m)

    for amount in ("humidity_ratio", "enthalpy"):
        assert carried(mixed, amount) == pytest.approx(sum(carried(s, amount) for s in streams), rel=1e-9, abs=1e-6)
    temperatures = [s.state.temperature.magnitude for s in streams]
    assert min(temperatures) - 0.1 <= mixed.state.temperature.magnitude <= max(temperatures) + 0.1


def test_relations_take_arrays() -> None:
    temperatures = np.array([263.15, 293.15, 323.15])
    one_by_one = [air.humidity_ratio.si(t, 0.4, 95e3) for t in temperatures]
    assert air.humidity_ratio.si(temperatures, 0.4, 95e3) == pytest.approx(one_by_one)


def test_nonsense_is_refused_by_name() -> None:
    room, sea = q(70, "degF"), q(14.696, "psi")
    with pytest.raises(OutOfRange, match="relative humidity is 120 %; valid is 0 % to 100 %"):
        air.humidity_ratio(room, q(1.2, ""), sea)
    with pytest.raises(OutOfRange, match="humidity ratio"):
        air.wet_bulb(room, q(0.05, ""), sea)
    with pytest.raises(OutOfRange, match="humidity ratio"):
        air.dew_point(q(0, ""), sea)
    with pytest.raises(OutOfRange, match="vapour pressure"):
        air.saturated_humidity_ratio(q(230, "degF"), sea)
    with pytest.raises(OutOfRange, match="elevation"):
        air.standard_pressure(q(50000, "foot"))
    with pytest.raises(TypeError, match="temperature is 70; expected a temperature with its unit"):
        air.air_state(70)
    still = air.Stream(air.air_state(room), q(0, "cfm"))
    with pytest.raises(OutOfRange, match="airflow"):
        air.mix(still)
    with pytest.raises(OutOfRange, match="airflow is −5 cfm"):
        air.mix(air.Stream(air.air_state(room), q(-5, "cfm")))
    with pytest.raises(ValueError, match="at least one"):
        air.mix()
    low, high = (air.Stream(air.air_state(room, q(height, "m")), q(5, "cfm")) for height in (0, 3000))
    with pytest.raises(ValueError, match="different pressures"):
        air.mix(low, high)
