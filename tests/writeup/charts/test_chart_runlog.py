"""Run log: trips, the limit's own scale, events, and equal scales before and after."""

from __future__ import annotations

from dataclasses import replace

import pytest
import sample
from drawing import Drawing, read

from causebook.workup import Workup
from causebook.writeup.charts import Chart, chain, runlog


def drawn(workup: Workup) -> tuple[Chart, Drawing, Drawing]:
    chart = runlog.chart(workup)
    assert isinstance(chart, Chart)
    return chart, read(chart.svg_wide), read(chart.svg_narrow)


def test_says_when_it_tripped_and_at_what_temperatures() -> None:
    # 520 s is 8:40; 67.0 + 74.6 = 141.6 is where the fit levels off
    chart, _, _ = drawn(sample.workup())
    assert chart.sentence == (
        "The limit opened 8:40 after the burner lit, with 137.1 °F supply air over 67.0 °F return; left alone the "
        "supply air was heading for 141.6 °F. After the repair it ran 20 minutes without a trip and levelled off at "
        "121.9 °F supply air."
    )


def test_trip_is_marked_with_time_and_temperatures() -> None:
    for drawing in drawn(sample.workup())[1:]:
        for words in ("trips at 8:40", "137.1 °F supply", "rise 70.1 °F"):
            assert drawing.word(words).bold


def cooling_at_the_trip(read_it: bool) -> Workup:
    """The log's first sample with the limit open stands after the peak; the step may have read the trip itself."""
    base = sample.workup()
    log = base.survey.logs[0]
    late = replace(log, trips=(540.0, *log.trips[1:]))
    steps = tuple(
        s if read_it or s.number != log.step else s.model_copy(update={"readings": ()}) for s in base.case.steps
    )
    return replace(
        base,
        case=base.case.model_copy(update={"steps": steps}),
        survey=replace(base.survey, logs=(late, *base.survey.logs[1:])),
    )


@pytest.mark.parametrize("read_it", [True, False])
def test_a_trip_is_marked_as_read_or_at_the_peak_before_it_and_not_while_it_cools(read_it: bool) -> None:
    workup = cooling_at_the_trip(read_it)
    chart, wide, _ = drawn(workup)
    assert chart.sentence.startswith("The limit opened 8:40 after the burner lit, with 137.1 °F supply air over 67.0")
    assert wide.says("trips at 8:40")
    assert ("8:40", "137.1") in [row[1:3] for row in chart.table if row[4] == "limit opened"]
    story = chain.chart(workup)
    assert isinstance(story, Chart) and "8:40 after lighting" in story.sentence


def test_what_the_step_read_at_the_trip_goes_before_the_log() -> None:
    base = sample.workup()
    off = {"time-to-trip": sample.q(513, "s"), "supply-air-at-trip": sample.degf(138.4)}
    steps = tuple(
        s.model_copy(
            update={"readings": tuple(t.model_copy(update={"value": off.get(t.reading, t.value)}) for t in s.readings)}
        )
        for s in base.case.steps
    )
    chart, _, _ = drawn(replace(base, case=base.case.model_copy(update={"steps": steps})))
    assert chart.sentence.startswith("The limit opened 8:33 after the burner lit, with 138.4 °F supply air over 67.0")


def test_limit_has_its_own_scale_and_says_it_is_not_air() -> None:
    for drawing in drawn(sample.workup())[1:]:
        band = drawing.lines("fill: url(#")
        assert len(band) == 2
        assert [w.words for w in drawing.words].count("limit body, not air") == 2
        marking, outlet = drawing.word("195 °F"), drawing.word("plate: air 160 °F at most")
        assert marking.y < outlet.y - 40  # a strip of its own, above the air's scale
        assert max(y for _, y in band[0].points) < outlet.y - 16


def test_where_it_was_heading_is_dotted() -> None:
    _, wide, _ = drawn(sample.workup())
    assert wide.says("heading for 141.6")
    assert any(len(m.points) > 20 for m in wide.lines("stroke-dasharray: 1.5"))


def test_both_runs_share_their_scales() -> None:
    _, wide, _ = drawn(sample.workup())
    supply = [m for m in wide.lines("stroke-width: 2.5") if len(m.points) > 20]
    assert len(supply) == 2
    spans = [(m.points[0], m.points[-1]) for m in supply]
    assert spans[0][0][1] == pytest.approx(spans[1][0][1])  # both start at 67 °F
    wide_found, wide_after = (end[0] - start[0] for start, end in spans)
    assert wide_found == pytest.approx(wide_after)
    # 110.2 °F found at 612 s stands lower on the sheet than 121.9 °F after
    assert max(y for _, y in supply[0].points[20:]) > spans[1][1][1]


def test_events_come_from_the_log_and_what_was_not_logged_is_said() -> None:
    _, wide, _ = drawn(sample.workup())
    assert [w.words for w in wide.words if w.words in ("burner on", "blower on", "limit open")] == [
        "burner on",
        "blower on",
        "limit open",
    ]
    assert [w.words for w in wide.words].count("not logged") == 2  # blower and limit, after the repair
    bars = [
        m
        for m in wide.lines("fill: var(--cb-ink)")
        if len(m.points) == 4 and max(y for _, y in m.points) - min(y for _, y in m.points) == pytest.approx(11)
    ]
    # found: burner 3, blower 1, limit open 2; after: burner 1
    assert len(bars) == 7


def test_burner_is_worked_out_from_trips_when_no_column_says_it() -> None:
    base = sample.workup()
    bare = tuple(s.model_copy(update={"log": None}) for s in base.case.steps)
    _, wide, _ = drawn(replace(base, case=base.case.model_copy(update={"steps": bare})))
    assert [w.words for w in wide.words].count("not logged") == 4  # blower and limit, in both runs
    assert len([m for m in wide.lines("fill: var(--cb-ink)") if len(m.points) == 4]) == 4  # burner 3 and 1


def test_a_run_without_a_trip_marks_none() -> None:
    base = sample.workup()
    chart, wide, _ = drawn(replace(base, survey=replace(base.survey, logs=base.survey.logs[1:])))
    assert "without a trip" in chart.sentence and not wide.says("trips at")
    assert not wide.lines("--cb-accent")


def test_table_names_trips_and_relights() -> None:
    chart, _, _ = drawn(sample.workup())
    events = [(row[1], row[4]) for row in chart.table[1:] if row[4]]
    assert events == [
        ("8:40", "limit opened"),
        ("10:12", "burner relit"),
        ("16:11", "limit opened"),
        ("17:43", "burner relit"),
    ]


def test_a_fit_that_levels_off_under_the_trip_is_no_heading() -> None:
    base = sample.workup()
    low = replace(
        base.survey.logs[0],
        steady_rise=sample.estimate(
            sample.rise(69.0), sample.rise(1.5), sample.TEMPERATURE_DIFFERENCE, sample.Method.RUN_LOG
        ),
    )
    chart, wide, _ = drawn(replace(base, survey=replace(base.survey, logs=(low,))))
    assert "heading" not in chart.sentence and not wide.says("heading")


def test_a_limit_that_was_logged_and_never_opened_is_said_to_have_stayed_closed() -> None:
    base = sample.workup()
    step = base.case.steps[8]
    columns = {**step.log.columns, "limit": (0.0,) * len(step.log.seconds)}
    logged = step.model_copy(update={"log": step.log.model_copy(update={"columns": columns})})
    case = base.case.model_copy(update={"steps": (*base.case.steps[:8], logged)})
    _, wide, _ = drawn(replace(base, case=case))
    assert wide.says("stayed closed")
