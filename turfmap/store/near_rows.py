"""Rows that lie near: looked up by box in the file's own R-tree, never the whole layer.

References
----------
OGC 12-128r18, GeoPackage Encoding Standard 1.3.1, annex F.3: the tables ``rtree_<table>_geom``
hold each shape's box, rounded outward.
"""

import sqlite3
from collections.abc import Iterable

import geopandas as gpd
import numpy as np
from numpy.typing import NDArray

from turfmap.foundations.definitions import map_layer
from turfmap.store import geopackage, geopackage_schema

Floats = NDArray[np.float64]

LON_LAT = "EPSG:4326"
# More boxes than this are looked up as the one box round them all.
MOST_BOXES = 50
_MEETS = "maxx >= ? AND minx <= ? AND maxy >= ? AND miny <= ?"


def near_rows(
    connection: sqlite3.Connection, layer_name: str, boxes: Floats, *, file: str
) -> gpd.GeoDataFrame:
    """Read the rows of a layer whose boxes meet any of some boxes.

    Parameters
    ----------
    connection
        An open turfmap file, read or edited.
    layer_name
        A layer with geometry.
    boxes
        West, south, east, north [deg], shape (n, 4); NaN boxes meet nothing. Longitudes may go on
        past 180.
    file
        The file as the user named it.

    Returns
    -------
    geopandas.GeoDataFrame
        As `geopackage.read_rows`, in EPSG:4326, ordered by ``fid``. A layer that another program
        keeps in another reference system is read whole.
    """
    layer = map_layer(layer_name)
    if not _is_lon_lat(connection, layer_name):
        return geopackage.read_rows(connection, layer, file=file).to_crs(LON_LAT)
    rounds = _looked_up(boxes)
    found = " OR ".join([f"({_MEETS})"] * len(rounds)) or "0"
    condition = f"fid IN (SELECT id FROM rtree_{layer_name}_geom WHERE {found})"
    values = rounds[:, [0, 2, 1, 3]].ravel().tolist()
    return geopackage.read_rows(connection, layer, file=file, condition=condition, values=values)


def near_boxes(connection: sqlite3.Connection, layer_name: str, boxes: Floats) -> Floats:
    """Return the boxes of a layer's shapes that meet any of some boxes, shape (m, 4) [deg].

    A layer in another reference system has none here: its rows are read whole anyway.
    """
    rounds = _looked_up(boxes)
    if not len(rounds) or not _is_lon_lat(connection, layer_name):
        return np.empty((0, 4))
    found = connection.execute(
        f"SELECT minx, miny, maxx, maxy FROM rtree_{layer_name}_geom"
        f" WHERE {' OR '.join([f'({_MEETS})'] * len(rounds))}",
        rounds[:, [0, 2, 1, 3]].ravel().tolist(),
    ).fetchall()
    return np.array(found, dtype=np.float64).reshape(-1, 4)


def rows_with(
    connection: sqlite3.Connection,
    layer_name: str,
    column: str,
    values: Iterable[object],
    *,
    file: str,
) -> gpd.GeoDataFrame:
    """Read the rows of a layer or table that have one of some values in a column, in EPSG:4326."""
    layer = map_layer(layer_name)
    asked = list(dict.fromkeys(values))
    name, marks = geopackage_schema.quoted([column]), ", ".join("?" * len(asked))
    frame = geopackage.read_rows(
        connection, layer, file=file, condition=f"{name} IN ({marks})", values=asked
    )
    return frame if frame.crs is None or frame.crs == LON_LAT else frame.to_crs(LON_LAT)


def one_of_each(
    connection: sqlite3.Connection, layer_name: str, column: str, *, file: str
) -> gpd.GeoDataFrame:
    """Read the first row of a layer for each different value of a column, none included."""
    layer = map_layer(layer_name)
    name = geopackage_schema.quoted([column])
    condition = f"fid IN (SELECT min(fid) FROM {layer_name} GROUP BY {name})"
    frame = geopackage.read_rows(connection, layer, file=file, condition=condition)
    return frame if frame.crs is None or frame.crs == LON_LAT else frame.to_crs(LON_LAT)


def widest(connection: sqlite3.Connection, layer_name: str, column: str) -> float:
    """Return the largest number in a column; 0 where there is none.

    Another program may have written text there, or an infinity, which count for nothing.
    """
    name = geopackage_schema.quoted([column])
    # By the column's index. Text sorts after every number, and an infinity is one.
    found = connection.execute(
        f"SELECT {name} FROM {layer_name} WHERE {name} < 9e999 ORDER BY {name} DESC LIMIT 1"
    ).fetchone()
    return float(found[0]) if found else 0.0


def layer_of(
    connection: sqlite3.Connection, layer_names: Iterable[str], identity: str
) -> str | None:
    """Return which of some layers has a row of an identity; None if none has."""
    for name in layer_names:
        if connection.execute(f"SELECT 1 FROM {name} WHERE id = ?", (identity,)).fetchone():
            return name
    return None


def extent(connection: sqlite3.Connection, layer_names: Iterable[str]) -> list[float] | None:
    """Return the box round all shapes of some layers [deg]; None if there are none."""
    boxes = [
        connection.execute(
            f"SELECT min(minx), min(miny), max(maxx), max(maxy) FROM rtree_{name}_geom"
        ).fetchone()
        for name in layer_names
        if _is_lon_lat(connection, name)
    ]
    there = np.array([box for box in boxes if box[0] is not None], dtype=np.float64)
    if not there.size:
        return None
    return [*there[:, :2].min(axis=0).tolist(), *there[:, 2:].max(axis=0).tolist()]


def _is_lon_lat(connection: sqlite3.Connection, layer_name: str) -> bool:
    found = connection.execute(
        "SELECT organization, organization_coordsys_id FROM gpkg_spatial_ref_sys"
        " JOIN gpkg_geometry_columns USING (srs_id) WHERE table_name = ?",
        (layer_name,),
    ).fetchone()
    return found is not None and f"{found[0]}:{found[1]}".upper() == LON_LAT


def _looked_up(boxes: Floats) -> Floats:
    """Return the boxes to look up: few, and those past 180 degrees on the other side as well."""
    there = boxes[~np.isnan(boxes).any(axis=1)]
    if len(there) > MOST_BOXES:
        there = np.concatenate([there[:, :2].min(axis=0), there[:, 2:].max(axis=0)])[None]
    east, west = there[there[:, 2] > 180.0], there[there[:, 0] < -180.0]
    turn = np.array([360.0, 0.0, 360.0, 0.0])
    return np.concatenate([there, east - turn, west + turn])
