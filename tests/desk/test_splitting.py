"""Split and merge of GeoJSON features: what is refused, and that they undo one another."""

import json
from pathlib import Path
from typing import Any

import pytest
import shapely

from tests.desk.drawing import box, drawn_place, feature, on_earth, stored
from turfmap.desk.drawn_features import shape_of
from turfmap.desk.edit_faults import RefusedError
from turfmap.desk.splitting import merge, split
from turfmap.foundations.shapes import shape_array
from turfmap.ground.seams import sheet

LAWN = feature(box(0, 0, 20, 10), name="Lawn", kind="turf") | {"id": "lawn"}


def line(*corners: tuple[float, float]) -> dict[str, Any]:
    geometry = json.loads(shapely.to_geojson(on_earth(shapely.LineString(corners))))
    return {"type": "Feature", "geometry": geometry, "properties": {}}


def part(geometry: dict[str, Any], **values: Any) -> dict[str, Any]:
    return {"type": "Feature", "geometry": geometry, "properties": values}


def test_split_and_merged_it_is_what_it_was() -> None:
    parts = split(LAWN, line((5, -1), (7, 5), (5, 11)))["parts"]
    assert [each["type"] for each in parts] == ["Polygon", "Polygon"]
    one, other = (part(each, kind="turf") for each in parts)
    whole = merge([one | {"id": "kept", "properties": {"kind": "turf", "name": "Kept"}}, other])
    found = shapely.from_geojson(json.dumps(whole["feature"]["geometry"]))
    # On a plane of metres: corners that were put into an edge lie on it there.
    laid = sheet(shape_array([box(0, 0, 20, 10), found])).flat
    assert shapely.area(shapely.symmetric_difference(laid[0], laid[1])) < 1e-6
    assert (whole["feature"]["id"], whole["feature"]["properties"]["name"]) == ("kept", "Kept")


@pytest.mark.parametrize(
    ("drawn", "words"),
    [
        (line((5, -1), (5, 5)), "must cross from side to side"),
        (line((50, -1), (50, 11)), "must cross from side to side"),
        (feature(box(0, 0, 1, 1)), "is no line"),
        ({"type": "Feature", "geometry": None}, "has no shape"),
        ({"type": "LineString", "coordinates": [[0, 0], [0, 0]]}, "is no line"),
    ],
)
def test_lines_that_cut_nothing_are_refused(drawn: dict[str, Any], words: str) -> None:
    with pytest.raises(RefusedError, match=words):
        split(LAWN, drawn)


@pytest.mark.parametrize(
    ("features", "words"),
    [
        ([LAWN], "cannot be joined"),
        ([LAWN, feature(box(20, 0, 30, 10), kind="bed")], "different kinds"),
        ([LAWN, feature(box(20, 10, 30, 20), kind="turf")], "do not touch along an edge"),
        ([LAWN, feature(box(20.2, 0, 30, 10), kind="turf")], "do not touch along an edge"),
        (
            [LAWN, feature(on_earth(shapely.Polygon([(0, 0), (9, 9), (9, 0), (0, 9)])))],
            "crosses itself",
        ),
    ],
)
def test_what_cannot_be_joined(features: list[dict[str, Any]], words: str) -> None:
    with pytest.raises(RefusedError, match=words):
        merge(features)


def test_neighbours_get_the_corners_where_the_cut_meets_them(tmp_path: Path) -> None:
    """A bed is cut north to south: the lawn behind it gets the end of the cut as a corner."""
    path = drawn_place(tmp_path / "place.gpkg")
    back = stored(path, "zone", "back")
    found = split(back, line((30, 44), (30, 71)), path=path, identity="back")
    assert [edit["id"] for edit in found["edits"]] == []
    border = stored(path, "zone", "border")
    found = split(border, line((45, 29), (45, 46)), path=path, identity="border")
    (edit,) = found["edits"]
    assert (edit["id"], edit["op"]) == ("back", "replace")
    ends = {tuple(each) for part in found["parts"] for each in part["coordinates"][0]}
    with_it, without = (
        {tuple(each) for each in shapely.get_coordinates(shape_of(one)).tolist()}
        for one in (edit["feature"], back)
    )
    assert without < with_it
    assert len(with_it - without) == 1 and with_it - without <= ends
    assert edit["feature"]["properties"]["name"] == "back"
