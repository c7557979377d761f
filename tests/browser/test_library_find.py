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


def test_words_find_pages_for_what_they_are_and_the_count_is_of_them(visit):
    page = visit("cases/index.html")
    page.get_by_label("Words, readings or a code", exact=True).fill("undersized return")
    expect(page.locator("#cb-list li a").first).to_have_text("Undersized return")
    told = page.locator("#cb-count")
    expect(told).to_contain_text("fit all of it")
    whole, some = map(int, re.findall(r"\d+", told.text_content()))
    assert whole + some >= len(titles(page)) > whole > 0
    page.get_by_label("Words, readings or a code", exact=True).fill("E33")
    expect(told).to_have_text(re.compile("^No case here has code E33"))
    assert not titles(page)


def test_words_and_a_facet_go_together(visit):
    page = visit("cases/index.html")
    page.get_by_label("Words, readings or a code", exact=True).fill("limit")
    expect(page.locator("#cb-list .cb-line", has_text="Cause").first).to_be_visible()
    page.get_by_label("Outcome").select_option("stopped for safety")
    expect(page.locator("#cb-list .cb-line")).to_have_count(len(titles(page)))
    lines = page.locator("#cb-list .cb-line").all_text_contents()
    assert all("stopped for safety" in line for line in lines)


def test_the_full_text_is_searched_when_asked_for(visit):
    page = visit("cases/index.html")
    page.get_by_label("Words, readings or a code", exact=True).fill("probe contradict")
    page.get_by_role("button", name="Search the full text too").click()
    expect(page.locator("#cb-list .cb-excerpt mark").first).to_be_visible()


def test_without_its_index_the_full_text_says_that_it_cannot(browser, address):
    page = browser.new_context().new_page()
    page.route("**/pagefind/**", lambda route: route.abort())
    page.goto(address + "cases/index.html?q=return")
    page.get_by_role("button", name="Search the full text too").click()
    expect(page.locator("#cb-list")).to_contain_text("cannot be searched here")
    assert titles(page)
    page.context.close()


def test_without_its_words_the_page_still_lists_all_cases(browser, address):
    page = browser.new_context().new_page()
    page.route("**/find/seek.js", lambda route: route.abort())
    page.goto(address + "cases/index.html?q=return")
    expect(page.locator("#cb-count")).to_contain_text("could not be loaded")
    assert titles(page)
    page.context.close()


def test_a_phone_sees_the_count_below_an_open_form(visit):
    page = visit("cases/index.html", size=PHONE)
    page.get_by_text("Narrow down and sort").first.click()
    page.get_by_label("Outcome").select_option("undetermined")
    expect(page.locator("#cb-count")).to_be_in_viewport()


def test_minutes_that_are_no_number_are_told(visit):
    page = visit("cases/index.html")
    page.get_by_label("Minutes of work").fill("abc")
    expect(page.get_by_text("Write a whole number")).to_be_visible()
    expect(page.get_by_label("Minutes of work")).to_have_attribute("aria-invalid", "true")


