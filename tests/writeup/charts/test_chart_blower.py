"""Blower and duct: points, what is missing, and nothing beyond the table."""

from __future__ import annotations

from dataclasses import replace

import pytest
import sample
from drawing import Drawing, read
from worked import demo

from causebook.quantity import AIRFLOW, us
from causebook.workup import Workup
from causebook.writeup.charts import Chart, Missing, blower


def drawn(workup: Workup) -> tuple[Chart, Drawing, Drawing]:
    chart = blower.chart(workup)
    assert isinstance(chart, Chart)
    return chart, read(chart.svg_wide), read(chart.svg_narrow)


def test_sound_blower_is_told_from_a_tight_path() -> None:
    # the table between 0.9 (765) and 1.0 in. w.c. (665) gives 705 at 0.96
    chart, _, _ = drawn(sample.workup())
    assert chart.sentence == (
        "The blower does what its table says, 695 cfm against 705 at 0.96 in. w.c.; the path "
        "holds it below the 864 cfm the plate's rise needs; after the repair 945 cfm at 0.66."
    )


def test_each_point_is_held_against_its_own_setting_at_the_density_of_its_air() -> None:
    """The survey reads the table for the setting of each set; the chart tells the same figures."""
    for id_ in ("lowest-setting", "thin-air", "fading-suction"):
        workup = demo(id_)
        chart, _, _ = drawn(workup)
        for name, readings in (("as found", workup.survey.found), ("after repair", workup.survey.after)):
            by_table = [e for e in (readings.airflow if readings else ()) if e.method is sample.Method.FAN_TABLE]
            told = [row[1] for row in chart.table if row[0] == f"fan table at the static {name}"]
            assert told == [f"{us(e.value, AIRFLOW):,.0f}" for e in by_table], id_


def test_a_setting_too_low_is_not_blamed_on_the_path() -> None:
    sentence = drawn(demo("lowest-setting"))[0].sentence
    assert "the setting holds it below" in sentence and "the path" not in sentence


def test_point_off_the_fan_line_shows_the_missing_air() -> None:
    chart, wide, narrow = drawn(sample.off_the_fan_line())
    assert "695 of the 1,105 cfm" in chart.sentence and "missing at the blower" in chart.sentence
    for drawing in (wide, narrow):
        assert drawing.word("missing air: 410 cfm").accent


def test_point_on_the_fan_line_misses_nothing() -> None:
    assert not drawn(sample.workup())[1].says("missing air")


def test_fan_line_has_the_points_of_its_table_and_no_more() -> None:
    _, wide, _ = drawn(sample.workup())
    line = next(
        m
        for m in wide.lines("fill: none", "--cb-ink", "stroke-width: 2;") + wide.lines("stroke-width: 2")
        if len(m.points) == 10
    )
    assert len(sample.FAN.static) == 10
    xs = [x for x, _ in line.points]
    assert xs == sorted(xs, reverse=True)  # airflow falls as static rises


def test_blank_cells_of_the_table_are_left_out() -> None:
    base = sample.workup()
    column = (None, *sample.FAN.airflow[sample.SETTING][1:-1], None)
    table = sample.FanTable(static=sample.FAN.static, airflow={sample.SETTING: column})
    found = replace(base.survey.sets[0], airflow=base.survey.sets[0].airflow[:1])  # at 0.96 the table says nothing
    case = base.case.model_copy(update={"fan_table": table})
    chart, _, _ = drawn(sample.with_sets(replace(base, case=case), found, *base.survey.sets[1:]))
    assert sum(row[0].startswith("fan table, ") for row in chart.table) == 8
    assert chart.sentence.startswith("The blower moves 695 cfm at 0.96 in. w.c., which is beyond its table")


def test_duct_curve_passes_through_its_point_as_airflow_squared() -> None:
    _, wide, _ = drawn(sample.workup())
    curve = next(m for m in wide.lines("--cb-quiet", "stroke-dasharray") if len(m.points) == 24)
    ellipse_x = wide.word("after repair").right
    assert curve.points[0][0] < ellipse_x < curve.points[-1][0]


def test_plate_maximum_and_needed_air_are_marked() -> None:
    for drawing in drawn(sample.workup())[1:]:
        assert drawing.says("plate maximum 0.50")
        assert drawing.says("enough air: 864 to 1,152 cfm")
        assert len(drawing.lines("fill: url(#")) == 1


def test_table_states_uncertainty() -> None:
    chart, _, _ = drawn(sample.workup())
    assert chart.table[1] == ("as found", "695 ± 28", "0.96 ± 0.015")


def test_only_the_repair_can_be_drawn_when_a_tap_was_missing() -> None:
    chart, wide, _ = drawn(sample.without_tap_before_coil())
    assert chart.sentence.startswith("After the repair the blower does what its table says, 945 cfm against 944")
    assert not wide.says("as found")


@pytest.mark.parametrize(
    ("update", "why"),
    [
        ({"fan_table": None}, "not drawn: the case has no fan table"),
        (
            {"fan_table": sample.FanTable(static=(0.1, 0.2), airflow={"other": (900, 800)})},
            "not drawn: the fan table has no column for the blower's setting",
        ),
    ],
)
def test_says_why_it_is_not_drawn(update: dict[str, object], why: str) -> None:
    base = sample.workup()
    missing = blower.chart(replace(base, case=base.case.model_copy(update=update)))
    assert isinstance(missing, Missing) and missing.why == why


def test_says_which_tap_was_missing_when_no_static_is_known() -> None:
    base = sample.without_tap_before_coil()
    sets = tuple(s for s in base.survey.sets if s.phase != "after")
    missing = blower.chart(replace(base, survey=replace(base.survey, sets=sets)))
    assert isinstance(missing, Missing) and missing.why == "not drawn: no tap between furnace and coil"


def test_points_close_together_keep_their_names_apart() -> None:
    base = sample.workup()
    near = replace(
        base.survey.sets[0],
        static=base.survey.sets[3].static,
        best_airflow=sample.estimate(sample.cfm(960), sample.cfm(30), sample.AIRFLOW, sample.Method.RISE_CLOCKED),
    )
    chart, wide, narrow = drawn(sample.with_sets(base, near, *base.survey.sets[1:]))
    for drawing in (wide, narrow):
        found, after = drawing.word("as found"), drawing.word("after repair")
        apart = found.right < after.left or after.right < found.left or abs(found.y - after.y) > 2 * found.size
        assert apart
