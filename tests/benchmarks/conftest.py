"""Holding a limit of time: only where benchmarks are measured, never beside other tests."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from pytest_benchmark.fixture import BenchmarkFixture


@pytest.fixture
def hold(benchmark: BenchmarkFixture) -> Callable[[float], None]:
    """Asserts that the best of what `benchmark` measured lies under so many seconds; nothing when benchmarks are
    switched off, as pytest-benchmark does when tests run side by side."""

    def held(seconds: float) -> None:
        if benchmark.enabled:
            assert benchmark.stats.stats.min < seconds

    return held
