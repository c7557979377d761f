"""A fault in one piece of a case costs that piece, says so in its place and in `check`, and the page stands."""

from __future__ import annotations

import shutil
import time
from pathlib import Path

import pytest
import yaml
from PIL import Image

from causebook import cli, workup
from causebook.knowledge import load
from causebook.library import patience, shelf
from causebook.library.facets import facet_script
from causebook.library.like import with_section
from causebook.library.likeness import neighbors
from causebook.library.pages import library_pages
from causebook.problems import Fence
from causebook.sizing import options
from causebook.writeup import charts, page
from causebook.writeup.photos import Published, publish
from make_library import DEMO

STORY = page.STORY
SCRIPTS = "🔥👍✅❌ 漏气 난방 गर्मी ความร้อน حرارة חימום ⁦x⁩ \U0001f468\u200d\U0001f527 a\u0301 \ue000 \U000e0041"

GAS = (
    "title: T\ncomplaint: {family: high limit, words: W}\n"
    "visits: [{date: 2026-01-01, steps: [{do: Sniffed, seen: {gas smell: yes}}]}]\n"
)


@pytest.fixture(scope="module")
def known():
    return load()


@pytest.fixture(scope="module")
def work(known):
    """A sound case, worked up once."""
    return workup.work_up(shelf.read_case(DEMO / "narrow-return", known)[0], known)


@pytest.fixture(autouse=True)
def no_photos(monkeypatch: pytest.MonkeyPatch) -> None:
    """Photos take most of a case's time; the tests of pictures publish them by themselves."""
    monkeypatch.setattr(shelf, "publish", lambda case, folder: Published((), ()))


@pytest.fixture
def case(tmp_path: Path) -> Path:
    return Path(shutil.copytree(DEMO / "narrow-return", tmp_path / "cases" / "narrow-return"))


def failing(*_: object, **__: object) -> None:
    raise ZeroDivisionError("float division by zero")


def made(folder: Path, known, tmp_path: Path) -> tuple[shelf.Entry, shelf.Written]:
    done, problems = shelf.worked(folder, known, tmp_path / "pages")
    assert done is not None, problems
    return done


def test_a_chart_that_fails_says_so_in_its_place(work, tmp_path, monkeypatch):
    order = [(id_, title, failing if id_ == "air-path" else draw) for id_, title, draw in charts._ORDER]
    monkeypatch.setattr(charts, "_ORDER", tuple(order))
    entry, written = shelf.write_up(work, tmp_path)
    assert "<strong>Air-path profile:</strong> this drawing could not be made." in written.pages["proof.md"]
    assert len(written.charts) >= 3 and not any('"air-path"' in place for place in written.charts)
    (said,) = [str(p) for p in entry.problems]
    assert "narrow-return/case.yml: drawing 'Air-path profile': could not be made (ZeroDivisionError" in said


def test_a_section_that_fails_says_so_and_the_others_stand(work, monkeypatch):
    def headings(text):
        return [line for line in text.splitlines() if line.startswith("## ")]

    whole = headings(page.case_page(work).text)
    tried = 0
    for number, (heading, _) in enumerate(STORY):
        if f"## {heading}" not in whole:
            continue
        sections = [(h, failing if n == number else s) for n, (h, s) in enumerate(STORY)]
        monkeypatch.setattr(page, "STORY", tuple(sections))
        fence = Fence(work.case.path)
        text = page.case_page(work, fence=fence).text
        assert headings(text) == whole
        assert f'## {heading}\n\n<p class="cb-failed">This part could not be made.</p>' in text
        assert [f"writing {heading!r}" in str(p) for p in fence.problems] == [True]
        tried += 1
    assert tried > 3


def test_an_option_that_fails_is_named_and_the_others_are_worked_out(work, known, monkeypatch):
    real = options.planned

    def planned(option, number, job):
        return failing() if number == 1 else real(option, number, job)

    monkeypatch.setattr(options, "planned", planned)
    worked = workup.work_up(work.case, known)
    assert [o.name for o in worked.options if o.by_author] == [o.name for o in work.options if o.by_author]
    says = {o.id: o.says for o in worked.options}
    assert says["offered-1"] == "Not computed: the program failed on this option."
    assert any(o.holds != "not computed" for o in worked.options)
    assert any("reading the option" in str(p) for p in worked.problems)


def test_what_comes_after_the_verdict_is_fenced(work, known, tmp_path, monkeypatch):
    pieces = ("options", "shown_work", "after_repair", "return_size", "compare", "reviewed")
    for piece in pieces:
        monkeypatch.setattr(workup, piece, failing)
    worked = workup.work_up(work.case, known)
    assert len([p for p in worked.problems if p.rule == "fault"]) == len(pieces)
    entry, written = shelf.write_up(worked, tmp_path)
    assert "## " in written.pages["index.md"] and entry.record.roots == shelf.write_up(work, tmp_path)[0].record.roots


def test_a_case_on_which_the_core_fails_keeps_its_words_and_clears_nothing(case, known, tmp_path, monkeypatch):
    monkeypatch.setattr(workup, "survey", failing)
    entry, written = made(case, known, tmp_path)
    text = written.pages["index.md"]
    assert "checked no stop-use notice" in text and "clears nothing" in text
    for step in yaml.safe_load((case / "case.yml").read_text(encoding="utf-8"))["visits"][0]["steps"]:
        assert step["do"][:20] in text
    assert "0.36 in. w.c." in text
    assert entry.record.id == "narrow-return" and entry.record.outcome == "undetermined"
    near = neighbors([entry.record], known, 4)["narrow-return"]
    assert with_section(text, "## Like cases\n", near).endswith("\n## Like cases\n"), "the library adds to it as to any"
    assert library_pages([entry.record], known) and facet_script([entry.record], known)
    assert "working it up: could not be made (ZeroDivisionError" in str(entry.problems[-1])


