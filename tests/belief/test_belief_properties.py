"""What must hold of every diagnosis, whatever the numbers: on simulated calls, and on observations by hypothesis."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.simulation.calls import draw
from tests.simulation.files import in_memory, on_disk
from tests.simulation.visits import visit_of

from causebook import quantity as qty
from causebook.belief.noisy_or import Seen, observations
from causebook.belief.posterior import Reasoner
from causebook.casefile.model import Case, Taken
from causebook.diagnosis import diagnose
from causebook.equipment.furnace.facts import facts_of
from causebook.equipment.furnace.from_survey import evidence_of
from causebook.equipment.furnace.heat_and_air import HeatAndAir
from causebook.knowledge.model import Knowledge
from causebook.survey.survey import survey

CALLS = (11, 23, 34, 45)
ROOT = Path(__file__).parents[2]


def simulated(seed: int, knowledge: Knowledge) -> Case:
    return in_memory(visit_of(draw(seed), knowledge), knowledge)


def marginal(case: Case, knowledge: Knowledge) -> dict[str, float]:
    return diagnose(case, knowledge, show_steps=False).posterior.marginal


@pytest.mark.parametrize("seed", CALLS)
def test_the_order_of_steps_never_changes_the_final_belief(seed: int, knowledge: Knowledge) -> None:
    """Steps that read other things, done the other way round; readings taken again stand where they stood."""
    case = simulated(seed, knowledge)
    before = marginal(case, knowledge)
    taken: set[str] = set()
    free, rest = [], []
    for step in case.steps:
        names = {t.reading for t in step.readings} | set(step.seen)
        (rest if names & taken or step.step.with_ else free).append(step)
        taken |= names
    turned = [*reversed(free), *rest]
    steps = tuple(
        step.model_copy(
            update={"number": n, "readings": tuple(t.model_copy(update={"step": n}) for t in step.readings)}
        )
        for n, step in enumerate(turned, 1)
    )
    assert steps != case.steps
    after = marginal(case.model_copy(update={"steps": steps}), knowledge)
    assert after == pytest.approx(before, abs=1e-9)


@pytest.mark.parametrize("seed", CALLS)
def test_a_reading_that_has_no_bearing_changes_nothing(seed: int, knowledge: Knowledge) -> None:
    case = simulated(seed, knowledge)
    before = marginal(case, knowledge)
    step = case.steps[-1]
    more = tuple(
        Taken(reading=r, value=qty.parse(text, qty.KINDS[knowledge.readings[r].kind]), step=step.number)
        for r, text in (("outdoor-air", "21 degF"), ("faults-counted", "3"), ("co-outdoors", "0 ppm"))
    )
    steps = (*case.steps[:-1], step.model_copy(update={"readings": (*step.readings, *more)}))
    assert marginal(case.model_copy(update={"steps": steps}), knowledge) == pytest.approx(before, abs=1e-12)


def test_what_was_not_looked_for_says_nothing(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    bare = make_case({"seen": {"limit-fault-stored": "yes"}})
    unclear = make_case({"seen": {"limit-fault-stored": "yes", "wheel-dirty": "unclear"}})
    assert marginal(bare, knowledge) == marginal(unclear, knowledge)
    clean = make_case({"seen": {"limit-fault-stored": "yes", "wheel-dirty": "no"}})
    assert marginal(clean, knowledge)["wheel-dirty"] < 0.2 * marginal(bare, knowledge)["wheel-dirty"]


def test_the_same_case_gives_the_same_numbers_in_another_process(knowledge: Knowledge) -> None:
    """Bit for bit, with another hash seed."""
    program = (
        "from causebook.knowledge.loader import load; from causebook.diagnosis import diagnose;"
        "from tests.simulation.calls import draw; from tests.simulation.visits import visit_of;"
        "from tests.simulation.files import in_memory; k = load();"
        "d = diagnose(in_memory(visit_of(draw(23), k), k), k, show_steps=False);"
        "print([(c.id, c.probability.hex(), c.root_chance.hex(), str(c.role)) for c in d.verdict.causes])"
    )
    told = [
        subprocess.run(
            [sys.executable, "-c", program],
            cwd=ROOT,
            capture_output=True,
            encoding="utf-8",
            check=True,
            env={"PYTHONHASHSEED": seed, "PATH": ""},
        ).stdout
        for seed in ("1", "77")
    ]
    assert told[0] == told[1] and "0x" in told[0]


@pytest.mark.parametrize("seed", range(6))
def test_read_from_disk_or_built_in_memory_is_one(seed: int, knowledge: Knowledge, tmp_path: Path) -> None:
    visit = visit_of(draw(seed), knowledge)
    case, problems = on_disk(visit, knowledge, tmp_path)
    assert case is not None, problems
    theirs = {s.number: {t.reading: str(t.value) for t in s.readings} for s in case.steps}
    mine = {s.number: {t.reading: str(t.value) for t in s.readings} for s in in_memory(visit, knowledge).steps}
    assert mine == theirs
    # The log is rounded on its way through the file.
    assert marginal(case, knowledge) == pytest.approx(marginal(in_memory(visit, knowledge), knowledge), abs=0.03)


@pytest.mark.parametrize("seed", CALLS)
def test_probabilities_are_probabilities(seed: int, knowledge: Knowledge) -> None:
    told = diagnose(simulated(seed, knowledge), knowledge, show_steps=False)
    assert told.posterior.chance.sum() == pytest.approx(1)
    assert all(
        0 <= c.probability <= 1 and 0 <= c.root_chance <= c.probability + 1e-9
        for c in told.verdict.causes
        if c.id in told.posterior.marginal
    )
    assert sum(c.root_chance for c in told.verdict.causes) <= 1 + 1e-9


SEEABLE = (
    "filter-dirty",
    "wheel-dirty",
    "coil-matted",
    "registers-closed",
    "limit-wire-poor",
    "setting-low",
    "return-grille-covered",
    "after-gas-work",
    "motor-hot-or-stiff",
    "happens-intermittently",
)


@settings(max_examples=40, deadline=None)
@given(st.dictionaries(st.sampled_from(SEEABLE), st.sampled_from([0.0, 0.1, 0.9, 1.0]), min_size=2), st.randoms())
def test_observations_in_any_order_give_one_belief(knowledge: Knowledge, seen: dict[str, float], random) -> None:
    reasoner = Reasoner(knowledge, ["high-limit"], {"coil": "fitted", "motor": "split capacitor"})
    told = [Seen(f, p, n) for n, (f, p) in enumerate(sorted(seen.items()))]
    mixed = list(told)
    random.shuffle(mixed)
    assert np.array_equal(reasoner.believe(None, told).chance, reasoner.believe(None, mixed).chance)


@settings(max_examples=25, deadline=None)
@given(
    st.sampled_from(
        [
            ("filter-dirty", "filter-loaded"),
            ("wheel-dirty", "wheel-dirty"),
            ("limit-wire-poor", "limit-wiring"),
            ("coil-matted", "coil-plugged"),
        ]
    ),
    st.sets(st.sampled_from(("after-gas-work", "happens-intermittently", "registers-closed"))),
)
def test_a_finding_speaks_for_its_own_cause(knowledge: Knowledge, pair: tuple[str, str], others: set[str]) -> None:
    finding, cause = pair
    reasoner = Reasoner(knowledge, ["high-limit"], {"coil": "fitted"})
    base = [Seen(f, 1.0, 1) for f in sorted(others)]
    none, yes, no = (
        reasoner.believe(None, [*base, *more]).marginal[cause]
        for more in ([], [Seen(finding, 1.0, 2)], [Seen(finding, 0.0, 2)])
    )
    assert no < none < yes


def test_evidence_never_rests_on_the_conclusion(knowledge: Knowledge, demo_cases: list[Case]) -> None:
    """The technician's answer is not read: without it the belief is the same to the last bit."""
    case = next(c for c in demo_cases if c.conclusion)
    visits = tuple(v.model_copy(update={"concluded": None}) for v in case.file.visits)
    silent = case.model_copy(update={"file": case.file.model_copy(update={"visits": visits})})
    assert marginal(case, knowledge) == marginal(silent, knowledge)


