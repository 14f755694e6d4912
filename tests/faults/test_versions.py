"""Places of earlier layouts, and two versions of turfmap on one place.

An earlier layout is brought up to date whole, with its copy beside it, or left as it was; one that
is newer is refused untouched, also where it becomes so while the older program has it open.
"""

import random
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from tests.faults.asking import Asking
from tests.faults.earlier import EARLIER, make_earlier
from tests.faults.places import copied, state_of, validated
from tests.faults.tally import IS_LONG, TALLY
from tests.faults.test_locked import BUSY, WAITING, held
from tests.faults.test_refusing_disks import READ_ONLY, check_refused
from tests.faults.writing import WRITINGS
from turfmap.foundations.errors import InputFaultsError
from turfmap.store import geopackage, upgrades
from turfmap.store.geopackage_schema import FORMAT_VERSION

PLACE = "place.gpkg"
COPY = "place.before-upgrade.gpkg"
LIST = ("record", PLACE, "--list", "--json")
KILLS = 40 if IS_LONG else 3
LIMITS = (0, 8_192, 65_536, 262_144) if IS_LONG else (0, 65_536)
# A turfmap one layout ahead of this one: the two names by which the number is known.
AHEAD = FORMAT_VERSION + 1
AHEAD_OF_US = {
    "turfmap.store.geopackage_schema.FORMAT_VERSION": AHEAD,
    "turfmap.store.upgrades.FORMAT_VERSION": AHEAD,
}
NEWER = f"it was written by a newer turfmap (file format {AHEAD}); update turfmap."


@pytest.fixture(params=EARLIER)
def earlier(request: pytest.FixtureRequest, made_once: Path, tmp_path: Path) -> Path:
    """Return a folder with a place of each earlier layout."""
    folder = copied(made_once, tmp_path / "earlier")
    for beside in folder.glob("*.tif"):
        beside.unlink()
    make_earlier(folder / PLACE, request.param)
    return folder


def schema(state: dict[str, list[Any]] | None) -> set[Any]:
    assert state is not None
    return set(state[""])


def check_up_to_date(folder: Path, made: Path, older: dict[str, list[Any]] | None) -> None:
    """Check that a place is as one of the present layout, what it held is in it, and its copy."""
    present, is_ = state_of(made / PLACE), state_of(folder / PLACE)
    assert schema(is_) == schema(present)
    assert is_ is not None
    assert present is not None
    for layer in ("property", "zone", "visit", "client_answer", "water", "product"):
        assert is_[layer] == present[layer]
    assert state_of(folder / COPY) == older
    assert validated(folder / PLACE) == ""


def test_it_is_brought_up_to_date_and_its_copy_kept(
    asked: Asking, made_once: Path, earlier: Path
) -> None:
    older = state_of(earlier / PLACE)
    assert schema(older) != schema(state_of(made_once / PLACE))
    with TALLY.fault("earlier layouts", earlier.name):
        assert asked.run(LIST, earlier).status == 0
        check_up_to_date(earlier, made_once, older)


def test_a_kill_leaves_the_old_layout_or_the_new(
    asked: Asking, made_once: Path, earlier: Path, tmp_path: Path
) -> None:
    older = state_of(earlier / PLACE)
    whole = asked.run(LIST, copied(earlier, tmp_path / "whole"), follows=True)
    newer = state_of(tmp_path / "whole" / PLACE)
    steps = range(len(whole.steps) or KILLS)
    chosen = random.Random(2)  # noqa: S311
    for step in sorted(chosen.sample(steps, min(KILLS, len(steps)))):
        folder = copied(earlier, tmp_path / "killed")
        with TALLY.fault("upgrades killed", f"step {step} of {len(whole.steps)}"):
            if asked.follows:
                asked.run(LIST, folder, stop_before=step)
            else:
                asked.run(LIST, folder, stop_after_s=chosen.uniform(0.2, 1.0) * whole.seconds)
            found = state_of(folder / PLACE)
            assert found in (older, newer)
            assert found == older or state_of(folder / COPY) == older  # never without its copy
            assert asked.run(LIST, folder).status == 0
            check_up_to_date(folder, made_once, older)


@pytest.mark.parametrize("bytes_", LIMITS)
def test_a_full_disk_leaves_the_old_layout(
    asked: Asking, made_once: Path, earlier: Path, bytes_: int
) -> None:
    content = (earlier / PLACE).read_bytes()
    names = sorted(earlier.iterdir())
    with TALLY.fault("upgrades on a full disk", f"{bytes_} bytes"):
        check_refused(asked.run(LIST, earlier, largest_bytes=bytes_), "no copy can be kept", "disk")
        assert (earlier / PLACE).read_bytes() == content
        assert sorted(earlier.iterdir()) == names
        older = state_of(earlier / PLACE)
        assert asked.run(LIST, earlier).status == 0
        check_up_to_date(earlier, made_once, older)


