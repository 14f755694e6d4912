"""A process that records is killed: what it said was recorded is there, and the file is whole."""

import random
import shutil
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.desk.test_bring_in import box, geojson
from tests.faults.tally import IS_LONG, TALLY
from turfmap.desk.bring_in import bring_in
from turfmap.desk.new import new
from turfmap.desk.record import record
from turfmap.desk.record_list import records
from turfmap.store import geopackage

ROOT = Path(__file__).parents[2]
RECORDS, ROUNDS, LONGEST_S = 200, 25 if IS_LONG else 5, 1.5
# Each line that it prints is an acknowledged record.
PROGRAM = f"""
import sys
from pathlib import Path
from turfmap.desk.record import record

said = dict(property="Alder", task="feeding_warm_season", date="2026-09-20", product="prodiamine",
            amount="2 lb", zones=["Front", "Back"])
print("ready", flush=True)
for number in range({RECORDS}):
    found = record(Path(sys.argv[1]), said | dict(note=str(number)))
    print(found["records"][0]["record"], flush=True)
"""


@pytest.fixture(scope="module")
def made_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("kills")
    new(folder / "place.gpkg")
    lot = geojson(folder / "lot.geojson", (box(0, 0, 1e-3), {"name": "Alder"}))
    bring_in(folder / "place.gpkg", lot, layer_name="property")
    lawns = [(box(0, 0), {"name": "Front"}), (box(5e-4, 0), {"name": "Back"})]
    lawns = [(shape, about | {"kind": "turf"}) for shape, about in lawns]
    bring_in(folder / "place.gpkg", geojson(folder / "z.geojson", *lawns), layer_name="zone")
    return folder / "place.gpkg"


def killed_after(seconds: float, place: Path) -> list[str]:
    """Run the program, kill it after some seconds of recording, return what it acknowledged."""
    command = [sys.executable, "-c", PROGRAM, str(place)]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n"
        time.sleep(seconds)
        process.kill()  # SIGKILL: nothing of ours runs any more
        lines = process.stdout.read().splitlines(keepends=True)
    return [line.strip() for line in lines if line.endswith("\n")]


def test_no_acknowledged_record_is_lost(made_once: Path, tmp_path: Path) -> None:
    """Rows are counted, as an integrity check alone says "ok" of a file that lost a layer.

    Seeded moments, though the machine decides where in the work they fall.
    """
    place = Path(shutil.copy(made_once, tmp_path))
    moments = random.Random(5)  # noqa: S311
    acknowledged: list[str] = []
    for number in range(ROUNDS):
        with TALLY.fault("recording programs killed", f"round {number}"):
            acknowledged += killed_after(moments.uniform(0.0, LONGEST_S), place)
            there = records(place)["records"]
            names = [one["record"] for one in there]
            assert set(acknowledged) <= set(names)
            # At most the last of each round was written and could not be told any more.
            assert len(names) <= len(acknowledged) + ROUNDS
            assert all(one["zones"] == ["Front", "Back"] for one in there)
            assert all(one["amount"] == pytest.approx(2.0) for one in there)
    assert len(acknowledged) > ROUNDS
    _check_whole(place, rows=2 * len(names))
    said = {"property": "Alder", "task": "aeration", "date": "2026-09-21"}
    assert record(place, said)["records"]  # and work goes on


def _check_whole(place: Path, *, rows: int) -> None:
    assert len(geopackage.read_layer(place, "zone")) == 2
    connection = sqlite3.connect(place)
    assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
    assert connection.execute("SELECT count(*) FROM visit").fetchone() == (rows,)
    assert connection.execute("SELECT count(DISTINCT id) FROM visit").fetchone() == (rows,)
    connection.close()
    # GDAL's GeoPackage validator, extra checks on, warnings as errors.
    command = [sys.executable, "-m", "osgeo_utils.samples.validate_gpkg"]
    command += ["--extra", "--warning-as-error", "-k", str(place)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
