"""What a phone fetches again after a new build: the time of the build when nothing changed, else what changed."""

from __future__ import annotations

import functools
import http.server
import json
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from waiting import until

from projects import Project

FIRST, LATER = "1770000000", "1780000000"


@dataclass
class Server:
    """A server of a site's folder that notes what it sends: path -> bytes of the body, "not modified" left out."""

    folder: Path
    sent: dict[str, int] = field(default_factory=dict)
    address: str = ""


@pytest.fixture
def library(project) -> Project:
    return project("narrow-return", "second-limit")


@pytest.fixture
def server(library: Project) -> Iterator[Server]:
    noted = Server(library.site)

    class Noting(http.server.SimpleHTTPRequestHandler):
        def log_message(self, *_: object) -> None:
            pass

        def do_GET(self) -> None:
            path = self.path.lstrip("/").partition("?")[0] or "index.html"
            self.path_asked = path
            super().do_GET()

        def copyfile(self, source, outputfile) -> None:
            body = source.read()
            noted.sent[self.path_asked] = noted.sent.get(self.path_asked, 0) + len(body)
            outputfile.write(body)

    running = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Noting, directory=str(library.site)))
    threading.Thread(target=running.serve_forever, daemon=True).start()
    noted.address = f"http://127.0.0.1:{running.server_port}/"
    yield noted
    running.shutdown()


def listed(library: Project) -> dict[str, str]:
    return dict(json.loads(library.page("offline.json"))["files"])


def digest(library: Project) -> str:
    return json.loads(library.page("offline.json"))["digest"]


def visited_anew(page: Page, server: Server, library: Project) -> dict[str, int]:
    """What is sent when the site is opened again and the phone has looked for a new build of it."""
    server.sent.clear()
    page.goto(server.address)
    page.evaluate("async () => { await (await navigator.serviceWorker.ready).update(); }")
    wanted = f"causebook {server.address} {digest(library)}"
    until(
        page,
        "async wanted => (await caches.keys()).filter(name => !name.endsWith('visited')).join() === wanted",
        wanted,
    )
    page.goto(server.address)
    page.wait_for_load_state("networkidle")
    return dict(server.sent)


def test_only_what_changed_travels(library, server, browser):
    assert library.build(SOURCE_DATE_EPOCH=FIRST).status == 0
    context = browser.new_context()
    page = context.new_page()
    page.goto(server.address)
    until(page, "navigator.serviceWorker.controller !== null")
    page.reload()
    expect(page.locator(".cb-built")).to_contain_text("Saved on this device", timeout=60_000)
    expect(page.locator(".cb-built")).to_contain_text("Built 2026-02-02")
    whole = sum(server.sent.values())

    before = {p: p.read_bytes() for p in library.site.rglob("*") if p.is_file()}
    assert library.build(SOURCE_DATE_EPOCH=LATER).status == 0
    after = {p: p.read_bytes() for p in library.site.rglob("*") if p.is_file()}
    changed = {p.relative_to(library.site).as_posix() for p in after if before.get(p) != after[p]}
    assert before.keys() == after.keys() and changed <= {"built.js", "sitemap.xml", "sitemap.xml.gz"}
    sent = visited_anew(page, server, library)
    assert sent.keys() == {"built.js"} and sum(sent.values()) < 300, sent
    expect(page.locator(".cb-built")).to_contain_text("Built 2026-05-28")

    path, held = library.case("narrow-return"), listed(library)
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("Vantlebrook Warm Air", "Elsewhere Warm Air"), encoding="utf-8")
    assert library.build(SOURCE_DATE_EPOCH=LATER).status == 0
    changed = {name for name, digest_ in listed(library).items() if held.get(name) != digest_}
    own = {name for name in changed if name.startswith("cases/narrow-return/")}
    # The lists that a case stands in: the full text, and the index of the search, where its company finds it.
    lists = {name for name in changed if name.startswith("pagefind/") or name == "find/seek.js"}
    assert "cases/narrow-return/customer.html" in own and changed == own | lists
    sent = visited_anew(page, server, library)
    assert sent.keys() - {"built.js", "sw.js", "offline.json"} == changed
    case = sum((library.site / name).stat().st_size for name in own)
    print(f"whole {whole}, nothing changed {300} at most, one case {sum(sent.values())} of which the case {case}")
    assert sum(sent.values()) < whole / 4
    context.close()
