"""A branch: part of a place in a file of its own, which remembers how its rows were at the split.

What a branch remembers is a digest of each row; the place that it came from remembers the digests
of the rows that have come home since. Both stand in plain tables that no desktop GIS lists.
"""

import os
import sqlite3
import uuid
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from turfmap.foundations.definitions import map_layer
from turfmap.foundations.errors import input_fault
from turfmap.store import change_log, geopackage, geopackage_records, geopackage_schema
from turfmap.store.geopackage_reference import layer_made, names_of_tables
from turfmap.store.kept_rows import KeptRow, columns_of
from turfmap.store.written_files import move_unless_there

ABOUT, ROWS = "turfmap_branch", "turfmap_branch_row"
Digests = dict[str, dict[str, str | None]]


@dataclass(frozen=True)
class Branch:
    """A branch as its file tells of it.

    Attributes
    ----------
    identity, name
        What it is for good, and what people call it.
    digests
        By layer and row, as they were when it was split off.
    """

    identity: str
    name: str
    digests: Digests


def write_branch(
    source: sqlite3.Connection, rows: Mapping[str, Sequence[KeptRow]], out: Path, *, name: str
) -> None:
    """Write rows of a place as a place of its own: whole, or not at all.

    Its log of changes begins anew: the older rows in it are other clients' business.

    Parameters
    ----------
    source
        The place, from `geopackage.reading`.
    rows
        What goes along, by layer.
    out
        The new file.
    name
        What the branch is called.

    Raises
    ------
    InputFaultsError
        If there is a file of that name, or it cannot be written.
    """
    taken = input_fault(
        "there is a file of that name already", "choose another name", file=str(out)
    )
    if out.exists():
        raise taken
    making = out.with_name(f".{out.name}.{os.getpid()}.making-branch")
    try:
        geopackage.create(making)
        with geopackage.editing(making) as connection:
            _fill(source, connection, rows)
            _remember_split(connection, rows, name)
            connection.execute(f"DELETE FROM {change_log.TABLE}")
        move_unless_there(making, out)
    except FileExistsError:
        raise taken from None
    finally:
        with suppress(OSError):
            making.unlink(missing_ok=True)


def _fill(
    source: sqlite3.Connection,
    connection: sqlite3.Connection,
    rows: Mapping[str, Sequence[KeptRow]],
) -> None:
    records = map_layer(geopackage_records.RECORDS)
    # A correction may come without the record that it corrects, if that is another client's.
    geopackage_records.lift_guards(connection, records)
    for name, mine in rows.items():
        layer = layer_made(connection, name)
        if layer.geometry:
            _keep_in_the_same_system(source, connection, name)
        names = ["fid", *columns_of(layer)]
        connection.executemany(
            f"INSERT INTO {name} ({geopackage_schema.quoted(names)})"
            f" VALUES ({', '.join('?' * len(names))})",
            [(row.fid, *row.values) for row in mine],
        )
        geopackage.tell_contents(connection, layer)
    geopackage_records.forbid_changes(connection, records)


def _keep_in_the_same_system(
    source: sqlite3.Connection, connection: sqlite3.Connection, name: str
) -> None:
    """Declare a layer in the place's own system: its bytes are copied as they are."""
    for row in source.execute(
        "SELECT srs.* FROM gpkg_spatial_ref_sys AS srs JOIN gpkg_geometry_columns USING (srs_id)"
        " WHERE table_name = ?",
        (name,),
    ):
        marks = ", ".join("?" * len(row))
        connection.execute(f"INSERT OR IGNORE INTO gpkg_spatial_ref_sys VALUES ({marks})", row)
    (srs_id,) = source.execute(
        "SELECT srs_id FROM gpkg_geometry_columns WHERE table_name = ?", (name,)
    ).fetchone()
    for told in ("gpkg_geometry_columns", "gpkg_contents"):
        connection.execute(f"UPDATE {told} SET srs_id = ? WHERE table_name = ?", (srs_id, name))


def _remember_split(
    connection: sqlite3.Connection, rows: Mapping[str, Sequence[KeptRow]], name: str
) -> None:
    identity = uuid.uuid4().hex
    connection.execute(
        f"CREATE TABLE {ABOUT} (id TEXT NOT NULL, name TEXT NOT NULL,"
        " split_at TEXT NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')))"
    )
    connection.execute(f"INSERT INTO {ABOUT} (id, name) VALUES (?, ?)", (identity, name))
    digests: Digests = {
        layer: {row.identity: row.digest() for row in mine} for layer, mine in rows.items()
    }
    remember(connection, identity, digests)


def remember(connection: sqlite3.Connection, identity: str, digests: Digests) -> None:
    """Note how rows of a branch are, in the branch or in the place that they came home to."""
    connection.execute(
        f"CREATE TABLE IF NOT EXISTS {ROWS} (branch TEXT NOT NULL, layer TEXT NOT NULL,"
        " row TEXT NOT NULL, digest TEXT, PRIMARY KEY (branch, layer, row))"
    )
    connection.executemany(
        f"INSERT OR REPLACE INTO {ROWS} VALUES (?, ?, ?, ?)",
        [
            (identity, layer, row, digest)
            for layer, mine in digests.items()
            for row, digest in mine.items()
        ],
    )


def remembered(connection: sqlite3.Connection, identity: str) -> Digests:
    """Return what a file remembers of a branch's rows."""
    if ROWS not in names_of_tables(connection):
        return {}
    found: Digests = {}
    for layer, row, digest in connection.execute(
        f"SELECT layer, row, digest FROM {ROWS} WHERE branch = ?", (identity,)
    ):
        found.setdefault(layer, {})[row] = digest
    return found


def branch_of(connection: sqlite3.Connection, *, file: str) -> Branch:
    """Return what a branch file tells of itself.

    Raises
    ------
    InputFaultsError
        If it is a place, but no branch.
    """
    if ABOUT not in names_of_tables(connection):
        raise input_fault(
            "it is a place of its own and no branch: nobody knows what was changed in it since",
            "choose a file that turfmap export --branch made",
            file=file,
        )
    identity, name = connection.execute(f"SELECT id, name FROM {ABOUT}").fetchone()
    return Branch(str(identity), str(name), remembered(connection, str(identity)))
