"""The folder that fault runs begin from, and what a place and the files beside it hold."""

import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from functools import partial
from pathlib import Path
from typing import Any

from tests.desk.checking import CLOVER, POND, PRODUCT
from tests.desk.heights import heights
from tests.desk.recording import table
from tests.desk.test_bring_in import box, geojson
from tests.desk.test_draft import picture
from turfmap.desk.bring_in import bring_in
from turfmap.desk.new import new
from turfmap.desk.record import record

LAWN = {"kind": "turf", "species": "bermuda"}
FILES = {
    "products.csv": (
        "name,active_ingredients,concentrations,formulation,rate\n"
        "Grain,prodiamine,0.2 %,granular,3 lb/1000 sq ft\n"
    ),
    "answers.csv": "property,question,answer,answered_on\nAlder,pets,some,2026-10-20\n",
    "costs.csv": "item,price,per\nlabour,38.00,hour\n",
    "weather.csv": "date,air_max_f,air_min_f,rain_in\n2026-10-01,71,50,0\n2026-10-02,70,51,0.2\n",
    "trucks.csv": "truck,longitude,latitude,tanks,licences\nOne,-84.01,33.0,400 lb,applicator\n",
    "visits.json": (
        '[{"id": "0a0b0c0d0e01", "property": "Alder", "task": "aeration", "date": "2026-09-20"},'
        ' {"id": "0a0b0c0d0e02", "property": "Alder", "task": "soil_test", "date": "2026-09-21"}]'
    ),
}
# What differs between two runs of the same work: names drawn by lot, and the hour.
BY_LOT = re.compile(r"\b[0-9a-f]{12,32}\b")
HOUR = re.compile(r"\b\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z?")


def make_folder(folder: Path) -> Path:
    """Make a place of one client with all that the commands need beside it; return its folder."""
    folder.mkdir(parents=True)
    path = folder / "place.gpkg"
    new(path)
    put = partial(_put, path)
    put("property", (box(-3e-4, 0, 1e-3), _about()))
    put(
        "zone",
        (box(0, 0), {"name": "Front", **LAWN}),
        (box(4.2e-4, 0, 2e-4), {"name": "Back", **LAWN}),
    )
    put("water", (POND, {"name": "Mill pond", "kind": "pond"}))
    table(path, "product", PRODUCT, CLOVER)
    answers = ("overseeding,none", "turf_dry,no", "weeds_in_bloom,none")
    lines = [f"Alder,{said},2026-10-23" for said in answers]
    table(path, "client_answer", "property,question,answer,answered_on", *lines)
    table(path, "rate_card", "task,per,price", "autumn_pre_emergent,1000_sq_ft,9.75")
    record(path, {"property": "Alder", "task": "aeration", "date": "2026-09-01"})
    for name, text in FILES.items():
        (folder / name).write_text(text, encoding="utf-8")
    geojson(folder / "more.geojson", (box(0, 5e-4, 2e-4), {"name": "Side", **LAWN}))
    (folder / "week").mkdir()
    heights(folder / "level.tif", half_m=60)
    picture(folder / "aerial.tif")
    return folder


def _about() -> dict[str, Any]:
    return {"name": "Alder", "client": "Client 7", "state": "GA", "water_surveyed_on": "2026-01-05"}


def _put(path: Path, layer: str, *features: Any) -> None:
    bring_in(path, geojson(path.parent / f"{layer}.geojson", *features), layer_name=layer)


def copied(folder: Path, to: Path) -> Path:
    """Copy a folder as it is, journals and leavings with it."""
    if to.exists():
        shutil.rmtree(to)
    shutil.copytree(folder, to)
    return to


def state_of(path: Path) -> dict[str, list[Any]] | None:
    """Return every row of every table of a place; what lot or the clock gave is made alike.

    A copy is opened, with the journal beside it, so that the place stays as a kill left it.
    """
    if not path.exists():
        return None
    room = copied_alone(path)
    connection = sqlite3.connect(room / path.name)
    try:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
        tables = connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'rtree_%\\_node'"
            " ESCAPE '\\' AND name NOT LIKE 'rtree_%\\_parent' ESCAPE '\\' ORDER BY name"
        ).fetchall()
        made = connection.execute("SELECT type, name, sql FROM sqlite_master ORDER BY 1, 2")
        held = {"": made.fetchall()}
        for (name,) in tables:
            rows = connection.execute(f'SELECT * FROM "{name}" ORDER BY 1').fetchall()  # noqa: S608
            held[name] = [tuple(map(alike, row)) for row in rows]
        return held
    finally:
        connection.close()
        shutil.rmtree(room)


def copied_alone(path: Path) -> Path:
    """Copy a place and what SQLite left beside it into a folder of its own."""
    room = Path(tempfile.mkdtemp())
    for one in path.parent.glob(f"{path.name}*"):
        shutil.copy(one, room)
    return room


def alike(value: Any) -> Any:
    """Return a value with names drawn by lot, and hours, made the same."""
    if not isinstance(value, str):
        return value
    return HOUR.sub("HOUR", BY_LOT.sub("LOT", value))


def content_of(path: Path) -> Any:
    """Return what a file holds, or every file of a folder; None if it is not there."""
    if path.is_dir():
        return {one.name: content_of(one) for one in sorted(path.iterdir())}
    if path.suffix == ".gpkg":
        return state_of(path)
    if not path.exists():
        return None
    content = path.read_bytes()
    if path.suffix == ".pdf":  # its streams are packed: whole is what ends as it should
        return content[:5], content[-6:]
    if path.suffix == ".parquet":
        return content
    return alike(content.decode("utf-8"))


def validated(path: Path) -> str:
    """Return what GDAL's GeoPackage validator says, extra checks on, warnings as errors."""
    command = [sys.executable, "-m", "osgeo_utils.samples.validate_gpkg"]
    command += ["--extra", "--warning-as-error", "-k", str(path)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    return "" if done.returncode == 0 else done.stdout + done.stderr
