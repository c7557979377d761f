"""How long reading a case file takes: 10,000 of them must not take minutes, so 15 ms each."""

from pathlib import Path

from causebook.casefile.read import read_cases
from causebook.knowledge.loader import load

CASES = Path(__file__).parents[2] / "casefiles"


def test_all_demo_cases(benchmark, hold) -> None:
    cases, problems = benchmark(read_cases, CASES, load())
    assert cases and not problems
    hold(0.015 * len(cases))
