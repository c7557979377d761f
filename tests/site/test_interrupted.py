"""A build that is killed, fails, or meets another: what was there stays, what was withdrawn goes, nothing goes on."""

from __future__ import annotations

import os
import resource
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from causebook.library import place
from projects import Project, mkdocs, quiet

WITHDRAWN = "Quillworthystreet"
MINDED = [sys.executable, "-m", "causebook.library.minded", sys.executable, "-c"]


def holding(folder: Path, text: str) -> list[Path]:
    """The files below a folder that hold a text, packed ones unpacked."""
    import gzip

    def content(path: Path) -> bytes:
        raw = path.read_bytes()
        return gzip.decompress(raw) if raw[:2] == b"\x1f\x8b" else raw

    return [p for p in folder.rglob("*") if p.is_file() and text.encode() in content(p)]


def processes(root: Path) -> list[str]:
    """Command lines of the processes that work in a folder or on it."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                command = (entry / "cmdline").read_bytes().replace(b"\0", b" ").decode(errors="replace")
                here = os.readlink(entry / "cwd")
            except OSError:
                continue
            if str(root) in command or here.startswith(str(root)):
                found.append(command)
    return found


def kill_when(project: Project, moment: Callable[[], bool]) -> None:
    """Start a build and kill its own process, and only that, as soon as `moment` has come."""
    running = subprocess.Popen(
        mkdocs("build"), cwd=project.root, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=quiet()
    )
    while running.poll() is None and not moment():
        time.sleep(0.005)
    assert running.poll() is None, "it ended before the moment came"
    running.send_signal(signal.SIGKILL)
    running.wait()


def write(project: Project, words: str) -> None:
    path = project.case("second-limit")
    path.parent.mkdir(exist_ok=True)
    path.write_text(
        f"title: T\ncomplaint: {{family: high limit, words: W}}\ncustomer: {words} was told\n"
        "visits: [{date: 2026-01-01, steps: [{do: Looked, seen: {filter dirty: yes}}]}]\n",
        encoding="utf-8",
    )


def test_what_was_withdrawn_after_a_kill_is_nowhere(project):
    site = project()
    write(site, WITHDRAWN)
    kill_when(site, lambda: bool(list(site.generated.glob(f"{place.INDEX}*/pagefind/fragment/*"))))
    until = time.monotonic() + 60
    while processes(site.root) and time.monotonic() < until:
        time.sleep(0.1)
    assert not processes(site.root), "the indexing program went on"
    assert not site.site.exists(), "nothing unfinished stands in the site"
    write(site, "Somebody")
    assert site.build("--strict").status == 0
    assert not holding(site.root / "site", WITHDRAWN) and not holding(site.generated, WITHDRAWN)
    assert holding(site.site, "Somebody")
    assert len(list(site.site.glob("pagefind/*.pf_meta"))) == 1
    kept = {p.name for p in site.generated.iterdir()}
    assert kept == {"kept", "pages", "rendered", "put.json", "lock"}

    before = {p: (p.read_bytes(), p.stat().st_mtime_ns) for p in site.site.rglob("*") if p.is_file()}
    assert site.build("--strict").status == 0
    assert {p: (p.read_bytes(), p.stat().st_mtime_ns) for p in before} == before, "the same, and not newer"


def test_two_builds_at_once_both_end_well(project):
    site = project()
    write(site, "Somebody")
    builds = [
        subprocess.Popen(
            mkdocs("build", "--strict"),
            cwd=site.root,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            encoding="utf-8",
            env=quiet(),
        )
        for _ in range(2)
    ]
    said = [build.communicate()[0] for build in builds]
    assert [build.returncode for build in builds] == [0, 0], said
    assert any("another build of this library is under way" in text for text in said)
    assert holding(site.site, "Somebody")


def limited() -> None:
    """As under `ulimit -f`: no file may grow beyond 20 kB."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))


