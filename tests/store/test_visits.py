"""The record in the file: rows are added by anybody, changed by nobody, and corrected once."""

import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from turfmap.foundations.definitions import Row, map_layer
from turfmap.foundations.errors import InputFaultsError
from turfmap.store import geopackage, visits


def visit(**facts: object) -> Row:
    columns: Row = dict.fromkeys(map_layer("visit").columns)
    day = {"property": "Alder", "task": "aeration", "date": date(2026, 9, 25)}
    return columns | day | facts


def add(path: Path, *rows: Row) -> None:
    with geopackage.editing(path) as connection:
        visits.append(connection, rows)


def stands(path: Path) -> list[str]:
    return [str(name) for name in visits.standing(geopackage.read_layer(path, "visit"))["record"]]


@pytest.fixture
def place(tmp_path: Path) -> Path:
    path = tmp_path / "place.gpkg"
    geopackage.create(path)
    add(path, visit(record="one", zone="Front"), visit(record="one", zone="Back"))
    return path


@pytest.fixture
def other_program(place: Path) -> Iterator[sqlite3.Connection]:
    """SQLite as any other program opens it: none of our code, autocommit."""
    connection = sqlite3.connect(place, isolation_level=None)
    yield connection
    connection.close()


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE visit SET amount = 0",
        "UPDATE visit SET id = 'another' WHERE zone = 'Front'",
        "UPDATE visit SET id = NULL",
        "UPDATE OR REPLACE visit SET fid = 2 WHERE fid = 1",
        "DELETE FROM visit",
        "INSERT OR REPLACE INTO visit (fid, property, task, date) VALUES (1, 'x', 'y', 'z')",
        "INSERT INTO visit (fid, property, task, date) VALUES (1, 'x', 'y', 'z')"
        " ON CONFLICT (fid) DO UPDATE SET property = 'x'",
    ],
)
def test_another_program_cannot_change_what_was_recorded(
    place: Path, other_program: sqlite3.Connection, statement: str
) -> None:
    everything = "SELECT * FROM visit ORDER BY fid"
    before = other_program.execute(everything).fetchall()
    with pytest.raises(sqlite3.IntegrityError, match="never changed or removed: add a row"):
        other_program.execute(statement)
    assert other_program.execute(everything).fetchall() == before


def test_another_program_adds_a_row_and_it_gets_an_identity(
    place: Path, other_program: sqlite3.Connection
) -> None:
    """A desktop GIS that copies a row copies its identity too; the copy gets its own."""
    other_program.execute(
        "INSERT INTO visit (id, property, task, date)"
        " SELECT id, property, task, date FROM visit WHERE fid = 1"
    )
    found = geopackage.read_layer(place, "visit")
    assert len(found) == 3
    assert found["id"].is_unique
    assert list(visits.record_names(found)) == ["one", "one", found["id"].iloc[2]]


def test_gdal_adds_rows(place: Path, tmp_path: Path) -> None:
    """GDAL from a process of its own: the triggers do not stand in the way of a new row."""
    code = (
        "import pandas as p, pyogrio, sys\n"
        "f = p.DataFrame({'property': ['Alder'], 'task': ['aeration'], 'date': ['2026-09-26']})\n"
        "pyogrio.write_dataframe(f, sys.argv[1], layer='visit', append=True)\n"
    )
    subprocess.run([sys.executable, "-c", code, str(place)], check=True, cwd=tmp_path)
    assert len(geopackage.read_layer(place, "visit")) == 3


def test_a_corrected_record_no_longer_stands_and_is_still_there(place: Path) -> None:
    add(place, visit(record="two", corrects="one"), visit(record="two", corrects="one", zone="B"))
    assert stands(place) == ["two", "two"]
    add(place, visit(record="three", corrects="two"))
    assert stands(place) == ["three"]
    add(place, visit(record="four", corrects="three", cancelled=True))
    assert stands(place) == []
    assert len(geopackage.read_layer(place, "visit")) == 6


def test_a_row_without_a_record_is_corrected_by_its_identity(place: Path) -> None:
    """Rows that were imported, or drawn in a desktop GIS, have no record."""
    add(place, visit())
    name = geopackage.read_layer(place, "visit")["id"].iloc[2]
    add(place, visit(record="two", corrects=name))
    assert stands(place) == ["one", "one", "two"]


@pytest.mark.parametrize(
    ("corrects", "words"), [("nothing", "must name a record"), ("one", "corrected already")]
)
def test_a_correction_names_a_record_that_stands(place: Path, corrects: str, words: str) -> None:
    """Two that take the place of one would count the work twice."""
    add(place, visit(record="two", corrects="one"))
    with pytest.raises(InputFaultsError, match=words):
        add(place, visit(record="five"), visit(record="six", corrects=corrects))
    assert stands(place) == ["two"]


def test_the_validator_passes_a_file_with_records(place: Path) -> None:
    """GDAL's GeoPackage validator (osgeo_utils), extra checks on, warnings as errors."""
    command = [sys.executable, "-m", "osgeo_utils.samples.validate_gpkg"]
    command += ["--extra", "--warning-as-error", "-k", str(place)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
