"""What the latest changes of some rows replaced, from the change log."""

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass

from turfmap.foundations.definitions import Row, map_layers
from turfmap.foundations.shapes import Shapes, shape_array
from turfmap.store import change_log
from turfmap.store.geometry_blob import from_blobs

# Asked right after a save; what was changed before so many others is asked for over everything.
LATEST = 1_000


@dataclass(frozen=True)
class Replaced:
    """A row as it was before a change.

    Attributes
    ----------
    layer, identity
        What it is.
    values
        A value for each declared column; None where the change made the row.
    shapes
        Its shape alone, shape (1,), in the file's own reference system; missing where it had none.
    """

    layer: str
    identity: str
    values: Row | None
    shapes: Shapes


def replaced_rows(connection: sqlite3.Connection, identities: Sequence[str]) -> list[Replaced]:
    """Return what the latest changes of some rows replaced, newest first.

    Raises
    ------
    ValueError
        If a shape in the log cannot be read.
    """
    marks = ", ".join("?" * len(identities))
    found = connection.execute(
        f"SELECT layer, row_id, before, before_geom FROM {change_log.TABLE}"
        f" WHERE fid > (SELECT coalesce(max(fid), 0) FROM {change_log.TABLE}) - {LATEST}"
        f" AND row_id IN ({marks}) ORDER BY fid DESC",
        identities,
    )
    return [
        Replaced(
            layer,
            identity,
            None if text is None else change_log.row_values(text, map_layers()[layer]),
            shape_array(from_blobs([blob])),
        )
        for layer, identity, text, blob in found
    ]
