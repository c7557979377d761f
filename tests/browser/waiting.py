"""Waiting for a page under its policy, which runs no text as script, as Playwright's `wait_for_function` would."""

from __future__ import annotations

import time
from typing import Any

from playwright.sync_api import Page


def until(page: Page, expression: str, argument: Any = None, seconds: float = 60) -> None:
    """Wait until an expression, or a function of `argument`, is true in the page."""
    end = time.monotonic() + seconds
    while not page.evaluate(expression, argument):
        assert time.monotonic() < end, f"never came true: {expression}"
        page.wait_for_timeout(100)
