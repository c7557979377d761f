"""A set of causes must say why it is hot: what correcting all of it would not end is not what is wrong."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from causebook.diagnosis.airpath_belief import PathBelief
from causebook.diagnosis.repair_gains import Repairs, accounts
from tests.diagnosis.conftest import PLATE, SITE
from tests.diagnosis.sampling import drawn, solved
from tests.simulation.calls import draw
from tests.simulation.files import in_memory
from tests.simulation.visits import visit_of

from causebook.belief.cause_sets import holds, priors
from causebook.casefile.model import Case
from causebook.diagnosis import diagnose
from causebook.equipment.furnace.evidence import Evidence, Gauge
from causebook.equipment.furnace.from_survey import facts_of
from causebook.knowledge.model import Knowledge

HOT = {
    "read": {
        "return-air": "68 degF",
        "room-temperature": "68 degF",
        "supply-air-at-trip": "158 degF",
        "time-to-trip": "400 s",
        "meter-time": "93.2 s",
        "tap-before-filter": "-0.05 inH2O",
        "tap-after-filter": "-0.44 inH2O",
        "tap-before-coil": "0.16 inH2O",
        "tap-after-coil": "0.06 inH2O",
    },
    "seen": {"limit-opened-while-watched": "yes"},
}


def test_what_was_seen_but_takes_nothing_is_not_the_root(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    """A covered grille before a return that takes 0.05 in. w.c. is found, and beside the point."""
    told = diagnose(make_case(HOT, {"seen": {"return-grille-covered": "yes"}}), knowledge, show_steps=False).verdict
    blocked = told.cause("return-blocked")
    filters = [told.cause(c) for c in ("filter-loaded", "filter-too-restrictive")]
    assert blocked.root_chance < 0.08 < 0.2 < blocked.probability
    assert sum(c.root_chance for c in filters) > 0.55


def test_a_limit_that_opened_by_heat_opened_for_a_reason(knowledge: Knowledge) -> None:
    """Where a hot furnace tripped while watched, nothing is believed less than that nothing is wrong."""
    hot = [call for call in map(draw, range(60)) if call.hot and not call.away]
    visits = [visit for visit in (visit_of(call, knowledge) for call in hot) if visit.trip is not None][:12]
    assert len(visits) == 12
    for visit in visits:
        belief = diagnose(in_memory(visit, knowledge), knowledge, show_steps=False).posterior
        assert belief.chance[belief.sets.members.sum(axis=1) == 0].sum() < 0.02, visit.call.seed


def test_heat_that_never_could_is_told_by_what_was_read(knowledge: Knowledge) -> None:
    evidence = Evidence(
        sensible=1206.0, rated_airflow=0.55, plate_input=23000.0, rise=Gauge(20.0, 1.0), limit_opens=1e5
    )
    path = PathBelief(evidence, knowledge, ["filter-loaded"])
    for present in (frozenset[str](), frozenset({"filter-loaded"})):
        opened, read = path.joint(present, opened=True), path.joint(present)
        assert opened.by_total.sum() == pytest.approx(1) and np.array_equal(opened.by_total, read.by_total)


def test_one_stage_is_not_mismatched(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    def chances(stages: int) -> dict[str, float]:
        case = make_case({}, furnace={**PLATE, "stages": stages})
        return priors(knowledge, ["high-limit"], facts_of(case))

    assert "stage-mismatch" not in chances(1) and chances(2)["stage-mismatch"] > 0


def test_every_fact_that_changes_priors_can_be_told_by_a_case(
    knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    for rule in knowledge.context:
        told = []
        for value in {
            "coil": [{"none": True}, {"cooling": "3 ton"}],
            "motor": ["split capacitor", "constant torque", "constant airflow"],
            "stages": [1, 2],
            "elevation": ["0 ft", "6000 ft"],
        }.get(rule.fact, [0, 1]):
            more = {
                "coil": {"coil": value},
                "motor": {"motor": value},
                "elevation": {"site": {**SITE, "elevation": value}},
                "stages": {"furnace": {**PLATE, "stages": value}},
                "zoned": {"furnace": {**PLATE, "zoned": bool(value)}},
                "fuel changed": {"furnace": {**PLATE, "fuel changed": bool(value)}},
                "condensing": {"furnace": {**PLATE, "kind": "condensing" if value else "non-condensing"}},
                "age": {"furnace": {**PLATE, "made": 2024 if value else 1999}},
                "limit replaced": {"furnace": {**PLATE, "limit": {"opens": "200 degF", "replaced": bool(value)}}},
            }[rule.fact]
            told.append(holds(rule, facts_of(make_case({}, **more))))
        assert any(told) and not all(told), rule


# ---------------------------------------------------------------- against Monte Carlo


def sampled(evidence: Evidence, knowledge: Knowledge, present: frozenset[str], samples: int) -> float:
    """Share of houses with these causes, like the readings and with the limit opened by heat, in which correcting all
    of them closes the limit and brings the rise into range."""
    rng = np.random.default_rng(11)
    path = PathBelief(evidence, knowledge, present)
    draw = drawn(path, present, rng, samples)
    factor = knowledge.constants["limit-body-factor"]
    share = evidence.efficiency.value + evidence.efficiency.sd * rng.standard_normal(samples)
    body = factor.value + factor.spread * rng.standard_normal(samples)
    opening = knowledge.constants["limit-opening-spread"].value * 5 / 9
    opens = evidence.limit_opens + opening * rng.standard_normal(samples)

    def run(has: dict[str, np.ndarray]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        flow, drops = solved(path, has)
        rise = evidence.plate_input * has["input"] * share / (evidence.sensible * flow)
        return drops["return"] + drops["filter"], drops["coil"] + drops["supply"], rise

    suction, pressure, rise = run(draw)
    weight = (evidence.return_temperature.value + body * rise > opens).astype(float)
    for value, gauge in ((suction, evidence.taps[3]), (pressure, evidence.taps[5]), (rise, evidence.rise)):
        weight *= np.exp(-0.5 * ((gauge.value - value) / gauge.sd) ** 2)
    acting = {e.on for c in present for e in knowledge.causes[c].effects}
    sound = {
        n: np.minimum(one, 1.0) if n in acting or (n == "blower" and "motor" in acting) else one
        for n, one in draw.items()
    }
    if acting & {"motor", "blower"}:
        sound["blower"] = np.ones(samples)
    *_, after = run(sound)
    good = (evidence.return_temperature.value + body * after < opens) & (after < 1.02 * evidence.rise_maximum)
    return float((weight * good).sum() / weight.sum())


@pytest.mark.parametrize(("suction", "pressure"), [(105.0, 45.0), (60.0, 100.0), (40.0, 40.0)])
def test_accounting_agrees_with_sampling(suction: float, pressure: float, knowledge: Knowledge) -> None:
    """To first order, with every cause asked alone: near enough to tell sets that say why it is hot from others."""
    evidence = Evidence(
        sensible=1206.0,
        rated_airflow=0.55,
        plate_input=23000.0,
        efficiency=Gauge(0.8, 0.016),
        rise=Gauge(41.0, 4.0),
        rise_maximum=36.0,
        limit_opens=366.5,
        return_temperature=Gauge(293.0, 1.0),
        taps={3: Gauge(suction, 15.0), 5: Gauge(pressure, 15.0)},
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
            ("coil-plugged", "wheel-dirty"),
        )
    ]
    causes = sorted(frozenset().union(*sets))
    members = np.array([[float(c in s) for c in causes] for s in sets])
    path = PathBelief(evidence, knowledge, causes, blunders=False)
    mine = accounts(Repairs(path, knowledge, evidence.rise_maximum), members, causes)
    theirs = np.array([sampled(evidence, knowledge, s, 400_000) for s in sets])
    assert mine[0] == pytest.approx(0.0, abs=1e-9) and theirs[0] == 0.0
    assert np.abs(mine - theirs).max() < 0.25, (mine.round(2), theirs.round(2))
