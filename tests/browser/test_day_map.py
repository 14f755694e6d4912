"""The day map and the week board in a browser: read, switched, moved by mouse and by keys."""

import socket
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any, cast

import pytest
import uvicorn
from playwright.sync_api import Browser, Locator

from tests.browser.visit import Opener, Visit
from tests.views.plan_sample import HOSTILE, STOPS, ground, plan
from turfmap.desk.week_board import WeekBoard
from turfmap.doors.web.app import make_app
from turfmap.doors.web.settings import Settings
from turfmap.foundations.errors import input_fault
from turfmap.views.day_map import day_map
from turfmap.views.week_board import board_data, week_board

SIZES = [(1280, 800), (390, 844)]
PICTURES = Path(__file__).parents[1] / "out"
PAGES = {
    "map": lambda change=str: day_map(plan(change), ground(change), title=change("Days")),
    "board": lambda change=str: week_board(plan(change), title=change("Days")),
}


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("size", SIZES, ids=["wide", "phone"])
def test_pages_stand_alone_read_in_the_sun_and_scroll_one_way(
    visit: Opener, name: str, size: tuple[int, int]
) -> None:
    opened = visit(PAGES[name](), size)
    assert opened.axe_violations() == []
    assert opened.lowest_contrast() >= 7  # WCAG 2.2, 1.4.6
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= size[0]
    PICTURES.mkdir(exist_ok=True)
    opened.page.screenshot(path=PICTURES / f"days-{name}-{size[0]}.png")
    assert opened.left_the_file() == []
    assert opened.complaints == []


@pytest.mark.parametrize("name", PAGES)
def test_hostile_text_is_shown_and_never_run(visit: Opener, name: str) -> None:
    everything = " ".join(HOSTILE)
    opened = visit(PAGES[name](lambda _: everything), SIZES[0])
    if name == "map":
        opened.page.locator(".choose").first.click()
    assert "{{ 7 * 7 }}" in opened.page.locator("main").inner_text()
    assert opened.page.evaluate("globalThis.ran") is None
    assert opened.page.locator("main img").count() == 0
    assert opened.complaints == []


def test_the_list_is_the_maps_twin_and_days_are_switched(visit: Opener) -> None:
    opened = visit(PAGES["map"](), SIZES[0])
    rows = opened.page.locator("#list-table tbody tr")
    starts = ("1", "08:10 – 08:30", "2")
    assert all(
        text.startswith(begin) for text, begin in zip(rows.all_inner_texts(), starts, strict=True)
    )
    assert opened.page.locator(".leaflet-marker-icon").all_inner_texts() == ["D", "1", "2"]
    assert "Side gate, 3.8 ft wide" in rows.first.inner_text()
    opened.page.get_by_role("button", name="Later").click()
    chosen = opened.page.locator("#day-choice option:checked").inner_text()
    assert chosen == "Wed 16 Sep 2026, Truck 1"
    assert "Cedar" in opened.page.locator("#list-table tbody").inner_text()
    assert opened.page.locator(".leaflet-marker-icon").all_inner_texts() == ["D", "1"]
    opened.page.get_by_text("Left out of the plan").click()
    assert "no truck has hours left" in opened.page.locator("#left-out").inner_text()


# The green of the first outing's ground is nowhere on a map whose plan has no outing.
def test_the_ground_of_this_outing_stands_out(visit: Opener) -> None:
    count = """() => {
      const near = (a, b) => Math.abs(a - b) < 4;
      let found = 0;
      for (const tile of document.querySelectorAll("#map_ground canvas.leaflet-tile")) {
        const { data } = tile.getContext("2d").getImageData(0, 0, tile.width, tile.height);
        for (let i = 0; i < data.length; i += 4) {
          found += near(data[i], 0xa9) && near(data[i + 1], 0xd1) && near(data[i + 2], 0x7f);
        }
      }
      return found;
    }"""
    opened = visit(PAGES["map"](), SIZES[0])
    opened.page.wait_for_timeout(300)
    assert opened.page.evaluate(count) > 500
    opened = visit(day_map(plan() | {"days": []}, ground(), title="Days"), SIZES[0])
    opened.page.wait_for_timeout(300)
    assert opened.page.evaluate(count) == 0


def test_a_stop_says_what_to_keep_off_and_gives_the_keyboard_back(visit: Opener) -> None:
    opened = visit(PAGES["map"](), SIZES[0])
    opened.page.get_by_role("button", name="Alder").focus()
    opened.page.keyboard.press("Enter")
    said = opened.page.locator(".leaflet-popup").inner_text()
    # 15.24 m is 50 ft and 3 m is 9.8 ft (1 ft = 0.3048 m, NIST SP 811).
    assert "Old well (Well): 50 ft setback and 9.8 ft for how well the edge is known" in said
    assert "12.5 gal of Barrier spray" in said
    assert opened.axe_violations() == []
    opened.page.keyboard.press("Escape")
    assert opened.page.evaluate("document.activeElement.textContent") == "Alder"
    opened.page.get_by_role("button", name="Birch").click()
    assert "keep off" not in opened.page.locator(".leaflet-popup").inner_text()