def test_a_build_that_the_machine_stops_says_so_in_a_line_and_leaves_the_site(project):
    site = project()
    write(site, "Somebody")
    assert site.build().status == 0
    whole = {p: p.read_bytes() for p in site.site.rglob("*") if p.is_file()}
    write(site, "Anybody")
    ran = subprocess.run(
        mkdocs("build"), cwd=site.root, capture_output=True, encoding="utf-8", env=quiet(), preexec_fn=limited
    )
    said = ran.stdout + ran.stderr
    assert ran.returncode == 1 and "Traceback" not in said
    assert [line for line in said.splitlines() if "File too large" in line] == [
        line for line in said.splitlines() if line.startswith("causebook: ")
    ]
    assert {p: p.read_bytes() for p in site.site.rglob("*") if p.is_file()} == whole
    assert not (site.generated / place.BUILDING).exists()

    shutil.rmtree(site.generated)
    site.generated.write_text("in the way", encoding="utf-8")
    built = site.build()
    assert built.status == 1 and "Traceback" not in built.said and "causebook: File exists" in built.said
    assert {p: p.read_bytes() for p in site.site.rglob("*") if p.is_file()} == whole
    site.generated.unlink()

    path = site.case("second-limit")
    path.write_text(path.read_text(encoding="utf-8").replace("filter dirty", "filter dirtyy"), encoding="utf-8")
    assert site.build("--strict").status == 1
    assert {p: p.read_bytes() for p in site.site.rglob("*") if p.is_file()} == whole, "a strict failure keeps it too"


def fill(folder: Path, **files: str) -> Path:
    for name, text in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def contents(folder: Path) -> dict[str, str]:
    return {p.relative_to(folder).as_posix(): p.read_text(encoding="utf-8") for p in folder.rglob("*") if p.is_file()}


@pytest.mark.parametrize("refused", [(), ("site",), ("built", "site")])
def test_a_site_is_put_in_its_place_also_where_folders_cannot_be_moved(tmp_path, monkeypatch, refused):
    """As across disks, and on Windows while a program holds a file of the folder open."""
    site = fill(tmp_path / "site", **{"a.html": "old", "gone/b.html": "old", "same.css": "same"})
    os.utime(site / "same.css", (1, 1))
    built = fill(tmp_path / "made" / "site", **{"a.html": "new", "new/c.html": "new", "same.css": "same"})
    real, which = os.rename, {"site": site, "built": built}

    def rename(old, new):
        if Path(old) in [which[name] for name in refused]:
            raise OSError(18, "Invalid cross-device link")
        real(old, new)

    monkeypatch.setattr(os, "rename", rename)
    place.put(built, site)
    assert contents(site) == {"a.html": "new", "new/c.html": "new", "same.css": "same"}
    assert (site / "same.css").stat().st_mtime == 1
    assert not list((tmp_path / "made").iterdir()) and not (site / "gone").exists()


def test_a_site_set_aside_by_a_killed_build_comes_back(tmp_path):
    fill(tmp_path / "made" / place.FORMER, **{"a.html": "old"})
    fill(tmp_path / "made" / place.BUILDING, **{"b.html": "half"})
    fill(tmp_path / "made" / "pages", **{".x.part": "half", "c.md": "whole"})
    place.clear(tmp_path / "made", tmp_path / "site")
    assert contents(tmp_path / "site") == {"a.html": "old"}
    assert contents(tmp_path / "made") == {"pages/c.md": "whole"}


def test_a_minded_program_ends_with_whoever_started_it(tmp_path):
    ready = tmp_path / "ready"
    child = f"import os, time, pathlib; pathlib.Path({str(ready)!r}).write_text(str(os.getpid())); time.sleep(600)"
    running = subprocess.Popen([*MINDED, child], stdin=subprocess.PIPE)
    until = time.monotonic() + 60
    while not (ready.exists() and ready.read_text(encoding="utf-8")) and time.monotonic() < until:
        time.sleep(0.05)
    pid = int(ready.read_text(encoding="utf-8"))
    assert running.stdin is not None
    running.stdin.close()
    running.wait(timeout=60)
    assert not Path(f"/proc/{pid}").exists() or "Z" in Path(f"/proc/{pid}/stat").read_text(encoding="utf-8").split()[2]
    with subprocess.Popen([*MINDED, "import sys; sys.exit(3)"], stdin=subprocess.PIPE) as ends_by_itself:
        assert ends_by_itself.wait(timeout=60) == 3
