"""Importing: everything or nothing, every fault told at once, every zone in its property."""

import json
import sqlite3
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from turfmap.desk.area import area
from turfmap.desk.bring_in import bring_in
from turfmap.desk.import_batch import Source
from turfmap.desk.import_columns import Columns
from turfmap.desk.new import new
from turfmap.desk.protected import Overrides
from turfmap.foundations.definitions import map_layer, table
from turfmap.foundations.errors import InputFaultsError
from turfmap.store import geopackage

WEST, SOUTH = -84.0, 33.0


def box(east: float, north: float, side: float = 4e-4) -> shapely.Polygon:
    """Return a square lot that many degrees east and north of the corner of the scene."""
    return shapely.box(WEST + east, SOUTH + north, WEST + east + side, SOUTH + north + side)


def geojson(path: Path, *features: tuple[object, dict[str, Any]]) -> Source:
    """Write shapes (or ready GeoJSON geometries) with their properties."""
    collection = [
        {
            "type": "Feature",
            "geometry": json.loads(shapely.to_geojson(shape))
            if isinstance(shape, shapely.Geometry)
            else shape,
            "properties": about,
        }
        for shape, about in features
    ]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": collection}))
    return Source(path)


@pytest.fixture
def place(tmp_path: Path) -> Path:
    path = tmp_path / "place.gpkg"
    new(path)
    lots = geojson(
        tmp_path / "lots.geojson",
        (box(0, 0, 1e-3), {"name": "Alder"}),
        (box(2e-3, 0, 1e-3), {"name": "Birch", "state": "GA"}),
    )
    bring_in(path, lots, layer_name="property")
    return path


def zone_rows(path: Path) -> list[tuple[str, str]]:
    zones = geopackage.read_layer(path, "zone")
    return list(zip(zones["property"], zones["name"], strict=True))


def test_zones_go_to_the_property_that_holds_most_of_them(place: Path, tmp_path: Path) -> None:
    zones = geojson(
        tmp_path / "zones.geojson",
        (box(1e-4, 1e-4), {"name": "Front"}),
        (box(2.9e-3 - 3e-4, 5e-4), {"name": "Over the line, most of it in Birch"}),
    )
    columns = Columns(fixed={"kind": "turf"})
    bring_in(place, Source(zones.file, columns), layer_name="zone")
    assert zone_rows(place) == [
        ("Alder", "Front"),
        ("Birch", "Over the line, most of it in Birch"),
    ]


def test_a_zone_in_no_property_is_a_fault_or_goes_to_the_one_named(
    place: Path, tmp_path: Path
) -> None:
    far = geojson(tmp_path / "far.geojson", (box(0.1, 0.1), {"name": "Far", "kind": "turf"}))
    with pytest.raises(InputFaultsError, match=r"far\.geojson.*Far.*lies in no property"):
        bring_in(place, far, layer_name="zone")
    bring_in(place, far, layer_name="zone", property_name="Cedar")
    assert zone_rows(place) == [("Cedar", "Far")]
    assert "Cedar" in set(geopackage.read_layer(place, "property")["name"])


def test_a_property_that_zones_named_first_gets_its_outline_later(
    place: Path, tmp_path: Path
) -> None:
    far = geojson(tmp_path / "far.geojson", (box(0.1, 0.1), {"name": "Far", "kind": "turf"}))
    bring_in(place, far, layer_name="zone", property_name="Cedar")
    lot = geojson(tmp_path / "cedar.geojson", (box(0.1, 0.1, 1e-3), {"name": "Cedar"}))
    bring_in(place, lot, layer_name="property")
    properties = geopackage.read_layer(place, "property").set_index("name")
    assert properties.geometry["Cedar"].area == pytest.approx(1e-6)
    with pytest.raises(InputFaultsError, match="already a property Cedar"):
        bring_in(place, lot, layer_name="property")