def test_views_of_one_fact_count_once(knowledge: Knowledge) -> None:
    reasoner = Reasoner(knowledge, ["high-limit"], {"coil": "fitted"})
    group = [f for f in ("coil-matted", "coil-drop-high") if knowledge.findings[f].group == "coil"]
    assert len(group) == 2
    alone = [reasoner.believe(None, [Seen(f, 1.0, 1)]).marginal["coil-plugged"] for f in group]
    both = reasoner.believe(None, [Seen(f, 1.0, 1) for f in group]).marginal["coil-plugged"]
    assert both == pytest.approx(max(alone), rel=1e-6) or both in alone


def test_belief_after_a_step_is_the_belief_of_the_case_that_ends_there(knowledge: Knowledge) -> None:
    case = simulated(23, knowledge)
    half = len(case.steps) // 2
    upto = diagnose(case.upto(half), knowledge, show_steps=False).posterior.marginal
    cut = case.model_copy(update={"steps": case.steps[:half]})
    evidence = evidence_of(cut, survey(cut, knowledge), knowledge)
    assert evidence is not None
    reasoner = Reasoner(knowledge, ["high-limit"], facts_of(cut))
    model = HeatAndAir(evidence, knowledge, reasoner.sets)
    told = reasoner.believe(model, observations(survey(cut, knowledge), model.weighed, knowledge))
    assert upto == pytest.approx(told.marginal, abs=1e-12)
    assert reasoner.believe(model, []).marginal != pytest.approx(told.marginal)
