"""Two looks at one thing: each errs for itself, the second may only repeat the first, and it is worth what it adds."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import numpy as np
import pytest

from causebook.belief.information import of_answer
from causebook.belief.next_test import Foresight, next_tests
from causebook.belief.noisy_or import NoisyOr, Seen, observations
from causebook.belief.root_chance import root_chances
from causebook.belief.verdict import NextTest
from causebook.casefile.model import Case
from causebook.diagnosis import Diagnosis, diagnose
from causebook.knowledge.model import Knowledge
from causebook.survey.model import State
from causebook.survey.survey import SEEN, survey

FIRE = {
    "read": {
        "return-air": "68 degF",
        "supply-air": "150 degF",
        "room-temperature": "68 degF",
        "tap-before-filter": "-0.05 inH2O",
        "tap-after-filter": "-0.16 inH2O",
        "tap-before-coil": "0.60 inH2O",
        "tap-after-coil": "0.48 inH2O",
        "smallest-supply-section": "230 in^2",
    },
    "seen": {"limit-fault-stored": "yes"},
}
ERROR = 0.03


def looked(*answers: str, finding: str = "registers-closed") -> list[dict[str, dict[str, str]]]:
    return [{"seen": {finding: answer}} for answer in answers]


def told(make_case: Callable[..., Case], knowledge: Knowledge, *steps: dict[str, dict[str, str]]) -> Diagnosis:
    return diagnose(make_case(FIRE, *steps), knowledge, show_steps=False)


# ---------------------------------------------------------------- what looks say together


@pytest.fixture
def net(knowledge: Knowledge) -> NoisyOr:
    causes = ["supply-blocked", "filter-loaded"]
    return NoisyOr(knowledge, causes, np.array(list(itertools.product((0.0, 1.0), repeat=2))))


def by_enumeration(looks: tuple[int, ...], there: bool, repeats: float) -> float:
    """Chance of these answers by summing over which looks were fresh (the first always is)."""
    total = 0.0
    for fresh in itertools.product((True, False), repeat=len(looks) - 1):
        chance = 1 - ERROR if bool(looks[0]) == there else ERROR
        for before, look, new in zip(looks, looks[1:], fresh, strict=False):
            right = 1 - ERROR if bool(look) == there else ERROR
            chance *= (1 - repeats) * right if new else repeats * (look == before)
        total += chance
    return total


@pytest.mark.parametrize("looks", [*itertools.product((0, 1), repeat=2), *itertools.product((0, 1), repeat=3)])
def test_answers_are_those_of_enumeration(looks: tuple[int, ...], net: NoisyOr, knowledge: Knowledge) -> None:
    repeats = knowledge.constants["second-look-repeats"].value
    assert net.answers(looks, ERROR) == pytest.approx(
        tuple(by_enumeration(looks, there, repeats) for there in (True, False))
    )


@pytest.mark.parametrize("there", [0, 1])
def test_all_answers_together_are_certain(net: NoisyOr, there: int) -> None:
    assert sum(
        net.answers(looks, ERROR)[1 - there] for looks in itertools.product((0.0, 1.0), repeat=3)
    ) == pytest.approx(1)


def test_one_look_is_the_noisy_channel_and_a_contradiction_says_nothing(net: NoisyOr) -> None:
    assert net.answers((1.0,), ERROR) == pytest.approx((1 - ERROR, ERROR))
    there, gone = net.answers((1.0, 0.0), ERROR)
    assert there == pytest.approx(gone)
    even = net.likelihood(Seen("registers-closed", 0.5, 2, (1.0, 0.0)), ERROR)
    assert even == pytest.approx(np.full(4, even[0]))


def test_the_same_again_weighs_more_than_once_and_less_than_twice(net: NoisyOr) -> None:
    ratios = [np.log(np.divide(*net.answers((1.0,) * n, ERROR))) for n in (1, 2)]
    assert ratios[0] < ratios[1] < 2 * ratios[0]


# ---------------------------------------------------------------- which looks count


def state_of(case: Case, knowledge: Knowledge, finding: str = "registers-closed") -> tuple[State, tuple[float, ...]]:
    found = next(f for f in survey(case, knowledge).findings if f.id == finding)
    return found.state, found.looks


@pytest.mark.parametrize(
    ("answers", "state"),
    [
        (("no", "yes"), State.UNCLEAR),
        (("yes", "yes"), State.PRESENT),
        (("unclear", "no"), State.ABSENT),
        (("yes", "no", "no"), State.ABSENT),
    ],
)
def test_looks_of_one_visit_count_together(
    answers: tuple[str, ...], state: State, knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    assert state_of(make_case(*looked(*answers)), knowledge)[0] is state


def test_a_look_of_a_later_visit_stands_for_itself(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    """In between somebody may have opened them."""
    case = make_case(*looked("yes", "no"))
    case = case.model_copy(update={"steps": (case.steps[0], case.steps[1].model_copy(update={"visit": 2}))})
    assert state_of(case, knowledge) == (State.ABSENT, (0.0,))


@pytest.mark.parametrize("how", ["changed", "with"])
def test_what_somebody_changed_does_not_unsay_what_was_found(
    how: str, knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    found, after = looked("yes", "no")
    case = (
        make_case(found, {"changed": {"registers": "opened"}}, after)
        if how == "changed"
        else make_case(found, after | {"with": {"registers": "opened"}})
    )
    assert state_of(case, knowledge) == (State.PRESENT, (1.0,))
    behind = make_case(found, after | {"with": {"panel": "off"}})
    assert state_of(behind, knowledge)[1] == (1.0, 0.0), "a panel that is off changes nothing behind it"


def test_a_second_look_is_shown_at_its_step(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    steps = diagnose(make_case(FIRE, *looked("yes", "yes")), knowledge).verdict.steps
    assert [(s.finding, s.text) for s in steps[-1].evidence] == [
        ("registers-closed", knowledge.findings["registers-closed"].present)
    ]


def test_of_what_does_not_stand_still_the_last_look_counts(
    knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    """A limit that opened in the end did open."""
    case = make_case(*looked("no", "yes", finding="limit-opened-while-watched"))
    assert state_of(case, knowledge, "limit-opened-while-watched") == (State.PRESENT, (1.0,))


def test_nothing_that_stops_the_furnace_is_unsaid_by_a_second_look(knowledge: Knowledge) -> None:
    assert not [f.id for f in knowledge.findings.values() if f.stands and f.stop]


def test_a_contradicted_look_moves_nothing(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    plain, both = (told(make_case, knowledge, *steps) for steps in ((), looked("no", "yes")))
    assert both.posterior.marginal == pytest.approx(plain.posterior.marginal, abs=1e-9)
    assert not [
        s
        for s in observations(survey(make_case(*looked("no", "yes")), knowledge), frozenset(), knowledge)
        if s.finding == "registers-closed"
    ], "nothing is counted that says nothing"


# ---------------------------------------------------------------- what another look is worth


def proposed(one: Diagnosis, knowledge: Knowledge, *answers: str) -> dict[str, NextTest]:
    """All tests worth anything after these looks at the registers."""
    looks = {"limit-fault-stored": (1.0,)} | ({"registers-closed": tuple(SEEN[a] for a in answers)} if answers else {})
    leads = root_chances(one.posterior, knowledge).leads
    return {t.id: t for t in next_tests(one.posterior, leads, looks, knowledge, ["supply-blocked"], ["high-limit"])}


def test_a_look_on_which_much_hangs_is_proposed_again_but_not_a_third_time(
    knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    never, once, twice = (
        proposed(told(make_case, knowledge, *looked(*["no"] * n)), knowledge, *["no"] * n) for n in range(3)
    )
    assert not never["registers-walk"].again and once["registers-walk"].again
    assert "registers-walk" not in twice
    assert "look again" in once["registers-walk"].reason


def test_an_unclear_look_leaves_the_whole_question_open(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    never, unclear = (
        proposed(told(make_case, knowledge, *looked(*answers)), knowledge, *answers)["registers-walk"]
        for answers in ((), ("unclear",))
    )
    assert unclear.information == pytest.approx(never.information)
    assert unclear.again


def test_a_second_look_tells_less_than_the_first(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    first = proposed(told(make_case, knowledge), knowledge)["registers-walk"]
    for answer in ("no", "yes"):
        second = proposed(told(make_case, knowledge, *looked(answer)), knowledge, answer).get("registers-walk")
        assert second is None or second.information < 0.7 * first.information


@pytest.mark.parametrize("answer", ["no", "yes"])
def test_the_second_look_is_worth_what_its_answers_would_change(
    answer: str, knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    """Against the belief after each answer: the chance foreseen of "yes" is the weight that mixes them."""
    once = told(make_case, knowledge, *looked(answer))
    belief = once.posterior.likeliest(1 - 1e-12)
    leads = root_chances(belief, knowledge).leads
    look = 1.0 if answer == "yes" else 0.0
    ahead = Foresight(belief, leads, {"registers-closed": (look,)}, knowledge)
    error = knowledge.constants["wrong-observation-share"].value
    likelihood = [
        belief.net.likelihood(Seen("registers-closed", look, 1, looks), error) for looks in ((look,), (look, 1.0))
    ]
    assert ahead.tells("registers-closed") == pytest.approx(of_answer(ahead.joint, likelihood[1] / likelihood[0]))


@pytest.mark.parametrize("looks", [1, 2])
def test_a_look_of_an_earlier_visit_may_be_taken_anew(
    looks: int, knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    """It would take the place of the earlier ones (`survey`): no repetition, and no third look."""
    case = make_case(
        {**FIRE, "read": {**FIRE["read"], "co-indoors": "0 ppm"}},
        *looked(*["no"] * looks),
        {"read": {"room-temperature": "68 degF"}},
    )
    later = case.model_copy(update={"steps": (*case.steps[:-1], case.steps[-1].model_copy(update={"visit": 2}))})
    proposed = diagnose(later, knowledge, show_steps=False).verdict.next_tests
    assert [t.again for t in proposed if t.id == "registers-walk"] == [False]
