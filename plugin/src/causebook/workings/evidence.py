"""Worked evidence: weights of findings, a finding that two causes may show, sets of causes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from causebook import quantity as qty
from causebook.belief import odds
from causebook.belief.cause_sets import priors, sets_of
from causebook.belief.noisy_or import NoisyOr, Seen
from causebook.knowledge import Knowledge, load
from causebook.quantity import Quantity, q
from causebook.workings.forms import Many, One, Word
from causebook.workings.model import Field, Line, Worked, Working

Array = np.ndarray


def _names(section: str) -> Mapping[str, str]:
    return {id_: entry.name for id_, entry in getattr(load(), section).items()}


def _causes() -> Mapping[str, str]:
    return _names("causes")


def _findings() -> Mapping[str, str]:
    return _names("findings")


def _families() -> Mapping[str, str]:
    return _names("families")


def _told(
    knowledge: Knowledge,
    causes: Sequence[str],
    members: Array,
    present: Sequence[str] | None,
    absent: Sequence[str] | None,
) -> Iterator[tuple[str, Array]]:
    """Each finding in words with its likelihood by set; of several views of one fact, the one that tells most."""
    net = NoisyOr(knowledge, causes, members)
    looked_for = _seen(present, absent)
    even = np.full(len(members), 1 / len(members))
    error = knowledge.constants["wrong-observation-share"].value
    for seen, likelihood in net.once_per_group(looked_for, even, error):
        yield f"{knowledge.findings[seen.finding].name}: {'yes' if seen.probability else 'no'}", likelihood


def _seen(present: Sequence[str] | None, absent: Sequence[str] | None) -> list[Seen]:
    return [Seen(f, 1.0, 0) for f in present or ()] + [Seen(f, 0.0, 0) for f in absent or ()]


def _weight_of_evidence(
    suspect: str, prior: Quantity, rival: str | None, present: Sequence[str] | None, absent: Sequence[str] | None
) -> Worked:
    knowledge = load()
    causes = (suspect, rival) if rival is not None else (suspect,)
    members = np.array([[1.0, 0.0], [0.0, 1.0]]) if rival is not None else np.array([[1.0], [0.0]])
    steps, total = [], 0.0
    for words, likelihood in _told(knowledge, causes, members, present, absent):
        weight = odds.decibans(likelihood[0] / likelihood[1])
        total += weight
        steps.append(Line(words, _signed(weight), None, f"10 × log₁₀({likelihood[0]:.3f} ÷ {likelihood[1]:.3f})"))
    before = qty.si(prior, qty.SHARE)
    return Worked(
        (
            Line(
                "Chance after", q(odds.moved(before, total), ""), qty.SHARE, "odds before × 10^(sum ÷ 10), as a chance"
            ),
            Line("Weight in all", _signed(total), None, "added up"),
        ),
        (Line("Odds before", f"{odds.odds(before):.3g} to 1", None, "chance ÷ (1 − chance)"), *steps),
        ""
        if len(steps) == len(_seen(present, absent))
        else "Of the views of the same fact one is counted, the one that tells most.",
    )


def _signed(decibans: float) -> str:
    return f"{decibans:+.1f} decibans".replace("-", "−")


def _either_cause(finding: str, causes: Sequence[str]) -> Worked:
    knowledge = load()
    count = len(causes)
    members = np.vstack([np.zeros(count), np.eye(count), np.ones(count)])
    chance = NoisyOr(knowledge, causes, members).present(finding)
    names = [
        "None of them (something else)",
        *(f"{knowledge.causes[c].name}, alone" for c in causes),
        "All of them together",
    ]
    how = ["leak", *["1 − (1 − leak) × (1 − link)"] * count, "1 − (1 − leak) × all the (1 − link)"]
    return Worked(
        tuple(
            Line(n, q(float(p), ""), qty.SHARE, h) for n, p, h in reversed(list(zip(names, chance, how, strict=True)))
        )
    )


def _sets_of_causes(
    family: str, causes: Sequence[str], present: Sequence[str] | None, absent: Sequence[str] | None
) -> Worked:
    knowledge = load()
    known = priors(knowledge, (family,), {})
    if missing := [c for c in causes if c not in known]:
        raise ValueError(f"{missing[0]} is no cause of {family}")
    sets = sets_of(knowledge, {c: known[c] for c in causes}, len(causes))
    belief = sets.prior
    for _, likelihood in _told(knowledge, sets.causes, sets.members, present, absent):
        belief = belief * likelihood
    belief = belief / belief.sum()
    alone = np.flatnonzero(sets.members.sum(axis=1) == 1)
    single = belief[alone] / belief[alone].sum()
    results = [
        Line(
            knowledge.causes[c].name,
            q(float(belief @ sets.members[:, i]), ""),
            qty.SHARE,
            "sum over the sets that hold it",
        )
        for i, c in enumerate(sets.causes)
    ]
    steps = [
        Line(
            _together([knowledge.causes[c].name for c in sorted(sets.names(i))]),
            q(float(belief[i]), ""),
            qty.SHARE,
            f"before anything was seen {sets.prior[i]:.1%}",
        )
        for i in range(len(belief))
    ]
    rivals = [
        Line(
            f"{next(iter(sorted(knowledge.causes[c].name for c in sets.names(int(i)))))}, if only one may be true",
            q(float(p), ""),
            qty.SHARE,
            "the single causes alone, made to add up to one",
        )
        for i, p in zip(alone, single, strict=True)
    ]
    return Worked((*results, *rivals), tuple(steps))


def _together(names: Sequence[str]) -> str:
    """A set in words; a single cause is told from the sum over all sets that hold it."""
    return f"only {names[0]}" if len(names) == 1 else " and ".join(names) or "None of them"


PRESENT = Field("present", "Seen", Many(Word(_findings, "a finding's id")), needed=False)
ABSENT = Field("absent", "Looked for, not there", Many(Word(_findings, "a finding's id")), needed=False)
SOURCE = "noisy-OR with a leak (Pearl, 1988); chances of the knowledge files, each an expert estimate"
KINDS = (
    Working(
        "weight-of-evidence",
        "Weight of what was seen",
        (
            Field("suspect", "Suspect", Word(_causes, "a cause's id")),
            Field("prior", "Chance before", One(qty.SHARE)),
            Field("rival", "Against", Word(_causes, "a cause's id"), needed=False),
            replace(PRESENT, shown=False),
            replace(ABSENT, shown=False),
        ),
        _weight_of_evidence,
        f"{SOURCE}; weights after Good (1950)",
        "Ten decibans make the odds ten times as high; three double them. In a case, what is measured is"
        " weighed by the air-path model instead.",
    ),
    Working(
        "either-cause",
        "A finding that several causes may show",
        (
            Field("finding", "Finding", Word(_findings, "a finding's id")),
            Field("causes", "Cause", Many(Word(_causes, "a cause's id"))),
        ),
        _either_cause,
        SOURCE,
    ),
    Working(
        "sets-of-causes",
        "Causes alone and together",
        (
            Field("family", "Complaint", Word(_families, "a complaint family")),
            Field("causes", "Cause", Many(Word(_causes, "a cause's id"))),
            PRESENT,
            ABSENT,
        ),
        _sets_of_causes,
        SOURCE,
        "Only these causes are weighed here; a case weighs all of its family.",
    ),
)
