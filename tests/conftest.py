"""What tests of the built site share: projects in a temporary folder, the demo site built once, and a browser."""

from __future__ import annotations

import fcntl
import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import hypothesis
import pytest
from playwright.sync_api import Browser, sync_playwright

from make_library import DEMO, make_demo, make_project
from projects import Project, mkdocs

QUIET = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]

# A property holds or it does not, however busy the machine: no property test is a timed test.
hypothesis.settings.register_profile("untimed", deadline=None)
hypothesis.settings.load_profile("untimed")


@pytest.fixture
def project(tmp_path: Path) -> Callable[..., Project]:
    """Makes a project of the named demo cases: `project("narrow-return", "tired-limit")`."""

    def make(*cases: str) -> Project:
        root = make_project(tmp_path / "project")
        for id_ in cases:
            shutil.copytree(DEMO / id_, root / "casefiles" / id_)
        return Project(root)

    return make


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Project:
    """The demo site, built strictly once for all workers; a build that says anything fails every test of it.

    The environment variable CAUSEBOOK_SITE names a folder to build it in and to find it again in the next run.
    """
    shared = tmp_path_factory.getbasetemp()
    shared = shared.parent if os.environ.get("PYTEST_XDIST_WORKER") else shared
    built = Project(Path(os.environ.get("CAUSEBOOK_SITE") or shared / "demo"))
    with built.root.with_suffix(".lock").open("w", encoding="utf-8") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not built.root.exists():
            make_demo(built.root)
            said = built.run(mkdocs("build", "--strict"))
            (built.root / "said.txt").write_text(f"{said.status}\n{said.said}", encoding="utf-8")
    status, _, said = (built.root / "said.txt").read_text(encoding="utf-8").partition("\n")
    assert status == "0" and "WARNING" not in said, said
    return built


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Chromium as the system has it; without one these tests cannot say anything, and fail."""
    names = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
    path = next(filter(None, map(shutil.which, names)), None)
    assert path, "no Chromium found; bash tests/run installs it"
    with sync_playwright() as play:
        running = play.chromium.launch(executable_path=path, args=QUIET)
        yield running
        running.close()
