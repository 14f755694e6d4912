import json
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.views.read_page import PageReader
from tests.views.sample import AS_OF, HOSTILE, estate, with_weeks
from turfmap.foundations.definitions import table
from turfmap.views.map_page import STANDING_CAUTIONS, MapContent, MapThing, map_page

PLAIN_SCRIPTS = len(PageReader(map_page(MapContent("Plain", AS_OF))).scripts)


def data_of(page: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(PageReader(page).data["map-data"])
    return found


def storable(text: str) -> str:
    return text.encode("utf-8", "replace").decode("utf-8")


def test_a_page_says_its_date_and_every_caution() -> None:
    content = estate()
    page = map_page(content)
    assert '<time datetime="2026-09-24">24 Sep 2026</time>' in page
    assert PageReader(page).cautions == [*STANDING_CAUTIONS, *content.cautions]


def test_the_same_content_gives_the_same_page() -> None:
    assert map_page(estate()) == map_page(estate())


def test_zones_stand_in_the_order_of_the_state_table() -> None:
    order = {row["state"]: row["order"] for row in table("state").rows}
    data = data_of(map_page(estate()))
    states = [data["tasks"][first]["state"] for first, *_ in data["zones"]["tasks"]]
    assert len(states) == 9
    assert states == sorted(states, key=order.__getitem__)


def test_tasks_that_zones_share_are_written_once() -> None:
    [zone, *_] = estate().zones
    data = data_of(map_page(MapContent("Many", AS_OF, zones=[zone] * 50)))
    assert len(data["tasks"]) == len(zone.tasks)
    assert len(data["zones"]["name"]) == 50


def test_a_page_has_one_viewport_that_lets_people_zoom() -> None:
    viewports = [
        attributes["content"]
        for tag, attributes in PageReader(map_page(estate())).elements
        if tag == "meta" and attributes.get("name") == "viewport"
    ]
    assert viewports == ["width=device-width, initial-scale=1"]


def test_a_map_of_nothing_is_a_page() -> None:
    data = data_of(map_page(MapContent("Nothing", AS_OF)))
    assert data["zones"]["shapes"]["parts"] == []


def test_a_thing_on_no_layer_of_ours_is_our_fault() -> None:
    thing = MapThing("</script>", "", "", shapely.Point(0, 0))
    with pytest.raises(KeyError, match="/script"):
        map_page(MapContent("Wrong", AS_OF, things=[thing]))


def test_the_list_of_layers_names_those_that_the_map_has() -> None:
    [zone, *_] = estate().zones
    page = map_page(MapContent("Zones alone", AS_OF, zones=[zone]))
    assert "Zones, by what is due" in page
    assert "Trees" not in page
    assert "Property lines" not in page


def test_weeks_go_with_their_zones_and_the_date_is_one_of_them() -> None:
    content = with_weeks(estate())
    data = data_of(map_page(content))
    assert data["weeks"]["days"][data["weeks"]["now"]] == "2026-09-24"
    patterns = {zone.name: zone.pattern for zone in content.zones}
    assert data["zones"]["pattern"] == [patterns[name] for name in data["zones"]["name"]]
    assert content.weeks is not None
    late = replace(content.weeks, days=[day + timedelta(1) for day in content.weeks.days])
    with pytest.raises(ValueError, match="not in list"):
        map_page(replace(content, weeks=late))


hostile_text = st.lists(
    st.one_of(st.sampled_from(HOSTILE), st.text(st.characters(codec=None), max_size=8)), max_size=4
).map("".join)


@settings(max_examples=40, deadline=None)
@given(text=hostile_text)
def test_any_text_comes_back_as_it_went_in_and_adds_no_element(text: str) -> None:
    # Only what a file cannot hold is changed, and HTML reads its line ends and NUL in its own way.
    shown = text.translate({0: None, 12: None, 13: None})
    page = map_page(estate(lambda name: shown))
    read = PageReader(page)
    data = json.loads(read.data["map-data"])
    assert set(data["zones"]["name"]) == {storable(shown)}
    assert set(data["things"]["name"]) == {storable(shown)}
    assert read.heading == storable(shown)
    assert len(read.scripts) == PLAIN_SCRIPTS
    assert not {tag for tag, _ in read.elements} & {"img", "svg", "iframe", "link", "object"}
