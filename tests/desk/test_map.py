"""The map of a place: what it is called, and what its words and layers are made of."""

import json
from datetime import date
from pathlib import Path

import pytest
import shapely

from tests.desk.test_bring_in import SOUTH, WEST, box, geojson
from tests.views.read_page import PageReader
from turfmap.desk.bring_in import bring_in
from turfmap.desk.map import GroundAsked, map_file, title_of
from turfmap.desk.new import new
from turfmap.desk.protected import Overrides

AS_OF = date(2026, 9, 24)
GARDEN = shapely.box(WEST - 1e-4, SOUTH, WEST - 1e-5, SOUTH + 4e-4)


@pytest.mark.parametrize(
    ("file", "properties", "title"),
    [
        ("place.gpkg", ["Alder"], "Alder"),
        ("autumn_round.gpkg", ["Alder", "Birch"], "Autumn round: 2 properties"),
        ("round.gpkg", [str(number) for number in range(1200)], "Round: 1,200 properties"),
        ("bare.gpkg", [], "Bare"),
        ("_.gpkg", [], "_.gpkg"),
    ],
)
def test_a_page_is_called_by_its_only_property_or_else_by_its_file(
    file: str, properties: list[str], title: str
) -> None:
    assert title_of(Path(file), properties) == title


def test_what_takes_ground_is_said_in_words_and_no_empty_layer_is_listed(tmp_path: Path) -> None:
    path, out = tmp_path / "place.gpkg", tmp_path / "map.html"
    new(path)
    for layer, feature in {
        "property": (box(0, 0, 1e-3), {"name": "Alder"}),
        "zone": (box(0, 0), {"name": "Front", "kind": "turf"}),
        "sensitive_site": (GARDEN, {"name": "Beans", "kind": "kitchen_garden"}),
    }.items():
        bring_in(path, geojson(tmp_path / f"{layer}.geojson", feature), layer_name=layer)
    map_file(path, as_of=AS_OF, out=out)
    page = out.read_text(encoding="utf-8")
    read = PageReader(page)
    (causes,) = json.loads(read.data["map-data"])["zones"]["causes"]
    assert [(cause["category_words"], cause["name"]) for cause in causes] == [
        ("kitchen garden", "Beans")
    ]
    assert read.heading == "Alder"
    assert "<title>Alder, as of 24 Sep 2026</title>" in page
    assert "Sensitive sites" in page
    assert "Water and wells" not in page
    assert "Gates" not in page


def test_the_map_of_one_property_leaves_out_what_is_far_and_no_ground_that_reaches_it(
    tmp_path: Path,
) -> None:
    path, out = tmp_path / "place.gpkg", tmp_path / "map.html"
    new(path)
    # One degree of longitude is 93.5 km here: the far pond is 1.4 km off, the wide one 280 m.
    far, wide = (shapely.Point(WEST + 1e-3 + off, SOUTH).buffer(1e-4) for off in (0.015, 0.003))
    features: dict[str, list[tuple[object, dict[str, object]]]] = {
        "property": [
            (box(0, 0, 1e-3), {"name": "Alder"}),
            (box(0.014, 0, 2e-3), {"name": "Birch"}),
        ],
        "zone": [(box(0, 0), {"name": "Front", "kind": "turf"})],
        "water": [(far, {"name": "Far", "kind": "pond"}), (wide, {"name": "Wide", "kind": "lake"})],
    }
    for layer, drawn in features.items():
        bring_in(path, geojson(tmp_path / f"{layer}.geojson", *drawn), layer_name=layer)
    asked = GroundAsked(overrides=Overrides({"lake": 200.0}))
    map_file(path, as_of=AS_OF, out=out, property_name="Alder", asked=asked)
    data = json.loads(PageReader(out.read_text(encoding="utf-8")).data["map-data"])
    assert data["no_spray"]["name"] == ["Wide"]
    assert data["things"]["name"] == ["Alder"]


def test_weeks_are_those_of_the_season_and_agree_with_the_date_of_the_map(tmp_path: Path) -> None:
    path, out = tmp_path / "place.gpkg", tmp_path / "map.html"
    new(path)
    lawn = {"name": "Front", "kind": "turf", "species": "bermuda"}
    for layer, feature in {
        "property": (box(0, 0, 1e-3), {"name": "Alder"}),
        "zone": (box(0, 0), lawn),
    }.items():
        bring_in(path, geojson(tmp_path / f"{layer}.geojson", feature), layer_name=layer)
    map_file(path, as_of=AS_OF, out=out)
    data = json.loads(PageReader(out.read_text(encoding="utf-8")).data["map-data"])
    weeks, tasks = data["weeks"], data["tasks"]
    pattern = weeks["patterns"][data["zones"]["pattern"][0]]
    now = weeks["now"]
    assert weeks["days"][now] == AS_OF.isoformat()
    own = {tasks[place]["task"]: tasks[place]["state"] for place in data["zones"]["tasks"][0]}
    by_week = {
        weeks["tasks"][int(place)]["task"]: weeks["states"][int(digits[now])]
        for place, digits in pattern["tasks"].items()
    }
    assert own
    assert {task: by_week[task] for task in own} == own
    first = weeks["tasks"][pattern["first"][now]]["task"]
    assert first == tasks[data["zones"]["tasks"][0][0]]["task"]
