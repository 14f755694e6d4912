"""Features read and edited: nothing lost, nothing half written, every refusal with its reason."""

import json
import math
import shutil
import sqlite3
from pathlib import Path
from typing import Any

import pytest
import shapely

from tests.desk.recording import SAID
from tests.desk.test_bring_in import SOUTH, WEST, box
from turfmap.desk import undo
from turfmap.desk.edit_faults import RefusedError
from turfmap.desk.edits import EditClashError, NotThereError, TakenError, apply_edits
from turfmap.desk.features import Query, Told, features
from turfmap.desk.record import record
from turfmap.foundations.errors import FileFaultError, InputFaultsError
from turfmap.store import geopackage
from turfmap.store.geometry_blob import register_functions

EPSG = "http://www.opengis.net/def/crs/EPSG/0/"


@pytest.fixture
def place(recording_once: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(recording_once, tmp_path))


def zones(place: Path, **query: Any) -> dict[str, Told]:
    page = features(place, "zone", Query(**query))
    return {one.plain()["properties"]["name"]: one for one in page.features}


def edit(one: Told, *, op: str = "replace", **properties: Any) -> dict[str, Any]:
    feature = one.plain()
    feature["properties"] |= properties
    return {"layer": "zone", "op": op, "id": one.identity, "etag": one.etag, "feature": feature}


def new_zone(shape: object, **properties: Any) -> dict[str, Any]:
    plain = json.loads(shapely.to_geojson(shape)) if isinstance(shape, shapely.Geometry) else shape
    about = {"name": "New", "property": "Alder", "kind": "turf"} | properties
    feature = {"type": "Feature", "geometry": plain, "properties": about}
    return {"layer": "zone", "op": "create", "id": None, "feature": feature}


def faults_of(place: Path, *edits: dict[str, Any]) -> list[dict[str, Any]]:
    with pytest.raises(RefusedError) as told:
        apply_edits(place, edits, who="test")
    return told.value.faults


def test_what_was_read_can_be_written_back_without_a_change(place: Path) -> None:
    """Every digit goes out and comes in: else neighbours would part by the digits cut off."""
    before = {name: one.etag for name, one in zones(place).items()}
    saved = apply_edits(place, [edit(one) for one in zones(place).values()], who="test")
    assert saved["change"] is None
    assert {name: one.etag for name, one in zones(place).items()} == before


def test_an_edit_of_what_somebody_changed_is_refused_and_shows_theirs(place: Path) -> None:
    mine = zones(place)["Front"]
    theirs = apply_edits(place, [edit(mine, notes="theirs")], who="test")["results"][0]
    with pytest.raises(EditClashError) as told:
        apply_edits(place, [edit(mine, notes="mine")], who="test")
    assert told.value.current is not None
    assert told.value.current.etag == theirs["etag"]
    assert told.value.current.plain()["properties"]["notes"] == "theirs"
    apply_edits(place, [{**edit(mine, op="delete"), "etag": theirs["etag"]}], who="test")
    with pytest.raises(EditClashError) as gone:
        apply_edits(place, [edit(mine, notes="mine")], who="test")
    assert gone.value.current is None


def test_another_programs_edit_changes_the_tag_too(place: Path) -> None:
    mine = zones(place)["Front"]
    connection = sqlite3.connect(place)
    for name in ("ST_IsEmpty", "ST_MinX", "ST_MaxX", "ST_MinY", "ST_MaxY"):
        connection.create_function(name, 1, lambda _: 0)
    with connection:
        connection.execute("UPDATE zone SET notes = 'by a GIS' WHERE name = 'Front'")
    connection.close()
    with pytest.raises(EditClashError):
        apply_edits(place, [edit(mine, notes="mine")], who="test")


def test_one_bad_edit_keeps_all_out(place: Path) -> None:
    found = zones(place)
    good, bad = edit(found["Front"], notes="new"), edit(found["Back"], kind="lava")
    (fault,) = faults_of(place, good, bad)
    assert (fault["edit"], fault["column"], fault["kind"]) == (1, "kind", "definition")
    assert "lava" in fault["problem"]
    assert zones(place)["Front"].etag == found["Front"].etag


@pytest.mark.parametrize(
    ("properties", "column"),
    [
        ({"colour": "green"}, "colour"),
        ({"sun_hours": 25}, "sun_hours"),
        ({"name": None}, "name"),
        ({"kind": ["turf"]}, "kind"),
        ({"irrigated": "perhaps"}, "irrigated"),
        ({"notes": "x" * 2_001}, "notes"),
        ({"name": "Front"}, "name"),
    ],
)
def test_values_are_judged_as_an_import_judges_them(
    place: Path, properties: dict[str, Any], column: str
) -> None:
    shape = box(0, 5e-4)
    assert {fault["column"] for fault in faults_of(place, new_zone(shape, **properties))} == {
        column
    }


