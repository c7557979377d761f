"""Records of invented cases for the tests of the library: made from a seed, with a root behind their findings."""

from __future__ import annotations

import random

from causebook.casefile.model import Outcome
from causebook.knowledge.model import Knowledge
from causebook.library.record import Record


def make_records(count: int, knowledge: Knowledge, seed: int = 1) -> list[Record]:
    """`count` cases: a root of the knowledge each, findings drawn from what that root shows, half not looked for."""
    dice = random.Random(seed)
    causes = sorted(id_ for id_, cause in knowledge.causes.items() if cause.links and cause.priors)
    records = []
    for number in range(count):
        root = dice.choice(causes)
        cause = knowledge.causes[root]
        looked = [f for f in sorted(knowledge.findings) if dice.random() < (0.5 if f in cause.links else 0.05)]
        findings = {f: dice.random() < cause.links.get(f, knowledge.findings[f].leak) for f in looked}
        families = sorted(cause.priors, key=lambda f: -cause.priors[f])
        records.append(
            Record(
                id=f"case-{number:05d}",
                title=f"{cause.name}, case {number}",
                words="It stops & starts <again>.",
                families=(dice.choice(families),),
                outcome=dice.choice(list(Outcome)).value,
                date=f"{dice.randint(2015, 2025)}-{dice.randint(1, 12):02d}-{dice.randint(1, 28):02d}",
                visits=1,
                level=dice.randint(1, 3),
                trains=(),
                roles={"root": (root,)},
                concluded=True,
                facts={
                    "furnace": dice.choice(["condensing", "non-condensing"]),
                    "blower motor": dice.choice(["split capacitor", "constant airflow"]),
                },
                findings=findings,
                minutes=float(dice.randint(30, 180)),
                stopped=False,
            )
        )
    return records