def test_all_faults_are_told_and_nothing_is_written(place: Path, tmp_path: Path) -> None:
    bad = geojson(
        tmp_path / "bad.geojson",
        (box(0, 0), {"name": "Good", "kind": "turf"}),
        (box(1e-4, 0), {"name": "No kind"}),
        (box(1e-4, 0), {"name": "Wrong kind", "kind": "lawn"}),
        (shapely.Point(WEST, SOUTH), {"name": "A point", "kind": "turf"}),
        (None, {"name": "No shape", "kind": "turf"}),
        (box(1e-4, 0), {"name": "Odd number", "kind": "turf", "sun_hours": 90}),
    )
    with pytest.raises(InputFaultsError) as told:
        bring_in(place, bad, layer_name="zone")
    said = [str(fault) for fault in told.value.faults]
    assert len(said) == 5
    for number, problem in enumerate(
        ["kind is missing", "'lawn'", "is a Point", "no shape", "sun_hours is 90"], start=2
    ):
        (line,) = [line for line in said if f"record {number}" in line]
        assert problem in line
        assert "bad.geojson" in line
    assert zone_rows(place) == []

    result = bring_in(place, bad, layer_name="zone", keep_good=True)
    assert (result["added"], result["left_out"]) == (1, 5)
    assert zone_rows(place) == [("Alder", "Good")]


def test_importing_the_same_file_twice_never_doubles_the_ground(
    place: Path, tmp_path: Path
) -> None:
    zones = geojson(tmp_path / "z.geojson", (box(0, 0), {"name": "Front", "kind": "turf"}))
    bring_in(place, zones, layer_name="zone")
    with pytest.raises(InputFaultsError, match="already a zone Alder / Front"):
        bring_in(place, zones, layer_name="zone")
    assert len(zone_rows(place)) == 1


def test_names_are_given_where_the_file_has_none_or_repeats_one(
    place: Path, tmp_path: Path
) -> None:
    zones = geojson(
        tmp_path / "z.geojson",
        (box(0, 0), {"kind": "turf"}),
        (box(5e-4, 0), {"kind": "turf", "name": "Bed"}),
        (box(0, 5e-4), {"kind": "bed", "name": "Bed"}),
    )
    result = bring_in(place, zones, layer_name="zone")
    assert [name for _, name in zone_rows(place)] == ["zone 1", "Bed", "Bed 2"]
    assert any("Bed 2" in note for note in result["notes"])


def test_their_columns_can_be_named_and_a_wrong_name_is_told(place: Path, tmp_path: Path) -> None:
    zones = geojson(
        tmp_path / "z.geojson", (box(0, 0), {"LABEL": "Front", "Cover": "turf", "junk": 1})
    )
    renamed = Columns({"LABEL": "name", "Cover": "kind"})
    result = bring_in(place, Source(zones.file, renamed), layer_name="zone")
    assert zone_rows(place) == [("Alder", "Front")]
    assert "junk" in " ".join(result["notes"])
    wrong = Columns({"Label": "name", "Cover": "kinds"}, {"colour": "red"})
    with pytest.raises(InputFaultsError) as told:
        bring_in(place, Source(zones.file, wrong), layer_name="zone")
    assert len(told.value.faults) == 3


def test_a_bow_tie_is_mended_and_said(place: Path, tmp_path: Path) -> None:
    corners = [(0, 0), (4e-4, 4e-4), (4e-4, 0), (0, 4e-4)]
    bow_tie = shapely.Polygon([(WEST + x, SOUTH + y) for x, y in corners])
    zones = geojson(tmp_path / "z.geojson", (bow_tie, {"name": "Tie", "kind": "turf"}))
    result = bring_in(place, zones, layer_name="zone")
    (repair,) = result["repairs"]
    assert "Tie" in repair["record"]
    assert "Self-intersection" in repair["problem"]
    assert repair["area_before_m2"] == pytest.approx(0.0, abs=0.1)
    assert repair["parts_after"] == 2
    found = area(place, property_name=None, product=None, overrides=Overrides({}))
    whole = shapely.box(WEST, SOUTH, WEST + 4e-4, SOUTH + 4e-4)
    square = geojson(tmp_path / "s.geojson", (whole, {"name": "Square", "kind": "turf"}))
    bring_in(place, square, layer_name="zone")
    both = area(place, property_name=None, product=None, overrides=Overrides({}))["zones"]
    assert found["zones"][0]["gross_m2"] == pytest.approx(both[1]["gross_m2"] / 2, rel=1e-3)


def test_an_answer_beside_a_zone_becomes_a_client_answer(place: Path, tmp_path: Path) -> None:
    about = {"name": "Front", "kind": "turf", "overseeding": "planned", "date": "2026-10-10"}
    zones = geojson(tmp_path / "z.geojson", (box(0, 0), about))
    assert bring_in(place, zones, layer_name="zone")["answers"] == 1
    answer = geopackage.read_layer(place, "client_answer").iloc[0]
    said = [answer[name] for name in ("property", "zone", "question", "answer", "date")]
    assert said == ["Alder", "Front", "overseeding", "planned", "2026-10-10"]


