"""How long the work-up of each demo case takes, with the trace after every step, beside its diagnosis alone.

    python tests/benchmarks/workup_speed.py

Seconds of processor time, in one run; compare them with each other.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from pathlib import Path

from causebook.casefile.read import read_cases
from causebook.diagnosis import diagnose
from causebook.knowledge.loader import load
from causebook.workup import work_up


def seconds(work: Callable[[], object]) -> float:
    """Processor seconds of one piece of work."""
    begun = time.process_time()
    work()
    return time.process_time() - begun


def main() -> None:
    """Print a line for each case, and the median and the hardest."""
    known = load()
    cases, _ = read_cases(Path(__file__).parents[2] / "casefiles", known)
    work_up(cases[0], known)  # what is made once is made before
    taken = {}
    for case in cases:
        taken[case.id] = (
            seconds(lambda case=case: work_up(case, known)),
            seconds(lambda case=case: diagnose(case, known, show_steps=False)),
        )
        print(f"{case.id:28}{taken[case.id][0]:8.2f}{taken[case.id][1]:8.2f}")
    for name, of in (("median", statistics.median), ("hardest", max)):
        print(f"{name:28}{of(t for t, _ in taken.values()):8.2f}{of(t for _, t in taken.values()):8.2f}")


if __name__ == "__main__":
    main()
