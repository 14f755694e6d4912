"""What is drawn is never lost: reloads, a server that dies, refusals, and two people at once."""

import json
import os
import re
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Route

from tests.browser.drawn_place import SIZES, Drawing, Ground, polygon, put, stored
from turfmap.desk.edits import apply_edits

BARE = [(20.0, 80.0), (60.0, 80.0), (60.0, 130.0), (20.0, 130.0)]


def moved(drawing: Drawing, name: str) -> None:
    """Move the first corner of a zone by a metre, unsaved."""
    drawing.choose(name)
    drawing.corner(1).focus()
    drawing.page.keyboard.press("Shift+ArrowRight")


def test_unsaved_drawing_is_offered_back_after_a_reload(wide: Drawing, place: Path) -> None:
    moved(wide, "Front lawn")
    wide.page.reload()
    wide.ready()
    offer = wide.page.locator("#left-behind")
    assert re.search(r"Front lawn \(Zones\), \d+ \w{3} \d{4}, \d\d:\d\d", offer.inner_text())
    before = stored(place, "zone")["Front lawn"]["etag"]
    wide.press("Go on with it")
    wide.save()
    assert stored(place, "zone")["Front lawn"]["etag"] != before
    wide.page.reload()
    wide.ready()
    assert offer.inner_text() == ""


def test_a_shape_that_is_only_begun_is_kept_as_well(wide: Drawing) -> None:
    wide.press("Zones")
    for corner in BARE:
        wide.touch(*corner)
    wide.page.reload()
    wide.ready()
    wide.press("Go on with it")
    assert wide.page.locator("#hand-size").inner_text().startswith("21,")  # 40 m by 50 m
    assert wide.page.locator("#save-state").inner_text() == "Not saved yet"
    wide.press("Close")
    wide.press("Throw the changes away")
    wide.page.reload()
    wide.ready()
    assert wide.page.locator("#left-behind").inner_text() == ""


def test_leaving_a_shape_asks_what_becomes_of_its_changes(wide: Drawing, place: Path) -> None:
    moved(wide, "Front lawn")
    before = stored(place, "zone")["Front lawn"]["etag"]
    wide.press("Close")
    wide.press("Go on drawing")
    assert wide.page.locator("#panel-hand").is_visible()
    wide.page.locator("#panel-hand").press("Escape")
    wide.page.locator("#leave").get_by_role("button", name="Save", exact=True).click()
    wide.until("#panel-list")
    assert stored(place, "zone")["Front lawn"]["etag"] != before


def test_the_key_stays_in_this_tab_and_out_of_the_address(wide: Drawing) -> None:
    assert "key" not in wide.page.url
    kept = wide.page.evaluate("JSON.stringify(localStorage) + document.cookie")
    assert "test-key" not in kept
    assert wide.page.evaluate("Object.values(sessionStorage)") == ["test-key"]


def test_a_server_that_is_killed_and_started_again(browser: Browser, place: Path) -> None:
    def started(port: str) -> tuple["subprocess.Popen[str]", str]:
        command = [sys.executable, "-m", "turfmap", "draw", str(place), "--no-browser"]
        process = subprocess.Popen(
            [*command, "--port", port], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
        )
        assert process.stdout is not None
        address = process.stdout.readline().strip()
        process.stdout.close()
        return process, address

    port = str(18_000 + os.getpid() % 2_000)
    server, address = started(port)
    drawing = Drawing(browser, SIZES["phone"]).open(address)
    moved(drawing, "Front lawn")
    server.send_signal(signal.SIGKILL)
    server.wait()
    drawing.press("Save")
    drawing.told("The server does not answer")
    server, address = started(port)
    try:
        drawing.press("Try again")
        drawing.told("this page's key is no longer good")
        before = stored(place, "zone")["Front lawn"]["etag"]
        drawing.page.get_by_label("New address").fill(address)
        drawing.press("Use it")
        drawing.saved()
        assert stored(place, "zone")["Front lawn"]["etag"] != before
    finally:
        server.kill()
        server.wait()
        drawing.context.close()


REFUSALS = {
    503: "Another program is writing to the file",
    403: "The file cannot be written to",
    507: "The disk is full",
}


def test_what_the_server_cannot_save_is_kept_and_tried_again(wide: Drawing, place: Path) -> None:
    statuses = iter(REFUSALS)

    def refuse(route: Route) -> None:
        status = next(statuses)
        body = json.dumps({"type": "about:blank", "title": "No", "status": status})
        route.fulfill(status=status, body=body, content_type="application/problem+json")

    moved(wide, "Front lawn")
    before = stored(place, "zone")["Front lawn"]["etag"]
    wide.page.route("**/desk/edits", refuse)
    for said in REFUSALS.values():
        wide.press("Save")
        wide.told(said)
        wide.told("kept in this browser")
        assert wide.page.locator("#save-state").inner_text() == "Not saved yet"
    wide.page.unroute("**/desk/edits")
    wide.press("Try again")
    wide.saved()
    assert stored(place, "zone")["Front lawn"]["etag"] != before


