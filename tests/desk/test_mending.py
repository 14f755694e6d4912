"""Overlaps and gaps of a file: found, mended, saved, and gone."""

import json
from pathlib import Path
from typing import Any

import pytest
import shapely

from tests.desk.drawing import box, create, drawn_place, stored
from turfmap.desk.area import area
from turfmap.desk.edit_faults import RefusedError
from turfmap.desk.edits import apply_edits
from turfmap.desk.mending import mend, odd
from turfmap.desk.protected import Overrides
from turfmap.foundations.errors import InputFaultsError
from turfmap.store import geopackage


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """Front and side share an edge, border lies over both; strip leaves 30 cm beside back."""
    path = drawn_place(tmp_path / "place.gpkg")
    strip = create("zone", "strip", box(5, 70.3, 95, 74), kind="bed", property="Alder")
    apply_edits(path, [strip], who="test")
    return path


def save(path: Path, edits: list[dict[str, Any]]) -> None:
    apply_edits(path, [edit | {"etag": "*"} for edit in edits], who="test")


def gross_m2(path: Path) -> float:
    found = area(path, property_name="Alder", product=None, overrides=Overrides({}))
    return float(sum(zone["gross_m2"] - zone["shared_m2"] for zone in found["zones"]))


def test_all_is_found_and_mended_one_by_one(place: Path) -> None:
    """The last edit is saved without leave to overlap; the ground is what it was, and the gap."""
    before = gross_m2(place)
    found = odd(place)
    assert sorted(sorted(one["with"]) for one in found["overlaps"]) == [
        ["border", "front"],
        ["border", "side"],
    ]
    (gap,) = found["gaps"]
    assert sorted(gap["with"]) == ["back", "strip"]
    assert gap["area_m2"] == pytest.approx(27.0, rel=0.01)
    for one in found["overlaps"]:
        edits = mend(place, found=one, give_to="border")["edits"]
        assert {edit["id"] for edit in edits} <= {"border", "front", "side", "back"}
        apply_edits(place, [edit | {"etag": "*"} for edit in edits], who="test", keep_overlaps=True)
    save(place, mend(place, found=gap, give_to="back")["edits"])
    assert odd(place) == {"overlaps": [], "gaps": []}
    assert gross_m2(place) == pytest.approx(before + gap["area_m2"], abs=0.01)
    assert gross_m2(place) - before > 26.9


def test_shared_edges_have_the_same_corners(place: Path) -> None:
    """The front lawn gets the corners of the bed, and the back lawn that it ends on as well."""
    one = next(one for one in odd(place)["overlaps"] if "front" in one["with"])
    apply_edits(
        place,
        [edit | {"etag": "*"} for edit in mend(place, found=one, give_to="border")["edits"]],
        who="test",
        keep_overlaps=True,
    )
    zones = geopackage.read_layer(place, "zone").set_index("id").geometry
    corners = {
        name: {tuple(each) for each in shapely.get_coordinates(zones[name]).tolist()}
        for name in ("front", "border")
    }
    shared = shapely.intersection(zones["front"], zones["border"])
    assert shapely.area(shared) == 0.0 and shapely.length(shared) > 0.0
    ends = {tuple(each) for each in shapely.get_coordinates(shared).tolist()}
    assert ends <= corners["front"] and ends <= corners["border"]


def test_one_property_alone(place: Path) -> None:
    assert odd(place, property_name="Birch") == {"overlaps": [], "gaps": []}
    assert len(odd(place, property_name="Alder")["gaps"]) == 1
    with pytest.raises(InputFaultsError, match="no property 'Cedar'"):
        odd(place, property_name="Cedar")


def test_a_drawing_that_was_refused_is_mended_and_saved_with_it(place: Path) -> None:
    """Give the ground to either, in one transaction with the drawing itself."""
    drawing = create("zone", "more", box(80, 40, 95, 60), kind="bed", property="Alder")
    with pytest.raises(RefusedError) as refusal:
        apply_edits(place, [drawing], who="test")
    (fault,) = refusal.value.faults
    assert (fault["kind"], fault["with"]) == ("overlap", ["back"])
    mine = mend(place, found=fault, give_to="more", edits=[drawing])["edits"]
    assert mine[0]["op"] == "create"
    assert "back" in [edit["id"] for edit in mine]
    theirs = mend(place, found=fault, give_to="back", edits=[drawing])["edits"]
    shape = shapely.from_geojson(json.dumps(theirs[0]["feature"]["geometry"]))
    assert shapely.area(shape) == pytest.approx(shapely.area(box(80, 40, 95, 45)), rel=1e-6)
    save(place, mine)
    assert stored(place, "zone", "more")["properties"]["kind"] == "bed"


def test_hostile_questions_are_refused(place: Path) -> None:
    """Whatever a body may hold becomes a sentence."""
    (gap,) = odd(place)["gaps"]
    drawing = create("zone", "more", box(80, 40, 95, 60), kind="bed", property="Alder")
    for found, edits in (
        ({}, []),
        ({"kind": "gap", "where": {"type": "Polygon", "coordinates": [[]]}}, []),
        (gap | {"with": [{"a": 1}, None]}, [{"layer": "zone", "op": "create", "id": "x"}]),
        (gap, [{"layer": "zone", "op": "create", "id": "x", "feature": []}]),
        (gap | {"kind": "overlap"}, [drawing | {"id": ["list"]}]),
    ):
        with pytest.raises(RefusedError):
            mend(place, found=found, give_to="back", edits=edits)
    nested = drawing | {"feature": drawing["feature"] | {"properties": {"kind": ["bed"], "x": {}}}}
    assert mend(place, found=gap, give_to="back", edits=[nested])["edits"]


def test_what_cannot_be_mended_is_said(place: Path) -> None:
    found = odd(place)
    (gap,) = found["gaps"]
    overlap = found["overlaps"][0]
    with pytest.raises(RefusedError, match="is not there"):
        mend(place, found=overlap, give_to="nobody")
    with pytest.raises(RefusedError, match="does not touch"):
        mend(place, found=gap, give_to="next")
    save(place, mend(place, found=gap, give_to="strip")["edits"])
    with pytest.raises(RefusedError, match="not there any more"):
        mend(place, found=gap, give_to="strip")
    inside = create("zone", "inside", box(60, 50, 70, 60), kind="bed", property="Alder")
    apply_edits(place, [inside], who="test", keep_overlaps=True)
    covered = next(one for one in odd(place)["overlaps"] if "inside" in one["with"])
    with pytest.raises(RefusedError, match="nothing would be left of inside"):
        mend(place, found=covered, give_to="back")
    save_all = mend(place, found=covered, give_to="inside")["edits"]
    apply_edits(place, [e | {"etag": "*"} for e in save_all], who="test", keep_overlaps=True)
    assert "inside" not in str(odd(place))
