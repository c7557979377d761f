"""Finding a case in a real browser: words, facets, readings, study; by keyboard, on a phone, from a folder."""

from __future__ import annotations

import json
import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

PHONE = {"width": 360, "height": 740}
PAGES = ("find/index.html", "tallies/index.html", "study/index.html", "parts/index.html")
WCAG = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}}
ASKED = "find/index.html?family=high-limit&read.rise=85~0&read.maximum-rise=70~0&read.tap-before-filter=-0.36~0"


def titles(page: Page, within: str = "#cb-list") -> list[str]:
    return page.locator(f"{within} li > a, {within} li > p > a").all_text_contents()


# ---------------------------------------------------------------- words and facets

def test_words_find_text_in_cases_and_handbook_with_excerpts(visit):
    page = visit("cases/index.html")
    page.get_by_label("Words").fill("undercut door")
    expect(page.locator("#cb-count")).to_contain_text("these words")
    expect(page.locator("#cb-list .cb-excerpt mark").first).to_be_visible()
    page.get_by_label("Words").fill("probe contradict")
    expect(page.locator("#cb-list .cb-line", has_text="Handbook").first).to_be_visible()
    expect(page.locator("#cb-searched")).to_have_text("")


def test_words_and_a_facet_go_together(visit):
    page = visit("cases/index.html")
    page.get_by_label("Words").fill("limit")
    expect(page.locator("#cb-count")).to_contain_text("these words")
    every = int(re.match(r"\d+", page.locator("#cb-count").text_content())[0])
    page.get_by_label("Outcome").select_option("stopped for safety")
    expect(page.locator("#cb-count")).not_to_contain_text(f"{every} pages")
    expect(page.locator("#cb-count")).to_contain_text("these words")
    lines = page.locator("#cb-list .cb-line").all_text_contents()
    assert lines and all("stopped for safety" in line for line in lines)


