"""A real browser with the network off, and what a page must never do in it."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Error, Playwright, sync_playwright

from tests.browser.visit import Opener, Visit

NAMES = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "msedge",
)
ARGUMENTS = (
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Return a headless Chromium; a machine without one fails, as nothing here may be skipped."""
    with sync_playwright() as playwright:
        started = _started(playwright)
        yield started
        started.close()


def _started(playwright: Playwright) -> Browser:
    found = next(filter(None, map(shutil.which, NAMES)), None)
    # A sandbox of its own needs a user who is not root.
    is_root = hasattr(os, "geteuid") and os.geteuid() == 0
    arguments = [*ARGUMENTS, *(["--no-sandbox"] if is_root else [])]
    try:
        return playwright.chromium.launch(executable_path=found, args=arguments)
    except Error as error:
        pytest.fail(
            "The browser tests need Chromium, Chrome or Edge, and none could be started. Install "
            "one (on Debian: apt-get install chromium; anywhere: playwright install chromium). "
            f"The browser said: {str(error).splitlines()[0]}"
        )


@pytest.fixture
def visit(browser: Browser, tmp_path: Path) -> Iterator[Opener]:
    """Return a function that opens a page's text in a window of some size, network off."""
    contexts = []

    def opened(text: str, size: tuple[int, int]) -> Visit:
        path = tmp_path / "map.html"
        path.write_text(text, encoding="utf-8")
        width, height = size
        context = browser.new_context(
            viewport={"width": width, "height": height}, offline=True, has_touch=width < 500
        )
        contexts.append(context)
        context.set_default_timeout(20_000)
        made = Visit(context.new_page())
        made.page.goto(path.as_uri())
        made.page.wait_for_selector("html[data-ready]")
        return made

    yield opened
    for context in contexts:
        context.close()
