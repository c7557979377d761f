"""How far the records of the start world go at all: a forest trained on thousands of its calls.

    uv pip install scikit-learn
    python -m tests.simulation.start_forest --train 8000 --cases 300 --seed 61

The forest has seen the very world that it is asked about, its frequencies, sizes and habits; nobody in a basement has.
It is a ceiling, not a rival.  Not part of the test suite; scikit-learn is no dependency of anything else.
"""

from __future__ import annotations

import argparse

import numpy as np
from numpy.typing import NDArray

from causebook.knowledge.loader import load
from causebook.knowledge.model import Knowledge

from .evaluate import seeds
from .start_visits import StartVisit
from .worlds import WORLDS

TRAINED_FROM = 900_000_000
"""First seed of the calls it learns from; no run scores these."""
SAID = {"yes": 1.0, "no": -1.0, "unclear": 0.0}


def features(visit: StartVisit, names: dict[str, int]) -> dict[int, float]:
    """What was written down, by column; columns are made as they come."""
    told: dict[str, float] = {f"family {visit.call.family}": 1.0}
    for step in visit.steps:
        tried = " tried" if step.get("with") or step.get("changed") else ""
        told |= {f"{what}{tried}": float(text.split()[0]) for what, text in step["read"].items()}
        told |= {what: SAID[said] for what, said in step["seen"].items()}
        if step.get("told"):
            told[f"{step['do']}: {step['told']}"] = 1.0
    plate = visit.furnace
    told |= {"closes": plate.closes, "least": plate.flame_least, "condensing": float(plate.condensing)}
    return {names.setdefault(name, len(names)): value for name, value in told.items()}


def table(rows: list[dict[int, float]], width: int) -> NDArray[np.float32]:
    """Rows of equal width; what was not written down is far from all that could be."""
    out = np.full((len(rows), width), -99.0, dtype=np.float32)
    for number, row in enumerate(rows):
        for place, value in row.items():
            if place < width:
                out[number, place] = value
    return out


def main() -> None:
    """The command line."""
    from sklearn.ensemble import RandomForestClassifier

    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--train", type=int, default=8000)
    parser.add_argument("--cases", type=int, default=300)
    parser.add_argument("--seed", type=int, default=61)
    asked = parser.parse_args()
    knowledge: Knowledge = load()
    world, names = WORLDS["start"], dict[str, int]()
    rows, roots = [], []
    for seed in range(TRAINED_FROM, TRAINED_FROM + asked.train):
        call, visit = world.call(seed, knowledge)
        if call.roots:
            rows.append(features(visit, names))
            roots.append(sorted(call.roots)[seed % len(call.roots)])
    width = len(names)
    forest = RandomForestClassifier(400, min_samples_leaf=2, max_features=0.15, n_jobs=1, random_state=0)
    forest.fit(table(rows, width), roots)
    right = among = total = 0
    for seed in seeds(asked.cases, asked.seed):
        call, visit = world.call(seed, knowledge)
        if not call.roots:
            continue
        chance = forest.predict_proba(table([features(visit, names)], width))[0]
        best = [str(forest.classes_[n]) for n in np.argsort(-chance)[:3]]
        total += 1
        right += best[0] in call.roots
        among += bool(set(best) & call.roots)
    print(f"forest on {asked.train} calls: right root {right / total:.3f}, among three {among / total:.3f} of {total}")


if __name__ == "__main__":
    main()
