"""The form for a visit in a browser: on a narrow phone, twice at once, and interrupted."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.drawn_place import Ground, served
from tests.browser.visit import Visit
from tests.desk.recording import make_place, rows
from tests.desk.test_bring_in import box, geojson
from turfmap.desk.bring_in import bring_in

PICTURES = Path(__file__).parents[1] / "out"
HOSTILE = "<img src=x onerror=alert(1)>"
FACTS = {"#start": "08:10", "#end": "08:55", "#product": "Barrier", "#amount": "3.5"}
FACTS |= {"#by": "Somebody", "#licence": "L-1", "#wind": "6", "#air": "71"}


@pytest.fixture
def ground(tmp_path: Path) -> Iterator[Ground]:
    place = make_place(tmp_path)
    lot = geojson(tmp_path / "odd.geojson", (box(2e-3, 0), {"name": HOSTILE, "client": HOSTILE}))
    bring_in(place, lot, layer_name="property")
    with served(place) as found:
        yield found


def opened(browser: Browser, ground: Ground, width: int) -> Visit:
    context = browser.new_context(viewport={"width": width, "height": 844}, has_touch=width < 500)
    context.set_default_timeout(8_000)
    visit = Visit(context.new_page())
    visit.page.goto(ground.address.replace("/app/", "/app/record.html"))
    visit.page.wait_for_selector("html[data-ready]")
    return visit


def write(page: Page) -> None:
    page.select_option("#property", "Alder")
    page.select_option("#task", "autumn_pre_emergent")
    for field, text in FACTS.items():
        page.fill(field, text)


@pytest.mark.parametrize("width", [390, 1280])
def test_faults_limits_record_and_correction(browser: Browser, ground: Ground, width: int) -> None:
    visit = opened(browser, ground, width)
    page = visit.page
    page.click("#save")
    page.locator("#faults", has_text="to mend").wait_for()
    assert page.evaluate("document.activeElement.id") == "faults"
    assert page.locator("#property[aria-invalid=true]").count() == 1
    assert rows(ground.place) == []
    page.screenshot(path=PICTURES / f"record-faults-{width}.png", full_page=True)
    write(page)
    page.click("#limits-ask")
    page.locator("#limits", has_text="prodiamine").wait_for()
    page.screenshot(path=PICTURES / f"record-form-{width}.png", full_page=True)
    assert visit.axe_violations() == []
    for narrow in (width, 320):
        page.set_viewport_size({"width": narrow, "height": 844})
        assert page.evaluate("document.documentElement.scrollWidth") <= narrow
    page.set_viewport_size({"width": width, "height": 844})
    page.focus("#save")
    page.keyboard.press("Enter")
    page.locator("#told", has_text="Give the customer a copy").wait_for()
    assert page.locator("#told", has_text="Posting").count() == 1
    page.get_by_role("button", name="Correct it").wait_for()
    assert visit.axe_violations() == []
    page.screenshot(path=PICTURES / f"record-told-{width}.png", full_page=True)
    page.get_by_role("button", name="Correct it").click()
    page.fill("#amount", "3")
    page.fill("#reason", HOSTILE)
    page.click("#save")
    page.locator("#told", has_text="takes the place of").wait_for()
    page.locator("#list .status", has_text="Corrected").wait_for()
    page.screenshot(path=PICTURES / f"record-corrected-{width}.png", full_page=True)
    assert page.locator("img").count() == 0
    assert [line for line in visit.complaints if "422" not in line] == []
    page.context.close()


def test_a_double_click_and_two_browsers_record_each_visit_once(
    browser: Browser, ground: Ground
) -> None:
    both = [opened(browser, ground, 1280), opened(browser, ground, 390)]
    for visit in both:
        write(visit.page)
    for visit in both:
        visit.page.evaluate(
            "() => [1, 2, 3].forEach(() => document.getElementById('visit').requestSubmit())"
        )
    for visit in both:
        visit.page.locator("#told", has_text="Recorded as").wait_for()
        visit.page.context.close()
    assert len({row["record"] for row in rows(ground.place)}) == 2
    assert len(rows(ground.place)) == 4


def test_what_was_not_saved_is_offered_back_and_a_lost_answer_does_no_harm(
    browser: Browser, ground: Ground
) -> None:
    page = opened(browser, ground, 390).page
    write(page)
    page.check("#zones input >> nth=0")

    def lost(route: object) -> None:
        route.fetch()  # type: ignore[attr-defined]  # it is recorded, and the answer never comes
        route.abort()  # type: ignore[attr-defined]

    page.route("**/desk/record/visits", lost, times=1)
    page.click("#save")
    page.locator("#notice", has_text="What you wrote is kept").wait_for()
    page.reload()
    page.get_by_role("button", name="Take it up").click()
    assert page.input_value("#amount") == "3.5"
    assert page.is_checked("#zones input >> nth=0")
    page.click("#save")
    page.locator("#told", has_text="not recorded a second time").wait_for()
    assert len(rows(ground.place)) == 1
    page.context.close()
