"""A slip of the pen is doubted with what was probably meant, struck until answered, and never silences the case."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from causebook import quantity as qty
from causebook.casefile import read_case
from causebook.casefile.meant import meant
from causebook.casefile.model import Case
from causebook.knowledge import load
from causebook.knowledge.bounds import read_bounds
from causebook.problems import Problem, Severity
from causebook.survey.survey import survey

KNOWN = load()


def read(
    folder: Path,
    taken: dict[str, object] | None = None,
    date: str = "2024-02-01",
    answered: dict[str, str] | None = None,
    **step: object,
) -> tuple[Case | None, list[Problem]]:
    case = folder / "a-slip"
    case.mkdir(exist_ok=True)
    data = {
        "title": "A slip",
        "complaint": {"family": "high-limit", "words": "It stops."},
        "answered": answered or {},
        "visits": [{"date": date, "steps": [{"do": "Read", "read": taken or {}, **step}]}],
    }
    (case / "case.yml").write_text(yaml.safe_dump(data, sort_keys=False), encoding="utf-8")
    return read_case(case, KNOWN)


def struck(case: Case | None) -> set[str]:
    assert case is not None
    return {voided.taken.reading for voided in survey(case, KNOWN).voided}


@pytest.mark.parametrize(
    ("typed", "kind", "plausible", "likely"),
    [
        ("416 degF", qty.PROBE_TEMPERATURE, "40 degF to 250 degF", "146"),
        ("1460 degF", qty.PROBE_TEMPERATURE, "40 degF to 250 degF", "146"),
        ("0.062 inH2O", qty.AIR_PRESSURE, "0.1 inH2O to 2 inH2O", "0.62"),
        ("0.36 inH2O", qty.AIR_PRESSURE, "-2 inH2O to 0 inH2O", "-0.36"),
        ("11446 degF", qty.PROBE_TEMPERATURE, "40 degF to 250 degF", "114.46"),
        ("900 degF", qty.PROBE_TEMPERATURE, "40 degF to 250 degF", "90"),
        ("9e30 V", qty.VOLTAGE, "0 V to 300 V", ""),
    ],
)
def test_what_was_meant(typed: str, kind: qty.Kind, plausible: str, likely: str) -> None:
    assert meant(qty.parse(typed, kind), kind, read_bounds(plausible, kind)) == likely


def test_digits_exchanged_are_doubted_with_what_was_meant_and_settle_nothing(tmp_path: Path) -> None:
    case, problems = read(tmp_path, {"supply air": "416 degF", "return air": "69 degF"})
    doubt = next(p for p in problems if p.rule == "reading-doubtful")
    assert doubt.severity is Severity.WARNING and doubt.line and "meant 146?" in doubt.hint
    assert struck(case) == {"supply-air"}
    assert case is not None and not survey(case, KNOWN).sets[0].rise


def test_what_nothing_shows_is_refused_with_what_was_meant(tmp_path: Path) -> None:
    case, problems = read(tmp_path, {"supply air": "1460 degF"})
    assert case is None and "meant 146?" in problems[0].found and problems[0].line


@pytest.mark.parametrize(
    ("reading", "sound", "odd"),
    [
        ("supply air", "250 degF", "251 degF"),
        ("supply air", "40 degF", "39 degF"),
        ("return air", "120 degF", "121 degF"),
        ("rise", "160 degF", "161 degF"),
        ("flow grid airflow", "200 cfm", "199 cfm"),
        ("clocked input", "8000 Btu/h", "7900 Btu/h"),
        ("capacitor", "150 uF", "151 uF"),
    ],
)
def test_a_reading_is_doubted_just_beyond_what_is_plausible(tmp_path: Path, reading: str, sound: str, odd: str) -> None:
    for text, doubted in ((sound, False), (odd, True)):
        case, problems = read(tmp_path, {reading: text})
        assert (struck(case) != set()) is doubted, text
        assert any(p.rule == "reading-doubtful" for p in problems) is doubted


@pytest.mark.parametrize(
    ("mode", "supply", "back", "doubted"),
    [
        ("", "69 degF", "146 degF", {"return-air"}),  # the return alone is out already
        ("", "60 degF", "75 degF", set()),
        ("", "60 degF", "76 degF", {"supply-air", "return-air"}),
        ("", "228 degF", "68 degF", set()),
        ("", "229 degF", "68 degF", {"supply-air", "return-air"}),
        ("cooling", "55 degF", "75 degF", set()),
        ("cooling", "91 degF", "75 degF", {"supply-air", "return-air"}),
    ],
)
def test_supply_and_return_are_held_against_each_other(
    tmp_path: Path, mode: str, supply: str, back: str, doubted: set[str]
) -> None:
    case, _ = read(tmp_path, {"supply air": supply, "return air": back}, mode=mode)
    assert struck(case) == doubted


def test_an_answer_lets_the_reading_count(tmp_path: Path) -> None:
    read_in = {"supply air": "256 degF", "return air": "100 degF"}
    case, problems = read(tmp_path, read_in, answered={"reading-doubtful": "Read twice, two meters."})
    assert not struck(case) and all(p.rule != "reading-doubtful" for p in problems)


def test_swapped_hoses_strike_themselves_and_nothing_else(tmp_path: Path) -> None:
    taken = {"tap before filter": "0.20 inH2O", "tap before coil": "0.50 inH2O", "supply air": "140 degF"}
    case, problems = read(tmp_path, taken)
    assert [p.severity for p in problems if p.rule == "pressure-order"] == [Severity.WARNING]
    assert struck(case) == {"tap-before-filter"}


@pytest.mark.parametrize(
    ("after", "out_of_order"), [("-0.36 inH2O", False), ("-0.33 inH2O", False), ("-0.30 inH2O", True)]
)
def test_neighbors_out_of_order_by_less_than_their_error_are_no_error(
    tmp_path: Path, after: str, out_of_order: bool
) -> None:
    # Manometer: 2 % and 0.01 in. w.c. each; twice the two together is 0.035 at 0.35 in. w.c.
    case, _ = read(tmp_path, {"tap before filter": "-0.35 inH2O", "tap after filter": after})
    assert struck(case) == ({"tap-before-filter", "tap-after-filter"} if out_of_order else set())


def test_a_rise_that_is_not_the_difference_gives_way_to_the_two_temperatures(tmp_path: Path) -> None:
    case, _ = read(tmp_path, {"supply air": "140 degF", "return air": "70 degF", "rise": "60 degF"})
    assert struck(case) == {"rise"}


@pytest.mark.parametrize(
    ("part", "known"),
    [("wheel", True), ("whel", False), ("flame sensor", True), ("second return grille", True), ("thing", False)],
)
def test_a_changed_part_is_one_that_the_library_knows(tmp_path: Path, part: str, known: bool) -> None:
    case, problems = read(tmp_path, changed={part: "clean"})
    unknown = [p for p in problems if p.rule == "part-unknown"]
    assert case is not None and bool(unknown) is not known
    assert known or unknown[0].line
    assert part != "whel" or "'wheel'" in unknown[0].hint
