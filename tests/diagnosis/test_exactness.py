"""The belief against brute force and against an independent library.

Noisy-OR with a leak: P(finding | causes) = 1 − (1 − leak)·Π(1 − link) (Pearl 1988, section 4.3.2; from memory).
The library is pyAgrum, used in tests only.  The sum over the air path is held against a Monte Carlo of the model as it
is written down: log-normal drops, fan laws, normal instrument errors.
"""

from __future__ import annotations

import itertools

import numpy as np
import pyagrum as gum
import pytest
from causebook.diagnosis.airpath_belief import PathBelief
from tests.diagnosis.sampling import drawn, solved

from causebook.belief.cause_sets import sets_of
from causebook.belief.noisy_or import CEILING, NoisyOr, Seen
from causebook.belief.posterior import Reasoner
from causebook.equipment.furnace.evidence import Evidence, Gauge
from causebook.knowledge.model import Knowledge

SMALL = ("filter-loaded", "wheel-dirty", "limit-wiring", "coil-plugged")
SEEN = ("filter-dirty", "ran-without-filter", "wheel-dirty", "happens-intermittently", "limit-wire-poor")
ERROR = 0.02


def small_prior(knowledge: Knowledge) -> dict[str, float]:
    return {c: knowledge.causes[c].priors["high-limit"] for c in SMALL}


def by_hand(knowledge: Knowledge, observed: dict[str, float], pairs: bool) -> dict[str, float]:
    """Marginals by enumeration in plain Python, one world at a time."""
    prior, total = small_prior(knowledge), 0.0
    marginal = dict.fromkeys(SMALL, 0.0)
    for world in itertools.product((False, True), repeat=len(SMALL)):
        present = {c for c, is_ in zip(SMALL, world, strict=True) if is_}
        weight = 1.0
        for cause in SMALL:
            weight *= prior[cause] if cause in present else 1 - prior[cause]
        for pair in knowledge.pairs if pairs else ():
            if {pair.first, pair.second} <= present:
                weight *= pair.factor
        for finding, probability in observed.items():
            silent = 1 - knowledge.findings[finding].leak
            for cause in present:
                silent *= 1 - min(knowledge.causes[cause].links.get(finding, 0.0), CEILING)
            there = 1 - silent
            for cause in present:
                there *= knowledge.causes[cause].pushes_down.get(finding, 1.0)
            said = probability * (1 - ERROR) + (1 - probability) * ERROR
            weight *= said * there + (1 - said) * (1 - there)
        total += weight
        for cause in present:
            marginal[cause] += weight
    return {c: p / total for c, p in marginal.items()}


def by_core(knowledge: Knowledge, observed: dict[str, float]) -> dict[str, float]:
    sets = sets_of(knowledge, small_prior(knowledge), most=len(SMALL))
    net = NoisyOr(knowledge, sets.causes, sets.members)
    belief = sets.prior.copy()
    for finding, probability in observed.items():
        belief *= net.likelihood(Seen(finding, probability, 1), ERROR)
    return dict(zip(sets.causes, (belief / belief.sum()) @ sets.members, strict=True))


WORLDS = [dict(zip(SEEN, values, strict=True)) for values in itertools.product((0.0, 1.0), repeat=len(SEEN))][::3] + [
    {"wheel-dirty": 0.7},
    {},
]


@pytest.mark.parametrize("observed", WORLDS)
def test_sets_and_noisy_or_agree_with_enumeration_by_hand(knowledge: Knowledge, observed: dict[str, float]) -> None:
    assert by_core(knowledge, observed) == pytest.approx(by_hand(knowledge, observed, pairs=True), rel=1e-9, abs=1e-12)


