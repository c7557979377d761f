"""Libraries of simulated calls whose roots are known, and how well past cases with the same root are found in them.

    python tests/library/generated.py [CASES] [SEED]

The calls come from the simulator, which knows nothing of the likeness; findings are what the survey makes of the
readings; roots are the simulator's, not a diagnosis'.  Of the five nearest cases the share is counted that has a root
in common with the case asked about, whose own record is left out, and a place that stays empty counts as wrong; by
likeness, and by words alone (Okapi BM25, as a search engine ranks, over what the cases say in words, their roots among
it).
"""

from __future__ import annotations

import math
import random
import re
import sys
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[1]))

from causebook import knowledge
from causebook.knowledge.model import Knowledge
from causebook.library.find import Query, understood
from causebook.library.likeness import Measure, Reader, nearest
from causebook.library.record import Record, equipment_facts
from causebook.library.typed import typed_of
from causebook.survey.model import State
from causebook.survey.survey import survey
from simulation.calls import draw
from simulation.files import DAY, in_memory
from simulation.visits import visit_of

NEAREST = 5


def simulated_library(count: int, known: Knowledge, seed: int = 1) -> list[Record]:
    """`count` records of simulated calls in which something is wrong."""
    records: list[Record] = []
    number = seed * 1_000_000
    while len(records) < count:
        number += 1
        call = draw(number)
        if not call.roots:
            continue
        case = in_memory(visit_of(call, known), known)
        surveyed = survey(case, known)
        roots = tuple(sorted(call.roots))
        words = "; ".join(s.step.do for s in case.steps)
        records.append(
            Record(
                id=f"call-{number}",
                title=" and ".join(known.causes[r].name for r in roots),
                words=f"{case.file.complaint.words} {words}",
                families=(case.file.complaint.family,),
                outcome="likely",
                date=DAY.isoformat(),
                visits=1,
                level=1,
                trains=(),
                roles={"root": roots},
                concluded=True,
                facts=equipment_facts(case.file, DAY),
                minutes=0,
                stopped=False,
                findings={
                    f.id: f.state is State.PRESENT
                    for f in surveyed.findings
                    if f.state in (State.PRESENT, State.ABSENT)
                },
                read=typed_of(surveyed),
            )
        )
    return records


def asked(record: Record, share: float, dice: random.Random) -> dict[str, bool]:
    """What is known of a case when only a share of its findings has been looked for."""
    return {f: present for f, present in sorted(record.findings.items()) if dice.random() < share}


def share_with_the_root(records: Sequence[Record], ranked: Callable[[int], Sequence[int]]) -> float:
    """Of the nearest five of each case (`ranked` gives their places), the share that has a root in common with it."""
    same = [
        bool(set(records[i].roots) & set(records[other].roots))
        for i in range(len(records))
        for other in ranked(i)[:NEAREST]
    ]
    return sum(same) / (NEAREST * len(records))


FIRST_READ = (
    "rise",
    "external-static",
    "limit-opened-at",
    "tap-before-filter",
    "tap-after-filter",
    "tap-before-coil",
    "tap-after-coil",
    "clocked-input",
    "capacitor",
    "motor-amps",
    "co-in-flue",
    "oxygen-in-flue",
)
"""Readings in the order in which somebody has them."""


def by_likeness(records: Sequence[Record], known: Knowledge, share: float, seed: int = 7) -> float:
    """The share by likeness, with complaint and equipment, this share of the findings and all readings of these."""
    dice = random.Random(seed)
    queries = [Query(r.families[0], asked(r, share, dice), r.read if share == 1 else {}, r.facts) for r in records]
    return by_queries(records, known, queries)


def by_readings(records: Sequence[Record], known: Knowledge, count: int) -> float:
    """The share by the first `count` readings alone: no complaint, no plate, nothing seen."""
    queries = [
        Query(typed={id_: r.read[id_] for id_ in [id_ for id_ in FIRST_READ if id_ in r.read][:count]}) for r in records
    ]
    return by_queries(records, known, queries)


def by_queries(records: Sequence[Record], known: Knowledge, queries: Sequence[Query]) -> float:
    """The share when each case is asked for by its query; its own record is left out."""
    reader, measure = Reader(known), Measure(records, known)
    near = [
        nearest(measure.nearness([understood(query, known, reader)[2]], [i])[0], records)
        for i, query in enumerate(queries)
    ]
    return share_with_the_root(records, lambda i: near[i])


def by_words(records: Sequence[Record], known: Knowledge, share: float, seed: int = 7) -> float:
    """The share by words alone: what was found, in words, against all that the cases say."""
    dice = random.Random(seed)
    ranker = Bm25([f"{r.title} {r.words} {_in_words(r.findings, known)}" for r in records])

    def ranked(i: int) -> list[int]:
        return ranker.rank(_in_words(asked(records[i], share, dice), known), without=i)

    return share_with_the_root(records, ranked)


def by_chance(records: Sequence[Record]) -> float:
    """The share when the five are drawn by lot."""
    pairs = [(a, b) for a in records for b in records if a is not b]
    return sum(bool(set(a.roots) & set(b.roots)) for a, b in pairs) / len(pairs)


def _in_words(findings: dict[str, bool] | object, known: Knowledge) -> str:
    assert isinstance(findings, dict)
    return " ".join(known.findings[f].name for f, present in findings.items() if present)


class Bm25:
    """Okapi BM25 (Robertson and others, TREC-3, 1994) with the usual k1 = 1.2 and b = 0.75; from memory."""

    def __init__(self, texts: Sequence[str]) -> None:
        self.texts = [Counter(re.findall(r"[a-z0-9]+", text.lower())) for text in texts]
        self.mean = sum(map(Counter.total, self.texts)) / len(texts)
        self.having = Counter(word for text in self.texts for word in text)

    def rank(self, query: str, without: int) -> list[int]:
        """Places of the texts, best first; equally good ones in their order."""
        words = set(re.findall(r"[a-z0-9]+", query.lower()))
        scores = {i: self._score(text, words) for i, text in enumerate(self.texts) if i != without}
        return sorted(scores, key=lambda i: (-scores[i], i))

    def _score(self, text: Counter[str], words: set[str]) -> float:
        longer = 0.25 + 0.75 * text.total() / self.mean
        return sum(
            math.log(1 + (len(self.texts) - self.having[w] + 0.5) / (self.having[w] + 0.5))
            * text[w]
            * 2.2
            / (text[w] + 1.2 * longer)
            for w in words
            if w in text
        )


def main() -> None:
    """Print the shares for what is known at the end of a visit, and early in it."""
    count, seed = (int(a) for a in (*sys.argv[1:], *("400", "1")[len(sys.argv) - 1 :]))
    known = knowledge.load()
    records = simulated_library(count, known, seed)
    print(
        f"{count} simulated calls, seed {seed}; {len({r.roots for r in records})} different roots or pairs; "
        f"by chance {by_chance(records):.3f}"
    )
    for readings in (2, 5):
        print(f"the first {readings} readings alone: by likeness {by_readings(records, known, readings):.3f}")
    for share in (1.0, 0.5, 0.25):
        print(
            f"{share:4.0%} of the findings known: by likeness {by_likeness(records, known, share):.3f}, "
            f"by words alone {by_words(records, known, share):.3f}"
        )


if __name__ == "__main__":
    main()
