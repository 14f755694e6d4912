"""The user's GeoPackage: open, read, append. SQLite is opened here and nowhere else.

One writer: Python's own `sqlite3`, one transaction a piece of work. A second SQLite in the same
process (the one inside GDAL) cannot see our locks and loses rows, so it never touches this file.
"""

import os
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from pyproj import CRS
from pyproj.exceptions import CRSError

from turfmap.foundations.definitions import Layer, Row, map_layer, map_layers
from turfmap.foundations.errors import input_fault
from turfmap.foundations.shapes import Shapes
from turfmap.store import change_log, geopackage_schema, upgrades
from turfmap.store.geometry_blob import from_blobs, register_functions, to_blobs
from turfmap.store.geopackage_faults import as_fault, check_is_whole
from turfmap.store.written_files import (
    clear,
    force_to_disk,
    move_unless_there,
    name_to_make_under,
)

SECONDS_TO_WAIT_FOR_A_LOCK = 5.0
# What is acknowledged must outlast a power cut: EXTRA also waits until the disk knows that the
# journal is gone, and "full" flushes the disk's own cache where that has to be asked for.
_DURABLE = ("PRAGMA synchronous = EXTRA", "PRAGMA fullfsync = ON")
# The file that this piece of work is reading, with its connection.
_BEING_READ: ContextVar[tuple[Path, sqlite3.Connection] | None] = ContextVar(
    "being_read", default=None
)


def create(path: Path) -> None:
    """Make a new, empty turfmap GeoPackage.

    Raises
    ------
    InputFaultsError
        If the file exists already, or its folder cannot be written to.
    """
    map_layers()  # a fault in our own declarations is no fault of the user's folder
    if path.exists():
        raise input_fault(
            "there is a file of that name already", "choose another name", file=str(path)
        )
    # Made beside and moved into place, so that a kill leaves no half-made file under the name.
    making = name_to_make_under(path)
    try:
        clear(making)
        connection = sqlite3.connect(making, isolation_level=None)
        try:
            connection.execute("PRAGMA journal_mode = OFF")
            connection.execute("PRAGMA synchronous = OFF")
            register_functions(connection)
            geopackage_schema.create_tables(connection)
        finally:
            connection.close()
        force_to_disk(making)
        move_unless_there(making, path)
    except FileExistsError:
        raise input_fault(
            "there is a file of that name already", "choose another name", file=str(path)
        ) from None
    except (OSError, sqlite3.OperationalError) as error:
        raise input_fault(
            f"it cannot be made ({error})", "choose a folder that you may write to", file=str(path)
        ) from None
    finally:
        with suppress(OSError):
            making.unlink(missing_ok=True)


@contextmanager
def reading(path: Path) -> Iterator[sqlite3.Connection]:
    """Open a turfmap file for reading, as one consistent snapshot.

    What reads the same file within it reads the same snapshot, and opens nothing.
    """
    outer = _BEING_READ.get()
    if outer is not None and outer[0] == path:
        yield outer[1]
        return
    with _open(path) as connection:
        connection.execute("BEGIN")
        inner = _BEING_READ.set((path, connection))
        try:
            yield connection
        finally:
            _BEING_READ.reset(inner)
        connection.execute("ROLLBACK")


@contextmanager
def editing(
    path: Path, *, who: str = "turfmap", undoes: int | None = None
) -> Iterator[sqlite3.Connection]:
    """Open a turfmap file for one transaction: all of it is written, or nothing.

    What changes in drawn layers goes into the log as one change.

    Parameters
    ----------
    path
        The place.
    who
        Which door the change came through.
    undoes
        The number of the change that this one undoes.
    """
    with _open(path) as connection:
        connection.execute("BEGIN IMMEDIATE")
        try:
            # A newer turfmap may have brought it up to date since it was opened.
            _refuse_newer(upgrades.format_version(connection), path)
            entry = change_log.last_entry(connection)
            yield connection
            change_log.number_since(connection, entry, who=who, undoes=undoes)
        except BaseException:
            if connection.in_transaction:  # SQLite itself ends one that meets a full disk
                connection.execute("ROLLBACK")
            raise
        connection.execute("COMMIT")


