"""What is wrong with a turfmap file itself: what SQLite says of it, in a sentence of ours."""

import sqlite3
from pathlib import Path

from turfmap.foundations.definitions import map_layers
from turfmap.foundations.errors import Fault, FileFaultError, InputFaultsError, input_fault

# Files that this process has found whole, by their place on the disk.
_found_whole: set[tuple[int, int]] = set()

# What SQLite says, its sort, and how a person is told.
_FILE_FAULTS = (
    ("locked", "busy", "another program is writing to it", "close it there and try again"),
    ("busy", "busy", "another program is writing to it", "close it there and try again"),
    ("readonly", "readonly", "it may not be written to", "allow writing, or work on a copy"),
    (
        "unable to open",
        "readonly",
        "it cannot be written to in its folder",
        "allow writing there, or copy it elsewhere",
    ),
    ("full", "full", "the disk is full; nothing was written", "make room"),
    # What a full disk, a quota or a lost network folder makes of a write.
    (
        "disk I/O error",
        "full",
        "the disk refused to write; nothing was written",
        "make room, or see whether its folder is still there",
    ),
)


def as_fault(error: sqlite3.Error | UnicodeDecodeError, path: Path) -> InputFaultsError:
    """Return the error to raise for one of SQLite's on a place."""
    said = str(error)
    if isinstance(error, sqlite3.IntegrityError):  # one of our own triggers, in its own words
        return input_fault(said, "nothing was written", file=str(path))
    for words, kind, problem, mend in _FILE_FAULTS:
        if words in said:
            return FileFaultError(kind, Fault(str(path), "", problem, mend))
    if "malformed" in said:
        return _damaged(path, said)
    problem, mend = f"it cannot be read as a GeoPackage ({said})", "restore it from a copy"
    return FileFaultError("unreadable", Fault(str(path), "", problem, mend))


def check_is_whole(connection: sqlite3.Connection, path: Path) -> None:
    """Refuse a file whose pages do not fit each other, once in a process: 3 ms a megabyte.

    So is a copy made in the middle of a write, or one that left the journal behind. Whether each
    shape is in its layer's R-tree is looked at too: one that is not would not be found near others.

    Parameters
    ----------
    connection
        Of a turfmap file, with our functions registered.
    path
        The place.

    Raises
    ------
    FileFaultError
        If it is not whole.
    """
    stat = path.stat()
    if (stat.st_dev, stat.st_ino) in _found_whole:
        return
    said = [text for (text,) in connection.execute("PRAGMA integrity_check(1)")]
    if said == ["ok"]:
        said = _lacking_in_indexes(connection)
    if said:
        raise _damaged(path, " ".join(said))
    _found_whole.add((stat.st_dev, stat.st_ino))


def _lacking_in_indexes(connection: sqlite3.Connection) -> list[str]:
    names = {name for (name,) in connection.execute("SELECT name FROM sqlite_master")}
    layers = [name for name in map_layers() if f"rtree_{name}_geom" in names]
    counts = {
        name: connection.execute(
            f"SELECT count(*) FROM {name} WHERE geom NOTNULL"
            f" AND fid NOT IN (SELECT id FROM rtree_{name}_geom) AND NOT ST_IsEmpty(geom)"
        ).fetchone()[0]
        for name in layers
    }
    return [f"the index of {name} lacks {count} rows" for name, count in counts.items() if count]


def _damaged(path: Path, said: str) -> FileFaultError:
    problem = (
        "it is damaged, as a copy is that was made while a program wrote to it, or without the"
        f" file {path.name}-journal that lay beside it ({said[:100]})"
    )
    mend = "copy it anew with every program closed, or restore it from an older copy"
    return FileFaultError("unreadable", Fault(str(path), "", problem, mend))
