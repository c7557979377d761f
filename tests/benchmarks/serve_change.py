"""How long a large library takes to build, and how soon a changed case is on screen under `mkdocs serve --dirty`.

    python tests/benchmarks/serve_change.py [COUNT]

Makes COUNT cases (300 unless told otherwise) from the demo in a temporary folder; builds them with an empty cache
and with a full one; serves them, changes the company's name in one case five times and asks for its page until
the new name is on it.  Prints seconds.  Ends with status 1 when a change took 3 s or more.
"""

from __future__ import annotations

import os
import re
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from make_library import make_library, make_project

LIMIT = 3.0
CHANGES = 5


def mkdocs(*arguments: str) -> list[str]:
    return [sys.executable, "-m", "mkdocs", "--quiet", *arguments]


def timed_build(project: Path) -> float:
    start = time.perf_counter()
    subprocess.run(mkdocs("build"), cwd=project, check=True, env=os.environ | {"NO_MKDOCS_2_WARNING": "true"})
    return time.perf_counter() - start


def fetch(address: str) -> str:
    try:
        with urllib.request.urlopen(address, timeout=5) as answer:
            text: str = answer.read().decode()
            return text
    except OSError:
        return ""


def wait_for(address: str, words: str, seconds: float) -> float:
    """Seconds until `words` are on the page at `address`."""
    start = time.perf_counter()
    while words not in fetch(address):
        if time.perf_counter() - start > seconds:
            raise SystemExit(f"{words!r} did not appear at {address} within {seconds:.0f} s")
        time.sleep(0.02)
    return time.perf_counter() - start


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def main(count: int) -> int:
    with tempfile.TemporaryDirectory() as folder:
        project = make_project(Path(folder) / "project")
        case = make_library(project / "casefiles", count)[count // 2]
        print(f"{count} cases, empty cache: {timed_build(project):.1f} s")
        print(f"{count} cases, full cache:  {timed_build(project):.1f} s")
        port = free_port()
        address = f"http://127.0.0.1:{port}/cases/{case.name}/customer.html"
        server = subprocess.Popen(
            mkdocs("serve", "--dirty", "--dev-addr", f"127.0.0.1:{port}"),
            cwd=project,
            env=os.environ | {"NO_MKDOCS_2_WARNING": "true"},
        )
        try:
            wait_for(address, "Your heating", 900)
            time.sleep(2)  # let the watcher take its first look
            taken = []
            for number in range(CHANGES):
                words = f"Company number {number} of this measurement"
                path = case / "case.yml"
                path.write_text(
                    re.sub(r"(?m)^company: .*$", f'company: "{words}"', path.read_text(encoding="utf-8")),
                    encoding="utf-8",
                )
                taken.append(wait_for(address, words, 60))
                time.sleep(1)
        finally:
            server.terminate()
            server.wait()
        print(f"one changed case on screen: median {sorted(taken)[CHANGES // 2]:.2f} s, worst {max(taken):.2f} s")
        return int(max(taken) >= LIMIT)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 300))
