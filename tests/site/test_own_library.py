"""The page "Your own library", read from top to bottom as somebody would who starts one: every file it shows is
written, every command is run, in the order they stand there."""

from __future__ import annotations

import os
import re
import socket
import subprocess
import sys
import time
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from urllib.request import urlopen

import pytest
import yaml
from PIL import Image

from causebook import knowledge
from causebook.site.cases.config import CasesConfig
from causebook.site.library.config import LibraryConfig
from make_library import ROOT
from projects import Project, quiet

PAGE = (ROOT / "docs" / "own-library.md").read_text(encoding="utf-8")
BLOCK = re.compile(r'^```(\w+)(?: title="([^"]*)")?\n(.*?)^```$', re.MULTILINE | re.DOTALL)
PLACE = (51.5, 0.1)


@dataclass
class Followed:
    """A library made by following the page, and what each command said."""

    library: Project
    said: dict[str, list[str]] = field(default_factory=dict)
    served: str = ""


def environment() -> dict[str, str]:
    """The commands of the environment that runs the tests, as after the install."""
    return quiet() | {"PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"}


def write(root: Path, title: str, text: str) -> None:
    """Do what the title of a block says."""
    name, _, how = title.partition(", ")
    path = root / name
    path.parent.mkdir(parents=True, exist_ok=True)
    match how:
        case "":
            path.write_text(text, encoding="utf-8")
        case "at its end":
            path.write_text(path.read_text(encoding="utf-8") + text, encoding="utf-8")
        case "instead of its plugins":
            path.write_text(
                yaml.safe_dump(
                    yaml.safe_load(path.read_text(encoding="utf-8")) | yaml.safe_load(text), sort_keys=False
                ),
                encoding="utf-8",
            )
        case _:
            raise AssertionError(title)


