"""The record of what was done: rows are added, never changed, and some no longer count.

A record is one application; it has a row for each zone it covers. A correction is a whole new
record whose column ``corrects`` names the one it takes the place of.
"""

import sqlite3
from collections.abc import Sequence
from typing import TypeVar

import geopandas as gpd
import pandas as pd

from turfmap.foundations.definitions import Row, map_layer
from turfmap.store import geopackage
from turfmap.store.geopackage_records import RECORDS

Frame = TypeVar("Frame", bound=pd.DataFrame)


def read(connection: sqlite3.Connection, *, file: str) -> gpd.GeoDataFrame:
    """Read every row, those that no longer count among them, on an open connection."""
    return geopackage.read_rows(connection, map_layer(RECORDS), file=file)


def record_names(visits: pd.DataFrame) -> "pd.Series[str]":
    """Return which record each row is part of; a row without one is a record by itself."""
    record = visits["record"]
    return record.where(record.notna() & (record != ""), visits["id"])


def standing(visits: Frame) -> Frame:
    """Return the rows that count: not corrected since, and not cancelled.

    Parameters
    ----------
    visits
        Rows of the layer visit as `geopackage.read_layer` returns them.

    Returns
    -------
    DataFrame
        Some of the rows, in their order, with their columns and index.
    """
    corrected = set(visits["corrects"].dropna()) - {""}
    gone = record_names(visits).isin(corrected) | visits["id"].isin(corrected)
    return visits[~gone & ~cancelled(visits)]


def cancelled(visits: pd.DataFrame) -> "pd.Series[bool]":
    """Tell which rows say that the work was never done; another program may have written text."""
    said = visits["cancelled"].astype("string").str.lower()
    return said.isin(["1", "1.0", "true", "yes"])


def now(connection: sqlite3.Connection) -> str:
    """Return the time at which a row is being written, UTC, as a GeoPackage says it."""
    (text,) = connection.execute("SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now')").fetchone()
    return str(text)


def append(connection: sqlite3.Connection, rows: Sequence[Row]) -> str:
    """Add checked rows inside the caller's transaction; return the time written beside them."""
    written_at = now(connection)
    timed = [{**row, "recorded_at": written_at} for row in rows]
    geopackage.append_rows(connection, map_layer(RECORDS), timed, None)
    return written_at
