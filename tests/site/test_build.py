"""Whole builds of small projects: strict, repeated, changed, broken, hostile, killed."""

from __future__ import annotations

import html
import json
import shutil
import signal
import subprocess
import time
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest
import yaml

from causebook.knowledge import load
from causebook.library import shelf as shelf_module
from causebook.library.shelf import Shelf
from projects import Project, mkdocs, quiet

CASES = ("narrow-return", "second-limit")


def stamps(folder: Path) -> dict[str, int]:
    """Time of last change of every file below a folder."""
    return {p.relative_to(folder).as_posix(): p.stat().st_mtime_ns for p in folder.rglob("*") if p.is_file()}


def change(path: Path, old: str, new: str) -> None:
    """Put `new` in the place of `old` in a file."""
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def configure(project: Project, **changes: object) -> None:
    """Change the project's mkdocs.yml."""
    path = project.root / "mkdocs.yml"
    path.write_text(
        yaml.safe_dump(yaml.safe_load(path.read_text(encoding="utf-8")) | changes, sort_keys=False), encoding="utf-8"
    )


def test_a_second_strict_build_writes_no_generated_file(project):
    site = project(*CASES)
    first = site.build("--strict")
    assert first.status == 0 and not first.lines("WARNING") and not first.lines("ERROR"), first.said
    before = stamps(site.generated)
    second = site.build("--strict")
    assert second.status == 0 and "2 cases, 0 of them worked up anew" in second.said
    after = stamps(site.generated)
    assert after | {"lock": before["lock"]} == before, "nothing but the lock, which each build takes"


def test_a_changed_case_rebuilds_only_its_own_pages(project):
    site = project(*CASES)
    assert site.build().status == 0
    before = stamps(site.site)
    change(site.case("narrow-return"), "Vantlebrook Warm Air", "Elsewhere Warm Air")
    again = site.build("--dirty")
    assert "2 cases, 1 of them worked up anew" in again.said
    changed = {
        name for name, stamp in stamps(site.site).items() if stamp != before.get(name) and name.endswith(".html")
    }
    own = {f"cases/narrow-return/{name}.html" for name in ("index", "proof", "customer")}
    exercise = {name for name in changed if name.startswith("calls/")}
    assert changed - {"404.html"} == own | exercise and len(exercise) == 1
    assert "Elsewhere Warm Air" in site.page("cases/narrow-return/customer.html")


def test_a_broken_case_is_located_and_the_others_are_built(project):
    site = project(*CASES)
    path = site.case("narrow-return")
    change(path, "family: high-limit", "family: high-limitt")
    line = next(n for n, text in enumerate(path.read_text(encoding="utf-8").splitlines(), 1) if "high-limitt" in text)
    built = site.build()
    assert built.status == 0 and "Traceback" not in built.said
    (error,) = built.lines("ERROR")
    assert f"casefiles/narrow-return/case.yml:{line}:" in error and "high-limit" in error
    assert (site.site / "cases/second-limit/index.html").exists()
    assert not (site.site / "cases/narrow-return").exists()
    strict = site.build("--strict")
    assert strict.status != 0 and "Aborted" in strict.said and "Traceback" not in strict.said


def test_no_case_file_whatever_is_in_it_brings_a_traceback(project):
    site = project("second-limit")
    texts = ("", "visits: [", "- a list", "title: 3\n" * 3, "\x00", "a: &a [*a]")
    for number, text in enumerate(texts):
        broken = site.case(f"broken-{number}")
        broken.parent.mkdir()
        broken.write_text(text, encoding="utf-8")
    built = site.build()
    assert built.status == 0 and "Traceback" not in built.said
    told = {line.partition("/case.yml")[0].rpartition("/")[2] for line in built.lines("ERROR")}
    assert told == {f"broken-{number}" for number in range(len(texts))}
    assert (site.site / "cases/second-limit/index.html").exists()


def test_hostile_case_text_comes_out_harmless(project):
    site = project("second-limit")
    path = site.case("second-limit")
    hostile = (
        '<script>alert(1)</script> "><script>alert(1)</script> [x](javascript:alert(1)) '
        "<img src=x onerror=alert(1)> {{ 7*7 }} ](../../x)"
    )
    data = yaml.safe_load(path.read_text(encoding="utf-8"))
    data["title"] = data["complaint"]["words"] = data["customer"] = data["company"] = hostile
    data["filter"]["kind"] = data["site"]["house"] = hostile
    data["follow up"] = [{"after": "9 d", "found": hostile}]
    data["visits"][0]["steps"][0] |= {"do": hostile, "why": hostile, "told": hostile, "expect": hostile}
    path.write_text(yaml.safe_dump(data, sort_keys=False, allow_unicode=True), encoding="utf-8")
    built = site.build()
    assert (site.site / "cases/second-limit/index.html").exists(), built.said
    for page in site.site.rglob("*.html"):
        found = _Harm(page)
        assert not found.harm, f"{page}: {found.harm}"
    assert "<script>alert" not in (site.site / "cases/facets.js").read_text(encoding="utf-8")
    assert "{{ 7*7 }}" in html.unescape(site.page("cases/second-limit/index.html"))