@contextmanager
def _open(path: Path) -> Iterator[sqlite3.Connection]:
    if not path.is_file():
        raise input_fault(
            "there is no such file", f"make it with turfmap new {path}", file=str(path)
        )
    # Read-write even for reading: a journal left by a killed program can only be rolled back by
    # an opener that may write, and until then every read-only opener fails.
    mode = "rw" if os.access(path, os.W_OK) else "ro"
    uri = f"{path.resolve().as_uri()}?mode={mode}"
    connection = None
    try:
        connection = sqlite3.connect(
            uri, uri=True, isolation_level=None, timeout=SECONDS_TO_WAIT_FOR_A_LOCK
        )
        _check_is_ours(connection, path)
        for pragma in ("PRAGMA foreign_keys = ON", *_DURABLE):
            connection.execute(pragma)
        register_functions(connection)
        check_is_whole(connection, path)
        upgrades.upgrade(connection, path, writable=mode == "rw")
        yield connection
    except (sqlite3.Error, UnicodeDecodeError) as error:  # what SQLite says may be spoilt too
        raise as_fault(error, path) from None
    finally:
        if connection is not None:
            connection.close()


def _check_is_ours(connection: sqlite3.Connection, path: Path) -> None:
    names = {name for (name,) in connection.execute("SELECT name FROM sqlite_master")}
    version = upgrades.format_version(connection) if "gpkg_metadata" in names else 0
    is_present = version >= geopackage_schema.FORMAT_VERSION
    missing = [name for name in map_layers() if name not in names]
    if not version or (is_present and missing):
        raise input_fault(
            "it is not a turfmap file",
            "make one with turfmap new and bring this file into it with turfmap import",
            file=str(path),
        )
    _refuse_newer(version, path)


def _refuse_newer(version: int, path: Path) -> None:
    if version > geopackage_schema.FORMAT_VERSION:
        raise input_fault(
            f"it was written by a newer turfmap (file format {version})",
            "update turfmap",
            file=str(path),
        )


def read_layer(path: Path, name: str) -> gpd.GeoDataFrame:
    """Read a whole layer or table of a turfmap file.

    Returns
    -------
    geopandas.GeoDataFrame
        Columns ``fid``, ``id`` and those that the layer declares; geometry in the file's own CRS
        (EPSG:4326 in files that turfmap made). For a table without geometry the geometry column
        holds None.
    """
    with reading(path) as connection:
        return read_rows(connection, map_layer(name), file=str(path))


def read_rows(
    connection: sqlite3.Connection,
    layer: Layer,
    *,
    file: str,
    condition: str = "1",
    values: Sequence[object] = (),
) -> gpd.GeoDataFrame:
    """Read a layer on an open connection, or the rows that meet a condition; see `read_layer`."""
    columns = ["fid", "id", *layer.columns]
    wanted = [*columns, "geom"] if layer.geometry else columns
    found = connection.execute(
        f"SELECT {_selected(connection, layer, wanted)} FROM {layer.name} WHERE {condition}"
        " ORDER BY fid",
        values,
    ).fetchall()
    frame = pd.DataFrame([row[: len(columns)] for row in found], columns=columns, dtype=object)
    for column in layer.columns.values():
        if column.type in {"number", "whole"}:
            frame[column.name] = pd.to_numeric(frame[column.name], errors="coerce")
        else:
            _refuse_bytes(frame[column.name], layer, file)
    blobs = [row[-1] for row in found] if layer.geometry else [None] * len(found)
    return gpd.GeoDataFrame(
        frame, geometry=shapes_of_blobs(blobs, layer, file), crs=crs_of(connection, layer, file)
    )


def _refuse_bytes(values: "pd.Series[Any]", layer: Layer, file: str) -> None:
    """Refuse what another program wrote as bytes where a text stands: nobody can read it."""
    if pd.api.types.infer_dtype(values) not in {"bytes", "mixed"}:
        return
    if any(isinstance(value, bytes) for value in values):
        raise input_fault(
            f"a value of {values.name} is bytes and no text",
            "write that value anew",
            file=file,
            record=f"layer {layer.name}",
        )


def _selected(connection: sqlite3.Connection, layer: Layer, wanted: Sequence[str]) -> str:
    """Return what to select; a column that came after the file was made is empty in it."""
    there = {
        name
        for (name,) in connection.execute("SELECT name FROM pragma_table_info(?)", (layer.name,))
    }
    return ", ".join(
        geopackage_schema.quoted([name]) if name in there else "NULL" for name in wanted
    )


def shapes_of_blobs(blobs: Sequence[bytes | None], layer: Layer, file: str) -> Shapes:
    """Read a layer's geometries, or say in a sentence that one cannot be read."""
    try:
        return from_blobs(blobs)
    except ValueError as error:
        raise input_fault(
            f"a geometry cannot be read ({error})",
            "draw that shape again with straight edges",
            file=file,
            record=f"layer {layer.name}",
        ) from None


