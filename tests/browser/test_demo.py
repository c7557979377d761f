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
    "proof": "cases/narrow-return/proof.html",
    "work": "calls/5567eaa0.html",
    "cautions": "cases/cautions.html",
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


@pytest.mark.parametrize("kind", ["case", "proof", "cause"])
def test_every_chart_has_a_name_and_says_its_sentence(visit, kind):
    page = visit(KINDS[kind])
    page.evaluate("document.querySelectorAll('main details').forEach(fold => { fold.open = true })")
    charts = page.locator(".cb-chart")
    assert charts.count() >= 1
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
    expect(si).to_be_hidden()
    page.get_by_label("Units").select_option("both")
    expect(si).to_be_visible()
    page.reload()
    expect(page.locator(".cb-q > .cb-si").first).to_be_visible()
    page.get_by_label("Units").select_option("si")
    expect(page.locator(".cb-q > .cb-us").first).to_be_hidden()


def test_a_call_is_worked_by_keyboard_and_remembered(visit, demo):
    page = visit(f"calls/{sorted(demo.site.glob('calls/*.html'))[0].name}", size=PHONE)
    second = page.locator(".cb-task").nth(1)
    expect(second).to_be_hidden()
    page.locator("input[name='lead-1']").first.focus()
    page.keyboard.press("Space")
    page.locator("input[name='next-1']").first.check()
    fold = page.locator(".cb-task .cb-shown").first
    fold.locator("> summary").focus()
    page.keyboard.press("Enter")
    expect(second).to_be_visible()
    expect(fold.locator(".cb-told")).to_contain_text("You")
    page.reload()
    expect(page.locator(".cb-task").nth(1)).to_be_visible()
    assert page.locator("input[name='lead-1']").first.is_checked()
    for task in page.locator(".cb-task .cb-shown").all():
        if not task.evaluate("fold => fold.open"):
            task.locator("> summary").click()
    expect(page.locator(".cb-task-end .cb-told")).to_contain_text("the case:")
    page.get_by_role("button", name="Start over").click()
    expect(page.locator(".cb-task").nth(1)).to_be_hidden()


def test_the_customer_copy_has_no_way_into_the_library(visit):
    page = visit(KINDS["customer"])
    assert page.locator(".cb-status strong").text_content() in ("Fixed.", "Not fixed yet.", "Off, do not use.")
    assert page.locator("a[href]:not([href^='#'], [data-cb-lightbox])").count() == 0


def test_without_script_everything_is_there(visit):
    page = visit(KINDS["case"], script=False)
    title = page.title().partition(" · ")[0]
    expect(page.locator(".cb-first .cb-verdict")).to_be_visible()
    expect(page.locator("dl.cb-readings").first).to_be_visible()
    listed = visit(KINDS["all cases"], script=False)
    expect(listed.get_by_role("link", name=title)).to_be_visible()


def test_a_stop_use_notice_stands_first_and_prints(visit):
    page = visit(KINDS["stopped case"])
    assert page.evaluate("""() => {
        const notice = document.querySelector('.cb-stop'), answer = document.querySelector('.cb-verdict');
        return notice.compareDocumentPosition(answer) & Node.DOCUMENT_POSITION_FOLLOWING && !notice.closest('details');
    }""")
    page.emulate_media(media="print")
    expect(page.locator(".cb-stop").first).to_be_visible()


def test_print_has_the_story_and_no_chrome(visit):
    page = visit(KINDS["case"], scheme="dark")
    page.emulate_media(media="print")
    expect(page.locator(".cb-again").first).to_be_visible()
    expect(page.locator("header.md-header")).to_be_hidden()
    assert page.evaluate("getComputedStyle(document.body).getPropertyValue('--cb-paper').trim()") == "#fff"
    expect(page.locator("html")).to_have_css("color-scheme", "light only")
    expect(page.locator("html")).to_have_css("background-color", "rgb(255, 255, 255)")


SCREEN = 660
"""Height of a phone's screen with the browser's bars taken off [px]."""


def test_every_case_keeps_its_budget(visit, demo):
    """The first screen is one; with the story eight, and three printed pages; the proof twelve; the customer one."""
    page = visit(size={"width": 390, "height": SCREEN})
    base = page.url.removesuffix("index.html")
    bottom = "document.querySelector('.cb-end').getBoundingClientRect().bottom + scrollY"
    over = []
    for path in sorted(demo.site.glob("cases/*/proof.html")):
        case = path.parent.relative_to(demo.site).as_posix()
        page.goto(f"{base}{case}/proof.html")
        sizes = {"proof": (page.evaluate(bottom) / SCREEN, 12)}
        page.goto(f"{base}{case}/customer.html")
        sizes["customer, printed"] = (_printed(page), 1)
        page.goto(f"{base}{case}/index.html")
        first = page.evaluate("document.querySelector('.cb-first').getBoundingClientRect().bottom + scrollY")
        title = page.locator("h1").text_content().removesuffix("¶").strip()
        sizes |= {
            "first screen": (first / SCREEN, 1),
            "story": (page.evaluate(bottom) / SCREEN, 8),
            "printed": (_printed(page), 3),
            "title": (len(title), 60),
            "is yours the same": (1 - page.locator(".cb-first:has-text('Is yours the same?')").count(), 0),
        }
        over += [f"{case}: {what} {size:.1f}, at most {most}" for what, (size, most) in sizes.items() if size > most]
    assert over == []


def _printed(page: Page) -> int:
    """Pages of paper."""
    return len(re.findall(rb"/Type\s*/Page[^s]", page.pdf(format="Letter")))


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
    page.get_by_label("Words, readings or a code", exact=True).fill("xylophone")
    expect(page.locator("#cb-count")).to_contain_text("Nothing fits")
    page.get_by_label("Words, readings or a code", exact=True).fill("")
    page.locator("#cb-list li a").first.click()
    expect(page.locator("h1")).to_contain_text(everything[0])


def test_the_search_box_of_any_page_leads_to_the_list(visit):
    page = visit()
    page.get_by_role("searchbox", name="Search by words, readings or a code").fill("return")
    page.keyboard.press("Enter")
    page.wait_for_url("**/cases/index.html?q=return")
    assert page.get_by_label("Words, readings or a code", exact=True).input_value() == "return"
    expect(page.locator("#cb-count")).to_contain_text("pages fit")
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
