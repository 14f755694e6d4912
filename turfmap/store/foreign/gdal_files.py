"""GeoPackage, shapefile, FlatGeobuf and DXF, through fiona with exactly one driver each.

Never ``fiona.listlayers``: it takes no list of drivers, so a file in disguise would open there.
"""

import logging
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import fiona
from fiona.errors import FionaError
from shapely.geometry import shape

from turfmap.foundations.errors import input_fault
from turfmap.store.foreign.limits import MAX_RECORD_VERTICES
from turfmap.store.foreign.records import (
    UNREADABLE,
    Contents,
    Found,
    Stated,
    chosen_layer,
    record_name,
)

LARGEST_BLOB_BYTES = MAX_RECORD_VERTICES * 32 + 1024  # four numbers a vertex
LAST_BYTES = 64
# WKB codes of curves (OGC 06-103r4 and SQL/MM): circular string to multi-surface.
CURVE_CODES = range(8, 13)
ENVELOPE_BYTES = (0, 32, 48, 48, 64)  # GeoPackage 1.3, table 5 (clause 2.1.3)


class _Heard(logging.Handler):
    """Keeps what the driver complains of while a record is read: it raises nothing itself."""

    def __init__(self) -> None:
        super().__init__(logging.ERROR)
        self.said: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        """Keep the message."""
        self.said.append(record.getMessage())


def read_geopackage(path: Path, layer: str | None) -> Contents:
    """Open one layer of a GeoPackage; `path` must be our own copy, for it is written to."""
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA trusted_schema = OFF")
        try:
            name = chosen_layer(_layers(connection), layer)
            curves = _check_blobs(connection, name)
            (health,) = connection.execute("PRAGMA quick_check(1)").fetchone()
            # A stale count hides records from the driver; without the table it counts itself.
            connection.execute("DROP TABLE IF EXISTS gpkg_ogr_contents")
            connection.commit()
        except sqlite3.Error as error:
            raise input_fault(f"the GeoPackage is damaged ({error})", "export it again") from error
    if health != "ok":
        raise input_fault(f"the GeoPackage is damaged ({health})", "export it again")
    contents = _opened(path, "GPKG", name)
    if curves:
        contents.notes.append(f"Curved shapes made of short straight lines: {curves}.")
    return contents


def read_dxf(path: Path, _layer: str | None) -> Contents:
    """Open the drawing's one layer; DXF names no coordinate system and no unit we can trust."""
    if path.read_bytes()[-LAST_BYTES:].split()[-1:] != [b"EOF"]:
        # The driver would give what is there and say nothing.
        raise input_fault("the drawing has no end", "it is cut short; export or copy it again")
    contents = _opened(path, "DXF")
    contents.may_close = True
    contents.notes += [
        "A drawing names no unit: its numbers were taken in the unit of the coordinate"
        " reference system given.",
        "Arcs and circles of the drawing, if it has any, were made of short straight lines.",
    ]
    return contents


def read_shapefile(path: Path, _layer: str | None) -> Contents:
    """Open a shapefile; its .prj, if there is one, names its coordinate reference system."""
    return _opened(path, "ESRI Shapefile")


def read_flatgeobuf(path: Path, _layer: str | None) -> Contents:
    """Open a FlatGeobuf file."""
    return _opened(path, "FlatGeobuf")


def _layers(connection: sqlite3.Connection) -> list[str]:
    query = "SELECT table_name FROM gpkg_contents WHERE data_type = 'features' ORDER BY table_name"
    return [str(name) for (name,) in connection.execute(query)]


def _check_blobs(connection: sqlite3.Connection, layer: str) -> int:
    """Refuse shapes too large to take apart; return how many are curves."""
    (column,) = connection.execute(
        "SELECT column_name FROM gpkg_geometry_columns WHERE table_name = ?", (layer,)
    ).fetchone() or ("",)
    quoted, table = (f'"{name.replace(chr(34), chr(34) * 2)}"' for name in (column, layer))
    # The names come from the file, and are quoted as names.
    query = f"SELECT length({quoted}), substr({quoted}, 1, 80) FROM {table}"  # noqa: S608
    curves = 0
    for number, (length, head) in enumerate(connection.execute(query), start=1):
        if length and length > LARGEST_BLOB_BYTES:
            raise input_fault(
                f"its shape takes {length:,} bytes",
                f"simplify it to at most {MAX_RECORD_VERTICES:,} corners",
                record=record_name(number),
            )
        curves += isinstance(head, bytes) and _is_curve(head)
    return curves


def _is_curve(head: bytes) -> bool:
    """Tell from a GeoPackage blob's header and the WKB after it."""
    if len(head) < 13:
        return False
    envelope = (head[3] >> 1) & 0b111
    start = 8 + (ENVELOPE_BYTES[envelope] if envelope < len(ENVELOPE_BYTES) else 0)
    order = "little" if head[start : start + 1] == b"\x01" else "big"
    code = int.from_bytes(head[start + 1 : start + 5], "little" if order == "little" else "big")
    return code % 1000 in CURVE_CODES


def _opened(path: Path, driver: str, layer: str | None = None) -> Contents:
    heard = _Heard()
    logging.getLogger("fiona").addHandler(heard)
    try:
        collection = fiona.open(path, driver=driver, layer=layer)
    except (FionaError, OSError, ValueError) as error:
        said = f" ({'; '.join(heard.said)})" if heard.said else ""
        raise input_fault(f"it cannot be opened as {driver}{said}", "export it again") from error
    crs = collection.crs_wkt or ""
    stated = Stated.BY_FILE if crs else Stated.BY_NOTHING
    return Contents(_records(collection, heard), crs, stated)


def _records(collection: Any, heard: _Heard) -> Iterator[Found]:
    with collection:
        expected = _count(collection)
        number = 0
        features = iter(collection)
        while (feature := _next(features, heard, number + 1)) is not None:
            number += 1
            yield _record(feature, heard.said, record_name(number))
        if number < expected:
            raise input_fault(
                f"it says it holds {expected} records, but only {number} can be read",
                "it is damaged or cut short; export or copy it again",
            )


def _count(collection: Any) -> int:
    try:
        return len(collection)
    except TypeError:  # "Layer does not support counting"
        return 0


def _next(features: Iterator[Any], heard: _Heard, number: int) -> Any:
    heard.said.clear()
    try:
        return next(features, None)
    except UnicodeDecodeError as error:
        raise input_fault(
            f"its text is not in the encoding it claims ({error.encoding})",
            "export it again in UTF-8",
            record=record_name(number),
        ) from error
    except (FionaError, OSError, *UNREADABLE) as error:
        raise input_fault(
            f"it cannot be read ({error})", "export the file again", record=record_name(number)
        ) from error


def _record(feature: Any, said: list[str], name: str) -> Found:
    row = dict(feature.properties)
    if said:
        return Found(name, row, None, f"it is damaged ({'; '.join(said)})", "draw it again")
    try:
        told = feature.geometry
        return Found(name, row, None if told is None else shape(told))
    except UNREADABLE as error:
        return Found(name, row, None, f"its shape cannot be read ({error})", "draw it again")