def test_a_reply_sheet_is_checked_against_the_map_and_the_questions(
    place: Path, tmp_path: Path
) -> None:
    sheet = tmp_path / "replies.csv"
    sheet.write_text(
        "property,question,answer,date\n"
        "Alder,overseeding,none,\n"
        "Nobody,overseeding,none,\n"
        "Birch,overseeding,perhaps,\n"
        "Birch,moonlight,yes,\n"
    )
    with pytest.raises(InputFaultsError) as told:
        bring_in(place, Source(sheet), layer_name="client_answer")
    said = " ".join(str(fault) for fault in told.value.faults)
    assert len(told.value.faults) == 3
    for word in ("Nobody", "perhaps", "moonlight"):
        assert word in said
    wide = tmp_path / "wide.csv"
    wide.write_text("property,overseeding,date\nAlder,planned,2026-10-10\nBirch,none,\n")
    assert bring_in(place, Source(wide), layer_name="client_answer")["added"] == 2


def test_an_obstacle_drawn_as_a_line_needs_its_width(place: Path, tmp_path: Path) -> None:
    drive = shapely.LineString([(WEST, SOUTH + 2e-4), (WEST + 4e-4, SOUTH + 2e-4)])
    source = geojson(tmp_path / "drive.geojson", (drive, {"name": "Drive"}))
    with pytest.raises(InputFaultsError, match="width_m"):
        bring_in(place, source, layer_name="obstacle")
    wide = Source(source.file, Columns(fixed={"width_m": "3"}))
    bring_in(place, wide, layer_name="obstacle")
    zones = geojson(tmp_path / "z.geojson", (box(0, 0), {"name": "Front", "kind": "turf"}))
    bring_in(place, zones, layer_name="zone")
    found = area(place, property_name=None, product=None, overrides=Overrides({}))
    length_m = 4e-4 * 93_455  # a degree of longitude at 33 N, to a thousandth
    assert found["zones"][0]["obstacle_m2"] == pytest.approx(3 * length_m, rel=2e-3)


def _within_180(xy: np.ndarray) -> np.ndarray:
    return np.column_stack([(xy[:, 0] + 180.0) % 360.0 - 180.0, xy[:, 1]])


def test_a_lot_across_the_antimeridian_keeps_its_hole(place: Path, tmp_path: Path) -> None:
    """The hole lies wholly on the far side of 180 degrees; it is no ground, and is not lost."""
    shell = shapely.box(179.9995, -17.0, 180.0005, -16.999)
    hole = shapely.box(180.0001, -16.9998, 180.0003, -16.9995)
    lot = shapely.Polygon(shell.exterior, [hole.exterior])
    jumps = shapely.transform(
        lot, lambda xy: np.column_stack([(xy[:, 0] + 180) % 360 - 180, xy[:, 1]])
    )
    about = {"name": "Across", "kind": "turf", "property": "Cedar"}
    result = bring_in(place, geojson(tmp_path / "z.geojson", (jumps, about)), layer_name="zone")
    assert result["repairs"] == []
    found = area(place, property_name="Cedar", product=None, overrides=Overrides({}))["zones"][0]
    assert found["gross_m2"] / found["treatable_m2"] == pytest.approx(1.0)
    whole_m2 = 1e-3 * 106_490 * 1e-3 * 110_671
    assert found["gross_m2"] == pytest.approx(whole_m2 * (1 - 0.06), rel=1e-3)


def test_a_question_is_just_a_column_in_a_file_that_carries_no_answers(
    place: Path, tmp_path: Path
) -> None:
    about = {"name": "Alder", "kind": "pond", "overseeding": "planned"}
    pond = geojson(tmp_path / "pond.geojson", (box(0, 0), about))
    for added in (1, 0):  # the second time it is there already
        result = bring_in(place, pond, layer_name="water")
        assert (result["added"], result["answers"]) == (added, 0)
        assert "overseeding" in " ".join(result["notes"])
    visits = tmp_path / "visits.csv"
    task = table("task").rows[0]["task"]
    visits.write_text(f"property,task,date,overseeding\nAlder,{task},2026-09-24,planned\n")
    assert bring_in(place, Source(visits), layer_name="visit")["answers"] == 0
    assert geopackage.read_layer(place, "client_answer").empty


