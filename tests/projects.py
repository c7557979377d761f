"""Sites in temporary folders: how tests build them and look at what came out."""

from __future__ import annotations

import atexit
import functools
import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Built:
    """What a build said."""

    status: int
    said: str

    def lines(self, level: str) -> list[str]:
        """Its messages of one level."""
        return [line for line in self.said.splitlines() if line.startswith(level)]


@dataclass(frozen=True)
class Project:
    """A site in a temporary folder."""

    root: Path

    @property
    def site(self) -> Path:
        return self.root / "site"

    @property
    def generated(self) -> Path:
        return self.root / ".causebook"

    def case(self, id_: str) -> Path:
        return self.root / "casefiles" / id_ / "case.yml"

    def page(self, path: str) -> str:
        return (self.site / path).read_text(encoding="utf-8")

    def build(self, *arguments: str, **environment: str) -> Built:
        """Build it; in a process of its own from the start where its environment counts before the first module."""
        if environment.keys() - {"SOURCE_DATE_EPOCH"}:
            return self.run(mkdocs("build", *arguments), **environment)
        asked = {"folder": str(self.root), "arguments": arguments, "environment": quiet() | environment}
        builder = _builder()
        assert builder.stdin and builder.stdout
        builder.stdin.write(json.dumps(asked) + "\n")
        builder.stdin.flush()
        return Built(**json.loads(builder.stdout.readline()))

    def run(self, command: list[str], **environment: str) -> Built:
        """Run a command in the project's folder, with these settings added to the environment."""
        done = subprocess.run(
            command, cwd=self.root, capture_output=True, encoding="utf-8", errors="replace", env=quiet() | environment
        )
        return Built(done.returncode, done.stdout + done.stderr)


@functools.cache
def _builder() -> subprocess.Popen[str]:
    """The process that builds for this one, ended with it."""
    running = subprocess.Popen(
        [sys.executable, str(Path(__file__).parent / "builder.py")],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        encoding="utf-8",
        env=quiet(),
    )
    atexit.register(running.communicate)
    return running


def mkdocs(*arguments: str) -> list[str]:
    """The command line of mkdocs in this environment."""
    return [sys.executable, "-m", "mkdocs", *arguments]


def quiet() -> dict[str, str]:
    """The environment without the theme's notice about a coming MkDocs, and with one date for all builds."""
    return os.environ | {"NO_MKDOCS_2_WARNING": "true", "SOURCE_DATE_EPOCH": "1770000000"}
