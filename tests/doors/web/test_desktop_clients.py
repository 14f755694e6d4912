"""Clients that we did not write read a served place: GDAL's OAPIF driver, and QGIS.

QGIS of Debian 12 (3.22) and GDAL read only; editing by Part 4 is tested by a scripted client.
"""

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.desk.test_bring_in import SOUTH, WEST
from tests.doors.web.running import Running, free_port, serving
from turfmap.desk import undo
from turfmap.desk.features import Query, features

BY_GDAL = """
import json, sys
import pyogrio
address, box = sys.argv[1], json.loads(sys.argv[2])
zones = pyogrio.read_dataframe(address, layer="zone")
few = pyogrio.read_dataframe(address, layer="zone", bbox=tuple(box))
print(json.dumps({
    "layers": sorted(pyogrio.list_layers(address)[:, 0].tolist()),
    "names": sorted(zones["name"]), "area": float(zones.geometry.union_all().area),
    "few": sorted(few["name"]),
}))
"""
BY_QGIS = """
import json, sys
from qgis.core import QgsApplication, QgsRectangle, QgsFeatureRequest, QgsVectorLayer
app = QgsApplication([], False)
app.initQgis()
address, key, box = sys.argv[1], sys.argv[2], json.loads(sys.argv[3])
uri = f"url='{address}' typename='zone' username='me' password='{key}' pagingEnabled='true'"
layer = QgsVectorLayer(uri, "zone", "OAPIF")
names = sorted(feature["name"] for feature in layer.getFeatures())
few = layer.getFeatures(QgsFeatureRequest().setFilterRect(QgsRectangle(*box)))
print(json.dumps({"valid": layer.isValid(), "names": names, "few": sorted(f["name"] for f in few)}))
"""
BOX = [WEST - 1e-4, SOUTH - 1e-4, WEST + 1e-4, SOUTH + 1e-4]
NAMES = ["Back", "Front", "Wood"]
# Three lawns of 4e-4 degrees that do not touch: see tests/desk/recording.py.
AREA = 3 * 4e-4**2


def needs(program: str) -> pytest.MarkDecorator:
    """Leave a test out where a program is not installed; where CI is set, it fails."""
    is_missing = shutil.which(program) is None and not os.environ.get("CI")
    return pytest.mark.skipif(is_missing, reason=f"{program} is not installed")


@pytest.fixture(scope="module")
def running(made_once: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    place = Path(shutil.copy(made_once, tmp_path_factory.mktemp("desktop")))
    with serving(place, "--port", str(free_port())) as started:
        yield started


def told(command: list[str], **surroundings: str) -> dict[str, object]:
    done = subprocess.run(
        command, capture_output=True, text=True, check=False, timeout=60,
        env=dict(os.environ, **surroundings),
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    found: dict[str, object] = json.loads(done.stdout.strip().splitlines()[-1])
    return found


def test_gdal_in_the_library_reads_it(running: Running) -> None:
    command = [sys.executable, "-c", BY_GDAL, f"OAPIF:{running.address}/api/", json.dumps(BOX)]
    login = {"GDAL_HTTP_USERPWD": f"me:{running.key}", "GDAL_HTTP_AUTH": "BASIC"}
    found = told(command, **login)
    assert found["names"] == NAMES
    assert found["few"] == ["Front"]
    assert found["area"] == pytest.approx(AREA)
    assert "gate" in str(found["layers"])


@needs("ogrinfo")
def test_gdal_of_the_system_reads_it(running: Running) -> None:
    """Debian's gdal-bin: an older GDAL than the library's."""
    command = ["ogrinfo", "-ro", "-al", "-so", f"OAPIF:{running.address}/api/", "zone"]
    login = {"GDAL_HTTP_USERPWD": f"me:{running.key}", "GDAL_HTTP_AUTH": "BASIC"}
    done = subprocess.run(
        command, capture_output=True, text=True, check=False, env=dict(os.environ, **login)
    )
    assert "Feature Count: 3" in done.stdout, done.stdout + done.stderr
    wrong = subprocess.run(
        command, capture_output=True, text=True, check=False,
        env=dict(os.environ, GDAL_HTTP_USERPWD="me:guessed", GDAL_HTTP_AUTH="BASIC"),
    )  # fmt: skip
    assert "Feature Count" not in wrong.stdout


@needs("qgis")
def test_qgis_reads_it_with_the_key_as_password(running: Running, tmp_path: Path) -> None:
    command = ["/usr/bin/python3", "-c", BY_QGIS, f"{running.address}/api/", running.key]
    home = {"QT_QPA_PLATFORM": "offscreen", "HOME": str(tmp_path), "PYTHONPATH": ""}
    found = told([*command, json.dumps(BOX)], **home)
    assert found == {"valid": True, "names": NAMES, "few": ["Front"]}


@needs("ogrinfo")
def test_what_gdal_changes_in_the_file_itself_can_be_undone(place: Path) -> None:
    """GDAL brings a SQLite of its own, which runs our triggers."""
    before = features(place, "zone", Query()).features
    changes = (
        "UPDATE zone SET notes = 'by GDAL', sun_hours = 5.1",
        "DELETE FROM zone WHERE fid = 2",
    )
    for statement in changes:
        command = ["ogrinfo", "-q", str(place), "-sql", statement]
        subprocess.run(command, check=True, capture_output=True)
    assert len(features(place, "zone", Query()).features) == 2
    while features(place, "zone", Query()).features != before:
        undo.undo(place, who="test")  # one change, or two if the machine was slow
    assert undo.changes(place)[0]["undoes"] is not None
