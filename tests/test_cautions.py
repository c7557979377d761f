"""Cautions come by what was read, seen, changed or fired, and never by a word in the text."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from causebook.casefile import read_case
from causebook.knowledge import load
from causebook.workup import cautions

KNOWN = load()


def called(folder: Path, **step: object) -> set[str]:
    data = {
        "title": "A step",
        "complaint": {"family": "high-limit", "words": "It stops."},
        "visits": [{"date": "2024-02-01", "steps": [{"do": "Looked", **step}]}],
    }
    (folder / "case.yml").write_text(yaml.safe_dump(data, sort_keys=False), encoding="utf-8")
    case, problems = read_case(folder / "case.yml", KNOWN)
    assert case is not None, problems
    return {caution.id for caution in cautions(case, (), KNOWN) if caution.step}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    place = tmp_path / "a-step"
    place.mkdir()
    return place


def test_a_crack_in_the_words_is_no_cracked_heat_exchanger(folder: Path) -> None:
    assert called(folder, told="Crack across one leg of the igniter; the board cover has a crack too") == set()
    assert "breach" in called(folder, seen={"crack seen": "yes"})


@pytest.mark.parametrize(
    ("step", "caution"),
    [
        ({"changed": {"capacitor": "new, 7.5 uF"}}, "electric"),
        ({"changed": {"gas valve": "new"}}, "gas"),
        ({"changed": {"board": "new"}}, "electric"),
        ({"changed": {"orifices": "the listed ones"}}, "gas"),
        ({"read": {"secondary volts": "25 V"}}, "electric"),
        ({"read": {"capacitor": "7 uF"}}, "electric"),
        ({"with": {"filter": "out"}}, "short-test-opened-air-path"),
        ({"seen": {"gas smell": "no"}}, "gas"),
    ],
)
def test_parts_readings_findings_and_states_call_for_their_caution(folder: Path, step: dict, caution: str) -> None:
    assert caution in called(folder, **step)


def test_a_state_that_opens_nothing_calls_for_none(folder: Path) -> None:
    assert "short-test-opened-air-path" not in called(folder, **{"with": {"filter": "clean"}})
