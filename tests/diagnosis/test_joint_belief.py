"""Causes that act together are weighed together, and every reading counts in what is built on the belief."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from causebook.diagnosis.airpath_belief import PathBelief
from tests.diagnosis.sampling import drawn, solved

from causebook.belief.posterior import Reasoner
from causebook.casefile.model import Case
from causebook.equipment.furnace.evidence import Evidence, Gauge
from causebook.equipment.furnace.from_survey import evidence_of, facts_of, observations
from causebook.knowledge.model import Knowledge
from causebook.quantity import INWC
from causebook.survey.survey import survey

BASE: dict[str, Any] = {
    "sensible": 1206.0,
    "rated_airflow": 0.55,
    "plate_input": 23000.0,
    "efficiency": Gauge(0.8, 0.016),
}


def test_what_acts_on_the_limit_acts_on_its_own(knowledge: Knowledge) -> None:
    """A limit that opens early and air that comes straight back are two readings of two things: each explains its own,
    and only both together explain both."""
    evidence = Evidence(
        **BASE,
        limit_opens=366.5,
        limit_found=Gauge(347.0, 2.0),
        return_above_room=Gauge(8.3, 1.0),
        rise=Gauge(33.0, 2.0),
        return_temperature=Gauge(302.0, 1.0),
    )
    limit = PathBelief(evidence, knowledge, ["limit-weak", "recirculation", "baffle-missing"]).limit
    of = {state.causes: state.likelihood for state in limit.states}
    none, early, back = frozenset(), frozenset({"limit-weak"}), frozenset({"recirculation"})
    assert len(of) == 8
    assert of[early | back] * of[none] == pytest.approx(of[early] * of[back])
    assert of[early | back] > 5 * max(of[early], of[back])
    assert limit.states[limit.index(early | back)].causes == early | back


def test_of_two_that_open_it_early_the_earlier_counts(knowledge: Knowledge) -> None:
    limit = PathBelief(Evidence(**BASE), knowledge, ["limit-weak", "limit-wrong"]).limit
    both = limit.states[limit.index(["limit-weak", "limit-wrong"])]
    assert both.opens.value == min(state.opens.value for state in limit.states)


def test_causes_that_come_and_go_by_enumeration(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    """The likelihood of a set is the mean over which of its causes were there while it was read."""
    case = make_case(
        {
            "read": {
                "supply-air": "122 degF",
                "return-air": "70 degF",
                "meter-time": "45 s",
                "tap-after-filter": "-0.20 inH2O",
                "tap-before-coil": "0.28 inH2O",
            }
        }
    )
    evidence = evidence_of(case, survey(case, knowledge), knowledge)
    reasoner = Reasoner(knowledge, ["high-limit"], facts_of(case))
    sets = reasoner.sets
    mixed = dict(zip((sets.names(n) for n in range(len(sets.prior))), reasoner._measured(evidence)[1], strict=True))
    bare = PathBelief(evidence, knowledge, sets.causes).weigh(sets.members, sets.causes)[0]
    there = dict(zip(mixed, bare, strict=True))
    hidden = {
        c: 0.7 * knowledge.causes[c].links["happens-intermittently"]
        for c in sets.causes
        if knowledge.causes[c].effects and knowledge.causes[c].links.get("happens-intermittently", 0) >= 0.3
    }
    assert len(hidden) >= 3
    for names in itertools.combinations(sorted({*hidden, "filter-loaded"}), 3):
        expected = 0.0
        for gone in itertools.product((False, True), repeat=3):
            share = np.prod(
                [hidden.get(c, 0.0) if away else 1 - hidden.get(c, 0.0) for c, away in zip(names, gone, strict=True)]
            )
            expected += share * there[frozenset(c for c, away in zip(names, gone, strict=True) if not away)]
        assert mixed[frozenset(names)] == pytest.approx(expected, rel=1e-9)


# ---------------------------------------------------------------- what-ifs see every reading: against Monte Carlo


def sampled(evidence: Evidence, knowledge: Knowledge, cause: str, samples: int = 400_000) -> dict[str, float]:
    """Mean drops [Pa] and airflow of houses with one cause, weighted by how well they fit tap 4, static and rise."""
    rng = np.random.default_rng(5)
    path = PathBelief(evidence, knowledge, [cause])
    has = drawn(path, [cause], rng, samples)
    if path.states["inlet"].index([cause]) == 0:
        has["inlet"] = np.ones(samples)
    has["inlet"] = np.maximum(has["inlet"], 1.0)
    flow, drops = solved(path, has)
    outside = drops["return"] + drops["filter"] + drops["coil"] + drops["supply"]
    box = drops["return"] + drops["filter"] + drops["inlet"]
    rise = evidence.plate_input * has["input"] * evidence.efficiency.value / (evidence.sensible * flow)
    weight = np.exp(-0.5 * ((rise - evidence.rise.value) / evidence.rise.sd) ** 2)
    if 4 in evidence.taps:
        weight *= np.exp(-0.5 * ((box - evidence.taps[4].value) / evidence.taps[4].sd) ** 2)
    if evidence.static:
        excess = drops["inlet"] * (1 - 1 / has["inlet"])
        off = (outside + excess - evidence.static.value) / np.hypot(evidence.static.sd, 0.03 * INWC)
        weight *= np.exp(-0.5 * off**2)
    told = {**drops, "total": outside, "airflow": flow}
    return {name: float((weight * value).sum() / weight.sum()) for name, value in told.items()}


@pytest.mark.parametrize("box", [90.0, 150.0, 230.0])
def test_a_tap_in_the_blower_box_tells_what_the_inlet_takes(box: float, knowledge: Knowledge) -> None:
    evidence = Evidence(**BASE, rise=Gauge(38.0, 2.5), taps={4: Gauge(box, 12.0)})
    path = PathBelief(evidence, knowledge, ["inlet-fitting-bad"])
    told, expected = path.moments(frozenset({"inlet-fitting-bad"})), sampled(evidence, knowledge, "inlet-fitting-bad")
    assert told.drops["inlet"].value == pytest.approx(expected["inlet"], rel=0.20)
    assert told.airflow.value == pytest.approx(expected["airflow"], rel=0.06)


@pytest.mark.parametrize("static", [90.0, 130.0, 190.0])
def test_static_read_as_one_number_tells_what_the_parts_take(static: float, knowledge: Knowledge) -> None:
    evidence = Evidence(**BASE, rise=Gauge(38.0, 2.5), static=Gauge(static, 6.0))
    path = PathBelief(evidence, knowledge, ["filter-loaded"])
    found, expected = path.moments(frozenset({"filter-loaded"})), sampled(evidence, knowledge, "filter-loaded")
    total = sum(found.drops[p].value for p in ("return", "filter", "coil", "supply"))
    assert total == pytest.approx(expected["total"], rel=0.10)
    assert found.drops["filter"].value == pytest.approx(expected["filter"], rel=0.20)


# ---------------------------------------------------------------- nothing twice


def test_static_that_follows_from_the_taps_is_weighed_with_them(
    knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    taps = {"tap-before-filter": "-0.10 inH2O", "tap-before-coil": "0.28 inH2O"}
    inside = {
        "furnace": {
            "kind": "non-condensing",
            "input": "80000 Btu/h",
            "output": "64000 Btu/h",
            "counted as external": ["return", "coil", "supply"],
        }
    }
    for read, more, there in (
        (taps, inside, False),
        ({"external-static": "0.38 inH2O"}, inside, False),
        ({"external-static": "0.38 inH2O"}, {}, True),
    ):
        case = make_case({"read": read}, **more)
        evidence = evidence_of(case, survey(case, knowledge), knowledge)
        assert evidence is not None and (evidence.static is not None) is there


def test_the_airflow_for_cooling_is_weighed_once(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    case = make_case({"read": {"flow-grid-airflow": "720 cfm"}, "mode": "cooling"}, family="low-cool-air")
    surveyed = survey(case, knowledge)
    low = surveyed.finding("cooling-airflow-low")
    assert low is not None and low.probability > 0.9
    assert "cooling-airflow-low" not in {seen.finding for seen in observations(surveyed, measured=True)}
    assert "cooling-airflow-low" in {seen.finding for seen in observations(surveyed, measured=False)}
    evidence = evidence_of(case, surveyed, knowledge)
    assert evidence is not None and evidence.airflow is not None