@pytest.mark.parametrize(
    "geometry",
    [
        None,
        {"type": "Point", "coordinates": [WEST, SOUTH]},
        {"type": "Polygon", "coordinates": [[[0, 0], [1, 1]]]},
        {"type": "Polygon", "coordinates": [[[200, 0], [201, 0], [201, 1], [200, 0]]]},
        {"type": "Polygon", "coordinates": "here"},
        {"type": "GeometryCollection", "geometries": []},
    ],
)
def test_what_is_no_area_on_the_earth_is_no_zone(place: Path, geometry: object) -> None:
    assert faults_of(place, new_zone(geometry))[0]["kind"] == "invalid"


def test_a_bow_tie_is_refused_with_its_place(place: Path) -> None:
    """OGC 06-103r4, 6.1.11.1: rings do not cross themselves. The crossing is worked by hand."""
    corners = [[WEST, SOUTH], [WEST + 2, SOUTH + 2], [WEST + 2, SOUTH], [WEST, SOUTH + 2]]
    bow_tie = {"type": "Polygon", "coordinates": [[*corners, corners[0]]]}
    (fault,) = faults_of(place, new_zone(bow_tie))
    assert fault["where"] == {"type": "Point", "coordinates": [WEST + 1, SOUTH + 1]}


def test_an_overlap_is_refused_unless_it_is_kept(place: Path) -> None:
    over = new_zone(box(2e-4, 2e-4, 1e-4))
    (fault,) = faults_of(place, over)
    assert (fault["kind"], fault["with"]) == ("overlap", [zones(place)["Front"].identity])
    assert apply_edits(place, [over], who="test", keep_overlaps=True)["results"][0]["etag"]


def test_an_identity_of_the_clients_own_is_kept_and_never_given_twice(place: Path) -> None:
    made = new_zone(box(0, 5e-4, 1e-4)) | {"id": "a-client-s-own"}
    assert apply_edits(place, [made], who="test")["results"][0]["id"] == "a-client-s-own"
    with pytest.raises(TakenError):
        apply_edits(place, [made], who="test")
    assert faults_of(place, made | {"id": "a/b"})[0]["kind"] == "definition"
    with pytest.raises(NotThereError):
        apply_edits(place, [{"layer": "zone", "op": "delete", "id": "nobody"}], who="test")


def test_systems_put_their_axes_as_their_authority_does(place: Path) -> None:
    """EPSG:4326 is latitude first, CRS84 longitude first (OGC 18-058r1, clause 6.2).

    Easting in EPSG:3857: longitude in radians times 6378137 m (its definition).
    """
    corner = zones(place)["Front"].plain()["geometry"]["coordinates"][0][0][0]
    north_first = zones(place, crs=f"{EPSG}4326")["Front"]
    assert north_first.plain()["geometry"]["coordinates"][0][0][0] == corner[::-1]
    assert north_first.etag == zones(place)["Front"].etag
    web = zones(place, crs=f"{EPSG}3857")["Front"].plain()["geometry"]["coordinates"][0][0]
    assert min(x for x, _ in web) == pytest.approx(math.radians(WEST) * 6_378_137.0, abs=0.001)
    moved = edit(north_first, notes="seen")
    apply_edits(place, [moved], who="test", crs=f"{EPSG}4326")
    assert zones(place)["Front"].plain()["geometry"]["coordinates"][0][0][0] == corner
    with pytest.raises(InputFaultsError, match="no coordinate system of this layer"):
        apply_edits(place, [moved], who="test", crs=f"{EPSG}32616")


def test_a_box_finds_what_it_meets_and_nothing_beside(place: Path) -> None:
    south_west = (WEST - 1e-4, SOUTH - 1e-4, WEST + 1e-4, SOUTH + 1e-4)
    assert set(zones(place, bbox=south_west)) == {"Front"}
    north_first = (south_west[1], south_west[0], south_west[3], south_west[2])
    assert set(zones(place, bbox=north_first, bbox_crs=f"{EPSG}4326")) == {"Front"}
    # The box of a triangle is met where the triangle itself is not.
    triangle = shapely.Polygon(
        [(WEST, SOUTH + 5e-4), (WEST + 4e-4, SOUTH + 5e-4), (WEST, SOUTH + 9e-4)]
    )
    apply_edits(place, [new_zone(triangle)], who="test")
    empty_corner = (WEST + 3e-4, SOUTH + 8e-4, WEST + 3.5e-4, SOUTH + 8.5e-4)
    assert zones(place, bbox=empty_corner) == {}


