"""The pages across cases: every case listed where it belongs, no page too long, no name an author could bend."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from records import make_records

from causebook import knowledge
from causebook.library.addresses import cause_source
from causebook.library.facets import facet_script
from causebook.library.pages import PER_PAGE, file_name, library_pages


@pytest.fixture(scope="module")
def known():
    return knowledge.load()


def test_every_case_is_listed_by_complaint_cause_outcome_and_equipment(known):
    records = make_records(12, known)
    pages = library_pages(records, known)
    for record in records:
        link = f"/cases/{record.id}/index.md)"
        for folder in ("complaints", "outcomes", "equipment"):
            assert any(link in text for name, text in pages.items() if name.startswith(f"{folder}/")), folder
        assert link in pages[f"causes/{record.roots[0]}.md"]


def test_every_cause_has_a_page_with_what_is_known_of_it(known):
    pages = library_pages([], known)
    for cause in known.causes.values():
        text = pages[cause_source(cause)]
        assert cause.residual or "## Cases" in text and (not cause.remedies or "## The fix" in text)
        assert not cause.links or "## What you find with it" in text
        assert not cause.residual or f"## {cause.name}" in text
    assert not any(name.startswith("causes/other-") for name, _ in pages.items() if "other-safety" not in name)


def test_no_page_lists_more_than_a_hundred_cases(known):
    records = [
        replace(r, roles={"root": ("filter-loaded",)}, families=("high-limit",))
        for r in make_records(2 * PER_PAGE + 1, known)
    ]
    pages = library_pages(records, known)
    assert {"cases/index.md", "cases/index-2.md", "cases/index-3.md", "complaints/high-limit-3.md"} <= set(pages)
    for name, text in pages.items():
        if name.startswith(("study/", "tallies/")):  # one course, in its order; every number leads to its cases
            continue
        assert len(set(re.findall(r"cases/(case-\d+)/|\]\((case-\d+)/", text))) <= PER_PAGE, name


def test_every_link_between_generated_pages_has_its_page(known):
    records = make_records(150, known)
    pages = library_pages(records, known)
    there = set(pages) | {f"cases/{r.id}/{page}.md" for r in records for page in ("index", "work")}
    for name, text in pages.items():
        for link in re.findall(r"\]\(([^)#]+\.md)", text):
            folder = name.split("/")[:-1]
            for part in link.split("/"):
                folder = folder[:-1] if part == ".." else [*folder, part]
            assert "/".join(folder) in there, f"{name}: {link}"


@pytest.mark.parametrize(
    "text",
    [
        "filter ../../../etc/passwd",
        'filter "><script>',
        "filter fine/coarse",
        "filter .",
        "filter " + "x" * 300,
        "filter fine\npleated",
        "filter Ärmel",
    ],
)
def test_names_of_pages_are_harmless_and_their_own(text):
    name = file_name(text)
    assert re.fullmatch(r"[a-z0-9-]{1,60}", name)
    assert name != file_name(text + "!") and file_name("filter fine pleated") == "filter-fine-pleated"


def test_no_title_ends_the_script_of_the_facet_table(known):
    (record,) = make_records(1, known)
    script = facet_script([replace(record, title="</script><script>alert(1)</script>")], known)
    assert "<" not in script
