"""What a device keeps, the full-text index, and the summary of the handbook."""

from __future__ import annotations

import datetime as dt
import json

import pytest

from causebook import knowledge
from causebook.library import fulltext, summaries
from causebook.library.offline import write_worker
from library.records import make_records

AT = dt.datetime(2026, 2, 2, 3, 4, tzinfo=dt.UTC)


@pytest.fixture
def site(tmp_path):
    for path, size in {
        "index.html": 10,
        "assets/a.css": 10,
        "assets/a.css.map": 999,
        "assets/javascripts/lunr/x.js": 999,
        "cases/index.html": 10,
        "cases/facets.js": 10,
        "cases/new/index.html": 100,
        "cases/new/photos/a-480.webp": 50,
        "cases/new/photos/a-960.webp": 999,
        "cases/new/customer.html": 10,
        "cases/old/index.html": 200,
        "pagefind/pagefind.js": 30,
        "404.html": 9,
    }.items():
        (tmp_path / path).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / path).write_text("x" * size, encoding="utf-8")
    return tmp_path


def kept(site):
    return [path for path, _ in json.loads((site / "offline.json").read_text(encoding="utf-8"))["files"]]


def test_everything_fits(site):
    assert write_worker(site, ["new", "old"], 10_000, AT) == 2
    assert kept(site) == [
        "assets/a.css",
        "cases/facets.js",
        "cases/index.html",
        "index.html",
        "cases/new/customer.html",
        "cases/new/index.html",
        "cases/new/photos/a-480.webp",
        "cases/old/index.html",
        "pagefind/pagefind.js",
    ]


@pytest.mark.parametrize(("limit", "cases", "index"), [(0, 0, False), (200, 1, False), (400, 2, False), (430, 2, True)])
def test_a_limit_leaves_out_the_index_first_then_old_cases(site, limit, cases, index):
    assert write_worker(site, ["new", "old"], limit, AT) == cases
    assert "index.html" in kept(site) and ("pagefind/pagefind.js" in kept(site)) == index


def test_the_worker_changes_with_the_site_and_only_then(site):
    write_worker(site, ["new", "old"], 10_000, AT)
    before = (site / "sw.js").read_bytes()
    write_worker(site, ["new", "old"], 10_000, AT)
    assert (site / "sw.js").read_bytes() == before and b"@DIGEST@" not in before
    (site / "cases/old/index.html").write_text("another notice", encoding="utf-8")
    write_worker(site, ["new", "old"], 10_000, AT)
    assert (site / "sw.js").read_bytes() != before


def test_the_index_holds_the_text_and_what_it_is_filtered_by(tmp_path):
    known = knowledge.load()
    record = make_records(1, known)[0]
    page = fulltext.searched_case("<h1>A case</h1><p>words</p>", record, known)
    assert 'data-pagefind-filter="outcome[data-v]"' in page and "<again>" not in page
    (tmp_path / "case.html").write_text(f"<html lang=en><body>{page}</body></html>", encoding="utf-8")
    fulltext.build_index(tmp_path)
    entry = json.loads((tmp_path / "pagefind/pagefind-entry.json").read_text(encoding="utf-8"))
    assert [language["page_count"] for language in entry["languages"].values()] == [1]
    assert not list((tmp_path / "pagefind").glob("*ui*")) and not list(tmp_path.glob(".pagefind*"))


def test_a_failing_index_leaves_none_behind(tmp_path, monkeypatch):
    (tmp_path / "pagefind").mkdir(parents=True)
    monkeypatch.setattr("sys.executable", "/bin/false")
    with pytest.raises(fulltext.NoIndex):
        fulltext.build_index(tmp_path)
    assert not (tmp_path / "pagefind").exists()


def test_the_handbook_is_summed_up_without_its_markup():
    title, text = summaries.summary(
        "---\ntitle: x\n---\n# The *limit*\n\nSee [the rise](rise.md), `0.5`.\n\n"
        "```yaml\na: b\n```\n\n"
        "| a | b |\n|---|---|\n| c | d |\n"
    )
    assert (title, text) == ("The limit", "See the rise, 0.5. a b c d")
    assert summaries.headings("# One\n\n## Two *more*\n\ntext\n") == ["Two more"]
