"""Finding among 10,000 cases: what a first search moves, how long it takes, how large the indexes are.

    python -m pytest tests/benchmarks/test_find_speed.py -s

The pages are small ones made from generated records, as many as cases; the bytes are those of a server that
compresses what can be compressed.  Sizes are asserted, times printed: other work on the machine is no fault of ours.
"""

from __future__ import annotations

import functools
import gzip
import http.server
import random
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

import causebook
from causebook import knowledge
from causebook.library import facets, find_index, fulltext, seek_index
from causebook.library.record import Record
from library.records import make_records

CASES = 10_000
ASSETS = Path(causebook.__file__).parent / "site" / "theme" / "assets"


class Compressing(http.server.SimpleHTTPRequestHandler):
    """Compresses text as any web server does, and counts what it sends.

    An answer is counted before it is written: whatever the browser has, the count has too.
    """

    sent: list[int] = []

    def log_message(self, *_: object) -> None:
        pass

    def do_GET(self) -> None:
        path = Path(self.translate_path(self.path))
        if not path.is_file():
            self.send_error(404)
            return
        data = path.read_bytes()
        packed = path.suffix in (".js", ".html", ".css", ".json")
        data = gzip.compress(data) if packed else data
        self.sent.append(len(data))
        self.send_response(200)
        self.send_header("Content-Type", self.guess_type(str(path)))
        if packed:
            self.send_header("Content-Encoding", "gzip")
        self.send_header("Content-Length", str(len(data)))
        self.end_headers()
        self.wfile.write(data)


def page_of(record: Record, known, dice: random.Random) -> str:
    """A page with the words a case has: its title, its findings, and steps in other words of the trade."""
    causes = [known.causes[c] for c in dice.sample(sorted(known.causes), 3)]
    tests = dice.sample(sorted(known.tests), 5)
    steps = "".join(f"<h3>{known.tests[t].name}</h3><p>{known.tests[t].how}</p>" for t in tests)
    found = "; ".join(known.findings[f].name for f in record.findings)
    story = " ".join(c.mechanism for c in causes)
    body = f"<h1>{record.title}</h1><p>{found}</p>{steps}<p>{story} House {dice.randint(1, 10**6)}.</p>"
    return f"<html lang=en><body>{fulltext.searched_case(body, record, known)}</body></html>"


@pytest.fixture(scope="module")
def library(tmp_path_factory) -> Iterator[Path]:
    known = knowledge.load()
    records = make_records(CASES, known)
    site = tmp_path_factory.mktemp("large")
    dice = random.Random(1)
    for record in records:
        folder = site / "cases" / record.id
        folder.mkdir(parents=True)
        (folder / "index.html").write_text(page_of(record, known, dice), encoding="utf-8")
    (site / "assets").symlink_to(ASSETS)
    (site / "find").mkdir()
    (site / find_index.SOURCE).write_text(find_index.find_script(records, known), encoding="utf-8")
    index = seek_index.seek_index(records, known, {}, lambda source: source)
    (site / seek_index.SOURCE).write_text(seek_index.seek_script(index), encoding="utf-8")
    (site / facets.SOURCE).write_text(facets.facet_script(records, known), encoding="utf-8")
    (site / "cases/index.html").write_text(
        "<!doctype html><meta charset=utf-8><div class=cb-find></div><p id=cb-count></p><div id=cb-list></div>"
        + "".join(
            f"<script src='../{s}'></script>"
            for s in (facets.SOURCE, "assets/cases.js", "assets/words.js", "assets/door.js", "assets/find.js")
        ),
        encoding="utf-8",
    )
    (site / "find/index.html").write_text(
        "<!doctype html><meta charset=utf-8><div class=cb-near></div>"
        + "".join(
            f"<script src='../{s}'></script>"
            for s in (
                facets.SOURCE,
                find_index.SOURCE,
                "assets/cases.js",
                "assets/vectors.js",
                "assets/nearness.js",
                "assets/readings.js",
            )
        ),
        encoding="utf-8",
    )
    fulltext.build_index(site)
    yield site


@pytest.fixture
def address(library: Path) -> Iterator[str]:
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Compressing, directory=str(library)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}/"
    server.shutdown()


SEARCH = """words => new Promise(done => {
    const box = document.getElementById('cb-f-q'), count = document.getElementById('cb-count');
    const from = performance.now();
    new MutationObserver((_, watching) => {
        if (/fits?\\b/.test(count.textContent)) { watching.disconnect(); done(performance.now() - from); }
    }).observe(count, {childList: true, characterData: true, subtree: true});
    box.value = words;
    box.dispatchEvent(new Event('input', {bubbles: true}));
})"""


def first_search(browser: Browser, address: str, words: str) -> tuple[float, int, int]:
    """Milliseconds from the words to the drawn answer on a fresh device, bytes of the page, bytes of the search."""
    context = browser.new_context()
    page = context.new_page()
    before = len(Compressing.sent)
    page.goto(address + "cases/index.html")
    opened = len(Compressing.sent)
    took = page.evaluate(SEARCH, words)
    context.close()
    return took, sum(Compressing.sent[before:opened]), sum(Compressing.sent[opened:])


def test_a_first_search_moves_little(browser: Browser, address: str):
    found = {
        words: first_search(browser, address, words)
        for words in ("secondary matted", "draft hood spillage", "filter return")
    }
    for words, (took, opened, moved) in found.items():
        print(
            f"\n{CASES} cases, first search {words!r}: {took:.0f} ms, {moved / 1000:.0f} kB"
            f" beside the {opened / 1000:.0f} kB of the page with its table",
            end="",
        )
    assert all(moved < 1_500_000 for _, _, moved in found.values())


def test_indexes_stay_small(library: Path):
    findings = len(gzip.compress((library / find_index.SOURCE).read_bytes()))
    table = len(gzip.compress((library / facets.SOURCE).read_bytes()))
    print(f"\n{CASES} cases, compressed: facet table {table / 1000:.0f} kB, findings {findings / 1000:.0f} kB")
    assert findings + table < 2_000_000


def test_find_by_readings_answers(browser: Browser, address: str):
    page = browser.new_context().new_page()
    page.goto(address + "find/index.html?family=high-limit&seen=filter-dirty&out=gas-smell")
    took = page.evaluate("""() => { const box = document.getElementById('cb-r-rise');
        document.getElementById('cb-r-maximum-rise').value = '65';
        document.getElementById('cb-r-maximum-rise').dispatchEvent(new Event('input'));
        const from = performance.now(); box.value = '82'; box.dispatchEvent(new Event('input'));
        return performance.now() - from; }""")
    print(f"\n{CASES} cases: by readings {took:.0f} ms, the page drawn")
    assert page.locator(".cb-near-found li").count() >= 5
    page.context.close()
