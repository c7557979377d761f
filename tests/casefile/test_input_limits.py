"""What is too much for a page is refused or thinned before anything is worked out from it, with its line."""

from __future__ import annotations

from pathlib import Path

import pytest

from causebook.casefile import read_case
from causebook.casefile.desk import MOST_PROBLEMS
from causebook.casefile.fan_csv import MOST_ROWS as MOST_FAN_ROWS
from causebook.casefile.logs import MOST_USED
from causebook.casefile.marked_yaml import LONGEST_TEXT, LONGEST_WORD, MOST_BRACKETS
from causebook.casefile.model import MOST_STEPS, Case
from causebook.casefile.tables import MOST_ROWS
from causebook.knowledge import load
from causebook.problems import Problem, Severity

STEP = "      - {do: Looked}\n"


def read(
    folder: Path, words: str = "Stops", steps: str = STEP, blower: str = "", **files: str
) -> tuple[Case | None, list[Problem]]:
    case = folder / "too-much"
    case.mkdir()
    (case / "case.yml").write_text(
        f"title: A case\ncomplaint: {{family: high-limit, words: '{words}'}}\n{blower}"
        f"visits:\n  - date: 2024-01-01\n    steps:\n{steps}",
        encoding="utf-8",
    )
    for name, text in files.items():
        (case / f"{name}.csv").write_text(text, encoding="utf-8")
    return read_case(case, load())


@pytest.mark.parametrize(
    ("most", "more", "found"),
    [
        ("a " * (LONGEST_TEXT // 2), "a " * (LONGEST_TEXT // 2) + "b", "characters"),
        ("a" * LONGEST_WORD, "a" * (LONGEST_WORD + 1), "a word of"),
        ("[" * MOST_BRACKETS, "[" * (MOST_BRACKETS + 1), "opening brackets"),
        ("word " * 100, "x" * 900_000, "900,000 characters"),
        ("[a] " * 100, "[ " * 8_000, "8,000 opening brackets"),
    ],
)
def test_a_text_that_no_page_can_hold_is_refused_where_it_stands(
    tmp_path: Path, most: str, more: str, found: str
) -> None:
    (tmp_path / "just").mkdir()
    assert read(tmp_path / "just", most)[0] is not None
    case, problems = read(tmp_path, more)
    assert case is None and len(problems) == 1
    assert problems[0].line == 2 and problems[0].field == "words" and found in problems[0].found


def test_a_key_that_never_ends_is_refused(tmp_path: Path) -> None:
    case, problems = read(tmp_path, steps=f"      - {{do: Looked, ? {'k' * 300} : a}}\n")
    assert case is None and "a key is too long" in problems[0].found and problems[0].line == 6


def test_more_mistakes_than_anybody_reads_are_told_in_part(tmp_path: Path) -> None:
    wrong = "".join(f"          no such reading {n}: 1 V\n" for n in range(2_000))
    case, problems = read(tmp_path, steps=f"      - do: Looked\n        read:\n{wrong}")
    assert case is None and len(problems) == MOST_PROBLEMS


@pytest.mark.parametrize(("count", "sound"), [(MOST_STEPS, True), (MOST_STEPS + 1, False)])
def test_a_case_has_a_hundred_steps(tmp_path: Path, count: int, sound: bool) -> None:
    case, problems = read(tmp_path, steps=STEP * count)
    assert (case is not None) is sound, problems


@pytest.mark.parametrize(("count", "sound"), [(50, True), (51, False)])
def test_steps_are_counted_over_all_visits(tmp_path: Path, count: int, sound: bool) -> None:
    case, problems = read(tmp_path, steps=STEP * 50 + "  - date: 2024-01-02\n    steps:\n" + STEP * count)
    assert (case is not None) is sound, problems
    assert sound or [p.field for p in problems] == ["visits.2.steps.51"]


def logged(rows: int) -> str:
    return "time [s], T1 [degF]\n" + "".join(f"{n}, {70 + n % 60}\n" for n in range(rows))


LOG = "      - do: Logged\n        log: {file: log.csv, shows: {supply air: T1}}\n"


def test_a_long_log_is_thinned_with_a_word_and_a_short_one_is_kept_whole(tmp_path: Path) -> None:
    for place, rows in (("short", MOST_USED), ("long", MOST_ROWS)):
        (tmp_path / place).mkdir()
        case, problems = read(tmp_path / place, steps=LOG, log=logged(rows))
        assert case is not None and case.steps[0].log is not None
        seconds = case.steps[0].log.seconds
        if place == "short":
            assert not problems and len(seconds) == rows
        else:
            assert [p.severity for p in problems] == [Severity.WARNING] and "one in 28" in problems[0].found
            assert len(seconds) <= MOST_USED and seconds[0] == 0 and seconds[1] == 28


def test_a_log_without_end_is_refused(tmp_path: Path) -> None:
    case, problems = read(tmp_path, steps=LOG, log=logged(MOST_ROWS + 1))
    assert case is None and "at most 200,000" in problems[0].expected


@pytest.mark.parametrize(("rows", "sound"), [(MOST_FAN_ROWS, True), (MOST_FAN_ROWS + 1, False), (100_000, False)])
def test_a_fan_table_has_as_many_rows_as_a_page_can_hold(tmp_path: Path, rows: int, sound: bool) -> None:
    table = "static [inH2O], high [cfm]\n" + "".join(f"{n / rows:.6f},{1500 - n / rows:.6f}\n" for n in range(rows))
    blower = "blower: {motor: split capacitor, fan table: fan.csv}\n"
    case, problems = read(tmp_path, blower=blower, fan=table)
    assert (case is not None) is sound, problems
    assert sound or "at most 500" in problems[0].expected


def test_a_row_below_a_comment_keeps_its_line(tmp_path: Path) -> None:
    text = "# the gray logger\n\ntime [s], T1 [degF]\n0, 70\n1, cold\n"
    case, problems = read(tmp_path, steps=LOG, log=text)
    assert case is None and problems[0].line == 5
