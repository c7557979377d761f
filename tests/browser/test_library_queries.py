"""What people type finds the page it must find in a real browser: from a server, without network, from a folder."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect
from waiting import until

from library.asked import missed, queries

PHONE = {"width": 390, "height": 844}
ANSWERS = """async asked => {
    const door = causebookDoor, engine = await door.seek(), near = await door.nearness();
    return asked.map(text => {
        const answer = engine.ask(text), values = {};
        Object.keys(answer.typed).forEach(id => { values[id] = answer.typed[id].value; });
        const read = Object.keys(values).length ? near.find({ typed: values }, 3) : null;
        return { pages: answer.hits.map(hit => hit.kind + " " + hit.id), said: door.told(answer),
            stops: answer.stops.concat(read ? read.stops.map(stop => stop[0].id) : []),
            cases: read ? read.like.map(one => causebookFacets.id[one.i]) : [],
            causes: read ? read.fits.map(fit => fit.cause) : [], warns: read ? read.beyond.map(one => one.ask) : [] };
    });
}"""


def hold(page: Page) -> None:
    asked = queries()
    answers = page.evaluate(ANSWERS, [query["ask"] for query in asked])
    told = {query["ask"]: missed(query, answer) for query, answer in zip(asked, answers, strict=True)}
    assert not {ask: lacks for ask, lacks in told.items() if lacks}


@pytest.mark.parametrize("from_folder", [False, True])
def test_every_query_finds_its_page(visit, from_folder):
    hold(visit("index.html", from_folder=from_folder))


def test_every_query_finds_its_page_without_network(browser, address):
    context = browser.new_context(service_workers="allow")
    page = context.new_page()
    page.goto(address)
    until(page, "navigator.serviceWorker.ready.then(() => caches.match('offline.json')).then(Boolean)")
    page.reload()
    context.set_offline(True)
    page.reload()
    hold(page)
    context.close()


def test_what_fits_stands_under_the_box_at_each_key_and_is_reached_by_keyboard(visit):
    page = visit("handbook/index.html")
    box = page.locator("#cb-seek")
    box.focus()
    page.keyboard.type("undersized ret")
    first = page.locator(".cb-seek-panel li a").first
    expect(first).to_have_text("Undersized return")
    page.keyboard.press("ArrowDown")
    expect(first).to_be_focused()
    page.keyboard.press("Escape")
    expect(box).to_be_focused()
    expect(page.locator(".cb-seek-panel")).to_be_hidden()
    box.fill("no heat")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_contain_text("No ignition")


def test_a_danger_word_brings_the_stop_before_any_case(visit):
    page = visit("index.html", size=PHONE)
    page.locator("#cb-seek").fill("smell of gas")
    alert = page.locator(".cb-seek .cb-stop-open")
    expect(alert).to_be_visible()
    assert alert.bounding_box()["y"] < page.locator(".cb-seek-panel li").first.bounding_box()["y"]


def test_readings_in_the_box_bring_the_nearest_case_and_lead_to_the_form(visit):
    page = visit("index.html")
    page.locator("#cb-seek").fill("rise 85 static 0.8")
    expect(page.locator(".cb-seek-panel li a").first).to_have_attribute("href", re.compile("narrow-return"))
    page.get_by_role("link", name="Readings: Rise 85").click()
    expect(page.get_by_label("Rise", exact=True)).to_have_value("85")
