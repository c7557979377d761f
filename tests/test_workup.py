"""The one door: what holds for every demo case, whatever is in it."""

from __future__ import annotations

import functools
import math
from pathlib import Path

import pytest

from causebook import knowledge
from causebook.belief.verdict import Role
from causebook.casefile.model import Case, Conclusion, Outcome
from causebook.casefile.read import read_cases
from causebook.workup import Workup, work_up
from causebook.writeup.contract import as_json

KNOWN = knowledge.load()
CASES, PROBLEMS = read_cases(Path(__file__).parents[1] / "casefiles", KNOWN)
BY_ID = {case.id: case for case in CASES}


@functools.cache
def worked(id_: str) -> Workup:
    """A demo case worked up once for all tests."""
    return work_up(BY_ID[id_], KNOWN)


def with_conclusion(case: Case, concluded: Conclusion | None) -> Case:
    """The same case with another answer of the technician's, on every visit."""
    visits = tuple(v.model_copy(update={"concluded": concluded}) for v in case.file.visits)
    return case.model_copy(update={"file": case.file.model_copy(update={"visits": visits, "outcome": None})})


def test_the_demo_reads_without_a_problem() -> None:
    assert [str(p) for p in PROBLEMS] == [] and len(CASES) >= 14


@pytest.mark.parametrize("id_", sorted(BY_ID))
def test_the_conclusion_is_never_read(id_: str) -> None:
    case = BY_ID[id_]
    stopped = Conclusion(stop_closed=case.conclusion.stop_closed if case.conclusion else "")
    wrong = stopped.model_copy(update={"root": {"limit-weak": "not tested"}})
    plain, other = (as_json(work_up(with_conclusion(case, c), KNOWN)) for c in (stopped, wrong))
    for word in ("causes", "sets", "findings", "airflow", "next_tests", "what_ifs", "outcome"):
        assert plain[word] == other[word], word


@pytest.mark.parametrize("id_", sorted(BY_ID))
def test_the_same_case_gives_the_same_answer(id_: str) -> None:
    assert as_json(work_up(BY_ID[id_], KNOWN)) == as_json(worked(id_))


@pytest.mark.parametrize("id_", sorted(BY_ID))
def test_the_readings_bear_out_the_story(id_: str) -> None:
    """The root that the demo tells is the core's root, its first cause or in its first set; or the core says that it
    cannot tell where the demo says so too."""
    case, told = BY_ID[id_], worked(id_)
    if case.file.outcome is Outcome.UNDETERMINED:
        assert not told.verdict.answered and told.verdict.would_settle
        return
    assert case.conclusion is not None
    wanted = {c for c in case.conclusion.root if not KNOWN.causes[c].underlying}
    first = {c.id for c in told.verdict.with_role(Role.ROOT)} | {told.verdict.causes[0].id}
    stopped = case.file.outcome is Outcome.STOPPED and any(s.id == "breach" for s in told.stops)
    assert stopped or wanted & (first | set(told.verdict.sets[0].causes)), (wanted, first, told.verdict.sets[0])


@pytest.mark.parametrize("id_", sorted(BY_ID))
def test_weights_add_up_to_the_belief(id_: str) -> None:
    """Evidence that a person can add up by hand: the odds before the first step, plus every step, is the end."""
    told = worked(id_).verdict

    def decibans(p: float) -> float:
        p = min(max(p, 1e-6), 1 - 1e-6)
        return 10 * math.log10(p / (1 - p))

    for cause in (w.cause for w in told.steps[0].weights):
        steps = [next(w.decibans for w in s.weights if w.cause == cause) for s in told.steps]
        start = decibans(told.steps[0].after[cause]) - steps[0]
        assert start + sum(steps) == pytest.approx(decibans(told.steps[-1].after[cause]), abs=1e-6)
        end = told.cause(cause)
        # The end is drawn from twice as many furnaces, and holds what was done and read after the last of these steps.
        assert end is not None and told.steps[-1].after[cause] == pytest.approx(end.probability, abs=0.1)


