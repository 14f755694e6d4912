"""Rows of a place by their identity, to be compared with those of another and written as they are.

Of a drawn layer or a table of the place, a row's identity is its own ``id``; own rows of reference
tables are known by their key, as they are replaced by it.
"""

import hashlib
import json
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from turfmap.foundations.definitions import Layer, map_layers, tables
from turfmap.store import geopackage, geopackage_schema
from turfmap.store.geometry_blob import body_of
from turfmap.store.geopackage_reference import names_of_tables

Values = tuple[Any, ...]


@dataclass(frozen=True)
class KeptRow:
    """A row as a file keeps it.

    Attributes
    ----------
    fid, identity
        The file's own number, and what it is in every file.
    values
        ``id``, the geometry's bytes if the layer is drawn, and the declared columns.
    """

    fid: int
    identity: str
    values: Values

    def digest(self) -> str:
        """Return what only an equal row has too; its ``id`` and a shape's header count not."""
        plain = [_without_header(one) for one in self.values[1:]]
        return hashlib.sha256(repr(plain).encode("utf-8", "surrogatepass")).hexdigest()


def _without_header(value: Any) -> Any:
    """Return a shape's own bytes: another program writes another header round the same shape."""
    try:
        return body_of(value) if isinstance(value, bytes) else value
    except ValueError:  # no shape that anybody can read: it is what it is
        return value


def kept_layers(connection: sqlite3.Connection) -> list[Layer]:
    """Return the layers of a place, and the reference tables that it has own rows of."""
    there = names_of_tables(connection)
    return [*map_layers().values(), *(one for name, one in tables().items() if name in there)]


def is_reference(layer: Layer) -> bool:
    """Tell whether a table is a reference table, whose rows are known by their key."""
    return layer.name not in map_layers()


def columns_of(layer: Layer) -> list[str]:
    """Return the columns that `KeptRow.values` holds, in its order."""
    return ["id", *(["geom"] if layer.geometry else []), *layer.columns]


def kept_rows(
    connection: sqlite3.Connection, layer: Layer, *, condition: str = "1", bound: Sequence[Any] = ()
) -> list[KeptRow]:
    """Read a layer's rows, in the order of the file."""
    names = columns_of(layer)
    found = connection.execute(
        f"SELECT fid, {geopackage_schema.quoted(names)} FROM {layer.name}"
        f" WHERE {condition} ORDER BY fid",
        bound,
    )
    return [KeptRow(row[0], identity_of(layer, row[1:]), row[1:]) for row in found]


def identity_of(layer: Layer, values: Values) -> str:
    """Return what a row is in every file."""
    return key_of(layer, values) if is_reference(layer) else str(values[0])


def key_of(layer: Layer, values: Values) -> str:
    """Return what a row is called: its values in the layer's key."""
    names = columns_of(layer)
    return json.dumps([values[names.index(name)] for name in layer.key])


def put_in(connection: sqlite3.Connection, layer: Layer, rows: Iterable[Values]) -> None:
    """Add rows under the identities that they have, inside the caller's transaction."""
    names = columns_of(layer)
    connection.executemany(
        f"INSERT INTO {layer.name} ({geopackage_schema.quoted(names)})"
        f" VALUES ({', '.join('?' * len(names))})",
        rows,
    )
    geopackage.tell_contents(connection, layer)


def put_in_place_of(
    connection: sqlite3.Connection, layer: Layer, rows: Iterable[tuple[int, Values]]
) -> None:
    """Replace rows by their number; the identity that a row has stays."""
    names = columns_of(layer)[1:]
    changes = ", ".join(f"{geopackage_schema.quoted([name])} = ?" for name in names)
    connection.executemany(
        f"UPDATE {layer.name} SET {changes} WHERE fid = ?",
        [(*values[1:], fid) for fid, values in rows],
    )
    geopackage.tell_contents(connection, layer)


def take_out(connection: sqlite3.Connection, layer: Layer, fids: Iterable[int]) -> None:
    """Remove rows by their number."""
    connection.executemany(f"DELETE FROM {layer.name} WHERE fid = ?", [(fid,) for fid in fids])
    geopackage.tell_contents(connection, layer)
