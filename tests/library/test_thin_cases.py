"""Thin cases are honest: what nobody tested counts nowhere as proven, and no page claims a measurement."""

from __future__ import annotations

from pathlib import Path

import pytest

from causebook import knowledge
from causebook.casefile import read_case
from causebook.library.record import Record, record_of
from causebook.workup import Workup, work_up
from causebook.writeup.customer import customer_sections

KNOWN = knowledge.load()
NOTE = """\
title: "No heat, replaced board, works now"
complaint: {family: no ignition, words: "No heat."}
visits:
  - date: 2025-11-30
    steps:
      - do: Replaced board, works now
        changed: {board: new}
    concluded:
      root: {board failed: "%s"}
"""


def worked(folder: Path, text: str) -> Workup:
    folder.mkdir()
    (folder / "case.yml").write_text(text, encoding="utf-8")
    case, problems = read_case(folder, KNOWN)
    assert case is not None, problems
    return work_up(case, KNOWN)


def record(folder: Path, reason: str) -> Record:
    return record_of(worked(folder, NOTE % reason))


def test_a_root_that_was_not_tested_is_none(tmp_path: Path) -> None:
    assert record(tmp_path / "note", "not tested, works with a new board").roots == ()
    assert record(tmp_path / "case", "24 V in, nothing out; 24 V out with a new one").roots == ("board-failed",)


def test_the_customer_of_a_note_reads_of_no_measurement(tmp_path: Path) -> None:
    page = " ".join(body for _, body in customer_sections(worked(tmp_path / "note", NOTE % "not tested")))
    assert "Nothing was measured on this visit" in page and "board" in page
    assert "We measured" not in page and "come back for a further test" not in page


@pytest.mark.parametrize(
    ("told", "fires"),
    [
        ("Crack across one leg of the igniter", False),
        ("Board cover has a crack", False),
        ("The heat exchanger looked sound", False),
        ("no matter\n        seen: {crack seen: yes}", True),
    ],
)
def test_a_word_raises_no_alarm_that_its_part_does_not(tmp_path: Path, told: str, fires: bool) -> None:
    workup = worked(
        tmp_path / "case", NOTE.replace("        changed", f"        told: {told}\n        changed") % "not tested"
    )
    assert any(c.id == "breach" for c in workup.cautions) is fires
