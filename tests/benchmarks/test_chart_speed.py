"""All charts of one case, both drawings of each, in under 0.25 s of one core once matplotlib is warm."""

from __future__ import annotations

import sys
import time
from pathlib import Path

from pytest_benchmark.fixture import BenchmarkFixture

sys.path.insert(0, str(Path(__file__).parents[1] / "writeup"))  # where the sample workup stands

import sample  # noqa: E402  # after the line that makes it importable

from causebook.writeup.charts import charts_for  # noqa: E402  # as above

LIMIT = 0.25


def test_charts_of_one_case(benchmark: BenchmarkFixture) -> None:
    workup = sample.workup()
    charts_for(workup)
    made = benchmark(charts_for, workup)
    assert len(made) == 9
    best = min(_processor_seconds(workup) for _ in range(3))
    assert best < LIMIT


def _processor_seconds(workup: sample.Workup) -> float:
    start = time.process_time()
    charts_for(workup)
    return time.process_time() - start
