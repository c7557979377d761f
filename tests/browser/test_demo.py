"""The demo site as its readers meet it: phone, desk, dark, keyboard, print, without script, from a folder."""

from __future__ import annotations

import gzip
import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from projects import Project

PHONE = {"width": 360, "height": 740}
KINDS = {
    "home": "index.html",
    "all cases": "cases/index.html",
    "case": "cases/narrow-return/index.html",
    "stopped case": "cases/bent-flame/index.html",
    "customer": "cases/narrow-return/customer.html",
    "complaints": "complaints/index.html",
    "complaint": "complaints/high-limit.html",
    "causes": "causes/index.html",
    "cause": "causes/return-undersized.html",
    "equipment": "equipment/index.html",
    "outcomes": "outcomes/index.html",
    "guide": "case-file.html",
    "words": "words/index.html",
    "handbook": "handbook/airflow.html",
}
WCAG = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}}


def all_pages(demo: Project) -> list[str]:
    """Paths of all pages of the site."""
    return sorted(p.relative_to(demo.site).as_posix() for p in demo.site.rglob("*.html") if p.name != "404.html")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("kind", KINDS)
def test_axe_finds_nothing(visit, kind, scheme):
    page = visit(KINDS[kind], scheme=scheme)
    page.evaluate("document.querySelectorAll('main details').forEach(fold => { fold.open = true })")
    found = Axe().run(page, options=WCAG)
    assert not found.response["violations"], found.generate_report()


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_is_wider_than_a_phone(visit, kind):
    page = visit(KINDS[kind], size=PHONE)
    page.evaluate("document.querySelectorAll('main details').forEach(fold => { fold.open = true })")
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    inner = page.evaluate("""[...document.querySelectorAll('.md-typeset__scrollwrap, .md-typeset__table')]
        .filter(box => box.scrollWidth > box.clientWidth + 1).map(box => box.textContent.trim().slice(0, 80))""")
    assert not inner, f"scrolls sideways: {inner}"


def test_headings_go_down_one_level_at_a_time(visit):
    for path in KINDS.values():
        levels = [
            int(name[1])
            for name in visit(path).eval_on_selector_all(
                "main :is(h1,h2,h3,h4,h5,h6)", "all => all.map(h => h.tagName)"
            )
        ]
        assert levels[0] == 1 and levels.count(1) == 1, path
        assert all(after <= before + 1 for before, after in zip(levels, levels[1:], strict=False)), path


def test_every_chart_has_a_name_and_says_its_sentence(visit):
    page = visit(KINDS["case"])
    page.evaluate("document.querySelectorAll('main details').forEach(fold => { fold.open = true })")
    charts = page.locator(".cb-chart")
    assert charts.count() >= 2
    for chart in charts.all():
        drawn = chart.locator("svg:visible")
        expect(drawn).to_have_count(1)
        assert drawn.locator("title").count() == 1
    assert page.locator(".cb-chart:empty").count() == 0
    assert page.locator("figure.cb-figure table").count() == charts.count()


def test_a_phone_gets_the_narrow_drawing(visit):
    expect(visit(KINDS["case"], size=PHONE).locator(".cb-chart").first.locator(".cb-narrow svg")).to_be_visible()
    expect(visit(KINDS["case"]).locator(".cb-chart").first.locator(".cb-wide svg")).to_be_visible()


def test_charts_follow_the_dark(visit):
    ink = "getComputedStyle(document.body).getPropertyValue('--cb-ink').trim()"
    assert visit(KINDS["case"]).evaluate(ink) != visit(KINDS["case"], scheme="dark").evaluate(ink)


def test_units_are_chosen_and_remembered(visit):
    page = visit(KINDS["case"])
    si = page.locator(".cb-q > .cb-si").first
    expect(si).to_be_visible()
    page.get_by_label("Units").select_option("us")
    expect(si).to_be_hidden()
    page.reload()
    expect(page.locator(".cb-q > .cb-si").first).to_be_hidden()
    page.get_by_label("Units").select_option("si")
    expect(page.locator(".cb-q > .cb-us").first).to_be_hidden()


