"""The campaign in short; DEVELOPERS.md holds what the long one found, and its commands."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.campaign import hostile
from tests.campaign.fuzz import run

from projects import Project

EXAMPLES = 500


def test_made_up_case_files_are_refused_with_a_word_or_worked_up_soundly() -> None:
    tally = run(range(EXAMPLES), seed=1)
    assert not tally.lost, tally.lost
    assert sum(tally.tried.values()) == EXAMPLES and tally.sound > EXAMPLES / 5 and tally.refused > EXAMPLES / 5


def test_the_hostile_library_builds_and_every_case_is_shown_or_told(tmp_path: Path) -> None:
    site = Project(tmp_path)
    every = hostile.lay_down(tmp_path / "casefiles")
    assert len(every) >= 120
    (tmp_path / "docs").mkdir()
    (tmp_path / "docs" / "index.md").write_text("# Home\n", encoding="utf-8")
    (tmp_path / "mkdocs.yml").write_text(
        "site_name: Hostile\nuse_directory_urls: false\ntheme: {name: material}\n"
        "plugins: [causebook/cases: {cases: casefiles}]\n",
        encoding="utf-8",
    )
    built = site.build()
    assert built.status == 0 and "Traceback" not in built.said, built.said[-2000:]
    for name, case in every.items():
        page = site.site / "cases" / name / "index.html"
        assert page.exists() is case.stands, name
        assert case.stands or f"casefiles/{name}/" in built.said, name
    for path in site.site.rglob("*.html"):
        text = path.read_text(encoding="utf-8")
        assert "window.pwned=1</script>" not in text and "<img src=x" not in text and "javascript:window" not in text, (
            path
        )
    left = [path for path in (*site.site.rglob("*"), *site.generated.rglob("*")) if path.is_file()]
    assert not [path for path in left if hostile.SECRET.encode() in path.read_bytes()]
