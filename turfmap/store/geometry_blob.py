"""Geometry as a GeoPackage stores it: a short header, then well-known binary.

References
----------
OGC 12-128r18, GeoPackage Encoding Standard 1.3.1, clause 2.1.3 (BLOB format) and annex F.3 (the
SQL functions that the R-tree triggers call).
"""

import sqlite3
import struct
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from turfmap.foundations.shapes import Shapes

# Header length by envelope indicator: none, xy, xyz, xym, xyzm.
_HEADER_BYTES = {0: 8, 1: 40, 2: 56, 3: 56, 4: 72}
_LITTLE_ENDIAN = 1
_HAS_XY_ENVELOPE = 1 << 1
_IS_EMPTY = 1 << 4


def to_blobs(shapes: Shapes, *, srs_id: int) -> list[bytes | None]:
    """Return geometries as GeoPackage BLOBs; a missing geometry is None.

    Parameters
    ----------
    shapes
        Shapely geometries or None, shape (n,), in the coordinates of `srs_id`.
    srs_id
        The file's own number for the coordinate reference system.
    """
    bounds = shapely.bounds(shapes)
    empty = shapely.is_empty(shapes)
    return [
        None if body is None else _header(srs_id, bool(is_empty), box) + body
        for body, is_empty, box in zip(
            shapely.to_wkb(shapes, output_dimension=2, byte_order=1), empty, bounds, strict=True
        )
    ]


def _header(srs_id: int, is_empty: bool, bounds: NDArray[np.float64]) -> bytes:
    if is_empty:
        return struct.pack("<2sBBi", b"GP", 0, _LITTLE_ENDIAN | _IS_EMPTY, srs_id)
    west, south, east, north = bounds
    flags = _LITTLE_ENDIAN | _HAS_XY_ENVELOPE
    return struct.pack("<2sBBi4d", b"GP", 0, flags, srs_id, west, east, south, north)


def from_blobs(blobs: Sequence[bytes | None]) -> Shapes:
    """Return GeoPackage BLOBs as shapely geometries, None where there is none.

    Raises
    ------
    ValueError
        If a BLOB is not GeoPackage geometry, or holds a curve.
    """
    bodies = [None if blob is None else body_of(blob) for blob in blobs]
    try:
        found: Shapes = np.asarray(shapely.from_wkb(bodies), dtype=object)
    except (shapely.errors.GEOSException, NotImplementedError) as error:
        raise ValueError(str(error)) from None
    return found


def body_of(blob: bytes) -> bytes:
    """Return the well-known binary behind the header: what two equal shapes share."""
    return blob[_header_length(blob) :]


def _header_length(blob: bytes) -> int:
    if len(blob) < 8 or blob[:2] != b"GP":
        raise ValueError("not GeoPackage geometry")
    try:
        return _HEADER_BYTES[(blob[3] >> 1) & 0b111]
    except KeyError:
        raise ValueError("unknown envelope in GeoPackage geometry") from None


def register_functions(connection: sqlite3.Connection) -> None:
    """Give a connection the functions that every GeoPackage's R-tree triggers call.

    Without them any insert or update of a feature fails with "no such function: ST_IsEmpty".
    """

    def bound(index: int, blob: bytes | None) -> float | None:
        if blob is None:
            return None
        value = float(shapely.bounds(from_blobs([blob])[0])[index])
        return None if np.isnan(value) else value

    def is_empty(blob: bytes | None) -> int | None:
        return None if blob is None else int(shapely.is_empty(from_blobs([blob])[0]))

    names = ("ST_MinX", "ST_MinY", "ST_MaxX", "ST_MaxY")
    for index, name in enumerate(names):
        connection.create_function(
            name, 1, lambda blob, index=index: bound(index, blob), deterministic=True
        )
    connection.create_function("ST_IsEmpty", 1, is_empty, deterministic=True)