def test_undo_restores_row_by_row_and_is_a_change_itself(place: Path) -> None:
    before = {name: one.etag for name, one in zones(place).items()}
    front, back = zones(place)["Front"], zones(place)["Back"]
    changed = apply_edits(
        place,
        [edit(front, notes="x"), edit(back, op="delete"), new_zone(box(0, 5e-4, 1e-4))],
        who="test",
    )
    undone = undo.undo(place, who="test")
    assert undone["undone"] == changed["change"]
    assert {name: one.etag for name, one in zones(place).items()} == before
    assert zones(place)["Back"].identity == back.identity
    # And again: undoing that one does the work once more.
    undo.undo(place, change=undone["change"], who="test")
    assert set(zones(place)) == {"Front", "Wood", "New"}


def test_undo_steps_back_through_one_row(place: Path) -> None:
    tags = [zones(place)["Front"].etag]
    for note in ("one", "two"):
        apply_edits(place, [edit(zones(place)["Front"], notes=note)], who="test")
        tags.append(zones(place)["Front"].etag)
    undo.undo(place, who="test")
    assert zones(place)["Front"].etag == tags[1]
    undo.undo(place, who="test")
    assert zones(place)["Front"].etag == tags[0]


def test_undo_never_touches_a_row_that_was_changed_since(place: Path) -> None:
    first = apply_edits(place, [edit(zones(place)["Front"], notes="one")], who="test")["change"]
    apply_edits(place, [edit(zones(place)["Front"], notes="two")], who="test")
    stands = zones(place)["Front"].etag
    with pytest.raises(undo.ChangedSinceError, match="has changed since"):
        undo.undo(place, change=first, who="test")
    assert zones(place)["Front"].etag == stands
    with pytest.raises(InputFaultsError, match="there is no change 99"):
        undo.undo(place, change=99, who="test")


def test_undo_goes_back_to_an_empty_map_and_then_says_so(place: Path) -> None:
    for _ in undo.changes(place):
        undo.undo(place, who="test")
    assert zones(place) == {}
    with pytest.raises(undo.NothingToUndoError):
        undo.undo(place, who="test")


def test_a_new_name_takes_along_what_is_known_under_the_old(place: Path) -> None:
    page = features(place, "property", Query())
    lot = page.features[0]
    renamed = edit(lot, name="Rowan") | {"layer": "property"}
    apply_edits(place, [renamed], who="test")
    assert {one.plain()["properties"]["property"] for one in zones(place).values()} == {"Rowan"}
    answers = geopackage.read_layer(place, "client_answer")
    assert set(answers["property"]) == {"Rowan"}
    undo.undo(place, who="test")
    assert set(geopackage.read_layer(place, "client_answer")["property"]) == {"Alder"}


def test_a_name_on_record_stays(place: Path) -> None:
    """Limits count what is on record under a name; under another one it would be lost."""
    record(place, SAID)
    (fault,) = faults_of(place, edit(zones(place)["Front"], name="Fore"))
    assert (fault["column"], "on record" in fault["problem"]) == ("name", True)
    assert "Front" in zones(place)


def test_a_locked_place_is_told_as_busy(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(geopackage, "SECONDS_TO_WAIT_FOR_A_LOCK", 0.1)
    mine = edit(zones(place)["Front"], notes="x")
    other = sqlite3.connect(place, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(FileFaultError) as told:
        apply_edits(place, [mine], who="test")
    other.close()
    assert told.value.kind == "busy"


def test_a_full_disk_is_told_and_nothing_is_written(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """SQLite's own limit of pages stands in for the disk: it fails with the same words."""
    with geopackage.reading(place) as connection:
        (pages,) = connection.execute("PRAGMA page_count").fetchone()
    registered = register_functions

    def small(connection: sqlite3.Connection) -> None:
        connection.execute(f"PRAGMA max_page_count = {pages}")
        registered(connection)

    before = {name: one.etag for name, one in zones(place).items()}
    monkeypatch.setattr(geopackage, "register_functions", small)
    many = [
        new_zone(box(0, 5e-4, 1e-4), name=str(number), notes="x" * 2000) for number in range(200)
    ]
    with pytest.raises(FileFaultError, match="disk is full; nothing was written") as told:
        apply_edits(place, many, who="test", keep_overlaps=True)
    assert told.value.kind == "full"
    assert {name: one.etag for name, one in zones(place).items()} == before
