"""What readings mean: airflow by each method, drops, static on its boundary, limit, findings, and what is struck."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from causebook import quantity as qty
from causebook.survey import survey
from causebook.survey.heat import rise_at_trip
from causebook.survey.model import FindingState, State
from causebook.survey.special_rules import RULES
from causebook.workup import work_up
from survey.small import KNOWN, case, step

TAPS = {
    "tap-before-filter": "-0.10 inH2O",
    "tap-after-filter": "-0.30 inH2O",
    "tap-before-coil": "0.30 inH2O",
    "tap-after-coil": "0.10 inH2O",
}
HEAT = {"supply-air": "120 degF", "return-air": "70 degF", "meter-time": "45 s"}


def found(read: dict[str, str], **more: object) -> FindingState | None:
    """The state of one finding after one step of readings."""
    name = str(more.pop("finding"))
    return survey(case([step(1, read, **more)]), KNOWN).finding(name)


def test_airflow_by_rise_is_the_textbook_relation() -> None:
    # 80,000 Btu/h × 0.80 / (1.08 × 50 °F) = 1185 cfm: common practice form of the sensible-heat equation, ASHRAE
    # Handbook—Fundamentals, chapter 1; ours takes the factor of 70 °F air at 30 % humidity, 1.0796.
    one = survey(case([step(1, HEAT)]), KNOWN).found
    assert one is not None and one.best_airflow is not None
    by_rise = one.airflow[0]
    assert by_rise.method == "rise and clocked input"
    assert qty.us(by_rise.value, qty.AIRFLOW) == pytest.approx(1185, rel=0.004)
    # 2 % heating value and 1 % of timing, 2.5 % efficiency, 1.4 of 50 °F: about 4 to 6 % together.
    assert 0.03 < qty.us(by_rise.sd, qty.AIRFLOW) / qty.us(by_rise.value, qty.AIRFLOW) < 0.08


@pytest.mark.parametrize("back", ["205 degF", "211 degF"])
def test_an_absurd_return_is_surveyed_and_not_stumbled_over(back: str) -> None:
    """The water in the air is that of the rooms, whatever was typed for the return."""
    told = survey(case([step(1, {**HEAT, "return-air": back})]), KNOWN)
    usual = survey(case([step(1, HEAT)]), KNOWN)
    assert qty.us(told.air.humidity_ratio, qty.HUMIDITY_RATIO) == pytest.approx(
        qty.us(usual.air.humidity_ratio, qty.HUMIDITY_RATIO)
    )


def test_supply_below_return_at_a_trip_is_no_rise() -> None:
    readings = case([step(1, {"supply-air-at-trip": "64 degF", "return-air": "68 degF"})]).steps[0].readings
    assert rise_at_trip({t.reading: t for t in readings}, "", KNOWN) is None


def test_input_by_the_clock_is_exact() -> None:
    # 1 ft³ in 45 s at 1000 Btu/ft³ is 80,000 Btu/h by arithmetic.
    one = survey(case([step(1, HEAT)]), KNOWN).found
    assert one is not None and one.input is not None
    assert qty.us(one.input.value, qty.HEAT_RATE) == pytest.approx(80_000, rel=1e-9)


def test_an_input_worked_out_by_the_author_counts_where_nothing_was_timed() -> None:
    stated = {"supply-air": "120 degF", "return-air": "70 degF", "clocked-input": "108000 Btu/h"}
    one = survey(case([step(1, stated)]), KNOWN)
    assert one.found is not None and one.found.input is not None
    assert qty.us(one.found.input.value, qty.HEAT_RATE) == pytest.approx(108_000)
    assert qty.us(one.found.input.sd, qty.HEAT_RATE) == pytest.approx(0.025 * 108_000)
    assert one.found.airflow[0].method == "rise and clocked input"
    high = one.finding("input-high")
    assert high is not None and high.probability > 0.99 and "135 % of the plate" in high.because
    timed = survey(case([step(1, HEAT | stated)]), KNOWN).found
    assert timed is not None and timed.input is not None and timed.input.readings == ("meter-time",)


def test_two_methods_that_agree_are_combined_and_narrower() -> None:
    one = survey(case([step(1, {**HEAT, **TAPS})]), KNOWN).found
    assert one is not None and one.agree is True and one.best_airflow is not None
    assert all(qty.si(one.best_airflow.sd, qty.AIRFLOW) < qty.si(f.sd, qty.AIRFLOW) for f in one.airflow)


def test_methods_that_disagree_are_not_averaged() -> None:
    one = survey(case([step(1, {**HEAT, **TAPS, "supply-air": "150 degF"})]), KNOWN).found
    assert one is not None and one.agree is False
    assert one.best_airflow is one.airflow[0]


def test_a_measured_airflow_goes_before_a_fan_table_that_disagrees() -> None:
    one = survey(case([step(1, {**TAPS, "flow-grid-airflow": "730 cfm"})]), KNOWN).found
    assert one is not None and one.agree is False and one.best_airflow is not None
    assert qty.us(one.best_airflow.value, qty.AIRFLOW) == pytest.approx(730)


def test_drops_add_up_to_the_static() -> None:
    one = survey(case([step(1, TAPS)]), KNOWN).found
    assert one is not None and one.static is not None
    drops = {d.part: qty.us(d.value, qty.AIR_PRESSURE) for d in one.drops}
    assert drops == pytest.approx({"return": 0.10, "filter": 0.20, "coil": 0.20, "supply": 0.10})
    # The boundary runs from after the filter to before the coil: all four parts, as the signs say (trap of signs).
    assert qty.us(one.static.value, qty.AIR_PRESSURE) == pytest.approx(sum(drops.values()))


@pytest.mark.parametrize(
    ("counted", "static"),
    [(["return", "coil", "supply"], 0.40), (["return", "filter", "supply"], 0.40), (["return", "supply"], 0.20)],
)
def test_static_follows_the_boundary_of_the_plate(counted: list[str], static: float) -> None:
    one = survey(case([step(1, TAPS)], plate={"counted as external": counted}), KNOWN).found
    assert one is not None and one.static is not None
    assert qty.us(one.static.value, qty.AIR_PRESSURE) == pytest.approx(static)


def test_without_a_boundary_static_is_not_compared() -> None:
    one = survey(case([step(1, TAPS)], plate={"counted as external": None}), KNOWN)
    assert one.found is not None and one.found.static is None and "boundary" in one.found.static_note
    assert one.finding("static-high") is None


def test_a_missing_tap_is_said_and_its_finding_not_looked_for() -> None:
    read = {k: v for k, v in TAPS.items() if k != "tap-before-coil"}
    one = survey(case([step(1, read)]), KNOWN)
    assert one.found is not None and "not possible without" in one.found.static_note
    assert one.finding("coil-drop-high") is None and one.finding("filter-drop-high") is not None


@pytest.mark.parametrize(("rise", "state"), [("55", State.ABSENT), ("66", State.UNCLEAR), ("80", State.PRESENT)])
def test_uncertainty_decides_out_of_range(rise: str, state: State) -> None:
    judged = found({"supply-air": f"{70 + int(rise)} degF", "return-air": "70 degF"}, finding="rise-high")
    assert judged is not None and judged.state is state


def test_a_rise_at_the_trip_is_a_lower_bound() -> None:
    # 63 °F at the trip is under the plate's 65, but the steady rise behind it is above.
    read = {"supply-air-at-trip": "133 degF", "return-air": "70 degF"}
    surveyed = survey(case([step(1, read)]), KNOWN)
    high, ok = surveyed.finding("rise-high"), surveyed.finding("rise-ok-at-trip")
    assert high is not None and high.probability > 0.5
    assert ok is not None and ok.state is not State.ABSENT
    assert surveyed.found is None or surveyed.found.rise is None


def test_readings_through_ice_are_kept_and_not_used() -> None:
    surveyed = survey(case([step(1, TAPS, {"ice-on-coil": "yes"})], family="low-cool-air"), KNOWN)
    assert {v.taken.reading for v in surveyed.voided} == set(TAPS) and all(v.why for v in surveyed.voided)
    assert surveyed.finding("static-high") is None


def test_a_changed_state_is_a_set_of_its_own() -> None:
    surveyed = survey(
        case(
            [
                step(1, HEAT),
                step(2, {"supply-air": "108 degF", "return-air": "70 degF"}, **{"with": {"filter": "removed"}}),
            ]
        ),
        KNOWN,
    )
    assert [s.name for s in surveyed.sets] == ["as found", "changed: filter removed"]
    helps = surveyed.finding("filter-out-rise-falls")
    assert helps is not None and helps.state is State.PRESENT and "12.0 °F" in helps.because


def test_seen_speaks_where_nothing_was_read_and_readings_go_before_the_eye() -> None:
    eye = survey(case([step(1, seen={"filter-drop-high": "yes"})]), KNOWN).finding("filter-drop-high")
    both = survey(
        case([step(1, {**TAPS, "tap-after-filter": "-0.13 inH2O"}, {"filter-drop-high": "yes"})]), KNOWN
    ).finding("filter-drop-high")
    assert eye is not None and eye.state is State.PRESENT and not eye.readings
    assert both is not None and both.state is State.ABSENT and both.readings


def test_what_was_not_looked_for_is_not_absent() -> None:
    surveyed = survey(case([step(1, {"co-indoors": "0 ppm"})]), KNOWN)
    assert surveyed.finding("wheel-dirty") is None and surveyed.finding("rise-high") is None


def test_upto_sees_no_later_step() -> None:
    whole = case([step(1, HEAT), step(2, TAPS)])
    assert survey(whole, KNOWN, 1).finding("static-high") is None
    assert survey(whole, KNOWN, 2).finding("static-high") is not None


def test_limit_is_doing_its_duty_when_the_air_is_hot() -> None:
    hot = survey(
        case([step(1, {"supply-air": "180 degF", "return-air": "70 degF", "limit-opened-at": "198 degF"})]), KNOWN
    ).limit
    assert hot is not None and hot.overheating > 0.9 and "doing its duty" in hot.verdict


def test_limit_that_opens_low_is_weak() -> None:
    weak = survey(
        case([step(1, {"supply-air": "120 degF", "return-air": "70 degF", "limit-opened-at": "160 degF"})]), KNOWN
    ).limit
    assert weak is not None and weak.overheating < 0.1 and "weak" in weak.verdict


def test_two_open_switches_read_near_zero_and_are_not_called_closed() -> None:
    # With two devices open each reads next to nothing across: published trap of hopscotching a string.
    volts = {"volts-across-limit": "0.3 V", "volts-across-rollout-switch": "0.3 V"}
    limit = survey(case([step(1, volts)]), KNOWN).limit
    assert limit is not None and "cannot tell" in limit.switch and "closed:" not in limit.switch


def test_infrared_on_bare_metal_hides_tens_of_degrees() -> None:
    # Grey-body radiation, first principles: at emissivity 0.28 a reading of 96 °F in a 70 °F room belongs to metal
    # far above it.
    struck = case([step(1, {"infrared-on-plenum": "96 degF"})])
    struck = struck.model_copy(
        update={
            "steps": (
                struck.steps[0].model_copy(
                    update={
                        "readings": tuple(t.model_copy(update={"void": "bare metal"}) for t in struck.steps[0].readings)
                    }
                ),
            )
        }
    )
    note = survey(struck, KNOWN).limit
    assert note is not None and "a skin is not the air" in note.surface
    shown = float(note.surface.partition("may have been near ")[2].split(" ")[0])
    assert 130 < shown < 170


def test_every_computed_finding_has_its_rule_and_every_rule_its_finding() -> None:
    assert {f.computed for f in KNOWN.findings.values() if f.computed} == set(RULES)


@settings(max_examples=40, deadline=None)
@given(st.floats(30, 100), st.floats(30, 90))
def test_more_rise_never_means_more_air(rise: float, other: float) -> None:
    def flow(r: float) -> float:
        read = {"supply-air": f"{70 + r:.2f} degF", "return-air": "70 degF", "meter-time": "45 s"}
        one = survey(case([step(1, read)], table=None), KNOWN).found
        assert one is not None and one.best_airflow is not None
        return qty.us(one.best_airflow.value, qty.AIRFLOW)

    low, high = sorted((rise, other))
    assert flow(high) <= flow(low) + 1e-6


@pytest.mark.parametrize(
    ("plate", "of"),
    [({}, "clocked 118 % of the plate"), ({"adjusted input": "68000 Btu/h"}, "clocked 139 % of the plate")],
)
def test_input_is_held_against_the_plate_as_it_counts_at_this_altitude(plate: dict[str, str], of: str) -> None:
    one = survey(case([step(1, {"meter-time": "38.14 s"})], plate=plate), KNOWN)
    said = one.finding("input-high")
    assert said is not None and of in said.because


@pytest.mark.parametrize(
    ("at", "low", "closed", "good"),
    [
        ("150 degF", State.PRESENT, State.ABSENT, False),
        ("185 degF", State.UNCLEAR, State.ABSENT, False),
        ("200 degF", State.ABSENT, State.ABSENT, True),
        ("215 degF", State.ABSENT, State.UNCLEAR, False),
        ("260 degF", State.ABSENT, State.PRESENT, False),
    ],
)
def test_a_limit_is_judged_on_both_sides_of_its_marking(at: str, low: State, closed: State, good: bool) -> None:
    """Marked 200 °F: opening 60 °F above it protects nobody and is a stop, not a proof."""
    work = work_up(case([step(1, {"limit-opened-at": at})]), KNOWN)
    states = [work.survey.finding(f) for f in ("limit-opens-low", "limit-stays-closed-hot")]
    assert [s and s.state for s in states] == [low, closed]
    assert any(p.startswith("limit:") for p in work.verdict.proven_good) is good
    assert any(s.id == "limit-does-not-protect" for s in work.stops) is (closed is State.PRESENT)


def test_a_face_far_over_the_marking_in_steady_fire_is_that_of_a_closed_limit() -> None:
    for face, closed in (("235 degF", State.PRESENT), ("180 degF", None)):
        judged = found({"limit-face": face}, finding="limit-stays-closed-hot")
        assert (judged and judged.state) == closed


@pytest.mark.parametrize(
    ("read", "seen", "said"),
    [
        # No opening seen, remembered or tried: nothing to judge, however cool or hot the air.
        ({"supply-air": "115 degF", "return-air": "70 degF"}, {"limit-opened-while-watched": "no"}, None),
        ({"co-in-flue": "12 ppm"}, {}, None),
        # Remembered, and nothing read that could tell.
        ({}, {"limit-fault-stored": "yes"}, "Nothing read at the opening says"),
        ({"supply-air": "115 degF", "return-air": "70 degF"}, {"limit-fault-stored": "yes"}, "does not explain"),
        # A rise above the plate's 65 at the trip is hot, though its body is only worked out to be near the marking.
        ({"supply-air-at-trip": "143 degF", "return-air": "70 degF"}, {}, "heat explains it"),
        ({}, {"limit-opened-while-watched": "yes", "no-volts-at-blower-lead": "yes"}, "No air moved"),
        (
            {"supply-air": "115 degF", "return-air": "70 degF", "limit-opened-at": "198 degF"},
            {"limit-fault-stored": "yes"},
            "good. Limit opens near its marking (198 °F, marked 200 °F). The air does not explain",
        ),
        ({"limit-opened-at": "214 degF"}, {}, "neither proven good nor bad"),
    ],
)
def test_the_verdict_on_an_opening_rests_on_an_opening(
    read: dict[str, str], seen: dict[str, str], said: str | None
) -> None:
    limit = survey(case([step(1, read, seen)]), KNOWN).limit
    assert limit is not None and (limit.verdict == "" if said is None else said in limit.verdict), limit.verdict
    assert limit.overheating is None or "supply-air" in read or "supply-air-at-trip" in read


# Both sides of an "or" of the trade: 0.20 in. w.c. or 40 % of external static for a duct, 0.20 (filter) and 0.30 (coil)
# or half as much again as the label.  Common practice, no source.
LABEL = {"clean drop": "0.06 inH2O", "at": "1000 cfm"}


@pytest.mark.parametrize(
    ("finding", "taps", "more", "state", "said"),
    [
        (
            "return-drop-high",
            ("-0.17", "-0.20", "0.10", "0.05"),
            {},
            State.PRESENT,
            "too high; normal here is up to 0.12",
        ),
        ("return-drop-high", ("-0.10", "-0.20", "0.20", "0.10"), {}, State.ABSENT, "normal (up to 0.16"),
        ("return-drop-high", ("-0.17", "-0.30", "0.30", "0.10"), {}, State.ABSENT, "normal (up to 0.20"),
        (
            "supply-drop-high",
            ("-0.03", "-0.06", "0.20", "0.17"),
            {},
            State.PRESENT,
            "too high; normal here is up to 0.10",
        ),
        (
            "filter-drop-high",
            ("-0.05", "-0.22", "0.20", "0.10"),
            {"filter": {"kind": "pleated", **LABEL}},
            State.PRESENT,
            "too high; ",
        ),
        ("filter-drop-high", ("-0.05", "-0.22", "0.20", "0.10"), {}, State.ABSENT, "normal (up to 0.20"),
        (
            "coil-drop-high",
            ("-0.05", "-0.10", "0.30", "0.10"),
            {"coil": {"cooling": "3 ton", **LABEL}},
            State.PRESENT,
            "too high; ",
        ),
    ],
)
def test_a_drop_is_high_by_either_of_its_limits(
    finding: str, taps: tuple[str, ...], more: dict[str, object], state: State, said: str
) -> None:
    read = {**HEAT, **{name: f"{value} inH2O" for name, value in zip(TAPS, taps, strict=True)}}
    judged = survey(case([step(1, read)], **more), KNOWN).finding(finding)
    assert judged is not None and judged.state is state and said in judged.because, judged


@pytest.mark.parametrize(
    ("before", "after", "state"),
    [("0.3 µA", "2.6 µA", State.PRESENT), ("0.3 µA", "0.5 µA", State.ABSENT), ("4.0 µA", "4.0 µA", None)],
)
def test_only_a_low_flame_current_can_come_back(before: str, after: str, state: State | None) -> None:
    cleaned = step(2, {"flame-current": after}, **{"with": {"flame rod": "cleaned"}})
    judged = survey(case([step(1, {"flame-current": before}), cleaned], family="flame-lost"), KNOWN).finding(
        "flame-current-restored"
    )
    assert (judged and judged.state) == state


@pytest.mark.parametrize(
    ("finding", "read", "state"),
    [
        ("igniter-open-circuit", {"igniter-resistance": "48 ohm"}, State.ABSENT),
        ("igniter-open-circuit", {"igniter-resistance": "2 Mohm"}, State.PRESENT),
        ("igniter-not-fed", {"igniter-volts": "0 V"}, State.PRESENT),
        ("igniter-not-fed", {"igniter-volts": "119 V"}, State.ABSENT),
        ("no-call-at-board", {"call-volts": "0.2 V"}, State.PRESENT),
        ("no-call-at-board", {"call-volts": "25.8 V"}, State.ABSENT),
        ("no-line-volts", {"line-volts": "0 V"}, State.PRESENT),
        ("no-line-volts", {"line-volts": "121 V"}, State.ABSENT),
        ("no-volts-at-blower-lead", {"volts-at-blower-lead": "8 V"}, State.PRESENT),
        ("no-volts-at-blower-lead", {"volts-at-blower-lead": "121 V"}, State.ABSENT),
        ("volts-low-at-motor", {"volts-at-motor": "98 V"}, State.PRESENT),
        ("volts-low-at-motor", {"volts-at-motor": "106 V", "line-volts": "122 V"}, State.PRESENT),
        ("volts-low-at-motor", {"volts-at-motor": "117 V", "line-volts": "122 V"}, State.ABSENT),
        ("inducer-slow", {"inducer-volts": "60 V"}, State.ABSENT),
        ("inducer-slow", {"inducer-volts": "119 V"}, None),
        (
            "valve-commanded-no-gas",
            {"volts-at-gas-valve": "25 V", "manifold": "0.0 inH2O", "gas-inlet": "7 inH2O"},
            State.PRESENT,
        ),
        (
            "valve-commanded-no-gas",
            {"volts-at-gas-valve": "25 V", "manifold": "0.0 inH2O", "gas-inlet": "0 inH2O"},
            State.ABSENT,
        ),
        (
            "valve-commanded-no-gas",
            {"volts-at-gas-valve": "0 V", "manifold": "0.0 inH2O", "gas-inlet": "7 inH2O"},
            State.ABSENT,
        ),
        ("valve-commanded-no-gas", {"volts-at-gas-valve": "25 V", "manifold": "3.5 inH2O"}, State.ABSENT),
        ("valve-commanded-no-gas", {"volts-at-gas-valve": "25 V", "manifold": "0.0 inH2O"}, None),
    ],
)
def test_what_a_meter_shows_of_power_and_ignition(finding: str, read: dict[str, str], state: State | None) -> None:
    judged = found(read, finding=finding)
    assert (judged and judged.state) == state, judged


def test_a_crack_that_was_seen_stands_though_the_igniter_reads_whole() -> None:
    judged = survey(case([step(1, {"igniter-resistance": "48 ohm"}, {"igniter-open-circuit": "yes"})]), KNOWN).finding(
        "igniter-open-circuit"
    )
    assert judged is not None and judged.state is State.PRESENT
