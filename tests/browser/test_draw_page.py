"""The drawing page for everybody: by keyboard, by thumb, in the sun, and for screen readers."""

import re
import struct
import zlib
from pathlib import Path

import pytest
import shapely
from playwright.sync_api import Browser
from pyproj import Geod
from shapely.geometry import shape

from tests.browser.drawn_place import SIZES, Drawing, Ground, place_of, served, stored

GEOD = Geod(ellps="WGS84")
PICTURES = Path(__file__).parents[1] / "out"


def crosshair_on(drawing: Drawing, east_m: float, north_m: float) -> None:
    """Bring a place under the crosshair with arrow keys alone."""
    for _ in range(200):
        x, y = drawing.at(east_m, north_m)
        box = drawing.page.locator("#map_ground").bounding_box()
        assert box is not None
        right, down = x - box["x"] - box["width"] / 2, y - box["y"] - box["height"] / 2
        if abs(right) <= 6 and abs(down) <= 6:
            return
        long, key = max(
            (abs(right), "Right" if right > 0 else "Left"),
            (abs(down), "Down" if down > 0 else "Up"),
        )
        drawing.page.keyboard.press(f"{'Shift+' if long < 45 else ''}Arrow{key}")
    raise AssertionError("the arrow keys did not get there")


def test_a_zone_is_drawn_tagged_saved_and_mended_by_keyboard_alone(
    browser: Browser, ground: Ground, place: Path
) -> None:
    made = Drawing(browser, SIZES["wide"]).open(ground.address)
    keys = made.page.keyboard
    made.button("Zones").focus()
    keys.press("Enter")
    assert made.page.evaluate("document.activeElement.id") == "map_ground"
    assert made.page.locator("#crosshair").is_visible()
    for corner in [(20, 80), (60, 80), (60, 120), (40, 125)]:
        crosshair_on(made, *corner)
        keys.press("Enter")
    keys.press("Backspace")
    made.page.screenshot(path=PICTURES / "draw-keys-wide.png")
    keys.press("Shift+Enter")
    assert made.page.evaluate("document.activeElement.name") == "name"
    keys.type("Keyboard lawn")
    keys.press("Tab")
    keys.press("t")
    keys.press("Control+s")
    made.saved()
    before = stored(place, "zone")["Keyboard lawn"]["geometry"]
    made.corner(1).focus()
    keys.press("Shift+ArrowUp")
    keys.press("ArrowUp")
    keys.press("+")
    assert made.corner(2).get_attribute("aria-label") == "Corner 2 of 4"
    keys.press("Delete")
    assert made.page.locator("#corner-said").inner_text() == "Corner 1 of 3"
    keys.press("Control+s")
    made.saved()
    after = stored(place, "zone")["Keyboard lawn"]["geometry"]
    old, new = (
        {*map(tuple, shapely.get_coordinates(shape(one)).tolist())} for one in (before, after)
    )
    (start,), (end,) = old - new, new - old
    # A long step is 1 m and a short one 10 cm: by geodesics, which the page does not use.
    assert GEOD.inv(start[0], start[1], end[0], end[1])[2] == pytest.approx(1.1, abs=0.002)
    keys.press("Escape")
    made.until("#panel-list")
    made.context.close()


def test_a_thumb_draws_under_the_crosshair(browser: Browser, ground: Ground, place: Path) -> None:
    made = Drawing(browser, SIZES["phone"]).open(ground.address)
    made.press("Zones")
    assert made.page.locator("#crosshair").is_visible()
    for corner in [(20, 80), (60, 80), (60, 120), (20, 120)]:
        made.see(*corner, 18)
        made.press("Set corner here")
    made.press("Take back")
    made.said("Corner 3 set")
    made.press("Finish")
    made.tag("Name, needed", "Thumb lawn")
    made.tag("Kind, needed", "turf")
    made.save()
    corners = shapely.get_coordinates(shape(stored(place, "zone")["Thumb lawn"]["geometry"]))
    for corner in [(20, 80), (60, 80), (60, 120)]:
        lng, lat = place_of(corner)
        assert min(GEOD.inv(lng, lat, x, y)[2] for x, y in corners.tolist()) < 0.3
    made.context.close()


