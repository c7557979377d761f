"""One change, return sizing, gas check and room air: what each says and draws."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import sample
from drawing import Drawing, read

from causebook.quantity import q
from causebook.workup import Workup
from causebook.writeup.charts import Chart, Missing, gas, onechange, returns, rooms


def spans(drawing: Drawing, *style: str) -> list[tuple[float, float]]:
    """Width and height of the four-cornered marks with this style."""
    return [
        (
            max(x for x, _ in m.points) - min(x for x, _ in m.points),
            max(y for _, y in m.points) - min(y for _, y in m.points),
        )
        for m in drawing.lines(*style)
        if len(m.points) in (4, 5)
    ]


def made(result: Chart | Missing) -> tuple[Chart, Drawing, Drawing]:
    assert isinstance(result, Chart)
    return result, read(result.svg_wide), read(result.svg_narrow)


# ---------------------------------------------------------------- one change at a time


def test_says_what_each_change_did_to_the_rise() -> None:
    chart, _, _ = made(onechange.chart(sample.workup()))
    assert chart.sentence == (
        "Filter removed, 64.3 °F, above 60; filter removed, return opened, 52.1 °F, in range. "
        "Calculated, only “new return, ordinary clean filter” brings the rise into range."
    )


def test_measured_comes_before_calculated_on_one_axis() -> None:
    chart, wide, narrow = made(onechange.chart(sample.workup()))
    assert [row[4] for row in chart.table[1:]] == ["measured"] * 4 + ["calculated"] * 4
    for drawing in (wide, narrow):
        assert drawing.word("measured").y < drawing.word("calculated").y
    # further right is hotter, whether measured or calculated
    places = [(wide.word(v).x, float(v)) for v in ("64.3", "52.1", "54.9", "68.0", "61.3", "56.1")]
    assert [v for _, v in sorted(places)] == sorted(v for _, v in places)


def test_first_change_into_range_is_the_point() -> None:
    _, wide, _ = made(onechange.chart(sample.workup()))
    assert [w.words for w in wide.words if w.accent] == ["52.1"]
    assert wide.word("filter removed, return opened").bold


def test_conditions_in_which_the_limit_opens_say_so() -> None:
    _, wide, _ = made(onechange.chart(sample.workup()))
    assert [w.words for w in wide.words if "limit opens" in w.words] == ["74.6, limit opens", "74.5, limit opens"]


def test_when_nothing_helps_it_says_none() -> None:
    base = sample.workup()
    poor = tuple(replace(w, rise=sample.rise(70)) for w in base.verdict.what_ifs)
    sets = tuple(s for s in base.survey.sets if s.phase == "found")
    chart, wide, _ = made(
        onechange.chart(
            replace(base, survey=replace(base.survey, sets=sets), verdict=replace(base.verdict, what_ifs=poor))
        )
    )
    assert chart.sentence == "Calculated, none of 3 changes brings the rise into range."
    assert not [w for w in wide.words if w.accent]


# ---------------------------------------------------------------- return sizing


def test_says_by_how_much_the_return_is_short() -> None:
    chart, _, _ = made(returns.chart(sample.workup()))
    assert chart.sentence == (
        "The return has 96 in² where 1,008 cfm needs 207 and the code asks for 112 at least: "
        "short by 111 in², closed by 12 in. round duct with an 18 × 20 in. grille."
    )


def test_bars_are_on_one_scale_of_area() -> None:
    for drawing in made(returns.chart(sample.workup()))[1:]:
        found = spans(drawing, "fill: var(--cb-ink)")[0][0]
        floor = spans(drawing, "fill: url(#")[0][0]
        needed = max(w for w, h in spans(drawing, "stroke: var(--cb-ink)") if h == pytest.approx(20))
        assert [floor / found, needed / found] == pytest.approx([112 / 96, 207 / 96], rel=0.01)


def test_openings_are_drawn_to_one_scale_of_length() -> None:
    for drawing in made(returns.chart(sample.workup()))[1:]:
        found = spans(drawing, "fill: var(--cb-ink)")[-1]
        grille = spans(drawing, "fill: var(--cb-paper)", "stroke: var(--cb-ink)")[-1]
        circle = next(m for m in drawing.lines("fill: var(--cb-paper)") if len(m.points) > 4)
        radius = (max(x for x, _ in circle.points) - min(x for x, _ in circle.points)) / 2
        scale = found[0] / 12
        assert found[1] / scale == pytest.approx(8, rel=0.01)
        assert [s / scale for s in grille] == pytest.approx([18, 20], rel=0.01)
        assert math.pi * (radius / scale) ** 2 == pytest.approx(math.pi / 4 * 12**2, rel=0.02)


def test_the_speed_in_the_return_is_said_to_be_that_of_the_airflow_wanted() -> None:
    chart, wide, narrow = made(returns.chart(sample.workup()))
    for drawing in (wide, narrow):
        assert drawing.says("air at 1,042 fpm if it carried 1,008 cfm")
    assert chart.table[1][2] == "air at 1,042 fpm if it carried 1,008 cfm"


def test_return_not_measured_is_said_and_not_drawn_as_zero() -> None:
    base = sample.workup()
    size = replace(base.return_size, found=None, velocity_found=None)
    chart, wide, _ = made(returns.chart(replace(base, return_size=size)))
    assert "was not measured" in chart.sentence and wide.says("not measured")
    assert not wide.says("short by")


def test_enough_return_is_not_called_short() -> None:
    base = sample.workup()
    chart, wide, _ = made(returns.chart(replace(base, return_size=replace(base.return_size, found=q(240, "inch**2")))))
    assert "short" not in chart.sentence and not wide.lines("--cb-accent")


# ---------------------------------------------------------------- gas check


def test_clocked_input_is_set_against_the_plate() -> None:
    chart, wide, _ = made(gas.chart(sample.workup()))
    assert chart.sentence.startswith("Clocked 70,025 Btu/h, 100 % of the 70,000 it should be.")
    assert "1,030 Btu/ft³" in chart.caption_note
    clocked, plate = spans(wide, "fill: var(--cb-ink)")[0][0], spans(wide, "fill: url(#")[0][0]
    assert clocked / plate == pytest.approx(70025 / 70000, rel=0.01)
    assert not wide.lines("--cb-accent")


def test_altitude_has_its_own_bar_and_is_what_counts() -> None:
    chart, wide, narrow = made(gas.chart(sample.bent_flame()))
    assert chart.sentence.startswith("Clocked 70,025 Btu/h, 114 % of the 61,600 it should be.")
    for drawing in (wide, narrow):
        assert drawing.says("plate at this altitude")
        assert len(drawing.lines("fill: url(#")) == 2


def test_flue_readings_move_as_arrows_when_the_blower_starts() -> None:
    chart, wide, _ = made(gas.chart(sample.bent_flame()))
    assert chart.sentence.endswith(
        "At blower start: CO in flue 18 ppm before and 160 after, oxygen in flue 8.0 % before and 11.5 after."
    )
    assert wide.word("18 → 160 ppm").accent
    assert not made(gas.chart(sample.workup()))[1].word("18 → 17 ppm").accent


def test_void_flue_readings_are_not_drawn() -> None:
    base = sample.workup()
    void = {
        k: t.model_copy(update={"void": "probe fell out"}) if "blower" in k else t
        for k, t in base.survey.sets[0].readings.items()
    }
    found = replace(base.survey.sets[0], readings=void)
    chart, _, _ = made(gas.chart(sample.with_sets(base, found, *base.survey.sets[1:])))
    assert "blower start" not in chart.sentence


# ---------------------------------------------------------------- room air


def test_room_is_told_with_door_open_and_shut() -> None:
    chart, wide, narrow = made(rooms.chart(sample.cold_room()))
    assert chart.sentence == (
        "As found 50 cfm door shut and 68 cfm door open of a share of 112; after repair 110 cfm "
        "door shut and 116 cfm door open."
    )
    assert chart.table[2] == ("run straightened", "92", "115", "7.5")
    for drawing in (wide, narrow):
        bars = [w for w, h in spans(drawing, "fill: var(--cb-") if 17 < h < 21]
        assert [b / bars[0] for b in bars] == pytest.approx([1, 92 / 50, 110 / 50], rel=0.01)


def test_no_room_read_no_bars(workup: Workup) -> None:
    missing = rooms.chart(workup)
    assert isinstance(missing, Missing) and missing.why == "not drawn: no room's airflow was read"


def test_openings_that_do_not_fit_side_by_side_go_to_a_second_row() -> None:
    base = sample.workup()
    ways = ("14 in. round with a 20 × 25 in. grille and a 16 × 25 in. grille",)
    _, wide, narrow = made(returns.chart(replace(base, return_size=replace(base.return_size, closes_gap=ways))))
    assert len({w.y for w in wide.words if w.words == "to add:"}) == 1
    assert len({w.y for w in narrow.words if w.words == "to add:"}) == 2
    assert max(w.right for w in narrow.words) <= narrow.width


def test_small_shortage_is_written_inside_the_sheet() -> None:
    base = sample.workup()
    _, wide, narrow = made(returns.chart(replace(base, return_size=replace(base.return_size, found=q(203, "inch**2")))))
    for drawing in (wide, narrow):
        assert drawing.word("203 in², short by 4").right <= drawing.width
