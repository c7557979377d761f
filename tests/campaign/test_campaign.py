"""The campaign in short; DEVELOPERS.md holds what the long one found, and its commands."""

from __future__ import annotations

import os
import random
import re
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.campaign import hostile
from tests.campaign.fuzz import run

from projects import Project

EXAMPLES = int(os.environ.get("CAUSEBOOK_EXAMPLES", "500"))
SHARE = 4
"""One in so many of the hostile folders is built, chosen by the seed; CAUSEBOOK_HOSTILE=all builds every one."""
SEED = 1
RUNS = re.compile(r"""(?:href|src)\s*=\s*["']?\s*javascript:""", re.IGNORECASE)
"""A link that would run; the same words as text do no harm, and are shown as their author wrote them."""


def test_made_up_case_files_are_refused_with_a_word_or_worked_up_soundly() -> None:
    tally = run(range(EXAMPLES), seed=SEED)
    assert not tally.lost, tally.lost
    assert sum(tally.tried.values()) == EXAMPLES and tally.sound > EXAMPLES / 5 and tally.refused > EXAMPLES / 5


def test_the_hostile_library_builds_and_every_case_is_shown_or_told(tmp_path: Path) -> None:
    site = Project(tmp_path)
    names = list(hostile.library())
    assert len(names) >= 120
    if os.environ.get("CAUSEBOOK_HOSTILE") != "all":
        names = random.Random(SEED).sample(names, len(names) // SHARE)
    every = hostile.lay_down(tmp_path / "casefiles", names)
    assert {case.stands for case in every.values()} == {True, False}
    (tmp_path / "docs").mkdir()
    (tmp_path / "docs" / "index.md").write_text("# Home\n", encoding="utf-8")
    (tmp_path / "mkdocs.yml").write_text(
        "site_name: Hostile\nuse_directory_urls: false\ntheme: {name: material}\n"
        "plugins: [causebook/cases, causebook/library]\n",
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
        assert "window.pwned=1</script>" not in text and "<img src=x" not in text and not RUNS.search(text), path
    assert RUNS.search('<a href="javascript:window.pwned=1">') and not RUNS.search(hostile.TEXTS["link"])
    left = [path for path in (*site.site.rglob("*"), *site.generated.rglob("*")) if path.is_file()]
    assert not [path for path in left if hostile.SECRET.encode() in path.read_bytes()]
