"""What the diagnosis is held against: thresholded findings and plain noisy-OR with the same knowledge.

A finding is there or not (above or below one half); every finding counts, views of one fact several times; causes are
weighed one by one and the likeliest is the root.  `several` takes sets of up to two causes instead.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from causebook.belief.cause_sets import priors, sets_of
from causebook.casefile.model import Case
from causebook.equipment.furnace.facts import facts_of
from causebook.knowledge.model import Knowledge
from causebook.survey.model import FindingState, State


def rank(
    case: Case, findings: Iterable[FindingState], knowledge: Knowledge, several: bool = False
) -> list[tuple[str, float]]:
    """Causes with their belief, likeliest first."""
    chance = priors(knowledge, [case.file.complaint.family], facts_of(case))
    sets = sets_of(knowledge, chance, 2 if several else 1)
    logs = np.log(sets.prior)
    for finding in findings:
        if finding.state is State.NOT_LOOKED_FOR or finding.probability == 0.5:
            continue
        links = np.array([min(knowledge.causes[c].links.get(finding.id, 0.0), 0.98) for c in sets.causes])
        silent = (1 - max(knowledge.findings[finding.id].leak, 0.01)) * np.exp(sets.members @ np.log1p(-links))
        logs = logs + np.log(1 - silent if finding.probability > 0.5 else silent)
    belief = np.exp(logs - logs.max())
    marginal = (belief / belief.sum()) @ sets.members
    return sorted(zip(sets.causes, marginal.tolist(), strict=True), key=lambda pair: (-pair[1], pair[0]))