def crs_of(connection: sqlite3.Connection, layer: Layer, file: str) -> CRS | None:
    """Return the system that a layer's coordinates are in; None for a table without geometry.

    Raises
    ------
    InputFaultsError
        If another program wrote a system that nobody can place.
    """
    if not layer.geometry:
        return None
    # Another program may have written -1 or 0 (none known), a code of its own, or no row at all.
    named = connection.execute(
        "SELECT organization, organization_coordsys_id FROM gpkg_spatial_ref_sys"
        " JOIN gpkg_geometry_columns USING (srs_id) WHERE table_name = ?",
        (layer.name,),
    ).fetchone()
    try:
        found = CRS.from_authority(*named) if named else None
    except CRSError:
        found = None
    if found is None or not (found.is_geographic or found.is_projected):
        raise input_fault(
            "its coordinate system is not one that turfmap knows"
            f" ({':'.join(map(str, named)) if named else 'none is named'})",
            "save the layer in EPSG:4326 (WGS 84) under the same name",
            file=file,
            record=f"layer {layer.name}",
        )
    return found


def srs_id_of(connection: sqlite3.Connection, layer: Layer) -> int:
    """Return the file's own number of the system that a drawn layer is kept in."""
    (found,) = connection.execute(
        "SELECT srs_id FROM gpkg_geometry_columns WHERE table_name = ?", (layer.name,)
    ).fetchone()
    return int(found)


def append_rows(
    connection: sqlite3.Connection, layer: Layer, rows: Sequence[Row], shapes: Shapes | None
) -> None:
    """Append rows to a layer inside the caller's transaction.

    Parameters
    ----------
    connection
        From `editing`.
    layer
        The layer or table.
    rows
        Checked rows: a value for each declared column.
    shapes
        Geometries in EPSG:4326 of the layer's type, shape (n,); None for a table.
    """
    names = list(layer.columns)
    values = [[stored(row[name]) for name in names] for row in rows]
    if shapes is not None:
        names.append("geom")
        blobs = to_blobs(shapes, srs_id=geopackage_schema.SRS_ID)
        values = [[*row, blob] for row, blob in zip(values, blobs, strict=True)]
    marks = ", ".join("?" * len(names))
    connection.executemany(
        f"INSERT INTO {layer.name} ({geopackage_schema.quoted(names)}) VALUES ({marks})",
        values,
    )
    tell_contents(connection, layer)


def fill_rows(
    connection: sqlite3.Connection, layer: Layer, rows: Sequence[Row], shapes: Shapes
) -> list[bool]:
    """Give a shape to rows that are there under the same key and have none yet.

    Values that the row already has stay where the new row has none; its identity stays.

    Returns
    -------
    list of bool
        Which of the new rows found such a row; the others are still to be appended.
    """
    columns = list(layer.columns)
    changes = ", ".join(f"{name} = coalesce(?, {name})" for name in columns)
    same = " AND ".join(f"{name} = ?" for name in layer.key)
    waiting = "(geom IS NULL OR ST_IsEmpty(geom))"
    statement = f"UPDATE {layer.name} SET geom = ?, {changes} WHERE {same} AND {waiting}"
    blobs = to_blobs(shapes, srs_id=geopackage_schema.SRS_ID)
    found = [
        connection.execute(
            statement,
            [blob, *(stored(row[name]) for name in columns), *(row[name] for name in layer.key)],
        ).rowcount
        for row, blob in zip(rows, blobs, strict=True)
    ]
    if any(found):
        tell_contents(connection, layer)
    return [count > 0 for count in found]


def stored(value: object) -> object:
    """Return a checked value as the file keeps it: days are text."""
    return value.isoformat() if hasattr(value, "isoformat") else value


def tell_contents(connection: sqlite3.Connection, layer: Layer) -> None:
    """Keep the table of contents true: SQLite does it for nobody."""
    extent = (None, None, None, None)
    if layer.geometry:
        extent = connection.execute(
            f"SELECT min(minx), min(miny), max(maxx), max(maxy) FROM rtree_{layer.name}_geom"
        ).fetchone()
    connection.execute(
        "UPDATE gpkg_contents SET last_change = strftime('%Y-%m-%dT%H:%M:%fZ','now'),"
        " min_x = ?, min_y = ?, max_x = ?, max_y = ? WHERE table_name = ?",
        (*extent, layer.name),
    )


def as_multi_polygons(shapes: Shapes) -> Shapes:
    """Return areas as multipolygons, the type that area layers are declared with."""
    single = shapely.get_type_id(shapes) == shapely.GeometryType.POLYGON
    out = shapes.copy()
    if single.any():
        out[single] = shapely.multipolygons(shapes[single], indices=np.arange(int(single.sum())))
    return out
