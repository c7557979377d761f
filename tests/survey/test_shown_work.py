"""The numbers worked by hand: the terms shown, put into the formula shown, give the result shown."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from causebook.casefile.model import Case
from causebook.casefile.read import read_cases
from causebook.survey import survey
from causebook.survey.model import Work
from causebook.survey.shown_work import shown_work
from survey.small import KNOWN, case, step

DEMO, _ = read_cases(Path(__file__).parents[2] / "casefiles", KNOWN)
STANDARD_GAS = {
    "elevation": "5000 ft",
    "heating value": "1000 Btu/ft^3",
    "meter dial": "1 ft^3",
    "room": "70 degF",
    "heating value is": "at standard conditions",
}
HEAT = {"supply-air": "135 degF", "return-air": "65 degF", "meter-time": "45 s"}
TWO_VISITS = [
    step(1, {"supply-air": "120 degF", "return-air": "50 degF", "meter-time": "45 s"}),
    step(2, {"supply-air": "150 degF", "return-air": "80 degF", "meter-time": "45 s"}, visit=2),
]
CASES = {
    **{c.id: c for c in DEMO},
    "standard gas": case([step(1, HEAT)], table=None, site=STANDARD_GAS),
    "two visits": case(TWO_VISITS, table=None),
    "clocked again without a rise": case([step(1, HEAT), step(2, {"meter-time": "50 s"}, visit=2)], table=None),
    "trip only": case([step(1, {"supply-air-at-trip": "150 degF", "return-air": "70 degF"})], table=None),
}


def number(text: str) -> float:
    size = float(re.match(r"[−-]?[\d,]*\.?\d+", text)[0].replace(",", "").replace("−", "-"))
    return size / 100 if "%" in text else size


def by_hand(work: Work) -> float:
    """The right side of the formula with its words replaced by the numbers of the terms."""
    text = work.formula.partition(" = ")[2]
    for name, shown in sorted(work.terms, key=lambda term: -len(term[0])):
        text = text.replace(name, f"({number(shown)})")
    return eval(text.replace("×", "*").replace("÷", "/").replace("−", "-"), {"__builtins__": {}})


@pytest.mark.parametrize("name", CASES)
def test_the_terms_shown_give_the_result_shown(name: str) -> None:
    worked: Case = CASES[name]
    works = shown_work(survey(worked, KNOWN))
    assert works
    for work in works:
        # Terms and result are rounded for people.
        assert by_hand(work) == pytest.approx(number(work.result), rel=4e-3, abs=0.006), work


def test_gas_at_standard_conditions_is_corrected_in_the_open() -> None:
    # 3600 × 1000 Btu/ft³ × 1 ft³ ÷ 45 s = 80,000 Btu/h before the correction, first principles; at 5000 ft (24.9 in.
    # Hg, U.S. Standard Atmosphere 1976) and 0.25 psi the meter passes 0.85 of the standard gas.
    one = CASES["standard gas"]
    work = shown_work(survey(one, KNOWN))[0]
    assert work.formula.endswith("× correction")
    assert number(dict(work.terms)["correction"]) == pytest.approx(0.85, abs=0.01)


def test_the_air_is_that_of_the_visit_whose_rise_is_worked() -> None:
    one = CASES["two visits"]
    work = next(w for w in shown_work(survey(one, KNOWN)) if w.title == "Airflow by the rise")
    # 80 °F air at sea level is 6 % lighter than 50 °F air (ideal gas: 509.67 R ÷ 539.67 R).
    assert number(dict(work.terms)["sensible factor"]) == pytest.approx(1.06, abs=0.01)
