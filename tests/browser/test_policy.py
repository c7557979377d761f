"""The pages' Content-Security-Policy: every browser test runs under it, and here it is shown to hold.

A page that breaks it writes an error on the console, which fails any test that opens pages with `visit`.
"""

from __future__ import annotations

import re

import pytest

from causebook.site.shell import POLICY
from make_library import ROOT

PAGES = (
    "index.html",
    "cases/index.html",
    "cases/bent-flame/index.html",
    "cases/bent-flame/proof.html",
    "cases/bent-flame/customer.html",
    "find/index.html",
    "study/index.html",
    "tallies/index.html",
    "handbook/limit.html",
)
TRIES = """() => {
  const script = document.createElement("script");
  script.textContent = "window.ran = 'a script in the page'";
  document.head.append(script);
  const button = document.createElement("button");
  button.setAttribute("onclick", "window.ran = 'a handler in the page'");
  document.body.append(button);
  button.click();
  const style = document.createElement("style");
  style.textContent = "h1 { letter-spacing: 77px }";
  document.head.append(style);
  return [window.ran || "", getComputedStyle(document.querySelector("h1")).letterSpacing];
}"""


@pytest.mark.parametrize("from_folder", [False, True])
def test_no_page_breaks_its_policy(visit, from_folder):
    for path in PAGES:
        page = visit(path, from_folder=from_folder)
        assert page.locator("meta[http-equiv]").get_attribute("content") == POLICY
        page.close()


@pytest.mark.parametrize("from_folder", [False, True])
def test_the_policy_holds_back_what_an_intruder_would_try(browser, address, demo, from_folder):
    context = browser.new_context()
    page = context.new_page()
    page.goto((f"{demo.site.as_uri()}/" if from_folder else address) + "cases/bent-flame/proof.html")
    said = []
    page.on("console", lambda m: said.append(m.text))
    ran, spacing = page.evaluate(TRIES)
    assert not ran and spacing != "77px"
    assert any("Content Security Policy" in text for text in said)
    assert not page.evaluate("window.ran")
    drawn = page.locator(".cb-chart text").first.evaluate("text => getComputedStyle(text).fill")
    assert re.fullmatch(r"rgb\(.*\)", drawn) and drawn != "rgb(0, 0, 0)", "drawings keep their colors"
    context.close()


def test_no_page_has_a_script_in_it(demo):
    for page in demo.site.rglob("*.html"):
        text = page.read_text(encoding="utf-8")
        inside = re.findall(r"<script(?![^>]*\bsrc=)(?![^>]*type=\"application/json\")[^>]*>", text)
        policies = re.findall(r"<meta[^>]*http-equiv=\"Content-Security-Policy\"", text)
        assert not inside and len(policies) == 1, page


def test_the_guide_s_header_is_the_policy_of_the_pages():
    guide = (ROOT / "docs" / "own-library.md").read_text(encoding="utf-8")
    headers = re.findall(r'Content-Security-Policy "([^"]*)"', guide)
    assert headers and all(header == f"{POLICY}; frame-ancestors 'none'" for header in headers)
