"""No signal: the site is visited once, then the server is stopped, or comes back with another build."""

from __future__ import annotations

import contextlib
import datetime as dt
import functools
import http.server
import json
import shutil
import socket
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect
from waiting import until

from causebook.library.offline import write_worker

AT = dt.datetime(2026, 2, 2, 3, 4, tzinfo=dt.UTC)
PATIENCE = 4.0
"""Seconds that the worker waits for a silent network before it takes the copy."""
STOPPED = "cases/bent-flame/index.html"


class Silent(http.server.SimpleHTTPRequestHandler):
    def log_message(self, *_: object) -> None:
        pass


class Served:
    """A copy of the demo site on a server that can be stopped and started again at the same address."""

    def __init__(self, site: Path) -> None:
        self.site = site
        self.port = 0
        self.asked: list[str] = []
        self.start()

    def start(self) -> None:
        asked = self.asked

        class Noting(Silent):
            def do_GET(self) -> None:
                asked.append(self.path)
                super().do_GET()

        handler = functools.partial(Noting, directory=str(self.site))
        self.server = http.server.ThreadingHTTPServer(("127.0.0.1", self.port), handler)
        self.port = self.server.server_port
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def stop(self) -> None:
        self.server.shutdown()
        self.server.server_close()

    @contextlib.contextmanager
    def hanging(self) -> Iterator[None]:
        """For a while it takes every connection and never says a word, as with one bar of signal."""
        self.stop()
        with socket.create_server(("127.0.0.1", self.port), backlog=200):
            yield
        self.start()

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}/"

    def newest(self) -> list[str]:
        table = json.loads((self.site / "cases/facets.js").read_text(encoding="utf-8").partition("=")[2].rstrip(";\n"))
        return list(table["id"])


@pytest.fixture
def served(demo, tmp_path) -> Iterator[Served]:
    shutil.copytree(demo.site, tmp_path / "site")
    running = Served(tmp_path / "site")
    yield running
    running.stop()


@pytest.fixture
def page(browser: Browser, served: Served) -> Iterator[Page]:
    context = browser.new_context()
    yield context.new_page()
    context.close()


def visited(page: Page, served: Served) -> None:
    """Open the first page and wait until the device has kept what it should."""
    page.goto(served.address)
    until(page, "navigator.serviceWorker.controller !== null")
    page.reload()
    expect(page.locator(".cb-built")).to_contain_text("Saved on this device", timeout=60_000)


def test_everything_opens_with_the_server_stopped(page, served):
    visited(page, served)
    expect(page.locator(".cb-built")).to_contain_text("all ")
    assert page.locator(".cb-saved-copy").count() == 0
    served.stop()
    page.reload()
    expect(page.locator(".cb-saved-copy")).to_contain_text("Saved copy of 2026-02-02")
    page.goto(served.address + STOPPED)
    expect(page.locator(".cb-saved-copy")).to_contain_text("stop-use notice may have been set or lifted")
    expect(page.locator(".cb-stop").first).to_be_visible()
    page.locator("main img").first.scroll_into_view_if_needed()
    until(page, "document.querySelector('main img').naturalWidth > 0")
    page.goto(served.address + "cases/index.html?q=return")
    expect(page.locator("#cb-list li a").first).to_be_visible()
    page.get_by_role("button", name="Search the full text too").click()
    expect(page.locator("#cb-list .cb-excerpt").first).to_be_visible()
    page.goto(served.address + "find/index.html?family=high-limit")
    expect(page.locator(".cb-near-found li").first).to_be_visible()
    page.go_back()
    expect(page.get_by_label("Words, readings or a code", exact=True)).to_have_value("return")
    page.goto(served.address + "cases/never-heard-of/index.html")
    expect(page.locator("h1")).to_contain_text("not saved")
    served.start()


