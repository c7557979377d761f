"""Files are written whole or not at all, only when different, and stale ones go."""

from __future__ import annotations

import os

import pytest

from causebook.library.disk import prune, write_if_different


def test_the_same_bytes_are_not_written_again(tmp_path):
    path = tmp_path / "deep" / "page.md"
    assert write_if_different(path, "one")
    os.utime(path, (1, 1))
    assert not write_if_different(path, "one")
    assert path.stat().st_mtime == 1
    assert write_if_different(path, "two") and path.read_text(encoding="utf-8") == "two"


def test_a_killed_write_leaves_the_old_file_and_no_part(tmp_path, monkeypatch):
    path = tmp_path / "page.md"
    write_if_different(path, "old")

    def killed(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", killed)
    with pytest.raises(KeyboardInterrupt):
        write_if_different(path, "new")
    assert [p.name for p in tmp_path.iterdir()] == ["page.md"] and path.read_text(encoding="utf-8") == "old"


def test_prune_removes_what_is_not_kept_and_empty_folders(tmp_path):
    for name in ("a/keep.md", "a/stale.md", "b/stale.md"):
        write_if_different(tmp_path / name, "x")
    removed = prune(tmp_path, [tmp_path / "a/keep.md"])
    assert sorted(p.name for p in removed) == ["stale.md", "stale.md"]
    assert sorted(p.relative_to(tmp_path).as_posix() for p in tmp_path.rglob("*")) == ["a", "a/keep.md"]