def test_noisy_or_agrees_with_an_independent_library(knowledge: Knowledge) -> None:
    causes = ("filter-loaded", "limit-wiring", "filter-too-restrictive")
    findings = ("whistle-at-filter", "happens-intermittently", "after-filter-change")
    net = gum.BayesNet()
    for cause in causes:
        net.add(gum.LabelizedVariable(cause, "", 2))
        p = knowledge.causes[cause].priors["high-limit"]
        net.cpt(cause)[:] = [1 - p, p]
    for finding in findings:
        # Its noisy-OR takes the weight of the leak, then a weight for each cause.
        net.addNoisyORNet(gum.LabelizedVariable(finding, "", 2), max(knowledge.findings[finding].leak, 1e-3))
        for cause in causes:
            if link := knowledge.causes[cause].links.get(finding):
                net.addWeightedArc(cause, finding, link)
    engine = gum.LazyPropagation(net)
    sets = sets_of(knowledge, {c: knowledge.causes[c].priors["high-limit"] for c in causes})
    mine = NoisyOr(knowledge, sets.causes, sets.members)
    # The factor of causes that come together is no part of that library's net.
    prior = np.array(
        [np.prod([net.cpt(c)[int(m)] for c, m in zip(sets.causes, row, strict=True)]) for row in sets.members]
    )
    for values in itertools.product((0, 1), repeat=len(findings)):
        engine.setEvidence(dict(zip(findings, values, strict=True)))
        belief = prior.copy()
        for finding, value in zip(findings, values, strict=True):
            belief *= mine.likelihood(Seen(finding, float(value), 1), 0.0)
        marginal = dict(zip(sets.causes, (belief / belief.sum()) @ sets.members, strict=True))
        assert marginal == pytest.approx({c: engine.posterior(c)[1] for c in causes}, rel=1e-6)


def test_the_reasoner_is_nothing_but_these_parts(knowledge: Knowledge) -> None:
    """Groups aside, the belief of a whole family without measurements is prior times noisy-OR times complaint."""
    reasoner = Reasoner(knowledge, ["high-limit"], {})
    seen = [Seen("filter-dirty", 1.0, 1), Seen("wheel-dirty", 0.0, 2)]
    told = reasoner.believe(None, seen)
    bare = reasoner.believe(None, [])
    belief = bare.chance.copy()
    for one in seen:
        belief *= reasoner.net.likelihood(one, ERROR)
    assert np.allclose(told.chance, belief / belief.sum(), rtol=1e-9)


# ---------------------------------------------------------------- the air path, against Monte Carlo


def sampled_likelihood(evidence: Evidence, knowledge: Knowledge, present: frozenset[str], samples: int) -> float:
    """The likelihood of taps 3 and 5 and the rise by sampling the model: drops, blower, input, then instruments."""
    rng = np.random.default_rng(7)
    path = PathBelief(evidence, knowledge, present)
    draw = drawn(path, present, rng, samples)
    flow, parts = solved(path, draw)
    suction, pressure = parts["return"] + parts["filter"], parts["coil"] + parts["supply"]
    assert evidence.plate_input is not None and evidence.rise is not None
    rise = (
        evidence.plate_input
        * draw["input"]
        * (evidence.efficiency.value + evidence.efficiency.sd * rng.standard_normal(samples))
        / (evidence.sensible * flow)
    )
    weight = np.ones(samples)
    for value, gauge in ((suction, evidence.taps[3]), (pressure, evidence.taps[5]), (rise, evidence.rise)):
        weight *= np.exp(-0.5 * ((gauge.value - value) / gauge.sd) ** 2)
    return float(weight.mean())


def test_the_sum_over_the_air_path_agrees_with_sampling(knowledge: Knowledge) -> None:
    """Ratios of likelihoods between sets, which is all that the belief uses; tolerance for the grid and the sample."""
    evidence = Evidence(
        sensible=1206.0,
        rated_airflow=0.55,
        plate_input=23000.0,
        efficiency=Gauge(0.8, 0.016),
        rise=Gauge(38.0, 2.5),
        taps={3: Gauge(95.0, 9.0), 5: Gauge(62.0, 7.0)},
    )
    sets = [
        frozenset(s)
        for s in (
            (),
            ("filter-loaded",),
            ("return-undersized",),
            ("coil-plugged",),
            ("wheel-dirty",),
            ("filter-loaded", "return-undersized"),
            ("filter-loaded", "coil-plugged"),
        )
    ]
    causes = sorted(frozenset().union(*sets))
    members = np.array([[float(c in s) for c in causes] for s in sets])
    weights, _ = PathBelief(evidence, knowledge, causes, blunders=False).weigh(members, causes)
    sampled = np.array([sampled_likelihood(evidence, knowledge, s, 150_000) for s in sets])
    mine, theirs = np.log(weights / weights.sum()), np.log(sampled / sampled.sum())
    assert np.abs(mine - theirs).max() < 0.25  # 1.1 deciban
    assert list(np.argsort(mine)) == list(np.argsort(theirs)) or np.abs(mine - theirs).max() < 0.1
