"""Rows that name a property or a zone by what people call it."""

import sqlite3
from collections.abc import Mapping

from turfmap.store.geopackage_schema import quoted


def count_named(connection: sqlite3.Connection, table: str, names: Mapping[str, object]) -> int:
    """Count the rows of a layer or table that have these values in these columns."""
    (count,) = connection.execute(
        f"SELECT count(*) FROM {table} WHERE {_same(names)}", list(names.values())
    ).fetchone()
    return int(count)


def rename(
    connection: sqlite3.Connection,
    table: str,
    names: Mapping[str, object],
    new_names: Mapping[str, object],
) -> None:
    """Give the rows that have some values in some columns new ones."""
    changes = ", ".join(f"{quoted([name])} = ?" for name in new_names)
    connection.execute(
        f"UPDATE {table} SET {changes} WHERE {_same(names)}",
        [*new_names.values(), *names.values()],
    )


def _same(names: Mapping[str, object]) -> str:
    return " AND ".join(f"{quoted([name])} = ?" for name in names)
