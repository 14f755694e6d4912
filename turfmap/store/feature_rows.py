"""Single rows of drawn layers, read and written inside one transaction of `geopackage`."""

import math
import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from pyproj import CRS

from turfmap.foundations.definitions import Column, Layer, Row
from turfmap.foundations.shapes import Shapes, shape_array
from turfmap.store import geopackage
from turfmap.store.geometry_blob import from_blobs, to_blobs
from turfmap.store.geopackage_schema import quoted

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class FeatureRows:
    """Some rows of a layer.

    Attributes
    ----------
    fids, identities
        The file's own number and the lasting identity of each, length n.
    values
        JSON values of the declared columns, None where there is none, length n.
    shapes
        In `crs`, None where there is none, shape (n,).
    crs
        The system that the layer is kept in.
    matched
        How many rows there are in all, of which these are a page.
    """

    fids: list[int]
    identities: list[str]
    values: list[Row]
    shapes: Shapes
    crs: CRS
    matched: int


@dataclass(frozen=True)
class Wanted:
    """Which rows of a layer are asked for.

    Attributes
    ----------
    boxes
        West, south, east, north in the layer's own coordinates; a row meets any. None: all rows.
    day_column, first_day, last_day
        Rows whose date in that column lies between (ISO texts, None: open), or is not known.
    """

    boxes: Sequence[Box] | None = None
    day_column: str | None = None
    first_day: str | None = None
    last_day: str | None = None


def kept_in(connection: sqlite3.Connection, layer: Layer, file: str) -> CRS:
    """Return the system that a drawn layer's coordinates are in; see `geopackage.crs_of`."""
    crs = geopackage.crs_of(connection, layer, file)
    assert crs is not None  # noqa: S101 - drawn layers have one
    return crs


def page(
    connection: sqlite3.Connection,
    layer: Layer,
    wanted: Wanted,
    *,
    limit: int,
    offset: int,
    file: str,
) -> FeatureRows:
    """Read a page of a layer, in the order of the file.

    Parameters
    ----------
    connection
        From `geopackage.reading` or `geopackage.editing`.
    limit, offset
        How many rows at most, and how many to pass over.
    file
        The file as the user named it.
    """
    condition, bound = _condition(connection, layer, wanted)
    (matched,) = connection.execute(
        f"SELECT count(*) FROM {layer.name} WHERE {condition}", bound
    ).fetchone()
    return _read(
        connection,
        layer,
        f"{condition} ORDER BY fid LIMIT ? OFFSET ?",
        [*bound, limit, offset],
        file=file,
        matched=matched,
    )


def row_of(
    connection: sqlite3.Connection, layer: Layer, identity: str, *, file: str
) -> FeatureRows | None:
    """Read the row of an identity, or None if there is none."""
    found = _read(
        connection, layer, "id = ? ORDER BY fid LIMIT 1", [identity], file=file, matched=1
    )
    return found if found.fids else None


def _read(
    connection: sqlite3.Connection,
    layer: Layer,
    condition: str,
    bound: Sequence[object],
    *,
    file: str,
    matched: int,
) -> FeatureRows:
    columns = list(layer.columns)
    found = connection.execute(
        f"SELECT fid, id, geom, {quoted(columns)} FROM {layer.name} WHERE {condition}", bound
    ).fetchall()
    declared = list(layer.columns.values())
    values = [
        {column.name: _json_value(value, column) for column, value in zip(declared, row[3:])}  # noqa: B905
        for row in found
    ]
    return FeatureRows(
        [row[0] for row in found],
        [str(row[1]) for row in found],
        values,
        geopackage.shapes_of_blobs([row[2] for row in found], layer, file),
        kept_in(connection, layer, file),
        matched,
    )


def _json_value(value: Any, column: Column) -> Any:
    """Return a stored value as JSON has it, whatever program wrote it."""
    if isinstance(value, bytes) or (isinstance(value, float) and not math.isfinite(value)):
        return None
    if column.type == "yes_no" and value in {0, 1}:
        return bool(value)
    return value