def test_a_network_that_hangs_is_waited_for_once(page, served):
    visited(page, served)
    path = served.site / STOPPED
    with served.hanging():
        page.goto(served.address + "find/index.html")
        expect(page.locator(".cb-saved-copy")).to_be_visible()
        begun = time.monotonic()
        page.goto(served.address + "cases/index.html?q=return")
        expect(page.locator("#cb-list li a").first).to_be_visible()
        for path_ in (STOPPED, "index.html", "study/index.html", STOPPED):
            page.goto(served.address + path_)
            expect(page.locator(".cb-saved-copy")).to_be_visible()
        assert time.monotonic() - begun < 5 * PATIENCE, "each of the five was waited for"
    path.write_text(path.read_text(encoding="utf-8").replace("</h1>", " (notice lifted)</h1>", 1), encoding="utf-8")
    for _ in range(2):  # the first may still come from the copy, and notices that the network is back
        page.goto(served.address + STOPPED)
        page.wait_for_timeout(1000)
    assert "(notice lifted)" in page.content() and page.locator(".cb-saved-copy").count() == 0


def test_a_page_from_the_copy_gets_its_files_from_the_copy(page, served):
    visited(page, served)
    served.stop()
    page.goto(served.address + STOPPED)
    served.start()
    (served.site / "assets" / "mark.svg").write_text("of a later build", encoding="utf-8")
    fetched = "async (url) => (await fetch(url)).text()"
    assert "of a later build" not in page.evaluate(fetched, served.address + "assets/mark.svg")
    page.reload()
    assert "of a later build" in page.evaluate(fetched, served.address + "assets/mark.svg")


def test_a_changed_notice_is_shown_at_once_and_the_copy_follows(page, served):
    visited(page, served)
    path = served.site / STOPPED
    path.write_text(path.read_text(encoding="utf-8").replace("</h1>", " (notice lifted)</h1>", 1), encoding="utf-8")
    page.goto(served.address + STOPPED)
    assert "(notice lifted)" in page.content() and page.locator(".cb-saved-copy").count() == 0
    before = len(served.asked)
    write_worker(served.site, served.newest(), 60_000_000, AT)
    page.goto(served.address)
    digest = json.loads((served.site / "offline.json").read_text(encoding="utf-8"))["digest"]
    held = f"causebook {served.address} {digest}"
    for _ in range(60):
        if page.evaluate("async () => (await caches.keys()).filter(name => !name.endsWith('visited'))") == [held]:
            break
        page.wait_for_timeout(1000)
    fetched = [path for path in served.asked[before:] if path.endswith(".webp")]
    assert page.evaluate("caches.keys()") == [held]
    assert not fetched, "unchanged pictures are taken over, not fetched again"
    served.stop()
    page.goto(served.address + STOPPED)
    assert "(notice lifted)" in page.content()
    expect(page.locator(".cb-saved-copy")).to_be_visible()
    served.start()


def test_beyond_the_limit_the_newest_cases_are_kept_and_those_opened(page, served):
    newest = served.newest()
    listing = json.loads((served.site / "offline.json").read_text(encoding="utf-8"))
    common = sum(
        (served.site / p).stat().st_size
        for p, _ in listing["files"]
        if not p.startswith(("pagefind/", *(f"cases/{id_}/" for id_ in newest)))
    )
    kept = write_worker(served.site, newest, common + 1_000_000, AT)
    assert 0 < kept < len(newest)
    visited(page, served)
    expect(page.locator(".cb-built")).to_contain_text(f"the newest {kept} of {len(newest)} cases")
    oldest, other = newest[-1], newest[-2]
    page.goto(served.address + f"cases/{oldest}/index.html")
    served.stop()
    page.goto(served.address + f"cases/{oldest}/index.html")
    expect(page.locator(".cb-saved-copy")).to_be_visible()
    page.goto(served.address + f"cases/{other}/index.html")
    expect(page.locator("h1")).to_contain_text("not saved")
    served.start()


def test_nothing_private_and_no_full_photo_is_kept(served):
    paths = [path for path, _ in json.loads((served.site / "offline.json").read_text(encoding="utf-8"))["files"]]
    assert len(paths) == len(set(paths)) and all((served.site / path).is_file() for path in paths)
    assert any("-480.webp" in path for path in paths)
    assert not any("-1600." in path or "-960." in path for path in paths)
    assert not any(path.endswith(".yml") for path in paths)
