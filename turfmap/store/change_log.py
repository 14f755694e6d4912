"""What every change to a drawn layer replaced: a log that triggers fill, whoever writes.

A desktop GIS that edits the file is logged too, since SQLite runs its triggers for every program.
Each entry keeps the whole row as it was before, shape included. Entries of one transaction of
turfmap share a number; those of another program share one if they follow within a second, as
SQLite shows no transaction to a trigger. (Neither before nor after by the clock: it may be put
back. The order of entries is that of their numbers, never of their times.)
"""

import json
import sqlite3
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from turfmap.foundations.definitions import Layer, map_layers

TABLE = "turfmap_change"
IDENTIFIER = "Changes"
_DESCRIPTION = "What each change replaced. turfmap undo restores it."
_CREATE = f"""
CREATE TABLE {TABLE} (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  change INTEGER NOT NULL,
  at DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
  who TEXT,
  undoes INTEGER,
  layer TEXT NOT NULL,
  operation TEXT NOT NULL,
  row_fid INTEGER NOT NULL,
  row_id TEXT,
  before TEXT,
  before_geom BLOB
)
"""
_NUMBER = f"""
coalesce((SELECT change
   + (who IS NOT NULL OR abs(julianday('now') - julianday(at)) > 1.0 / 86400.0)
  FROM {TABLE} ORDER BY fid DESC LIMIT 1), 1)
"""
_ADD_NEW = f"INSERT INTO {TABLE} (change, layer, operation, row_fid, row_id)"
_ADD_OLD = f"INSERT INTO {TABLE} (change, layer, operation, row_fid, row_id, before, before_geom)"


@dataclass(frozen=True)
class Entry:
    """One row's part in a change.

    Attributes
    ----------
    operation
        insert, update or delete.
    before, before_geom
        The row before it as `row_text` writes it, and its geometry; None for an insert.
    """

    fid: int
    change: int
    at: str
    who: str | None
    undoes: int | None
    layer: str
    operation: str
    row_fid: int
    row_id: str | None
    before: str | None
    before_geom: bytes | None


_COLUMNS = ", ".join(Entry.__dataclass_fields__)


def logged_layers() -> list[Layer]:
    """Return the layers whose changes are logged: those that people draw."""
    return [layer for layer in map_layers().values() if layer.geometry]


def add_change_log(connection: sqlite3.Connection) -> None:
    """Make the log, tell the GeoPackage of it, and let every drawn layer fill it."""
    connection.execute(_CREATE)
    connection.execute(f"CREATE INDEX {TABLE}_by_row ON {TABLE} (layer, row_fid)")
    connection.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description)"
        " VALUES (?, 'attributes', ?, ?)",
        (TABLE, IDENTIFIER, _DESCRIPTION),
    )
    for layer in logged_layers():
        _let_fill(connection, layer)


def renew_triggers(connection: sqlite3.Connection, names: Collection[str]) -> None:
    """Let layers fill the log as they do now: those that have gained columns, or are new."""
    for layer in logged_layers():
        if layer.name in names:
            for operation in ("insert", "update", "delete", "replace"):
                connection.execute(f"DROP TRIGGER IF EXISTS {layer.name}_change_{operation}")
            _let_fill(connection, layer)