def _condition(
    connection: sqlite3.Connection, layer: Layer, wanted: Wanted
) -> tuple[str, list[object]]:
    parts, bound = ["1"], list[object]()
    if wanted.boxes is not None:
        _let_meet(connection, wanted.boxes)
        inside = "minx >= ? AND maxx <= ? AND miny >= ? AND maxy <= ?"
        near = "maxx >= ? AND minx <= ? AND maxy >= ? AND miny <= ?"
        rtree = f"SELECT id FROM rtree_{layer.name}_geom WHERE"
        any_box = []
        for number, (west, south, east, north) in enumerate(wanted.boxes):
            # What lies wholly inside needs no closer look.
            any_box.append(
                f"fid IN ({rtree} {inside})"
                f" OR (fid IN ({rtree} {near}) AND meets_box({number}, geom))"
            )
            bound += [west, east, south, north] * 2
        parts.append(f"({' OR '.join(any_box)})")
    if wanted.day_column is not None:
        day = quoted([wanted.day_column])
        for sign, value in ((">=", wanted.first_day), ("<=", wanted.last_day)):
            if value is not None:
                parts.append(f"({day} IS NULL OR {day} {sign} ?)")
                bound.append(value)
    return " AND ".join(parts), bound


def _let_meet(connection: sqlite3.Connection, boxes: Sequence[Box]) -> None:
    """Give the connection a function that looks closely: an R-tree knows boxes only."""
    grounds = [shapely.box(*box) for box in boxes]
    for ground in grounds:
        shapely.prepare(ground)

    def meets(number: int, blob: bytes | None) -> int:
        try:
            return int(shapely.intersects(grounds[number], from_blobs([blob])[0]))
        except (ValueError, shapely.errors.GEOSException):
            return 1  # broken or curved: its box is all that is known of it

    connection.create_function("meets_box", 2, meets)


def insert(
    connection: sqlite3.Connection,
    layer: Layer,
    values: Mapping[str, object],
    shape: shapely.Geometry | None,
    *,
    identity: str | None,
) -> str:
    """Add a row; return its identity, made if none was given.

    Parameters
    ----------
    values
        Checked values of every declared column.
    shape
        In the layer's own coordinates.
    """
    names = ["id", "geom", *layer.columns]
    bound = [identity, _blob(connection, layer, shape), *_stored(values, layer)]
    cursor = connection.execute(
        f"INSERT INTO {layer.name} ({quoted(names)}) VALUES ({', '.join('?' * len(names))})", bound
    )
    geopackage.tell_contents(connection, layer)
    (given,) = connection.execute(
        f"SELECT id FROM {layer.name} WHERE fid = ?", (cursor.lastrowid,)
    ).fetchone()
    return str(given)


def replace(
    connection: sqlite3.Connection,
    layer: Layer,
    values: Mapping[str, object],
    shape: shapely.Geometry | None,
    *,
    fid: int,
) -> None:
    """Replace all columns and the shape of a row; its identity stays."""
    changes = ", ".join(f"{quoted([name])} = ?" for name in ("geom", *layer.columns))
    bound = [_blob(connection, layer, shape), *_stored(values, layer), fid]
    connection.execute(f"UPDATE {layer.name} SET {changes} WHERE fid = ?", bound)
    geopackage.tell_contents(connection, layer)


def delete(connection: sqlite3.Connection, layer: Layer, *, fid: int) -> None:
    """Remove a row; the log of changes keeps it."""
    connection.execute(f"DELETE FROM {layer.name} WHERE fid = ?", (fid,))
    geopackage.tell_contents(connection, layer)


def key_is_taken(
    connection: sqlite3.Connection, layer: Layer, values: Mapping[str, object], *, but: set[int]
) -> bool:
    """Tell whether a row other than those numbered has the same values in the layer's key."""
    same = " AND ".join(f"{quoted([name])} = ?" for name in layer.key)
    found = connection.execute(
        f"SELECT fid FROM {layer.name} WHERE {same}", [values[name] for name in layer.key]
    )
    return any(fid not in but for (fid,) in found)


def extent(connection: sqlite3.Connection, layer: Layer) -> Box | None:
    """Return the box round a layer's shapes in its own coordinates; None if it has none."""
    found = connection.execute(
        f"SELECT min(minx), min(miny), max(maxx), max(maxy) FROM rtree_{layer.name}_geom"
    ).fetchone()
    return None if found[0] is None else found


def _blob(
    connection: sqlite3.Connection, layer: Layer, shape: shapely.Geometry | None
) -> bytes | None:
    (srs_id,) = connection.execute(
        "SELECT srs_id FROM gpkg_geometry_columns WHERE table_name = ?", (layer.name,)
    ).fetchone()
    shapes: NDArray[np.object_] = shape_array([shape])
    if layer.geometry == "area":
        shapes = geopackage.as_multi_polygons(shapes)
    return to_blobs(shapes, srs_id=srs_id)[0]


def _stored(values: Mapping[str, object], layer: Layer) -> list[object]:
    return [geopackage.stored(values[name]) for name in layer.columns]
