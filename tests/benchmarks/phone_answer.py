"""How soon a phone answers among many cases: from a word or a reading typed to the answer drawn.

    .venv/bin/python tests/benchmarks/phone_answer.py [CASES]

A 390 px screen, the processor slowed to a quarter.  `online`: the first answer of a fresh device, scripts fetched over
a line of 1.6 Mbit/s with 150 ms of delay, as a slow cell; `offline`: scripts at hand.  The cases are generated records;
the page is a small one with the site's own scripts.
"""

from __future__ import annotations

import functools
import shutil
import sys
import tempfile
import threading
from http.server import ThreadingHTTPServer
from pathlib import Path

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parent)]

from playwright.sync_api import Page, sync_playwright
from test_find_speed import Compressing

import causebook
from causebook import knowledge
from causebook.library import facets, find_index, seek_index
from library.records import make_records

ASSETS = Path(causebook.__file__).parent / "site" / "theme" / "assets"
SLOW = {"offline": False, "latency": 150, "downloadThroughput": 200_000, "uploadThroughput": 90_000}
FAST = {"offline": False, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}
ANSWER = """words => new Promise(done => {
    const box = document.querySelector('.cb-ask input'), from = performance.now();
    const look = () => document.querySelector('.cb-seek-panel:not([hidden]) li a') ? done(performance.now() - from)
        : requestAnimationFrame(look);
    box.value = words;
    box.dispatchEvent(new Event('input', {bubbles: true}));
    look();
})"""


def make_site(folder: Path, cases: int) -> None:
    """The scripts of a library of generated cases, and a first page with the box."""
    known = knowledge.load()
    records = make_records(cases, known)
    (folder / "find").mkdir()
    (folder / "cases").mkdir()
    (folder / "assets").symlink_to(ASSETS)
    index = seek_index.seek_index(records, known, {}, lambda source: source)
    for source, text in (
        (seek_index.SOURCE, seek_index.seek_script(index)),
        (find_index.SOURCE, find_index.find_script(records, known)),
        (facets.SOURCE, facets.facet_script(records, known)),
    ):
        (folder / source).write_text(text, encoding="utf-8")
    (folder / "index.html").write_text(
        "<!doctype html><html lang=en><meta charset=utf-8><meta name=viewport content='width=device-width'>"
        "<form class=cb-ask><input type=search></form><script src=assets/door.js></script>",
        encoding="utf-8",
    )


def answered(page: Page, address: str, words: str, line: dict[str, object]) -> float:
    """Milliseconds from the words typed to the first page named."""
    devtools = page.context.new_cdp_session(page)
    devtools.send("Network.enable")
    devtools.send("Network.emulateNetworkConditions", line)
    devtools.send("Emulation.setCPUThrottlingRate", {"rate": 4})
    page.goto(address)
    took: float = page.evaluate(ANSWER, words)
    return took


def main() -> None:
    """Print the times."""
    cases = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    with tempfile.TemporaryDirectory() as place, sync_playwright() as driver:
        make_site(Path(place), cases)
        server = ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Compressing, directory=place))
        threading.Thread(target=server.serve_forever, daemon=True).start()
        browser = driver.chromium.launch(executable_path=shutil.which("chromium"))
        for words in ("undersized return", "rise 85 static 0.8"):
            times = {}
            for name, line in (("online", SLOW), ("offline", FAST)):
                context = browser.new_context(viewport={"width": 390, "height": 844})
                times[name] = answered(
                    context.new_page(), f"http://127.0.0.1:{server.server_port}/index.html", words, line
                )
                context.close()
            print(f"{cases} cases, {words!r}: " + ", ".join(f"{name} {took:.0f} ms" for name, took in times.items()))
        browser.close()
        server.shutdown()


if __name__ == "__main__":
    main()
