"""Score the diagnosis on calls of another world, kept outside this repository.

    python -m tests.simulation.second_opinion calls.jsonl [--first 120]

One call a line: `id`, `case` (a case file as data), `log` and `truth` with the roots that may be named by either rule
(`roots_by_share`, `roots_by_repair`), the faults that are there (`present`), `contributing` and `symptom`.  Calls in
which the limit tripped are scored.  No number of the knowledge is set by these scores: a look at them is a look at a
world that nobody here made.
"""

from __future__ import annotations

import argparse
import json
import os
import tempfile
from functools import partial
from pathlib import Path
from typing import Any

from tests.net import write_call

from causebook.belief.verdict import Role
from causebook.casefile.read import read_case
from causebook.diagnosis import diagnose
from causebook.knowledge.loader import load

from .evaluate import spread
from .score import LIMITS, Answer, scores

TRIPPED = "limit trip"


def answer(line: str, scratch: Path) -> Answer | None:
    """The answer to one call beside its truth; None for a call of another symptom, or one that cannot be read."""
    call: dict[str, Any] = json.loads(line)
    truth = call["truth"]
    if truth["symptom"] != TRIPPED or not truth["root"]:
        return None
    knowledge = load()
    case, _ = read_case(write_call(call, scratch / call["id"]), knowledge)
    if case is None:
        return None
    verdict = diagnose(case, knowledge, show_steps=False).verdict
    listed = [c for c in verdict.causes if not knowledge.causes[c.id].residual and c.role is not Role.UNDERLYING]
    listed.sort(key=lambda c: -c.root_chance - c.restores_chance)
    first = max(verdict.with_role(Role.ROOT), key=lambda c: c.root_chance + c.restores_chance, default=listed[0])
    return Answer(
        seed=0,
        faults=frozenset(truth["present"]),
        roots=frozenset(truth["roots_by_share"]) | frozenset(truth["roots_by_repair"]),
        contributing=frozenset(truth["contributing"]),
        named=(first.id, *(c.id for c in listed if c.id != first.id)),
        sure=first.restores_chance,
        helpers=frozenset(c.id for c in verdict.with_role(Role.HELPED_BY)),
        rests=verdict.answered,
    )


def main() -> None:
    """The command line."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.simulation.second_opinion", description=__doc__.splitlines()[0]
    )
    parser.add_argument("calls", type=Path)
    parser.add_argument("--first", type=int, default=None, metavar="N", help="only the first N calls")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    asked = parser.parse_args()
    lines = asked.calls.read_text("utf-8").splitlines()[: asked.first]
    with tempfile.TemporaryDirectory() as scratch:
        told = list(spread(partial(answer, scratch=Path(scratch)), lines, asked.jobs))
    answers = [one for one in told if one is not None]
    print(f"{len(answers)} of {len(lines)} calls scored")
    for name, value in scores(answers, LIMITS).items():
        print(f"{name:36}{value:8.3f}")


if __name__ == "__main__":
    main()