def test_axe_finds_nothing_at_rest_drawing_or_editing(drawing: Drawing) -> None:
    assert drawing.axe_violations() == []
    drawing.press("Zones")
    drawing.touch(30, 90)
    drawing.touch(60, 90)
    assert drawing.axe_violations() == []
    drawing.press("Cancel")
    drawing.choose("Side lawn")
    drawing.measured()
    assert drawing.axe_violations() == []
    drawing.press("Close")
    drawing.page.locator("#help").click()
    assert drawing.axe_violations() == []
    drawing.page.keyboard.press("Escape")
    drawing.press("Look")
    drawing.choose("Mill pond")
    assert drawing.axe_violations() == []


# WCAG 2.2: 1.4.6 (7:1) for reading in the sun. Targets: our own rule for thumbs, 48 pixels.
def test_it_is_read_in_the_sun_and_met_by_a_thumb(drawing: Drawing) -> None:
    small = """() => [...document.querySelectorAll("button, input, select, summary")]
      .filter((node) => node.checkVisibility() && !node.matches(".choose, .tick input"))
      .map((node) => [node.outerHTML.slice(0, 80), node.getBoundingClientRect()])
      .filter(([, box]) => Math.min(box.width, box.height) < 47.5).map(([text]) => text)"""
    for step in ("at rest", "in hand", "drawing"):
        if step == "in hand":
            drawing.choose("Mill pond")
            drawing.measured()
        if step == "drawing":
            drawing.press("Cut a hole")
        assert drawing.lowest_contrast() >= 7, step
        if drawing.is_phone:
            assert drawing.page.evaluate(small) == [], step


@pytest.mark.parametrize("width", [320, 390])
def test_nothing_scrolls_sideways(
    browser: Browser, ground: Ground, place: Path, width: int
) -> None:
    made = Drawing(browser, (width, 700)).open(ground.address)
    wider = "Math.max(...['html', '#panel', '#draw-bar'].map((name) => {"
    wider += " const n = document.querySelector(name); return n.scrollWidth - n.clientWidth; }))"
    assert made.page.evaluate(wider) <= 0
    made.page.screenshot(path=PICTURES / f"draw-rest-{width}.png")
    made.press("Water and wells")
    assert made.page.evaluate(wider) <= 0
    made.page.screenshot(path=PICTURES / f"draw-drawing-{width}.png")
    made.press("Cancel")
    made.choose("Mill pond")
    made.measured()
    assert made.page.evaluate(wider) <= 0
    made.page.screenshot(path=PICTURES / f"draw-hand-{width}.png")
    made.context.close()


def test_the_list_is_the_maps_twin_and_can_be_searched(drawing: Drawing) -> None:
    rows = drawing.page.locator("#list-table tbody tr")
    assert rows.count() == 4
    row = rows.filter(has_text="Side lawn").inner_text()
    assert "turf" in row
    assert "32,292 sq ft" in row  # 60 m by 50 m over 0.3048² (NIST SP 811, B.8)
    drawing.page.get_by_label("Show").select_option("water")
    assert rows.count() == 1
    drawing.page.get_by_label("Show").select_option("")
    drawing.page.get_by_label("Find").fill("lawn")
    assert rows.count() == 2
    assert drawing.page.locator("#list-count").inner_text() == "2 of 4 things"


