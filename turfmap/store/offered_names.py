"""Names in a place for the shell to offer: read at once, or not at all.

A key that a person presses for help must never wait for a lock, bring a place up to date or leave a
file behind. So this one reader opens the file as if nothing could change it, takes no lock, reads
no journal, and answers nothing where anything is odd. Everything else reads by `geopackage`.
"""

import sqlite3
from collections.abc import Mapping
from contextlib import closing
from pathlib import Path

from turfmap.foundations.definitions import Layer
from turfmap.store.geopackage_schema import quoted

MOST = 200
LONGEST = 200


def offered_names(
    path: Path, layer: Layer, column: str, *, starts: str, where: Mapping[str, str]
) -> list[str]:
    """Return the different texts of a column that begin with some letters, sorted.

    Parameters
    ----------
    path
        The place; it may be anything.
    layer
        One of our own declarations: its name goes into the statement.
    column
        One of the layer's columns.
    starts
        What has been typed.
    where
        What other columns must hold.

    Returns
    -------
    list of str
        At most 200, none longer than 200 letters; empty if the file is no place, is being written
        to, or is not there.
    """
    conditions = "".join(f" AND {quoted([name])} = ?" for name in where)
    name = quoted([column])
    statement = (
        f"SELECT DISTINCT {name} FROM {layer.name}"
        f" WHERE typeof({name}) = 'text' AND substr({name}, 1, ?) = ? AND length({name}) <= ?"
        f"{conditions} ORDER BY {name} LIMIT ?"
    )
    values = (len(starts), starts, LONGEST, *where.values(), MOST)
    try:
        uri = f"{path.resolve().as_uri()}?mode=ro&immutable=1"
        with closing(sqlite3.connect(uri, uri=True, timeout=0.0)) as connection:
            return [text for (text,) in connection.execute(statement, values)]
    except (sqlite3.Error, OSError, ValueError):
        return []
