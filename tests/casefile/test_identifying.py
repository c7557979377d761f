"""Nothing that tells whose house it was gets out by habit: not in text, in captions, nor in the names of files."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from PIL import Image

from causebook.casefile import read_case
from causebook.casefile.identifying import identifying, in_file_name
from causebook.knowledge import load


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("Call (503) 555-0142 before you go", "a phone number"),
        ("503-555-0142", "a phone number"),
        ("+1 503.555.0142", "a phone number"),
        ("her cell 555-0142", "a phone number"),
        ("write to a.person@example.com", "an e-mail address"),
        ("12 Mill Street, second floor", "a street address"),
        ("1408 N. Old Orchard Rd", "a street address"),
    ],
)
def test_what_tells_whose_house_it_was(text: str, what: str) -> None:
    assert [found for found, _ in identifying(text)] == [what]


@pytest.mark.parametrize(
    "text",
    [
        "Airflow 400-1200 cfm, static 0.36",
        "Model 503-1100, serial 12-3456",
        "Rise 40 to 70, made 2009-2014",
        "Return drop 14 x 8 in, 12 ft Drop Run",
        "At 2 Static Taps we read 0.36 @ high",
        "The 1 St call of the day",
        "1,025 Btu a cubic foot",
    ],
)
def test_numbers_of_the_trade_are_left_alone(text: str) -> None:
    assert list(identifying(text)) == []


@pytest.mark.parametrize(
    ("name", "told"), [("12-mill-street.jpg", True), ("503-555-0142.jpg", True), ("wheel-2.jpg", False)]
)
def test_the_name_of_a_file_tells_it_too(name: str, told: bool) -> None:
    assert bool(list(in_file_name(name))) is told


def test_each_place_is_a_warning_with_its_line_that_can_be_answered(tmp_path: Path) -> None:
    folder = tmp_path / "a-call"
    folder.mkdir()
    Image.new("RGB", (8, 8)).save(folder / "12-mill-street.jpg")
    data = {
        "title": "A call",
        "complaint": {"family": "high-limit", "words": "Call me at 503-555-0142"},
        "visits": [
            {
                "date": "2024-02-01",
                "steps": [
                    {"do": "Looked", "photo": {"file": "12-mill-street.jpg", "shows": "The door of 12 Mill Street"}}
                ],
            }
        ],
        "private": {"phone": "503-555-0142"},
    }
    for answered, count in (({}, 3), ({"identifying": "An invented number."}, 0)):
        text = yaml.safe_dump(data | {"answered": answered}, sort_keys=False)
        (folder / "case.yml").write_text(text, encoding="utf-8")
        case, problems = read_case(folder, load())
        found = [p for p in problems if p.rule == "identifying"]
        assert case is not None and len(found) == count
        lines = text.splitlines()
        assert all("503-555" in lines[p.line - 1] or "ill" in lines[p.line - 1] for p in found)
