"""The page of what is odd, in a real browser with the network off."""

from pathlib import Path

import pytest

from tests.browser.visit import Opener, Visit
from tests.views.sample import ESTATE, HOSTILE, estate, odd_estate
from turfmap.views.odd_page import OddContent, PlainZone, odd_page

SIZES = [(1280, 800), (390, 844)]
PICTURES = Path(__file__).parents[1] / "out"

# Whether the number's plate (its colour is the alarm colour of map.css) is on some tile.
ALARM_PIXELS = """() => {
  let count = 0;
  for (const tile of document.querySelectorAll("#map_ground canvas.leaflet-tile")) {
    const { data } = tile.getContext("2d").getImageData(0, 0, tile.width, tile.height);
    for (let i = 0; i < data.length; i += 4) {
      if (data[i] === 0x8a && data[i + 1] === 0x13 && data[i + 2] === 0) count++;
    }
  }
  return count;
}"""


@pytest.fixture(params=SIZES, ids=["wide", "phone"])
def size(request: pytest.FixtureRequest) -> tuple[int, int]:
    chosen: tuple[int, int] = request.param
    return chosen


@pytest.fixture
def opened(visit: Opener, size: tuple[int, int]) -> Visit:
    return visit(odd_page(odd_estate()), size)


def test_what_is_odd_is_marked_on_the_map_and_listed(opened: Visit, size: tuple[int, int]) -> None:
    assert opened.page.evaluate(ALARM_PIXELS) > 300
    rows = opened.page.locator("#list-table tbody tr")
    assert rows.count() == 4
    assert opened.page.locator(".stamp").text_content() == "4 things to look at"
    said = " ".join(opened.page.get_by_role("row", name="Long border").inner_text().split())
    # 21.4 m2 in square feet of 0.3048 m (NIST Special Publication 811, appendix B.8).
    assert said == f"2 Drawn twice shared with Front lawn Long border {ESTATE} 230 sq ft"
    PICTURES.mkdir(exist_ok=True)
    opened.page.screenshot(path=PICTURES / f"odd-{size[0]}.png")
    assert opened.left_the_file() == []
    assert opened.complaints == []


def test_a_row_goes_there_and_the_keyboard_comes_back(opened: Visit) -> None:
    whole = opened.page.evaluate("map_ground.getZoom()")
    button = opened.page.get_by_role("button", name="Broken shape").last
    button.focus()
    opened.page.keyboard.press("Enter")
    assert opened.page.evaluate("map_ground.getZoom()") > whole
    said = opened.page.locator(".leaflet-popup").inner_text()
    assert f"{ESTATE} · Rose bed" in said
    assert "Self-intersection" in said
    assert "Draw it again." in said
    assert opened.page.evaluate("document.activeElement.tagName") == "H2"
    opened.page.keyboard.press("Escape")
    assert opened.page.evaluate("document.activeElement.textContent") == "broken shape"


def test_a_touch_on_the_map_finds_what_is_odd_there(opened: Visit) -> None:
    box = opened.page.locator("#map_ground").bounding_box()
    assert box is not None
    # The middle of the rose bed, in metres east and north of the sample's corner.
    opened.page.evaluate("map_ground.setView([40.1 + 32 / 111000, -89.2 + 215 / 84905], 20)")
    opened.page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    said = opened.page.locator(".leaflet-popup").inner_text()
    assert "Broken shape" in said
    assert "Zones here" in said


def test_what_has_no_ground_is_on_the_list_and_says_so(opened: Visit) -> None:
    opened.page.get_by_role("button", name="No ground").last.click()
    assert "on this list only" in opened.page.locator(".leaflet-popup").inner_text()


def test_a_problem_alone_and_a_word_find_their_rows(opened: Visit) -> None:
    status = opened.page.get_by_role("status")
    opened.page.get_by_role("button", name="Drawn twice 2").click()
    assert status.inner_text() == "2 of 4 things to look at"
    opened.page.get_by_label("Find", exact=True).fill("well")
    assert status.inner_text() == "1 of 4 things to look at"


def test_axe_finds_nothing_and_nothing_scrolls_sideways(opened: Visit) -> None:
    assert opened.axe_violations() == []
    opened.page.get_by_role("button", name="Drawn twice").last.click()
    assert opened.axe_violations() == []
    wide = opened.page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
    assert wide[0] <= wide[1]


def test_when_nothing_is_odd_the_page_says_so(visit: Opener, size: tuple[int, int]) -> None:
    zones = [PlainZone(zone.property, zone.name, zone.geometry) for zone in estate().zones]
    opened = visit(odd_page(OddContent(ESTATE, zones=zones)), size)
    assert opened.page.locator(".stamp").inner_text() == "Nothing odd was found"
    assert "no ground is drawn twice" in opened.page.locator("#list-empty").inner_text()
    assert opened.page.get_by_role("status").inner_text() == "Nothing odd was found."
    assert opened.axe_violations() == []
    assert opened.complaints == []


def test_hostile_text_is_shown_and_never_run(visit: Opener) -> None:
    everything = " ".join(HOSTILE)
    opened = visit(odd_page(odd_estate(lambda name: everything)), (1280, 800))
    shown = everything.encode("utf-8", "replace").decode("utf-8")
    assert opened.page.locator("h1").evaluate("node => node.textContent") == shown
    opened.page.locator(".choose").first.click()
    about = opened.page.locator(".details .about").first.evaluate("node => node.textContent")
    assert about == f"{shown} · {shown}"
    assert opened.page.evaluate("globalThis.ran") is None
    assert opened.page.locator("img, .details svg, iframe").count() == 0
    assert opened.left_the_file() == []
    assert opened.complaints == []
