"""Measured while drawn: what the answer says is what `turfmap area` says once it is saved."""

import json
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely.geometry.base import BaseGeometry

from tests.desk.drawing import box, create, drawn_place, feature, on_earth, replace, stored
from turfmap.desk import near_ground
from turfmap.desk.area import area
from turfmap.desk.edit_faults import RefusedError
from turfmap.desk.edits import apply_edits
from turfmap.desk.measuring import SMALLEST_CHANGE_M2, measure
from turfmap.desk.new import new
from turfmap.desk.protected import Overrides
from turfmap.foundations.definitions import Table

ZONES = ("front", "side", "back", "border", "next")


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return drawn_place(tmp_path_factory.mktemp("drawn") / "place.gpkg")


def areas(path: Path) -> dict[str, dict[str, Any]]:
    found = area(path, property_name=None, product=None, overrides=Overrides({}))
    return {zone["id"]: zone for zone in found["zones"]}


def measured_and_saved(place: Path, edit: dict[str, Any]) -> tuple[dict[str, Any], ...]:
    """Return the answer while drawing, and all areas before and after it was saved."""
    identity = edit["id"] if edit["op"] == "replace" else None
    drawn = edit["feature"] | {"id": edit["id"]}
    answer = measure(place, layer=edit["layer"], identity=identity, feature=drawn)
    copy = place.with_name("copy.gpkg")
    shutil.copy(place, copy)
    apply_edits(copy, [edit], who="test", keep_overlaps=True)
    return answer, areas(place), areas(copy)


def as_it_comes_to_be(place: Path, edit: dict[str, Any]) -> dict[str, Any]:
    answer, before, after = measured_and_saved(place, edit)
    # To the bit: every part, in both units, and every cause.
    assert answer["zone"] == (after[edit["id"]] if edit["layer"] == "zone" else None)
    moved = {
        of: (before[of]["treatable_m2"], after[of]["treatable_m2"])
        for of in before.keys() & after.keys() - {edit["id"]}
        if abs(before[of]["treatable_m2"] - after[of]["treatable_m2"]) > SMALLEST_CHANGE_M2
    }
    assert {row["id"]: (row["before"], row["after"]) for row in answer["neighbours"]} == moved
    return answer


def a_shape(rng: np.random.Generator, layer: str) -> BaseGeometry:
    middle = rng.uniform((-30.0, -10.0), (150.0, 110.0))
    sort = "polygon" if layer == "zone" else str(rng.choice(["polygon", "line", "point"]))
    if sort == "point":
        return on_earth(shapely.Point(middle))
    if sort == "line":
        return on_earth(shapely.LineString(middle + np.cumsum(rng.normal(0, 15, (5, 2)), axis=0)))
    corners = int(rng.integers(3, 20))
    angle = np.sort(rng.uniform(0, 2 * np.pi, corners))
    radius = rng.uniform(3, 40) * rng.uniform(0.5, 1.0, corners)
    ring = middle + np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])
    return on_earth(shapely.convex_hull(shapely.MultiPoint(ring)))


KINDS = {
    "zone": ("turf", "bed", "woods", "water", "hard"),
    "water": ("lake", "pond", "stream", "well", "drain_inlet"),
    "sensitive_site": ("hives", "playground", "school"),
    "obstacle": ("building", "drive"),
}
STORED = {
    "zone": ZONES,
    "water": ("pond", "stream"),
    "sensitive_site": ("well",),
    "obstacle": ("shed", "path"),
}


