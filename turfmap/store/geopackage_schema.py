"""A new GeoPackage: its tables made from ``layers/map``, drop-downs and R-trees included.

References
----------
OGC 12-128r18, GeoPackage Encoding Standard 1.3.1: annex F.3 (R-tree triggers), F.9 (schema
extension: the allowed values that a desktop GIS offers as drop-downs).
"""

import sqlite3
from collections.abc import Iterable
from importlib.resources import files

from pyproj import CRS

from turfmap.foundations.definitions import Column, Layer, map_layers
from turfmap.store import change_log, geopackage_records

# Written into every file; a reader that finds a higher number says that it is too old.
FORMAT_VERSION = 3  # 1 had no log of changes, that of 2 took no clock put back: see `upgrades`
FORMAT_URI = "urn:turfmap:file-format"
SRS_ID = 4326

_SQL_TYPES = {
    "text": "TEXT",
    "number": "DOUBLE",
    "whole": "MEDIUMINT",
    "yes_no": "BOOLEAN",
    "date": "DATE",
    "time": "DATETIME",
    "month_day": "TEXT",
}
# How far a row reaches beyond its shape, and whose rules apply: asked for at every edit.
_LOOKED_UP = {"width_m", "position_margin_m", "state"}
_GEOMETRY_TYPES = {"area": "MULTIPOLYGON", "point": "POINT", "any": "GEOMETRY"}
_RTREE_DEFINITION = "http://www.geopackage.org/spec131/#extension_rtree"


def create_tables(connection: sqlite3.Connection) -> None:
    """Make an empty turfmap GeoPackage on a connection to an empty database."""
    script = (files("turfmap.store") / "geopackage.sql").read_text(encoding="utf-8")
    connection.executescript(script)
    connection.execute("BEGIN")
    _add_reference_systems(connection)
    for layer in map_layers().values():
        add_layer(connection, layer)
    geopackage_records.forbid_changes(connection, map_layers()[geopackage_records.RECORDS])
    change_log.add_change_log(connection)
    connection.execute(
        "INSERT INTO gpkg_metadata VALUES (1, 'dataset', ?, 'text/plain', ?)",
        (FORMAT_URI, format_text()),
    )
    connection.execute(
        "INSERT INTO gpkg_metadata_reference (reference_scope, md_file_id) VALUES ('geopackage', 1)"
    )
    connection.execute("COMMIT")


def format_text() -> str:
    """Return what a file of the present layout says of itself."""
    return f"turfmap file format {FORMAT_VERSION}"


def _add_reference_systems(connection: sqlite3.Connection) -> None:
    undefined = [
        ("Undefined cartesian SRS", -1, "NONE", -1, "undefined", ""),
        ("Undefined geographic SRS", 0, "NONE", 0, "undefined", ""),
    ]
    wgs84 = CRS.from_epsg(SRS_ID)
    row = ("WGS 84 geodetic", SRS_ID, "EPSG", SRS_ID, wgs84.to_wkt("WKT1_GDAL"), "longitude first")
    connection.executemany(
        "INSERT INTO gpkg_spatial_ref_sys VALUES (?, ?, ?, ?, ?, ?)", [*undefined, row]
    )


def add_layer(connection: sqlite3.Connection, layer: Layer) -> None:
    """Make one layer's table, tell the GeoPackage of it, and index it if it has geometry."""
    columns = [
        "fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL",
        "id TEXT",
    ]
    if layer.geometry:
        columns.insert(1, f"geom {_GEOMETRY_TYPES[layer.geometry]}")
    columns += [_column_sql(column) for column in layer.columns.values()]
    connection.execute(f"CREATE TABLE {layer.name} ({', '.join(columns)})")
    if layer.key:
        # Rows are looked up by what people call them.
        connection.execute(
            f"CREATE INDEX {layer.name}_by_name ON {layer.name} ({quoted(layer.key)})"
        )
    for name in _LOOKED_UP & layer.columns.keys() if layer.geometry else ():
        # Without an index the largest of them is found by reading every shape that lies between.
        connection.execute(f'CREATE INDEX {layer.name}_by_{name} ON {layer.name} ("{name}")')
    _give_identities(connection, layer.name)
    _register(connection, layer)
    for column in layer.columns.values():
        _describe(connection, layer, column)
    if layer.geometry:
        _add_rtree(connection, layer.name)


def _give_identities(connection: sqlite3.Connection, table: str) -> None:
    """Let every new row have a lasting identity, whichever program writes it.

    It survives a copy into another file. A row that some program copied with its identity gets
    a new one. (A default would not do: GDAL takes an expression for a text.)
    """
    connection.execute(f"CREATE INDEX {table}_by_id ON {table} (id)")
    connection.execute(
        f"CREATE TRIGGER {table}_identity AFTER INSERT ON {table}"
        f" WHEN NEW.id IS NULL OR (SELECT count(*) FROM {table} WHERE id = NEW.id) > 1"
        f" BEGIN UPDATE {table} SET id = lower(hex(randomblob(16))) WHERE fid = NEW.fid; END"
    )


