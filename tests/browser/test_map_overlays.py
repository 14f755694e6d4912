"""Slope and sun over the zones: where they lie, what they say, and what they leave alone."""

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.browser.visit import Opener, Visit
from tests.desk.measured_place import BANK_M, CROWN, TO_LON_LAT, measured_place
from tests.views.sample import ESTATE, HOSTILE, ZONES, estate
from turfmap.desk.map import GroundAsked, map_file
from turfmap.desk.slope import SlopeAsked
from turfmap.desk.sun import SunAsked, sun_and_keep
from turfmap.desk.sun_reckoning import Season
from turfmap.views.grey_picture import grey_picture
from turfmap.views.map_overlays import MapOverlay, MapOverlays, OverlayClass
from turfmap.views.map_page import map_page

PICTURES = Path(__file__).parents[1] / "out"
SIZES = [(1280, 800), (390, 844)]

# The colour of the ground's own canvas at places, as red, green and blue.
COLOURS = """places => {
  const tiles = [...document.querySelectorAll("#map_ground canvas.leaflet-tile")];
  const frame = map_ground.getContainer().getBoundingClientRect();
  return places.map(([lon, lat]) => {
    const at = map_ground.latLngToContainerPoint([lat, lon]);
    const [x, y] = [frame.left + at.x, frame.top + at.y];
    for (const tile of tiles) {
      const box = tile.getBoundingClientRect();
      if (x < box.left || x >= box.right || y < box.top || y >= box.bottom) continue;
      const scale = tile.width / box.width;
      return [...tile.getContext("2d").getImageData((x - box.left) * scale,
        (y - box.top) * scale, 1, 1).data].slice(0, 3);
    }
    return null;
  });
}"""


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Return the map of a place that keeps hours of sun, with slopes measured for it."""
    folder = tmp_path_factory.mktemp("overlays")
    place = measured_place(folder)
    day = date(2026, 6, 21)
    heights = SunAsked(None, folder / "level.tif", "m", taken=date(2024, 3, 12))
    season = Season(day, day, step_minutes=30.0)
    sun_and_keep(place, property_name=None, asked=heights, season=season)
    slope = SlopeAsked(folder / "bank.tif", "m", taken=date(2024, 3, 12))
    out = folder / "map.html"
    map_file(place, as_of=date(2026, 9, 24), out=out, asked=GroundAsked(slope=slope))
    return out.read_text(encoding="utf-8")


@pytest.fixture(params=SIZES, ids=["wide", "phone"])
def opened(visit: Opener, page: str, request: pytest.FixtureRequest) -> Visit:
    return visit(page, request.param)


def show(opened: Visit, title: str) -> None:
    opened.page.get_by_role("button", name=title).click()


def go_to(opened: Visit, lon: float, lat: float, zoom: int) -> None:
    opened.page.evaluate(
        "([lon, lat, zoom]) => map_ground.setView([lat, lon], zoom, { animate: false })",
        [lon, lat, zoom],
    )
    opened.page.evaluate("scrollTo(0, 0)")
    opened.page.wait_for_timeout(300)


def colours(opened: Visit, places: list[tuple[float, float]]) -> Any:
    return np.array(opened.page.evaluate(COLOURS, [list(place) for place in places]), float)


def touch(opened: Visit, lon: float, lat: float) -> str:
    x, y = opened.page.evaluate(
        """([lon, lat]) => {
          map_ground.setView([lat, lon], 20, { animate: false });
          scrollTo(0, 0);
          const frame = map_ground.getContainer().getBoundingClientRect();
          const at = map_ground.latLngToContainerPoint([lat, lon]);
          return [frame.left + at.x, frame.top + at.y];
        }""",
        [lon, lat],
    )
    opened.page.mouse.click(x, y)
    said = opened.page.locator(".leaflet-popup").inner_text()
    opened.page.keyboard.press("Escape")
    return str(said)


def test_the_bank_is_drawn_where_it_lies(opened: Visit) -> None:
    """PROJ says where it lies: across it, on bare ground, the middle of the ink is there.

    A cell of the raster is 1 m; the picture's pixels are as large.
    """
    across_m = np.arange(BANK_M - 8.0, BANK_M + 8.0, 0.1)
    go_to(opened, *TO_LON_LAT.transform(BANK_M, 80.0), 20)
    lines = [
        [TO_LON_LAT.transform(float(x), y) for x in across_m] for y in (78.0, 79.3, 80.6, 81.9)
    ]
    before = np.array([colours(opened, line) for line in lines])
    show(opened, "Slope and relief")
    opened.page.evaluate("scrollTo(0, 0)")
    opened.page.wait_for_timeout(300)
    after = np.array([colours(opened, line) for line in lines])
    ink = (before - after).sum(axis=2).clip(0.0)
    assert ink.max() > 100
    middle_m = (ink * across_m).sum() / ink.sum()
    assert middle_m == pytest.approx(BANK_M, abs=1.0)
    far = np.abs(across_m - BANK_M) > 3.5
    assert ink[:, far].max() == 0


def test_a_touch_tells_the_hours_on_both_sides_of_a_crowns_edge(opened: Visit) -> None:
    show(opened, "Hours of sun")
    edge, south, _, top = CROWN.bounds
    aside, middle = 2.0 / 93_500.0, (south + top) / 2.0
    assert "Sun right here: 0.0 hours of direct sun a day" in touch(opened, edge + aside, middle)
    sunny = touch(opened, edge - aside, middle)
    assert "Sun right here: " in sunny
    assert "Sun right here: 0.0" not in sunny
    assert "Measured of the zone" in sunny
    assert "From level.tif, taken 12 Mar 2024, cells of 1 m (3.3 ft)." in sunny
    assert "but tagged full sun" in sunny
    show(opened, "Hours of sun")  # pressed again: gone, and so is what it says of a place
    assert "right here" not in touch(opened, edge - aside, middle)


def test_the_key_has_numbers_words_and_the_raster_and_shows_one_at_a_time(opened: Visit) -> None:
    key = opened.page.locator("#overlay-key")
    assert "1 of 2 properties" in key.inner_text()
    assert opened.page.locator("#overlay-classes").is_hidden()
    show(opened, "Slope and relief")
    said = key.inner_text()
    assert "Under 5 % (3°)" in said
    assert "27 % (15°): above the limit of riding and walk-behind machines" in said
    assert "bank.tif, taken 12 Mar 2024, cells of 1 m (3.3 ft)" in said
    show(opened, "Hours of sun")
    said = key.inner_text()
    assert "Under 4 h a day: deep shade" in said
    assert "level.tif, taken 12 Mar 2024" in said
    assert "bank.tif" not in said
    pressed = key.locator("button[aria-pressed=true]")
    assert pressed.count() == 1
    assert opened.page.evaluate("map_ground.hasLayer(feature_group_slope)") is False
    # The map's own list of layers does the same.
    opened.page.evaluate("map_ground.addLayer(feature_group_slope)")
    assert pressed.inner_text().startswith("Slope and relief")


def test_no_spray_ground_letters_and_the_first_view_are_as_without(
    visit: Opener, page: str
) -> None:
    opened = visit(page, SIZES[0])
    first = opened.page.locator(".map-side").screenshot()
    show(opened, "Hours of sun")
    opened.page.wait_for_timeout(200)
    assert opened.page.locator(".map-side").screenshot() != first
    show(opened, "Hours of sun")
    opened.page.wait_for_timeout(200)
    assert opened.page.locator(".map-side").screenshot() == first
    order = opened.page.evaluate("turfmap.Ground.prototype.ORDER")
    assert order.index("zone") < order.index("sun") < order.index("no_spray")


def test_the_slider_makes_it_fainter(opened: Visit) -> None:
    bank = [TO_LON_LAT.transform(BANK_M - 0.5 + step / 10.0, 80.0) for step in range(10)]
    go_to(opened, *bank[0], 20)
    show(opened, "Slope and relief")
    opened.page.wait_for_timeout(300)
    strong = colours(opened, bank).sum()
    opened.page.get_by_label("How strongly").fill("20")
    opened.page.get_by_label("How strongly").dispatch_event("change")
    opened.page.wait_for_timeout(300)
    assert colours(opened, bank).sum() > strong + 100


def test_axe_the_network_and_the_console_are_quiet(opened: Visit) -> None:
    width = opened.page.viewport_size["width"] if opened.page.viewport_size else 0
    PICTURES.mkdir(exist_ok=True)
    for title in ("Slope and relief", "Hours of sun"):
        show(opened, title)
        assert opened.axe_violations() == []
        assert opened.lowest_contrast() >= 7
        opened.page.screenshot(
            path=PICTURES / f"map-{width}-{title.split()[0].lower()}.png", full_page=True
        )
    touch(opened, CROWN.bounds[0] - 2e-5, CROWN.bounds[1] + 1e-4)
    small = opened.page.locator("#overlay-key button, #overlay-key input").evaluate_all(
        "nodes => nodes.filter((one) => one.getBoundingClientRect().height < 43.9).length"
    )
    assert small == 0
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= width
    assert opened.left_the_file() == []
    assert opened.complaints == []


@pytest.mark.parametrize("broken", [False, True])
def test_hostile_names_are_shown_as_text_and_a_broken_picture_breaks_no_map(
    visit: Opener, broken: bool
) -> None:
    name = " ".join(HOSTILE)
    picture = grey_picture(np.full((9, 9), 30, np.uint8))
    overlay = MapOverlay(
        property=ESTATE,
        measure="sun",
        picture=picture[:48] if broken else picture,
        bounds=(-89.2, 40.1, -89.198, 40.1012),
        step=0.1,
        raster=name,
        taken=None,
        resolution_m=1.0,
        pixel_m=1.0,
        method="",
    )
    classes = {"sun": [OverlayClass(0.0, name, True), OverlayClass(4.0, "more", False)]}
    content = replace(estate(), overlays=MapOverlays([overlay], classes))
    opened = visit(map_page(content), SIZES[0])
    key = opened.page.locator("#overlay-key")
    if broken:
        assert "This browser cannot show what was measured" in key.inner_text()
    else:
        show(opened, "Hours of sun")
        shown = name.encode("utf-8", "replace").decode("utf-8")
        about = key.locator("#overlay-abouts").evaluate("node => node.textContent")
        assert about.startswith(f"{shown}, date not known, cells of 1 m")
    assert opened.page.locator("#list-table tbody tr").count() == len(ZONES)
    assert opened.page.evaluate("globalThis.ran") is None
    assert opened.axe_violations() == []
    assert opened.complaints == []


def test_a_map_without_measurements_says_nothing_of_them(visit: Opener) -> None:
    opened = visit(map_page(estate()), SIZES[0])
    assert opened.page.locator("#overlay-key").is_hidden()
    assert opened.complaints == []
