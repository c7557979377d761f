"""What-ifs: made-up houses as found, changed, and held against what was then read."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from causebook.physics import airpath, fan
from causebook.physics.airpath import AirPath, Part, part_from_drop
from causebook.physics.fan import STANDARD, ConstantAirflow, Fan
from causebook.physics.whatif import (
    AddParallel,
    Change,
    Heat,
    LiftSpeed,
    Limit,
    Plate,
    RemovePart,
    ReplaceFurnace,
    ReplacePart,
    ScalePart,
    SetInput,
    SetReturnTemperature,
    SetSetting,
    System,
    apply,
    in_rows,
    rows_differ,
    told_by,
    with_rows,
)
from causebook.quantity import q

CFM, INWC, BTUH = 4.719474432e-4, 249.08891, 0.29307107
COUNTED = ("return", "filter", "coil", "supply")
PLATE = Plate(static_maximum=0.5 * INWC, counted=COUNTED)


def kelvin(fahrenheit: float) -> float:
    return (fahrenheit + 459.67) / 1.8


def table(setting: str, *points: tuple[float, float]) -> fan.FanTable:
    return fan.fan_table([q(static, "inwc") for static, _ in points], {setting: [q(flow, "cfm") for _, flow in points]})


def house(
    blower: Fan,
    airflow: float,
    taps: tuple[float, float, float, float],
    return_: float,
    input_: float | None,
    efficiency: float = 0.8,
    limit: Limit | None = None,
) -> System:
    """Taps before filter, after filter, before coil, after coil [in. w.c.]; the blower as strong as they ask for."""
    drops = (-taps[0], taps[0] - taps[1], taps[2] - taps[3], taps[3])
    parts = [Part(n, drop * INWC / (airflow * CFM) ** 2) for n, drop in zip(COUNTED, drops, strict=True)]
    path = AirPath(tuple(parts[:2]), tuple(parts[2:]))
    speed = fan.speed_ratio.si(blower, airflow * CFM, path.drop(airflow * CFM, STANDARD), STANDARD)
    heat = Heat(input_ * BTUH, efficiency, 1.08 * BTUH / CFM * 1.8) if input_ else None
    return System(path, replace(blower, speed=speed), STANDARD, kelvin(return_), heat, limit, PLATE)


def read(system: System, changes: Any = ()) -> tuple[float, float | None, float]:
    """Airflow [cfm], rise [°F], external static [in. w.c.] after the changes."""
    told = told_by(apply(system, changes))
    return told["airflow"] / CFM, told["rise"] * 1.8 if "rise" in told else None, told["static"] / INWC


# A house whose limit opens: the return is too small and the filter too fine.  The fan table is the four pairs of
# static and airflow that its reading sets hold, with the end slopes carried on.
BLOWER = Fan(
    table("medium-high", (0.50, 1170), (0.60, 1102), (0.70, 1030), (0.87, 870), (0.97, 744), (1.02, 681)), "medium-high"
)
TAPS = (-0.36, -0.71, 0.26, 0.14)
SYSTEM = house(BLOWER, 736, TAPS, 67, 79900, limit=Limit(kelvin(199), kelvin(170), 1.737))
DEEP = ReplacePart("filter", part_from_drop("deep media", q(0.09, "inwc"), q(1029, "cfm")), 0.2)
# 0.167 at 810 cfm: what the house's own pressures leave for an ordinary clean filter.
CLEAN = ReplacePart("filter", part_from_drop("clean", q(0.167, "inwc"), q(810, "cfm")), 0.2)


def second_return() -> AddParallel:
    """The duct and grille that stand beside the old return once both show 0.11 at 1029 cfm."""
    both = part_from_drop("both", q(0.11, "inwc"), q(1029, "cfm")).resistance
    old = SYSTEM.path.part("return").resistance
    return AddParallel(("return",), Part("second return", (both**-0.5 - old**-0.5) ** -2), 0.2)


@pytest.mark.parametrize(
    ("changes", "airflow", "rise", "trips"),
    [
        ((), 737, 80.3, True),
        ((CLEAN,), 810, 73.1, False),
        ((RemovePart("filter"),), 870, 68.0, False),
        ((DEEP,), 847, 69.9, False),
        ((second_return(),), 861, 68.7, False),
        ((second_return(), CLEAN), 971, 60.9, False),
        ((second_return(), DEEP), 1029, 57.5, False),
    ],
    ids=["as found", "clean filter", "no filter", "deep filter", "second return", "both, clean", "both, deep"],
)
def test_one_change_at_a_time(changes: tuple[Change, ...], airflow: float, rise: float, trips: bool) -> None:
    told = told_by(apply(SYSTEM, changes))
    assert told["airflow"] / CFM == pytest.approx(airflow, rel=0.03)
    assert told["rise"] * 1.8 == pytest.approx(rise, abs=2)
    assert bool(told["limit margin"] < 0) is trips
    # Only with the return corrected does an ordinary filter give a rise within the plate's range, at most 65 °F.
    assert bool(told["rise"] * 1.8 <= 65) is (second_return() in changes and len(changes) == 2)
    assert told["static"] > 0.5 * INWC


def test_opening_the_return_at_the_filter_slot_with_the_filter_out() -> None:
    slot = AddParallel(("return", "filter"), airpath.opening("slot", q(320, "inch**2")))
    airflow, rise, static = read(SYSTEM, (slot,))
    assert airflow == pytest.approx(1102, rel=0.03)
    assert rise == pytest.approx(53.7, abs=2)
    assert static == pytest.approx(0.6, abs=0.03)
    # The tap stands where it stood, though the slot now bypasses both parts before it.
    assert told_by(apply(SYSTEM, (slot,)))["tap after filter"] / INWC == pytest.approx(-0.02, abs=0.02)


AFTER = [
    # (as found, changes, after: airflow, rise, static), each a made-up house: 8 % and 4 °F allowed.
    (
        "coil matted",
        house(
            Fan(table("4", (0.4, 1090), (0.58, 1016), (1.04, 685), (1.1, 640)), "4"),
            689,
            (-0.08, -0.14, 0.90, 0.07),
            69,
            70200,
        ),
        lambda: (ReplacePart("coil", part_from_drop("clean", q(0.16, "inwc"), q(1014, "cfm"))),),
        (1014, 51.3, 0.58),
    ),
    (
        "blower at seven tenths",
        house(
            Fan(table("medium-high", (0.2, 1330), (0.32, 1261), (0.62, 1090), (0.8, 960)), "medium-high"),
            746,
            (-0.08, -0.16, 0.16, 0.07),
            68,
            80100,
        ),
        lambda: (LiftSpeed(5.0),),
        (1079, 55.0, 0.62),
    ),
    (
        "cooling left on a heating speed",
        house(
            Fan(
                fan.fan_table(
                    [q(s, "inwc") for s in (0.2, 0.34, 0.5, 0.66, 0.8)],
                    {
                        "2": [q(c, "cfm") for c in (850, 791, 705, 600, 490)],
                        "5": [q(c, "cfm") for c in (1310, 1255, 1190, 1120, 1040)],
                    },
                ),
                "2",
            ),
            791,
            (-0.08, -0.14, 0.20, 0.07),
            76,
            None,
        ),
        lambda: (SetSetting("5"),),
        (1120, None, 0.66),
    ),
    (
        "furnace replaced by half the size",
        house(
            Fan(table("high", (0.6, 1400), (0.88, 1194), (1.0, 1080)), "high"),
            1194,
            (-0.31, -0.44, 0.44, 0.23),
            67,
            125000,
        ),
        lambda: (
            ReplaceFurnace(ConstantAirflow(1047 * CFM, 0.8 * INWC), q(60000, "btu_it/hour"), q(95, "percent_"), PLATE),
            ReplacePart("filter", part_from_drop("larger", q(0.08, "inwc"), q(1047, "cfm"))),
            ReplacePart("return", part_from_drop("larger grille", q(0.11, "inwc"), q(1047, "cfm"))),
        ),
        (1047, 50.4, 0.52),
    ),
]


@pytest.mark.parametrize(("name", "found", "changes", "after"), AFTER, ids=[case[0] for case in AFTER])
def test_a_repair_is_foretold_as_it_was_read(
    name: str, found: System, changes: Callable[[], Any], after: tuple[Any, ...]
) -> None:
    airflow, rise, static = read(found, changes())
    assert airflow == pytest.approx(after[0], rel=0.08)
    assert rise == (pytest.approx(after[1], abs=4) if after[1] else None)
    assert static == pytest.approx(after[2], abs=0.05)


def test_the_blower_is_as_strong_as_its_readings_say() -> None:
    assert AFTER[1][1].fan.speed == pytest.approx(742 / 1060, abs=0.02)  # by tachometer


# ---------------------------------------------------------------------------------------------- changes


def test_an_unchanged_what_if_changes_nothing() -> None:
    assert apply(SYSTEM, ()) == SYSTEM
    same = apply(SYSTEM, [ScalePart("filter", 1.0), SetSetting("medium-high"), SetInput(q(79900, "btu_it/hour"))])
    told, first = told_by(same), told_by(SYSTEM)
    assert {n: told[n] for n in first} == pytest.approx(first, rel=1e-6)


@given(st.sampled_from(COUNTED), st.floats(0.05, 1.0), st.floats(1.0, 6.0))
@settings(max_examples=30, deadline=None)
def test_cleaning_never_lowers_and_loading_never_raises_airflow(name: str, cleaner: float, worse: float) -> None:
    found = read(SYSTEM)[0]
    assert read(SYSTEM, [ScalePart(name, cleaner)])[0] >= found * (1 - 1e-9)
    assert read(SYSTEM, [ScalePart(name, worse)])[0] <= found * (1 + 1e-9)


@given(st.floats(0.01, 3), st.sampled_from([("return",), ("return", "filter"), ("coil",), ("coil", "supply")]))
@settings(max_examples=30, deadline=None)
def test_another_way_beside_never_lowers_airflow(drop: float, beside: tuple[str, ...]) -> None:
    way = part_from_drop("new", q(drop, "inwc"), q(1000, "cfm"), 1.9)
    assert read(SYSTEM, [AddParallel(beside, way)])[0] >= read(SYSTEM)[0]


@given(st.floats(40e3, 120e3), st.floats(55, 80))
@settings(max_examples=20, deadline=None)
def test_the_heat_balance_closes_after_any_change(btuh: float, return_: float) -> None:
    system = apply(SYSTEM, [SetInput(q(btuh, "btu_it/hour")), SetReturnTemperature(q(return_, "degF")), DEEP])
    told = told_by(system)
    carried = 1.08 * told["airflow"] / CFM * told["rise"] * 1.8
    assert carried == pytest.approx(0.8 * btuh, rel=1e-6)
    assert told["outlet"] == pytest.approx(kelvin(return_) + told["rise"])
    assert told["limit margin"] == pytest.approx(kelvin(199) - told["limit body"])


def test_a_third_return_joins_the_two() -> None:
    twice = apply(SYSTEM, [second_return(), AddParallel(("return",), Part("third", 800.0))])
    assert len(twice.path.before[0].branches) == 3
    told = told_by(twice)
    assert told["static"] == pytest.approx(sum(told[f"drop {n}"] for n in COUNTED))


@pytest.mark.parametrize(
    ("change", "error", "says"),
    [
        (RemovePart("humidifier"), KeyError, "part is 'humidifier'; the air path holds return, filter"),
        (SetSetting("turbo"), KeyError, "setting is 'turbo'"),
        (LiftSpeed(0.5), ValueError, "factor on the speed is 0.5"),
        (SetInput(q(-1, "btu_it/hour")), ValueError, "input is −1 Btu/h"),
        (SetReturnTemperature(q(900, "degF")), ValueError, "return temperature is 900 °F"),
        (ScalePart("coil", -1.0), ValueError, "resistance of coil is -"),
        (AddParallel(("return", "coil"), Part("hole", 1.0)), ValueError, "do not stand next to each other"),
        (AddParallel(("return",), Part("coil", 1.0)), ValueError, "more than one part called coil"),
    ],
)
def test_a_change_that_does_not_fit_is_refused_by_name(change: Change, error: type[Exception], says: str) -> None:
    with pytest.raises(error, match=says):
        apply(SYSTEM, [change])


def test_a_blower_that_holds_its_airflow_has_no_setting() -> None:
    held = replace(SYSTEM, fan=ConstantAirflow(736 * CFM, 300.0))
    with pytest.raises(ValueError, match="no settings of a fan table"):
        apply(held, [SetSetting("high")])
    with pytest.raises(TypeError, match="only the blower of a fan table"):
        in_rows([held, held])


# ------------------------------------------------------------------------------------------ uncertainty

SDS = {"before filter": 0.01, "after filter": 0.01, "before coil": 0.01, "after coil": 0.01, "airflow": 25.0}
SDS |= {"return": 1.0, "input": 1598.0, "efficiency": 0.01, "opens": 1.0, "body": 0.03}


def shifted(by: Mapping[str, float]) -> System:
    """The tripping house from its readings, each moved by so much."""

    def at(name: str, value: float) -> float:
        return value + by.get(name, 0.0)

    return house(
        BLOWER,
        at("airflow", 736),
        tuple(at(name, tap) for name, tap in zip(SDS, TAPS, strict=False)),
        at("return", 67),
        at("input", 79900),
        at("efficiency", 0.8),
        Limit(kelvin(at("opens", 199)), kelvin(170), at("body", 1.737)),
    )


def test_uncertainty_is_what_drawing_the_readings_gives() -> None:
    random = np.random.default_rng(5)
    names = ("airflow", "rise", "limit margin", "drop return")
    drawn = in_rows([shifted({n: random.normal(0, sd) for n, sd in SDS.items()}) for _ in range(400)])
    rows = in_rows([SYSTEM, *(shifted({n: sd}) for n, sd in SDS.items())])
    told, spread = (told_by(apply(system, [RemovePart("filter")])) for system in (rows, drawn))
    # 15 %: four standard errors of a standard deviation from 400 draws
    assert [rows_differ(told[n]) for n in names] == pytest.approx([float(np.std(spread[n])) for n in names], rel=0.15)


def test_rows_more_are_rows_of_the_best_estimate() -> None:
    rows = in_rows([SYSTEM, shifted({"airflow": 25})])
    told = told_by(with_rows(rows, 2))["limit margin"]
    assert list(told[2:]) == [told[0], told[0]] and told[1] != told[0] and rows_differ(told[[0, 2, 3]]) == 0


def test_beyond_the_fan_table_is_said() -> None:
    assert not told_by(SYSTEM)["beyond table"]
    assert told_by(apply(SYSTEM, [ScalePart("filter", 4.0)]))["beyond table"]


def test_arrays_of_variants_go_through_at_once() -> None:
    times = np.linspace(0.2, 4, 30)
    many = told_by(apply(SYSTEM, [ScalePart("filter", times)]))
    one = told_by(apply(SYSTEM, [ScalePart("filter", float(times[17]))]))
    assert many["limit margin"][17] == pytest.approx(one["limit margin"], rel=1e-8)
    assert many["static"][17] == pytest.approx(one["static"], rel=1e-8)
    assert np.all(np.diff(many["rise"]) > 0)
