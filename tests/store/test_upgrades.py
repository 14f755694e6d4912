"""A place of an earlier layout: brought up to date whole, its copy beside it, or left alone."""

import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from tests.store.test_geopackage import add
from turfmap.foundations.errors import InputFaultsError
from turfmap.store import geopackage, upgrades


@pytest.fixture
def old(tmp_path: Path) -> Path:
    """Return a file as layout 1 was: no log of changes, and here one column fewer."""
    path = tmp_path / "place.gpkg"
    geopackage.create(path)
    add(path, "front", "back")
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA synchronous = OFF")
    connection.execute("BEGIN")
    found = connection.execute(
        "SELECT name FROM sqlite_master WHERE name LIKE '%\\_change\\_%'"
        " ESCAPE '\\' AND type = 'trigger'"
    ).fetchall()
    for (name,) in found:
        connection.execute(f"DROP TRIGGER {name}")
    assert found
    connection.execute("DROP TABLE turfmap_change")
    connection.execute("DELETE FROM gpkg_contents WHERE table_name = 'turfmap_change'")
    connection.execute("ALTER TABLE zone DROP COLUMN soil")
    connection.execute("UPDATE gpkg_metadata SET metadata = 'turfmap file format 1'")
    connection.execute("COMMIT")
    connection.close()
    return path


def validated(path: Path) -> str:
    """Return what GDAL's GeoPackage validator says, extra checks on, warnings as errors."""
    command = [sys.executable, "-m", "osgeo_utils.samples.validate_gpkg"]
    command += ["--extra", "--warning-as-error", "-k", str(path)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    return "" if done.returncode == 0 else done.stdout + done.stderr


def test_it_gets_the_log_and_the_columns_and_leaves_a_copy(old: Path) -> None:
    before = old.read_bytes()
    assert geopackage.read_layer(old, "zone")["soil"].isna().all()
    copy = old.with_name("place.before-upgrade.gpkg")
    assert copy.stat().st_size == len(before)
    with sqlite3.connect(copy) as connection:
        assert upgrades.format_version(connection) == 1
        assert connection.execute("SELECT name FROM zone ORDER BY fid").fetchall() == [
            ("front",),
            ("back",),
        ]
    connection.close()
    with geopackage.editing(old) as connection:
        connection.execute("UPDATE zone SET soil = 'clay' WHERE name = 'front'")
    with geopackage.reading(old) as connection:
        assert connection.execute("SELECT change, layer FROM turfmap_change").fetchall() == [
            (1, "zone")
        ]
    assert validated(old) == ""
    assert len(list(old.parent.iterdir())) == 2  # once, and nothing half made


def test_an_older_copy_is_never_written_over(old: Path) -> None:
    taken = old.with_name("place.before-upgrade.gpkg")
    taken.write_text("mine", encoding="utf-8")
    geopackage.read_layer(old, "zone")
    assert taken.read_text(encoding="utf-8") == "mine"
    assert old.with_name("place.before-upgrade-2.gpkg").exists()


def test_a_file_that_may_not_be_written_to_is_refused_untouched(
    old: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The tests may run as a user whom no permission stops, so the answer is put in its mouth."""
    before = old.read_bytes()
    monkeypatch.setattr("turfmap.store.geopackage.os.access", lambda *_: False)
    with pytest.raises(
        InputFaultsError, match=r"brought up to date once.*may not be written"
    ) as told:
        geopackage.read_layer(old, "zone")
    assert len(told.value.faults) == 1
    assert old.read_bytes() == before
    assert len(list(old.parent.iterdir())) == 1


def test_without_room_for_a_copy_nothing_changes(
    old: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = old.read_bytes()

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("turfmap.store.upgrades.move_unless_there", full)
    with pytest.raises(InputFaultsError, match="no copy can be kept beside it"):
        geopackage.read_layer(old, "zone")
    assert old.read_bytes() == before
    assert [path.name for path in old.parent.iterdir()] == ["place.gpkg"]


def test_a_failure_half_way_leaves_the_old_layout(
    old: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = old.read_bytes()

    def broken(_: object) -> None:
        raise sqlite3.OperationalError("disk I/O error")

    monkeypatch.setattr("turfmap.store.change_log.add_change_log", broken)
    with pytest.raises(InputFaultsError, match="nothing was written"):
        geopackage.read_layer(old, "zone")
    assert old.read_bytes() == before
    assert [path.name for path in old.parent.iterdir()] == ["place.gpkg"]


def test_a_column_gained_later_is_in_the_log_too(old: Path) -> None:
    """A place of the present number that lacks a column, as when a layer has grown since."""
    geopackage.read_layer(old, "zone")
    connection = sqlite3.connect(old, isolation_level=None)
    for name in ("insert", "update", "delete", "replace"):
        connection.execute(f"DROP TRIGGER zone_change_{name}")
    connection.execute("ALTER TABLE zone DROP COLUMN soil")
    for name in ("insert", "update", "delete", "replace"):
        connection.execute(
            f"CREATE TRIGGER zone_change_{name} AFTER UPDATE OF name ON zone BEGIN SELECT 1; END"
        )
    connection.close()
    with geopackage.editing(old) as connection:
        connection.execute("UPDATE zone SET soil = 'clay' WHERE name = 'front'")
    with geopackage.reading(old) as connection:
        (text,) = connection.execute("SELECT before FROM turfmap_change").fetchone()
    assert '"soil":null' in text
    assert validated(old) == ""
