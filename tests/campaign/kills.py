"""Builds that are killed at any moment: what the next build ships equals a clean build, and holds nothing withdrawn.

.venv/bin/python -m tests.campaign.kills --kills 200 --seed 1
.venv/bin/python -m tests.campaign.kills --kills 20 --seed 1 --library      # with the lists and the full-text index

Every build runs in a process of its own, forked from this one after all modules were read in, so that a build takes a
second.
"""

from __future__ import annotations

import argparse
import hashlib
import importlib
import logging
import os
import random
import signal
import tempfile
import time
from pathlib import Path

import yaml
from mkdocs.commands.build import build
from mkdocs.config import load_config

from causebook.knowledge import load
from causebook.library.signature_chart import cause_charts

for plugin in ("cases", "library"):  # read in before the first fork
    importlib.import_module(f"causebook.site.{plugin}.plugin")

WITHDRAWN = "WITHDRAWNTEXT"
CONFIG = """site_name: Killed
use_directory_urls: false
theme: {name: material}
plugins:
  - causebook/cases
"""
LIBRARY = "  - causebook/library\n"


def project(root: Path, library: bool = False) -> Path:
    """A small library of two cases in a folder, with its lists and its full-text index or without."""
    (root / "docs").mkdir(parents=True)
    (root / "docs" / "index.md").write_text("# Home\n", encoding="utf-8")
    (root / "mkdocs.yml").write_text(CONFIG + (LIBRARY if library else ""), encoding="utf-8")
    for name in ("one-call", "other-call"):
        say(root, name, "Looked at it")
    return root


def say(root: Path, name: str, done: str) -> None:
    """Write one of the cases anew, with what was done."""
    case = {
        "title": f"The {name.replace('-', ' ')}",
        "complaint": {"family": "high-limit", "words": "It stops."},
        "visits": [{"date": "2024-02-01", "steps": [{"do": done, "read": {"supply air": "146 degF"}}]}],
    }
    folder = root / "casefiles" / name
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "case.yml").write_text(yaml.safe_dump(case, sort_keys=False), encoding="utf-8")


def begin(root: Path) -> int:
    """Begin a build in a process of its own, forked from this one so that nothing is imported anew."""
    child = os.fork()
    if child:
        return child
    code = 1
    try:
        os.setsid()
        os.chdir(root)
        os.environ |= {"NO_MKDOCS_2_WARNING": "true", "SOURCE_DATE_EPOCH": "1770000000"}
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, 1)
        os.dup2(nothing, 2)
        logging.disable()
        settings = load_config("mkdocs.yml")
        settings.plugins.on_startup(command="build", dirty=False)
        build(settings)
        settings.plugins.on_shutdown()
        code = 0
    finally:
        os._exit(code)


def whole(root: Path) -> float:
    """A build to its end; the seconds it took."""
    began = time.monotonic()
    _, status = os.waitpid(begin(root), 0)
    assert os.waitstatus_to_exitcode(status) == 0, root
    return time.monotonic() - began


def shipped(root: Path) -> dict[str, str]:
    """Digest of every file of the site, without the full-text index, whose bytes its tool makes anew each time.

    With it go the two lists that hold its digest.
    """
    site = root / "site"
    return {
        path.relative_to(site).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(site.rglob("*"))
        if path.is_file() and "pagefind" not in path.as_posix() and path.name not in ("offline.json", "sw.js")
    }


def holds(root: Path, text: str) -> list[str]:
    """The files below the site and what is kept beside it that hold a text."""
    return [
        path.as_posix()
        for folder in (root / "site", root / ".causebook")
        for path in folder.rglob("*")
        if path.is_file() and text.encode() in path.read_bytes()
    ]


def run(kills: int, seed: int, folder: Path, library: bool = False) -> tuple[int, list[str]]:
    """Kill that many builds; how many were still running then, and what differed afterwards."""
    rng = random.Random(seed)
    if library:
        cause_charts(load())
    clean, killed = project(folder / "clean", library), project(folder / "killed", library)
    whole(clean)
    took = whole(killed)
    wanted, running, wrong = shipped(clean), 0, list[str]()
    for number in range(kills):
        say(killed, "one-call", f"{WITHDRAWN} {number}")
        child = begin(killed)
        time.sleep(rng.uniform(0.02, 1.0) * took)
        running += os.waitpid(child, os.WNOHANG)[0] == 0
        try:
            os.killpg(child, signal.SIGKILL)
            os.waitpid(child, 0)
        except (ProcessLookupError, ChildProcessError):
            pass  # it had ended
        say(killed, "one-call", "Looked at it")
        took = whole(killed)
        got = shipped(killed)
        if differing := [name for name in wanted.keys() | got.keys() if wanted.get(name) != got.get(name)]:
            wrong.append(f"{number}: differs: {sorted(differing)[:5]}")
        if left := holds(killed, WITHDRAWN):
            wrong.append(f"{number}: withdrawn text in {left[:5]}")
    return running, wrong


def main() -> None:
    arguments = argparse.ArgumentParser(description="Kill builds, and compare the next with a clean one.")
    arguments.add_argument("--kills", type=int, default=20)
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--library", action="store_true")
    asked = arguments.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        running, wrong = run(asked.kills, asked.seed, Path(folder), asked.library)
    print(f"{asked.kills} killed, {running} of them while running; {len(wrong)} differ")
    print("\n".join(wrong))


if __name__ == "__main__":
    main()
