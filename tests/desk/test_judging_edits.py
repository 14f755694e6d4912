"""Edits judged: what refuses them, said with the place and the others; and what is only told."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import geopandas as gpd
import pandas as pd
import pytest
import shapely

from tests.desk.drawing import box, create, drawn_place, on_earth, replace
from turfmap.desk.edit_faults import FaultRow
from turfmap.desk.judging_edits import StoredGround, faults_of, notes_of
from turfmap.foundations.definitions import map_layer
from turfmap.foundations.plane import Floats
from turfmap.store import geopackage

LON_LAT = "EPSG:4326"


@dataclass
class Frames:
    """The ground as frames in memory: all of it is near."""

    zones: gpd.GeoDataFrame
    properties: gpd.GeoDataFrame

    def zones_near(self, boxes: Floats) -> gpd.GeoDataFrame:
        return self.zones

    def properties_near(self, boxes: Floats) -> gpd.GeoDataFrame:
        return self.properties[self.properties.geometry.notna()]

    def properties_named(self, names: Iterable[str]) -> gpd.GeoDataFrame:
        return self.properties[self.properties["name"].isin(list(names))]

    def has_property_lines(self) -> bool:
        return bool(self.properties.geometry.notna().any())


def frame(**shapes: Any) -> gpd.GeoDataFrame:
    rows = [
        {"id": name, "name": name, "property": None, "kind": "turf", "geometry": shape}
        for name, shape in shapes.items()
    ]
    columns = ["id", "name", "property", "kind", "geometry"]
    return gpd.GeoDataFrame(pd.DataFrame(rows, columns=columns), geometry="geometry", crs=LON_LAT)


def ground(properties: gpd.GeoDataFrame, **zones: Any) -> Frames:
    return Frames(frame(**zones), properties)


LOT = frame(alder=box(0, 0, 100, 100), birch=box(100, 0, 200, 100))


def kinds(faults: list[FaultRow]) -> list[str]:
    return [fault["kind"] for fault in faults]


def test_an_overlap_says_where_and_with_whom() -> None:
    """By hand: 2 m of a side of 20 m are 40 m2."""
    edit = create("zone", "new", box(28, 0, 50, 20), kind="turf")
    (fault,) = faults_of([edit], ground(LOT, front=box(0, 0, 30, 20)))
    assert (fault["kind"], fault["with"], fault["edit"]) == ("overlap", ["front"], 0)
    assert fault["area_m2"] == pytest.approx(40.0, rel=0.01)
    where = shapely.from_geojson(json.dumps(fault["where"]))
    assert shapely.area(shapely.symmetric_difference(where, box(28, 0, 30, 20))) < 1e-14
    assert "new" in fault["problem"] and "front" in fault["problem"]


def test_the_play_of_two_lines_is_no_overlap() -> None:
    """Up to 0.1 m2: 4 mm along 20 m is 0.08 m2, 6 mm is more."""
    for overlap_m, count in ((0.004, 0), (0.006, 1)):
        edit = create("zone", "new", box(30 - overlap_m, 0, 50, 20), kind="turf")
        assert len(faults_of([edit], ground(LOT, front=box(0, 0, 30, 20)))) == count


def test_a_batch_is_judged_as_it_will_be() -> None:
    """Two zones that swap ground in one batch; a deleted one is in nobody's way."""
    here = ground(LOT, front=box(0, 0, 30, 20), side=box(30, 0, 60, 20))
    swap = [
        replace("zone", "front", box(0, 0, 40, 20), kind="turf"),
        replace("zone", "side", box(40, 0, 60, 20), kind="turf"),
    ]
    assert faults_of(swap, here) == []
    assert kinds(faults_of(swap[:1], here)) == ["overlap"]
    gone = {"layer": "zone", "op": "delete", "id": "side", "feature": None}
    assert faults_of([gone, swap[0]], here) == []
    both = [
        create("zone", "a", box(0, 40, 20, 60), kind="turf"),
        create("zone", "b", box(10, 40, 30, 60), kind="turf"),
    ]
    (fault,) = faults_of(both, here)
    assert (fault["edit"], fault["with"]) == (0, ["b"])


