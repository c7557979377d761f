"""The furnace: heat balance, limit, warming up against scipy's integrator, and run logs."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from causebook.measured import Measured
from causebook.physics import furnace
from causebook.physics.furnace import fit_run, run, warming
from causebook.quantity import HEAT_RATE, SHARE, TEMPERATURE_DIFFERENCE, OutOfRange, q

FACTOR = q(1.08, "btu_it/hour/cfm/delta_degF")
RETURN = q(67, "degF")
outputs = st.floats(20e3, 120e3)
flows = st.floats(400, 2000)


def heat(btuh: float):
    return q(btuh, "btu_it/hour")


def furnace_at(cfm: float, on_delay: float = 30, body_factor: float = 1.75, opens: float = 200):
    return warming(
        heat(64000),
        q(cfm, "cfm"),
        FACTOR,
        RETURN,
        q(185, "s"),
        body_factor,
        q(opens, "degF"),
        q(opens - 30, "degF"),
        on_delay=q(on_delay, "s"),
    )


@given(outputs, flows)
def test_rise_and_airflow_undo_each_other(btuh: float, cfm: float) -> None:
    difference = furnace.rise(heat(btuh), q(cfm, "cfm"), FACTOR)
    assert difference.to("delta_degF").m == pytest.approx(btuh / (1.08 * cfm))
    assert furnace.airflow_from_rise(heat(btuh), difference, FACTOR).to("cfm").m == pytest.approx(cfm)
    carried = FACTOR.to("J/m**3/delta_degC").m * q(cfm, "cfm").to("m**3/s").m * difference.to("delta_degC").m
    assert carried == pytest.approx(heat(btuh).to("W").m)


def test_metric_readings_give_the_same_airflow() -> None:
    here = furnace.airflow_from_rise(heat(64000), q(60, "delta_degF"), FACTOR)
    there = furnace.airflow_from_rise(
        q(64000 * 0.29307107, "W"), q(100 / 3, "delta_degC"), q(1.08 * 0.29307107 / 4.719474432e-4 * 1.8, "J/m**3/K")
    )
    assert there.to("L/s").m == pytest.approx(here.to("L/s").m, rel=1e-7)


@given(outputs, st.floats(25, 50), st.floats(1, 40))
def test_the_middle_of_the_plate_needs_more_air_than_its_top(btuh: float, low: float, more: float) -> None:
    low_rise, high_rise = q(low, "delta_degF"), q(low + more, "delta_degF")
    middle = furnace.middle_airflow(heat(btuh), low_rise, high_rise, FACTOR)
    assert furnace.minimum_airflow(heat(btuh), high_rise, FACTOR) < middle
    assert furnace.rise(heat(btuh), middle, FACTOR).to("delta_degF").m == pytest.approx(low + more / 2)


def test_airflow_by_rise_carries_all_three_uncertainties() -> None:
    put_in = Measured.of(heat(79900), heat(1600), HEAT_RATE)
    share = Measured.of(q(80, "percent_"), q(2, "percent_"), SHARE)
    difference = Measured.of(q(80.4, "delta_degF"), q(1.5, "delta_degF"), TEMPERATURE_DIFFERENCE)
    found = furnace.airflow_by_rise(put_in, share, difference, FACTOR)
    assert found.value.to("cfm").m == pytest.approx(736, abs=0.5)
    random = np.random.default_rng(1)
    drawn = [random.normal(term.si, term.sd_si, 100_000) for term in (put_in, share, difference)]
    flows = drawn[0] * drawn[1] / (FACTOR.to("J/m**3/delta_degC").m * drawn[2])
    assert found.sd_si == pytest.approx(np.std(flows), rel=0.03)
    assert str(found) == "736 cfm ± 27 cfm"


@given(st.floats(60, 75), st.floats(0, 1), st.floats(90, 160))
def test_recirculation_share_is_what_mixing_makes(room: float, share: float, supply: float) -> None:
    mixed = room + share * (supply - room)
    found = furnace.recirculation_share(q(room, "degF"), q(mixed, "degF"), q(supply, "degF"))
    assert found.m == pytest.approx(share, abs=1e-9)


@given(st.floats(40, 90), st.floats(1.0, 2.5))
def test_body_factor_undoes_limit_body(rise: float, factor: float) -> None:
    body = furnace.limit_body(RETURN, q(rise, "delta_degF"), factor)
    assert furnace.body_factor(RETURN, q(rise, "delta_degF"), body).m == pytest.approx(factor)


# ------------------------------------------------------------------------------------------- warming up


def test_warming_up_is_what_scipy_integrates() -> None:
    told = furnace_at(900, on_delay=0, opens=300)
    simulated = run(told, q(900, "s"))

    def rates(_, state):
        rise, body = state
        stored = told.air_rate * told.time_constant
        return (told.output - told.air_rate * rise) / stored, (told.body_factor * rise - body) / told.body_lag

    second = solve_ivp(rates, (0, 900), (0, 0), t_eval=simulated.seconds, rtol=1e-9, atol=1e-9)
    assert simulated.supply_si == pytest.approx(told.return_temperature + second.y[0], abs=1e-6)
    assert simulated.body_si == pytest.approx(told.return_temperature + second.y[1], abs=0.01)


@given(st.floats(500, 1500), st.floats(0, 60), st.floats(120, 900))
@settings(max_examples=20, deadline=None)
def test_the_energy_balance_of_a_run_closes(cfm: float, delay: float, call: float) -> None:
    told = furnace_at(cfm, delay)
    done = run(told, q(call, "s"), q(1500, "s"), q(0.25, "s"))
    given_ = np.sum(done.burner[:-1]) * 0.25 * told.output
    standing = np.where(done.blower, 0.0, told.standing * done.stored_si / told.time_constant)
    taken = np.trapezoid(np.where(done.blower, done.heat_to_air_si, standing), done.seconds)
    # 1 %: the trapezoid between quarter seconds, across the blower's start and stop
    assert taken + done.stored_si[-1] == pytest.approx(given_, rel=0.01)


@given(st.floats(500, 1500), st.floats(1.3, 2.2))
@settings(max_examples=30, deadline=None)
def test_the_limit_opens_only_where_its_body_would_pass_it(cfm: float, factor: float) -> None:
    told = furnace_at(cfm, on_delay=0, body_factor=factor)
    steady = told.return_temperature + factor * told.output / told.air_rate
    done = run(told, q(2400, "s"))
    if steady < told.opens - 0.5:
        assert done.trips == ()
    elif steady > told.opens + 3:
        assert done.trips
        first = done.seconds < done.trips[0]
        assert done.body_si[first].max() < told.opens <= done.body_si[~first][0]
    # Hysteresis: after each opening the burner stays out until the body has cooled to the closing point.
    for trip, relight in zip(done.trips, done.relights, strict=False):
        out = (done.seconds >= trip) & (done.seconds < relight)
        assert not done.burner[out].any()
        assert done.blower[out].all()
        assert done.body_si[out].min() > told.closes


def test_a_late_blower_can_open_a_limit_that_a_prompt_one_spares() -> None:
    assert run(furnace_at(1200, on_delay=30), q(900, "s")).trips == ()
    assert run(furnace_at(1200, on_delay=420), q(900, "s")).trips


def test_the_blower_runs_on_after_the_call() -> None:
    done = run(furnace_at(1200), q(300, "s"), q(600, "s"))
    assert done.blower[(done.seconds >= 300) & (done.seconds < 390)].all()
    assert not done.blower[done.seconds > 391].any()
    assert not done.burner[done.seconds > 301].any()
    assert done.supply.to("degF").m[done.seconds > 391] == pytest.approx(67)


# ------------------------------------------------------------------------------------------------ logs


@given(st.floats(550, 1100), st.floats(0.5, 3.0))
@settings(max_examples=15, deadline=None)
def test_a_log_cut_short_still_gives_the_steady_rise(cfm: float, constants: float) -> None:
    told = furnace_at(cfm, on_delay=0, opens=400)
    done = run(told, q(185 * constants + 60, "s"))
    seen = slice(None, None, 40)
    fit = fit_run(q(done.seconds[seen], "s"), q(done.supply_si[seen], "K"), RETURN)
    assert fit.steady_rise.si == pytest.approx(told.output / told.air_rate, rel=0.01)
    assert fit.time_constant.si == pytest.approx(185, rel=0.02)
    assert fit.extrapolated == (fit.reached < 0.98)


def test_noise_leaves_the_steady_rise_within_its_uncertainty() -> None:
    told = furnace_at(750, on_delay=0, opens=400)
    done, random = run(told, q(400, "s")), np.random.default_rng(11)
    seen = slice(None, None, 20)
    far = []
    for _ in range(60):
        noisy = done.supply_si[seen] + random.normal(0, 0.5, len(done.seconds[seen]))
        fit = fit_run(q(done.seconds[seen], "s"), q(noisy, "K"), RETURN, probe_sd=q(0.5, "delta_degC"))
        far.append((fit.steady_rise.si - told.output / told.air_rate) / fit.steady_rise.sd_si)
    assert abs(np.mean(far)) < 0.5
    assert 0.6 < np.std(far) < 1.5


LOGS = {
    # Logs of supply temperature [s, °F] with the rise each was heading for; made-up houses.
    "two trips": (
        80.4,
        (550, 1037),
        (644, 1131),
        [
            (0, 67),
            (60, 90.1),
            (120, 105.7),
            (180, 117.0),
            (240, 125.2),
            (300, 131.2),
            (360, 135.6),
            (420, 138.8),
            (480, 141.1),
            (540, 142.8),
            (550, 143.0),
            (600, 125.7),
            (644, 113.5),
            (660, 115.8),
            (720, 124.4),
            (840, 135.2),
            (960, 140.9),
            (1037, 143.0),
            (1080, 127.9),
            (1131, 113.5),
            (1200, 123.5),
        ],
    ),
    "late trip": (
        75.5,
        (615, 1166),
        (715,),
        [
            (0, 69),
            (60, 89.9),
            (120, 104.3),
            (180, 114.9),
            (240, 122.7),
            (300, 128.5),
            (360, 132.7),
            (420, 135.8),
            (480, 138.2),
            (540, 139.9),
            (600, 141.1),
            (615, 141.4),
            (660, 126.9),
            (715, 112.8),
            (780, 121.5),
            (900, 132.0),
            (1020, 137.8),
            (1166, 141.4),
            (1200, 130.2),
        ],
    ),
    "no trip": (
        57.5,
        (),
        (),
        [
            (0, 67),
            (60, 86.8),
            (120, 99.0),
            (180, 107.2),
            (240, 112.8),
            (300, 116.5),
            (360, 119.1),
            (480, 122.0),
            (600, 123.4),
            (720, 124.0),
            (900, 124.4),
            (1200, 124.5),
        ],
    ),
}


@pytest.mark.parametrize("name", LOGS)
def test_the_steady_rise_of_a_log_that_tripped(name: str) -> None:
    steady, trips, relights, samples = LOGS[name]
    seconds, degrees = (np.array(column, dtype=float) for column in zip(*samples, strict=True))
    fit = fit_run(q(seconds, "s"), q(degrees, "degF"), q(degrees[0], "degF"))
    assert fit.trips == trips
    assert fit.relights == relights
    assert fit.extrapolated == bool(trips)
    read = fit.steady_rise.value.to("delta_degF").m
    assert read == pytest.approx(steady, abs=min(1.0, 2 * fit.steady_rise.sd.to("delta_degF").m))
    if trips:
        # The rise at the trip is a lower bound: an airflow from it would be several per cent too high.
        assert read > fit.last_rise.to("delta_degF").m * 1.03
    assert fit.rise_at(seconds[3]) * 1.8 == pytest.approx(degrees[3] - degrees[0], abs=1.5)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: furnace.airflow_from_rise(heat(64000), q(0, "delta_degF"), FACTOR), "rise is 0.0 °F"),
        (lambda: furnace.rise(heat(64000), q(-900, "cfm"), FACTOR), "airflow is −900 cfm"),
        (lambda: furnace.rise(heat(-1), q(900, "cfm"), FACTOR), "output is −1 Btu/h"),
        (lambda: furnace.output(heat(80000), q(120, "percent_")), "efficiency is 120 %"),
        (lambda: furnace.middle_airflow(heat(64000), q(65, "delta_degF"), q(35, "delta_degF"), FACTOR), "rise minimum"),
        (lambda: furnace.recirculation_share(RETURN, q(60, "degF"), q(120, "degF")), "return temperature is 60 °F"),
        (lambda: furnace.recirculation_share(RETURN, RETURN, q(60, "degF")), "supply is 60 °F"),
        (lambda: furnace.body_factor(RETURN, q(76, "delta_degF"), q(60, "degF")), "limit body temperature is 60 °F"),
        (
            lambda: warming(
                heat(64000), q(900, "cfm"), FACTOR, RETURN, q(185, "s"), 1.7, q(170, "degF"), q(200, "degF")
            ),
            "closing temperature of the limit is 200 °F",
        ),
        (lambda: fit_run(q(np.arange(4.0), "s"), q(np.arange(4.0), "degF"), RETURN), "4 samples"),
        (lambda: fit_run(q(np.arange(9.0), "s"), q(np.full(9, 70.0), "degF"), RETURN), "does not rise by 5 °F"),
        (lambda: fit_run(q(np.arange(9.0), "s"), q(np.full(8, 70.0), "degF"), RETURN), "9 times for 8"),
        (lambda: fit_run(q(np.zeros(9), "s"), q(np.arange(9.0), "degF"), RETURN), "do not rise from sample to sample"),
    ],
)
def test_nonsense_is_refused_by_name(call, says: str) -> None:
    with pytest.raises((OutOfRange, ValueError), match=says):
        call()


def test_a_rise_is_a_difference_and_never_a_temperature() -> None:
    difference = furnace.rise(heat(64000), q(737, "cfm"), FACTOR)
    assert difference.to("delta_degF").m == pytest.approx(80.4, abs=0.05)
    assert difference.to("delta_degC").m == pytest.approx(44.67, abs=0.05)
    assert math.isclose(furnace.outlet_temperature(RETURN, difference).to("degF").m, 147.4, abs_tol=0.05)