class Board:
    """Answers as a week board does: a move to Tuesday costs 4 minutes, no other is possible."""

    def __init__(self) -> None:
        self.moves: list[tuple[str, str, str]] = []

    def shown(self) -> dict[str, Any]:
        made = plan()
        for stop, day, _ in self.moves:
            made["days"][1]["day"] = day if stop == STOPS[2]["stop"] else made["days"][1]["day"]
        version = {"version": len(self.moves), "can_undo": bool(self.moves)}
        return {"board": board_data(made), "can_write": False, **version}

    def costs(self, stop: str, version: int) -> dict[str, Any]:
        assert (stop, version) == (STOPS[2]["stop"], len(self.moves))
        days, trucks = ("2026-09-14", "2026-09-15", "2026-09-17"), ("Truck 1", "Truck 2")
        good = {"possible": True, "why": [], "driving_min": 4.0}
        bad = {"possible": False, "why": ["the shift is too long"], "driving_min": 0.0}
        return {
            "offers": [
                {"day": day, "truck": truck, **(good if day == "2026-09-15" else bad)}
                for day in days
                for truck in trucks
            ]
        }

    def move(self, stop: str, day: str, truck: str, _: int) -> dict[str, Any]:
        self.moves.append((stop, day, truck))
        return self.shown()

    def undo(self, _: int) -> dict[str, Any]:
        self.moves.pop()
        return self.shown()

    def write(self, _: int) -> dict[str, Any]:
        raise input_fault("no folder was given", "give one")


@pytest.fixture(params=SIZES, ids=["wide", "phone"])
def live(
    browser: Browser, tmp_path: Path, request: pytest.FixtureRequest
) -> Iterator[tuple[Visit, Board]]:
    """Open the board of the local page before a server with an invented plan."""
    board = Board()
    listener = socket.socket()
    listener.bind(("127.0.0.1", 0))
    port = listener.getsockname()[1]
    settings = Settings(tmp_path / "none.gpkg", "test-key", port, days=cast("WeekBoard", board))
    config = uvicorn.Config(make_app(settings), log_level="critical", lifespan="off", ws="none")
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
    thread.start()
    width, height = request.param
    context = browser.new_context(
        viewport={"width": width, "height": height}, has_touch=width < 500
    )
    context.set_default_timeout(10_000)
    opened = Visit(context.new_page())
    opened.page.goto(f"http://127.0.0.1:{port}/app/board.html#key=test-key")
    opened.page.wait_for_selector("html[data-ready]")
    yield opened, board
    context.close()
    server.should_exit = server.force_exit = True
    thread.join(timeout=5)
    listener.close()


def cell(opened: Visit, day: str, truck: int) -> Any:
    heading = opened.page.get_by_role("heading", level=2).filter(has_text=day)
    column = opened.page.locator(".board-day").filter(has=heading)
    return column.locator(".truck").nth(truck)


def corner(one: Locator) -> tuple[float, float]:
    box = one.bounding_box()
    assert box is not None
    return box["x"], box["y"]


def test_a_stop_is_moved_with_keys_its_cost_told_first_and_taken_back(
    live: tuple[Visit, Board],
) -> None:
    opened, board = live
    opened.page.get_by_role("button", name="Other day… for Cedar").focus()
    opened.page.keyboard.press("Enter")
    opened.page.locator(".offer").first.wait_for()
    assert "Not possible: the shift is too long." in cell(opened, "Mon 14 Sep", 0).inner_text()
    assert board.moves == []
    assert opened.axe_violations() == []
    assert opened.lowest_contrast() >= 7
    button = cell(opened, "Tue 15 Sep", 1).get_by_role("button")
    assert button.inner_text() == "Move here: 4.0 min more driving"
    button.focus()
    opened.page.keyboard.press("Enter")
    said = opened.page.get_by_role("status")
    said.get_by_text("Cedar is now on Tue 15 Sep 2026, Truck 2.").wait_for()
    assert board.moves == [(STOPS[2]["stop"], "2026-09-15", "Truck 2")]
    assert "for Cedar" in opened.page.evaluate("document.activeElement.textContent")
    opened.page.get_by_role("button", name="Undo").click()
    said.get_by_text("The last move was taken back.").wait_for()
    assert board.moves == []
    assert opened.page.get_by_role("button", name="Undo").is_disabled()
    assert opened.page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert opened.complaints == []


def test_a_stop_is_dragged_the_cost_seen_before_the_drop(live: tuple[Visit, Board]) -> None:
    opened, board = live
    if opened.page.evaluate("innerWidth") < 500:
        opened.page.set_viewport_size({"width": 500, "height": 2_500})
    page, status = opened.page, opened.page.get_by_role("status")
    left, top = corner(page.locator(".card", has_text="Cedar").locator("h4"))
    page.mouse.move(left + 5, top + 5)
    page.mouse.down()
    page.mouse.move(left + 15, top + 15, steps=3)
    page.locator(".offer").first.wait_for()
    for day, said in (("Thu 17 Sep", "not possible"), ("Tue 15 Sep", "4.0 min more driving.")):
        left, top = corner(cell(opened, day, 0).locator("h3"))
        page.mouse.move(left + 10, top + 8, steps=4)
        status.get_by_text(said).wait_for()
    assert board.moves == []
    page.mouse.up()
    status.get_by_text("Cedar is now on Tue 15 Sep 2026, Truck 1.").wait_for()
    assert board.moves == [(STOPS[2]["stop"], "2026-09-15", "Truck 1")]