def test_where_it_may_not_be_written_to_it_is_refused_untouched(
    asked: Asking, earlier: Path
) -> None:
    content = (earlier / PLACE).read_bytes()
    with TALLY.fault("upgrades read-only", "folder"):
        earlier.chmod(0o555)
        try:
            check_refused(asked.run(LIST, earlier, obeys_modes=True), "no copy can be kept")
            (earlier / PLACE).chmod(0o444)
            check_refused(asked.run(LIST, earlier, obeys_modes=True), *READ_ONLY)
        finally:
            earlier.chmod(0o755)
            (earlier / PLACE).chmod(0o644)
        assert (earlier / PLACE).read_bytes() == content


@pytest.mark.parametrize("how", ["BEGIN", "BEGIN IMMEDIATE", "BEGIN EXCLUSIVE"])
def test_while_the_older_program_works_on_it_nothing_is_brought_up_to_date(
    asked: Asking, made_once: Path, earlier: Path, how: str
) -> None:
    """It reads (SHARED), is about to write (RESERVED), or writes (EXCLUSIVE)."""
    content, older = (earlier / PLACE).read_bytes(), state_of(earlier / PLACE)
    names = {path.name for path in earlier.iterdir()}
    with TALLY.fault("upgrades while it is open", how):
        with held(earlier / PLACE, how):
            ran = asked.run(LIST, earlier, puts={WAITING: 0.2})
            assert (ran.status, ran.out) == (2, "")
            assert BUSY in ran.err
        assert (earlier / PLACE).read_bytes() == content
        assert {path.name for path in earlier.iterdir()} == names
        assert asked.run(LIST, earlier).status == 0
        check_up_to_date(earlier, made_once, older)


@pytest.mark.parametrize("name", ["import", "record", "undo", "nospray"])
def test_a_newer_place_is_refused_untouched(
    asked: Asking, made_once: Path, tmp_path: Path, name: str
) -> None:
    folder = copied(made_once, tmp_path / "folder")
    with TALLY.fault("newer layouts", name):
        assert asked.run(LIST, folder, puts=AHEAD_OF_US).status == 0
        assert (folder / COPY).exists()  # the newer program brought it up to date
        content, names = (folder / PLACE).read_bytes(), sorted(folder.iterdir())
        ran = asked.run(WRITINGS[name].arguments, folder)
        assert (ran.status, ran.out) == (2, "")
        assert ran.err.strip() == f"{PLACE}: {NEWER}"
        assert (folder / PLACE).read_bytes() == content
        assert sorted(folder.iterdir()) == names
        assert asked.run(("area", COPY), folder).status == 0  # work goes on in the copy


def test_it_may_become_newer_while_the_older_program_has_it_open(
    made_once: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between the opening and the first write of an edit another program brings it up to date."""
    place = copied(made_once, tmp_path / "folder") / PLACE
    upgrade = upgrades.upgrade

    def meanwhile(connection: sqlite3.Connection, path: Path, *, writable: bool) -> Path | None:
        done = upgrade(connection, path, writable=writable)
        with closing(sqlite3.connect(path, isolation_level=None)) as newer:
            newer.execute("UPDATE gpkg_metadata SET metadata = ?", (f"file format {AHEAD}",))
        return done

    monkeypatch.setattr(upgrades, "upgrade", meanwhile)
    with (
        TALLY.fault("newer layouts", "while it is open"),
        pytest.raises(InputFaultsError, match="newer turfmap"),
        geopackage.editing(place) as connection,
    ):
        connection.execute("DELETE FROM zone")
    monkeypatch.undo()
    state = state_of(place)
    assert state is not None
    assert len(state["zone"]) == 2


def test_two_of_this_version_write_one_after_the_other(
    asked: Asking, made_once: Path, tmp_path: Path
) -> None:
    """One is in the middle of its work: the other is told so, and later both works are there."""
    folder = copied(made_once, tmp_path / "folder")
    arguments = WRITINGS["record"].arguments
    with TALLY.fault("two programs at once", "record"):
        with geopackage.editing(folder / PLACE) as connection:
            connection.execute("UPDATE zone SET notes = 'one' WHERE name = 'Front'")
            assert BUSY in asked.run(arguments, folder, puts={WAITING: 0.2}).err
        assert asked.run(arguments, folder).status == 0
        state = state_of(folder / PLACE)
        assert state is not None
        assert ["2026-09-20" in row for row in state["visit"]].count(True) == 2  # its two zones
        assert any("one" in row for row in state["zone"])
