from dataclasses import replace
from pathlib import Path

import pytest

from tests.browser.visit import Opener, Visit
from tests.views.sample import AS_OF, ESTATE, HOSTILE, ZONES, estate
from turfmap.foundations.definitions import table
from turfmap.views.map_page import MapContent, map_page

SIZES = [(1280, 800), (390, 844)]
PICTURES = Path(__file__).parents[1] / "out"

# Colours that differ much, on all tiles: paper and ink alone would give two or three.
COUNT_COLOURS = """() => {
  const seen = new Map();
  for (const tile of document.querySelectorAll("#map_ground canvas.leaflet-tile")) {
    const { data } = tile.getContext("2d").getImageData(0, 0, tile.width, tile.height);
    for (let i = 0; i < data.length; i += 4) {
      if (data[i + 3] < 255) continue;
      const colour = [data[i], data[i + 1], data[i + 2]].map((part) => part >> 5).join();
      seen.set(colour, (seen.get(colour) || 0) + 1);
    }
  }
  return [...seen.values()].filter((count) => count > 500).length;
}"""


@pytest.fixture(params=SIZES, ids=["wide", "phone"])
def size(request: pytest.FixtureRequest) -> tuple[int, int]:
    chosen: tuple[int, int] = request.param
    return chosen


@pytest.fixture
def opened(visit: Opener, size: tuple[int, int]) -> Visit:
    return visit(map_page(estate()), size)


def popup_of(opened: Visit, zone: str) -> str:
    opened.page.get_by_role("button", name=zone, exact=True).click()
    return opened.page.locator(".leaflet-popup").inner_text()


def test_the_map_draws_with_the_network_off_and_asks_for_nothing(
    opened: Visit, size: tuple[int, int]
) -> None:
    assert opened.page.evaluate(COUNT_COLOURS) >= 8
    PICTURES.mkdir(exist_ok=True)
    opened.page.screenshot(path=PICTURES / f"map-{size[0]}.png")
    opened.page.get_by_role("button", name="Pond lawn").click()
    opened.page.screenshot(path=PICTURES / f"map-{size[0]}-details.png")
    assert opened.left_the_file() == []
    assert opened.complaints == []


def test_the_key_reads_every_state_present_and_every_task_letter(opened: Visit) -> None:
    words = {row["state"]: row["words"] for row in table("state").rows}
    present = {state for *_, state in ZONES.values()}
    key = opened.page.locator("#state-key").inner_text().lower()
    assert all(words[state] in key for state in present)
    assert words["none"] not in key
    assert "keep off" in opened.page.locator("#ground-key").inner_text()
    opened.page.get_by_text("Tasks, and their letters").click()
    opened.page.locator("#task-key button").first.wait_for()
    letters = opened.page.locator("#task-key").inner_text()
    assert "OS" in letters
    assert "Overseed" in letters


def test_the_table_is_the_maps_twin(opened: Visit) -> None:
    rows = opened.page.locator("#list-table tbody tr")
    assert rows.count() == len(ZONES)
    row = opened.page.get_by_role("row", name="House lawn").inner_text()
    for said in (
        ESTATE,
        "Ask first",
        "Autumn pre-emergent",
        "15 Sep 2026 –",
        "10 Oct 2026",
        "sq ft",
    ):
        assert said in row
    opened.page.get_by_label("Find a zone").fill("fescue pond")
    assert rows.count() == 1
    assert opened.page.get_by_role("status").inner_text() == "1 of 9 zones"
    opened.page.get_by_label("Find a zone").fill("")
    opened.page.get_by_role("button", name="Soon 2").click()
    assert rows.count() == 2
    assert opened.page.get_by_role("status").inner_text() == "2 of 9 zones"


# An independent sum: the pond lawn's corners by the shoelace rule are 7,666 m2, and 1 acre is
# 43,560 square feet of 0.3048 m (NIST Special Publication 811, appendix B.8).
def test_the_popup_says_what_is_known_of_a_zone(opened: Visit) -> None:
    said = popup_of(opened, "Pond lawn")
    for part in (
        f"{ESTATE} · Turf · Tall fescue",
        "Held",
        "Overseeding is planned on 2 Oct 2026",
        "15 Sep 2026 – 10 Oct 2026",
        f"{7666 / 0.3048**2:,.0f} sq ft",
        f"{7666 / 0.3048**2 / 43560:.2f} ac",
        "7,666 m²",
        "Larkmoor pond",
        "25 ft setback and 3.3 ft for how well the edge is known, takes",
        "Last cut",
    ):
        assert part in said
    opened.page.locator(".sources summary").first.click()
    assert "A handbook of turf" in opened.page.locator(".leaflet-popup").inner_text()


