"""Score the diagnosis on simulated calls, beside the baseline.

    python -m tests.simulation.evaluate --cases 600 --seed 1            the scores (about two minutes on two cores)
    python -m tests.simulation.evaluate --cases 300 --seed 2 --game     the next-test game as well
    python -m tests.simulation.evaluate --cases 100 --wrong             what was answered wrongly
    python -m tests.simulation.evaluate --world start --cases 600       calls where the fire does not start or stay

Run it from the project's root in an environment where `causebook` is installed.  What the figures do not prove: both
worlds are invented by people who know the trade's catalogue of faults; the physics of `air` has the form that the
diagnosis assumes (one airflow, power-law drops, fan laws); no real house is in them.
"""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import partial
from typing import Any

from causebook.belief.stops import stops
from causebook.belief.verdict import Role
from causebook.casefile.model import Case
from causebook.diagnosis import Diagnosis, diagnose
from causebook.knowledge.loader import load
from causebook.knowledge.model import Knowledge
from causebook.survey.model import Survey
from causebook.survey.survey import survey

from . import baseline, game
from .files import in_memory
from .score import Answer, scores
from .visit import Called, Visit
from .worlds import WORLDS

DANGERS = frozenset({"gas-smell", "crack-seen", "flame-moves-when-blower-starts"})
"""Seen, they end all testing; so does CO in rooms from 9 ppm above outdoors."""


def answer_of(
    call: Called, case: Case, told: Diagnosis, surveyed: Survey, danger: bool, knowledge: Knowledge
) -> Answer:
    """The verdict as an answer to be scored."""
    root = max(told.verdict.with_role(Role.ROOT), key=lambda c: c.root_chance + c.restores_chance, default=None)
    listed = [c for c in told.verdict.causes if not knowledge.causes[c.id].residual and c.role is not Role.UNDERLYING]
    first = root or listed[0]
    listed.sort(key=lambda c: -c.root_chance - c.restores_chance)
    named = (first.id, *(c.id for c in listed if c.id != first.id))
    helpers = frozenset(c.id for c in told.verdict.with_role(Role.HELPED_BY))
    return Answer(
        call.seed,
        call.faults,
        call.roots,
        call.contributing,
        named,
        first.restores_chance,
        helpers,
        told.verdict.answered,
        sides(call, knowledge),
        call.family,
        danger,
        bool(stops(case, surveyed, told.verdict.causes, knowledge)),
    )


def baseline_answer(call: Called, case: Case, surveyed: Survey, knowledge: Knowledge, several: bool) -> Answer:
    """The baseline's answer on the same case; it has no stops."""
    ranked = [
        (c, p)
        for c, p in baseline.rank(case, surveyed.findings, knowledge, several)
        if not knowledge.causes[c].residual
    ]
    helpers = frozenset(c for c, p in ranked[1:] if p >= 0.5)
    return Answer(
        call.seed,
        call.faults,
        call.roots,
        call.contributing,
        tuple(c for c, _ in ranked),
        ranked[0][1],
        helpers,
        ranked[0][1] >= 0.5,
        sides(call, knowledge),
        call.family,
    )


def dangerous(visit: Visit) -> bool:
    """Was gas, a breach or CO in rooms written down?"""
    outdoors = 0.0
    for step in visit.steps:
        read = {what: float(text.split()[0]) for what, text in step["read"].items()}
        outdoors = read.get("co-outdoors", outdoors)
        if read.get("co-indoors", 0.0) - outdoors >= 9 or any(step["seen"].get(d) == "yes" for d in DANGERS):
            return True
    return False


def sides(call: Called, knowledge: Knowledge) -> frozenset[str]:
    """Sides of the furnace on which the roots of a call are."""
    return frozenset(str(knowledge.causes[root].side) for root in call.roots)


def one(seed: int, world: str = "air") -> tuple[Answer, Answer, Answer, int, int]:
    """Answers of the diagnosis and of both baselines on one call; readings written and left out."""
    knowledge = load()
    call, visit = WORLDS[world].call(seed, knowledge)
    case = in_memory(visit, knowledge)
    surveyed = survey(case, knowledge)
    told = answer_of(
        call, case, diagnose(case, knowledge, surveyed, show_steps=False), surveyed, dangerous(visit), knowledge
    )
    plain, pairs = (baseline_answer(call, case, surveyed, knowledge, several) for several in (False, True))
    told, plain, pairs = (
        replace(one, denied=bool(WORLDS[world].judge(visit, one.named[0]))) for one in (told, plain, pairs)
    )
    return told, plain, pairs, visit.written, visit.left_out


def seeds(cases: int, seed: int) -> range:
    """Seeds of a run's calls; runs of different seeds share none."""
    return range(seed * 1_000_000, seed * 1_000_000 + cases)


def spread(function: Any, over: Iterable[int], jobs: int) -> Iterator[Any]:
    """Results in order, on several processes."""
    if jobs == 1:
        yield from map(function, over)
        return
    with ProcessPoolExecutor(jobs) as pool:
        yield from pool.map(function, over, chunksize=8)


def evaluate(
    cases: int, seed: int, jobs: int = 1, world: str = "air"
) -> tuple[dict[str, dict[str, float]], list[Answer], float]:
    """(scores by method, answers of the diagnosis, share of readings left out)."""
    rows = list(spread(partial(one, world=world), seeds(cases, seed), jobs))
    table = {
        name: scores([row[n] for row in rows], WORLDS[world].guarded)
        for n, name in enumerate(("diagnosis", "noisy-OR, one cause", "noisy-OR, two causes"))
    }
    written, left = sum(row[3] for row in rows), sum(row[4] for row in rows)
    return table, [row[0] for row in rows], left / (left + written)


def main() -> None:
    """The command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.simulation.evaluate", description=__doc__.splitlines()[0])
    parser.add_argument("--world", choices=list(WORLDS), default="air")
    parser.add_argument("--cases", type=int, default=600)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--game", action="store_true", help="play the next-test game too, on half as many calls")
    parser.add_argument("--wrong", action="store_true", help="list the calls answered wrongly")
    asked = parser.parse_args()
    table, answers, left_out = evaluate(asked.cases, asked.seed, asked.jobs, asked.world)
    print(
        f"{asked.cases} calls in the world of {asked.world}, seed {asked.seed}; "
        f"{left_out:.0%} of what could have been read was not\n"
    )
    print(f"{'':36}" + "".join(f"{name:>22}" for name in table))
    for score in table["diagnosis"]:
        print(f"{score:36}" + "".join(f"{column[score]:22.3f}" for column in table.values()))
    if asked.wrong:
        for a in answers:
            if not a.right:
                print(
                    f"{a.seed}: said {a.named[0]} ({a.sure:.2f}), also {', '.join(a.named[1:3])}; "
                    f"true {', '.join(sorted(a.roots)) or 'nothing'} of {', '.join(sorted(a.faults))}"
                )
    if asked.game:
        over = seeds(asked.cases // 2, asked.seed + 500)
        played = list(spread(partial(game.play, world=asked.world), over, asked.jobs))
        print(f"\nNext-test game, {len(played)} calls")
        for name, value in game.summary(played).items():
            print(f"{name:36}{value:22.3f}")


if __name__ == "__main__":
    main()
