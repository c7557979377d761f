"""How long a diagnosis takes: the median worked case under 0.1 s on one core, the hardest under 0.4 s.

Without the belief after every single step, which only the page of a case asks for.
"""

import statistics
import timeit
from pathlib import Path

from causebook.casefile.read import read_cases
from causebook.diagnosis import diagnose
from causebook.knowledge.loader import load

CASES, _ = read_cases(Path(__file__).parents[2] / "casefiles", load())


def seconds(case, tries: int) -> float:
    """Seconds of one diagnosis, the best of some tries; more threads than one win nothing here."""
    return min(timeit.repeat(lambda: diagnose(case, load(), show_steps=False), number=1, repeat=tries))


def test_worked_cases(benchmark, hold) -> None:
    taken = {case.id: seconds(case, 5 if benchmark.enabled else 1) for case in CASES}
    hardest = max(CASES, key=lambda case: taken[case.id])
    told = benchmark(diagnose, hardest, load(), show_steps=False)
    assert told.verdict.causes
    hold(0.4)
    if benchmark.enabled:
        assert statistics.median(taken.values()) < 0.1, taken
