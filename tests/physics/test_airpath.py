"""The air path against scipy as a second opinion, and what must hold of any path and blower."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import fsolve

from causebook.physics import airpath, fan
from causebook.physics.airpath import AirPath, Parallel, Part, Series, operating_point, part_from_drop, solve
from causebook.physics.fan import ConstantAirflow, Fan
from causebook.quantity import OutOfRange, q

CFM, INWC, RHO = 4.719474432e-4, 249.08891, fan.STANDARD
TABLE = fan.fan_table(
    [q(tenth / 10, "inwc") for tenth in range(11)],
    {"high": [q(cfm, "cfm") for cfm in (1490, 1450, 1400, 1340, 1270, 1190, 1090, 960, 790, 560, 0)]},
)
BLOWER = Fan(TABLE, "high")
drops = st.floats(0.01, 0.8)
exponents = st.floats(1.0, 2.0)


def part(name: str, inches: float, exponent: float = 2.0) -> Part:
    return part_from_drop(name, q(inches, "inwc"), q(1200, "cfm"), exponent)


def path(return_: float = 0.08, filter_: float = 0.10, coil: float = 0.20, supply: float = 0.10) -> AirPath:
    return AirPath(
        (part("return", return_), part("filter", filter_, 1.5)), (part("coil", coil), part("supply", supply))
    )


@given(drops, drops, drops, exponents, exponents, exponents)
@settings(max_examples=40, deadline=None)
def test_a_whole_network_solves_as_scipy_solves_it(a: float, b: float, c: float, n: float, m: float, k: float) -> None:
    grille, old, new, rest = part("grille", a, n), part("old", b, m), part("new", c, k), part("rest", 0.3)
    net = AirPath((Parallel("returns", (Series("old way", (grille, old)), new)),), (rest,))
    point = solve(net, BLOWER, RHO)

    def unbalanced(flows):
        first, second = flows
        over_first = grille.at_flow(first, RHO)[0] + old.at_flow(first, RHO)[0]
        over_second = new.at_flow(second, RHO)[0]
        total = first + second
        return (over_first - over_second, 100 * (BLOWER.flow(over_second + rest.at_flow(total, RHO)[0], RHO) - total))

    start = net.before[0].split(point.airflow_si, RHO)
    found = fsolve(unbalanced, [0.9 * start["old way"], 1.1 * start["new"]], xtol=1e-12)
    assert point.airflow_si == pytest.approx(sum(found), rel=1e-6)
    assert start["old way"] == pytest.approx(found[0], rel=1e-5)


@given(drops, drops, exponents)
def test_equal_exponents_side_by_side_follow_the_closed_form(a: float, b: float, n: float) -> None:
    one, two = part("one", a, n), part("two", b, n)
    together = (one.resistance ** (-1 / n) + two.resistance ** (-1 / n)) ** -n
    assert Parallel("both", (one, two)).at_flow(0.5, RHO)[0] == pytest.approx(together * 0.5**n, rel=1e-9)


@given(drops, drops, drops, exponents, exponents, st.floats(0.05, 1.0))
def test_drop_and_flow_undo_each_other(a: float, b: float, c: float, n: float, m: float, flow: float) -> None:
    element = Parallel("net", (Series("way", (part("a", a, n), part("b", b, m))), part("c", c, 1.3)))
    drop, slope = element.at_flow(flow, 1.1)
    back, slope_back = element.at_drop(drop, 1.1)
    assert back == pytest.approx(flow, rel=1e-9)
    assert slope == pytest.approx(slope_back, rel=1e-6)
    # The slope is the derivative: a numerical one as second opinion.
    more = element.at_flow(flow * 1.0001, 1.1)[0]
    assert slope == pytest.approx(math.log(more / drop) / math.log(1.0001), rel=1e-3)


@given(drops, drops, drops, drops, st.floats(0.6, 1.2), st.floats(0.9, 1.3))
def test_blower_and_path_meet_and_the_taps_add_up(
    a: float, b: float, c: float, d: float, speed: float, density: float
) -> None:
    blower = Fan(TABLE, "high", speed)
    point = operating_point(path(a, b, c, d), blower, q(density, "kg/m**3"))
    total = point.static(("return", "filter", "coil", "supply"))
    assert blower.flow(total.to("Pa").m, density) / CFM == pytest.approx(point.airflow.to("cfm").m, rel=1e-8, abs=1e-6)
    assert (point.tap("before coil") - point.tap("after filter")).to("Pa").m == pytest.approx(total.to("Pa").m)
    assert point.tap("after supply").to("Pa").m == pytest.approx(0, abs=1e-9)
    assert point.tap("after return") == point.tap("before filter") == -point.drop("return")


@given(st.sampled_from(["return", "filter", "coil", "supply"]), st.floats(1.0, 20.0))
def test_adding_resistance_never_raises_airflow(name: str, times: float) -> None:
    worse = solve(path().scaled({name: times}), BLOWER)
    assert worse.airflow_si <= solve(path(), BLOWER).airflow_si * (1 + 1e-9)


@given(st.sampled_from(["return", "filter", "coil", "supply"]), st.floats(1.0, 20.0))
def test_adding_resistance_never_lowers_the_pressure_or_power_of_constant_airflow(name: str, times: float) -> None:
    motor = ConstantAirflow(1100 * CFM, 0.6 * INWC)
    counted = ("return", "filter", "coil", "supply")
    before, after = solve(path(), motor), solve(path().scaled({name: times}), motor)
    assert after.static_si(counted) >= before.static_si(counted) * (1 - 1e-9)
    power = [p.airflow_si * p.static_si(counted) for p in (before, after)]
    assert power[1] >= power[0] * (1 - 1e-9)
    assert bool(after.at_limit) == (after.airflow_si < 1100 * CFM * (1 - 1e-9)) or times == 1


@given(drops, exponents)
def test_a_parallel_return_never_lowers_airflow(inches: float, exponent: float) -> None:
    single = path(return_=0.4)
    returns = Parallel("returns", (single.before[0], part("new", inches, exponent)))
    both = AirPath((returns, single.before[1]), single.after)
    assert solve(both, BLOWER).airflow_si >= solve(single, BLOWER).airflow_si


def test_no_resistance_at_all_gives_free_air() -> None:
    free = path().scaled(dict.fromkeys(("return", "filter", "coil", "supply"), 0.0))
    assert solve(free, BLOWER).airflow_si / CFM == pytest.approx(1490)


def test_a_removed_part_in_a_branch_lets_the_rest_of_it_rule() -> None:
    branch = Series("way", (part("grille", 0.1), part("filter", 0.2, 1.4)))
    net = AirPath((Parallel("returns", (branch, part("new", 0.3))),), (part("rest", 0.3),))
    bare = AirPath((Parallel("returns", (part("grille", 0.1), part("new", 0.3))),), (part("rest", 0.3),))
    assert solve(net.scaled({"filter": 0.0}), BLOWER).airflow_si == pytest.approx(solve(bare, BLOWER).airflow_si)


def test_thin_air_lowers_pressures_and_not_the_airflow() -> None:
    thick, thin = operating_point(path(), BLOWER), operating_point(path(), BLOWER, q(0.9, "kg/m**3"))
    assert thin.airflow.to("cfm").m == pytest.approx(thick.airflow.to("cfm").m, rel=1e-9)
    assert (thin.drop("coil") / thick.drop("coil")).m == pytest.approx(0.9 / RHO, rel=1e-6)


def test_taps_within_branches_lie_between_their_ends() -> None:
    way = Series("old way", (part("grille", 0.1), part("duct", 0.2)))
    point = solve(AirPath((Parallel("returns", (way, part("new", 0.3))),), (part("rest", 0.3),)), BLOWER)
    taps = point.taps_si
    assert taps["after returns"] == pytest.approx(taps["after new"]) == pytest.approx(taps["after duct"])
    assert taps["before returns"] == taps["before grille"] == 0
    assert taps["after grille"] == pytest.approx(taps["after returns"] / 3)


def test_beyond_the_table_is_said() -> None:
    short = fan.fan_table([q(s, "inwc") for s in (0.3, 0.5)], {"high": [q(1340, "cfm"), q(1190, "cfm")]})
    assert not solve(path(), Fan(short, "high")).beyond_table
    assert solve(path(coil=0.9), Fan(short, "high")).beyond_table
    assert solve(path(return_=0.01, filter_=0.01, coil=0.05), Fan(short, "high")).beyond_table


def test_thousands_of_variants_at_once_are_the_same_as_one_by_one() -> None:
    random = np.random.default_rng(7)
    times = {"filter": random.uniform(0.2, 8, 200), "coil": random.uniform(0.2, 8, 200)}
    speed, density = random.uniform(0.6, 1.1, 200), random.uniform(0.9, 1.25, 200)
    way = Series("way", (part("grille", 0.05), part("duct", 0.1, 1.9)))
    net = AirPath(
        (Parallel("returns", (way, part("new", 0.2))), part("filter", 0.1, 1.4)),
        (part("coil", 0.2), part("supply", 0.1)),
    )
    many = solve(net.scaled(times), Fan(TABLE, "high", speed), density)
    for i in range(0, 200, 13):
        single = net.scaled({name: float(k[i]) for name, k in times.items()})
        one = solve(single, Fan(TABLE, "high", speed[i]), density[i])
        assert many.airflow_si[i] == pytest.approx(one.airflow_si, rel=1e-8)
        assert many.taps_si["after filter"][i] == pytest.approx(one.taps_si["after filter"], rel=1e-8)


@given(drops, st.floats(300, 1600), exponents)
def test_a_part_shows_the_drop_it_was_made_from(inches: float, cfm: float, exponent: float) -> None:
    made = part_from_drop("coil", q(inches, "inwc"), q(cfm, "cfm"), exponent)
    assert made.at_flow(cfm * CFM, RHO)[0] / INWC == pytest.approx(inches, rel=1e-6)


def test_an_opening_is_an_orifice() -> None:
    # 0.55 in² of free area per cfm at 3 Pa with C 0.6: first principles
    hole = airpath.opening("undercut", q(0.55 * 100, "inch**2"))
    assert hole.at_drop(3.0, RHO)[0] / CFM == pytest.approx(100, rel=0.03)


@given(drops, st.floats(300, 1600), st.floats(300, 1600), exponents)
def test_a_clean_part_is_once_clean_at_any_airflow(inches: float, here: float, there: float, exponent: float) -> None:
    moved = airpath.drop_at(q(inches, "inwc"), q(here, "cfm"), q(there, "cfm"), exponent)
    times = airpath.times_clean(moved, q(there, "cfm"), q(inches, "inwc"), q(here, "cfm"), exponent)
    assert times.m == pytest.approx(1)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: part_from_drop("coil", q(-0.1, "inwc"), q(900, "cfm")), "drop is −0.10 in. w.c."),
        (lambda: part_from_drop("coil", q(0.1, "inwc"), q(0, "cfm")), "airflow is 0 cfm"),
        (lambda: part_from_drop("coil", q(0.1, "inwc"), q(900, "cfm"), 2.6), "exponent is 2.6"),
        (lambda: Part("coil", -1.0), "resistance of coil is -1.0"),
        (lambda: Part("coil", 1.0, 0.5), "exponent of coil is 0.5"),
        (lambda: airpath.opening("slot", q(-3, "inch**2")), "area is "),
        (
            lambda: Parallel("returns", (Part("old", 0.0), Part("new", 1.0))),
            "resistance of old, a branch of returns, is 0",
        ),
        (lambda: AirPath((Part("coil", 1.0),), (Part("coil", 1.0),)), "more than one part called coil"),
        (lambda: operating_point(path(), BLOWER, q(-1, "kg/m**3")), "density is "),
    ],
)
def test_nonsense_is_refused_by_name(call, says: str) -> None:
    with pytest.raises((OutOfRange, ValueError), match=says):
        call()


def test_an_unknown_part_is_refused_naming_the_known_ones() -> None:
    with pytest.raises(KeyError, match="part is 'grille'; the air path holds return, filter, coil, supply"):
        path().scaled({"grille": 2.0})
