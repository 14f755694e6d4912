"""Rows that lie near: the R-tree gives what a look at every row gives."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from turfmap.foundations.definitions import map_layer
from turfmap.foundations.shapes import shape_array
from turfmap.store import geopackage
from turfmap.store.geopackage import append_rows, as_multi_polygons
from turfmap.store.near_rows import extent, near_boxes, near_rows, rows_with, widest

EVERYWHERE = np.array([[-180.0, -90.0, 180.0, 90.0]])
NOWHERE = np.full((1, 4), np.nan)


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """300 zones of up to 60 m within 2 km, a zone without a shape, and two either side of 180."""
    path = tmp_path_factory.mktemp("near") / "place.gpkg"
    geopackage.create(path)
    rng = np.random.default_rng(8)
    south_west = rng.uniform((-84.02, 33.50), (-84.0, 33.52), (300, 2))
    north_east = south_west + rng.uniform(1e-5, 6e-4, (300, 2))
    shapes: list[Any] = [*shape_array(shapely.box(*south_west.T, *north_east.T))]
    shapes += [None, shapely.box(179.999, 10, 180, 10.001), shapely.box(-180, 10, -179.999, 10.001)]
    layer = map_layer("zone")
    blank: dict[str, Any] = dict.fromkeys(layer.columns) | {"kind": "turf"}
    rows = [blank | {"name": f"zone {index}"} for index in range(len(shapes))]
    rows[7]["position_margin_m"] = 4.5
    with geopackage.editing(path) as connection:
        append_rows(connection, layer, rows, as_multi_polygons(np.array(shapes, dtype=object)))
        connection.execute("UPDATE zone SET position_margin_m = 'far' WHERE fid = 9")
        connection.execute("UPDATE zone SET position_margin_m = 9e999 WHERE fid = 10")
    return path


def test_rows_near_some_boxes_are_those_that_meet_them(place: Path) -> None:
    rng = np.random.default_rng(9)
    whole = geopackage.read_layer(place, "zone")
    for count in (1, 3, 80):
        corner = rng.uniform((-84.02, 33.50), (-84.0, 33.52), (count, 2))
        boxes = np.hstack([corner, corner + 1e-3])
        looked_at = shape_array(shapely.box(*boxes.T))
        if count > 50:  # so many are looked up as one
            looked_at = shape_array(shapely.box(*shapely.total_bounds(looked_at)))
        zones = np.asarray(whole.geometry.array, dtype=object)
        meets = np.asarray(shapely.intersects(zones[:, None], looked_at))
        with geopackage.reading(place) as connection:
            found = near_rows(connection, "zone", boxes, file="")
            known = near_boxes(connection, "zone", boxes)
        # The R-tree rounds outward to single precision: about a metre in longitude.
        missing = set(whole["fid"][meets.any(axis=1)]) - set(found["fid"])
        more = set(found["fid"]) - set(whole["fid"][meets.any(axis=1)])
        assert not missing
        assert len(more) <= 3 * count
        assert len(known) == len(found)
        assert found["fid"].is_monotonic_increasing


def test_both_sides_of_the_antimeridian_are_near(place: Path) -> None:
    with geopackage.reading(place) as connection:
        for boxes in ([[179.9, 9, 180.1, 11]], [[-180.1, 9, -179.9, 11]]):
            found = near_rows(connection, "zone", np.array(boxes, dtype=float), file="")
            assert list(found["name"]) == ["zone 301", "zone 302"]


def test_nothing_is_near_nothing(place: Path) -> None:
    with geopackage.reading(place) as connection:
        assert len(near_rows(connection, "zone", NOWHERE, file="")) == 0
        assert len(near_rows(connection, "zone", np.empty((0, 4)), file="")) == 0
        assert len(near_rows(connection, "zone", EVERYWHERE, file="")) == 302


def test_the_widest_is_a_number(place: Path) -> None:
    """Text and infinities that another program wrote count for nothing."""
    with geopackage.reading(place) as connection:
        assert widest(connection, "zone", "position_margin_m") == 4.5
        assert widest(connection, "water", "width_m") == 0.0


def test_rows_by_value_and_the_extent(place: Path) -> None:
    with geopackage.reading(place) as connection:
        found = rows_with(connection, "zone", "name", ["zone 3", "zone 5", "none"], file="")
        assert list(found["name"]) == ["zone 3", "zone 5"]
        assert len(rows_with(connection, "zone", "name", [], file="")) == 0
        west, south, east, north = extent(connection, ["zone", "water"]) or [0.0] * 4
        assert (west, east) == (-180.0, 180.0)
        assert south == pytest.approx(10.0, abs=1e-5) and north == pytest.approx(33.52, abs=1e-3)
        assert extent(connection, ["water"]) is None


def test_a_layer_in_another_system_is_read_whole(place: Path, tmp_path: Path) -> None:
    """Boxes in degrees find nothing in feet: nothing may be missed for that."""
    copy = tmp_path / "other.gpkg"
    copy.write_bytes(place.read_bytes())
    with geopackage.editing(copy) as connection:
        connection.execute(
            "INSERT INTO gpkg_spatial_ref_sys SELECT 'Georgia West', 2240, 'EPSG', 2240,"
            " definition, '' FROM gpkg_spatial_ref_sys WHERE srs_id = 4326"
        )
        connection.execute(
            "UPDATE gpkg_geometry_columns SET srs_id = 2240 WHERE table_name = 'water'"
        )
        connection.execute(
            "INSERT INTO water (name, kind, geom)"
            " SELECT 'pond', 'pond', geom FROM zone WHERE fid = 1"
        )
    with geopackage.reading(copy) as connection:
        found = near_rows(connection, "water", np.array([[-84.0, 33.5, -83.9, 33.6]]), file="")
    assert list(found["name"]) == ["pond"]
    assert found.crs == "EPSG:4326"