def test_predict_then_reveal_by_keyboard(visit):
    page = visit(KINDS["case"])
    switch = page.get_by_role("button", name="Work it yourself")
    switch.focus()
    page.keyboard.press("Enter")
    expect(switch).to_have_attribute("aria-pressed", "true")
    reveal = page.locator("details.cb-reveal").first
    assert not reveal.evaluate("fold => fold.open")
    expect(page.locator("details.cb-answer dl")).to_be_hidden()
    reveal.locator("> summary").focus()
    page.keyboard.press("Enter")
    assert reveal.evaluate("fold => fold.open")
    page.reload()
    assert not page.locator("details.cb-reveal").first.evaluate("fold => fold.open")


def test_without_script_everything_is_there(visit):
    page = visit(KINDS["case"], script=False)
    title = page.title().partition(" · ")[0]
    expect(page.locator("details.cb-answer dl")).to_be_visible()
    reveal = page.locator("details.cb-reveal").first
    reveal.locator("> summary").click()
    expect(reveal.locator("dl.cb-readings").first).to_be_visible()
    listed = visit(KINDS["all cases"], script=False)
    expect(listed.get_by_role("link", name=title)).to_be_visible()


def test_a_stop_use_notice_stands_first_and_prints(visit):
    page = visit(KINDS["stopped case"])
    assert page.evaluate("""() => {
        const notice = document.querySelector('.cb-stop'), answer = document.querySelector('.cb-answer');
        return notice.compareDocumentPosition(answer) & Node.DOCUMENT_POSITION_FOLLOWING && !notice.closest('details');
    }""")
    page.emulate_media(media="print")
    expect(page.locator(".cb-stop").first).to_be_visible()


def test_print_has_cautions_and_answers_and_no_chrome(visit):
    page = visit(KINDS["case"])
    page.get_by_role("button", name="Work it yourself").click()
    page.emulate_media(media="print")
    expect(page.locator(".cb-caution").first).to_be_visible()
    expect(page.locator(".cb-print-steps")).to_be_visible()
    expect(page.locator("header.md-header")).to_be_hidden()
    expect(page.locator(".cb-study")).to_be_hidden()
    assert page.evaluate("getComputedStyle(document.body).getPropertyValue('--cb-paper').trim()") == "#fff"


def test_a_photo_opens_by_keyboard_and_gives_the_focus_back(visit):
    page = visit(KINDS["case"])
    link = page.locator("a[data-cb-lightbox]").first
    link.focus()
    page.keyboard.press("Enter")
    light = page.locator("dialog.cb-light")
    expect(light.locator("img")).to_be_visible()
    expect(page.get_by_role("button", name="Close picture")).to_be_focused()
    page.keyboard.press("Escape")
    expect(light).to_be_hidden()
    expect(link).to_be_focused()


@pytest.mark.parametrize("key", ["Enter", " "])
def test_the_menu_works_by_keyboard(visit, key):
    page = visit(KINDS["case"], size=PHONE)
    menu = page.get_by_role("button", name="Menu")
    menu.focus()
    page.keyboard.press(key)
    expect(menu).to_have_attribute("aria-expanded", "true")
    expect(page.locator(".md-sidebar--primary").get_by_role("link", name="Start")).to_be_focused()
    group = page.get_by_role("button", name="Handbook")
    expect(group).to_have_attribute("aria-expanded", "false")
    group.focus()
    page.keyboard.press(key)
    expect(group).to_have_attribute("aria-expanded", "true")
    found = Axe().run(page, options=WCAG)
    assert not found.response["violations"], found.generate_report()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.getAttribute('href')").endswith("handbook/index.html")
    expect(page.locator(":focus")).to_be_in_viewport()
    page.keyboard.press("Escape")
    expect(menu).to_have_attribute("aria-expanded", "false")
    expect(menu).to_be_focused()


@pytest.mark.parametrize("kind", ["case", "handbook", "all cases"])
def test_no_key_leads_off_the_screen_of_a_phone(visit, kind):
    page = visit(KINDS[kind], size=PHONE)
    for _ in range(12):
        page.keyboard.press("Tab")
        assert page.evaluate("""() => {
            const box = document.activeElement.getBoundingClientRect();
            return box.right > 0 && box.left < innerWidth && document.activeElement.checkVisibility();
        }"""), page.evaluate("document.activeElement.outerHTML")