def test_work_of_at_most_so_many_minutes(visit, demo):
    table = json.loads((demo.site / "cases/facets.js").read_text().partition("=")[2].rstrip(";\n"))
    middle = sorted(table["minutes"])[len(table["minutes"]) // 2]
    page = visit("cases/index.html")
    page.get_by_label("Minutes of work").fill(str(middle))
    expect(page.locator("#cb-count")).to_contain_text(
        f"{sum(m <= middle for m in table['minutes'])} of {len(table['minutes'])}")


def test_from_a_folder_summaries_are_searched_and_it_says_so(visit):
    page = visit("cases/index.html", from_folder=True)
    page.get_by_label("Words").fill("probe contradict")
    expect(page.locator("#cb-searched")).to_contain_text("summaries")
    expect(page.locator("#cb-list .cb-line", has_text="Handbook").first).to_be_visible()
    page.get_by_label("Words").fill("return")
    expect(page.locator("#cb-count")).to_contain_text("these words")
    assert titles(page)


def test_without_its_index_the_search_says_so_and_goes_through_summaries(browser, address):
    page = browser.new_context().new_page()
    page.route("**/pagefind/**", lambda route: route.abort())
    page.goto(address + "cases/index.html?q=return")
    expect(page.locator("#cb-searched")).to_contain_text("summaries")
    expect(page.locator("#cb-list .cb-excerpt").first).to_be_visible()
    page.context.close()


def test_without_any_engine_the_table_still_answers(browser, address):
    page = browser.new_context().new_page()
    page.route(re.compile("pagefind|minisearch"), lambda route: route.abort())
    page.goto(address + "cases/index.html?q=return")
    expect(page.locator("#cb-searched")).to_contain_text("Only titles")
    assert titles(page)
    page.context.close()


def test_going_back_brings_the_search_again(visit):
    page = visit("cases/index.html")
    page.get_by_label("Outcome").select_option("undetermined")
    found = titles(page)
    page.locator("#cb-list li a").first.click()
    expect(page.locator("h1")).to_contain_text(found[0])
    page.go_back()
    expect(page.get_by_label("Outcome")).to_have_value("undetermined")
    assert titles(page) == found


# ---------------------------------------------------------------- by readings

def test_readings_find_the_narrow_return_and_what_tells_it_apart(visit):
    page = visit("find/index.html")
    page.get_by_label("Complaint").select_option(label="High limit opens, overheating")
    page.get_by_label("Rise", exact=True).fill("85")
    page.get_by_label("Tap before filter", exact=True).fill("-0.36")
    page.get_by_text("Rating plate").first.click()
    page.get_by_label("Maximum rise", exact=True).fill("70")
    expect(page.locator(".cb-near-found")).to_contain_text("Your numbers say: Temperature rise above")
    first = page.locator(".cb-near-found .cb-cases li").first
    expect(first).to_contain_text("Root: Return too small")
    expect(first).to_contain_text("The same:")
    expect(first).to_contain_text("(yours 85.0 °F)")
    expect(page.get_by_role("heading", name="Nearest with another root")).to_be_visible()
    row = page.locator(".cb-near-next .cb-near-row").first
    name = row.get_attribute("aria-label")
    row.get_by_role("button", name="ruled out").click()
    expect(page.locator(".cb-near-answered .cb-near-row")).to_have_attribute("aria-label", name)
    expect(page.locator(".cb-near-next .cb-near-row").first).not_to_have_attribute("aria-label", name)


def test_units_are_taken_as_chosen(visit):
    page = visit(ASKED)
    before = page.locator(".cb-near-found .cb-cases").first.text_content()
    page.get_by_label("Tap before filter", exact=True).fill("-89.7")
    page.get_by_label("Unit of Tap before filter").select_option(label="Pa")
    expect(page.locator(".cb-near-found .cb-cases").first).to_contain_text("(yours −90 Pa)")
    pressures = re.compile(r"(before filter|yours) −[\d.]+ (Pa|in\. w\.c\.)")
    after = page.locator(".cb-near-found .cb-cases").first.text_content()
    assert pressures.sub("", after) == pressures.sub("", before) != after


def test_what_is_empty_was_not_looked_for(visit):
    page = visit("find/index.html")
    expect(page.get_by_role("status")).to_contain_text("Nothing to go by")
    assert page.locator(".cb-near-found li").count() == 0
    page.get_by_label("Rise", exact=True).fill("85")
    expect(page.locator(".cb-near-found")).to_contain_text("decide no finding yet")
    page.get_by_label("Rise", exact=True).fill("eighty")
    expect(page.get_by_label("Rise", exact=True)).to_have_attribute("aria-invalid", "true")


def test_the_address_holds_what_was_typed(visit):
    page = visit(ASKED)
    found = titles(page, ".cb-near-found")
    assert len(found) > 3
    page.locator(".cb-near-found li a").first.click()
    expect(page.locator("h1")).to_contain_text(found[0])
    page.go_back()
    expect(page.get_by_label("Rise", exact=True)).to_have_value("85")
    assert titles(page, ".cb-near-found") == found


def test_readings_by_keyboard_alone(visit):
    page = visit("find/index.html")
    page.get_by_label("Look for a finding").focus()
    page.keyboard.type("lamp does not shine")
    for _ in range(12):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.textContent") == "seen":
            break
    page.keyboard.press("Enter")
    expect(page.locator(".cb-near-answered .cb-near-row")).to_have_count(1)
    expect(page.locator(".cb-near-found .cb-cases li").first).to_be_visible()
    assert page.evaluate("document.activeElement.getAttribute('aria-pressed')") == "true"


def test_readings_from_a_folder(visit):
    page = visit("find/index.html", from_folder=True)
    page.get_by_label("Complaint").select_option(label="High limit opens, overheating")
    expect(page.locator(".cb-near-found .cb-cases li").first).to_be_visible()


# ---------------------------------------------------------------- study, tallies

def test_ticks_of_the_study_order_stay_on_this_device(visit):
    page = visit("study/index.html")
    boxes = page.get_by_role("checkbox")
    boxes.first.focus()
    page.keyboard.press("Space")
    expect(page.locator(".cb-progress")).to_contain_text(re.compile(r"^1 of \d+ cases ticked. Next: "))
    page.reload()
    expect(boxes.first).to_be_checked()
    assert page.evaluate("Object.keys(localStorage).filter(k => k.startsWith('causebook.studied')).length") == 1


def test_tallies_name_their_denominators(visit, demo):
    page = visit("tallies/index.html")
    cases = len(list((demo.root / "casefiles").glob("[!_]*/case.yml")))
    expect(page.locator("article")).to_contain_text(f"Counted over the {cases} cases")
    heads = page.locator("article th").all_text_contents()
    assert "not looked for" in heads and "not taken" in heads
    shares = page.locator("article td").filter(has_text=re.compile(r"^\d+ of \d+")).all_text_contents()
    assert shares and all(int(a) <= int(b) for a, b in (re.findall(r"\d+", s)[:2] for s in shares))
    assert "%" not in "".join(page.locator("h2:has-text('Roots by complaint') ~ table td").all_text_contents())


# ---------------------------------------------------------------- for everybody, everywhere

@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("path", [*PAGES, ASKED])
def test_axe_finds_nothing(visit, path, scheme):
    page = visit(path, scheme=scheme)
    page.evaluate("document.querySelectorAll('main details').forEach(fold => { fold.open = true })")
    found = Axe().run(page, options=WCAG)
    assert not found.response["violations"], found.generate_report()


@pytest.mark.parametrize("path", [*PAGES, ASKED, "cases/index.html?q=return"])
def test_nothing_is_wider_than_a_phone(visit, path):
    page = visit(path, size=PHONE)
    page.evaluate("document.querySelectorAll('main details').forEach(fold => { fold.open = true })")
    page.wait_for_timeout(300)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


def test_a_phone_sees_how_many_are_near_while_typing(visit):
    page = visit(ASKED, size=PHONE)
    expect(page.get_by_role("status")).to_be_in_viewport()
    page.get_by_role("link", name="See them").click()
    expect(page.locator(".cb-near-found h2").first).to_be_in_viewport()


def test_without_script_the_page_says_where_else_to_begin(visit):
    page = visit("find/index.html", script=False)
    expect(page.get_by_text("needs script")).to_be_visible()
    expect(page.locator("article p").first.get_by_role("link", name="complaint")).to_be_visible()
