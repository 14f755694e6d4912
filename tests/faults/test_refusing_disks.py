"""Disks that are full or refuse to be written to: one sentence, nothing changed, nothing left over.

Full: a file system of 12 MB in memory, filled; and, everywhere, the limit of a file's size
(setrlimit(2), RLIMIT_FSIZE with SIGXFSZ ignored: a write beyond it fails). Read-only: permissions,
which root too has to obey (capabilities(7)), and that file system mounted read-only.
"""

import stat
from collections.abc import Iterator
from contextlib import nullcontext
from pathlib import Path
from typing import Any

import pytest

from tests.faults.asking import Asking, Ran
from tests.faults.disks import filled, read_only, small_disk
from tests.faults.places import content_of, copied, state_of, validated
from tests.faults.tally import IS_LONG, TALLY
from tests.faults.writing import AGAIN, LONG, WRITINGS, Writing

PLACE = "place.gpkg"
# What is left [bytes]: nothing, a page, the journal of a small change, some of what is written.
LEFT = (0, 4096, 16_384, 65_536, 262_144) if IS_LONG else (0, 16_384)
SHORT = ("new", "import", "record", "undo", "nospray", "notice --templates-into")
# The first names a record that each place calls otherwise; the others write as crew and map do.
LEFT_OUT = {"record --correct", "demo", AGAIN, "sheet", "sheet.pdf"}
NAMES = [name for name in WRITINGS if name not in LEFT_OUT] if IS_LONG else SHORT


@pytest.fixture(scope="module")
def disk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path | None]:
    """Return where a small disk is mounted, None where nobody may mount one."""
    folder = tmp_path_factory.mktemp("disk") / "small"
    with small_disk(folder) as mounted:
        yield folder if mounted else None


def held(folder: Path, writing: Writing) -> list[Any]:
    return [state_of(folder / PLACE), *(content_of(folder / name) for name in writing.makes)]


def names(folder: Path) -> set[str]:
    return {str(path.relative_to(folder)) for path in folder.rglob("*")}


def ready(asked: Asking, made: Path, to: Path, writing: Writing) -> Path:
    folder = copied(made, to)
    for earlier in writing.before:
        assert asked.run(earlier, folder).status == 0
    return folder


def check_refused(ran: Ran, *words: str) -> None:
    assert ran.status == 2, ran.out + ran.err
    assert "Traceback" not in ran.err
    said = ran.err.strip()
    assert len(said.splitlines()) == 1, said
    assert any(word in said for word in words), said


def check_full(asked: Asking, folder: Path, writing: Writing, room: Path, **how: Any) -> bool:
    """Run a command on a full disk; return whether it had to be refused."""
    before, there = held(folder, writing), names(folder)
    ran = asked.run(writing.arguments, folder, **how)
    if ran.status == 0:
        return False
    check_refused(ran, "disk", "No space left", "File too large", "too large")
    if (folder / PLACE).with_name(f"{PLACE}-journal").exists():
        # SQLite could not roll back without room: its journal does it when there is some.
        copied(folder, room)
        assert state_of(room / PLACE) == before[0]
    else:
        assert held(folder, writing) == before
        assert names(folder) == there
    return True


@pytest.mark.parametrize("name", NAMES)
def test_a_full_disk_changes_nothing_and_with_room_it_works(
    asked: Asking, made_once: Path, disk: Path | None, tmp_path: Path, name: str
) -> None:
    writing = WRITINGS[name]
    before = ready(asked, made_once, tmp_path / "before", writing)
    refused = 0
    for left in LEFT:
        with TALLY.fault("writes beyond a file's limit", f"{name}, {left} bytes"):
            folder = copied(before, tmp_path / "limited")
            refused += check_full(asked, folder, writing, tmp_path / "c", largest_bytes=left)
        if disk is not None:
            with TALLY.fault("disks full", f"{name}, {left} bytes left"):
                folder = copied(before, disk / "full")
                with filled(disk, left=left):
                    refused += check_full(asked, folder, writing, tmp_path / "c")
        again = asked.run(writing.arguments, folder)
        assert again.status == 0 or writing.refuses in again.err, again.err
        assert validated(folder / PLACE) == "" if left == LEFT[-1] else True
    assert refused  # with nothing left at least


def test_a_full_disk_for_copies_is_told_too(asked: Asking, made_once: Path, tmp_path: Path) -> None:
    """A foreign file is copied before it is read; that place may be full while others are not."""
    with small_disk(tmp_path / "small") as mounted:
        folder = copied(made_once, tmp_path / "before")
        how: dict[str, Any] = {"largest_bytes": 0}
        if mounted:
            how = {"puts": {"tempfile.tempdir": str(tmp_path / "small")}}
        with TALLY.fault("disks full", "import, the room for copies"):
            before = state_of(folder / PLACE)
            with filled(tmp_path / "small", left=0) if mounted else nullcontext():
                ran = asked.run(WRITINGS["import"].arguments, folder, **how)
            check_refused(ran, "No space left", "File too large", "disk")
            assert state_of(folder / PLACE) == before


READ_ONLY = ("may not be written", "cannot be written", "cannot be made", "Read-only")


@pytest.mark.parametrize("name", [name for name in NAMES if IS_LONG or name not in LONG])
def test_where_nothing_may_be_written_nothing_is(
    asked: Asking, made_once: Path, disk: Path | None, tmp_path: Path, name: str
) -> None:
    writing = WRITINGS[name]
    folder = ready(asked, made_once, tmp_path / "before", writing)
    bytes_before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    with TALLY.fault("folders read-only", name):
        _forbid(folder)
        try:
            check_refused(asked.run(writing.arguments, folder, obeys_modes=True), *READ_ONLY)
            if name != "new":  # and what only reads works all the same
                seen = asked.run(("area", PLACE, "--json"), folder, obeys_modes=True)
                assert seen.status == 0, seen.err
        finally:
            _allow(folder)
        assert {path: path.read_bytes() for path in bytes_before} == bytes_before
    if disk is not None:
        with TALLY.fault("disks read-only", name):
            copied(folder, disk / "full")
            read_only(disk, is_read_only=True)
            try:
                check_refused(asked.run(writing.arguments, disk / "full"), *READ_ONLY)
            finally:
                read_only(disk, is_read_only=False)
    done = asked.run(writing.arguments, folder)
    assert done.status == 0, done.err


@pytest.mark.parametrize("name", ["record", "nospray"])
def test_a_file_that_may_not_be_written_to_is_left_alone(
    asked: Asking, made_once: Path, tmp_path: Path, name: str
) -> None:
    """In a folder that allows it: a file moved into its place would pass over that."""
    writing = WRITINGS[name]
    folder = ready(asked, made_once, tmp_path / "before", writing)
    path = folder / (writing.makes[0] if writing.makes else PLACE)
    content = path.read_bytes()
    with TALLY.fault("files read-only", name):
        path.chmod(0o444)
        check_refused(asked.run(writing.arguments, folder, obeys_modes=True), *READ_ONLY)
        assert path.read_bytes() == content
        assert stat.S_IMODE(path.stat().st_mode) == 0o444


def _forbid(folder: Path) -> None:
    for path in (*folder.rglob("*"), folder):
        path.chmod(0o555 if path.is_dir() else 0o444)


def _allow(folder: Path) -> None:
    for path in (folder, *folder.rglob("*")):
        path.chmod(0o755 if path.is_dir() else 0o644)
