"""The day map as text: what it holds, and that nothing of a user's can get out of its block."""

import json
import re
from typing import Any

from tests.views.plan_sample import BASIS, HOSTILE, ground, plan
from turfmap.views.day_map import DayGround, day_map


def block(page: str) -> dict[str, Any]:
    found = re.search(r'<script type="application/json" id="map-data">(.*?)</script>', page, re.S)
    assert found is not None
    read: dict[str, Any] = json.loads(found[1])
    return read


def test_outings_go_from_depot_to_depot_and_say_how_times_are_known() -> None:
    page = day_map(plan(), ground(), title="Days")
    first, second = block(page)["outings"]
    assert [call.get("number") for call in first["calls"]] == [1, None, 2]
    # The page wants latitude first: the depot is at 40.11 N, 89.21 W.
    assert first["way"][0] == first["way"][-1] == first["way"][2] == [40.11, -89.21]
    assert len(second["way"]) == 3
    assert first["loads"] == ["25.0 gal of Barrier spray: 1.25 × tank of 20 gal"]
    assert page.count(BASIS) >= 1
    assert "has not been confirmed from its label" in page


def test_a_way_by_road_is_drawn_where_it_is_known() -> None:
    made = plan()
    made["days"][1]["legs"][0]["path"] = [[-89.205, 40.105], [-89.2, 40.102]]
    way = block(day_map(made, ground(), title="Days"))["outings"][1]["way"]
    assert way[1:3] == [[40.105, -89.205], [40.102, -89.2]]


def test_the_same_plan_gives_the_same_page_and_hostile_text_stays_in_its_block() -> None:
    def everything(_: str) -> str:
        return " ".join(HOSTILE)

    pages = [day_map(plan(everything), ground(everything), title=" ".join(HOSTILE)) for _ in "ab"]
    assert pages[0] == pages[1]
    assert "globalThis.ran=2</script>" not in pages[0]
    assert "<img src=x" not in pages[0]
    assert block(pages[0])["outings"][0]["calls"][0]["property"] == " ".join(HOSTILE)


def test_a_plan_without_stops_is_a_page_all_the_same() -> None:
    made = plan() | {"days": [], "stops": [], "left_out": []}
    assert block(day_map(made, DayGround(), title="Days"))["outings"] == []