@given(st.integers(0, 2**32 - 1))
@settings(
    max_examples=24, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_any_drawing_is_measured_as_it_would_be_saved(place: Path, seed: int) -> None:
    rng = np.random.default_rng(seed)
    layer = str(rng.choice(list(KINDS)))
    values: dict[str, Any] = {"kind": str(rng.choice(KINDS[layer]))}
    if layer != "zone":
        values["width_m"] = float(rng.uniform(0.5, 9.0))
    if layer in {"water", "sensitive_site"} and rng.random() < 0.5:
        values["position_margin_m"] = float(rng.uniform(0, 20))
    shape = a_shape(rng, layer)
    if rng.random() < 0.4:
        edit = create(layer, "new-one", shape, **values)
    else:
        edit = replace(layer, str(rng.choice(STORED[layer])), shape, **values)
    as_it_comes_to_be(place, edit)


def test_what_a_pond_takes_is_named(place: Path) -> None:
    answer = as_it_comes_to_be(place, replace("zone", "front", box(2, 5, 50, 40), kind="turf"))
    causes = {cause["name"]: cause for cause in answer["zone"]["causes"]}
    assert causes["pond"]["lost_m2"] > 0.0
    taken = shapely.from_geojson(json.dumps(answer["no_spray"]))
    assert shapely.intersects(taken, box(2, 10, 2.5, 30))


def test_a_moved_pond_tells_its_reach_and_its_neighbours(place: Path) -> None:
    edit = replace("water", "pond", box(-20, 10, 4, 30), kind="pond", edge_known_by="surveyed")
    answer = as_it_comes_to_be(place, edit)
    assert [row["id"] for row in answer["neighbours"]] == ["front"]
    assert answer["no_spray"]["type"] in {"Polygon", "MultiPolygon"}


def test_a_zone_that_becomes_paving_takes_ground(place: Path) -> None:
    answer = as_it_comes_to_be(place, replace("zone", "border", box(40, 30, 60, 45), kind="hard"))
    assert answer["zone"]["treatable_m2"] == 0.0


def test_what_reaches_far_is_not_missed(place: Path) -> None:
    """A lake of which nobody knows the shore within 100 m, and a river drawn as a line."""
    far = place.with_name("far-reaching.gpkg")
    shutil.copy(place, far)
    river = on_earth(shapely.LineString([(-400, -160), (400, -160)]))
    more = [
        create("water", "lake", box(-150, 0, -110, 40), kind="lake", position_margin_m=100.0),
        create("water", "river", river, kind="stream", width_m=300.0, edge_known_by="gps"),
    ]
    apply_edits(far, more, who="test")
    answer = as_it_comes_to_be(far, replace("zone", "front", box(-9, -9, 50, 40), kind="turf"))
    assert {cause["name"] for cause in answer["zone"]["causes"]} >= {"lake", "river", "pond"}


def test_an_unsaved_overlap_is_measured_and_told(place: Path) -> None:
    answer = as_it_comes_to_be(place, create("zone", "more", box(80, 30, 120, 60), kind="turf"))
    kinds = sorted(fault["kind"] for fault in answer["faults"])
    assert not answer["ok"]
    assert kinds == ["overlap", "overlap", "overlap"]
    assert answer["zone"]["shared_m2"] > 100.0  # the zones drawn before it keep the ground


def test_a_shape_without_values_is_measured_as_well(place: Path) -> None:
    """While it is being drawn nobody has said yet what it is."""
    answer = measure(place, layer="zone", identity=None, feature=feature(box(5, 72, 15, 99)))
    assert answer["zone"]["gross_m2"] == pytest.approx(270.0, rel=0.01)


def test_broken_and_missing_shapes(place: Path) -> None:
    bow_tie = on_earth(shapely.Polygon([(0, 0), (10, 10), (10, 0), (0, 10)]))
    answer = measure(place, layer="zone", identity=None, feature=feature(bow_tie))
    (fault,) = answer["faults"]
    assert (answer["ok"], answer["zone"], fault["kind"]) == (False, None, "invalid")
    assert fault["problem"] == "its edge crosses itself"
    assert fault["where"]["type"] == "Point"
    for hostile in (
        {},
        {"type": "Feature", "geometry": None},
        {"type": "Polygon", "coordinates": "no"},
        {"type": "Polygon", "coordinates": [[[float("nan"), 0], [1, 1], [1, 0]]]},
        {"type": "Point", "coordinates": [400, 0]},
        {"type": "GeometryCollection", "geometries": []},
    ):
        with pytest.raises(RefusedError):
            measure(place, layer="zone", identity=None, feature=hostile)


def test_whatever_a_body_holds_is_measured_or_refused(place: Path) -> None:
    odd: dict[str, Any] = {"kind": ["turf"], "species": {"a": 1}, "x": None, "property": 3}
    drawn = feature(box(5, 72, 15, 99), **odd) | {"id": {"a": 1}}
    hostile: Any = ["list"]
    answer = measure(place, layer="zone", identity=hostile, feature=drawn)
    assert answer["zone"]["gross_m2"] > 0.0
    gate = feature(on_earth(shapely.Point(0, 0)))
    assert measure(place, layer="gate", identity=None, feature=gate)["ok"]


def test_the_first_drawing_of_a_new_place(tmp_path: Path) -> None:
    """Nothing is there: no property line refuses it, and all of it may be treated."""
    empty = tmp_path / "new.gpkg"
    new(empty)
    edit = create("zone", "first", box(0, 0, 10, 10), kind="turf")
    answer = as_it_comes_to_be(empty, edit)
    assert answer["ok"] and answer["notes"] == []
    assert answer["zone"]["treatable_m2"] == answer["zone"]["gross_m2"] > 99.0
    well = create("water", "well", on_earth(shapely.Point(5, 5)), kind="well")
    answer = measure(empty, layer="water", identity=None, feature=well["feature"])
    assert answer["ok"] and answer["no_spray"]["type"] == "Polygon"


def test_nothing_is_written(place: Path) -> None:
    before = place.read_bytes()
    measure(place, layer="zone", identity="front", feature=stored(place, "zone", "front"))
    assert place.read_bytes() == before


def test_only_what_is_near_is_read(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Rows far off are never read: not by measuring, and so not by its time either."""
    seen: list[str] = []
    read = near_ground.near_place

    def noted(frames: near_ground.Frames, rules: Table, path: Path) -> Any:
        seen.extend(frames["zone"]["id"])
        return read(frames, rules, path)

    copy = place.with_name("far.gpkg")
    shutil.copy(place, copy)
    far = on_earth(shapely.box(3000, 0, 3050, 50))
    apply_edits(copy, [create("zone", "far", far, kind="turf")], who="test", keep_overlaps=True)
    monkeypatch.setattr("turfmap.desk.measuring.near_place", noted)
    measure(copy, layer="zone", identity="front", feature=stored(copy, "zone", "front"))
    assert "front" in seen and "side" in seen
    assert "far" not in seen
