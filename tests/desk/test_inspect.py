"""What is odd about drawn zones: told, written as shapes, or drawn on a page."""

import json
from pathlib import Path

import pytest
import shapely
from pyproj import Geod

from tests.desk.test_bring_in import box, geojson
from tests.views.read_page import PageReader
from turfmap.desk.bring_in import bring_in
from turfmap.desk.inspect import PLAIN, WORDS, inspect
from turfmap.desk.new import new
from turfmap.foundations.errors import InputFaultsError
from turfmap.foundations.shapes import shape_array
from turfmap.store import geopackage
from turfmap.store.geometry_blob import to_blobs


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """Two zones of one property, the second over half of the first."""
    path = tmp_path / "place.gpkg"
    new(path)
    bring_in(
        path,
        geojson(tmp_path / "property.geojson", (box(-1e-4, -1e-4, 1e-3), {"name": "Alder"})),
        layer_name="property",
    )
    zones = [
        (box(0, 0, 1e-4), {"name": "Front", "kind": "turf"}),
        (box(5e-5, 0, 1e-4), {"name": "Side", "kind": "turf"}),
    ]
    bring_in(path, geojson(tmp_path / "zone.geojson", *zones), layer_name="zone")
    return path


def test_a_page_shows_what_the_answer_tells(place: Path, tmp_path: Path) -> None:
    out = tmp_path / "odd.html"
    (found,) = inspect(place, out=out)["oddities"]
    read = PageReader(out.read_text(encoding="utf-8"))
    odd = json.loads(read.data["map-data"])["odd"]
    assert odd["problem"] == [found["problem_words"]] == ["drawn twice"]
    assert odd["words"] == ["the shared ground counts for Alder / Front"]
    assert odd["area_m2"] == [pytest.approx(found["area_m2"], abs=0.01)]
    assert read.heading == "Alder"


def test_shapes_are_written_too(place: Path, tmp_path: Path) -> None:
    out = tmp_path / "odd.GeoJSON"
    inspect(place, out=out)
    (feature,) = json.loads(out.read_text(encoding="utf-8"))["features"]
    assert feature["properties"]["zone"] == "Side"


def test_a_property_line_broken_in_another_program_is_told(place: Path, tmp_path: Path) -> None:
    west, south = -84.0, 33.0
    corners = [
        (west, south),
        (west + 1e-3, south),
        (west, south + 1e-3),
        (west + 1e-3, south + 1e-3),
    ]
    (blob,) = to_blobs(shape_array([shapely.MultiPolygon([shapely.Polygon(corners)])]), srs_id=4326)
    with geopackage.editing(place) as connection:
        connection.execute("UPDATE property SET geom = ?", (blob,))
        connection.execute("UPDATE zone SET property = NULL")
    found = inspect(place, out=tmp_path / "odd.html")["oddities"]
    (line,) = (one for one in found if one["problem"] == "broken_line")
    assert (line["property"], line["zone"]) == ("Alder", "")
    assert line["words"].startswith("Self-intersection")  # GEOS' own words
    # Two of the four triangles that the diagonals cut a square into.
    assert line["area_m2"] == pytest.approx(93.3 * 110.9 / 2, rel=0.01)


def test_properties_that_share_ground_are_told(tmp_path: Path) -> None:
    """Half of one lot is the other's; the third only touches them."""
    path = tmp_path / "place.gpkg"
    new(path)
    lots = [
        (box(0, 0, 1e-3), {"name": "Alder"}),
        (box(5e-4, 0, 1e-3), {"name": "Birch"}),
        (box(1.5e-3 - 1e-8, 0, 1e-3), {"name": "Cedar"}),
    ]
    bring_in(path, geojson(tmp_path / "property.geojson", *lots), layer_name="property")
    out = tmp_path / "odd.html"
    (found,) = inspect(path, out=out)["oddities"]
    assert (found["property"], found["problem"]) == ("Birch", "shared_line")
    assert found["words"] == "it is shared with Alder"
    area_m2 = abs(Geod(ellps="WGS84").geometry_area_perimeter(box(5e-4, 0, 5e-4))[0]) * 2
    assert found["area_m2"] == pytest.approx(area_m2, rel=1e-4)
    assert "in two properties" in out.read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["odd.pdf", "odd"])
def test_another_ending_is_refused_and_nothing_is_written(
    place: Path, tmp_path: Path, name: str
) -> None:
    with pytest.raises(InputFaultsError, match=r"end its name in \.html"):
        inspect(place, out=tmp_path / name)
    assert not (tmp_path / name).exists()


def test_every_problem_has_words_and_says_what_to_do() -> None:
    assert set(WORDS) == set(PLAIN)