def add_column(connection: sqlite3.Connection, layer: Layer, column: Column) -> None:
    """Add a column to a layer that is there, empty in every row."""
    kind = _SQL_TYPES[column.type]
    connection.execute(f"ALTER TABLE {layer.name} ADD COLUMN {quoted([column.name])} {kind}")
    # Another program may have removed the column, and left what was told of it.
    connection.execute(
        "DELETE FROM gpkg_data_columns WHERE table_name = ? AND column_name = ?",
        (layer.name, column.name),
    )
    connection.execute(
        "DELETE FROM gpkg_data_column_constraints WHERE constraint_name = ?",
        (f"{layer.name}_{column.name}",),
    )
    _describe(connection, layer, column)


def _column_sql(column: Column) -> str:
    not_null = " NOT NULL" if column.required else ""
    return f'"{column.name}" {_SQL_TYPES[column.type]}{not_null}'


def quoted(names: Iterable[str]) -> str:
    """Return column names as SQL lists them: some of ours, such as "from", are SQL's own words."""
    return ", ".join(f'"{name}"' for name in names)


def _register(connection: sqlite3.Connection, layer: Layer) -> None:
    connection.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)"
        " VALUES (?, ?, ?, ?, ?)",
        (
            layer.name,
            "features" if layer.geometry else "attributes",
            layer.title,
            layer.plain,
            SRS_ID if layer.geometry else None,
        ),
    )
    if layer.geometry:
        connection.execute(
            "INSERT INTO gpkg_geometry_columns VALUES (?, 'geom', ?, ?, 0, 0)",
            (layer.name, _GEOMETRY_TYPES[layer.geometry], SRS_ID),
        )


def _describe(connection: sqlite3.Connection, layer: Layer, column: Column) -> None:
    constraint = None
    if column.one_of:
        constraint = f"{layer.name}_{column.name}"
        connection.executemany(
            "INSERT INTO gpkg_data_column_constraints (constraint_name, constraint_type, value)"
            " VALUES (?, 'enum', ?)",
            [(constraint, value) for value in column.one_of],
        )
    elif column.minimum is not None and column.maximum is not None:
        constraint = f"{layer.name}_{column.name}"
        connection.execute(
            "INSERT INTO gpkg_data_column_constraints (constraint_name, constraint_type,"
            " min, min_is_inclusive, max, max_is_inclusive) VALUES (?, 'range', ?, 1, ?, 1)",
            (constraint, column.minimum, column.maximum),
        )
    connection.execute(
        "INSERT INTO gpkg_data_columns (table_name, column_name, name, title, description,"
        " constraint_name) VALUES (?, ?, ?, ?, ?, ?)",
        (
            layer.name,
            column.name,
            column.name,
            column.name.replace("_", " "),
            column.plain,
            constraint,
        ),
    )


def _add_rtree(connection: sqlite3.Connection, table: str) -> None:
    connection.execute(
        "INSERT INTO gpkg_extensions VALUES (?, 'geom', 'gpkg_rtree_index', ?, 'write-only')",
        (table, _RTREE_DEFINITION),
    )
    connection.execute(
        f"CREATE VIRTUAL TABLE rtree_{table}_geom USING rtree(id, minx, maxx, miny, maxy)"
    )
    box = "NEW.fid, ST_MinX(NEW.geom), ST_MaxX(NEW.geom), ST_MinY(NEW.geom), ST_MaxY(NEW.geom)"
    put = f"INSERT OR REPLACE INTO rtree_{table}_geom VALUES ({box});"
    drop_old = f"DELETE FROM rtree_{table}_geom WHERE id = OLD.fid;"
    drop_both = f"DELETE FROM rtree_{table}_geom WHERE id IN (OLD.fid, NEW.fid);"
    has = "(NEW.geom NOTNULL AND NOT ST_IsEmpty(NEW.geom))"
    lacks = "(NEW.geom ISNULL OR ST_IsEmpty(NEW.geom))"
    triggers = {
        "insert": f"AFTER INSERT ON {table} WHEN {has} BEGIN {put} END",
        "update1": f"AFTER UPDATE OF geom ON {table} WHEN OLD.fid = NEW.fid AND {has}"
        f" BEGIN {put} END",
        "update2": f"AFTER UPDATE OF geom ON {table} WHEN OLD.fid = NEW.fid AND {lacks}"
        f" BEGIN {drop_old} END",
        "update3": f"AFTER UPDATE ON {table} WHEN OLD.fid != NEW.fid AND {has}"
        f" BEGIN {drop_old} {put} END",
        "update4": f"AFTER UPDATE ON {table} WHEN OLD.fid != NEW.fid AND {lacks}"
        f" BEGIN {drop_both} END",
        "delete": f"AFTER DELETE ON {table} WHEN OLD.geom NOT NULL BEGIN {drop_old} END",
    }
    for name, body in triggers.items():
        connection.execute(f"CREATE TRIGGER rtree_{table}_geom_{name} {body}")
