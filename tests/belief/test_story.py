"""How a diagnosis is told: step by step as it was then, and with the evidence that decided it.

The demo cases are invented; what they teach is common practice, no source.
"""

from __future__ import annotations

import re

import pytest

from causebook.belief.verdict import Role, Verdict, WhatIf
from causebook.casefile.model import Case
from causebook.diagnosis import diagnose
from causebook.knowledge.model import Knowledge
from causebook.survey.survey import survey


def told(id_: str, demo_cases: list[Case], knowledge: Knowledge) -> Verdict:
    return diagnose(next(c for c in demo_cases if c.id == id_), knowledge).verdict


@pytest.mark.parametrize(
    ("id_", "step", "favorite"), [("painted-bond", 1, "rod-dirty"), ("silent-relay", 1, "motor-failing")]
)
def test_the_favorite_of_the_moment_is_followed(
    id_: str, step: int, favorite: str, demo_cases: list[Case], knowledge: Knowledge
) -> None:
    after = told(id_, demo_cases, knowledge).steps[step - 1].after
    assert max(after, key=after.__getitem__) == favorite


def test_what_was_concluded_on_the_job_is_followed(demo_cases: list[Case], knowledge: Knowledge) -> None:
    for case in demo_cases:
        followed = diagnose(case, knowledge).verdict.steps[0].after
        roots = {r for v in case.file.visits if v.concluded for r in v.concluded.root}
        assert {r for r in roots if not knowledge.causes[r].underlying} <= set(followed), case.id


@pytest.mark.parametrize(
    ("id_", "decided"),
    [
        ("lowest-setting", "The blower speed is set lower"),
        ("wrong-orifices", "Orifice marking"),
        ("narrow-return", "Return drop 0.36"),
        ("cold-corner-room", "Room airflow comes back with the door open"),
        ("weak-capacitor", "Run capacitor is weak: reads 2.9 µF"),
    ],
)
def test_what_was_read_or_seen_decides_before_what_was_told(
    id_: str, decided: str, demo_cases: list[Case], knowledge: Knowledge
) -> None:
    assert f": {decided}" in told(id_, demo_cases, knowledge).decided_by


def test_the_reason_of_a_root_is_the_what_if_that_restores(demo_cases: list[Case], knowledge: Knowledge) -> None:
    root = told("narrow-return", demo_cases, knowledge).cause("return-undersized")
    assert root is not None
    assert re.search(r"filter ordinary and clean: rise [56]\d\.\d °F, in range and no trip", root.why), root.why


def test_a_cooling_coil_is_judged_by_its_airflow(demo_cases: list[Case], knowledge: Knowledge) -> None:
    """350 cfm for each of 2.5 tons (standard: title-24)."""
    rows = {row.repairs: row for row in told("summer-ice", demo_cases, knowledge).what_ifs}
    assert not rows[()].restores and rows[("wheel-dirty",)].restores
    assert all("875 cfm" in row.note for row in rows.values())


def test_as_found_never_puts_anything_right(demo_cases: list[Case], knowledge: Knowledge) -> None:
    as_found: list[WhatIf] = [
        row
        for case in demo_cases
        for row in diagnose(case, knowledge, show_steps=False).verdict.what_ifs
        if not row.repairs
    ]
    assert as_found and not any(row.restores for row in as_found)


def test_a_run_seen_folded_is_believed_though_the_furnace_breathes_freely(
    demo_cases: list[Case], knowledge: Knowledge
) -> None:
    """One run starves a room, only many starve the furnace (common practice, no source)."""
    run = told("cold-corner-room", demo_cases, knowledge).cause("supply-run-crushed")
    assert run is not None and run.probability > 0.5 and run.role is Role.HELPED_BY


def test_the_sea_level_set_tells_the_altitude_from_a_wrong_orifice(
    demo_cases: list[Case], knowledge: Knowledge
) -> None:
    verdict = told("thin-air", demo_cases, knowledge)
    weights = {w.cause: w.decibans for w in verdict.steps[-1].weights}
    # A cause that was never a serious suspect is not followed.
    assert weights["altitude-not-derated"] > 10 > 0 > weights.get("orifice-oversize", -1.0)
    assert "pull-orifice" not in [test.id for test in verdict.next_tests]


def test_a_board_whose_outputs_all_came_is_no_suspect(demo_cases: list[Case], knowledge: Knowledge) -> None:
    board = told("evening-gas", demo_cases, knowledge).cause("board-failed")
    assert board is not None and board.role is Role.NOT_IT


def test_a_finding_is_settled_by_the_step_that_read_it(demo_cases: list[Case], knowledge: Knowledge) -> None:
    found = survey(next(c for c in demo_cases if c.id == "bent-flame"), knowledge)
    settled = {f.id: f.step for f in found.findings}
    assert settled["oxygen-low"] == 4 and settled["output-oversized"] == 8
