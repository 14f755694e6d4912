"""Places as earlier layouts were, made from one of the present layout."""

import sqlite3
from contextlib import closing
from pathlib import Path

from turfmap.store import change_log
from turfmap.store.geometry_blob import register_functions
from turfmap.store.geopackage_schema import FORMAT_VERSION

EARLIER = tuple(range(1, FORMAT_VERSION))
ABSOLUTE = "abs(julianday('now') - julianday(at))"


def make_earlier(path: Path, version: int) -> None:
    """Make a place as it was in an earlier layout.

    Layout 1 had no log of changes. Layout 2 had one that took no clock put back.
    """
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        register_functions(connection)
        connection.execute("BEGIN")
        triggers = connection.execute(
            "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND sql LIKE ?",
            (f"%INSERT INTO {change_log.TABLE}%",),
        ).fetchall()
        assert triggers
        for name, text in triggers:
            connection.execute(f"DROP TRIGGER {name}")
            if version > 1:
                assert ABSOLUTE in text
                connection.execute(text.replace(ABSOLUTE, ABSOLUTE.removeprefix("abs")))
        if version == 1:
            connection.execute(f"DROP TABLE {change_log.TABLE}")
            for table in ("gpkg_contents", "sqlite_sequence"):
                column = "name" if table == "sqlite_sequence" else "table_name"
                connection.execute(f"DELETE FROM {table} WHERE {column} = '{change_log.TABLE}'")  # noqa: S608
        connection.execute(
            "UPDATE gpkg_metadata SET metadata = ? WHERE metadata LIKE 'turfmap file format %'",
            (f"turfmap file format {version}",),
        )
        connection.execute("COMMIT")
