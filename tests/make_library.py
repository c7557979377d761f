"""Makes a large library out of the demo cases, for tests and measurements.

    python tests/make_library.py FOLDER COUNT

Each case is a copy of a demo case under another name, with its number in the title and another date, so that pages,
lists and tallies have as much to do as in a library that grew.
"""

from __future__ import annotations

import datetime as dt
import re
import shutil
import sys
from pathlib import Path

import yaml

ROOT = Path(__file__).parents[1]
DEMO = ROOT / "casefiles"
_TITLE = re.compile(r'^title: "(.*)"$', re.MULTILINE)
_DATE = re.compile(r"^(\s*- date: )(\d{4}-\d\d-\d\d)$", re.MULTILINE)


def make_library(folder: Path, count: int) -> list[Path]:
    """Make `count` case folders below `folder`; returns them."""
    demo = sorted(path.parent for path in DEMO.glob("[!_.]*/case.yml"))
    made = []
    for number in range(count):
        source = demo[number % len(demo)]
        case = folder / f"{source.name}-{number:05d}"
        shutil.copytree(source, case)
        text = (case / "case.yml").read_text(encoding="utf-8")
        (case / "case.yml").write_text(_numbered(text, number), encoding="utf-8")
        made.append(case)
    return made


def _numbered(text: str, number: int) -> str:
    """A case file with the number in its title, and some days older."""
    back = dt.timedelta(days=number % 3650)
    text = _TITLE.sub(lambda found: f'title: "{found[1]} ({number})"', text)
    return _DATE.sub(lambda found: f"{found[1]}{dt.date.fromisoformat(found[2]) - back}", text)


def make_project(folder: Path) -> Path:
    """This project's site without its cases, and without the handbook, whose pages link to them."""
    (folder / "docs").mkdir(parents=True)
    (folder / "casefiles").mkdir()
    for name in (
        "index.md",
        "no-signal.md",
        "own-library.md",
        "job-notes.md",
        "tutorial.md",
        "how-to.md",
        "how-it-thinks.md",
    ):
        shutil.copy(ROOT / "docs" / name, folder / "docs")
    settings = yaml.safe_load((ROOT / "mkdocs.yml").read_text(encoding="utf-8"))
    settings["nav"] = [entry for entry in settings["nav"] if "Handbook" not in entry]
    (folder / "mkdocs.yml").write_text(yaml.safe_dump(settings, sort_keys=False), encoding="utf-8")
    return folder


def make_demo(folder: Path) -> Path:
    """A copy of this project's site as it is."""
    folder.mkdir(parents=True)
    shutil.copy(ROOT / "mkdocs.yml", folder)
    for name in ("docs", "casefiles"):
        shutil.copytree(ROOT / name, folder / name)
    return folder


if __name__ == "__main__":
    make_library(make_project(Path(sys.argv[1])) / "casefiles", int(sys.argv[2]))
