"""The strip of stages and the circuit say what the record proves."""

from __future__ import annotations

from pathlib import Path

import pytest

from causebook.casefile.read import read_case
from causebook.knowledge.loader import load
from causebook.workup import Workup, work_up
from causebook.writeup.charts import start
from causebook.writeup.charts.model import Chart, Missing

STARTS = Path(__file__).parents[2] / "equipment" / "starts"


def worked(name: str) -> Workup:
    case, _ = read_case(STARTS / name, load())
    assert case is not None
    return work_up(case, load())


@pytest.fixture(scope="module")
def open_limit() -> Workup:
    return worked("open-limit-read")


def test_the_strip_ends_where_the_volts_say(open_limit: Workup) -> None:
    chart = start.chart(open_limit)
    assert isinstance(chart, Chart)
    assert chart.sentence.startswith("The start ends at “safeties made”")
    rows = {row[0]: row for row in chart.table}
    assert rows["Safeties made"][3].startswith("not passed: 27.3 V across the limit")
    assert rows["Gas valve"][3].startswith("would be:") and rows["Call for heat"][1] == "100 %"


def test_the_circuit_names_the_open_device(open_limit: Workup) -> None:
    chart = start.chart_of_circuit(open_limit)
    assert isinstance(chart, Chart)
    assert chart.sentence == "27.3 V stands across the limit: it is open."
    read = {row[0]: row[1] for row in chart.table[1:]}
    assert read["across the limit"] == "27.3 V" and set(read) == {
        "across the limit",
        "across the rollout switch",
        "behind the rollout switch, to common",
    }


def test_without_volts_there_is_no_circuit_to_draw() -> None:
    workup = worked("vent-end-blocked")
    assert isinstance(start.chart_of_circuit(workup), Missing)
    strip = start.chart(workup)
    assert isinstance(strip, Chart) and "suction" in strip.sentence
