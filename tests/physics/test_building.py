"""House, combustion air and return air: definitions, code arithmetic and balances that must close."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from causebook.physics import air, building, limits
from causebook.quantity import OutOfRange, q

BTUH = "btu_it/hour"


def test_envelope_is_the_sum_of_its_surfaces() -> None:
    # 1200 ft² of R-11 wall, 1000 ft² of R-30 ceiling, 150 ft² of windows at U 0.5: arithmetic
    surfaces = [
        building.Surface(q(area, "foot**2"), q(u, "btu_it/hour/foot**2/delta_degF"))
        for area, u in ((1200, 1 / 11), (1000, 1 / 30), (150, 0.5))
    ]
    rate = building.envelope_heat_loss_rate(surfaces)
    assert rate.to("btu_it/hour/delta_degF").m == pytest.approx(1200 / 11 + 1000 / 30 + 75)


@given(st.floats(0.1, 1), st.floats(15, 25), st.floats(-30, 5), st.floats(0, 2000), st.floats(5000, 30000))
def test_a_house_found_from_run_time_loses_what_the_furnace_and_the_gains_brought(
    run: float, indoor: float, outdoor: float, gains: float, heat: float
) -> None:
    delivered = building.delivered_heat(q(heat, "W"), q(0.8, ""), q(run, ""))
    rate = building.heat_loss_rate_from_run_time(delivered, q(indoor, "degC"), q(outdoor, "degC"), q(gains, "W"))
    balance = building.balance_point.si(indoor + 273.15, rate.m, gains)
    assert building.design_heat_loss.si(rate.m, balance, outdoor + 273.15) == pytest.approx(delivered.m, rel=1e-9)
    assert building.design_heat_loss.si(rate.m, balance, balance + 1) == 0


@given(st.floats(100, 2000), st.floats(0, 99), st.floats(0.6, 0.98), st.floats(1000, 9000))
def test_a_season_at_the_found_rate_burns_the_fuel_that_was_burnt(
    therms: float, base: float, efficiency: float, days: float
) -> None:
    rate = building.heat_loss_rate_from_fuel(
        q(therms, "therm_"), q(efficiency, ""), q(days, "delta_degF*day"), q(base, "therm_")
    )
    burnt = rate.m * days * 86400 / 1.8 / efficiency / (1e5 * 1055.05585262)
    assert burnt + base == pytest.approx(therms, rel=1e-9)


@given(st.floats(10_000, 200_000), st.floats(0.1, 0.599))
def test_tighter_houses_need_more_volume_and_fans_less(btuh: float, changes: float) -> None:
    heat = q(btuh, BTUH)
    natural = building.combustion_volume_by_infiltration(q(changes, "1/hour"), natural_draft=heat)
    assisted = building.combustion_volume_by_infiltration(q(changes, "1/hour"), fan_assisted=heat)
    looser = building.combustion_volume_by_infiltration(q(changes + 0.001, "1/hour"), natural_draft=heat)
    assert looser < natural and assisted.m == pytest.approx(natural.m * 15 / 21)
    # the two methods meet at 0.42 air changes: 21 / 0.42 = 50
    at_standard = building.combustion_volume_by_infiltration(q(0.42, "1/hour"), natural_draft=heat)
    assert at_standard.m == pytest.approx(building.combustion_volume_standard(heat).m)


@given(st.floats(50, 3000), st.floats(50, 900), st.floats(0.3, 1))
def test_area_for_velocity_gives_that_velocity(cfm: float, fpm: float, free: float) -> None:
    area = building.area_for_velocity(q(cfm, "cfm"), q(fpm, "fpm"), q(free, ""))
    assert building.face_velocity(q(cfm, "cfm"), area, q(free, "")).to("fpm").m == pytest.approx(fpm)
    in_si = building.area_for_velocity(q(cfm * 0.3048**3 / 60, "m**3/s"), q(fpm * 0.00508, "m/s"), q(free, ""))
    assert in_si.m == pytest.approx(area.m)


def test_transfer_opening_passes_the_air_by_bernoulli() -> None:
    # trade figure 0.55 in² for each cfm at 3 Pa; the orifice equation itself beside it
    area = building.transfer_area(q(100, "cfm"), q(3, "Pa"))
    assert area.to("inch**2").m == pytest.approx(55, rel=0.02)
    assert 0.6 * area.m * math.sqrt(2 * 3 / 1.2) == pytest.approx(q(100, "cfm").to("m**3/s").m)


def test_infiltration_heat_is_108_cfm_only_at_sea_level() -> None:
    # 1.08 × 70 cfm at sea level; 0.90 × at 5000 ft (trade rule with the altitude correction)
    factors = [air.air_state(q(70, "degF"), q(z, "foot")).sensible_factor for z in (0, 5000)]
    sea, high = (
        building.airflow_heat_loss_rate(q(70, "cfm"), factor).to("btu_it/hour/delta_degF").m for factor in factors
    )
    assert sea == pytest.approx(1.08 * 70, rel=0.005) and high == pytest.approx(0.90 * 70, rel=0.005)


@pytest.mark.parametrize(("tons", "returns", "inches"), [(1.5, 1, 500), (1.6, 1, 600), (2.6, 2, 900), (4.5, 2, 1500)])
def test_california_takes_the_next_row_up(tons: float, returns: int, inches: float) -> None:
    assert building.california_return(q(tons, "refrigeration_ton"), returns).grille_area.m == inches


@given(st.floats(0.5, 1.0))
def test_less_airflow_never_raises_cooling(share: float) -> None:
    less = share - 0.005 if share > 0.505 else share
    assert building.cooling_capacity_share.si(less) <= building.cooling_capacity_share.si(share)
    assert building.cooling_capacity_share.si(1.0) == pytest.approx(1, abs=1e-6)


def test_every_limit_and_place_has_a_source_and_a_range() -> None:
    for limit in limits.LIMITS.values():
        assert limit.words and limit.source and limit.status
        ends = [end for end in (limit.low, limit.high) if end is not None]
        assert ends == sorted(ends) and ends
    for place in building.RETURN_PLACES.values():
        assert place.code and place.status and place.permitted in ("never", "conditional")
        assert (place.permitted == "conditional") == bool(place.condition)


def test_nonsense_is_refused_by_name() -> None:
    ton = q(1, "refrigeration_ton")
    surface = building.Surface(q(-10, "foot**2"), q(0.1, "btu_it/hour/foot**2/delta_degF"))
    with pytest.raises(OutOfRange, match="area is −10 ft²"):
        building.envelope_heat_loss_rate([surface])
    with pytest.raises(OutOfRange, match="outdoor is 65 °F; valid is at most 61 °F, 9 °F below indoors"):
        building.heat_loss_rate_from_run_time(q(5, "kW"), q(70, "degF"), q(65, "degF"))
    with pytest.raises(OutOfRange, match="base load is 900 therm; valid is at most the fuel burnt, 800 therm"):
        building.heat_loss_rate_from_fuel(q(800, "therm_"), q(0.8, ""), q(5000, "delta_degF*day"), q(900, "therm_"))
    with pytest.raises(OutOfRange, match="area is 0 in²"):
        building.face_velocity(q(1000, "cfm"), q(0, "inch**2"))
    with pytest.raises(OutOfRange, match="air changes is 0.65 per hour"):
        building.combustion_volume_by_infiltration(q(0.65, "1/hour"))
    with pytest.raises(OutOfRange, match="returns is 3"):
        building.california_return(ton, 3)
    with pytest.raises(OutOfRange, match="capacity is 3.0 ton; valid is above 0.0 ton to 2.5 ton"):
        building.california_return(ton * 3, 1)
    with pytest.raises(KeyError, match="no rule 'attic'; known are 'joining spaces'"):
        building.opening_area(q(100, "kW"), "attic")
    with pytest.raises(TypeError, match="airflow is 1000; expected an airflow with its unit"):
        building.face_velocity(1000, q(400, "inch**2"))
