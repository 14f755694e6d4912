"""The week control: the map's own date first, other weeks on request, always in words."""

import pytest

from tests.browser.visit import Opener, Visit
from tests.views.sample import estate, with_weeks
from turfmap.views.map_page import map_page

SIZES = [(1280, 800), (390, 844)]


@pytest.fixture(params=SIZES, ids=["wide", "phone"])
def opened(request: pytest.FixtureRequest, visit: Opener) -> Visit:
    return visit(map_page(with_weeks(estate())), request.param)


def shown(opened: Visit) -> str:
    # The page follows a slider as often as it draws.
    opened.page.evaluate("() => new Promise((done) => requestAnimationFrame(done))")
    return str(opened.page.locator("#week-said").inner_text())


def state_key(opened: Visit) -> str:
    return " ".join(opened.page.locator("#state-key").inner_text().lower().split())


def test_a_map_without_weeks_has_no_week_control(visit: Opener) -> None:
    opened = visit(map_page(estate()), SIZES[0])
    assert opened.page.locator("#week-bar").count() == 0


def test_it_opens_on_its_own_date_as_a_map_without_weeks_does(opened: Visit, visit: Opener) -> None:
    assert shown(opened) == "Shown: 24 Sep 2026, the date of this map"
    table = opened.page.locator("#list-table").text_content()
    key = state_key(opened)
    plain = visit(map_page(estate()), SIZES[0])
    assert key == state_key(plain)
    assert table == plain.page.locator("#list-table").text_content()


def test_buttons_go_a_week_at_a_time_and_stop_at_the_ends(opened: Visit) -> None:
    before = opened.page.get_by_role("button", name="Week before")
    after = opened.page.get_by_role("button", name="Week after")
    before.click()
    assert shown(opened).startswith("Shown: 17 Sep 2026, 1 week before the date of this map")
    assert before.is_disabled()
    assert state_key(opened) == "soon 9"
    for _ in range(4):
        after.click()
    assert "15 Oct 2026, 3 weeks after the date of this map" in shown(opened)
    assert "as far as known on 24 Sep 2026" in shown(opened)
    assert after.is_disabled()
    assert state_key(opened) == "done 9"
    opened.page.get_by_role("button", name="Back to 24 Sep 2026").click()
    assert shown(opened) == "Shown: 24 Sep 2026, the date of this map"
    assert "done 1" in state_key(opened)


def test_the_slider_is_worked_by_keys_and_says_its_day(opened: Visit) -> None:
    slider = opened.page.get_by_role("slider", name="Week shown")
    slider.focus()
    opened.page.keyboard.press("ArrowRight")
    assert shown(opened).startswith("Shown: 1 Oct 2026")
    assert str(slider.get_attribute("aria-valuetext")).startswith("1 Oct 2026, 1 week after")
    opened.page.keyboard.press("Home")
    assert shown(opened).startswith("Shown: 17 Sep 2026")


def test_the_map_is_painted_anew_and_says_another_day_on_itself(opened: Visit) -> None:
    own = opened.page.locator(".map-side").screenshot()
    opened.page.locator("#week-after").click()
    assert shown(opened)
    assert opened.page.locator(".shown-day").inner_text() == "Shown: 1 Oct 2026"
    assert opened.page.locator(".map-side").screenshot() != own
    opened.page.get_by_role("button", name="Back to").click()
    assert shown(opened)
    assert opened.page.locator(".shown-day").count() == 0
    assert opened.page.locator(".map-side").screenshot() == own


def test_on_another_day_details_give_states_and_no_dates_or_reasons(opened: Visit) -> None:
    opened.page.get_by_role("button", name="Pond lawn").click()
    popup = opened.page.locator(".leaflet-popup")
    assert "15 Sep 2026 – 10 Oct 2026" in popup.inner_text()
    # What is open follows the day.
    opened.page.locator("#week-after").evaluate("node => node.click()")
    assert shown(opened)
    said = popup.inner_text()
    assert "On 1 Oct 2026, as far as known on 24 Sep 2026" in said
    assert "Due now" in said
    assert "Autumn pre-emergent" in said
    assert "15 Sep 2026" not in said
    assert "Larkmoor pond" in said


def test_a_task_alone_has_its_own_states_and_counts(opened: Visit) -> None:
    opened.page.get_by_text("Tasks, and their letters").click()
    chips = opened.page.locator("#task-key")
    chips.get_by_role("button").first.wait_for()
    assert "Last cut 9 later" in " ".join(chips.inner_text().split())
    chips.get_by_role("button", name="Autumn pre-emergent").click()
    status = opened.page.get_by_role("status")
    assert status.inner_text() == "2 of 9 zones"
    assert opened.page.evaluate("document.activeElement.textContent").startswith("PA")
    assert state_key(opened) == "ask first 1 held 1"
    opened.page.locator("#week-after").click()
    assert shown(opened)
    assert status.inner_text() == "2 of 9 zones"
    assert state_key(opened) == "due now 2"
    chips.get_by_role("button", name="Autumn pre-emergent").click()
    assert status.inner_text() == "9 zones"


def test_it_is_for_everybody(opened: Visit) -> None:
    for _ in range(2):
        assert opened.axe_violations() == []
        wide = opened.page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
        assert wide[0] <= wide[1]
        small = opened.page.locator("#week-bar button, #week-slider").evaluate_all(
            """nodes => nodes.filter((node) => node.checkVisibility())
              .map((node) => node.getBoundingClientRect())
              .filter(({ width, height }) => Math.min(width, height) < 43.9).length"""
        )
        assert small == 0  # WCAG 2.2, success criterion 2.5.5
        opened.page.locator("#week-after").click()
        assert shown(opened)
    assert opened.complaints == []
    assert opened.left_the_file() == []


def test_it_fits_the_narrowest_phone(visit: Opener) -> None:
    opened = visit(map_page(with_weeks(estate())), (320, 640))
    opened.page.locator("#week-after").click()
    assert shown(opened)
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= 320