def _let_fill(connection: sqlite3.Connection, layer: Layer) -> None:
    table = layer.name
    before = f"{row_text(layer, 'OLD')}, OLD.geom"
    compared = ["fid", "geom", *layer.columns]
    same = " AND ".join(f'NEW."{name}" IS OLD."{name}"' for name in compared)
    replaced = f"FROM {table} AS there WHERE fid = NEW.fid"
    texts = {
        "insert": f"AFTER INSERT ON {table} BEGIN"
        f" {_ADD_NEW} VALUES"
        f" ({_NUMBER}, '{table}', 'insert', NEW.fid, NEW.id); END",
        # A new row is given its identity by a trigger: that changes no column of its own.
        "update": f"AFTER UPDATE ON {table} WHEN NOT ({same}) BEGIN"
        f" {_ADD_OLD} VALUES"
        f" ({_NUMBER}, '{table}', 'update', OLD.fid, OLD.id, {before}); END",
        "delete": f"AFTER DELETE ON {table} BEGIN"
        f" {_ADD_OLD} VALUES"
        f" ({_NUMBER}, '{table}', 'delete', OLD.fid, OLD.id, {before}); END",
        # INSERT OR REPLACE removes the older row without running the trigger on DELETE.
        "replace": f"BEFORE INSERT ON {table}"
        f" WHEN EXISTS (SELECT 1 FROM {table} WHERE fid = NEW.fid) BEGIN"
        f" {_ADD_OLD} SELECT"
        f" {_NUMBER}, '{table}', 'delete', fid, id, {row_text(layer, 'there')}, geom {replaced};"
        " END",
    }
    for name, text in texts.items():
        connection.execute(f"CREATE TRIGGER {table}_change_{name} {text}")


def row_text(layer: Layer, source: str) -> str:
    """Return the SQL that writes a row's columns as one JSON text.

    Numbers with a fraction are quoted, as SQLite's JSON would cut them to fifteen digits.
    """

    def value(name: str) -> str:
        column = f'{source}."{name}"'
        return (
            f"CASE typeof({column}) WHEN 'real' THEN quote({column})"
            f" WHEN 'blob' THEN NULL ELSE {column} END"
        )

    pairs = [f"'{name}', {value(name)}" for name in _kept(layer)]
    return f"json_object({', '.join(pairs)})"


def _kept(layer: Layer) -> list[str]:
    return ["id", *layer.columns]


def last_entry(connection: sqlite3.Connection) -> int:
    """Return the number of the newest entry, 0 if there is none."""
    (fid,) = connection.execute(f"SELECT coalesce(max(fid), 0) FROM {TABLE}").fetchone()
    return int(fid)


def newest_change(connection: sqlite3.Connection) -> int:
    """Return the number of the newest change, 0 if there is none."""
    (number,) = connection.execute(f"SELECT coalesce(max(change), 0) FROM {TABLE}").fetchone()
    return int(number)


def number_since(
    connection: sqlite3.Connection, entry: int, *, who: str, undoes: int | None = None
) -> int | None:
    """Give all entries after one the same, new number; return it, or None if there are none.

    Parameters
    ----------
    connection
        Inside the transaction that made them.
    entry
        From `last_entry` at the beginning of that transaction.
    who
        Which door the change came through.
    undoes
        The number of the change that this one undoes.
    """
    if last_entry(connection) == entry:
        return None
    (last,) = connection.execute(
        f"SELECT coalesce(max(change), 0) FROM {TABLE} WHERE fid <= ?", (entry,)
    ).fetchone()
    connection.execute(
        f"UPDATE {TABLE} SET change = ?, who = ?, undoes = ? WHERE fid > ?",
        (last + 1, who, undoes, entry),
    )
    return int(last) + 1


def entries_of(connection: sqlite3.Connection, change: int) -> list[Entry]:
    """Return the entries of one change, oldest first."""
    found = connection.execute(
        f"SELECT {_COLUMNS} FROM {TABLE} WHERE change = ? ORDER BY fid", (change,)
    )
    return [Entry(*row) for row in found]


def changes(connection: sqlite3.Connection, *, limit: int) -> list[dict[str, Any]]:
    """Return the newest changes, newest first: number, when, who, what it undoes, and counts."""
    found = connection.execute(
        "SELECT change, max(at), max(who), max(undoes), layer, operation, count(*)"
        f" FROM {TABLE} WHERE change IN"
        f" (SELECT DISTINCT change FROM {TABLE} ORDER BY change DESC LIMIT ?)"
        " GROUP BY change, layer, operation ORDER BY change DESC, min(fid)",
        (limit,),
    )
    told: dict[int, dict[str, Any]] = {}
    for change, at, who, undoes, layer, operation, count in found:
        start = {"change": change, "at": at, "who": who, "undoes": undoes, "rows": []}
        told.setdefault(change, start)["rows"].append(
            {"layer": layer, "operation": operation, "count": count}
        )
    return list(told.values())


