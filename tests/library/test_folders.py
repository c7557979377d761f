"""What stands among the cases and is none is named, by check and by the build alike."""

from __future__ import annotations

from pathlib import Path

import pytest

from causebook.cli import main
from causebook.knowledge import load
from causebook.library.folders import case_folders, overlooked
from causebook.library.shelf import Shelf
from causebook.problems import Severity

ROWS = [
    "a-yaml/case.yaml",
    "b-upper/Case.yml",
    "c-nested/inner/case.yml",
    "d-empty",
    "e-notepad/case.yml.txt",
    "lone.yml",
]
QUIET = ["README.md", "_drafts/case.yaml", ".git/case.yml", "sound/case.yml", "sound/photos/notes.yml"]


@pytest.fixture
def casefiles(tmp_path: Path) -> Path:
    for name in (*ROWS, *QUIET):
        path = tmp_path / name
        (path if not path.suffix else path.parent).mkdir(parents=True, exist_ok=True)
        if path.suffix:
            path.write_text("title: 3\n", encoding="utf-8")
    return tmp_path


def test_whatever_looks_like_a_case_and_is_not_read_is_named(casefiles: Path) -> None:
    told = overlooked(casefiles)
    assert [str(p.path.relative_to(casefiles)) for p in told] == ROWS
    assert {p.severity for p in told} == {Severity.WARNING}
    said = dict(zip(ROWS, map(str, told), strict=True))
    assert all("did you mean 'case.yml'?" in said[row] for row in ROWS[:2] + ROWS[4:5])
    assert "none in another" in said[ROWS[2]] and "holds no case.yml" in said["d-empty"]
    assert [f.name for f in case_folders(casefiles)] == ["sound"]
    assert [p.path.name for p in overlooked(casefiles, ["d-*"])] == ["d-empty"]


def test_check_and_the_build_name_them(casefiles: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", str(casefiles)])
    said = capsys.readouterr().out
    shelved = Shelf.within(casefiles / ".made", casefiles, load()).take()
    assert all(str(problem) in said and problem in shelved.problems for problem in overlooked(casefiles))


def test_check_of_one_folder_names_the_file_that_was_meant(casefiles: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", str(casefiles / "a-yaml")])
    assert "a-yaml/case.yaml: is not read; did you mean 'case.yml'?" in capsys.readouterr().out
