"""A whole estate drawn from nothing: twelve zones, a pond, a stream and hives, each saved."""

from pathlib import Path

import pytest
from playwright.sync_api import Browser
from pyproj import Geod
from shapely.geometry import shape

from tests.browser.drawn_place import SIZES, Drawing, Metres, put, served, stored
from turfmap.desk.new import new

GEOD = Geod(ellps="WGS84")
FOOT_M = 0.3048  # NIST SP 811, B.8
WIDE, LONG, APART = 36.0, 30.0, 40.0


def ground(number: int) -> Metres:
    """Return one of twelve rectangles in three rows, four metres from each other."""
    west, south = 10 + APART * (number % 4), 10 + (LONG + 4) * (number // 4)
    return [(west, south), (west + WIDE, south), (west + WIDE, south + LONG), (west, south + LONG)]


def drawn(made: Drawing, corners: Metres, name: str, kind: str) -> None:
    """Set corners, name and tag what they make, and save it."""
    for corner in corners:
        made.touch(*corner)
    if len(corners) > 1:
        made.press("Finish")
    made.page.locator("#tag-name").fill(name)
    made.page.locator("#tag-name").press("Tab")
    made.page.get_by_label("Kind, needed").select_option(label=kind)
    made.press("Save")
    made.saved()


def test_an_estate_is_drawn_zone_after_zone_with_its_water_and_hives(
    browser: Browser, tmp_path: Path
) -> None:
    place = tmp_path / "estate.gpkg"
    new(place)
    outline: Metres = [(0, 0), (180, 0), (180, 135), (0, 135)]
    put(place, "Alder Court", "property", outline, {})
    with served(place) as found:
        made = Drawing(browser, SIZES["wide"]).open(found.address)
        made.press("Zones")
        for number in range(12):
            drawn(made, ground(number), f"Zone {number + 1}", "turf")
            shown = made.page.locator("#hand-size strong").inner_text()
            geometry = shape(stored(place, "zone")[f"Zone {number + 1}"]["geometry"])
            area_m2 = abs(GEOD.geometry_area_perimeter(geometry)[0])
            square_feet = float(shown.removesuffix(" sq ft").replace(",", ""))
            assert square_feet == pytest.approx(area_m2 / FOOT_M**2, abs=1)
            # What was clicked is what is stored: a pixel here is half a metre or less.
            assert area_m2 == pytest.approx(WIDE * LONG, rel=0.04)
            made.press("Draw another" if number < 11 else "Close")
        made.press("Water and wells")
        drawn(made, [(60, 114), (100, 114), (80, 130)], "Mill pond", "pond")
        made.press("Draw another")
        made.press("Line")
        drawn(made, [(100, 118), (140, 118), (170, 130)], "Mill stream", "stream or river")
        made.press("Close")
        made.press("Sensitive sites")
        made.button("Point").click()
        drawn(made, [(20, 124)], "Hives", "bee hives")
        assert made.breaches == made.complaints == []
        made.context.close()
    water = stored(place, "water")
    assert {one["geometry"]["type"] for one in water.values()} == {"Polygon", "LineString"}
    assert stored(place, "sensitive_site")["Hives"]["geometry"]["type"] == "Point"
    assert len(stored(place, "zone")) == 12


def test_what_another_window_saves_is_shown_and_what_is_unsaved_here_stays(
    browser: Browser, tmp_path: Path
) -> None:
    place = tmp_path / "estate.gpkg"
    new(place)
    for number in range(2):
        put(place, f"Lawn {number + 1}", "zone", ground(number), {"kind": "turf"})
    with served(place) as found:
        made = Drawing(browser, SIZES["wide"]).open(found.address)
        made.choose("Lawn 1")
        made.corner(1).focus()
        made.page.keyboard.press("Shift+ArrowRight")
        size = made.page.locator("#hand-size").inner_text()
        put(place, "Lawn 3", "zone", ground(2), {"kind": "turf"})
        made.page.evaluate("window.dispatchEvent(new Event('focus'))")
        made.page.locator("#list-table", has_text="Lawn 3").wait_for(state="attached")
        assert made.page.locator("#hand-size").inner_text() == size
        assert "Not saved yet" in made.page.locator("#save-state").inner_text()
        made.context.close()


def test_what_is_cut_from_a_neighbour_counts_before_it_is_saved(
    browser: Browser, tmp_path: Path
) -> None:
    place = tmp_path / "estate.gpkg"
    new(place)
    put(place, "Old lawn", "zone", ground(0), {"kind": "turf"})
    with served(place) as found:
        made = Drawing(browser, SIZES["wide"]).open(found.address)
        made.press("Zones")
        made.see(40, 25, 19)
        made.page.keyboard.down("Alt")
        for corner in half_inside():
            made.touch(*corner)
        made.page.keyboard.up("Alt")
        made.press("Finish")
        made.tag("Name, needed", "New lawn")
        made.tag("Kind, needed", "turf")
        made.until("#hand-treatable", "drawn twice")
        made.press("Cut Old lawn")
        made.until("#hand-treatable", "all of it")
        made.context.close()


def half_inside() -> Metres:
    """Return ground half of which is the first zone's."""
    return [(30, 15), (70, 15), (70, 35), (30, 35)]
