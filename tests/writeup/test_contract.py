"""The JSON of a case against its own schema, and what its fields say."""

from __future__ import annotations

import json
from dataclasses import replace

import jsonschema
import pytest
import sample
from worked import worked

from causebook.survey.model import FindingState, State
from causebook.writeup.contract import SCHEMA, as_json, json_schema


@pytest.mark.parametrize(
    "made", [sample.workup, sample.stopped, sample.sparse, sample.off_the_fan_line, sample.without_tap_before_coil]
)
def test_it_fits_its_schema_and_is_plain_json(made) -> None:
    jsonschema.Draft202012Validator.check_schema(json_schema())
    work = as_json(worked(made()))
    jsonschema.validate(work, json_schema())
    assert json.loads(json.dumps(work, allow_nan=False)) == work


def test_the_schema_refuses_what_the_contract_does_not_name() -> None:
    work = as_json(worked())
    for broken in (
        work | {"extra": 1},
        work | {"schema": "other/1"},
        work | {"answered": "yes"},
        {k: v for k, v in work.items() if k != "causes"},
    ):
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(broken, json_schema())


def test_its_fields_are_described_by_name() -> None:
    assert set(as_json(worked())) == {
        "schema",
        "case",
        "outcome",
        "answered",
        "decided_by",
        "causes",
        "sets",
        "findings",
        "airflow",
        "rise",
        "input",
        "drops",
        "limit",
        "next_tests",
        "would_settle",
        "stop_use",
        "options",
        "what_ifs",
        "after",
        "problems",
    }
    assert json_schema()["title"] == SCHEMA == "causebook-work/1"


def test_us_units_and_sensible_digits() -> None:
    work = as_json(worked())
    assert work["causes"][0] == {
        "id": "return-undersized",
        "name": "Undersized return",
        "probability": 0.99,
        "root_chance": 0.0,
        "restores_chance": 0.0,
        "belief": "settled",
        "role": "root",
        "why": "repaired alone with ordinary upkeep it brings the rise into range",
    }
    found = work["airflow"][0]
    assert found == {
        "set": "as found",
        "method": "rise and clocked input",
        "value": 695.0,
        "unit": "cfm",
        "sd": 34.8,
        "best": False,
    }
    assert [(r["set"], r["value"], r["unit"]) for r in work["rise"]][0] == ("as found", 74.6, "°F")
    assert work["drops"][0] | {"at_common_airflow": None} == {
        "set": "as found",
        "part": "return",
        "value": 0.37,
        "unit": "in. w.c.",
        "sd": 0.015,
        "at_common_airflow": None,
    }
    assert work["limit"]["opened_at"] == {"value": 194.0, "unit": "°F", "sd": 4.0}
    margin = work["options"][0]["limit_margin"]
    assert margin == {"value": 20.0, "unit": "°F", "sd": 8.0}
    assert work["what_ifs"][0]["limit_margin"]["value"] == -3.0
    assert work["options"][0]["holds"] == "complaint only"


def test_the_root_stands_first_and_then_what_would_do() -> None:
    base = worked()
    causes = [replace(c, root_chance=0.1 * n, restores_chance=0.1 * n) for n, c in enumerate(base.verdict.causes)]
    told = as_json(replace(base, verdict=replace(base.verdict, causes=tuple(causes))))["causes"]
    assert told[0]["role"] == "root"
    rest = [c["root_chance"] + c["restores_chance"] for c in told[1:]]
    assert len(rest) > 1 and rest == sorted(rest, reverse=True)


def test_units_of_the_inside_do_not_show() -> None:
    base = worked()
    option = replace(base.options[0], airflow=replace(base.options[0].airflow, si=0.4, sd_si=0.020))
    work = as_json(replace(base, options=(option,)))
    assert work["options"][0]["airflow"] == {"value": 847.6, "unit": "cfm", "sd": 42.4}  # 1 cfm = 0.471947 L/s


def test_one_best_airflow_in_each_set_and_it_is_listed() -> None:
    work = as_json(worked())
    best = [a["set"] for a in work["airflow"] if a["best"]]
    assert best == ["as found", "changed: filter removed", "changed: filter removed, return opened", "after repair"]


def test_not_looked_for_is_never_a_probability() -> None:
    base = worked()
    finding = FindingState("crack-seen", "Crack seen", State.NOT_LOOKED_FOR, 0.0, 0)
    work = as_json(replace(base, survey=replace(base.survey, findings=(*base.survey.findings, finding))))
    assert work["findings"][-1] == {
        "id": "crack-seen",
        "state": "not looked for",
        "probability": None,
        "readings": [],
        "because": "",
    }


def test_an_open_stop_says_so() -> None:
    (stop,) = as_json(worked(sample.stopped()))["stop_use"]
    assert stop["open"] is True
    assert stop["because"] == "the flame bent when the blower started"