def test_a_step_more_changes_no_earlier_step() -> None:
    case = BY_ID["narrow-return"]
    whole = worked(case.id).verdict
    half = work_up(case, KNOWN, upto=5).verdict
    after = {s.step: s.after for s in whole.steps}
    for step in half.steps:
        for cause, chance in step.after.items():
            if cause in after[step.step]:
                assert chance == pytest.approx(after[step.step][cause], abs=1e-12)


def test_stops_cannot_be_outvoted() -> None:
    told = worked("bent-flame")
    assert {s.id for s in told.stops} >= {"breach", "co-indoors", "co-in-flue"}
    assert told.verdict.outcome is Outcome.STOPPED


def test_an_open_stop_ends_the_case() -> None:
    case = BY_ID["bent-flame"]
    told = work_up(with_conclusion(case, None), KNOWN)
    assert any(s.open and s.out_of_service for s in told.stops) and told.verdict.outcome is Outcome.STOPPED


@pytest.mark.parametrize(
    ("left", "said"),
    [
        ("all of it", None),
        ("nothing", "nothing looked at afterwards shows it"),
        ("the limit opened again", "after the repair there was still: Limit opened while somebody watched"),
    ],
)
def test_corrected_is_held_against_what_was_looked_at_afterwards(left: str, said: str | None) -> None:
    case = BY_ID["narrow-return"]
    steps = case.steps if left != "nothing" else tuple(s for s in case.steps if not s.step.after)
    if left == "the limit opened again":
        last = max(s.number for s in steps if s.step.after)
        steps = tuple(
            s.model_copy(update={"seen": {**s.seen, "limit-opened-while-watched": "yes"}}) if s.number == last else s
            for s in steps
        )
    problems = work_up(case.model_copy(update={"steps": steps}), KNOWN).problems
    told = [p.found for p in problems if p.rule == "corrected-unshown"]
    assert told == ([] if said is None else [f"{case.file.outcome.value!r}, and {said}"])


def test_cautions_stand_at_the_steps_that_carry_the_risk() -> None:
    told = worked("weak-capacitor")
    assert any(c.step == 0 for c in told.cautions)
    electric = {c.step for c in told.cautions if c.id == "electric"}
    assert any("apacitor" in s.step.do and s.number in electric for s in told.case.steps)


def test_the_first_case_puts_return_and_filter_both_high() -> None:
    """Two causes at once are partners in a ranking over sets, where a list of single causes makes them rivals."""
    causes = {c.id: c for c in worked("narrow-return").verdict.causes}
    assert causes["return-undersized"].probability > 0.8 and causes["filter-too-restrictive"].probability > 0.8
    assert causes["return-undersized"].role is Role.ROOT and causes["filter-too-restrictive"].role is Role.HELPED_BY


def test_nothing_of_later_is_known_after_a_step() -> None:
    """A stop that a later visit closed is open, and nothing concluded or offered later is shown."""
    case = BY_ID["bent-flame"]
    fired = worked(case.id).stops[0]
    then = work_up(case, KNOWN, upto=fired.step)
    assert fired.closed_by and not fired.open
    (stop, *_) = [s for s in then.stops if s.id == fired.id]
    assert stop.open and not stop.closed_by
    assert then.verdict.outcome is Outcome.STOPPED
    assert then.case.conclusion is None and then.case.file.outcome is None
    assert not [o for o in then.options if o.by_author]


@pytest.mark.parametrize("case", BY_ID.values(), ids=BY_ID)
def test_the_last_step_is_the_whole_case_and_earlier_visits_stay_whole(case: Case) -> None:
    assert case.upto(case.steps[-1].number) is case
    if len(case.file.visits) > 1:
        first = next(s for s in case.steps if s.visit == 2)
        cut = case.upto(first.number)
        assert cut.file.visits[0] == case.file.visits[0]
        assert [s.number for s in cut.steps] == list(range(1, first.number + 1))
        assert len(cut.file.visits[1].steps) == 1
