"""Blowers: tables, fan laws, density and constant-airflow motors."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import interp1d

from causebook.physics import fan
from causebook.physics.air import STANDARD_DENSITY
from causebook.physics.fan import ConstantAirflow, Fan
from causebook.quantity import Quantity, q

CFM, INWC = 4.719474432e-4, 249.08891
STATICS = [q(tenth / 10, "inwc") for tenth in range(1, 11)]
HIGH = (1450, 1400, 1340, 1270, 1190, 1090, 960, 790, 560, 200)
TABLE = fan.fan_table(
    STATICS,
    {
        "high": [q(cfm, "cfm") for cfm in HIGH],
        "low": [q(cfm, "cfm") for cfm in (1000, 980, 950, 910, 860, 790, 690)] + [None] * 3,
    },
)


def flow_at(blower: Fan, static: Quantity, density: Quantity = STANDARD_DENSITY) -> Quantity:
    return q(float(blower.flow(static.to("Pa").m, density.to("kg/m**3").m)), "m**3/s")


statics = st.floats(0.1, 1.0)
speeds = st.floats(0.4, 1.3)
densities = st.floats(0.8, 1.3)


@given(statics)
def test_between_printed_points_the_curve_is_straight(inches: float) -> None:
    second = interp1d([s.m for s in STATICS], HIGH)
    assert flow_at(Fan(TABLE, "high"), q(inches, "inwc")).to("cfm").m == pytest.approx(float(second(inches)))


def test_printed_points_come_back_and_gaps_are_left_out() -> None:
    for static, cfm in zip(STATICS, HIGH, strict=True):
        assert flow_at(Fan(TABLE, "high"), static).to("cfm").m == pytest.approx(cfm)
    low = Fan(TABLE, "low")
    assert not low.beyond_table(0.7 * INWC)
    assert low.beyond_table(0.75 * INWC)


@given(statics, speeds, densities)
def test_speed_and_density_follow_the_fan_laws(inches: float, speed: float, density: float) -> None:
    # Fan laws 1 and 2: at the same point of the curve airflow goes with speed, pressure with speed² and density.
    whole = flow_at(Fan(TABLE, "high"), q(inches, "inwc"))
    static = q(inches * speed**2 * density / 1.2013847, "inwc")
    turned = flow_at(Fan(TABLE, "high", speed), static, q(density, "kg/m**3"))
    assert turned.to("cfm").m == pytest.approx(whole.to("cfm").m * speed, rel=1e-6)


@given(st.floats(0, 2), st.floats(0, 2), speeds)
def test_airflow_never_rises_with_static(one: float, other: float, speed: float) -> None:
    for blower in (Fan(TABLE, "high", speed), Fan(TABLE, "low", speed), ConstantAirflow(0.5, 150.0)):
        flows = [blower.flow(inches * INWC, 1.2) for inches in sorted((one, other))]
        assert flows[0] >= flows[1] >= 0


@given(statics, speeds)
def test_speed_ratio_finds_the_speed(inches: float, speed: float) -> None:
    blower = Fan(TABLE, "high", speed)
    pressure = q(inches * speed**2, "inwc")
    found = fan.speed_ratio(Fan(TABLE, "high"), flow_at(blower, pressure), pressure)
    assert found.m == pytest.approx(speed, rel=1e-9)


def test_beyond_the_table_is_said() -> None:
    blower = Fan(TABLE, "high")
    assert not blower.beyond_table(0.5 * INWC)
    assert blower.beyond_table(0.05 * INWC)
    assert blower.beyond_table(1.02 * INWC)
    # The end slope is carried on: 560 to 200 cfm over the last tenth.
    assert blower.flow(1.02 * INWC) / CFM == pytest.approx(128)
    assert blower.flow(2 * INWC) == 0
    # At half speed the printed point of 0.2 stands at 0.05.
    assert not Fan(TABLE, "high", 0.5).beyond_table(0.05 * INWC)


def test_a_table_keeps_its_own_density() -> None:
    thin = fan.fan_table(STATICS, {"high": [q(cfm, "cfm") for cfm in HIGH]}, 0.8 * STANDARD_DENSITY)
    assert flow_at(Fan(thin, "high"), q(0.4, "inwc"), 0.8 * STANDARD_DENSITY).to("cfm").m == pytest.approx(1270)
    assert flow_at(Fan(thin, "high"), q(0.5, "inwc")).to("cfm").m == pytest.approx(1270)


def test_scaled_gives_a_share_of_every_airflow() -> None:
    weak = fan.scaled(TABLE, 0.9)
    assert weak.settings == ("high", "low")
    assert flow_at(Fan(weak, "low"), q(0.3, "inwc")).to("cfm").m == pytest.approx(0.9 * 950)


@given(st.floats(400, 1600), st.floats(0.2, 1.0), st.floats(0.01, 2))
def test_constant_airflow_holds_then_gives_what_its_power_allows(cfm: float, inches: float, static: float) -> None:
    motor = ConstantAirflow(cfm * CFM, inches * INWC)
    flow = flow_at(motor, q(static, "inwc"))
    if static <= inches:
        assert flow.to("cfm").m == pytest.approx(cfm)
    else:
        assert flow.to("cfm").m * static == pytest.approx(cfm * inches)  # power is airflow times pressure
    assert bool(motor.at_limit(static * INWC)) == (static * INWC >= motor.limit)
    assert not motor.beyond_table(static * INWC)


def test_a_level_stretch_is_read_as_level_and_a_slip_refused() -> None:
    three = STATICS[:3]
    level = fan.fan_table(three, {"4": [q(1200, "cfm"), q(1212, "cfm"), q(1190, "cfm")]})
    assert flow_at(Fan(level, "4"), three[1]).to("cfm").m == pytest.approx(1200)
    with pytest.raises(ValueError, match=r"setting '4': airflow is 1,300 cfm at 0.20 in. w.c.; .* 1,200 cfm"):
        fan.fan_table(three, {"4": [q(1200, "cfm"), q(1300, "cfm"), q(1190, "cfm")]})


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: fan.fan_table(STATICS, {"high": [q(900, "cfm")]}), "'high' has 1 airflows for 10 static pressures"),
        (lambda: fan.fan_table(STATICS[:2], {"high": [q(900, "cfm"), None]}), "needs airflows at two or more"),
        (lambda: fan.fan_table(STATICS[:2], {"high": [q(-9, "cfm"), q(-10, "cfm")]}), "at setting 'high' is −9 cfm"),
        (lambda: fan.fan_table(STATICS[:2], {"high": [q(0, "cfm"), q(0, "cfm")]}), "no airflow at its lowest"),
        (lambda: fan.speed_ratio(Fan(TABLE, "high"), q(9000, "cfm"), q(0.5, "inwc")), "at no speed from 0.2 to 2"),
        (lambda: fan.scaled(TABLE, 0.0), "flow factor is 0.000"),
    ],
)
def test_nonsense_is_refused_by_name(call, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        call()


def test_an_unknown_setting_is_refused_naming_the_known_ones() -> None:
    with pytest.raises(KeyError, match="setting is 'turbo'; the fan table holds high, low"):
        Fan(TABLE, "turbo")


def test_many_speeds_and_pressures_at_once() -> None:
    pressures, ratios = np.linspace(10, 300, 50), np.linspace(0.5, 1.1, 50)
    together = Fan(TABLE, "high", ratios).flow(pressures, 1.1)
    alone = [Fan(TABLE, "high", s).flow(p, 1.1) for p, s in zip(pressures, ratios, strict=True)]
    assert together == pytest.approx(np.array(alone))
