"""The power goes: whatever the disk had not been made to keep is lost, and the work is whole.

What SQLite asks of a disk: https://www.sqlite.org/atomiccommit.html, sections 3 and 6; why EXTRA:
https://www.sqlite.org/pragma.html#pragma_synchronous.
"""

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from tests.faults.asking import Asking
from tests.faults.places import content_of, copied, state_of, validated
from tests.faults.power import contents, states_after_cuts
from tests.faults.tally import IS_LONG, TALLY
from tests.faults.writing import WRITINGS
from turfmap.store import geopackage

PLACE = "place.gpkg"
EACH = 10 if IS_LONG else 1
NAMES = (
    ("new", "import", "record", "record --from", "undo", "nospray", "inspect", "record --export")
    if IS_LONG
    else ("record", "nospray")
)


def traced(
    asked: Asking, made: Path, room: Path, name: str
) -> tuple[list[list[str]], list[Path], Path]:
    """Run a command; return its steps, the folder before each and after the last, and the last."""
    folder = copied(made, room / "folder")
    for beside in folder.glob("*.tif"):
        beside.unlink()  # never touched, and large
    for earlier in WRITINGS[name].before:
        assert asked.run(earlier, folder).status == 0
    copies = room / "copies"
    ran = asked.run(WRITINGS[name].arguments, folder, copies=copies)
    assert ran.status == 0, ran.err
    before_each = sorted(copies.iterdir())
    assert len(before_each) == len(ran.steps)
    return ran.steps, [*before_each, folder], folder


def laid_out(state: dict[str, bytes], folder: Path) -> Path:
    if folder.exists():
        shutil.rmtree(folder)
    folder.mkdir()
    for name, content in state.items():
        (folder / name).write_bytes(content)
    return folder


@pytest.mark.parametrize("name", NAMES)
def test_what_was_said_to_be_done_outlasts_a_power_cut(
    asked: Asking, made_once: Path, tmp_path: Path, name: str
) -> None:
    if not asked.follows:
        _check_the_settings(made_once, tmp_path)
        return
    steps, copies, folder = traced(asked, made_once, tmp_path, name)
    makes = WRITINGS[name].makes

    def held(folder: Path) -> list[Any]:
        return [state_of(folder / PLACE), *(content_of(folder / one) for one in makes)]

    before, after = held(copies[0]), held(folder)
    last = max(number for number, (kind, _) in enumerate(steps) if kind != "unlink") + 1
    for done, state in states_after_cuts(steps, copies, seed=3, each=EACH):
        with TALLY.fault("power cuts", f"{name}, after step {done} of {len(steps)}"):
            found = held(laid_out(state, tmp_path / "cut"))
            for was, there, is_ in zip(before, found, after, strict=True):
                assert there in (was, is_)
            assert found == after or done < last  # acknowledged: kept
            with geopackage.reading(tmp_path / "cut" / PLACE):
                pass  # and our own next run takes it
    assert validated(tmp_path / "cut" / PLACE) == ""


def _check_the_settings(made: Path, room: Path) -> None:
    """Where no program may follow another: at least what SQLite is told to wait for."""
    place = copied(made, room / "folder") / PLACE
    with TALLY.fault("power cuts", "settings"), geopackage.editing(place) as connection:
        assert connection.execute("PRAGMA synchronous").fetchone() == (3,)  # EXTRA
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)


def test_sqlite_is_told_to_wait_for_the_disk(made_once: Path, tmp_path: Path) -> None:
    _check_the_settings(made_once, tmp_path)


def test_a_copy_without_its_journal_is_refused_in_words(
    asked: Asking, made_once: Path, tmp_path: Path
) -> None:
    """The place alone, copied in the middle of a large write, the journal left behind.

    Its pages are of two ages. (What no check of pages can see, a whole page of the newer age, is
    beyond us: 1.4 of https://www.sqlite.org/howtocorrupt.html.)
    """
    place = copied(made_once, tmp_path / "folder") / PLACE
    torn = tmp_path / "torn.gpkg"
    with TALLY.fault("copies without their journal", "in the middle of a write"):
        with closing(sqlite3.connect(place, isolation_level=None)) as connection:
            connection.execute("PRAGMA cache_size = 1")  # pages go to the disk before the commit
            connection.execute("BEGIN IMMEDIATE")
            row = "INSERT INTO visit (id, property, task, date) VALUES (?, 'x', 'y', 'z')"
            connection.executemany(row, [(f"{number:032x}",) for number in range(5_000)])
            assert place.with_name(f"{PLACE}-journal").stat().st_size > 0
            shutil.copy(place, torn)
            connection.execute("ROLLBACK")
        content = torn.read_bytes()
        ran = asked.run(("record", "torn.gpkg", "--list"), tmp_path)
        assert (ran.status, ran.out) == (2, "")
        assert "it is damaged" in ran.err
        assert "copy it anew with every program closed" in ran.err
        assert len(ran.err.strip().splitlines()) == 1
        assert torn.read_bytes() == content
    assert asked.run(("record", PLACE, "--list"), place.parent).status == 0


def test_a_copy_without_its_journal_never_hides_a_shape(
    asked: Asking, made_once: Path, tmp_path: Path
) -> None:
    """At whichever write it was copied: what a zone is near is found by the R-tree."""
    if not asked.follows:
        _check_the_settings(made_once, tmp_path)
        return
    _, copies, _ = traced(asked, made_once, tmp_path, "import")
    contents_alone = {(copy / PLACE).read_bytes() for copy in copies}
    refused = 0
    for number, content in enumerate(sorted(contents_alone)):
        alone = laid_out({PLACE: content}, tmp_path / f"alone{number}")
        with TALLY.fault("copies without their journal", f"import, {number}"):
            ran = asked.run(("record", PLACE, "--list"), alone)
            refused += ran.status == 2
            if ran.status:
                assert (ran.status, "it is damaged" in ran.err) == (2, True)
                continue
            state = state_of(alone / PLACE)
            assert state is not None
            found = {row[0] for row in state["rtree_zone_geom"]}
            assert found == {row[0] for row in state["zone"]}
    assert 0 < refused < len(contents_alone)


def test_a_place_and_its_journal_copied_together_are_whole(
    asked: Asking, made_once: Path, tmp_path: Path
) -> None:
    """Killed in the middle of its commit, both files carried elsewhere: the next run mends it."""
    if not asked.follows:
        _check_the_settings(made_once, tmp_path)
        return
    steps, copies, _ = traced(asked, made_once, tmp_path, "record")
    writes = [number for number, step in enumerate(steps) if step == ["write", PLACE]]
    middle = copies[writes[len(writes) // 2]]
    assert f"{PLACE}-journal" in contents(middle)
    with TALLY.fault("places carried with their journal", "record"):
        elsewhere = copied(middle, tmp_path / "elsewhere")
        ran = asked.run(("record", PLACE, "--list"), elsewhere)
        assert ran.status == 0, ran.err
        assert not (elsewhere / f"{PLACE}-journal").exists()
        assert state_of(elsewhere / PLACE) == state_of(copies[0] / PLACE)