class _Harm(HTMLParser):
    """Scripts of others, event handlers and script links, as a browser would see them."""

    def __init__(self, page: Path) -> None:
        super().__init__()
        self.harm: list[str] = []
        self.feed(page.read_text(encoding="utf-8"))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for name, value in attrs:
            if name.startswith("on") or (value or "").strip().lower().startswith("javascript:"):
                self.harm.append(f"<{tag} {name}={value}>")

    def handle_data(self, data: str) -> None:
        if self.cdata_elem == "script" and "alert(1)" in data:
            self.harm.append(data)


def test_private_data_reaches_nothing(project):
    site = project("second-limit")
    path = site.case("second-limit")
    secret = "Quillworthy 555-0143"
    path.write_text(
        path.read_text(encoding="utf-8")
        + f'\nprivate: {{name: "{secret}", phone: "{secret}", oddity: [1, "{secret}"]}}\n',
        encoding="utf-8",
    )
    built = site.build()
    assert built.status == 0 and secret not in built.said
    for folder in (site.site, site.generated):
        assert not [p for p in folder.rglob("*") if p.is_file() and secret.encode() in p.read_bytes()]


def test_a_killed_build_leaves_no_half_written_file(project):
    site = project(*CASES)
    running = subprocess.Popen(
        mkdocs("build"), cwd=site.root, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=quiet()
    )
    kept = site.generated / "kept"
    until = time.monotonic() + 60
    while not (kept.exists() and list(kept.glob("*.json"))) and running.poll() is None and time.monotonic() < until:
        time.sleep(0.01)
    running.send_signal(signal.SIGKILL)
    running.wait()
    for path in kept.glob("*.json"):
        assert json.loads(path.read_text(encoding="utf-8"))[
            "pages" if path.name.endswith(".written.json") else "record"
        ]
    assert site.build("--strict").status == 0
    assert not [p for p in site.generated.rglob("*") if ".part" in p.name]


def test_a_broken_cache_entry_is_made_again(project, monkeypatch):
    """By the shelf alone, from which every build takes its cases; then a build, the first to open the pages."""
    site, made, worked = project(*CASES), {}, shelf_module.worked

    def once(folder, *rest):
        """What is made of a case, worked out once: how often it is asked for counts here."""
        if folder not in made:
            made[folder] = worked(folder, *rest)
        return made[folder]

    monkeypatch.setattr(shelf_module, "worked", once)
    shelf = Shelf.within(site.generated, site.root / "casefiles", load())
    assert shelf.take().renewed == set(CASES)
    built = site.build("--strict")
    assert built.status == 0 and "2 cases, 0 of them worked up anew" in built.said
    page = site.page("cases/narrow-return/index.html")
    kept = site.generated / "kept"
    entry, written = kept / "narrow-return.json", kept / "narrow-return.written.json"
    whole, data = entry.read_text(encoding="utf-8"), json.loads(entry.read_text(encoding="utf-8"))
    for broken in (whole[:200], "[]", json.dumps(data | {"pictures": 3}), json.dumps({"key": data["key"]})):
        entry.write_text(broken, encoding="utf-8")
        assert shelf.take().renewed == {"narrow-return"}, broken
        assert entry.read_text(encoding="utf-8") == whole
    written.write_text(written.read_text(encoding="utf-8")[:-1], encoding="utf-8")
    assert shelf.take().renewed == {"narrow-return"}
    written.write_text("x" * written.stat().st_size, encoding="utf-8")  # as long as it was, and no JSON
    assert site.build("--strict").status == 0
    assert site.page("cases/narrow-return/index.html") == page


def test_other_caches_are_not_believed_either(project):
    site = project("second-limit")
    assert site.build().status == 0
    page, at = site.page("cases/second-limit/index.html"), "cases/second-limit/index.md"
    for path in ("put.json", f"rendered/{at}.json", f"pages/{at}"):
        assert (site.generated / path).is_file()
        (site.generated / path).write_text("{", encoding="utf-8")
    assert site.build("--strict").status == 0
    assert site.page("cases/second-limit/index.html") == page


