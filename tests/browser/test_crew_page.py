"""The crew page as a phone shows it: offline, with and without a position, in two languages."""

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from tests.browser.crew import (
    AT_ITS_EDGE,
    LAWN,
    NEAR_IT,
    POND,
    WIDTHS,
    Opened,
    answer,
    ask,
    picture,
    state,
)
from tests.browser.visit import Visit
from tests.views.crew_sample import ORIGIN, estate_plan, unsurveyed_plan
from tests.views.sample import HOSTILE
from turfmap.ground.here import LocalPlane
from turfmap.views.crew_page import words


@pytest.mark.parametrize("width", WIDTHS)
def test_it_works_offline_and_asks_for_nothing(crew: Opened, width: int) -> None:
    opened = crew(width=width)
    picture(opened, "start", width)
    assert opened.axe_violations() == []
    box = opened.page.locator("#drawing").bounding_box()
    assert box is not None
    opened.page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    assert state(opened) != "none"
    assert "STOP" in ask(opened, *POND)
    picture(opened, "stop", width)
    assert opened.axe_violations() == []
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= width
    # 7:1 is WCAG 2.2, success criterion 1.4.6 (AAA): the page is read in the sun.
    assert opened.lowest_contrast() >= 7
    assert opened.left_the_file() == []
    assert opened.complaints == []


# 64 CSS pixels: our own decision, for a finger in a glove (WCAG 2.2, 2.5.5, asks for 44).
@pytest.mark.parametrize("width", [320, 390])
def test_what_a_glove_touches_is_big_enough(crew: Opened, width: int) -> None:
    opened = crew(width=width)
    small = opened.page.locator("button, select, summary, input, .tick").evaluate_all(
        """nodes => nodes.filter((node) => node.checkVisibility() && !node.matches(".tick input"))
          .map((node) => [node.outerHTML.slice(0, 90), node.getBoundingClientRect()])
          .filter(([, box]) => box.height < 63.9 || box.width < 63.9).map(([text]) => text)"""
    )
    assert small == []


def test_the_three_states_differ_in_words_and_in_the_shape_of_their_border(crew: Opened) -> None:
    opened = crew()
    seen = {}
    for name, place in (("stop", POND), ("unsure", AT_ITS_EDGE), ("outside", LAWN)):
        said = ask(opened, *place)
        assert state(opened) == name, said
        seen[name] = opened.page.locator("#readout").evaluate(
            "node => getComputedStyle(node).borderTopStyle"
        )
        picture(opened, name, 390)
    assert len(set(seen.values())) == 3
    assert "Outside no-spray: the label and your eyes decide." in said
    assert "GO" in said  # the zone's own answer, beside
    assert "GO" not in ask(opened, *POND).replace("GOO", "")


GPS = {"permissions": ["geolocation"]}


def lonlat(x: float, y: float) -> dict[str, float]:
    east_m, north_m = LocalPlane(*ORIGIN).metres_per_degree()
    return {"longitude": ORIGIN[0] + x / east_m, "latitude": ORIGIN[1] + y / north_m}


def stand(crew: Opened, x: float, y: float, accuracy: float, **more: Any) -> Visit:
    opened = crew(geolocation={**lonlat(x, y), "accuracy": accuracy}, **GPS, **more)
    opened.page.get_by_role("button", name="Where am I?").click()
    opened.page.locator("#readout-more .from, #readout[data-state=unsure] .advice").first.wait_for()
    opened.page.wait_for_function(
        "() => !document.querySelector('#readout .state').textContent.startsWith('Looking')"
    )
    return opened


def test_a_good_position_is_answered_with_number_direction_reason_and_zone(crew: Opened) -> None:
    opened = stand(crew, *POND, accuracy=4.0)
    said = answer(opened)
    for part in ("STOP — inside no-spray", "ft inside", "Way out:", "Pond: Larkmoor pond, 25 ft"):
        assert part in said
    assert "Zone: Pond lawn" in said
    assert "known to 14 ft" in said  # 4 m is 13.1 ft, and never said better than it is
    picture(opened, "gps", 390)
    assert opened.page.get_by_role("button", name="Stop following me").is_visible()
    assert opened.complaints == []


def test_a_position_near_the_edge_is_unsure(crew: Opened) -> None:
    # 8 m outside the pond's ground, known to 10 m.
    opened = stand(crew, *NEAR_IT, accuracy=10.0)
    said = answer(opened)
    assert "UNSURE — edge within position error" in said
    assert opened.axe_violations() == []


def test_a_coarse_position_has_neither_number_nor_zone(crew: Opened) -> None:
    opened = stand(crew, *POND, accuracy=2_000.0)
    said = answer(opened)
    assert "UNSURE — position too coarse" in said
    assert "6,562 ft" in said  # 2 km
    assert "Zone" not in said
    assert "inside" not in said
    assert opened.page.locator("#readout .number").count() == 0
    picture(opened, "coarse", 390)
    assert opened.axe_violations() == []