def test_work_of_at_most_so_many_minutes(visit, demo):
    table = json.loads((demo.site / "cases/facets.js").read_text(encoding="utf-8").partition("=")[2].rstrip(";\n"))
    middle = sorted(table["minutes"])[len(table["minutes"]) // 2]
    page = visit("cases/index.html")
    page.get_by_label("Minutes of work").fill(str(middle))
    expect(page.locator("#cb-count")).to_contain_text(
        f"{sum(m <= middle for m in table['minutes'])} of {len(table['minutes'])}"
    )


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
    page.get_by_label("Complaint").select_option(label="Trips on high limit, overheating")
    page.get_by_label("Rise", exact=True).fill("85")
    expect(page.locator(".cb-near-found")).to_contain_text("Most plates allow a rise of 55 to 75")
    page.get_by_label("Plate: maximum rise", exact=True).fill("70")
    page.evaluate("document.querySelectorAll('main details').forEach(fold => { fold.open = true })")
    page.get_by_label("Tap before filter, suction", exact=True).fill("-0.36")
    expect(page.locator(".cb-near-found")).to_contain_text("Your numbers say: Temperature rise above")
    first = page.locator(".cb-near-found .cb-cases li").first
    expect(first).to_contain_text("Cause: Undersized return")
    expect(first).to_contain_text("The same:")
    expect(first).to_contain_text("(yours 85.0 °F)")
    expect(page.locator(".cb-near-found")).to_contain_text("earest with another cause")
    told = titles(page, ".cb-near-found")
    assert len(told) == len(set(told))
    row = page.locator(".cb-near-next .cb-near-row").first
    name = row.get_attribute("aria-label")
    row.get_by_role("button", name="ruled out").click()
    expect(page.locator(".cb-near-answered .cb-near-row")).to_have_attribute("aria-label", name)
    expect(page.locator(".cb-near-next .cb-near-row").first).not_to_have_attribute("aria-label", name)
    assert page.evaluate("document.activeElement.closest('.cb-near-next') !== null")


def test_two_typical_readings_find_their_twin_first_and_no_still_blower(visit):
    page = visit("find/index.html?read.rise=85~0&read.external-static=0.8~0&seen=limit-opened-while-watched")
    links = page.locator(".cb-near-found .cb-cases li > a")
    expect(links.first).to_have_attribute("href", re.compile("narrow-return"))
    assert not [link for link in links.evaluate_all("all => all.map(a => a.href)") if "silent-relay" in link]


def test_a_manifold_beyond_every_plate_warns_without_one(visit):
    page = visit("find/index.html?read.manifold=7~0")
    expect(page.get_by_role("alert")).to_contain_text("too high for any natural gas furnace")
    expect(page.get_by_role("link", name="Warning: Manifold")).to_be_visible()


def test_units_are_taken_as_chosen(visit):
    page = visit(ASKED)
    before = page.locator(".cb-near-found .cb-cases").first.text_content()
    page.get_by_label("Tap before filter, suction", exact=True).fill("-89.7")
    page.get_by_label("Unit of Tap before filter").select_option(label="Pa")
    expect(page.locator(".cb-near-found .cb-cases").first).to_contain_text("(yours −90 Pa)")
    pressures = re.compile(r"(before filter|yours) −[\d.]+ (Pa|in\. w\.c\.)")
    after = page.locator(".cb-near-found .cb-cases").first.text_content()
    assert pressures.sub("", after) == pressures.sub("", before) != after


def test_what_is_empty_was_not_looked_for(visit):
    page = visit("find/index.html")
    expect(page.get_by_role("status")).to_contain_text("Enter a reading")
    assert page.locator(".cb-near-found li").count() == 0
    page.get_by_label("Rise", exact=True).fill("85")
    expect(page.locator(".cb-near-found")).to_contain_text("On a usual plate")
    page.get_by_label("Rise", exact=True).fill("eighty")
    expect(page.get_by_label("Rise", exact=True)).to_have_attribute("aria-invalid", "true")


@pytest.mark.parametrize(
    ("asked", "stops"),
    [
        ("read.co-indoors=200~0&seen=people-ill&seen=gas-smell", ["Dangerous CO in the house", "Gas leak"]),
        ("read.gas-detector=20~0", ["Gas leak"]),
        ("out=gas-smell&read.co-indoors=3~0", []),
    ],
)
def test_a_stop_stands_before_the_cases_and_in_the_bar(visit, asked, stops):
    page = visit(f"find/index.html?{asked}", size=PHONE)
    alert = page.get_by_role("alert")
    assert alert.locator(".cb-stop.cb-stop-open strong").all_text_contents() == [f"Stop use: {name}" for name in stops]
    if stops:
        expect(page.get_by_role("link", name=stops[0])).to_be_in_viewport()
        page.get_by_role("link", name=stops[0]).click()
        expect(alert.locator("p").first).to_be_in_viewport()
        assert page.evaluate(
            "document.querySelector('[role=alert]').compareDocumentPosition("
            "document.getElementById('cb-nearest')) & Node.DOCUMENT_POSITION_FOLLOWING"
        )


def test_every_finding_can_be_ticked(visit):
    page = visit("find/index.html")
    offered = page.locator(".cb-near-list .cb-near-row").evaluate_all("rows => rows.map(row => row.dataset.finding)")
    assert sorted(offered) == sorted(page.evaluate("Object.keys(causebookFindings.findings)"))
    page.get_by_label("Look for a finding").fill("rollout switch")
    page.locator(".cb-near-list .cb-near-row:visible").get_by_role("button", name="seen").click()
    expect(page.get_by_role("alert")).to_contain_text("Flame rollout")
    page.get_by_label("Look for a finding").fill("no such thing")
    expect(page.get_by_text("No finding has these words")).to_be_visible()


@pytest.mark.parametrize(
    ("label", "text", "says"),
    [
        ("Tap before filter, suction", "0,125", ""),
        ("Rise", "82 F", ""),
        ("Clocked input", "80,000 Btu/h", ""),
        ("Rise", "82 psi", "Only a number with °F or K"),
        ("Rise", "0x52", "Only a number with"),
        ("Rise", "eighty", "Not a number"),
        ("Rise", "1,2,3", "Not a number"),
        ("Rise", "99999", "Can only be 1.0 °F to 250.0 °F"),
        ("Flue oxygen", "150", "Can only be 0.0 % to 21.0 %"),
        ("Flue CO", "-9", "Can only be 0 ppm"),
        ("Supply air", "-5000", "Can only be"),
    ],
)
def test_what_cannot_be_is_said_at_its_field(visit, label, text, says):
    page = visit("find/index.html")
    page.evaluate("document.querySelectorAll('main details').forEach(fold => { fold.open = true })")
    field = page.get_by_label(label, exact=True)
    field.fill(text)
    expect(field).to_have_attribute("aria-invalid", "true" if says else "false")
    told = page.locator("#" + field.get_attribute("aria-describedby").split()[0])
    expect(told).to_contain_text(says) if says else expect(told).to_be_empty()
    if says:
        expect(page.get_by_role("status")).to_contain_text("Enter a reading")


def test_numbers_are_taken_as_they_are_written(visit):
    """0,125 is an eighth; 80,000 eighty thousand; a unit written behind the number is the one meant."""
    page = visit(ASKED + "&read.clocked-input=80,000~0&read.plate-input=80000~0")
    found = page.locator(".cb-near-found")
    expect(found).to_contain_text("clocked input")
    page.get_by_label("Tap before filter, suction", exact=True).fill("0,125")
    expect(found).to_contain_text("(yours −0.13 in. w.c.)")
    page.get_by_label("Tap before filter, suction", exact=True).fill("90 Pa")
    expect(found).to_contain_text("(yours −90 Pa)")
    page.get_by_label("Supply air", exact=True).fill("60")
    page.get_by_label("Return air", exact=True).fill("70")
    expect(page.locator(".cb-near-ask")).to_contain_text("Supply air lies below return air")


def test_a_code_finds_the_cases_in_which_the_board_gave_it(visit):
    page = visit("find/index.html")
    page.get_by_label("Code on the board").fill("4")
    found = page.locator(".cb-near-found")
    expect(found).to_contain_text("Cases with code 4")
    expect(found.locator("li a").first).to_have_attribute("href", re.compile("second-limit"))
    page.get_by_label("Code on the board").fill("44")
    expect(found).to_contain_text("No case here has code 44")
    page.reload()
    expect(page.get_by_label("Code on the board")).to_have_value("44")


def test_a_complaint_no_case_had_brings_what_to_read_first(visit):
    page = visit("find/index.html?family=water")
    expect(page.get_by_role("status")).to_contain_text("No case here is near this")
    found = page.locator(".cb-near-found")
    assert found.locator(".cb-cases").count() == 0
    expect(found).to_contain_text("Walk in with a CO meter")
    expect(found.get_by_role("link", name="Plugged condensate drain or trap").first).to_be_visible()
    found.get_by_role("link", name="Water at the furnace").click()
    expect(page.locator("h1")).to_contain_text("Water at the furnace")


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
    page.keyboard.type("return takes")
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
    page.get_by_label("Complaint").select_option(label="Trips on high limit, overheating")
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


def test_every_number_of_the_manager_leads_to_its_cases(visit):
    page = visit("tallies/index.html")
    folds = page.locator(".cb-leads")
    assert folds.count() > 5
    for n in range(folds.count()):
        fold = folds.nth(n)
        told = int(re.match(r"\d+", fold.locator("summary").text_content())[0])
        assert fold.locator("a").count() == told
    folds.first.locator("summary").click()
    folds.first.locator("a").first.click()
    expect(page).to_have_url(re.compile("/cases/[^/]+/index.html"))


def test_the_home_page_has_the_complaints_and_the_last_cases(visit):
    page = visit("index.html", size=PHONE)
    assert page.locator(".cb-buttons a").count() == 12
    heights = page.locator(".cb-buttons a").evaluate_all("all => all.map(a => a.getBoundingClientRect().height)")
    assert min(heights) >= 44
    page.goto(page.url.replace("index.html", "cases/narrow-return/index.html"))
    page.goto(re.sub("cases/.*", "index.html", page.url))
    expect(page.locator(".cb-recent li a")).to_have_attribute("href", re.compile("narrow-return"))


def test_a_complaint_leads_from_stops_to_checks_to_causes_to_cases(visit):
    page = visit("complaints/no-ignition.html")
    heads = page.locator("article h2").all_text_contents()
    assert [head.rstrip("\u00b6") for head in heads] == ["Check these first", "What it turns out to be", "Cases"]
    stops = page.locator(".cb-stop-first")
    expect(stops).to_contain_text("Gas leak")
    assert stops.bounding_box()["y"] < page.locator("article h2").first.bounding_box()["y"]
    expect(page.locator("article ol > li").first).to_contain_text("min")
    expect(page.locator("article table").get_by_role("link", name="Cracked or open igniter")).to_be_visible()


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


def test_readings_fit_the_narrowest_phone_and_do_not_zoom(visit):
    page = visit(ASKED, size={"width": 320, "height": 640})
    page.evaluate("document.querySelectorAll('main details').forEach(fold => { fold.open = true })")
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    for control in ("input", "select"):
        assert page.evaluate(f"getComputedStyle(document.querySelector('.cb-find {control}')).fontSize") == "16px"


def test_a_phone_sees_how_many_are_near_while_typing(visit):
    page = visit(ASKED, size=PHONE)
    expect(page.get_by_role("status")).to_be_in_viewport()
    page.get_by_role("link", name="See them").click()
    expect(page.locator(".cb-near-found h2").first).to_be_in_viewport()


def test_without_script_the_page_says_where_else_to_begin(visit):
    page = visit("find/index.html", script=False)
    expect(page.get_by_text("needs script")).to_be_visible()
    expect(page.locator("article p").first.get_by_role("link", name="complaint")).to_be_visible()