def newest_to_undo(connection: sqlite3.Connection) -> int | None:
    """Return the newest change that neither undoes another nor has been undone itself."""
    (change,) = connection.execute(
        f"SELECT max(change) FROM {TABLE} WHERE undoes IS NULL AND change NOT IN"
        f" (SELECT undone.undoes FROM {TABLE} AS undone WHERE undone.undoes IS NOT NULL"
        f"  AND undone.change NOT IN"
        f"  (SELECT again.undoes FROM {TABLE} AS again WHERE again.undoes IS NOT NULL))"
    ).fetchone()
    return None if change is None else int(change)


def row_values(text: str, layer: Layer) -> dict[str, Any]:
    """Read what `row_text` wrote: a value for ``id`` and each column."""
    values: dict[str, Any] = json.loads(text)
    for column in layer.columns.values():
        value = values.get(column.name)
        if column.type in {"number", "whole"} and isinstance(value, str):
            values[column.name] = _number(value)
    return {name: values.get(name) for name in _kept(layer)}


def _number(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


State = tuple[dict[str, Any] | None, bytes | None]


def state_after(connection: sqlite3.Connection, entry: Entry) -> State:
    """Return the row as an entry left it: what the next change of that row found."""
    following = connection.execute(
        f"SELECT before, before_geom FROM {TABLE} WHERE layer = ? AND row_fid = ? AND fid > ?"
        " ORDER BY fid LIMIT 1",
        (entry.layer, entry.row_fid, entry.fid),
    ).fetchone()
    return _state(entry, following) if following else state_now(connection, entry)


def state_now(connection: sqlite3.Connection, entry: Entry) -> State:
    """Return the row that an entry is about as it stands, or (None, None) if it is not there."""
    layer = map_layers()[entry.layer]
    found = connection.execute(
        f"SELECT {row_text(layer, 'row')}, geom FROM {layer.name} AS row WHERE fid = ?",
        (entry.row_fid,),
    ).fetchone()
    return _state(entry, found or (None, None))


def _state(entry: Entry, found: tuple[str | None, bytes | None]) -> State:
    text, geometry = found
    return None if text is None else row_values(text, map_layers()[entry.layer]), geometry


def identity_of(connection: sqlite3.Connection, entry: Entry) -> str | None:
    """Return the lasting identity of the row that an entry is about.

    A new row has none yet when its entry is written.
    """
    found = (
        connection.execute(
            f"SELECT id FROM {map_layers()[entry.layer].name} WHERE fid = ?", (entry.row_fid,)
        ).fetchone()
        or connection.execute(
            f"SELECT row_id FROM {TABLE} WHERE layer = ? AND row_fid = ? AND row_id IS NOT NULL"
            " ORDER BY fid DESC LIMIT 1",
            (entry.layer, entry.row_fid),
        ).fetchone()
    )
    return str(found[0]) if found else None


def restore(connection: sqlite3.Connection, entry: Entry) -> None:
    """Put a row back as it was before an entry, its geometry to the byte.

    Raises
    ------
    sqlite3.IntegrityError
        If a row that was deleted cannot come back under its number.
    """
    layer = map_layers()[entry.layer]
    if entry.before is None:
        connection.execute(f"DELETE FROM {layer.name} WHERE fid = ?", (entry.row_fid,))
        return
    values = row_values(entry.before, layer)
    columns = [*_quoted(values), "geom"]
    bound = [*values.values(), entry.before_geom, entry.row_fid]
    if entry.operation == "delete":
        marks = ", ".join("?" * (len(columns) + 1))
        connection.execute(
            f"INSERT INTO {layer.name} ({', '.join(columns)}, fid) VALUES ({marks})", bound
        )
    else:
        changes = ", ".join(f"{name} = ?" for name in columns)
        connection.execute(f"UPDATE {layer.name} SET {changes} WHERE fid = ?", bound)


def _quoted(names: Iterable[str]) -> Sequence[str]:
    return [f'"{name}"' for name in names]
