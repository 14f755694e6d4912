"""The user's GeoPackage: standard, whole, and never half written."""

import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pyogrio
import pytest
import shapely

from turfmap.foundations.definitions import Row, map_layer
from turfmap.foundations.errors import InputFaultsError
from turfmap.foundations.shapes import Shapes, shape_array
from turfmap.store import geopackage
from turfmap.store.geometry_blob import from_blobs, to_blobs

LAWN = shapely.MultiPolygon([shapely.box(-84.0, 33.0, -83.999, 33.001)])


@pytest.fixture
def place(tmp_path: Path) -> Path:
    path = tmp_path / "place.gpkg"
    geopackage.create(path)
    return path


def zone(name: str) -> Row:
    columns: Row = dict.fromkeys(map_layer("zone").columns)
    return columns | {"name": name, "property": "Alder", "kind": "turf"}


def add(path: Path, *names: str, shape: shapely.Geometry = LAWN) -> None:
    with geopackage.editing(path) as connection:
        shapes: Shapes = shape_array([shape] * len(names))
        rows = [zone(name) for name in names]
        geopackage.append_rows(connection, map_layer("zone"), rows, shapes)


def test_it_passes_a_standard_validator(place: Path) -> None:
    """GDAL's GeoPackage validator (osgeo_utils), extra checks on, warnings as errors."""
    add(place, "front", "back")
    command = [sys.executable, "-m", "osgeo_utils.samples.validate_gpkg"]
    command += ["--extra", "--warning-as-error", "-k", str(place)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_gdal_reads_layers_extent_and_drop_downs(place: Path) -> None:
    """A client that we did not write sees what we wrote, allowed values included."""
    add(place, "front")
    found = pyogrio.read_dataframe(place, layer="zone")
    assert found.geometry.iloc[0].equals(LAWN)
    assert found["name"].tolist() == ["front"]
    bounds = (-84.0005, 32.9995, -83.9995, 33.0005)
    assert len(pyogrio.read_dataframe(place, layer="zone", bbox=bounds)) == 1
    assert pyogrio.read_info(place, layer="zone")["total_bounds"] == pytest.approx(LAWN.bounds)
    with sqlite3.connect(place) as connection:
        kinds = connection.execute(
            "SELECT value FROM gpkg_data_column_constraints"
            " JOIN gpkg_data_columns USING (constraint_name)"
            " WHERE table_name = 'zone' AND column_name = 'kind' AND constraint_type = 'enum'"
        ).fetchall()
    connection.close()
    assert ("turf",) in kinds


def test_the_r_tree_follows_an_update_through_plain_sqlite(place: Path) -> None:
    """Without the registered functions any update fails: "no such function: ST_IsEmpty"."""
    add(place, "front")
    moved = to_blobs(shape_array([shapely.transform(LAWN, lambda xy: xy + 1.0)]), srs_id=4326)[0]
    bare = sqlite3.connect(place)
    with pytest.raises(sqlite3.OperationalError, match="ST_"):
        bare.execute("UPDATE zone SET geom = ?", (moved,))
    bare.close()
    with geopackage.editing(place) as connection:
        connection.execute("UPDATE zone SET geom = ?", (moved,))
        (west,) = connection.execute("SELECT minx FROM rtree_zone_geom").fetchone()
    assert west == pytest.approx(-83.0, abs=1e-5)


def test_a_row_drawn_by_another_program_reads_back(place: Path, tmp_path: Path) -> None:
    """GDAL appends from a process of its own; the row gets a lasting identity by itself."""
    code = (
        "import geopandas as g, shapely, sys\n"
        "f = g.GeoDataFrame({'name': ['side'], 'property': ['Alder'], 'kind': ['bed']},"
        " geometry=[shapely.MultiPolygon([shapely.box(-84, 33, -83.99, 33.01)])], crs=4326)\n"
        "f.to_file(sys.argv[1], layer='zone', mode='a')\n"
    )
    subprocess.run([sys.executable, "-c", code, str(place)], check=True, cwd=tmp_path)
    found = geopackage.read_layer(place, "zone")
    assert found["name"].tolist() == ["side"]
    assert len(found["id"].iloc[0]) == 32


def test_an_error_inside_an_edit_leaves_nothing(place: Path) -> None:
    add(place, "front")

    class Stop(Exception):  # noqa: N818
        pass

    with pytest.raises(Stop), geopackage.editing(place) as connection:
        rows = [zone("back")]
        geopackage.append_rows(connection, map_layer("zone"), rows, shape_array([LAWN]))
        raise Stop
    assert geopackage.read_layer(place, "zone")["name"].tolist() == ["front"]


def test_a_kill_in_the_middle_of_an_edit_leaves_the_file_as_it_was(place: Path) -> None:
    """The journal that a killed program leaves is rolled back by our next opener."""
    add(place, "front")
    code = (
        "import sys, time; sys.path.insert(0, sys.argv[2])\n"
        "from pathlib import Path\n"
        "from turfmap.store import geopackage\n"
        "with geopackage.editing(Path(sys.argv[1])) as c:\n"
        "    c.execute('PRAGMA cache_size = 1')\n"
        '    c.execute("DELETE FROM zone")\n'
        "    c.executemany(\"INSERT INTO visit (property, task, date) VALUES ('x', 'y', 'z')\","
        " [()] * 5000)\n"
        "    print('ready', flush=True); time.sleep(60)\n"
    )
    root = str(Path(__file__).parents[2])
    with subprocess.Popen(
        [sys.executable, "-c", code, str(place), root], stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n"
        process.kill()
    assert geopackage.read_layer(place, "zone")["name"].tolist() == ["front"]
    assert geopackage.read_layer(place, "visit").empty


def test_a_file_locked_by_another_program_is_told_in_a_sentence(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(geopackage, "SECONDS_TO_WAIT_FOR_A_LOCK", 0.1)
    other = sqlite3.connect(place, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    started = time.monotonic()
    with pytest.raises(InputFaultsError, match="another program is writing to it"):
        add(place, "front")
    assert time.monotonic() - started < 5
    other.close()


@pytest.mark.parametrize("content", [b"", b"not a database at all, but long enough" * 40])
def test_a_file_that_is_not_ours_is_refused_and_left_alone(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "other.gpkg"
    path.write_bytes(content)
    with pytest.raises(InputFaultsError):
        geopackage.read_layer(path, "zone")
    with pytest.raises(InputFaultsError):
        geopackage.create(path)
    assert path.read_bytes() == content


def test_a_file_of_a_newer_turfmap_is_refused(place: Path) -> None:
    with sqlite3.connect(place) as connection:
        connection.execute("UPDATE gpkg_metadata SET metadata = 'turfmap file format 999'")
    connection.close()
    with pytest.raises(InputFaultsError, match="newer turfmap"):
        geopackage.read_layer(place, "zone")


def test_blobs_with_and_without_envelope_read_alike() -> None:
    """OGC 12-128r18, clause 2.1.3: the header is 8 bytes, or 40 with an envelope."""
    shapes = shape_array([LAWN, None, shapely.Point(1, 2)])
    with_envelope = to_blobs(shapes, srs_id=4326)
    lawn = with_envelope[0]
    assert lawn is not None
    bare = lawn[:3] + bytes([lawn[3] & ~0b1110]) + lawn[4:8] + lawn[40:]
    assert from_blobs([bare])[0].equals(LAWN)
    assert [shape is None for shape in from_blobs(with_envelope)] == [False, True, False]


# Columns of gpkg_spatial_ref_sys; -1 is the standard's own "undefined Cartesian" (GeoPackage 1.3,
# requirement 11, from memory), EPSG:5703 a height system.
@pytest.mark.parametrize(
    ("organization", "code"), [("NONE", -1), ("site", 100_001), ("EPSG", 5703)]
)
def test_a_layer_in_a_system_that_nobody_can_place_is_told_by_name(
    place: Path, organization: str, code: int
) -> None:
    with geopackage.editing(place) as connection:
        connection.execute(
            "INSERT OR IGNORE INTO gpkg_spatial_ref_sys VALUES (?, ?, ?, ?, ?, NULL)",
            ("drawn by hand", code, organization, code, "undefined"),
        )
        connection.execute(
            "UPDATE gpkg_geometry_columns SET srs_id = ? WHERE table_name = 'zone'", (code,)
        )
    with pytest.raises(InputFaultsError, match=rf"layer zone.*{organization}:{code}.*EPSG:4326"):
        geopackage.read_layer(place, "zone")
    assert geopackage.read_layer(place, "property").crs == "EPSG:4326"
