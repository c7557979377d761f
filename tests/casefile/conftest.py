"""The small knowledge, and the folder of one sound case, for the tests of the reader."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from small_knowledge import small_knowledge

from causebook.knowledge import Knowledge

HERE = Path(__file__).parent


@pytest.fixture(scope="session")
def knowledge() -> Knowledge:
    return small_knowledge()


@pytest.fixture
def case_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A sound case, in a folder of cases that is the working folder."""
    monkeypatch.chdir(tmp_path)
    return Path(shutil.copytree(HERE / "sound-case", tmp_path / "sound-case"))


@pytest.fixture
def edit(case_folder: Path) -> Callable[..., Path]:
    """Replace texts of the sound case, each of which must stand in it."""

    def replace(*pairs: tuple[str, str]) -> Path:
        file = case_folder / "case.yml"
        text = file.read_text(encoding="utf-8")
        for old, new in pairs:
            assert old in text, old
            text = text.replace(old, new)
        file.write_text(text, encoding="utf-8")
        return case_folder

    return replace
