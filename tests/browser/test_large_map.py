"""A map of thousands of zones: packed, one sign a property from afar, every zone when near."""

import pytest
import shapely

from tests.browser.visit import Opener, Visit
from tests.views.sample import AS_OF, task
from turfmap.views.map_page import MapContent, MapZone, map_page

PROPERTIES_A_SIDE = 23
ZONES_A_SIDE = 3

STATE_COLOUR_AT_CENTRE = """() => {
  const { x, y } = map_ground.getSize();
  const box = map_ground.getContainer().getBoundingClientRect();
  const tile = [...document.querySelectorAll("canvas.leaflet-tile")].find((canvas) => {
    const { left, top, right, bottom } = canvas.getBoundingClientRect();
    const [cx, cy] = [box.left + x / 2, box.top + y / 2];
    return left <= cx && cx < right && top <= cy && cy < bottom;
  });
  const { left, top } = tile.getBoundingClientRect();
  const at = [box.left + x / 2 - left, box.top + y / 2 - top];
  return [...tile.getContext("2d").getImageData(...at, 1, 1).data];
}"""


# The map's own zooms are counted from the one that fits it; these are of the usual web map.
VIEW = """([latitude, longitude, zoom]) => {
  const own = Math.round(map_ground.options.crs.zoom(256 * 2 ** zoom));
  map_ground.setView([latitude, longitude], own, { animate: false });
}"""
MIDDLE = (40.011 + 0.0004, -89 + 0.011 + 0.0004)


def zone(column: int, row: int, place: int) -> MapZone:
    west = -89 + 0.001 * column + 0.0003 * (place % ZONES_A_SIDE)
    south = 40 + 0.001 * row + 0.0003 * (place // ZONES_A_SIDE)
    lawn = shapely.Point(west + 0.0001, south + 0.0001).buffer(0.0001, quad_segs=16)
    area_m2 = {"gross_m2": 270.0, "obstacle_m2": 0.0, "no_spray_m2": 0.0, "treatable_m2": 270.0}
    name = f"Lawn {place + 1}"
    owner = f"Property {column}-{row}"
    area = {**area_m2, "causes": []}
    return MapZone(owner, name, "Turf", "Tall fescue", lawn, area, [task("later")])


@pytest.fixture(scope="module")
def page() -> str:
    zones = [
        zone(column, row, place)
        for column in range(PROPERTIES_A_SIDE)
        for row in range(PROPERTIES_A_SIDE)
        for place in range(ZONES_A_SIDE**2)
    ]
    return map_page(MapContent("A round", AS_OF, zones=zones))


@pytest.fixture
def opened(visit: Opener, page: str) -> Visit:
    return visit(page, (1280, 800))


def test_a_large_map_is_packed_and_complete(opened: Visit) -> None:
    assert opened.page.locator("#map-data").get_attribute("data-packed") == "gzip"
    assert opened.page.get_by_role("status").inner_text() == "4,761 zones, 100 listed"
    opened.page.get_by_role("button", name="Show more zones").click()
    assert opened.page.locator("#list-table tbody tr").count() == 200
    assert opened.complaints == []


def test_a_touch_on_a_propertys_sign_goes_there_and_then_each_zone_is_found(opened: Visit) -> None:
    opened.page.evaluate(VIEW, [*MIDDLE, 15])
    box = opened.page.locator("#map_ground").bounding_box()
    assert box is not None
    centre = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    opened.page.mouse.click(*centre)
    for _ in range(50):  # the policy of the page stops Playwright's own way to wait for a value
        if opened.page.evaluate("map_ground.options.crs.scale(map_ground.getZoom())") > 2**25:
            break
        opened.page.wait_for_timeout(100)
    assert opened.page.locator(".leaflet-popup").count() == 0
    # Lawn 5 is the middle one of the middle property.
    opened.page.mouse.click(*centre)
    said = opened.page.locator(".leaflet-popup").inner_text()
    assert "Lawn 5" in said
    assert "Property 11-11" in said


def test_from_afar_one_sign_stands_for_a_property(opened: Visit) -> None:
    # Beside the middle lawn there is bare paper when near, and the property's sign from afar.
    beside = (40.011 + 0.00055, -89 + 0.011 + 0.00055)
    opened.page.evaluate(VIEW, [*beside, 20])
    assert opened.page.evaluate(STATE_COLOUR_AT_CENTRE)[3] == 0
    opened.page.evaluate(VIEW, [*MIDDLE, 14])
    assert opened.page.evaluate(STATE_COLOUR_AT_CENTRE)[3] == 255
