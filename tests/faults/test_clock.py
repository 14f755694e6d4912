"""The clock is put back: what was written before seems to lie ahead, and order stays what it was.

To a program that is the same as times in its file that are yet to come, which is how it is made
here: no clock is touched.
"""

import json
import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from tests.faults.asking import Asking
from tests.faults.places import copied, validated
from tests.faults.tally import TALLY
from turfmap.desk.record import record
from turfmap.desk.record_correction import correct
from turfmap.desk.record_list import records
from turfmap.desk.undo import undo
from turfmap.store import change_log, geopackage
from turfmap.store.geometry_blob import register_functions

PLACE = "place.gpkg"
# How far back: a clock set right, an hour of summer time, and a dead clock's battery.
BACK = ("+1 minute", "+1 hour", "+20 years")


@contextmanager
def written(path: Path) -> Iterator[sqlite3.Connection]:
    """Write as another program does: without a word to turfmap."""
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        register_functions(connection)  # those that the R-tree's triggers call, as any GIS has
        yield connection


def put_back(path: Path, by: str) -> None:
    """Make everything that was written so far as much later as the clock is put back."""
    with written(path) as connection:
        connection.execute(
            f"UPDATE {change_log.TABLE} SET at = strftime('%Y-%m-%dT%H:%M:%fZ', at, ?)",  # noqa: S608
            (by,),
        )
        connection.execute("UPDATE gpkg_contents SET last_change = '2046-01-01T00:00:00.000Z'")
        (kept,) = connection.execute(
            "SELECT sql FROM sqlite_master WHERE name = 'visit_kept_from_update'"
        ).fetchone()
        connection.execute("DROP TRIGGER visit_kept_from_update")
        connection.execute(
            "UPDATE visit SET recorded_at = strftime('%Y-%m-%dT%H:%M:%fZ', recorded_at, ?)", (by,)
        )
        connection.execute(kept)
    os.utime(path, (2_400_000_000, 2_400_000_000))


def rename(path: Path, name: str) -> None:
    """Rename a zone in another program."""
    with written(path) as connection:
        connection.execute("UPDATE zone SET notes = ? WHERE name = 'Front'", (name,))


def notes(path: Path) -> str | None:
    with written(path) as connection:
        (found,) = connection.execute("SELECT notes FROM zone WHERE name = 'Front'").fetchone()
    return None if found is None else str(found)


@pytest.mark.parametrize("by", BACK)
def test_changes_of_other_programs_stay_apart_and_undo_in_their_order(
    made_once: Path, tmp_path: Path, by: str
) -> None:
    """An edit, the clock put back, another edit: two changes, the later one undone first."""
    place = copied(made_once, tmp_path / "folder") / PLACE
    with TALLY.fault("clocks put back", f"another program's changes, {by}"):
        rename(place, "before")
        put_back(place, by)
        rename(place, "after")
        with geopackage.reading(place) as connection:
            first, second = change_log.changes(connection, limit=2)
        assert first["change"] == second["change"] + 1
        assert undo(place, who="turfmap")["undone"] == first["change"]
        assert notes(place) == "before"
        assert undo(place, who="turfmap")["undone"] == second["change"]
        assert notes(place) is None
        assert validated(place) == ""


@pytest.mark.parametrize("by", BACK)
def test_a_correction_counts_although_its_clock_says_earlier(
    made_once: Path, tmp_path: Path, by: str
) -> None:
    place = copied(made_once, tmp_path / "folder") / PLACE
    with TALLY.fault("clocks put back", f"a correction, {by}"):
        said = {"property": "Alder", "task": "soil_test", "date": "2026-09-20"}
        (wrong,) = record(place, said)["records"]
        put_back(place, by)
        (right,) = correct(place, wrong["record"], {"date": "2026-09-21", "reason": "misread"})[
            "records"
        ]
        status = {one["record"]: one["status"] for one in records(place)["records"]}
        assert status[wrong["record"]] != status[right["record"]]
        standing = {one["record"]: str(one["date"]) for one in records(place)["records"]}
        assert standing[right["record"]] == "2026-09-21"
        # Whatever the clock: the older record cannot be corrected again, the newer can.
        again = correct(place, right["record"], {"date": "2026-09-22", "reason": "again"})
        assert again["records"][0]["corrects"] == right["record"]


def test_files_of_tomorrow_are_replaced_and_commands_answer_alike(
    asked: Asking, made_once: Path, tmp_path: Path
) -> None:
    """Nothing is judged by a file's time, and the same answer comes before and after."""
    folder = copied(made_once, tmp_path / "folder")
    due = ("due", PLACE, "--as-of", "2026-10-24", "--json")
    map_ = ("map", PLACE, "--as-of", "2026-10-24", "--out", "map.html")
    with TALLY.fault("clocks put back", "files and answers"):
        answer = json.loads(asked.run(due, folder).out)
        assert asked.run(("inspect", PLACE, "--out", "map.html"), folder).status == 0
        os.utime(folder / "map.html", (2_400_000_000, 2_400_000_000))
        put_back(folder / PLACE, BACK[-1])
        assert asked.run(map_, folder).status == 0
        assert "Front" in (folder / "map.html").read_text("utf-8")
        assert json.loads(asked.run(due, folder).out) == answer
