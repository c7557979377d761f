"""What is proposed next: readings are worth what the model does not know already."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from causebook import quantity as qty
from causebook.belief.next_test import Foresight, next_tests
from causebook.belief.root_chance import root_chances
from causebook.casefile.model import Case
from causebook.diagnosis import diagnose
from causebook.knowledge.model import Knowledge

FIRE = {
    "read": {"return-air": "66 degF", "supply-air": "150 degF", "room-temperature": "67 degF"},
    "seen": {"limit-fault-stored": "yes", "limit-opened-while-watched": "no"},
}
MAP = {
    "read": {
        "tap-before-filter": "-0.12 inH2O",
        "tap-after-filter": "-0.52 inH2O",
        "tap-before-coil": "0.22 inH2O",
        "tap-after-coil": "0.10 inH2O",
    }
}


def worth(case: Case, knowledge: Knowledge) -> dict[str, float]:
    return {t.id: t.information for t in diagnose(case, knowledge, show_steps=False).verdict.next_tests}


def foresight(case: Case, knowledge: Knowledge) -> Foresight:
    told = diagnose(case, knowledge, show_steps=False)
    leads = root_chances(told.posterior, knowledge).leads
    return Foresight(told.posterior.likeliest(), leads, {}, knowledge)


def test_pressures_tell_much_while_unread_and_hardly_anything_after(
    knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    before = worth(make_case(FIRE), knowledge)
    after = worth(make_case(FIRE, MAP), knowledge)
    assert before["static-map"] > 0.4
    # What is left is the tap inside the blower compartment, which nobody read.
    assert after.get("static-map", 0.0) < 0.4 * before["static-map"]


def test_what_the_readings_imply_already_tells_nothing_more(
    knowledge: Knowledge, make_case: Callable[..., Case]
) -> None:
    before, after = (foresight(make_case(*steps), knowledge) for steps in ([FIRE], [FIRE, MAP]))
    for finding in ("filter-drop-high", "supply-drop-high", "static-high"):
        assert after.tells(finding) < 0.5 * before.tells(finding), finding


def test_what_was_read_is_what_is_foreseen(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    told = diagnose(make_case(FIRE, MAP), knowledge, show_steps=False)
    model = told.posterior.told
    assert model is not None
    ahead = model.foresee(int(told.posterior.chance.argmax()))
    for part, inwc in (("return", 0.12), ("filter", 0.40), ("coil", 0.12), ("supply", 0.10)):
        assert math.exp(ahead[part].mean) / qty.INWC == pytest.approx(inwc, rel=0.12), part
    assert math.exp(ahead["rise"].mean) == pytest.approx(84 / 1.8, rel=0.05)
    assert ahead["filter-out"].mean < ahead["return-opened"].mean < 0, "the filter takes the most"


def test_a_test_for_other_complaints_is_not_proposed(knowledge: Knowledge, make_case: Callable[..., Case]) -> None:
    told = diagnose(make_case(FIRE), knowledge, show_steps=False)
    leads = root_chances(told.posterior, knowledge).leads

    def proposed(family: str) -> set[str]:
        return {t.id for t in next_tests(told.posterior, leads, {}, knowledge, [], [family])}

    assert "dry-coil-airflow" in proposed("low-cool-air") and "dry-coil-airflow" not in proposed("high-limit")
    assert proposed("low-cool-air") >= proposed("high-limit")
