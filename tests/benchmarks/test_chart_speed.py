"""All charts of one case, both drawings of each, in under 0.25 s of one core once matplotlib is warm."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

from pytest_benchmark.fixture import BenchmarkFixture

sys.path.insert(0, str(Path(__file__).parents[1] / "writeup"))  # where the sample workup stands

import sample

from causebook.writeup.charts import charts_for

LIMIT = 0.25


def test_charts_of_one_case(benchmark: BenchmarkFixture, hold: Callable[[float], None]) -> None:
    workup = sample.workup()
    charts_for(workup)
    made = benchmark(charts_for, workup)
    assert len(made) == 9
    hold(LIMIT)
