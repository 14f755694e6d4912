"""Branches split off and home again, and a place to GeoParquet and back: rows keep their identity.

What is compared is read by other libraries than ours: sqlite3 for rows, geopandas for GeoParquet.
"""

import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

import geopandas as gpd
import pyarrow.parquet
import pytest

from tests.bench import scale
from turfmap.desk.area import area
from turfmap.desk.branch import split_by, split_off
from turfmap.desk.export import bring_back, export_place
from turfmap.desk.merge import KEEP, TAKE, merge_branch
from turfmap.desk.undo import undo
from turfmap.foundations.definitions import map_layers
from turfmap.foundations.errors import InputFaultsError
from turfmap.store import geopackage

PROPERTIES = 40
MINE = ["Client 9", "Client 21", "Client 22"]
NOTHING: dict[str, Any] = {"added": {}, "replaced": {}, "removed": {}, "settled": {}}


@pytest.fixture(scope="module")
def made_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("business") / "business.gpkg"
    scale.make(path, PROPERTIES)
    return path


@pytest.fixture
def place(made_once: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(made_once, tmp_path / "business.gpkg"))


@pytest.fixture
def branch(place: Path, tmp_path: Path) -> Path:
    out = tmp_path / "north.gpkg"
    split_off(place, out=out, name="north", properties=MINE)
    return out


def rows(path: Path) -> dict[str, dict[str, tuple[Any, ...]]]:
    """Return every row of every layer by its identity, as SQLite gives it, numbers apart."""
    with sqlite3.connect(path) as connection:
        found = {}
        for name, layer in map_layers().items():
            names = ["id", *(["geom"] if layer.geometry else []), *layer.columns]
            listed = ", ".join(f'"{one}"' for one in names)
            read = connection.execute(f"SELECT {listed} FROM {name}").fetchall()  # noqa: S608 - ours
            found[name] = {row[0]: row for row in read}
            assert len(found[name]) == len(read), f"{name}: an identity twice"
    connection.close()
    return found


def change(path: Path, statement: str, *values: object) -> None:
    with geopackage.editing(path) as connection:
        assert connection.execute(statement, values).rowcount > 0


def value(path: Path, statement: str, *values: object) -> Any:
    connection = sqlite3.connect(path)
    (found,) = connection.execute(statement, values).fetchone()
    connection.close()
    return found


def test_a_branch_is_a_place_of_its_own_with_what_lies_near(place: Path, branch: Path) -> None:
    """Areas to the last bit: nothing that takes ground from its zones was left behind."""
    whole = area(place, **scale.WHOLE)["zones"]
    assert any(zone["causes"] for zone in whole if zone["property"] in MINE)
    assert area(branch, **scale.WHOLE)["zones"] == [z for z in whole if z["property"] in MINE]
    assert len(rows(branch)["water"]) < len(rows(place)["water"])
    validator = [sys.executable, "-m", "osgeo_utils.samples.validate_gpkg", "--extra"]
    subprocess.run([*validator, "--warning-as-error", "-k", str(branch)], check=True)


def test_rows_keep_their_identity_and_no_other_clients_go_along(place: Path, branch: Path) -> None:
    there, here = rows(branch), rows(place)
    for name, mine in there.items():
        assert mine.items() <= here[name].items()
    with sqlite3.connect(branch) as connection:
        for table in ("zone", "client_answer", "visit"):
            found = connection.execute(f"SELECT property FROM {table}")  # noqa: S608 - ours
            owners = {one for (one,) in found}
            assert owners <= {*MINE}
            assert owners
    connection.close()
    # In no free page, and in no log: whoever has the file has only these clients.
    assert b"Client 39" in place.read_bytes()
    assert b"Client 39" not in branch.read_bytes()


def test_what_nobody_changed_changes_nothing(place: Path, branch: Path) -> None:
    before = rows(place)
    assert merge_branch(place, branch) == {"branch": "north", **NOTHING}
    assert rows(place) == before


