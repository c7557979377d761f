"""While somebody writes: a broken save shows the last good page with the errors on top; a published page never does."""

from __future__ import annotations

from collections.abc import Callable

from mkdocs.commands.build import build
from mkdocs.config import load_config

from projects import Project

GOOD = "      - do: "


def serve_once(project: Project, command: str = "serve") -> None:
    """One build as `mkdocs serve` makes it at each save."""
    config = load_config(str(project.root / "mkdocs.yml"), site_dir=str(project.site))
    config.plugins.on_startup(command=command, dirty=False)
    build(config)
    config.plugins.on_shutdown()


def test_a_broken_save_shows_the_last_good_page_and_its_errors(project: Callable[..., Project]) -> None:
    made = project("narrow-return")
    page, case = "cases/narrow-return/index.html", made.case("narrow-return")
    sound = case.read_text(encoding="utf-8")
    serve_once(made)
    good = made.page(page)
    assert "cb-broken" not in good

    case.write_text(sound.replace("outdoors: 17 degF", "outdoors: 17 <b>"), encoding="utf-8")
    serve_once(made)
    broken = made.page(page)
    line = sound[: sound.index("outdoors: 17")].count("\n") + 1
    assert f"casefiles/narrow-return/case.yml:{line}: site.outdoors:" in broken and "<b>" not in broken.split("<h1")[0]
    assert broken.index("cb-broken") < broken.index("<h1") and good.partition("<h1")[2] == broken.partition("<h1")[2]

    serve_once(made, "build")
    assert not (made.site / page).exists()

    case.write_text(sound, encoding="utf-8")
    serve_once(made)
    assert "cb-broken" not in made.page(page)


def test_a_case_that_never_was_sound_has_a_page_with_its_errors(project: Callable[..., Project]) -> None:
    made = project()
    case = made.case("cold-hall")
    case.parent.mkdir(parents=True)
    case.write_text("title: Cold hall\n", encoding="utf-8")
    serve_once(made)
    page = made.page("cases/cold-hall/index.html")
    assert "This case has no page yet" in page and "complaint: is missing" in page
