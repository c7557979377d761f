"""A real browser on the built demo site, served on loopback, with everything watched that a reader would trip over."""

from __future__ import annotations

import functools
import http.server
import threading
from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Browser, Page

from projects import Project

DESK = {"width": 1360, "height": 900}


class _Silent(http.server.SimpleHTTPRequestHandler):
    def log_message(self, *_: object) -> None:
        pass


@pytest.fixture(scope="session")
def address(demo: Project) -> Iterator[str]:
    """Where the demo site is served."""
    handler = functools.partial(_Silent, directory=str(demo.site))
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}/"
    server.shutdown()


@pytest.fixture
def visit(browser: Browser, address: str, demo: Project) -> Iterator[Callable[..., Page]]:
    """Opens pages: `visit("cases/x/index.html", size=PHONE, scheme="dark")`.

    Whatever the pages noticed (errors, failed requests, requests to elsewhere, dialogs) fails the test at its end.
    """
    contexts, noticed = [], []

    def go(
        path: str = "index.html",
        *,
        size: dict[str, int] = DESK,
        scheme: str = "light",
        script: bool = True,
        from_folder: bool = False,
    ) -> Page:
        base = f"{demo.site.as_uri()}/" if from_folder else address
        context = browser.new_context(viewport=size, color_scheme=scheme, java_script_enabled=script)
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda m: m.type == "error" and noticed.append(f"{path}: console: {m.text}"))
        page.on("pageerror", lambda e: noticed.append(f"{path}: script error: {e}"))
        page.on("dialog", lambda d: (noticed.append(f"{path}: dialog: {d.message}"), d.dismiss()))
        page.on(
            "request",
            lambda r: (
                not r.url.startswith((base, "data:", "blob:")) and noticed.append(f"{path}: leaves the site: {r.url}")
            ),
        )
        page.on("response", lambda r: r.status >= 400 and noticed.append(f"{path}: {r.status}: {r.url}"))
        page.goto(base + path, wait_until="load")
        return page

    yield go
    for context in contexts:
        context.close()
    assert not noticed, "\n".join(dict.fromkeys(noticed))