def test_both_sides_work_on_and_all_of_it_comes_together(place: Path, branch: Path) -> None:
    change(branch, "UPDATE zone SET species = 'zoysia' WHERE property = 'Client 9'")
    change(branch, "INSERT INTO client_answer (property, question, answer) VALUES (?, ?, ?)",
           "Client 21", "overseeding", "done")  # fmt: skip
    change(branch, "INSERT INTO visit (property, task, date) VALUES (?, ?, ?)",
           "Client 22", "autumn_pre_emergent", "2026-09-25")  # fmt: skip
    change(branch, "DELETE FROM zone WHERE name = (SELECT max(name) FROM zone)")
    change(place, "UPDATE property SET contact = 'mornings' WHERE name = 'Client 22'")
    change(place, "UPDATE zone SET species = 'bermuda' WHERE property = 'Client 30'")
    wanted = rows(place)
    for name, mine in rows(branch).items():
        if name != "property":
            wanted[name] |= mine
    gone = set(rows(branch.with_name("business.gpkg"))["zone"]) & set(wanted["zone"])
    told = merge_branch(place, branch)
    assert told["added"] == {"client_answer": 1, "visit": 1}
    assert told["removed"] == {"zone": 1}
    found = rows(place)
    missing = gone - set(found["zone"])
    assert len(missing) == 1
    del wanted["zone"][missing.pop()]
    assert found == wanted
    assert value(place, "SELECT contact FROM property WHERE name = 'Client 22'") == "mornings"
    # A second time nothing is doubled; the branch works on, and that comes home too.
    assert merge_branch(place, branch) == {"branch": "north", **NOTHING}
    change(branch, "UPDATE zone SET species = 'centipede' WHERE property = 'Client 9'")
    assert merge_branch(place, branch)["replaced"] == {
        "zone": value(branch, "SELECT count(*) FROM zone WHERE species = 'centipede'"
                      " AND property = 'Client 9'")
    }  # fmt: skip


def test_what_both_changed_is_told_and_nothing_is_written(place: Path, branch: Path) -> None:
    for path, height in ((branch, 1.0), (place, 2.0)):
        change(path, "UPDATE zone SET position_margin_m = ? WHERE property = 'Client 21'", height)
    change(branch, "UPDATE zone SET species = 'zoysia' WHERE property = 'Client 9'")
    before = rows(place)
    with pytest.raises(InputFaultsError) as told:
        merge_branch(place, branch)
    said = [str(fault) for fault in told.value.faults]
    assert all("zone Client 21 / " in one and "changed on both sides" in one for one in said)
    assert rows(place) == before


@pytest.mark.parametrize(("choice", "wanted"), [(KEEP, 2.0), (TAKE, 1.0)])
def test_what_both_changed_is_settled_as_asked_once_for_all(
    place: Path, branch: Path, choice: str, wanted: float
) -> None:
    for path, margin in ((branch, 1.0), (place, 2.0)):
        change(path, "UPDATE zone SET position_margin_m = ? WHERE property = 'Client 21'", margin)
    found = merge_branch(place, branch, both_changed=choice)
    asked = "SELECT avg(position_margin_m) FROM zone WHERE property = 'Client 21'"
    assert found["settled"]["zone"] == value(
        place, "SELECT count(*) FROM zone WHERE property = 'Client 21'"
    )
    assert value(place, asked) == wanted
    assert merge_branch(place, branch) == {"branch": "north", **NOTHING}
    assert value(place, asked) == wanted


def test_a_pond_of_two_branches_stays_one(place: Path, tmp_path: Path) -> None:
    outs = [tmp_path / f"{name}.gpkg" for name in ("one", "other")]
    for out, owner in zip(outs, ("Client 21", "Client 22"), strict=True):
        split_off(place, out=out, name=out.stem, properties=[owner])
    shared = set(rows(outs[0])["water"]) & set(rows(outs[1])["water"])
    assert shared
    count = len(rows(place)["water"])
    change(outs[1], "UPDATE water SET width_m = 3.0 WHERE id = ?", pond := min(shared))
    for out in outs:
        merge_branch(place, out)
    assert len(rows(place)["water"]) == count
    assert value(place, "SELECT width_m FROM water WHERE id = ?", pond) == 3.0


def test_the_same_day_of_weather_from_two_branches_is_one_row(place: Path, tmp_path: Path) -> None:
    day = "INSERT INTO weather (station, date, rain_mm) VALUES ('North', '2026-09-25', ?)"
    for name, rain_mm in (("one", 2.0), ("other", 2.0), ("third", 9.0)):
        out = tmp_path / f"{name}.gpkg"
        split_off(place, out=out, name=name, properties=["Client 9"])
        change(out, day, rain_mm)
    merge_branch(place, tmp_path / "one.gpkg")
    merge_branch(place, tmp_path / "other.gpkg")
    asked = "SELECT count(*) FROM weather WHERE date = '2026-09-25'"
    assert value(place, asked) == 1
    with pytest.raises(InputFaultsError, match="another one here has its name"):
        merge_branch(place, tmp_path / "third.gpkg")


