"""GeoParquet, through pyarrow for the values and geopandas for the shapes."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import geopandas
import pyarrow
import pyarrow.parquet

from turfmap.foundations.errors import input_fault
from turfmap.store.foreign.limits import MAX_COLUMNS, MAX_FILE_BYTES, MAX_RECORDS
from turfmap.store.foreign.records import Contents, Found, Stated, record_name

# The metadata by which a table without shapes is known for one that turfmap wrote.
OURS = "turfmap"


def read(path: Path, _layer: str | None) -> Contents:
    """Open a GeoParquet file and its primary geometry column, or a table that turfmap wrote."""
    try:
        with pyarrow.parquet.ParquetFile(path) as file:
            _check_size(file.metadata)
            metadata = file.schema_arrow.metadata or {}
            if OURS.encode() in metadata and b"geo" not in metadata:
                return _table(file.read())
            about = _about_shapes(metadata)
            names = [name for name in file.schema_arrow.names if name not in about["left_out"]]
            values = file.read(columns=names)
        frame = geopandas.read_parquet(path, columns=[about["primary"]])
    except (pyarrow.ArrowException, OSError, ValueError, KeyError, TypeError) as error:
        raise input_fault(f"it cannot be read ({error})", "export it again") from error
    crs = frame.crs.to_wkt() if frame.crs else ""
    stated = Stated.BY_FILE if crs else Stated.BY_NOTHING
    return Contents(_records(values, frame.geometry.to_numpy()), crs, stated)


def _check_size(metadata: Any) -> None:
    """Refuse by the footer what would not fit once unpacked."""
    groups = [metadata.row_group(group) for group in range(metadata.num_row_groups)]
    unpacked_bytes = sum(group.total_byte_size for group in groups)
    if unpacked_bytes > MAX_FILE_BYTES or metadata.num_rows > MAX_RECORDS:
        raise input_fault(
            f"it unpacks to {metadata.num_rows:,} records of {unpacked_bytes:,} bytes",
            f"give at most {MAX_RECORDS:,} records of {MAX_FILE_BYTES:,} bytes",
        )
    if metadata.num_columns > MAX_COLUMNS:
        raise input_fault(f"it has {metadata.num_columns} columns", f"give at most {MAX_COLUMNS}")


def _about_shapes(metadata: dict[bytes, bytes]) -> dict[str, Any]:
    """Return the primary geometry column and the columns that are no values (GeoParquet 1.1)."""
    if b"geo" not in metadata:
        raise input_fault("it is Parquet without GeoParquet's metadata", "export it as GeoParquet")
    geo = json.loads(metadata[b"geo"])
    covering = geo["columns"][geo["primary_column"]].get("covering", {}).get("bbox", {})
    boxes = {path[0] for path in covering.values()}
    return {
        "primary": geo["primary_column"],
        "left_out": set(geo["columns"]) | boxes | {"__index_level_0__"},
    }


def _table(values: pyarrow.Table) -> Contents:
    return Contents(_records(values, [None] * values.num_rows), "", Stated.BY_NOTHING)


def _records(values: pyarrow.Table, geometries: Any) -> Iterator[Found]:
    start = 0
    for batch in values.to_batches(max_chunksize=1024):
        for number, row in enumerate(batch.to_pylist(), start=start):
            yield Found(record_name(number + 1), row, geometries[number])
        start += batch.num_rows