def test_a_phone_shows_first_whether_it_may_run_and_what_stands_on_the_page(visit, demo):
    page = visit(size=PHONE)
    base = page.url.removesuffix("index.html")
    assert page.locator(".cb-masthead").bounding_box()["height"] < 120
    for path in sorted(demo.site.glob("cases/*/index.html")):
        page.goto(base + path.relative_to(demo.site).as_posix())
        # What stopped it goes before all else, and may fill a small screen.
        first = page.locator(".cb-stop-closed, .cb-stop-open, .cb-answer dt:text('May it run')").first
        expect(first).to_be_in_viewport()
    contents = page.locator(".cb-contents")
    contents.locator("summary").click()
    contents.get_by_role("link", name="Step by step").click()
    expect(page.get_by_role("heading", name="Step by step")).to_be_in_viewport()
    page.set_viewport_size({"width": 740, "height": 360})
    assert page.evaluate("getComputedStyle(document.querySelector('.cb-masthead')).position") == "static"
    expect(visit(KINDS["case"]).locator(".cb-contents")).to_be_hidden()


def test_print_repeats_no_answer_that_stands_open_in_its_place(visit):
    page = visit(KINDS["case"], scheme="dark")
    assert page.locator("details.cb-reveal").count() and page.locator("details.cb-question").count()
    page.emulate_media(media="print")
    expect(page.locator(".cb-print-questions")).to_be_visible()
    expect(page.locator(".cb-print-steps")).to_be_hidden()
    expect(page.locator(".cb-contents")).to_be_hidden()
    expect(page.locator("html")).to_have_css("color-scheme", "light only")
    expect(page.locator("html")).to_have_css("background-color", "rgb(255, 255, 255)")


def _titles(page: Page) -> list[str]:
    return page.locator("#cb-list li > a, #cb-list li > p > a").all_text_contents()


@pytest.mark.parametrize("from_folder", [False, True], ids=["served", "from a folder"])
def test_filters_narrow_the_list(visit, from_folder):
    page = visit(KINDS["all cases"], from_folder=from_folder)
    everything = _titles(page)
    assert len(everything) >= 4
    page.get_by_label("Outcome").select_option("stopped for safety")
    stopped = _titles(page)
    assert 0 < len(stopped) < len(everything) and set(stopped) <= set(everything)
    expect(page.locator("#cb-count")).to_contain_text(f"{len(stopped)} of {len(everything)}")
    page.get_by_role("button", name="Clear").click()
    expect(page.locator("#cb-count")).to_contain_text(f"{len(everything)} cases")
    assert _titles(page) == everything
    page.get_by_label("Words").fill("no such words anywhere")
    expect(page.locator("#cb-count")).to_contain_text("Nothing fits")
    page.get_by_label("Words").fill("")
    page.locator("#cb-list li a").first.click()
    expect(page.locator("h1")).to_contain_text(everything[0])


def test_the_search_box_of_any_page_leads_to_the_list(visit):
    page = visit()
    page.get_by_role("searchbox", name="Find a case").fill("return")
    page.keyboard.press("Enter")
    page.wait_for_url("**/cases/index.html?q=return")
    assert page.get_by_label("Words").input_value() == "return"
    expect(page.locator("#cb-count")).to_contain_text("pages have these words")
    page.go_back()
    expect(page.locator("h1")).to_be_visible()


def test_every_page_is_quiet_on_a_phone(visit, demo):
    page = visit(size=PHONE)
    base = page.url.removesuffix("index.html")
    for path in all_pages(demo):
        page.goto(base + path)
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"], path


@pytest.mark.parametrize("kind", KINDS)
def test_pages_work_from_a_folder(visit, kind):
    page = visit(KINDS[kind], from_folder=True)
    expect(page.locator("h1")).to_be_visible()
    assert page.evaluate("getComputedStyle(document.body).getPropertyValue('--cb-paper').trim()") == "#f8f5ee"


def test_a_case_page_is_light(demo):
    page = demo.site / KINDS["case"]
    links = set(re.findall(r'(?:href|src)="([^"#?]+\.(?:css|js))"', page.read_text(encoding="utf-8")))
    weight = sum(len(gzip.compress((page.parent / link).read_bytes())) for link in links)
    assert weight + len(gzip.compress(page.read_bytes())) < 150_000