@pytest.mark.parametrize(
    ("shape", "named", "kind", "words"),
    [
        (box(10, 10, 20, 20), "alder", None, ""),
        (box(10, 10, 20, 20), None, None, ""),
        (box(95, 10, 103, 20), "alder", None, ""),  # most of it is inside
        (box(110, 10, 120, 20), "alder", "outside", "most of it lies in birch"),
        (box(300, 10, 320, 20), None, "outside", "outside every property"),
        (box(300, 10, 320, 20), "alder", "outside", "outside alder"),
        (box(300, 10, 320, 20), "cedar", "definition", "no property cedar"),
        (box(300, 10, 320, 20), "dogwood", None, ""),  # nobody has drawn its line
    ],
)
def test_where_a_zone_may_lie(shape: Any, named: str | None, kind: str | None, words: str) -> None:
    edit = create("zone", "new", shape, kind="turf", property=named)
    properties = pd.concat([LOT, frame(dogwood=None)])
    found = faults_of([edit], ground(properties))
    assert kinds(found) == ([] if kind is None else [kind])
    assert all(words in fault["problem"] for fault in found)


def test_a_place_without_property_lines_refuses_nobody() -> None:
    edit = create("zone", "new", box(300, 10, 320, 20), kind="turf")
    assert faults_of([edit], ground(frame())) == []
    line = create("property", "elm", box(290, 0, 400, 100))
    assert faults_of([line, edit | {"id": "x"}], ground(LOT)) == []


def test_gaps_beside_an_edited_zone_are_told() -> None:
    """0.3 m along 20 m; a gap between two other zones is no business of this edit."""
    here = ground(LOT, a=box(0, 0, 30, 20), b=box(50.3, 0, 60, 20), c=box(60.3, 0, 80, 20))
    edit = create("zone", "new", box(30, 0, 50, 20), kind="turf")
    (note,) = notes_of([edit], here)
    assert (note["kind"], sorted(note["with"])) == ("gap", ["b", "new"])
    assert note["area_m2"] == pytest.approx(6.0, rel=0.02)
    assert notes_of([create("zone", "new", box(30, 0, 45, 20), kind="turf")], here) == []
    # A zone that meets the gap at one corner alone cannot take it, so it is not named.
    here = ground(LOT, b=box(50.3, 0, 60, 20), d=box(50.3, 20, 60, 40))
    (note,) = notes_of([edit], here)
    assert sorted(note["with"]) == ["b", "new"]


def test_ground_beyond_the_line_is_told() -> None:
    edit = create("zone", "new", box(-3, 0, 20, 20), kind="turf")
    assert kinds(notes_of([edit], ground(LOT))) == ["over_the_line"]


def test_margin_and_width_are_asked_where_they_matter() -> None:
    stream = on_earth(shapely.LineString([(0, 0), (50, 0)]))
    here = ground(LOT)

    def asked(**values: Any) -> list[str]:
        return [note["column"] for note in notes_of([create("water", "w", stream, **values)], here)]

    assert asked(kind="stream") == ["edge_known_by", "width_m"]
    assert asked(kind="stream", edge_known_by="gps", width_m=2) == []
    assert asked(kind="stream", position_margin_m=0, width_m=2) == []
    assert asked(kind="well", edge_known_by="gps") == []  # a spot has no width to speak of
    pond = create("water", "p", box(0, 0, 9, 9), kind="pond", edge_known_by="surveyed")
    assert notes_of([pond], here) == []


def test_the_ground_of_a_file_answers_as_frames_do(tmp_path: Path) -> None:
    path = drawn_place(tmp_path / "place.gpkg")
    with geopackage.reading(path) as connection:
        stored = StoredGround(connection, str(path))
        edit = create("zone", "new", box(80, 30, 120, 60), kind="turf")
        found = faults_of([edit], stored)
        whole = geopackage.read_rows(connection, map_layer("zone"), file="")
        lines = geopackage.read_rows(connection, map_layer("property"), file="")
        assert found == faults_of([edit], Frames(whole, lines))
        assert sorted(found[i]["with"][0] for i in range(len(found))) == ["back", "next", "side"]
        assert stored.has_property_lines()
