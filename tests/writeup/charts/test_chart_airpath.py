"""The air-path profile: values, order, the broken stair, and what it says."""

from __future__ import annotations

from dataclasses import replace

import pytest
import sample
from drawing import Drawing, read
from worked import demo

from causebook.quantity import us
from causebook.workup import Workup
from causebook.writeup.charts import Chart, Missing, airpath


def drawn(workup: Workup) -> tuple[Chart, Drawing, Drawing]:
    chart = airpath.chart(workup)
    assert isinstance(chart, Chart)
    return chart, read(chart.svg_wide), read(chart.svg_narrow)


def test_says_which_parts_take_most_and_at_what_airflow() -> None:
    # 0.37 + 0.33 of 0.37 + 0.33 + 0.11 + 0.15, and 0.10 + 0.08 of 0.66 after the repair
    chart, _, _ = drawn(sample.workup())
    assert chart.sentence == (
        "The return and filter take 0.70 of 0.96 in. w.c. at 695 cfm; after the repair 0.18 of 0.66 at 945 cfm."
    )


def test_one_part_that_takes_half_is_named_alone() -> None:
    chart, wide, _ = drawn(sample.coil_matted())
    assert chart.sentence.startswith("The coil takes 0.83 of 1.02 in. w.c.")
    assert [w.words for w in wide.words if w.accent] == ["Coil"]


def test_shares_add_up_to_the_whole() -> None:
    chart, _, _ = drawn(sample.workup())
    shares = [int(row[2].removesuffix(" %")) for row in chart.table[1:] if row[2]]
    assert len(shares) == 4 and sum(shares) == pytest.approx(100, abs=2)


def test_parts_stand_in_the_order_air_meets_them() -> None:
    _, wide, narrow = drawn(sample.workup())
    names = ["Return", "Filter", "Blower", "Coil", "Supply"]
    places = [wide.word(n).x for n in names]
    assert places == sorted(places)
    down = [narrow.word(n).y for n in names if n != "Blower"]
    assert down == sorted(down)


def test_stair_goes_through_the_readings_to_scale() -> None:
    _, wide, _ = drawn(sample.workup())
    stair = next(m for m in wide.lines("stroke-width: 2.5", "--cb-ink") if len(m.points) == 12)
    ys = [y for _, y in stair.points]
    zero = ys[0]
    scale = (ys[2] - zero) / 0.37  # px for each in. w.c.
    treads = [(zero - y) / scale for y in ys[::2]]
    assert treads == pytest.approx([0.0, -0.37, -0.70, 0.26, 0.15, 0.0], abs=0.005)
    xs = [x for x, _ in stair.points]
    assert xs == sorted(xs)


def test_after_the_repair_is_dashed_and_named_with_its_airflow() -> None:
    for drawing in drawn(sample.workup())[1:]:
        assert any(len(m.points) == 12 for m in drawing.lines("stroke-dasharray"))
        assert drawing.says("as found 695 cfm") and drawing.says("after repair 945 cfm")


def test_missing_tap_breaks_the_stair_and_is_never_bridged() -> None:
    chart, wide, narrow = drawn(sample.without_tap_before_coil())
    solid = [m for m in wide.lines("stroke-width: 2.5", "--cb-ink")]
    assert [len(m.points) for m in solid] == [6, 4]  # room to tap 3, tap 6 to room
    assert max(x for x, _ in solid[0].points) < min(x for x, _ in solid[1].points)
    for drawing in (wide, narrow):
        assert drawing.says("not measured")
        assert not drawing.lines("--cb-accent")  # no share is known, so no part is the point
    assert chart.sentence == (
        "The drop of the coil was not measured. The return takes 0.37, the filter takes 0.33 and "
        "the supply takes 0.15 in. w.c."
    )
    coil = next(row for row in chart.table if row[0] == "drop of coil")
    assert coil[1:] == ("not measured", "", "0.20")


def test_two_parts_around_a_missing_tap_are_known_together() -> None:
    base = sample.workup()
    found = replace(base.survey.sets[0], taps=sample.taps(None, -0.70, 0.26, 0.15))
    workup = sample.with_sets(base, found, *base.survey.sets[1:])
    for drawing in drawn(workup)[1:]:
        assert drawing.says("(0.70 together)")


