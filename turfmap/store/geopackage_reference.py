"""A user's own rows of reference tables, in tables of the same name inside the GeoPackage."""

import sqlite3
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from turfmap.foundations.definitions import Layer, Row, Table, map_layers, tables
from turfmap.store import geopackage, geopackage_schema


def read_own_rows(path: Path) -> dict[str, list[dict[str, Any]]]:
    """Read the own rows of every reference table that a turfmap file holds, by its name.

    Returns
    -------
    dict of list of dict
        Raw values of ``fid`` and the columns that the table declares.
    """
    with geopackage.reading(path) as connection:
        there = names_of_tables(connection)
        return {
            name: [
                {str(column): value for column, value in row.items()}
                for row in geopackage.read_rows(connection, table, file=str(path)).to_dict(
                    "records"
                )
            ]
            for name, table in tables().items()
            if name in there
        }


def put_own_rows(connection: sqlite3.Connection, table: Table, rows: Sequence[Row]) -> None:
    """Put rows into a table of own rows, made if it is new; those of the same key are replaced.

    Parameters
    ----------
    connection
        From `turfmap.store.geopackage.editing`.
    rows
        Checked rows: a value for each declared column.
    """
    layer_made(connection, table.name)
    connection.executemany(
        f"DELETE FROM {table.name} WHERE ({geopackage_schema.quoted(table.key)})"
        f" IS ({', '.join('?' * len(table.key))})",
        [[row[name] for name in table.key] for row in rows],
    )
    geopackage.append_rows(connection, table, rows, None)


def layer_made(connection: sqlite3.Connection, name: str) -> Layer:
    """Return a layer, or a table of own rows, which is made if it is not there yet."""
    if name in map_layers():
        return map_layers()[name]
    if name not in names_of_tables(connection):
        geopackage_schema.add_layer(connection, tables()[name])
    return tables()[name]


def names_of_tables(connection: sqlite3.Connection) -> set[str]:
    """Return the names of all tables in a file."""
    found = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
    return {name for (name,) in found}
