"""The tutorial, followed word by word: its files written, its commands run, and what it says they say is said."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

from test_own_library import BLOCK, environment, write

from make_library import ROOT

PAGE = (ROOT / "docs" / "tutorial.md").read_text(encoding="utf-8")


def test_the_tutorial_goes_as_it_says(tmp_path: Path) -> None:
    root, said = tmp_path / "first-library", ""
    root.mkdir()
    for kind, title, text in BLOCK.findall(PAGE):
        if title == "it says":
            plain = " ".join(said.split())
            missing = [line for line in text.splitlines() if " ".join(line.split()) not in plain]
            assert not missing, said
        elif title:
            write(root, title, text)
        for command in re.findall(r"^.+$", text, re.MULTILINE) if kind == "sh" else ():
            words = [word.strip('"') for word in re.findall(r'"[^"]*"|\S+', command)]
            ran = subprocess.run(words, cwd=root, env=environment(), capture_output=True, encoding="utf-8")
            assert ran.returncode == 0, f"{command}\n{ran.stdout}{ran.stderr}"
            if words[:2] == ["causebook", "check"]:
                assert "1 case file: 0 errors, 0 to look at" in ran.stderr
            said = ran.stdout
    assert "Burner stops after eight minutes" in (root / "site/cases/cold-hall/index.html").read_text(encoding="utf-8")


def test_the_answer_it_shows_changes() -> None:
    first, second = (text for _, title, text in BLOCK.findall(PAGE) if title == "it says")
    assert "undetermined" in first and "cause  " not in first and "cause  " in second