def test_a_bed_lists_its_plants_as_plain_text(visit: Opener, size: tuple[int, int]) -> None:
    content = estate()
    plants = [("14 azalea", "prune: right after bloom."), (HOSTILE[7], "Frost kills its tops.")]
    plants += [(f"{number} boxwood", "prune: late winter.") for number in range(1, 8)]
    zones = [replace(z, plants=plants) if z.name == "Long border" else z for z in content.zones]
    opened = visit(map_page(replace(content, zones=zones)), size)
    said = popup_of(opened, "Long border")
    assert "Plants in this bed" in said
    assert "14 azalea: prune: right after bloom." in said
    assert HOSTILE[7] in said
    assert "7 boxwood: prune" not in said  # folded away behind "1 more"
    opened.page.locator(".plants summary").click()
    assert "7 boxwood" in opened.page.locator(".leaflet-popup").inner_text()
    opened.page.screenshot(path=PICTURES / f"map-{size[0]}-plants.png")
    opened.page.keyboard.press("Escape")
    assert "Plants in this bed" not in popup_of(opened, "Rose bed")
    assert opened.complaints == []
    assert opened.left_the_file() == []


def test_a_touch_on_the_map_finds_the_zone_and_the_no_spray_ground(opened: Visit) -> None:
    popup_of(opened, "Pond lawn")
    opened.page.keyboard.press("Escape")
    found = opened.page.evaluate(
        """() => {
          map_ground.setView([40.101063, -89.197586], 19, { animate: false });
          return map_ground.getContainer().getBoundingClientRect().toJSON();
        }"""
    )
    opened.page.mouse.click(found["x"] + found["width"] / 2, found["y"] + found["height"] / 2)
    said = opened.page.locator(".leaflet-popup").inner_text()
    assert "No-spray ground: keep off" in said
    assert "Larkmoor pond (Pond): 25 ft setback" in said
    assert "Pond lawn" in said


def test_the_keyboard_goes_from_the_list_to_the_details_and_back(opened: Visit) -> None:
    button = opened.page.get_by_role("button", name="Rose bed")
    button.focus()
    opened.page.keyboard.press("Enter")
    focused = "document.activeElement.textContent"
    assert opened.page.evaluate("document.activeElement.tagName") == "H2"
    assert opened.page.evaluate(focused) == "Rose bed"
    opened.page.keyboard.press("Escape")
    assert opened.page.locator(".leaflet-popup").count() == 0
    assert opened.page.evaluate(focused) == "Rose bed"
    assert opened.page.evaluate("document.activeElement.tagName") == "BUTTON"


def test_layers_go_and_come_without_changing_the_order_of_paint(opened: Visit) -> None:
    before = opened.page.locator(".map-side").screenshot()
    opened.page.evaluate("map_ground.removeLayer(feature_group_zone)")
    assert opened.page.locator(".map-side").screenshot() != before
    opened.page.evaluate("map_ground.addLayer(feature_group_zone)")
    assert opened.page.locator(".map-side").screenshot() == before


def test_axe_finds_nothing_at_rest_nor_with_details_open(opened: Visit) -> None:
    assert opened.axe_violations() == []
    popup_of(opened, "House lawn")
    assert opened.axe_violations() == []


# 7:1 is WCAG 2.2, success criterion 1.4.6 (AAA): the page is read in the sun.
def test_all_text_is_readable_in_the_sun(opened: Visit) -> None:
    popup_of(opened, "House lawn")
    assert opened.lowest_contrast() >= 7


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_nothing_scrolls_sideways(visit: Opener, width: int) -> None:
    opened = visit(map_page(estate()), (width, 700))
    popup_of(opened, "Pond lawn")
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= width