def test_forced_colours_keep_swatches_and_the_crosshair(drawing: Drawing) -> None:
    drawing.page.emulate_media(forced_colors="active")
    adjust = "node => getComputedStyle(node).forcedColorAdjust"
    assert drawing.page.locator(".swatch").first.evaluate(adjust) == "none"
    assert drawing.page.locator("#map_ground canvas").first.evaluate(adjust) == "none"
    drawing.page.screenshot(
        path=PICTURES / f"draw-forced-{'phone' if drawing.is_phone else 'wide'}.png"
    )


def png(red: int, green: int, blue: int) -> bytes:
    """Return a picture of one colour, 256 pixels square (W3C, PNG, 3rd edition)."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        check = zlib.crc32(kind + body)
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", check)

    rows = (b"\x00" + bytes((red, green, blue)) * 256) * 256
    head = struct.pack(">IIBBBBB", 256, 256, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        chunk(kind, body)
        for kind, body in ((b"IHDR", head), (b"IDAT", zlib.compress(rows)), (b"IEND", b""))
    )


def test_a_picture_lies_under_the_drawing_and_can_be_put_away(
    browser: Browser, place: Path
) -> None:
    with served(place, picture=lambda _z, _x, _y: png(90, 120, 60)) as pictured:
        made = Drawing(browser, SIZES["wide"]).open(pictured.address)
        made.until("img.leaflet-tile-loaded")
        made.until(".leaflet-tile:not(.leaflet-tile-loaded)", is_gone=True)
        made.page.screenshot(path=PICTURES / "draw-picture-wide.png")
        made.press("Picture")
        assert made.page.locator("img.leaflet-tile").count() == 0
        assert made.breaches == made.complaints == []
        made.context.close()


@pytest.mark.parametrize("width", [320, 390])
def test_on_a_phone_what_is_said_hides_no_button(browser: Browser, place: Path, width: int) -> None:
    with served(place, picture=lambda _z, _x, _y: png(90, 120, 60)) as pictured:
        made = Drawing(browser, (width, 700)).open(pictured.address)
        made.press("Zones")
        for corner in [(20, 80), (60, 80), (60, 120)]:
            made.see(*corner, 18)
            made.press("Set corner here")
        made.said("Corner 3 set")
        made.page.screenshot(path=PICTURES / f"draw-said-{width}.png")
        said, *others = (
            made.page.locator(one).evaluate("node => node.getBoundingClientRect().toJSON()")
            for one in ("#said", ".picture-switch", ".leaflet-control-zoom", "#whole-map")
        )
        for other in others:
            beside = said["right"] <= other["left"] or other["right"] <= said["left"]
            assert beside or said["top"] >= other["bottom"], (said, other)
        made.context.close()


# 0.01 acre is 435.6 sq ft, 43,560 to the acre (NIST SP 811, B.8).
def test_acres_are_told_from_a_hundredth_on(wide: Drawing) -> None:
    wide.see(40, 100, 20)
    wide.draw("Zones", [(30, 95), (36, 95), (36, 101), (30, 101)])
    assert re.fullmatch(r"3\d\d sq ft", wide.page.locator("#hand-size strong").inner_text())
    wide.measured()
    assert " ac" not in wide.page.locator("#panel-hand").inner_text()
    wide.see(40, 100, 19)
    wide.press("Close")
    wide.press("Throw the changes away")
    wide.draw("Zones", [(20, 85), (30, 85), (30, 95), (20, 95)])
    assert "0.02 ac" in wide.page.locator("#hand-size").inner_text()


def test_the_page_opens_on_looking_unless_it_is_asked_to_draw(
    browser: Browser, ground: Ground, place: Path
) -> None:
    made = Drawing(browser, SIZES["wide"]).open(ground.address.replace("&view=draw", ""))
    assert made.button("Look").get_attribute("aria-pressed") == "true"
    assert not made.button("Zones").is_visible()
    made.press("Draw")
    assert made.button("Zones").is_visible()
    made.page.get_by_role("button", name=re.compile("Help")).click()
    assert "Shift + Enter" in made.page.locator("#help-told").inner_text()
    made.context.close()