def test_an_open_notice_outlives_the_failure_of_its_page(known, tmp_path, monkeypatch):
    folder = tmp_path / "gas"
    folder.mkdir()
    (folder / "case.yml").write_text(GAS, encoding="utf-8")
    for broken in ("case_page", "record_of"):
        with monkeypatch.context() as patch:
            patch.setattr(shelf, broken, failing)
            entry, written = made(folder, known, tmp_path)
        assert entry.record.stopped, broken
        assert known.stops["gas"].notice in written.pages["index.md"]
    monkeypatch.setattr(page, "_first", failing)
    assert known.stops["gas"].notice in made(folder, known, tmp_path)[1].pages["index.md"]
    monkeypatch.setattr(shelf, "customer_page", failing)
    assert "Leave the heating off" in made(folder, known, tmp_path)[1].pages["customer.md"]


def test_every_script_and_emoji_may_stand_in_every_text(work, case, known, tmp_path):
    path = case / "case.yml"
    data = yaml.safe_load(path.read_text(encoding="utf-8"))
    for visit in data["visits"]:
        for step in visit["steps"]:
            step["do"] = f"{SCRIPTS} {step['do']}"
        for option in visit.get("options", ()):
            option["name"] = f"{SCRIPTS} {option['name']}"
    data["title"] = data["filter"]["kind"] = data["complaint"]["words"] = SCRIPTS
    for opening in data["return"]:
        opening["what"] = SCRIPTS
    path.write_text(yaml.safe_dump(data, allow_unicode=True, sort_keys=False), encoding="utf-8")
    before = shelf.write_up(work, tmp_path)[1].charts
    entry, written = made(case, known, tmp_path)
    assert written.charts.keys() == before.keys()
    assert "fault" not in {p.rule for p in entry.problems}
    assert all("nan" not in chart for chart in written.charts.values())


@pytest.mark.parametrize("size", [(1, 60_000), (60_000, 1), (900, 20_000), (3, 16_384), (20_000, 900), (1, 1)])
def test_a_picture_of_any_shape_is_published(work, tmp_path, size):
    folder = Path(shutil.copytree(DEMO / "narrow-return", tmp_path / "narrow-return"))
    (_, photo), *others = work.case.photos
    Image.new("RGB", size, "gray").save(folder / photo.file)
    for _, other in others:
        (folder / other.file).unlink()
    published = publish(work.case.model_copy(update={"folder": folder}), tmp_path / "out")
    (picture,) = published.pictures
    assert len(published.problems) == len(others)
    for name in picture.names:
        with Image.open(tmp_path / "out" / name) as shown:
            assert max(shown.size) <= 16_383


def test_check_says_what_a_build_would(case, tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(page, "STORY", tuple((h, failing) for h, _ in page.STORY[:1]))
    assert cli.main(["check", str(case)]) == cli.WRONG
    said = capsys.readouterr()
    assert f"writing {page.STORY[0][0]!r}: could not be made" in said.out
    assert said.err.startswith("narrow-return: 1 error, 0 to look at\n")


def test_a_slow_case_is_named_with_the_place_and_the_others_go_on(case, monkeypatch, capsys):
    (case.parent / "second-limit").mkdir()
    (case.parent / "second-limit" / "case.yml").write_text(GAS.replace("gas smell", "filter dirty"), encoding="utf-8")
    real = shelf.work_up

    def slow(read, *rest, fence):
        if read.id == "narrow-return":
            fence.at("drawing 'Gas check'")
            until = time.monotonic() + 600
            while time.monotonic() < until:
                pass
        return real(read, *rest, fence=fence)

    monkeypatch.setattr(shelf, "work_up", slow)
    limit = 2 + 5 * timed(lambda: cli.main(["check", str(case.parent / "second-limit")]))
    capsys.readouterr()
    assert cli.main(["check", str(case.parent), "--seconds", f"{limit:.1f}"]) == cli.WRONG
    said = capsys.readouterr()
    (line,) = said.out.splitlines()
    assert "narrow-return/case.yml: drawing 'Gas check': took more than" in line
    assert "second-limit: 0 errors" in said.err


def timed(work) -> float:
    begun = time.monotonic()
    work()
    return time.monotonic() - begun


def test_time_that_is_over_just_as_the_work_ends_hurts_nobody():
    for _ in range(300):
        try:
            with patience.at_most(0.0005):
                time.sleep(0.0004)
        except patience.TookTooLong:
            pass
    time.sleep(0.01)


def test_a_case_that_makes_too_much_is_refused_with_its_largest_part(case, known, tmp_path, monkeypatch):
    whole = len(made(case, known, tmp_path)[1].as_bytes())
    monkeypatch.setattr(shelf, "MOST_WRITTEN", whole)
    assert made(case, known, tmp_path)
    monkeypatch.setattr(shelf, "MOST_WRITTEN", whole - 1)
    done, problems = shelf.worked(case, known, tmp_path / "pages")
    assert done is None and "MB of pages" in str(problems[-1]) and problems[-1].field
