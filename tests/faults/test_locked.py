"""Another program holds the file: one sentence, a bounded wait, nothing changed; then it works.

The locks are SQLite's own (https://www.sqlite.org/lockingv3.html), held by another process.
"""

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.faults.asking import Asking
from tests.faults.places import copied, state_of, validated
from tests.faults.tally import IS_LONG, TALLY
from tests.faults.writing import AGAIN, WRITINGS
from turfmap.store import geopackage

PLACE = "place.gpkg"
WAITING = "turfmap.store.geopackage.SECONDS_TO_WAIT_FOR_A_LOCK"
BUSY = "another program is writing to it; close it there and try again."
HOLDING = """
import sqlite3, sys
held = sqlite3.connect(sys.argv[1], isolation_level=None)
held.execute(sys.argv[2])
held.execute("SELECT count(*) FROM zone").fetchall()
print("held", flush=True)
sys.stdin.read()
"""
# As desktop GIS open a GeoPackage: with a log of writes beside it (https://www.sqlite.org/wal.html).
LOGGING = """
import sqlite3, sys
held = sqlite3.connect(sys.argv[1], isolation_level=None)
held.execute("PRAGMA journal_mode = WAL")
held.execute("INSERT INTO visit (property, task, date) VALUES ('Alder', 'aeration', '2026-09-09')")
print("held", flush=True)
sys.stdin.read()
"""
READS = {
    "area": ("area", PLACE),
    "due": ("due", PLACE, "--as-of", "2026-10-24"),
    "record --list": ("record", PLACE, "--list"),
    "undo --list": ("undo", PLACE, "--list"),
}
SHORT = ("import", "record", "undo", "nospray")
LEFT_OUT = {"new", "demo", AGAIN, "notice --templates-into", "record --correct", "draft --accept"}
NAMES = [name for name in WRITINGS if name not in LEFT_OUT] if IS_LONG else SHORT


@contextmanager
def held(place: Path, how: str) -> Iterator[None]:
    """Have another process hold a place: BEGIN takes SHARED, IMMEDIATE RESERVED, EXCLUSIVE all."""
    command = [sys.executable, "-c", HOLDING, str(place), how]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        assert process.stdout.readline() == "held\n"
        yield
        process.stdin.close()
        assert process.wait() == 0


@pytest.mark.parametrize("name", [*NAMES, *READS])
def test_a_locked_place_is_told_and_left_alone(
    asked: Asking, made_once: Path, tmp_path: Path, name: str
) -> None:
    folder = copied(made_once, tmp_path / "folder")
    arguments = READS.get(name) or WRITINGS[name].arguments
    for earlier in WRITINGS[name].before if name in WRITINGS else ():
        assert asked.run(earlier, folder).status == 0
    before, names = state_of(folder / PLACE), sorted(folder.rglob("*"))
    with TALLY.fault("places locked", name):
        with held(folder / PLACE, "BEGIN EXCLUSIVE"):
            ran = asked.run(arguments, folder, puts={WAITING: 0.2})
        assert (ran.status, ran.out) == (2, "")
        assert ran.err.strip().splitlines() == [f"{PLACE}: {BUSY}"]
        assert state_of(folder / PLACE) == before
        assert sorted(folder.rglob("*")) == names
    done = asked.run(arguments, folder)
    assert done.status == 0, done.err


@pytest.mark.parametrize("how", ["BEGIN IMMEDIATE", "BEGIN"])
def test_a_writer_waits_for_others_and_a_reader_need_not(
    asked: Asking, made_once: Path, tmp_path: Path, how: str
) -> None:
    """One that is about to write (RESERVED) and one that reads (SHARED) let others read."""
    folder = copied(made_once, tmp_path / "folder")
    before = state_of(folder / PLACE)
    record = WRITINGS["record"].arguments
    with TALLY.fault("places locked", how), held(folder / PLACE, how):
        assert asked.run(READS["area"], folder, puts={WAITING: 0.2}).status == 0
        ran = asked.run(record, folder, puts={WAITING: 0.2})
        assert (ran.status, ran.out) == (2, "")
        assert BUSY in ran.err
    assert state_of(folder / PLACE) == before
    assert asked.run(record, folder).status == 0


def test_the_wait_is_as_long_as_it_says(asked: Asking, made_once: Path, tmp_path: Path) -> None:
    folder = copied(made_once, tmp_path / "folder")
    waits_s = geopackage.SECONDS_TO_WAIT_FOR_A_LOCK
    with TALLY.fault("places locked", "as long as it takes"):
        with held(folder / PLACE, "BEGIN EXCLUSIVE"):
            ran = asked.run(READS["record --list"], folder)
        assert BUSY in ran.err
        assert waits_s * 0.9 <= ran.seconds < 4 * waits_s + 10


def test_a_program_that_keeps_a_log_of_writes_may_have_it_open_or_be_killed(
    asked: Asking, made_once: Path, tmp_path: Path
) -> None:
    folder = copied(made_once, tmp_path / "folder")
    record = WRITINGS["record"].arguments
    listed = ("record", PLACE, "--list", "--json")
    command = [sys.executable, "-c", LOGGING, str(folder / PLACE)]
    with (
        TALLY.fault("places locked", "a log of writes"),
        subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        ) as process,
    ):
        assert process.stdout is not None
        assert process.stdout.readline() == "held\n"
        assert "2026-09-09" in asked.run(listed, folder).out
        assert asked.run(record, folder).status == 0
        process.kill()
        process.wait()
        assert (folder / f"{PLACE}-wal").exists()
        found = asked.run(listed, folder).out
        assert "2026-09-09" in found  # what the other program wrote
        assert "2026-09-20" in found  # and what we did
    assert validated(folder / PLACE) == ""
