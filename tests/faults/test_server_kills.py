"""The server is killed while many write: what was acknowledged is there, in its order.

``TURFMAP_LONG=1`` runs 16 writers of 200 edits each; otherwise each writes fewer.
"""

import json
import random
import sqlite3
import subprocess
import sys
import threading
import time
from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path

import httpx

from tests.desk.recording import make_place
from tests.doors.web.running import Running, free_port, kill, serving, start
from tests.faults.tally import IS_LONG, TALLY
from turfmap.desk.features import Query, features

WRITERS = 16
EDITS, KILLS = (200, 25) if IS_LONG else (5, 2)
LONGEST_S = 900.0
NOTHING = ""
PATCH = {"Content-Type": "application/merge-patch+json"}


@dataclass
class Work:
    """What all writers share."""

    place: Path
    port: str = field(default_factory=lambda: str(free_port()))
    lock: threading.Lock = field(default_factory=threading.Lock)
    # Zone, what its note was when it was read, and the note that was acknowledged.
    acknowledged: list[tuple[str, str, str]] = field(default_factory=list)
    refused: int = 0
    broken_off: int = 0
    running: Running | None = None

    def restart(self) -> None:
        """Start the server anew, under the same address and a new key."""
        self.running = start(self.place, "--port", self.port)

    def write(self, writer: int, zones: list[str]) -> None:
        """Write edits until enough are acknowledged."""
        choose, done = random.Random(writer), 0  # noqa: S311
        give_up = time.monotonic() + LONGEST_S
        with httpx.Client(timeout=30) as asking:
            while done < EDITS and time.monotonic() < give_up:
                try:
                    done += self._edit(asking, choose.choice(zones), f"{writer}-{done}")
                except httpx.TransportError:
                    self.broken_off += 1
                    time.sleep(0.1)

    def _edit(self, asking: httpx.Client, zone: str, token: str) -> bool:
        running = self.running
        assert running is not None
        url = f"{running.address}/api/collections/zone/items/{zone}"
        read = asking.get(url, headers=running.bearer)
        if read.status_code != 200:  # the key of a server that is gone
            time.sleep(0.05)
            return False
        seen = read.json()["properties"]["notes"] or NOTHING
        # Each attempt has a name of its own: one that was broken off may have been written.
        note = f"{token} {time.monotonic_ns()}"
        headers = {**running.bearer, **PATCH, "If-Match": read.headers["etag"]}
        body = json.dumps({"properties": {"notes": note}})
        wrote = asking.patch(url, headers=headers, content=body)
        with self.lock:
            if wrote.status_code in {200, 204}:  # 204: another has changed it again since
                self.acknowledged.append((zone, seen, note))
                return True
            self.refused += wrote.status_code == 412
        assert wrote.status_code in {401, 412, 503}, wrote.text
        return False


def test_no_acknowledged_edit_is_lost(tmp_path: Path) -> None:
    work = Work(make_place(tmp_path))
    zones = [one.identity for one in features(work.place, "zone", Query()).features]
    work.restart()
    threads = [
        threading.Thread(target=work.write, args=(number, zones), daemon=True)
        for number in range(WRITERS)
    ]
    for thread in threads:
        thread.start()
    moments = random.Random(7)  # noqa: S311
    for _ in range(KILLS):
        time.sleep(moments.uniform(0.3, 1.2))
        assert work.running is not None
        kill(work.running)
        work.restart()
    for thread in threads:
        thread.join()
    assert work.running is not None
    kill(work.running)
    with TALLY.fault("servers killed while 16 write", "edits", number=KILLS):
        assert len(work.acknowledged) == WRITERS * EDITS
        _check_history(work)
        _check_whole(work.place)
    assert work.broken_off > 0  # the kills met work
    assert work.refused > 0  # and the writers met each other
    with serving(work.place, "--port", str(free_port())) as again:  # and work goes on
        assert httpx.get(f"{again.address}/api/", headers=again.bearer).is_success


def _check_history(work: Work) -> None:
    """Every acknowledged note stood once, right after the note that its writer had read."""
    history = _history(work.place)
    for zone, seen, note in work.acknowledged:
        assert history[zone].count(note) == 1
        assert history[zone][history[zone].index(note) - 1] == seen
    # Besides them there is at most what was written and could not be told any more.
    told = {note for _, _, note in work.acknowledged}
    untold = [note for notes in history.values() for note in notes if note and note not in told]
    assert len(untold) <= work.broken_off


def _history(place: Path) -> dict[str, list[str]]:
    """Return each zone's notes in the order in which they stood: from the log, then as it is."""
    notes: dict[str, list[str]] = defaultdict(list)
    connection = sqlite3.connect(place)
    for zone, before in connection.execute(
        "SELECT row_id, before FROM turfmap_change WHERE operation = 'update' AND layer = 'zone'"
        " ORDER BY fid"
    ):
        notes[zone].append(json.loads(before)["notes"] or NOTHING)
    for zone, note in connection.execute("SELECT id, notes FROM zone"):
        notes[zone].append(note or NOTHING)
    connection.close()
    return notes


def _check_whole(place: Path) -> None:
    connection = sqlite3.connect(place)
    assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
    assert connection.execute("SELECT count(*) FROM rtree_zone_geom").fetchone() == (3,)
    connection.close()
    # GDAL's GeoPackage validator, extra checks on, warnings as errors.
    command = [sys.executable, "-m", "osgeo_utils.samples.validate_gpkg"]
    command += ["--extra", "--warning-as-error", "-k", str(place)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