def test_a_file_that_another_program_is_writing_to(wide: Drawing, place: Path) -> None:
    moved(wide, "Front lawn")
    other = sqlite3.connect(place, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    wide.press("Save")
    wide.told("Another program is writing to the file")
    other.execute("ROLLBACK")
    other.close()
    wide.press("Try again")
    wide.saved()


@pytest.fixture
def clashing(browser: Browser, ground: Ground, place: Path) -> Iterator[Drawing]:
    """Return a page that has changed a zone which somebody else has changed and saved since."""
    mine = Drawing(browser, SIZES["phone"]).open(ground.address)
    moved(mine, "Front lawn")
    feature = stored(place, "zone")["Front lawn"]
    feature["geometry"] = polygon([(10, 10), (90, 10), (80, 62), (10, 60)])
    feature["properties"]["species"] = "kentucky_bluegrass"
    edit = {"layer": "zone", "op": "replace", "id": "front-lawn", "etag": feature.pop("etag")}
    apply_edits(place, [{**edit, "feature": feature}], who="somebody")
    mine.press("Save")
    mine.until("#clash")
    yield mine
    mine.context.close()


def test_two_pages_that_change_one_zone_lose_nothing(
    browser: Browser, ground: Ground, wide: Drawing, place: Path
) -> None:
    moved(wide, "Side lawn")
    other = Drawing(browser, SIZES["phone"]).open(ground.address)
    moved(other, "Side lawn")
    other.page.keyboard.press("Shift+ArrowDown")
    other.save()
    other.context.close()
    wide.press("Save")
    wide.page.locator("#clash").get_by_role("img", name="Both shapes").wait_for()
    wide.page.keyboard.press("Escape")  # not decided: nothing is saved, nothing is lost
    assert wide.page.locator("#save-state").inner_text() == "Not saved yet"


def test_two_people_change_one_zone_and_both_versions_are_shown(
    clashing: Drawing, place: Path
) -> None:
    told = clashing.page.locator("#clash").inner_text()
    assert "was changed by somebody else" in told
    for said in ("tall fescue", "Kentucky bluegrass", "sq ft"):
        assert said in told
    assert clashing.axe_violations() == []
    clashing.page.screenshot(path=Path(__file__).parents[1] / "out" / "draw-clash-phone.png")
    theirs = stored(place, "zone")["Front lawn"]
    clashing.press("Keep both: mine as a copy")
    clashing.until("#save-state", "Not saved yet")
    clashing.press("Save as drawn")  # the copy lies on the other one
    clashing.said("Saved: Front lawn (copy)")
    zones = stored(place, "zone")
    assert zones["Front lawn"]["etag"] == theirs["etag"]
    assert zones["Front lawn (copy)"]["properties"]["species"] == "tall_fescue"


def test_mine_is_kept_and_theirs_can_be_had_back_by_undo(clashing: Drawing, place: Path) -> None:
    theirs = stored(place, "zone")["Front lawn"]["etag"]
    clashing.press("Keep mine")
    clashing.saved()
    assert stored(place, "zone")["Front lawn"]["properties"]["species"] == "tall_fescue"
    clashing.press("Undo")
    clashing.said("Taken back and saved")
    assert stored(place, "zone")["Front lawn"]["etag"] == theirs


def test_theirs_is_kept(clashing: Drawing, place: Path) -> None:
    theirs = stored(place, "zone")["Front lawn"]["etag"]
    clashing.press("Keep the one in the file")
    clashing.saved()
    assert stored(place, "zone")["Front lawn"]["etag"] == theirs
    assert clashing.page.get_by_label("Species").input_value() == "kentucky_bluegrass"


def test_what_somebody_else_deleted_can_be_put_back(wide: Drawing, place: Path) -> None:
    moved(wide, "Front lawn")
    (etag,) = (one["etag"] for name, one in stored(place, "zone").items() if name == "Front lawn")
    edit = {"layer": "zone", "op": "delete", "id": "front-lawn", "etag": etag}
    apply_edits(place, [edit], who="somebody")
    wide.press("Save")
    wide.until("#clash", "was deleted by somebody else")
    wide.press("Put mine back")
    wide.saved()
    assert stored(place, "zone")["Front lawn"]["id"] == "front-lawn"


def test_undo_leaves_alone_what_somebody_else_has_changed_since(wide: Drawing, place: Path) -> None:
    moved(wide, "Front lawn")
    wide.save()
    feature = stored(place, "zone")["Front lawn"]
    feature["geometry"] = polygon([(10, 10), (50, 10), (50, 60)])
    edit = {"layer": "zone", "op": "replace", "id": "front-lawn", "etag": feature.pop("etag")}
    apply_edits(place, [{**edit, "feature": feature}], who="somebody")
    wide.press("Undo")
    wide.told("Somebody else has changed that since")


HOSTILE = "{{7*7}}</script><img src=x onerror='globalThis.ran=1'>`${1}"


def test_hostile_names_are_shown_and_never_run(
    browser: Browser, ground: Ground, place: Path
) -> None:
    put(place, HOSTILE, "zone", [(20, 80), (60, 80), (60, 130)], {"kind": "turf", "notes": HOSTILE})
    made = Drawing(browser, SIZES["wide"]).open(ground.address)
    made.page.get_by_label("Find").fill("onerror")
    made.page.locator("#list-table .choose").click()
    assert made.page.locator("#hand-name").evaluate("node => node.textContent") == HOSTILE
    made.corner(1).focus()
    made.page.keyboard.press("Shift+ArrowRight")
    made.press("Close")
    assert "onerror" in made.page.locator("#leave").inner_text()
    made.press("Throw the changes away")
    made.press("Look")
    made.page.locator("#list-table .choose").click()
    assert "onerror" in made.page.locator("#look-told").inner_text()
    assert made.page.evaluate("globalThis.ran") is None
    assert made.page.locator("#panel img, dialog img").count() == 0
    assert made.breaches == made.complaints == []
    made.context.close()
