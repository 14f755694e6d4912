"""Everything in a place as a folder of GeoParquet files, and such a folder brought back."""

import sqlite3
from pathlib import Path
from typing import Any

import numpy as np

from turfmap.desk.merge import REFUSE, counts, merge_rows, to_be_checked
from turfmap.desk.place import LON_LAT
from turfmap.foundations.checks import as_text, checked_rows
from turfmap.foundations.definitions import Layer, Row, map_layers, tables
from turfmap.foundations.errors import Fault, InputFaultsError, input_fault
from turfmap.store import geopackage
from turfmap.store.foreign.reading import read_foreign
from turfmap.store.geometry_blob import to_blobs
from turfmap.store.kept_rows import KeptRow, identity_of, kept_layers
from turfmap.store.letter_files import write_folder
from turfmap.store.parquet_layers import ENDING, layer_as_parquet

# Kept to the letter: as a person typed them, or as a time was written.
AS_WRITTEN = {"text", "time", "month_day"}


def export_place(path: Path, *, folder: Path) -> dict[str, Any]:
    """Write every layer and table that holds rows as GeoParquet, identities and units with them.

    Returns
    -------
    dict
        ``out``, and ``rows``: how many of each layer.

    Raises
    ------
    InputFaultsError
        If the folder holds something already or cannot be written, or a value does not fit.
    """
    contents: dict[str, bytes] = {}
    rows: dict[str, int] = {}
    with geopackage.reading(path) as connection:
        for layer in kept_layers(connection):
            frame = geopackage.read_rows(connection, layer, file=str(path))
            if len(frame):
                contents[f"{layer.name}{ENDING}"] = layer_as_parquet(frame, layer, file=str(path))
                rows[layer.name] = len(frame)
    if not rows:
        raise input_fault("it holds nothing yet", "bring something in first", file=str(path))
    write_folder(folder, contents)
    return {"out": str(folder), "rows": rows}


def bring_back(path: Path, folder: Path, *, both_changed: str = REFUSE) -> dict[str, Any]:
    """Bring an exported folder into a place: rows by identity, those that are there untouched.

    Parameters
    ----------
    path
        The place, a new one or one that has some of the rows.
    folder
        From `export_place`.
    both_changed
        What to do with rows that are otherwise here; see `turfmap.desk.merge.merge_branch`.

    Returns
    -------
    dict
        How many rows were ``added``, ``replaced`` and ``settled``, by layer.

    Raises
    ------
    InputFaultsError
        With everything that does not fit; nothing is written.
    """
    declared = {**map_layers(), **tables()}
    files = {name: folder / f"{name}{ENDING}" for name in declared}
    there = {name: file for name, file in files.items() if file.is_file()}
    if not there:
        raise input_fault(
            "it holds no layer that turfmap exported",
            "give a folder that turfmap export made, or one file with --as LAYER",
            file=str(folder),
        )
    read = {name: _rows(file, declared[name]) for name, file in there.items()}
    with geopackage.editing(path, who="import") as connection:
        theirs = {
            name: _kept(connection, declared[name], *found, file=str(path))
            for name, found in read.items()
        }
        done = merge_rows(connection, theirs, {}, file=str(folder), both_changed=both_changed)
    return counts(done)


def _rows(file: Path, layer: Layer) -> tuple[list[Row], Any]:
    """Read a layer's file: checked values and ``id``, and shapes in longitude and latitude."""
    foreign = read_foreign(file)
    raw_rows = [to_be_checked(raw, layer) for raw in foreign.rows]
    rows, faults = checked_rows(raw_rows, layer, file=str(file), records=foreign.records)
    told: list[Fault] = [fault for one in (*foreign.faults, *faults) for fault in one]
    for raw, row, record in zip(foreign.rows, rows, foreign.records, strict=True):
        row["id"] = as_text(raw.get("id"))
        if not row["id"]:
            mend = "export again, or bring it in as new rows with --as LAYER"
            told.append(Fault(str(file), record, "it has no id", mend))
        for column in layer.columns.values():
            if column.type in AS_WRITTEN and raw.get(column.name) is not None:
                row[column.name] = str(raw[column.name])
    if told:
        raise InputFaultsError(told)
    return rows, foreign.geometries


def _kept(
    connection: sqlite3.Connection, layer: Layer, rows: list[Row], shapes: Any, *, file: str
) -> list[KeptRow]:
    """Return rows as the place would keep them."""
    blobs: list[bytes | None] = [None] * len(rows)
    if layer.geometry:
        crs = geopackage.crs_of(connection, layer, file)
        if crs != LON_LAT:
            raise input_fault(
                "its coordinates are not longitude and latitude",
                "bring the file in with --as LAYER",
                file=file,
                record=f"layer {layer.name}",
            )
        drawn = geopackage.as_multi_polygons(shapes) if layer.geometry == "area" else shapes
        blobs = to_blobs(
            np.asarray(drawn, dtype=object), srs_id=geopackage.srs_id_of(connection, layer)
        )
    found = []
    for number, (row, blob) in enumerate(zip(rows, blobs, strict=True)):
        stored = (_plain(row[name]) for name in layer.columns)
        values = (row["id"], *([blob] if layer.geometry else []), *stored)
        found.append(KeptRow(number, identity_of(layer, values), values))
    return found


def _plain(value: object) -> object:
    return int(value) if isinstance(value, bool) else geopackage.stored(value)