def test_far_away_says_so_and_nothing_of_no_spray_ground(crew: Opened) -> None:
    opened = stand(crew, 3_218.7, 0.0, accuracy=5.0)
    said = answer(opened)
    assert "UNSURE — far outside this property" in said
    assert "1.9 mi away" in said  # 2 miles from the middle, and the lot reaches 0.08 miles east
    assert "lies to the west" in said
    assert "no-spray lies" not in said.lower()
    picture(opened, "far", 390)
    assert opened.axe_violations() == []


def test_just_outside_the_property_is_unsure(crew: Opened) -> None:
    said = ask(crew(), 0.0, -125.0)
    assert "UNSURE — outside this property" in said


def test_a_refused_position_has_a_clear_sentence_and_a_tap_still_works(crew: Opened) -> None:
    opened = crew(permissions=[])
    opened.page.get_by_role("button", name="Where am I?").click()
    opened.page.get_by_text("No position: the phone may not tell it").wait_for()
    assert state(opened) == "unsure"
    assert opened.axe_violations() == []
    picture(opened, "refused", 390)
    assert "STOP" in ask(opened, *POND)


def test_a_page_from_an_open_connection_says_that_it_gets_no_position(crew: Opened) -> None:
    opened = crew(script="Object.defineProperty(window, 'isSecureContext', { value: false });")
    opened.page.get_by_role("button", name="Where am I?").click()
    assert "came over an open connection" in answer(opened)
    assert state(opened) == "unsure"


def test_ground_that_nobody_surveyed_is_unknown_and_waits(crew: Opened) -> None:
    opened = crew(unsurveyed_plan())
    assert "not surveyed: unknown" in opened.page.locator("#not-surveyed").inner_text()
    said = ask(opened, *LAWN)
    assert "UNSURE — not surveyed: unknown" in said
    assert "GO" not in said
    assert "not surveyed: unknown" in opened.page.locator("#causes").inner_text()
    assert opened.axe_violations() == []
    picture(opened, "unsurveyed", 390)


def test_a_go_of_another_day_is_said_to_be_none(crew: Opened) -> None:
    """The phone's clock is set: the plan is for 3 Oct 2026."""
    clock = (
        "Date = class extends Date { constructor(...given) "
        "{ given.length ? super(...given) : super(2026, 9, DAY, 9); } };"
    )
    warning = crew(script=clock.replace("DAY", "3")).page.locator("#other-day")
    assert not warning.is_visible()
    later = crew(script=clock.replace("DAY", "4"))
    said = later.page.locator("#other-day").inner_text()
    assert said == "This page is for 3 Oct 2026, and today is another day: take no GO from it."
    assert later.axe_violations() == []


def test_the_keyboard_asks_too(crew: Opened) -> None:
    opened = crew(width=1280)
    opened.page.locator("#drawing").focus()
    opened.page.keyboard.press("Shift+ArrowRight")
    before = answer(opened)
    assert state(opened) in {"stop", "unsure", "outside"}
    for _ in range(4):
        opened.page.keyboard.press("Shift+ArrowUp")
    assert answer(opened) != before


def test_several_properties_are_chosen_by_name_or_by_where_one_stands(crew: Opened) -> None:
    far = replace(unsurveyed_plan(), origin=(ORIGIN[0] + 0.1, ORIGIN[1]))
    opened = stand(lambda **more: crew(far, estate_plan(), **more), *POND, accuracy=4.0)
    assert opened.page.locator("h1").inner_text() == "Larkmoor House"
    assert "STOP" in answer(opened)
    opened.page.get_by_label("Property", exact=True).select_option(label="Bare Lot")
    assert opened.page.locator("h1").inner_text() == "Bare Lot"
    assert "Where do you stand?" in answer(opened)


def test_spanish_says_all_of_it_and_keeps_the_answer(crew: Opened) -> None:
    opened = crew()
    ask(opened, *POND)
    opened.page.get_by_role("button", name="Español").click()
    said = answer(opened)
    assert "ALTO — dentro de la zona sin aplicación" in said
    assert "Estanque: Larkmoor pond" in said
    assert opened.page.evaluate("document.documentElement.lang") == "es"
    shown = opened.page.locator("main").inner_text()
    english = {
        text
        for name, text in words("en")["texts"].items()
        if "{" not in text and len(text) > 12 and words("es")["texts"][name] != text
    }
    assert [text for text in english if text in shown] == []
    picture(opened, "es", 390)
    assert opened.axe_violations() == []
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= 390


def test_the_buttons_go_to_the_other_hand(crew: Opened) -> None:
    opened = crew()
    right = """(() => { const box = document.querySelector(".plan-buttons").getBoundingClientRect();
      return innerWidth - box.right < box.left; })()"""
    assert opened.page.evaluate(right)
    opened.page.get_by_role("button", name="Left hand").click()
    assert not opened.page.evaluate(right)
    picture(opened, "left", 390)


