"""A fault of the program in one case names its file, and the other cases still come out."""

from __future__ import annotations

import multiprocessing
import shutil
from concurrent.futures import ProcessPoolExecutor
from operator import attrgetter
from pathlib import Path

import pytest

from causebook import cli
from causebook.commands import line
from causebook.knowledge import load
from causebook.library import shelf
from make_library import DEMO


@pytest.fixture
def two(tmp_path, monkeypatch):
    """A folder of two sound cases, of which working up the first fails."""
    for id_ in ("narrow-return", "second-limit"):
        shutil.copytree(DEMO / id_, tmp_path / "cases" / id_)

    def failing(work_up):
        def worked(case, *rest, **more):
            if case.id == "narrow-return":
                raise ZeroDivisionError("float division by zero")
            return work_up(case, *rest, **more)

        return worked

    for module in (line, shelf):
        monkeypatch.setattr(module, "work_up", failing(module.work_up))
    return tmp_path / "cases"


def told(text: str) -> bool:
    return "narrow-return/case.yml: working it up: could not be made (Zero" in text and "please report it" in text


def test_the_shelf_takes_and_records_the_others(two, tmp_path):
    own = shelf.Shelf.within(tmp_path / "made", two, load())
    taken = own.take()
    assert [entry.record.id for entry in taken.entries] == ["narrow-return", "second-limit"]
    assert told(str(taken.problems[0])) and len(taken.problems) == 1
    record, problems = own.record(two / "narrow-return")
    assert record == taken.entries[0].record and not problems, "as kept"
    (tmp_path / "made" / "kept" / "narrow-return.json").unlink()
    record, problems = own.record(two / "narrow-return")
    assert record is not None and record.id == "narrow-return" and told(str(problems[0]))
    record, problems = own.record(two / "second-limit")
    assert record is not None and record.id == "second-limit" and not problems


def test_the_command_checks_finds_and_works_the_others(two, capsys):
    assert cli.main(["check", str(two)]) == cli.WRONG
    said = capsys.readouterr()
    assert told(said.out) and "2 case files: 1 error" in said.err
    assert cli.main(["find", str(two), "--complaint", "high limit"]) == cli.OK
    said = capsys.readouterr()
    assert told(said.err) and said.out
    assert cli.main(["work", str(two / "narrow-return")]) == cli.WRONG
    said = capsys.readouterr()
    assert "could not be made (ZeroDivisionError" in said.err and not said.out
    assert cli.main(["work", str(two / "second-limit")]) == cli.OK


def test_all_cores_keep_the_order_and_another_executor_makes_the_same(tmp_path):
    names = [f"case-{number}" for number in range(shelf.ALONE + 3)]
    assert list(shelf.over_all(attrgetter("name"), list(map(Path, names)))) == names
    shutil.copytree(DEMO / "second-limit", tmp_path / "cases" / "second-limit")
    here, there = (shelf.Shelf.within(tmp_path / made, tmp_path / "cases", load()) for made in ("here", "there"))
    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("fork")) as pool:
        assert there.take(executor=pool) == here.take()
