"""Every mistake an author can make is one located message that says what to do, and never a traceback."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from causebook.casefile import read_case, read_cases
from causebook.knowledge import Knowledge

Edit = Callable[..., Path]

# What is changed in the sound case -> the field, and words the message must hold.
MISTAKES: dict[str, tuple[tuple[str, str], str, tuple[str, ...]]] = {
    "wrong type": (
        ('  words: "It blows cool air every few minutes."', "  words: [cold, air]"),
        "complaint.words",
        ("a list stands here", "a text"),
    ),
    "unknown key": (
        ("  elevation: 620 ft", "  elevations: 620 ft"),
        "site.elevations",
        ("unknown key", "did you mean 'elevation'"),
    ),
    "key of another block": (
        ("study: {level: 2,", "elevation: 5 ft\nstudy: {level: 2,"),
        "elevation",
        ("unknown key", "belongs under `site`"),
    ),
    "bare number": (
        ("outlet maximum: 160 degF", "outlet maximum: 160"),
        "furnace.outlet maximum",
        ("the unit is missing", "19 degF"),
    ),
    "wrong unit": (("meter dial: 2 ft^3", "meter dial: 2 ft"), "site.meter dial", ("ft is not a unit of volume",)),
    "no unit at all": (("output: 48000 Btu/h", "output: 48000 Bth"), "furnace.output", ("unknown unit 'Bth'",)),
    "range upside down": (("rise: 30 to 60 degF", "rise: 60 to 30 degF"), "furnace.rise", ("from low to high",)),
    "range without a unit": (("rise: 30 to 60 degF", "rise: 30 to 60"), "furnace.rise", ("the unit is missing",)),
    "unknown word": (
        ("kind: non-condensing", "kind: condensating"),
        "furnace.kind",
        ("'non-condensing'", "did you mean"),
    ),
    "unknown outcome": (("outcome: settled and corrected", "outcome: fixed"), "outcome", ("'stopped for safety'",)),
    "unknown reading": (
        ("tap after coil: 0.11 inH2O", "tap behind coil: 0.11 inH2O"),
        "visits.1.steps.4.read.tap behind coil",
        ("unknown reading", "did you mean 'tap-"),
    ),
    "finding as reading": (
        ("oxygen in flue: 8.1 %", "wheel dirty: 8.1 %"),
        "visits.1.steps.3.read.wheel dirty",
        ("write it under `seen`",),
    ),
    "unknown finding": (
        ("wheel dirty: no", "weel dirty: no"),
        "visits.1.steps.2.seen.weel dirty",
        ("unknown finding", "did you mean 'wheel-dirty'"),
    ),
    "cause as finding": (
        ("wheel dirty: no", "filter loaded: no"),
        "visits.1.steps.2.seen.filter loaded",
        ("is a cause", "what shows it: filter-dirty, wheel-dirty"),
    ),
    "unknown cause": (
        ("root: {return-undersized:", "root: {return-undersize:"),
        "visits.1.concluded.root.return-undersize",
        ("did you mean 'return-undersized'",),
    ),
    "unknown family": (("family: high-limit", "family: hi-limit"), "complaint.family", ("did you mean 'high-limit'",)),
    "same finding twice": (
        ("wheel dirty: no", "wheel dirty: no, wheel_dirty: yes"),
        "visits.1.steps.2.seen.wheel_dirty",
        ("written twice", "line 48"),
    ),
    "same key twice": (
        ("  outdoors: 25 degF", "  elevation: 1 ft\n  outdoors: 25 degF"),
        "elevation",
        ("written twice", "line 10"),
    ),
    "same key twice, spelled apart": (
        ("  outdoors: 25 degF", "  Outdoors: 25 degF\n  outdoors: 25 degF"),
        "site.outdoors",
        ("written twice",),
    ),
    "neither yes nor no": (
        ("registers closed: unclear", "registers closed: maybe"),
        "visits.1.steps.2.seen.registers closed",
        ("'maybe'", "'unclear'"),
    ),
    "date": (("date: 2025-01-20", "date: 20 January"), "visits.2.date", ("'20 January'", "2024-01-24")),
    "date as a number": (("date: 2025-01-20", "date: 1737331200"), "visits.2.date", ("a date",)),
    "visits out of order": (("date: 2025-01-20", "date: 2025-01-02"), "visits.2.date", ("2025-01-14", "in the order")),
    "no alternative text": (
        (', shows: "A duct no wider than a hand"', ""),
        "visits.1.steps.2.photo.shows",
        ("is missing", "cannot see it"),
    ),
    "empty alternative text": (("A duct no wider than a hand", ""), "visits.1.steps.2.photo.shows", ("not empty",)),
    "mark off the picture": (
        ("at: [0.5, 0.25]", "at: [0.5, 25]"),
        "visits.1.steps.2.photo.marks.1.at.2",
        ("at most 1",),
    ),
    "missing photo": (
        ("file: photos/return.png", "file: photos/retrun.png"),
        "visits.1.steps.2.photo.file",
        ("there is no file", "did you mean 'photos/return.png'"),
    ),
    "photo outside": (("file: photos/return.png", "file: ../return.png"), "visits.1.steps.2.photo.file", ("outside",)),
    "absolute photo": (("file: photos/return.png", "file: /etc/hostname"), "visits.1.steps.2.photo.file", ("outside",)),
    "photo with a backslash": (
        ("file: photos/return.png", "file: photos\\return.png"),
        "visits.1.steps.2.photo.file",
        ("has a backslash in it", "`/`"),
    ),
    "a folder as photo": (("file: photos/return.png", "file: photos"), "visits.1.steps.2.photo.file", ("no ordinary",)),
    "photo of another kind": (("file: photos/return.png", "file: fan.csv"), "visits.1.steps.2.photo.file", (".webp",)),
    "missing log": (("file: logs/call.csv", "file: logs/cal.csv"), "visits.1.steps.3.log.file", ("there is no file",)),
    "log shows nothing": (
        (", shows: {supply air: T1, return air: T2}", ""),
        "visits.1.steps.3.log.shows",
        ("is missing",),
    ),
    "log of no temperature": (
        ("shows: {supply air: T1", "shows: {co in flue: T1"),
        "visits.1.steps.3.log.shows.co in flue",
        ("is no temperature",),
    ),
    "missing fan table": (
        ("fan table: fan.csv", "fan table: fam.csv"),
        "blower.fan table",
        ("did you mean 'fan.csv'",),
    ),
    "setting not in the table": (
        ("setting: medium", "setting: medium-high"),
        "blower.setting",
        ("has no 'medium-high'",),
    ),
    "unknown part": (
        ("with: {filter: out", "with: {fliter: out"),
        "visits.1.steps.5.with.fliter",
        ("did you mean 'filter'",),
    ),
    "unknown state": (("with: {filter: out", "with: {filter: wobbly"), "visits.1.steps.5.with.filter", ("removed",)),
    "size without a unit": (("size: 16 x 25 x 1 in", "size: 16 x 25 x 1"), "filter.size", ("the unit is missing",)),
    "size of one side": (("size: 12 x 8 in", "size: 12 in"), "return.size", ("say 'round' if it is",)),
    "minutes with a unit": (
        ("minutes: 15", "minutes: 15 min"),
        "visits.1.steps.3.minutes",
        ("without a unit", "alone"),
    ),
    "negative minutes": (("minutes: 15", "minutes: -15"), "visits.1.steps.3.minutes", ("at least 0",)),
    "impossible reading": (
        ("tap after coil: 0.11 inH2O", "tap after coil: 11 inH2O"),
        "visits.1.steps.4.read.tap after coil",
        ("meant 1.1?",),
    ),
    "impossible plate": (("input: 60000 Btu/h", "input: -60000 Btu/h"), "furnace.input", ("from 1000 Btu/h to",)),
    "reading without a value": (
        ("{value: -0.55 inH2O, accuracy: 0.01 inH2O}", "{accuracy: 0.01 inH2O}"),
        "visits.1.steps.4.read.tap after filter",
        ("has no value",),
    ),
    "unknown key of a reading": (
        ("accuracy: 0.01 inH2O}", "acuracy: 0.01 inH2O}"),
        "visits.1.steps.4.read.tap after filter.acuracy",
        ("did you mean 'accuracy'",),
    ),
    "no accuracy at all": (
        ("accuracy: 0.01 inH2O}", "accuracy: 0 inH2O}"),
        "visits.1.steps.4.read.tap after filter.accuracy",
        ("above zero",),
    ),
    "void without a reason": (
        ("accuracy: 0.01 inH2O}", "void: yes}"),
        "visits.1.steps.4.read.tap after filter.void",
        ("no reason",),
    ),
    "void of what was not read": (
        ("- do: Static at the taps", "- do: Static at the taps\n        void: {rise: no}"),
        "visits.1.steps.4.void.rise",
        ("was not read in this step",),
    ),
    "answer to no rule": (
        ("teach:", "answered: {tap-differ: so}\nteach:"),
        "answered.tap-differ",
        ("did you mean 'taps-differ'",),
    ),
    "answer given twice": (
        ("teach:", "answered: {taps-differ: so, taps differ: so}\nteach:"),
        "answered.taps differ",
        ("written twice",),
    ),
    "answer without a reason": (
        ("teach:", "answered: {taps-differ: yes}\nteach:"),
        "answered.taps-differ",
        ("no reason",),
    ),
    "text where a block is due": (
        ('  - {after: 14 d, found: "no stop since"}', "  - fine"),
        "follow up.1",
        ("key: value",),
    ),
    "root without a reason": (
        ('root: {return-undersized: "in range only with the return opened"}', "root: return-undersized"),
        "visits.1.concluded.root",
        ("key: value",),
    ),
    "tag": (("title: ", "title: !!python/name:os.system "), "", ("a YAML tag",)),
}


@pytest.mark.parametrize("name", MISTAKES)
def test_one_mistake_is_one_located_message(edit: Edit, knowledge: Knowledge, name: str) -> None:
    change, field, words = MISTAKES[name]
    folder = edit(change)
    lines = (folder / "case.yml").read_text(encoding="utf-8").splitlines()
    case, problems = read_case(folder, knowledge)
    assert case is None
    assert len(problems) == 1, "\n".join(map(str, problems))
    message = str(problems[0])
    assert problems[0].field == field
    assert all(word in message for word in words), message
    # The line it names holds the last key of the field, or the block that should hold it.
    line, key = lines[problems[0].line - 1], field.rpartition(".")[2]
    assert not key or key in line or key.isdigit() or "is missing" in message, (message, line)


def test_twelve_mistakes_are_twelve_messages_and_other_cases_still_read(
    edit: Edit, knowledge: Knowledge, case_folder: Path
) -> None:
    shutil.copytree(case_folder, case_folder.parent / "another-case")
    names = (
        "wrong type",
        "unknown key",
        "bare number",
        "wrong unit",
        "range upside down",
        "unknown reading",
        "cause as finding",
        "unknown cause",
        "unknown family",
        "date",
        "photo outside",
        "unknown state",
    )
    edit(*(MISTAKES[name][0] for name in names))
    cases, problems = read_cases(case_folder.parent, knowledge)
    assert [case.id for case in cases] == ["another-case"]
    assert {problem.field for problem in problems} == {MISTAKES[name][1] for name in names}
    assert len(problems) == 12
    assert all(
        str(problem).startswith(f"sound-case/case.yml:{problem.line}: {problem.field}: ") for problem in problems
    )
    assert [problem.line for problem in problems] == sorted(problem.line for problem in problems)


def test_faulty_visits_are_not_taken_for_missing_ones(edit: Edit, knowledge: Knowledge) -> None:
    names = ("neither yes nor no", "date")
    problems = read_case(edit(*(MISTAKES[name][0] for name in names)), knowledge)[1]
    assert {problem.field for problem in problems} == {MISTAKES[name][1] for name in names}


def test_an_empty_list_of_visits_is_refused(case_folder: Path, knowledge: Knowledge) -> None:
    (case_folder / "case.yml").write_text(
        "title: T\ncomplaint: {family: high-limit, words: W}\nvisits: []\n", encoding="utf-8"
    )
    assert [str(problem) for problem in read_case(case_folder, knowledge)[1]] == [
        "sound-case/case.yml:3: visits: a list stands here; expected at least 1 item"
    ]


def test_what_must_be_there_is_asked_for(case_folder: Path, knowledge: Knowledge) -> None:
    (case_folder / "case.yml").write_text("company: Somewhere\n", encoding="utf-8")
    assert {problem.field for problem in read_case(case_folder, knowledge)[1]} == {"title", "complaint", "visits"}


def test_a_folder_name_that_is_no_address_is_refused(case_folder: Path, knowledge: Knowledge) -> None:
    moved = case_folder.rename(case_folder.with_name("Mrs Quillfeather's"))
    case, problems = read_case(moved, knowledge)
    assert case is None and "lower-case letters" in str(problems[0])


@pytest.mark.parametrize(
    ("name", "sound"), [("aux", False), ("com1", False), ("auxx", True), ("a" * 80, True), ("a" * 81, False)]
)
def test_a_folder_that_windows_cannot_hold_is_refused(
    case_folder: Path, knowledge: Knowledge, name: str, sound: bool
) -> None:
    case, problems = read_case(case_folder.rename(case_folder.with_name(name)), knowledge)
    assert (case is not None) is sound
    assert sound or "Windows cannot hold" in str(problems[0])


@pytest.mark.parametrize(("there", "named"), [("Return.PNG", "return.png"), ("Küche.png", "Ku\u0308che.png")])
def test_a_file_found_only_because_the_system_is_lenient_is_told(
    edit: Edit, knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch, there: str, named: str
) -> None:
    """As on Windows and macOS, where another spelling of a name finds the file."""
    folder = edit(("file: photos/return.png", f"file: photos/{named}"))
    (folder / "photos" / "return.png").rename(folder / "photos" / there)
    real = os.stat

    def lenient(path: object, **how: object) -> os.stat_result:
        return real(folder / "photos" / there if str(path).endswith(named) else path, **how)

    monkeypatch.setattr(os, "stat", lenient)
    problems = read_case(folder, knowledge)[1]
    assert [f"is called {there!r} in the folder" in str(p) for p in problems] == [True]


# ---------------------------------------------------------------- links


def test_a_link_out_of_the_folder_is_not_followed(case_folder: Path, knowledge: Knowledge, tmp_path: Path) -> None:
    outside = tmp_path / "outside.png"
    photo = case_folder / "photos" / "return.png"
    outside.write_bytes(photo.read_bytes())
    photo.unlink()
    photo.symlink_to(outside)
    case, problems = read_case(case_folder, knowledge)
    assert case is None and "outside the case folder" in str(problems[0])


def test_a_linked_folder_does_not_lead_out_either(edit: Edit, knowledge: Knowledge, tmp_path: Path) -> None:
    folder = edit(("fan table: fan.csv", "fan table: more/fan.csv"))
    (tmp_path / "more").mkdir()
    shutil.copy(folder / "fan.csv", tmp_path / "more")
    (folder / "more").symlink_to(tmp_path / "more")
    assert [p.field for p in read_case(folder, knowledge)[1]] == ["blower.fan table"]


def test_a_case_file_that_is_a_link_out_is_refused(case_folder: Path, knowledge: Knowledge, tmp_path: Path) -> None:
    (case_folder / "case.yml").rename(tmp_path / "case.yml")
    (case_folder / "case.yml").symlink_to(tmp_path / "case.yml")
    assert "outside the case folder" in str(read_case(case_folder, knowledge)[1][0])


def test_a_link_inside_the_folder_is_followed(case_folder: Path, knowledge: Knowledge) -> None:
    photo = case_folder / "photos" / "return.png"
    photo.rename(case_folder / "real.png")
    photo.symlink_to(case_folder / "real.png")
    assert read_case(case_folder, knowledge)[1] == []
