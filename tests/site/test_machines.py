"""The same library on machines that are set up otherwise: code page, folder, time zone, language, order of sets.

A Windows machine is simulated by its code page (a cp1252 locale, made here by `localedef`), since every file read or
written without naming UTF-8 would go through that page, and by encoding warnings taken as errors.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from make_library import DEMO, make_project
from projects import Project

CODE = "from causebook.cli import main; import sys; sys.exit(main())"
STRICT = """
import runpy, sys, warnings
warnings.filterwarnings("error", category=EncodingWarning, module="causebook")
sys.argv = ["mkdocs", "build", "--strict"]
runpy.run_module("mkdocs", run_name="__main__")
"""


def library(root: Path) -> Project:
    """A library of one case, with letters of several scripts in it."""
    made = Project(make_project(root))
    folder = shutil.copytree(DEMO / "second-limit", made.root / "casefiles" / "second-limit")
    path = folder / "case.yml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('company: "', 'company: "Ωhm & Söhne (−5 µA → 暖房) once ', 1), encoding="utf-8")
    assert "暖房" in path.read_text(encoding="utf-8")
    return made


def files(site: Path) -> dict[str, bytes]:
    return {p.relative_to(site).as_posix(): p.read_bytes() for p in sorted(site.rglob("*")) if p.is_file()}


@pytest.fixture(scope="module")
def usual(tmp_path_factory: pytest.TempPathFactory) -> Project:
    """The library, built on a machine as most are, with encoding warnings as errors."""
    made = library(tmp_path_factory.mktemp("usual") / "library")
    built = made.run([sys.executable, "-X", "warn_default_encoding", "-c", STRICT], TZ="UTC", LC_ALL="C.UTF-8")
    assert built.status == 0, built.said
    assert "暖房" in made.page("cases/second-limit/customer.html")
    return made


@pytest.fixture(scope="session")
def windows_page(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """What makes Python take cp1252 for the system's encoding."""
    folder = tmp_path_factory.mktemp("locales")
    made = shutil.which("localedef") and subprocess.run(
        ["localedef", "-i", "en_US", "-f", "CP1252", str(folder / "en_US.CP1252")], capture_output=True
    )
    if not made or made.returncode:
        # `localedef` and its sources are no part of every system; the POSIX run holds the same without them.
        pytest.skip("this machine cannot make a cp1252 locale (localedef, package `locales`)")
    return {"LOCPATH": str(folder), "LC_ALL": "en_US.CP1252", "PYTHONUTF8": "0"}


POSIX = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}


def encoding(settings: dict[str, str], project: Project) -> str:
    said = project.run([sys.executable, "-c", "import locale; print(locale.getencoding())"], **settings)
    return said.said.strip()


@pytest.fixture(params=["windows", "posix"])
def other(request: pytest.FixtureRequest) -> dict[str, str]:
    return POSIX if request.param == "posix" else dict(request.getfixturevalue("windows_page"))


def test_another_machine_builds_the_same_bytes(usual: Project, other: dict[str, str], tmp_path: Path) -> None:
    made = library(tmp_path / "elsewhere" / "deep")
    assert encoding(other, made) in ("CP1252", "ANSI_X3.4-1968")
    built = made.build("--strict", **other, TZ="Pacific/Auckland", PYTHONHASHSEED="7")
    assert built.status == 0, built.said
    here, there = files(usual.site), files(made.site)
    assert here.keys() == there.keys()
    assert not [name for name in here if here[name] != there[name]]
    again = made.build("--strict", **other)
    assert "1 cases, 0 of them worked up anew" in again.said, "what was kept is read back"


def test_the_commands_speak_utf_8_on_any_machine(usual: Project, other: dict[str, str]) -> None:
    def said(*arguments: str) -> str:
        ran = usual.run([sys.executable, "-c", CODE, *arguments], **other)
        assert ran.status == 0, ran.said
        return ran.said

    assert "1 case file: 0 errors" in said("check", "casefiles")
    assert "°F" in said("work", "casefiles/second-limit") and "�" not in said(
        "work", "casefiles/second-limit", "--json"
    )
    assert "second-limit" in said("find", "casefiles", "--complaint", "high limit")
