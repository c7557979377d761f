"""The handbook: every block computes, every block is documented, every page has what a page should have."""

from __future__ import annotations

import re
from pathlib import Path

import markdown
import pytest

from causebook.site.workings.extension import WorkingsExtension
from causebook.workings.kinds import WORKINGS
from causebook.workings.read import COMMON
from projects import Project

DOCS = Path(__file__).parents[2] / "docs"
PAGES = sorted(DOCS.rglob("*.md"))
TAUGHT = [
    page
    for page in sorted((DOCS / "handbook").glob("*.md"))
    if page.stem not in ("index", "glossary", "worked-example")
]
_ANY_BLOCK = re.compile(r"^```workings (\S+)", re.MULTILINE)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_every_block_of_a_page_computes(page: Path) -> None:
    blocks = WorkingsExtension(page)
    made = markdown.markdown(
        page.read_text(encoding="utf-8"), extensions=[blocks, "admonition", "tables", "pymdownx.superfences"]
    )
    assert not blocks.problems, "\n".join(map(str, blocks.problems))
    assert "cb-work-wrong" not in made


@pytest.mark.parametrize("page", TAUGHT, ids=lambda page: page.stem)
def test_a_page_works_its_examples_and_shows_where_it_happened(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    assert len(_ANY_BLOCK.findall(text)) >= 2
    assert "mistakes:" in text
    assert "](../cases/" in text


def test_every_kind_is_used_somewhere() -> None:
    used = {name for page in PAGES for name in _ANY_BLOCK.findall(page.read_text(encoding="utf-8"))}
    assert used == set(WORKINGS)


def test_every_block_and_field_is_documented() -> None:
    text = (DOCS / "handbook" / "worked-example.md").read_text(encoding="utf-8")
    listed = text[text.index("## Every block") : text.index("## Tables, lists")]
    rows = {
        found[1]: set(re.findall(r"`([a-z-]+)`", found[2]))
        for found in re.finditer(r"^\| `([a-z-]+)` \| (.+) \|$", listed, re.MULTILINE)
    }
    for name, working in WORKINGS.items():
        assert rows.get(name) == {field.name for field in working.fields}, name
    assert all(f"`{name}`" in text for name in COMMON)


def test_the_pages_stand_in_the_strictly_built_site(demo: Project) -> None:
    for page in (DOCS / "handbook").glob("*.md"):
        built = demo.page(f"handbook/{page.stem}.html")
        assert built.count('class="cb-work-block"') == len(
            _ANY_BLOCK.findall(_without_shown(page.read_text(encoding="utf-8")))
        )
        assert "cb-work-wrong" not in built
    assert "workings.css" in demo.page("handbook/limit.html")
    assert (demo.site / "assets" / "workings.css").exists()


def test_a_wrong_block_stops_a_strict_build_at_its_line(project) -> None:
    site = project()
    (site.root / "docs" / "bad.md").write_text(
        "---\ntitle: Bad\n---\n\n# Bad\n\n```workings air-free-co\nco: 50\noxygen: 6 %\n```\n", encoding="utf-8"
    )
    done = site.build("--strict")
    assert done.status != 0
    assert "Traceback" not in done.said
    assert any("docs/bad.md:8: co: '50'" in said for said in done.lines("ERROR")), done.said


def _without_shown(text: str) -> str:
    return re.sub(r"^````.*?^````$", "", text, flags=re.MULTILINE | re.DOTALL)