def test_the_whole_cache_may_be_deleted(project):
    site = project("second-limit")
    assert site.build().status == 0
    before = {path: (site.site / path).read_bytes() for path in stamps(site.site) if path.endswith(".html")}
    shutil.rmtree(site.generated)
    assert site.build().status == 0
    assert {path: (site.site / path).read_bytes() for path in before} == before


def test_a_picture_taken_from_the_cache_is_published_again(project):
    site = project("narrow-return")
    shelf = Shelf.within(site.generated, site.root / "casefiles", load())
    shelf.take()
    picture = next((site.generated / "pages").rglob("*.webp"))
    picture.unlink()
    assert shelf.take().renewed == {"narrow-return"} and picture.exists()


def test_edit_this_page_opens_the_case_file(project):
    site = project("second-limit")
    configure(site, repo_url="https://example.org/library", edit_uri="edit/main/docs/")
    assert site.build().status == 0
    assert 'href="https://example.org/library/edit/main/casefiles/second-limit/case.yml"' in site.page(
        "cases/second-limit/index.html"
    )


def test_only_some_cases_are_built_when_asked(project):
    site = project(*CASES)
    configure(site, plugins=[{"causebook/cases": {"only": ["second-*"]}}, "causebook/library"])
    assert site.build("--strict").status == 0
    assert sorted(p.parent.name for p in (site.site / "cases").glob("*/index.html")) == ["second-limit"]


def test_the_plugins_can_be_switched_off(project):
    site = project("second-limit")
    (site.root / "docs" / "index.md").write_text("# Only this\n", encoding="utf-8")
    configure(
        site,
        nav=[{"Start": "index.md"}],
        plugins=[{"causebook/cases": {"enabled": False}}, {"causebook/library": {"enabled": False}}],
    )
    assert site.build().status == 0
    assert not (site.site / "cases").exists() and not site.generated.exists()


def test_a_library_without_the_cases_is_a_clear_error(project):
    site = project()
    configure(site, plugins=["causebook/library"])
    built = site.build()
    assert built.status != 0 and "causebook/library needs causebook/cases" in built.said
    assert "Traceback" not in built.said


@pytest.mark.parametrize(
    ("settings", "told"),
    [
        ("", ["mkdocs.yml: use_directory_urls"]),
        ("use_directory_urls: true\n", ["mkdocs.yml:4: use_directory_urls"]),
        ("use_directory_urls: true\nsite_url: https://cases.example.org/\n", []),
        ("use_directory_urls: false\n", []),
    ],
)
def test_a_site_that_does_not_open_from_a_folder_says_so_unless_it_is_served(project, settings, told):
    site = project()
    (site.root / "mkdocs.yml").write_text(
        f"site_name: Ours\ntheme: {{name: material}}\nplugins: [causebook/cases, causebook/library]\n{settings}",
        encoding="utf-8",
    )
    warned = [line for line in site.build().lines("WARNING") if "use_directory_urls" in line]
    assert len(warned) == len(told)
    assert all(place in line and "site_url" in line for place, line in zip(told, warned, strict=True))


def test_an_empty_library_builds(project):
    built = project().build()
    assert built.status == 0 and "0 cases" in built.said


class _Links(HTMLParser):
    """The links of a page and the ids in it."""

    def __init__(self, page: Path) -> None:
        super().__init__()
        self.links: list[str] = []
        self.ids: set[str] = set()
        self.feed(page.read_text(encoding="utf-8"))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for name, value in attrs:
            if value and name in ("href", "src"):
                self.links.append(value)
            elif value and name == "srcset":
                self.links += [part.split()[0] for part in value.split(",")]
            elif value and name == "id":
                self.ids.add(value)


def test_every_link_of_the_demo_leads_somewhere_and_none_elsewhere(demo):
    pages = {page: _Links(page) for page in demo.site.rglob("*.html") if page.name != "404.html"}
    dead = []
    for page, found in pages.items():
        for link in found.links:
            parts = urlsplit(link)
            if parts.scheme in ("mailto", "data"):
                continue
            assert not parts.scheme and not parts.netloc, f"{page}: {link}"
            target = (page.parent / unquote(parts.path)).resolve() if parts.path else page
            if not target.is_file() or parts.fragment and target in pages and parts.fragment not in pages[target].ids:
                dead.append(f"{page.relative_to(demo.site)}: {link}")
    assert not dead


def test_every_demo_case_has_its_page_and_is_listed(demo):
    ids = sorted(p.parent.name for p in (demo.root / "casefiles").glob("[!_.]*/case.yml"))
    assert len(ids) >= 4
    listed = demo.page("cases/index.html")
    for id_ in ids:
        assert (demo.site / "cases" / id_ / "index.html").is_file() and f'href="{id_}/index.html"' in listed
        assert (demo.site / "cases" / id_ / "customer.html").is_file()
