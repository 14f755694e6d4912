"""Tables to which rows are only ever added: triggers that no program gets round by mistake.

They hold for desktop GIS too: SQLite runs them whoever writes. (Dropping the table, or the
triggers, is beyond them.)
"""

import sqlite3

from turfmap.foundations.definitions import Layer

# What was done is evidence: it may be corrected by a new row, never changed.
RECORDS = "visit"


def forbid_changes(connection: sqlite3.Connection, layer: Layer) -> None:
    """Make a table of records refuse changed, removed, replaced and wrongly correcting rows.

    Parameters
    ----------
    connection
        Inside the transaction that made the table.
    layer
        The table, with columns ``record`` and ``corrects``.
    """
    table = layer.name
    never = f"a recorded {table} is never changed or removed: add a row that corrects it"
    columns = ("fid", *layer.columns)
    unchanged = " AND ".join(f"NEW.{column} IS OLD.{column}" for column in columns)
    # The row's own identity is given after it was added: see `geopackage_schema`.
    lacks_identity = f"(OLD.id IS NULL OR (SELECT count(*) FROM {table} WHERE id = OLD.id) > 1)"
    corrects = "NEW.corrects <> ''"
    there = f"SELECT 1 FROM {table} WHERE coalesce(nullif(record, ''), id) = NEW.corrects"
    by_another = (
        f"SELECT 1 FROM {table} WHERE corrects = NEW.corrects"
        " AND (record IS NOT NEW.record OR NEW.record IS NULL)"
    )
    guards = {
        "kept_from_update": f"UPDATE ON {table} WHEN NOT ({unchanged} AND {lacks_identity})",
        "kept_from_delete": f"DELETE ON {table}",
        # INSERT OR REPLACE removes the older row without running the trigger on DELETE.
        "kept_from_replace": f"INSERT ON {table}"
        f" WHEN EXISTS (SELECT 1 FROM {table} WHERE fid = NEW.fid)",
    }
    for name, event in guards.items():
        _refuse(connection, f"{table}_{name}", event, never)
    unknown = f"the column corrects must name a record of a {table} that is in this file"
    _refuse(
        connection,
        f"{table}_corrects_one_there",
        f"INSERT ON {table} WHEN {corrects} AND NOT EXISTS ({there})",
        unknown,
    )
    twice = f"that {table} was corrected already: correct the row that took its place"
    _refuse(
        connection,
        f"{table}_corrected_once",
        f"INSERT ON {table} WHEN {corrects} AND EXISTS ({by_another})",
        twice,
    )


def renew_guards(connection: sqlite3.Connection, layer: Layer) -> None:
    """Put up the same triggers again for a table that has gained columns."""
    lift_guards(connection, layer)
    forbid_changes(connection, layer)


def lift_guards(connection: sqlite3.Connection, layer: Layer) -> None:
    """Take the triggers down, in the transaction that puts them up again."""
    found = connection.execute(
        "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = ?"
        " AND (name LIKE '%_kept_from_%' OR name LIKE '%_corrects_%' OR name LIKE '%_corrected_%')",
        (layer.name,),
    )
    for (name,) in found.fetchall():
        connection.execute(f"DROP TRIGGER {name}")


def _refuse(connection: sqlite3.Connection, name: str, event: str, words: str) -> None:
    connection.execute(
        f"CREATE TRIGGER {name} BEFORE {event} BEGIN SELECT RAISE(ABORT, '{words}'); END"
    )
