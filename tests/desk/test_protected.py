"""What protects water and people when the map is imperfect: less is never kept in silence."""

import json
from pathlib import Path
from typing import Any

import pytest
import shapely

from tests.desk.test_bring_in import SOUTH, WEST, box, geojson
from turfmap.desk.area import area
from turfmap.desk.bring_in import bring_in
from turfmap.desk.import_batch import Source
from turfmap.desk.new import new
from turfmap.desk.nospray import nospray
from turfmap.desk.protected import Overrides
from turfmap.foundations.shapes import shape_array
from turfmap.store import geopackage
from turfmap.store.geometry_blob import to_blobs

STREAM = shapely.LineString([(WEST - 5e-5, SOUTH - 1e-3), (WEST - 5e-5, SOUTH + 1e-3)])
NO_MARGIN = Overrides({}, margin_m=0.0)


@pytest.fixture
def place(tmp_path: Path) -> Path:
    path = tmp_path / "place.gpkg"
    new(path)
    front = {"name": "Front", "kind": "turf", "property": "Alder"}
    bring_in(path, geojson(tmp_path / "z.geojson", (box(0, 0), front)), layer_name="zone")
    return path


def add_water(path: Path, folder: Path, shape: shapely.Geometry, **about: Any) -> list[str]:
    source = geojson(folder / "w.geojson", (shape, {"name": "Branch", "kind": "stream"} | about))
    return list(bring_in(path, source, layer_name="water")["notes"])


def judged(path: Path, overrides: Overrides, product: str | None = None) -> tuple[float, str]:
    """Return the no-spray ground of the lawn [m2] and all that is said."""
    found = area(path, property_name=None, product=product, overrides=overrides)
    return found["zones"][0]["no_spray_m2"], " ".join(found["cautions"])


def test_a_stream_drawn_as_a_line_has_its_width(place: Path, tmp_path: Path) -> None:
    add_water(place, tmp_path, STREAM)
    thin_m2, said = judged(place, NO_MARGIN)
    assert "kept from its middle only: Branch" in said
    with geopackage.editing(place) as connection:
        connection.execute("UPDATE water SET width_m = 6.0")
    wide_m2, said = judged(place, NO_MARGIN)
    assert "middle" not in said
    along_m = 4e-4 * 110_901
    assert wide_m2 - thin_m2 == pytest.approx(3.0 * along_m, rel=1e-2)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("position_margin_m = -50", "position_margin_m is not as it may be"),
        ("kind = 'creek'", "not a kind that turfmap knows"),
        ("geom = NULL", "nothing is kept from it: Branch"),
    ],
)
def test_what_another_program_wrote_is_said_and_never_shortens_a_setback(
    place: Path, tmp_path: Path, change: str, words: str
) -> None:
    add_water(place, tmp_path, STREAM)
    before_m2, _ = judged(place, Overrides({}))
    with geopackage.editing(place) as connection:
        connection.execute(f"UPDATE water SET {change}")  # noqa: S608
    after_m2, said = judged(place, Overrides({}))
    assert words in said
    assert after_m2 >= before_m2 or "geom" in change
    out = tmp_path / "no-spray.geojson"
    nospray(place, out=out, property_name=None, product=None, overrides=Overrides({}))
    (about,) = [feature["properties"] for feature in json.loads(out.read_text())["features"]]
    assert about["source"]
    assert about["verified"] is False


def test_less_than_is_asked_for_is_told_with_what_is_asked_for(place: Path, tmp_path: Path) -> None:
    add_water(place, tmp_path, STREAM)
    _, said = judged(place, Overrides({"stream": 3.048}), product="atrazine")
    assert "stream: 10 ft is kept (given for this run), where 66 ft is asked for (E2" in said
    _, said = judged(place, Overrides({}, None, {"hood": 90.0}), product="atrazine")
    assert "Nothing was reduced" in said
    with geopackage.editing(place) as connection:
        connection.execute("UPDATE water SET position_margin_m = 9")
    assert "smaller position margin" in judged(place, NO_MARGIN)[1]


@pytest.mark.parametrize(
    "shape",
    [
        shapely.Polygon([(WEST + 1e-4, SOUTH + y * 1e-4) for y in (1, 2, 3, 1)]),
        shapely.LineString([(WEST + 1e-4, SOUTH + 1e-4)] * 2),
    ],
)
def test_water_whose_area_is_lost_is_still_kept_clear_of(
    place: Path, tmp_path: Path, shape: shapely.Geometry
) -> None:
    """Another program may write a ring that goes out and back: where it is, is known."""
    add_water(place, tmp_path, STREAM)
    blob = to_blobs(shape_array([shape]), srs_id=4326)[0]
    with geopackage.editing(place) as connection:
        connection.execute("UPDATE water SET geom = ?", (blob,))
    lost_m2, said = judged(place, NO_MARGIN)
    assert lost_m2 > 170.0
    assert "is broken" in said


def test_a_client_s_paper_names_no_other_client_s_water(place: Path, tmp_path: Path) -> None:
    add_water(place, tmp_path, shapely.Point(-85.0, 33.0), kind="pond", name="Secret pond")
    found = area(place, property_name="Alder", product=None, overrides=Overrides({}))
    assert "Secret" not in str(found)


def test_a_well_on_the_other_side_of_the_world_is_told(place: Path, tmp_path: Path) -> None:
    """Longitude and latitude swapped is the commonest slip of all."""
    add_water(place, tmp_path, shapely.Point(33.0, -84.0), kind="well", name="Swapped")
    assert "look whether the place is right: Swapped" in judged(place, Overrides({}))[1]


def test_the_same_water_twice_is_left_out(place: Path, tmp_path: Path) -> None:
    assert add_water(place, tmp_path, STREAM) == []
    (note,) = add_water(place, tmp_path, STREAM)
    assert "there already" in note
    assert len(geopackage.read_layer(place, "water")) == 1


def test_rules_for_fertiliser_are_reached(place: Path, tmp_path: Path) -> None:
    """Maryland Agriculture 8-803.5 asks for 15 ft; the general 25 ft is wider and wins (read)."""
    add_water(place, tmp_path, STREAM)
    with geopackage.editing(place) as connection:
        connection.execute("UPDATE property SET state = 'MD'")
    found = area(
        place,
        property_name=None,
        product=None,
        overrides=Overrides({}, margin_m=0.0, kind="fertilise", method="deflector"),
    )
    assert found["setbacks"][0]["distance_m"] == pytest.approx(25 * 0.3048)


def test_a_county_s_own_row_counts_where_it_is_named_behind_the_state(
    place: Path, tmp_path: Path
) -> None:
    """The row is invented; what it must do follows from its own words."""
    add_water(place, tmp_path, STREAM)
    row = "category,place,distance_ft,scope\nstream,Clay County,75,county ordinance\n"
    (tmp_path / "own.csv").write_text(row)
    bring_in(place, Source(tmp_path / "own.csv"), layer_name="setback")
    for state, kept_ft in (("FL", 25.0), ("FL; Clay County", 75.0), ("GA;clay county", 75.0)):
        with geopackage.editing(place) as connection:
            connection.execute("UPDATE property SET state = ?", (state,))
        found = area(place, property_name=None, product=None, overrides=NO_MARGIN)
        assert found["setbacks"][0]["distance_m"] == pytest.approx(kept_ft * 0.3048)
        is_told = any("Clay County" in said for said in found["cautions"])
        assert is_told == (kept_ft == 25.0)
