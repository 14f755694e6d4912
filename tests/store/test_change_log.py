"""The log of changes: it keeps what was replaced, whichever program replaced it."""

import json
import random
import subprocess
import sys
import time
from pathlib import Path

import pytest
import shapely

from tests.store.test_geopackage import LAWN, add
from turfmap.foundations.definitions import map_layer
from turfmap.foundations.shapes import shape_array
from turfmap.store import change_log, geopackage
from turfmap.store.geometry_blob import to_blobs


@pytest.fixture
def place(tmp_path: Path) -> Path:
    path = tmp_path / "place.gpkg"
    geopackage.create(path)
    add(path, "front", "back")
    return path


def entries(place: Path) -> list[change_log.Entry]:
    with geopackage.reading(place) as connection:
        (last,) = connection.execute("SELECT max(change) FROM turfmap_change").fetchone()
        found = [change_log.entries_of(connection, number) for number in range(1, last + 1)]
    return [entry for each in found for entry in each]


def by_another_program(place: Path, *statements: str) -> None:
    """Edit the file from a process without our code, in one transaction."""
    script = (
        "import sqlite3, sys\n"
        "c = sqlite3.connect(sys.argv[1], isolation_level=None)\n"
        "for name in ('ST_IsEmpty', 'ST_MinX', 'ST_MaxX', 'ST_MinY', 'ST_MaxY'):\n"
        "    c.create_function(name, 1, lambda blob: 0.0)\n"
        "c.execute('BEGIN')\n"
        "for statement in sys.argv[2:]: c.execute(statement)\n"
        "c.execute('COMMIT')\n"
    )
    subprocess.run([sys.executable, "-I", "-c", script, str(place), *statements], check=True)


def test_the_rows_of_one_piece_of_work_share_a_number(place: Path) -> None:
    add(place, "side")
    told = [(entry.change, entry.who, entry.operation) for entry in entries(place)]
    assert told == [(1, "turfmap", "insert")] * 2 + [(2, "turfmap", "insert")]


def test_edits_of_another_program_are_logged_with_the_row_before(place: Path) -> None:
    """Rows that follow within a second share a number: a trigger cannot see a transaction."""
    by_another_program(
        place, "UPDATE zone SET kind = 'bed' WHERE name = 'front'", "DELETE FROM zone WHERE fid = 2"
    )
    changed, removed = entries(place)[2:]
    assert (changed.change, removed.change) == (2, 2)
    assert (changed.operation, removed.operation) == ("update", "delete")
    assert changed.who is None
    assert changed.before is not None and removed.before is not None
    assert json.loads(changed.before)["kind"] == "turf"
    assert json.loads(removed.before)["name"] == "back"
    assert removed.before_geom == to_blobs(shape_array([LAWN]), srs_id=4326)[0]
    assert changed.row_id is not None and len(changed.row_id) == 32
    time.sleep(1.1)
    by_another_program(place, "UPDATE zone SET kind = 'turf' WHERE name = 'front'")
    assert entries(place)[-1].change == 3


def test_a_replaced_row_is_kept_though_sqlite_tells_no_deletion(place: Path) -> None:
    """https://sqlite.org/lang_conflict.html: REPLACE runs delete triggers only if asked to."""
    by_another_program(
        place, "INSERT OR REPLACE INTO zone (fid, name, kind) VALUES (1, 'other', 'bed')"
    )
    removed, added = entries(place)[2:]
    assert (removed.operation, removed.row_fid, added.operation) == ("delete", 1, "insert")
    assert removed.before is not None
    assert json.loads(removed.before)["name"] == "front"


def test_every_digit_comes_back(place: Path) -> None:
    """SQLite's JSON writes fifteen digits; a double may need seventeen (IEEE 754-2008, 5.12.2)."""
    numbers = [random.Random(seed).uniform(0.0, 24.0) for seed in range(300)]  # noqa: S311
    with geopackage.editing(place) as connection:
        for number in numbers:
            connection.execute("UPDATE zone SET sun_hours = ? WHERE fid = 1", (number,))
    layer = map_layer("zone")
    kept = [
        change_log.row_values(entry.before, layer)["sun_hours"]
        for entry in entries(place)[3:]
        if entry.before is not None
    ]
    assert kept == numbers[:-1]


def test_what_changes_nothing_is_not_logged(place: Path) -> None:
    with geopackage.editing(place) as connection:
        connection.execute("UPDATE zone SET kind = kind")
    assert len(entries(place)) == 2


def test_an_abandoned_edit_leaves_no_entry(place: Path) -> None:
    with pytest.raises(RuntimeError), geopackage.editing(place) as connection:
        connection.execute("DELETE FROM zone")
        raise RuntimeError
    assert len(entries(place)) == 2


def test_a_desktop_gis_sees_the_log_as_a_table(place: Path) -> None:
    """GDAL, from a process of its own, lists it as a layer without geometry."""
    code = "import pyogrio, sys; print(dict(pyogrio.list_layers(sys.argv[1]).tolist()))"
    done = subprocess.run(
        [sys.executable, "-c", code, str(place)], capture_output=True, text=True, check=True
    )
    assert "'turfmap_change': None" in done.stdout


def test_strange_values_of_another_program_do_not_stop_it(place: Path) -> None:
    by_another_program(
        place,
        "UPDATE zone SET notes = x'00ff', sun_hours = 9e999 WHERE fid = 1",
        "UPDATE zone SET notes = 'again', sun_hours = 'abc' WHERE fid = 1",
        "DELETE FROM zone WHERE fid = 1",
    )
    layer = map_layer("zone")
    before = [entry.before for entry in entries(place)[2:]]
    values = [change_log.row_values(text, layer)["sun_hours"] for text in before if text]
    assert values == [None, float("inf"), "abc"]


def test_shapes_and_columns_come_back_to_the_byte(place: Path) -> None:
    moved = shapely.transform(LAWN, lambda corners: corners + 1e-7)
    with geopackage.editing(place) as connection:
        before = connection.execute("SELECT * FROM zone WHERE fid = 1").fetchone()
        blob = to_blobs(shape_array([moved]), srs_id=4326)[0]
        connection.execute("UPDATE zone SET geom = ?, notes = 'x' WHERE fid = 1", (blob,))
    with geopackage.editing(place) as connection:
        change_log.restore(connection, entries(place)[-1])
        assert connection.execute("SELECT * FROM zone WHERE fid = 1").fetchone() == before
    assert "front" in before