def test_usual_drop_is_hatched_beside_each_part() -> None:
    _, wide, _ = drawn(sample.workup())
    blocks = wide.lines("fill: url(#")
    assert len(blocks) == 4
    stair = next(m for m in wide.lines("stroke-width: 2.5", "--cb-ink") if len(m.points) == 12)
    scale = (stair.points[2][1] - stair.points[0][1]) / 0.37
    tall = [(max(y for _, y in b.points) - min(y for _, y in b.points)) / scale for b in blocks]
    assert tall == pytest.approx([0.20, 0.20, 0.30, 0.20], abs=0.01)


def test_furnace_without_a_coil_has_no_coil_tap() -> None:
    base = sample.workup()
    coil = base.case.file.coil.model_copy(update={"none": True})
    case = base.case.model_copy(update={"file": base.case.file.model_copy(update={"coil": coil})})
    sets = tuple(replace(s, taps=tuple(t for t in s.taps if t.number != 6)) for s in base.survey.sets)
    chart, wide, _ = drawn(sample.with_sets(replace(base, case=case), *sets))
    assert not any("coil" in row[0] for row in chart.table)
    assert not wide.says("not measured")


def test_taps_beyond_the_usual_ones_are_drawn_when_read() -> None:
    base = sample.workup()
    more = (
        sample.Tap(1, "behind grille", sample.inwc(-0.09)),
        *base.survey.sets[0].taps,
        sample.Tap(8, "behind register", sample.inwc(0.04)),
    )
    found = replace(base.survey.sets[0], taps=more)
    chart, wide, _ = drawn(sample.with_sets(base, found, *base.survey.sets[1:]))
    drops = {row[0]: row[1] for row in chart.table}
    assert drops["drop of return grille"] == "0.09" and drops["drop of return"] == "0.28"
    assert drops["drop of supply trunk"] == "0.11" and drops["drop of register"] == "0.04"
    assert wide.says("tap 8")


def test_at_one_airflow_every_drop_is_worked_over() -> None:
    chart = airpath.chart_at_one_airflow(sample.workup())
    assert isinstance(chart, Chart)
    # as found as read; after the repair 0.10 × (695 / 945)² = 0.054
    assert chart.sentence == (
        "At 695 cfm the return fell most, from 0.37 to 0.05 in. w.c.; the filter went from 0.33 "
        "to 0.04 and coil and supply stayed as they were."
    )
    for drawing in (read(chart.svg_wide), read(chart.svg_narrow)):
        assert drawing.says("as read at 695 cfm") and drawing.says("worked over to 695 cfm")
    assert "945" not in chart.sentence + (chart.caption_note or "")
    assert [w.words for w in read(chart.svg_wide).words if w.accent] == ["Return"]


def test_at_one_airflow_needs_every_part_twice() -> None:
    missing = airpath.chart_at_one_airflow(sample.without_tap_before_coil())
    assert isinstance(missing, Missing) and "every part" in missing.why


def with_drops(found: dict[str, float], flow: float) -> Workup:
    base = sample.workup()
    first = replace(
        base.survey.sets[0],
        drops=sample.drops(flow, flow, **found),
        best_airflow=sample.estimate(sample.cfm(flow), sample.cfm(30), sample.AIRFLOW, sample.Method.RISE_CLOCKED),
    )
    last = replace(
        base.survey.sets[-1],
        drops=sample.drops(flow, 945, **{d.part: us(d.value, sample.AIR_PRESSURE) for d in base.survey.sets[-1].drops}),
    )
    return sample.with_sets(base, first, *base.survey.sets[1:-1], last)


def test_same_path_with_other_air_is_called_that() -> None:
    share = (700 / 945) ** 2
    same = {"return": 0.10 * share, "filter": 0.08 * share, "coil": 0.20 * share, "supply": 0.28 * share}
    chart = airpath.chart_at_one_airflow(with_drops(same, 700))
    assert isinstance(chart, Chart)
    assert chart.sentence == ("At 700 cfm no part changed by more than 0.02 in. w.c.: the same path with other air.")
    assert not [w for w in read(chart.svg_wide).words if w.accent]


def test_same_airflow_before_and_after_is_not_drawn_twice() -> None:
    missing = airpath.chart_at_one_airflow(with_drops({"return": 0.1, "filter": 0.1, "coil": 0.2, "supply": 0.3}, 930))
    assert isinstance(missing, Missing) and "the same" in missing.why


def test_drops_are_not_compared_where_air_went_round_the_ducts() -> None:
    """The ducts then carried less air than the furnace moved, so that their drops cannot be set side by side."""
    missing = airpath.chart_at_one_airflow(demo("warm-return"))
    assert isinstance(missing, Missing) and "came straight back" in missing.why
