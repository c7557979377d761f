"""What is worth reading and looking at first on a complaint: by how far it tells the complaint's causes apart.

The worth of a finding is the mean distance of its chance under each cause from its mean chance, the causes weighed by
how frequent they are: 0 where every cause shows it alike, 0.5 where half of them always do and half never.
"""

from __future__ import annotations

from collections.abc import Mapping

from causebook.knowledge.model import Finding, Knowledge, Reading


def worth(family: str, knowledge: Knowledge) -> dict[str, float]:
    """Worth of every finding on a complaint of this family, by id."""
    causes = [c for c in knowledge.causes.values() if family in c.priors and not c.residual]
    whole = sum(c.priors[family] for c in causes) or 1.0
    shares = [c.priors[family] / whole for c in causes]
    out = {}
    for id_, finding in knowledge.findings.items():
        chances = [c.links.get(id_, finding.leak) for c in causes]
        mean = sum(s * p for s, p in zip(shares, chances, strict=True))
        out[id_] = sum(s * abs(p - mean) for s, p in zip(shares, chances, strict=True))
    return out


def readings_first(family: str, knowledge: Knowledge) -> list[Reading]:
    """All readings, those first that a complaint of this family is told by; what people must be safe from leads."""
    of = worth(family, knowledge)
    safety = {f for test in knowledge.tests.values() if test.first for f in test.reveals}
    fires = {c.reading for stop in knowledge.stops.values() for c in stop.any_of if c.reading}

    def key(reading: Reading) -> tuple[bool, float]:
        first = reading.id in fires and bool(safety & set(reading.shows))
        return not first, -max((of[f] for f in reading.shows if f in of), default=0.0)

    return sorted(knowledge.readings.values(), key=key)


def findings_first(family: str, knowledge: Knowledge) -> list[Finding]:
    """All findings, those first that a complaint of this family is told by.

    What people must be safe from leads.  What follows from readings by itself comes last: it is seldom seen without a
    meter.
    """
    of: Mapping[str, float] = worth(family, knowledge)
    safety = {f for test in knowledge.tests.values() if test.first for f in test.reveals}
    return sorted(
        knowledge.findings.values(), key=lambda f: (bool(f.computed), f.id not in safety or bool(f.computed), -of[f.id])
    )