def served(root: Path, command: str) -> str:
    """The list of cases as a running server shows it."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        address = f"127.0.0.1:{free.getsockname()[1]}"
    running = subprocess.Popen(
        [*command.split(), "--dev-addr", address],
        cwd=root,
        env=environment(),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        until = time.monotonic() + 60
        while time.monotonic() < until and running.poll() is None:
            try:
                return urlopen(f"http://{address}/cases/index.html").read().decode()
            except OSError:
                time.sleep(0.2)
        raise AssertionError("the server never answered")
    finally:
        running.kill()
        running.wait()


@pytest.fixture(scope="module")
def followed(tmp_path_factory: pytest.TempPathFactory) -> Followed:
    """The page, followed."""
    root = tmp_path_factory.mktemp("own") / "our-library"
    done = Followed(Project(root))
    photo = root / "casefiles" / "cold-hall" / "photos" / "filter.jpg"
    photo.parent.mkdir(parents=True)
    exif = Image.Exif()
    exif.get_ifd(0x8825).update({1: "N", 2: (PLACE[0], 0.0, 0.0), 3: "E", 4: (PLACE[1], 0.0, 0.0)})
    Image.new("RGB", (900, 600), "gray").save(photo, exif=exif)
    for kind, title, text in BLOCK.findall(PAGE):
        if title:
            write(root, title, text)
        for command in text.splitlines() if kind == "sh" and "pip install" not in text else ():
            if command == "mkdocs serve":
                done.served = served(root, command)
                continue
            ran = subprocess.run(command.split(), cwd=root, env=environment(), capture_output=True, encoding="utf-8")
            assert ran.returncode == 0, f"{command}\n{ran.stdout}{ran.stderr}"
            done.said.setdefault(command, []).append(ran.stdout + ran.stderr)
    return done


def files_with(folder: Path, text: bytes) -> Iterator[Path]:
    """The files below a folder that hold these bytes."""
    return (p for p in folder.rglob("*") if p.is_file() and text in p.read_bytes())


@pytest.mark.parametrize(("plugin", "config"), [("cases", CasesConfig), ("library", LibraryConfig)])
def test_the_page_names_every_setting_and_what_holds_without_it(plugin, config):
    rows = re.search(rf"\| of `causebook/{plugin}` .*?\n\n", PAGE, re.DOTALL)[0].splitlines()[2:]
    told = {cells[1].strip(" `"): cells[3].strip(" `") for cells in (row.split("|") for row in rows if row)}
    words = {"None": "none", "True": "true", "[]": "all"}
    assert told == {
        name: words.get(str(option.default), str(option.default))
        for name, option in config._schema
        if name != "enabled"
    }


def test_every_block_is_a_file_or_commands():
    assert all(title or kind == "sh" for kind, title, _ in BLOCK.findall(PAGE))
    assert len(BLOCK.findall(PAGE)) == PAGE.count("```") / 2


def test_the_install_names_what_is_there():
    """The one block that is not run: it would fetch every package."""
    (text,) = (text for _, _, text in BLOCK.findall(PAGE) if "pip install" in text)
    make, enter, install = text.splitlines()
    assert make == "python3 -m venv .venv" and enter == ". .venv/bin/activate"
    assert install == "pip install ../causebook/plugin"
    project = tomllib.loads((ROOT / "plugin" / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["name"] == "causebook" and project["requires-python"].removeprefix(">=") in PAGE


def test_what_the_page_says_of_where_things_stand():
    assert (ROOT / "plugin/src" / re.search(r"`causebook/plugin/src/(\S+data)`", PAGE)[1] / "findings.yml").is_file()
    ours = tomllib.loads((ROOT / "plugin" / "pyproject.toml").read_text(encoding="utf-8"))
    assert "causebook" in ours["project"]["scripts"]


def test_the_strict_builds_say_nothing_and_the_checks_find_nothing(followed):
    assert all("WARNING" not in said and "ERROR" not in said for said in followed.said["mkdocs build --strict"])
    for command, said in followed.said.items():
        if command.startswith("causebook check"):
            assert all("1 case file: 0 errors, 0 to look at" in one for one in said), said


def test_the_case_is_served_and_built(followed):
    assert "Burner stops after eight minutes" in followed.served
    assert "Burner stops after eight minutes" in followed.library.page("cases/cold-hall/index.html")
    assert 'href="cold-hall/index.html"' in followed.library.page("cases/index.html")


def test_nothing_private_and_no_place_reaches_the_site(followed):
    site = followed.library.site
    for secret in (b"A. Customer", b"12 Some Street", b"555 0100"):
        assert list(files_with(followed.library.root / "casefiles", secret)) and not list(files_with(site, secret))
    (picture, *_) = (site / "cases" / "cold-hall").rglob("*.webp")
    with Image.open(picture) as shown:
        assert not shown.getexif()


def test_phones_keep_what_the_page_says(followed):
    assert (followed.library.site / "sw.js").is_file()
    assert "cases/cold-hall/index.html" in followed.library.page("offline.json")


def test_the_ignored_folders_are_those_that_are_made(followed):
    ignored = {
        line.rstrip("/") for line in (followed.library.root / ".gitignore").read_text(encoding="utf-8").splitlines()
    }
    made = {p.name for p in followed.library.root.iterdir()} - {"mkdocs.yml", "docs", "casefiles", "knowledge"}
    assert made | {".venv"} == ignored | {".gitignore"}


def test_the_company_s_own_numbers_count(followed):
    ours, theirs = knowledge.load(), knowledge.load(followed.library.root / "knowledge")
    assert theirs.causes["limit-weak"].priors["high-limit"] == 0.04 != ours.causes["limit-weak"].priors["high-limit"]
    assert theirs.causes["limit-weak"].links == ours.causes["limit-weak"].links
    assert theirs.findings["coil-drop-high"].when != ours.findings["coil-drop-high"].when
    assert theirs.synonyms["stinger"] == "igniter" and "stinger" not in ours.synonyms
    assert "Mouse nest in the return" in followed.library.page("causes/mouse-nest.html")
    assert "above 0.25 in. w.c." in followed.library.page("causes/coil-plugged.html")
    (said,) = followed.said["causebook work casefiles/cold-hall --knowledge knowledge --next"]
    assert said.startswith("1. ")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("high limit: 0.02", "high limit: 1", "less than 1"),
        ("leak: 0.02", "leak: 1", "less than 1"),
        ("droppings: 0.9", "droppings: 1.1", "less than or equal to 1"),
        ("least: 1.4", "least: 0", "above 0"),
        ("most: 3", "most: 0", "above 0"),
    ],
)
def test_the_bounds_are_those_of_the_page(followed, tmp_path, old, new, says):
    text = (followed.library.root / "knowledge" / "ours.yml").read_text(encoding="utf-8")
    (tmp_path / "ours.yml").write_text(text.replace(old, new), encoding="utf-8")
    line = next(n for n, one in enumerate(text.splitlines(), 1) if old in one)
    with pytest.raises(knowledge.KnowledgeError) as wrong:
        knowledge.load(tmp_path)
    assert [(p.line, says in str(p)) for p in wrong.value.problems] == [(line, True)]