# WCAG 2.2, success criterion 1.4.4: text may grow to 200 % without loss of content.
def test_text_follows_the_systems_size(crew: Opened) -> None:
    opened = crew(
        script="addEventListener('DOMContentLoaded', () => "
        "{ document.documentElement.style.fontSize = '200%'; });"
    )
    ask(opened, *POND)
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= 390
    size = (
        "parseFloat(getComputedStyle(document.querySelector('#readout .advice, .state')).fontSize)"
    )
    assert opened.page.evaluate(size) >= 32


def test_hostile_text_is_shown_and_never_run(crew: Opened) -> None:
    everything = " ".join(HOSTILE)
    opened = crew(estate_plan(lambda name: everything))
    shown = everything.encode("utf-8", "replace").decode("utf-8")
    assert opened.page.locator("h1").evaluate("node => node.textContent") == shown
    ask(opened, *POND)
    name = opened.page.locator("#zones strong").first.evaluate("node => node.textContent")
    assert name == shown
    assert opened.page.evaluate("globalThis.ran") is None
    assert opened.page.locator("main img, main svg, iframe").count() == 0
    assert opened.left_the_file() == []
    assert opened.complaints == []
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= 390


def test_a_zone_of_ten_megabytes_is_drawn_and_answered(crew: Opened) -> None:
    turn = np.linspace(0.0, 2.0 * np.pi, 300_000, endpoint=False)
    radius = 90.0 + 5.0 * np.sin(turn * 40_000)
    wavy = shapely.Polygon(np.column_stack([radius * np.cos(turn), radius * np.sin(turn)]))
    assert len(wavy.wkb) / 2 + len(wavy.wkt) > 10e6  # as text it is larger than ten megabytes
    plan = estate_plan()
    plan = replace(plan, zones=[replace(plan.zones[0], name="Wavy", geometry=wavy)])
    opened = crew(plan)
    assert "Zone: Wavy" in ask(opened, *POND)
    assert "STOP" in answer(opened)
    opened.page.get_by_role("button", name="Nearer").click()
    assert opened.complaints == []


def fill(opened: Visit, **values: str) -> None:
    for label, value in values.items():
        opened.page.locator(f"#visit-{label}").fill(value)


def test_a_visit_is_kept_over_a_reload_and_comes_home_as_a_file(crew: Opened) -> None:
    plan = estate_plan()
    goes = [{"zone": zone.name} for zone in plan.zones if zone.answer == "go"]
    mix = {**plan.load["loads"][0], "zones": goes} if plan.load else {}
    opened = crew(replace(plan, load={**(plan.load or {}), "loads": [mix]}), accept_downloads=True)
    assert opened.page.locator("#visit-product").input_value() == "Broadleaf three-way"
    assert opened.page.locator("#visit-amount").input_value() == "320"
    keep = opened.page.get_by_role("button", name="Keep this visit")
    keep.click()
    faults = opened.page.locator("#visit-faults").inner_text()
    for what in ("Began at", "Applied by", "Licence number", "I sign"):
        assert f"{what}" in faults
    assert opened.page.locator("#kept .none").is_visible()
    fill(
        opened, start="08:10", end="08:55", by="A. Applicator", licence="12345", wind="6", air="71"
    )
    opened.page.locator("#visit-wind_from").select_option("NW")
    opened.page.reload()
    opened.page.wait_for_selector("html[data-ready]")
    assert opened.page.locator("#visit-by").input_value() == "A. Applicator"
    opened.page.locator("#visit-signed").check()
    picture(opened, "form", 390)
    keep.click()
    assert opened.page.locator("#visit-faults").inner_text() == ""
    assert opened.axe_violations() == []
    opened.page.reload()
    opened.page.wait_for_selector("html[data-ready]")
    with opened.page.expect_download() as download:
        opened.page.get_by_role("button", name="Bring home as a file").click()
    assert download.value.suggested_filename == "visits-2026-10-03.json"
    document = json.loads(Path(download.value.path()).read_text("utf-8"))
    [record] = document["records"]
    assert re.fullmatch(r"[0-9a-f]{24}", record.pop("id"))
    assert record == {
        "property": "Larkmoor House",
        "task": "broadleaf_post_emergent",
        "date": "2026-10-03",
        "start": "08:10",
        "end": "08:55",
        "product": "Broadleaf three-way",
        "registration": "0-1",
        "amount": "320 fl oz",
        "by": "A. Applicator",
        "licence": "12345",
        "customer": "Estate office",
        "address": "1 Larkmoor Lane",
        "wind": "6 mph NW",
        "air": "71F",
        "zones": [zone.name for zone in estate_plan().zones if zone.answer == "go"],
    }
    assert opened.complaints == []


def test_the_amount_of_a_load_is_not_that_of_some_of_its_zones(crew: Opened) -> None:
    """Seen on the demo: the load of five lawns stood written for the two that were a GO."""
    opened = crew()
    assert opened.page.locator("#visit-amount").input_value() == ""
    assert opened.page.locator("#visit-product").input_value() == "Broadleaf three-way"


def test_a_browser_without_a_store_says_so(crew: Opened) -> None:
    opened = crew(script="Object.defineProperty(window, 'localStorage', { get() { throw 1; } });")
    assert opened.page.get_by_text("This browser does not keep what you write").is_visible()
