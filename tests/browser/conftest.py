"""A real browser with the network off, and what a page must never do in it."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, sync_playwright

from tests.browser.chromium import NoBrowserError, chromium
from tests.browser.crew import TITLE, WIDTHS, Opened
from tests.browser.drawn_place import SIZES, Drawing, Ground, estate, served
from tests.browser.visit import Opener, Visit
from tests.views.crew_sample import estate_plan
from turfmap.views.crew_page import crew_page
from turfmap.views.visit_plan import VisitPlan


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Return a headless Chromium; a machine without one fails, as nothing here may be skipped.

    While it runs, no other test of the same thread can have an event loop of its own: that is why
    tests/conftest.py puts these tests last.
    """
    with sync_playwright() as playwright:
        try:
            started = chromium(playwright)
        except NoBrowserError as error:
            pytest.fail(str(error))
        yield started
        started.close()


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
        made.ready()
        return made

    yield opened
    for context in contexts:
        context.close()


@pytest.fixture
def crew(browser: Browser, tmp_path: Path) -> Iterator[Opened]:
    """Return a function that opens plans in a phone of some width, its network off."""
    contexts = []

    def opened(*plans: VisitPlan, width: int = 390, script: str = "", **context: Any) -> Visit:
        path = tmp_path / "crew.html"
        page = crew_page(plans or [estate_plan()], title=TITLE)
        path.write_text(page, encoding="utf-8")
        made = browser.new_context(
            viewport={"width": width, "height": WIDTHS[width]},
            offline=True,
            has_touch=width < 500,
            **context,
        )
        contexts.append(made)
        made.set_default_timeout(20_000)
        made.add_init_script(script)
        visit = Visit(made.new_page())
        visit.page.goto(path.as_uri())
        visit.ready()
        return visit

    yield opened
    for made in contexts:
        made.close()


@pytest.fixture(scope="session")
def ground(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Ground]:
    """Return one served estate for all tests of the drawing page."""
    with served(tmp_path_factory.mktemp("draw") / "estate.gpkg") as found:
        yield found


@pytest.fixture
def place(ground: Ground) -> Path:
    """Return its file, as nobody has changed it yet."""
    return estate(ground.place)


@pytest.fixture(params=SIZES)
def drawing(
    request: pytest.FixtureRequest, browser: Browser, ground: Ground, place: Path
) -> Iterator[Drawing]:
    """Return the drawing page at both sizes, by mouse and by finger; it never complains."""
    made = Drawing(browser, SIZES[request.param]).open(ground.address)
    yield made
    made.closes_well(ground.address)
    assert made.complaints == []


@pytest.fixture
def wide(browser: Browser, ground: Ground, place: Path) -> Iterator[Drawing]:
    """Return the drawing page on a large screen; what the server refuses is told in its console."""
    made = Drawing(browser, SIZES["wide"]).open(ground.address)
    yield made
    made.closes_well(ground.address)
