"""The state of the drawing map: after a save, the part is what a run over everything gives."""

import shutil
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from tests.desk.drawing import box, create, drawn_place, on_earth, replace, stored
from turfmap.desk.area import area
from turfmap.desk.drawing_state import state
from turfmap.desk.due import due
from turfmap.desk.edits import apply_edits
from turfmap.desk.new import new
from turfmap.desk.protected import Overrides
from turfmap.foundations.definitions import map_layer
from turfmap.store import geopackage

DAY = date(2026, 9, 24)
PARTS = ("gross_m2", "obstacle_m2", "no_spray_m2", "treatable_m2")


@pytest.fixture(scope="module")
def once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = drawn_place(tmp_path_factory.mktemp("drawn") / "place.gpkg")
    far = [
        create("property", "far", box(2000, 0, 2100, 100), name="Far"),
        create("zone", "far-lawn", box(2005, 5, 2050, 50), kind="turf", property="Far"),
        create("zone", "far-bed", box(2005, 50, 2050, 60), kind="bed", property="Far"),
    ]
    apply_edits(path, far, who="test")
    return path


@pytest.fixture
def place(once: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(once, tmp_path / "place.gpkg"))


def by_id(found: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {zone["id"]: zone for zone in found["zones"]}


class Followed:
    """A place whose edits are followed in part, each part held against the whole."""

    def __init__(self, path: Path) -> None:
        self.path, self.known = path, by_id(state(path, as_of=DAY))

    def saved(self, edit: dict[str, Any]) -> set[str]:
        """Save an edit; return the zones that were computed."""
        etag = {} if edit["op"] == "create" else {"etag": "*"}
        apply_edits(self.path, [edit | etag], who="test", keep_overlaps=True)
        part = state(self.path, as_of=DAY, changed=[edit["id"]])
        whole = state(self.path, as_of=DAY)
        assert part["partial"] and "partial" not in whole
        assert part["as_of"] == whole["as_of"] == "2026-09-24"
        # To the bit: what was computed again, and, since nothing else moved, what was left alone.
        before, after, mine = self.known, by_id(whole), by_id(part)
        assert {of: after[of] for of in mine} == mine
        left = after.keys() - mine.keys()
        assert {of: after[of] for of in left} == {of: before[of] for of in left}
        assert part["no_spray"] == [one for one in whole["no_spray"] if one["id"] == edit["id"]]
        self.known = after
        return set(mine)


def test_the_whole_is_area_and_due_put_together(place: Path) -> None:
    whole = state(place, as_of=DAY)
    areas = area(place, property_name=None, product=None, overrides=Overrides({}))["zones"]
    tasks = {
        (each["property"], each["zone"]): each["tasks"] for each in due(place, as_of=DAY)["zones"]
    }
    assert len(whole["zones"]) == len(areas) == 7
    for zone, ground in zip(whole["zones"], areas, strict=True):
        assert {part: zone[part] for part in PARTS} == {part: ground[part] for part in PARTS}
        (first, *_) = tasks[zone["property"], zone["zone"]]
        assert (zone["state"], zone["code"], zone["title"]) == (
            first["state"],
            first["code"],
            first["title"],
        )
        assert zone["why"] in first["reasons"] + first["holds"]
    assert {one["id"] for one in whole["no_spray"]} == {"pond", "stream", "well"}
    (pond,) = [one for one in whole["no_spray"] if one["id"] == "pond"]
    assert pond["causes"][0]["category"] == "pond"
    assert whole["cautions"]


def test_every_sort_of_edit_is_followed_in_part(place: Path) -> None:
    saved = Followed(place).saved
    front = box(5, 5, 48, 38)
    assert saved(replace("zone", "front", front, kind="turf", species="zoysia")) >= {"front"}
    assert saved(create("zone", "more", box(60, 75, 70, 90), kind="turf")) >= {"more"}
    moved = replace("zone", "border", box(60, 30, 80, 45), kind="bed", property="Alder")
    assert saved(moved) >= {"front", "side", "back", "border"}  # left, met and itself
    assert saved(replace("zone", "border", box(90, 40, 103, 50), kind="water")) >= {"next", "back"}
    pond = replace("water", "pond", box(60, -30, 80, 3), kind="lake", position_margin_m=9.0)
    assert saved(pond) >= {"front", "side"}  # where it was, and where it is
    assert saved({"layer": "obstacle", "op": "delete", "id": "shed"}) >= {"front"}
    assert saved({"layer": "zone", "op": "delete", "id": "side"}) >= {"border"}
    assert saved(create("gate", "gate", on_earth(shapely.Point(0, 0)))) == set()


def test_what_is_far_is_left_alone(place: Path) -> None:
    edit = replace("zone", "far-lawn", box(2005, 5, 2040, 45), kind="turf", property="Far")
    assert Followed(place).saved(edit) == {"far-lawn", "far-bed"}


def test_what_may_touch_everything_is_computed_over_everything(place: Path) -> None:
    """A property's state sets the rules for all; an identity that nobody knows may be anything."""
    line = replace("property", "birch", box(100, 0, 200, 100), name="Birch", state="GA")
    apply_edits(place, [line | {"etag": "*"}], who="test")
    assert "partial" not in state(place, as_of=DAY, changed=["birch"])
    assert "partial" not in state(place, as_of=DAY, changed=["nobody"])


def test_several_saves_in_a_row_are_followed_together(place: Path) -> None:
    """Two steps before anybody asks: where it stood between them is looked at as well."""
    before = by_id(state(place, as_of=DAY))
    for west in (2010, 70):
        shape = box(west, 30, west + 10, 60)
        edit = replace("zone", "border", shape, kind="bed", property=None)
        apply_edits(place, [edit | {"etag": "*"}], who="test", keep_overlaps=True)
    part = by_id(state(place, as_of=DAY, changed=["border"]))
    assert part.keys() >= {"border", "front", "side", "back", "far-lawn"}
    assert before | part == by_id(state(place, as_of=DAY))


def test_records_and_answers_count_in_part_too(place: Path) -> None:
    """What was said and done at a property decides its zones; a correction too."""
    layer = map_layer("client_answer")
    said = {"property": "Alder", "question": "overseeding", "answer": "planned"}
    with geopackage.editing(place) as connection:
        geopackage.append_rows(connection, layer, [dict.fromkeys(layer.columns) | said], None)
    front = box(5, 5, 47, 38)
    edit = replace("zone", "front", front, kind="turf", species="bermuda", property="Alder")
    followed = Followed(place)
    assert followed.saved(edit) >= {"front"}
    assert "overseed" in str(due(place, as_of=DAY)["zones"][0]).lower()


def test_a_new_place_is_followed_from_its_first_drawing(tmp_path: Path) -> None:
    path = tmp_path / "new.gpkg"
    new(path)
    followed = Followed(path)
    assert followed.known == {}
    assert followed.saved(create("water", "pond", box(30, 0, 40, 10), kind="pond")) == set()
    apply_edits(path, [create("property", "elm", box(0, 0, 50, 50), name="Elm")], who="test")
    zone = create("zone", "first", box(0, 0, 29, 10), kind="turf", property="Elm")
    assert followed.saved(zone) == {"first"}


def test_a_row_that_nobody_can_judge_stops_no_drawing(place: Path) -> None:
    """Another program wrote a word that is no kind: areas are told, and what is wrong."""
    with geopackage.editing(place) as connection:
        connection.execute("UPDATE zone SET soil = 'moon dust' WHERE id = 'side'")
    for found in (state(place, as_of=DAY), state(place, as_of=DAY, changed=["side"])):
        zone = by_id(found)["side"]
        assert (zone["state"], zone["title"]) == ("ask", "not judged")
        assert "moon dust" in zone["why"]
        assert any("moon dust" in line for line in found["cautions"])
        assert zone["gross_m2"] == pytest.approx(45 * 35, rel=0.01)


def test_nearest_stations_are_those_of_the_whole(place: Path) -> None:
    """A zone that moves may bring its whole property nearer to another station."""
    with geopackage.editing(place) as connection:
        layer = map_layer("weather_station")
        rows = [
            dict.fromkeys(layer.columns) | {"name": name, "elevation_m": 100.0} for name in "ab"
        ]
        at = shapely.points([(-84.05, 33.56), (-84.0486, 33.56)])
        geopackage.append_rows(connection, layer, rows, np.asarray(at, dtype=object))
        weather = map_layer("weather")
        days = [
            dict.fromkeys(weather.columns)
            | {
                "station": name,
                "date": f"2026-09-{day:02d}",
                "air_max_c": high,
                "air_min_c": high - 9,
            }
            for name, high in (("a", 33.0), ("b", 14.0))
            for day in range(1, 24)
        ]
        geopackage.append_rows(connection, weather, days, None)
    before = by_id(state(place, as_of=DAY))
    moved = replace("zone", "back", box(180, 45, 199, 70), kind="turf", property="Alder")
    apply_edits(place, [moved | {"etag": "*"}], who="test", keep_overlaps=True)
    found = state(place, as_of=DAY, changed=["back"])
    whole = by_id(state(place, as_of=DAY))
    assert "partial" not in found
    assert by_id(found) == whole
    assert stored(place, "zone", "back")["properties"]["property"] == "Alder"
    assert before.keys() == whole.keys()