# WCAG 2.2, success criterion 2.5.5: targets of at least 44 by 44 CSS pixels.
def test_what_a_finger_touches_is_big_enough(opened: Visit) -> None:
    popup_of(opened, "House lawn")
    selectors = ".chips button, #list-table tbody tr, input, summary, .leaflet-bar a, .whole-map, "
    selectors += ".leaflet-control-layers-toggle, .leaflet-popup-close-button"
    small = opened.page.locator(selectors).evaluate_all(
        """nodes => nodes.filter((node) => node.checkVisibility())
          .map((node) => [node.outerHTML.slice(0, 80), node.getBoundingClientRect()])
          .filter(([, box]) => Math.min(box.width, box.height) < 43.9).map(([text]) => text)"""
    )
    # The boxes of the list of layers stand in labels that are 40 pixels high, each a line apart.
    assert [text for text in small if "leaflet-control-layers-selector" not in text] == []


def test_hostile_text_is_shown_and_never_run(visit: Opener) -> None:
    everything = " ".join(HOSTILE)
    opened = visit(map_page(estate(lambda name: everything)), (1280, 800))
    shown = everything.encode("utf-8", "replace").decode("utf-8")
    read = opened.page.locator(".choose").first.evaluate("node => node.textContent")
    assert read == shown
    assert opened.page.locator("h1").evaluate("node => node.textContent") == shown
    opened.page.locator(".choose").first.click()
    assert opened.page.locator(".details h2").first.evaluate("node => node.textContent") == shown
    assert opened.page.evaluate("globalThis.ran") is None
    assert opened.page.locator("img, .details svg, iframe").count() == 0
    assert opened.left_the_file() == []
    assert opened.complaints == []


def test_the_policy_stops_a_script_that_gets_in_all_the_same(visit: Opener) -> None:
    opened = visit(map_page(estate()), (1280, 800))
    opened.page.evaluate(
        """() => {
          const node = document.createElement("div");
          node.innerHTML = "<img src=x onerror='globalThis.ran = 1'>";
          document.body.append(node);
          const script = document.createElement("script");
          script.textContent = "globalThis.ran = 2";
          document.body.append(script);
        }"""
    )
    opened.page.wait_for_timeout(200)
    assert opened.page.evaluate("globalThis.ran") is None
    assert any("Content Security Policy" in complaint for complaint in opened.complaints)


def test_a_map_without_zones_says_so(visit: Opener, size: tuple[int, int]) -> None:
    opened = visit(map_page(MapContent("Bare ground", AS_OF)), size)
    assert "This map has no zones" in opened.page.locator("#list-empty").inner_text()
    assert opened.page.get_by_role("status").inner_text() == "There are no zones on this map."
    assert opened.axe_violations() == []
    assert opened.complaints == []


# The sample's westernmost and easternmost ground and its most southern and northern property line,
# as sample.py draws them, in metres from its corner.
def test_the_whole_map_fills_its_frame_and_stays_inside_it(opened: Visit) -> None:
    west, south, east, north = opened.page.evaluate(
        """() => {
          const at = (x, y) => map_ground.latLngToContainerPoint(
            [40.1 + y / 111000, -89.2 + x / (111000 * Math.cos(40.1 * Math.PI / 180))]);
          return [at(4, 0).x, at(0, -6).y, at(265, 0).x, at(0, 202).y];
        }"""
    )
    width, height = opened.page.evaluate("[map_ground.getSize().x, map_ground.getSize().y]")
    assert min(west, north) >= 0
    assert east <= width
    assert south <= height
    assert max((east - west) / width, (south - north) / height) > 0.88
    # A whole zoom: a fraction of one would blur the tiles.
    assert opened.page.evaluate("map_ground.getZoom() % 1") == 0


def test_the_outline_goes_along_from_zone_to_zone(opened: Visit) -> None:
    outlines = """() => {
      const found = [];
      map_ground.eachLayer((one) =>
        one instanceof L.Polygon && found.push(one.getBounds().toBBoxString()));
      return found;
    }"""
    popup_of(opened, "Rose bed")
    first = opened.page.evaluate(outlines)
    popup_of(opened, "Front lawn")
    second = opened.page.evaluate(outlines)
    assert len(first) == len(second) == 2  # white under black
    assert first != second
    opened.page.keyboard.press("Escape")
    assert opened.page.evaluate(outlines) == []