def test_visits_answers_and_shapes_are_never_doubled(place: Path, tmp_path: Path) -> None:
    task = table("task").rows[0]["task"]
    visits, answers = tmp_path / "visits.csv", tmp_path / "answers.csv"
    visit = f"Alder,{task},2026-09-24,12.5,21\n"
    visits.write_text(
        "property,task,date,area_treated_m2,air_c\n" + visit * 2 + visit.replace("24", "25")
    )
    answers.write_text("property,question,answer,date\n" + "Alder,overseeding,none,\n" * 2)
    pond = (box(0, 0), {"name": "Pond", "kind": "pond"})
    ponds = geojson(tmp_path / "ponds.geojson", pond, pond)
    for layer_name, source, kept in (
        ("visit", Source(visits), 2),
        ("client_answer", Source(answers), 1),
        ("water", ponds, 1),
    ):
        first, second = (bring_in(place, source, layer_name=layer_name) for _ in range(2))
        assert (first["added"], second["added"]) == (kept, 0)
        assert "there already" in " ".join(first["notes"])
        assert len(geopackage.read_layer(place, layer_name)) == kept


def test_what_another_import_adds_while_this_one_reads_is_not_doubled(
    place: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    zones = geojson(tmp_path / "z.geojson", (box(0, 0), {"name": "Front", "kind": "turf"}))
    editing, others = geopackage.editing, iter([zones])

    def after_another(path: Path) -> AbstractContextManager[sqlite3.Connection]:
        for source in others:  # the other import gets the lock first
            bring_in(place, source, layer_name="zone")
        return editing(path)

    monkeypatch.setattr(geopackage, "editing", after_another)
    with pytest.raises(InputFaultsError, match="already a zone Alder / Front"):
        bring_in(place, zones, layer_name="zone")
    assert len(zone_rows(place)) == 1


def test_an_empty_outline_waits_for_its_property_like_none(place: Path, tmp_path: Path) -> None:
    layer = map_layer("property")
    empty = np.array([shapely.MultiPolygon()], dtype=object)
    with geopackage.editing(place) as connection:
        row = {**dict.fromkeys(layer.columns), "name": "Cedar"}
        geopackage.append_rows(connection, layer, [row], empty)
    lot = geojson(tmp_path / "cedar.geojson", (box(0.1, 0.1, 1e-3), {"name": "Cedar"}))
    bring_in(place, lot, layer_name="property")
    properties = geopackage.read_layer(place, "property")
    (cedar,) = properties.geometry[properties["name"] == "Cedar"]
    assert cedar.area == pytest.approx(1e-6)


@pytest.mark.parametrize("layer_name", ["water", "sensitive_site", "obstacle"])
def test_what_has_no_name_is_known_by_its_kind_and_outline(
    place: Path, tmp_path: Path, layer_name: str
) -> None:
    one, other = (map_layer(layer_name).columns["kind"].one_of[index] for index in (0, 1))
    turned = shapely.Polygon(np.roll(shapely.get_coordinates(box(0, 0))[:-1], 2, axis=0))
    first = geojson(tmp_path / "1.geojson", (box(0, 0), {"kind": one}))
    assert bring_in(place, first, layer_name=layer_name)["added"] == 1
    again = geojson(tmp_path / "2.geojson", (turned, {"kind": one}), (box(0, 0), {"kind": other}))
    assert bring_in(place, again, layer_name=layer_name)["added"] == 1
    named = geojson(tmp_path / "3.geojson", (box(0, 0), {"kind": one, "name": "Our pond"}))
    assert bring_in(place, named, layer_name=layer_name)["added"] == 0
    assert len(geopackage.read_layer(place, layer_name)) == 2


def test_a_zone_without_a_name_is_not_drawn_twice(place: Path, tmp_path: Path) -> None:
    zones = geojson(tmp_path / "z.geojson", (box(0, 0), {"kind": "turf"}))
    bring_in(place, zones, layer_name="zone")
    with pytest.raises(InputFaultsError, match="zone 1 has the same outline"):
        bring_in(place, zones, layer_name="zone")
    assert len(zone_rows(place)) == 1


def test_a_reply_sheet_under_another_name_is_the_same_answer(place: Path, tmp_path: Path) -> None:
    text = "property,overseeding,answered_on\nAlder,none,2026-09-01\n"
    for name, added in (("a.csv", 1), ("b.csv", 0)):
        (tmp_path / name).write_text(text)
        result = bring_in(place, Source(tmp_path / name), layer_name="client_answer")
        assert result["added"] == added