def test_a_record_is_never_changed_by_a_branch(place: Path, branch: Path) -> None:
    """Another program got round the triggers of the branch; the place is not moved by that."""
    with sqlite3.connect(branch) as connection:
        for (name,) in connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'visit'"
        ).fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute("UPDATE visit SET date = '2020-01-01' WHERE property = 'Client 9'")
    connection.close()
    for choice in (KEEP, TAKE):
        with pytest.raises(InputFaultsError, match="records never are"):
            merge_branch(place, branch, both_changed=choice)


def test_a_record_corrected_on_both_sides_is_for_a_person(place: Path, tmp_path: Path) -> None:
    visit = "INSERT INTO visit (property, task, date, record, corrects) VALUES (?, ?, ?, ?, ?)"
    about = ("Client 9", "autumn_pre_emergent", "2026-09-20")
    change(place, visit, *about, "first", None)
    branch = tmp_path / "late.gpkg"
    split_off(place, out=branch, name="late", properties=["Client 9"])
    change(place, visit, *about, "ours", "first")
    change(branch, visit, *about, "theirs", "first")
    before = rows(place)
    with pytest.raises(InputFaultsError, match="first was corrected on both sides"):
        merge_branch(place, branch, both_changed=TAKE)
    assert rows(place) == before


def test_a_homecoming_is_one_change_that_undo_takes_back(place: Path, branch: Path) -> None:
    before = rows(place)
    change(branch, "UPDATE zone SET species = 'zoysia'")
    merge_branch(place, branch)
    assert rows(place) != before
    undo(place, who="test")
    assert rows(place) == before


def test_a_place_that_is_no_branch_is_refused(place: Path, made_once: Path) -> None:
    with pytest.raises(InputFaultsError, match="no branch"):
        merge_branch(place, made_once)


def test_a_file_for_each_value_of_a_column(place: Path, tmp_path: Path) -> None:
    change(place, "UPDATE property SET client = 'East / 1'")
    change(place, "UPDATE property SET client = 'east 1' WHERE name = 'Client 3'")
    found = split_by(place, folder=tmp_path / "out", column="client")
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == [
        "east-1-2.gpkg",
        "east-1.gpkg",
    ]
    assert sorted(name for one in found for name in one["properties"]) == sorted(
        f"Client {number}" for number in range(PROPERTIES)
    )
    with pytest.raises(InputFaultsError, match="no column"):
        split_by(place, folder=tmp_path / "out", column="colour")


def test_out_to_geoparquet_and_back_row_by_row(place: Path, tmp_path: Path) -> None:
    change(place, "INSERT INTO overlay (property, measure, image, step) VALUES (?, ?, ?, ?)",
           "Client 9", "slope", "A" * 9_000, 0.1)  # fmt: skip
    export_place(place, folder=tmp_path / "layers")
    again = tmp_path / "again.gpkg"
    geopackage.create(again)
    bring_back(again, tmp_path / "layers")
    assert rows(again) == rows(place)
    for file in (tmp_path / "layers").iterdir():  # each is read by a process of its own
        if file.stem not in {"zone", "visit"}:
            file.unlink()
    assert bring_back(again, tmp_path / "layers") == NOTHING
    change(again, "UPDATE zone SET species = 'zoysia' WHERE property = 'Client 9'")
    with pytest.raises(InputFaultsError, match="changed on both sides"):
        bring_back(again, tmp_path / "layers")


def test_geopandas_reads_ids_system_and_units(place: Path, tmp_path: Path) -> None:
    export_place(place, folder=tmp_path / "layers")
    frame = gpd.read_parquet(tmp_path / "layers" / "water.parquet")
    kept = rows(place)["water"]
    assert frame.crs == "EPSG:4326"
    assert frame["id"].tolist() == list(kept)
    assert frame["width_m"].isna().any()
    schema = pyarrow.parquet.read_schema(tmp_path / "layers" / "water.parquet")
    assert schema.field("width_m").metadata[b"unit"] == b"m"
    assert pyarrow.parquet.read_table(tmp_path / "layers" / "visit.parquet").num_rows == len(
        rows(place)["visit"]
    )
