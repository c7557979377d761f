"""What-ifs: made-up houses identified as found, changed, and held against what was then read."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from causebook.measured import Measured
from causebook.physics import airpath, duct, fan, whatif
from causebook.physics.air import STANDARD_DENSITY
from causebook.physics.airpath import Part, Series, part_from_drop
from causebook.physics.fan import ConstantAirflow, Fan
from causebook.physics.whatif import (
    AddParallel,
    LiftSpeed,
    Readings,
    RemovePart,
    ReplaceFurnace,
    ReplacePart,
    ScaleInput,
    ScalePart,
    SetInput,
    SetReturnTemperature,
    SetSetting,
    apply,
    identify,
    predict,
    told_by,
)
from causebook.quantity import AIR_PRESSURE, AIRFLOW, HEAT_RATE, RATIO, SHARE, TEMPERATURE, TEMPERATURE_DIFFERENCE, q

CFM, INWC = 4.719474432e-4, 249.08891
FACTOR = q(1.08, "btu_it/hour/cfm/delta_degF")
COUNTED = ("return", "filter", "coil", "supply")


def inches(value: float, sd: float = 0.01) -> Measured:
    return Measured.of(q(value, "inwc"), q(sd, "inwc"), AIR_PRESSURE)


def cfm(value: float, sd: float = 25) -> Measured:
    return Measured.of(q(value, "cfm"), q(sd, "cfm"), AIRFLOW)


def table(setting: str, *points: tuple[float, float]) -> fan.FanTable:
    return fan.fan_table([q(static, "inwc") for static, _ in points], {setting: [q(flow, "cfm") for _, flow in points]})


def house(
    blower,
    airflow: float,
    taps: tuple[float, float, float, float],
    return_: float,
    input_: float | None,
    efficiency: float = 0.8,
    **more,
) -> Readings:
    """Taps before filter, after filter, before coil, after coil [in. w.c.]."""
    if input_ is not None:
        more |= {
            "input": Measured.of(q(input_, "btu_it/hour"), q(0.02 * input_, "btu_it/hour"), HEAT_RATE),
            "efficiency": Measured.of(q(efficiency, ""), q(0.01, ""), SHARE),
            "sensible_factor": FACTOR,
        }
    return Readings(
        ("return", "filter"),
        ("coil", "supply"),
        dict(zip(("before filter", "after filter", "before coil", "after coil"), map(inches, taps), strict=True)),
        cfm(airflow),
        blower,
        STANDARD_DENSITY,
        Measured.of(q(return_, "degF"), q(1, "delta_degF"), TEMPERATURE),
        **more,
    )


def read(system, changes=()):
    """Airflow [cfm], rise [°F], external static [in. w.c.] after the changes."""
    told = predict(apply(system, changes))
    return (
        told.airflow.value.to("cfm").m,
        told.rise.value.to("delta_degF").m if told.rise else None,
        told.static.value.to("inwc").m,
    )


# A house whose limit opens: the return is too small and the filter too fine.  The fan table is the four pairs of
# static and airflow that its reading sets hold, with the end slopes carried on.
TRIPPING = house(
    Fan(
        table("medium-high", (0.50, 1170), (0.60, 1102), (0.70, 1030), (0.87, 870), (0.97, 744), (1.02, 681)),
        "medium-high",
    ),
    736,
    (-0.36, -0.71, 0.26, 0.14),
    67,
    79900,
    limit_opens=Measured.of(q(199, "degF"), q(1, "delta_degF"), TEMPERATURE),
    limit_closes=q(170, "degF"),
    body_factor=Measured(1.737, 0.03, RATIO),
    plate=whatif.plate(q(35, "delta_degF"), q(65, "delta_degF"), q(165, "degF"), q(0.5, "inwc"), COUNTED),
)
SYSTEM = identify(TRIPPING)
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
def test_one_change_at_a_time(changes, airflow: float, rise: float, trips: bool) -> None:
    told = predict(apply(SYSTEM, changes))
    assert told.airflow.value.to("cfm").m == pytest.approx(airflow, rel=0.03)
    assert told.rise.value.to("delta_degF").m == pytest.approx(rise, abs=2)
    assert told.trips is trips
    # Only with the return corrected does an ordinary filter give a rise within the plate's range.
    assert told.rise_within is (second_return() in changes and len(changes) == 2)
    assert told.static_within is False


def test_a_second_return_of_sheet_metal_does_what_the_measured_one_did() -> None:
    way = Series(
        "second return",
        (
            airpath.part_from_duct("new duct", duct.round_duct(q(14, "inch")), q(80, "foot"), q(625, "cfm")),
            airpath.opening("new grille", q(0.6 * 432, "inch**2")),
        ),
    )
    airflow, rise, static = read(SYSTEM, (AddParallel(("return",), way), DEEP))
    assert airflow == pytest.approx(1029, rel=0.05)
    assert rise == pytest.approx(57.5, abs=3)
    assert static == pytest.approx(0.7, abs=0.06)


def test_opening_the_return_at_the_filter_slot_with_the_filter_out() -> None:
    slot = AddParallel(("return", "filter"), airpath.opening("slot", q(320, "inch**2")))
    airflow, rise, static = read(SYSTEM, (slot,))
    assert airflow == pytest.approx(1102, rel=0.03)
    assert rise == pytest.approx(53.7, abs=2)
    assert static == pytest.approx(0.6, abs=0.03)
    # The tap stands where it stood, though the slot now bypasses both parts before it.
    after_filter = predict(apply(SYSTEM, (slot,))).taps["after filter"]
    assert after_filter.value.to("inwc").m == pytest.approx(-0.02, abs=0.02)


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
            plate=whatif.plate(static_maximum=q(0.5, "inwc"), counted=COUNTED),
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
            plate=whatif.plate(static_maximum=q(0.5, "inwc"), counted=COUNTED),
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
            plate=whatif.plate(static_maximum=q(0.5, "inwc"), counted=COUNTED),
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
            plate=whatif.plate(static_maximum=q(0.5, "inwc"), counted=COUNTED),
        ),
        lambda: (
            ReplaceFurnace(
                ConstantAirflow(1047 * CFM, 0.8 * INWC),
                q(60000, "btu_it/hour"),
                q(95, "percent_"),
                whatif.plate(q(35, "delta_degF"), q(65, "delta_degF"), static_maximum=q(0.5, "inwc"), counted=COUNTED),
            ),
            ReplacePart("filter", part_from_drop("larger", q(0.08, "inwc"), q(1047, "cfm"))),
            ReplacePart("return", part_from_drop("larger grille", q(0.11, "inwc"), q(1047, "cfm"))),
        ),
        (1047, 50.4, 0.52),
    ),
]


@pytest.mark.parametrize(("name", "found", "changes", "after"), AFTER, ids=[case[0] for case in AFTER])
def test_a_repair_is_foretold_as_it_was_read(name: str, found: Readings, changes, after) -> None:
    airflow, rise, static = read(identify(found), changes())
    assert airflow == pytest.approx(after[0], rel=0.08)
    assert rise == (pytest.approx(after[1], abs=4) if after[1] else None)
    assert static == pytest.approx(after[2], abs=0.05)


# --------------------------------------------------------------------------------------- identification

taps = st.floats(0.02, 0.6)


@given(taps, taps, taps, taps, st.floats(500, 1300), st.floats(1.0, 2.0))
@settings(max_examples=40, deadline=None)
def test_as_found_shows_the_readings_it_was_identified_from(
    a: float, b: float, c: float, d: float, airflow: float, exponent: float
) -> None:
    readings = replace(
        house(TRIPPING.fan, airflow, (-a, -a - b, c + d, d), 67, 80000),
        exponents={"filter": exponent},
        rise=Measured.of(q(61.7, "delta_degF"), q(1, "delta_degF"), TEMPERATURE_DIFFERENCE),
        plate=TRIPPING.plate,
    )
    told = predict(identify(readings))
    assert told.airflow.si == pytest.approx(readings.airflow.si, rel=1e-6)
    for name, term in readings.taps.items():
        assert told.taps[name].si == pytest.approx(term.si, rel=1e-6)
        assert told.taps[name].sd_si == pytest.approx(term.sd_si, rel=1e-3)
    assert told.airflow.sd_si == pytest.approx(readings.airflow.sd_si, rel=1e-3)
    assert told.rise.value.to("delta_degF").m == pytest.approx(61.7, rel=1e-6)
    assert told.static.si == pytest.approx((a + b + c + d) * INWC, rel=1e-6)


@pytest.mark.parametrize("limit", [0.8, 0.97, 0.9])
def test_a_constant_airflow_motor_is_identified_below_and_beyond_its_limit(limit: float) -> None:
    readings = replace(TRIPPING, fan=ConstantAirflow(900 * CFM, limit * INWC))
    told = predict(identify(readings))
    assert told.airflow.value.to("cfm").m == pytest.approx(736, rel=1e-6)
    eased = predict(apply(identify(readings), [RemovePart("filter")]))
    assert eased.airflow.si >= told.airflow.si


def test_the_blower_is_as_strong_as_its_readings_say() -> None:
    weak = identify(AFTER[1][1])
    assert weak.fan.speed == pytest.approx(742 / 1060, abs=0.02)  # by tachometer


def test_a_part_without_taps_of_its_own_is_taken_from_what_is_known() -> None:
    known = airpath.identify_part("filter", inches(0.35, 0.02), cfm(736))
    readings = replace(
        TRIPPING, taps={n: t for n, t in TRIPPING.taps.items() if n != "before filter"}, known={"filter": known}
    )
    told = predict(identify(readings))
    assert told.taps["before filter"].value.to("inwc").m == pytest.approx(-0.36, abs=1e-6)
    assert told.drops["filter"].sd_si > 2 * told.drops["coil"].sd_si


def test_resistance_within_the_cabinet_is_not_counted_as_external() -> None:
    inlet = airpath.identify_part("inlet", inches(0.2, 0.05), cfm(736))
    readings = replace(TRIPPING, before=("return", "filter", "inlet"), known={"inlet": inlet})
    told = predict(identify(readings))
    assert told.static.value.to("inwc").m == pytest.approx(0.97, abs=1e-6)
    assert told.taps["after inlet"].value.to("inwc").m == pytest.approx(-0.91, abs=1e-6)
    assert identify(readings).fan.speed > SYSTEM.fan.speed


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (
            {"taps": {"after filter": inches(-0.71), "before coil": inches(0.26), "after coil": inches(0.14)}},
            "no tap sets return and filter apart",
        ),
        (
            {"taps": dict(TRIPPING.taps) | {"before filter": inches(-0.9)}},
            "drop of filter is −0.19 in. w.c.; .* swapped or misplaced",
        ),
        ({"taps": dict(TRIPPING.taps) | {"after humidifier": inches(0.1)}}, "no such tap .* after humidifier"),
        ({"airflow": cfm(-5)}, "airflow is −5 cfm"),
        ({"airflow": cfm(9000)}, "at no speed from 0.2 to 2"),
        ({"rise": Measured.of(q(0, "delta_degF"), q(1, "delta_degF"), TEMPERATURE_DIFFERENCE)}, "rise is 0.0 °F"),
        ({"density": q(-1, "kg/m**3")}, "density is"),
    ],
)
def test_readings_that_cannot_be_are_refused(change, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        identify(replace(TRIPPING, **change))


# ---------------------------------------------------------------------------------------------- changes


def test_an_unchanged_what_if_changes_nothing() -> None:
    assert apply(SYSTEM, ()) == SYSTEM
    same = apply(SYSTEM, [ScalePart("filter", 1.0), SetSetting("medium-high"), SetInput(q(79900, "btu_it/hour"))])
    told, first = predict(same), predict(SYSTEM)
    assert told.airflow.si == pytest.approx(first.airflow.si, rel=1e-12)
    assert told.rise.si == pytest.approx(first.rise.si, rel=1e-12)
    assert told.limit_margin.si == pytest.approx(first.limit_margin.si, rel=1e-9)


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
    told = predict(system)
    carried = 1.08 * told.airflow.value.to("cfm").m * told.rise.value.to("delta_degF").m
    assert carried == pytest.approx(0.8 * btuh, rel=1e-9)
    assert told.outlet.value.to("degF").m == pytest.approx(return_ + told.rise.value.to("delta_degF").m)
    assert told.limit_margin.si == pytest.approx(system.limit.opens - told.limit_body.si)


def test_a_third_return_joins_the_two() -> None:
    twice = apply(SYSTEM, [second_return(), AddParallel(("return",), Part("third", 800.0))])
    assert len(twice.path.before[0].branches) == 3
    assert predict(twice).static.si == pytest.approx(sum(predict(twice).drops[n].si for n in COUNTED))


def test_metric_and_inch_inputs_give_the_same_prediction() -> None:
    metric = replace(
        TRIPPING,
        airflow=Measured.of(q(736 * 0.4719474432, "L/s"), q(10, "L/s"), AIRFLOW),
        taps={
            name: Measured.of(q(t.value.to("Pa").m, "Pa"), q(2.5, "Pa"), AIR_PRESSURE)
            for name, t in TRIPPING.taps.items()
        },
        return_temperature=Measured.of(q(19.4444444, "degC"), q(0.5, "delta_degC"), TEMPERATURE),
    )
    assert read(identify(metric), (DEEP,)) == pytest.approx(read(SYSTEM, (DEEP,)), rel=1e-6)


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
def test_a_change_that_does_not_fit_is_refused_by_name(change, error: type[Exception], says: str) -> None:
    with pytest.raises(error, match=says):
        apply(SYSTEM, [change])


def test_a_blower_that_holds_its_airflow_has_no_setting() -> None:
    held = identify(replace(TRIPPING, fan=ConstantAirflow(736 * CFM, 300.0)))
    with pytest.raises(ValueError, match="no settings of a fan table"):
        apply(held, [SetSetting("high")])


def test_a_plate_without_its_boundary_and_a_limit_turned_round_are_refused() -> None:
    with pytest.raises(ValueError, match="static maximum of the plate comes without its boundary"):
        whatif.plate(static_maximum=q(0.5, "inwc"))
    with pytest.raises(ValueError, match="limit closes at 200 °F; valid is below where it opens, 170 °F"):
        whatif.limit(q(170, "degF"), q(200, "degF"), 1.7)


# ------------------------------------------------------------------------------------------ uncertainty


def test_uncertainty_is_what_drawing_the_readings_gives() -> None:
    random = np.random.default_rng(5)
    changes = (RemovePart("filter"),)
    drawn = []
    for _ in range(400):

        def shaken(term: Measured) -> Measured:
            return Measured(random.normal(term.si, term.sd_si), 0.0, term.kind)

        again = replace(
            TRIPPING,
            taps={n: shaken(t) for n, t in TRIPPING.taps.items()},
            airflow=shaken(TRIPPING.airflow),
            input=shaken(TRIPPING.input),
            efficiency=shaken(TRIPPING.efficiency),
            return_temperature=shaken(TRIPPING.return_temperature),
            limit_opens=shaken(TRIPPING.limit_opens),
            body_factor=shaken(TRIPPING.body_factor),
        )
        told = told_by(apply(identify(again), changes))
        drawn.append([told[name] for name in ("airflow", "rise", "limit margin", "drop return")])
    spread = np.std(np.array(drawn), axis=0)
    told = predict(apply(SYSTEM, changes))
    expected = [told.airflow.sd_si, told.rise.sd_si, told.limit_margin.sd_si, told.drops["return"].sd_si]
    # 15 %: four standard errors of a standard deviation from 400 draws
    assert expected == pytest.approx(list(spread), rel=0.15)


def test_an_uncertain_new_part_adds_its_own_uncertainty() -> None:
    sure, unsure = (predict(apply(SYSTEM, [replace(DEEP, relative_sd=sd)])) for sd in (0.0, 0.5))
    assert unsure.airflow.si == sure.airflow.si
    assert unsure.airflow.sd_si > sure.airflow.sd_si
    for change in (
        ScalePart("coil", 0.5, 0.3),
        replace(second_return(), relative_sd=0.3),
        SetInput(q(70000, "btu_it/hour"), 0.05),
        ScaleInput(0.9, 0.05),
    ):
        assert len(apply(SYSTEM, [change]).siblings) == len(SYSTEM.siblings) + 1


def test_the_chance_of_a_trip_follows_the_margin() -> None:
    found = predict(SYSTEM)
    assert found.trips
    z = found.limit_margin.si / found.limit_margin.sd_si
    assert found.trip_probability == pytest.approx(0.5 * math.erfc(z / math.sqrt(2)))
    mended = predict(apply(SYSTEM, [second_return(), DEEP]))
    assert not mended.trips
    assert mended.trip_probability < 0.01
    assert mended.broken == ("static pressure",)


def test_beyond_the_fan_table_is_said() -> None:
    assert not predict(SYSTEM).beyond_table
    assert predict(apply(SYSTEM, [ScalePart("filter", 4.0)])).beyond_table


def test_arrays_of_variants_go_through_at_once() -> None:
    times = np.linspace(0.2, 4, 30)
    alone = replace(SYSTEM, siblings=())
    many = told_by(replace(alone, path=alone.path.scaled({"filter": times})))
    one = told_by(apply(alone, [ScalePart("filter", float(times[17]))]))
    assert many["limit margin"][17] == pytest.approx(one["limit margin"], rel=1e-8)
    assert many["static"][17] == pytest.approx(one["static"], rel=1e-8)
    assert np.all(np.diff(many["rise"]) > 0)
