"""Layers as GeoParquet: ids, reference system and units with them; tables as Parquet.

References
----------
OGC GeoParquet 1.1.0: the file's metadata ``geo`` with version, primary column, encoding WKB, and
the reference system as PROJJSON.
"""

import io
import json
from collections.abc import Callable
from datetime import date
from typing import Any

import geopandas as gpd
import pandas as pd
import pyarrow
import pyarrow.parquet
import shapely

from turfmap.foundations.definitions import Column, Layer
from turfmap.foundations.errors import input_fault
from turfmap.store.foreign.parquet_file import OURS

ENDING = ".parquet"
GEOPARQUET = "1.1.0"


def layer_as_parquet(frame: gpd.GeoDataFrame, layer: Layer, *, file: str) -> bytes:
    """Return a layer's rows as a GeoParquet file, in the order of the place.

    Parameters
    ----------
    frame
        As `turfmap.store.geopackage.read_layer` returns it.
    layer
        Its declaration; each column carries its unit and meaning.
    file
        The place as the user named it.

    Raises
    ------
    InputFaultsError
        If another program wrote a value that the column's type has no room for.
    """
    fields = [pyarrow.field("id", pyarrow.string(), metadata={"plain": "lasting identity"})]
    arrays = [pyarrow.array(frame["id"].tolist(), pyarrow.string())]
    for column in layer.columns.values():
        kind, read = _TYPES[column.type]
        values = _values(frame, column, read, f"layer {layer.name}", file)
        fields.append(pyarrow.field(column.name, kind, metadata=_about(column)))
        arrays.append(pyarrow.array(values, kind))
    about = {OURS: json.dumps({"layer": layer.name, "title": layer.title, "plain": layer.plain})}
    if layer.geometry:
        shapes = shapely.to_wkb(frame.geometry.to_numpy(), output_dimension=2, byte_order=1)
        fields.append(pyarrow.field("geometry", pyarrow.binary()))
        arrays.append(pyarrow.array(list(shapes), pyarrow.binary()))
        about["geo"] = json.dumps(_geo(frame))
    table = pyarrow.table(arrays, schema=pyarrow.schema(fields, metadata=about))
    written = io.BytesIO()
    pyarrow.parquet.write_table(table, written, compression="zstd")
    return written.getvalue()


def _values(
    frame: gpd.GeoDataFrame, column: Column, read: Callable[[Any], Any], record: str, file: str
) -> list[Any]:
    found = []
    for fid, value in zip(frame["fid"], frame[column.name], strict=True):
        try:
            found.append(None if pd.isna(value) else read(value))
        except (TypeError, ValueError):
            raise input_fault(
                f"{column.name} is {str(value)[:60]!r} in row {fid}, which is not a"
                f" {column.type.replace('_', ' ')}",
                "correct it there",
                file=file,
                record=record,
            ) from None
    return found


def _yes_no(value: object) -> bool:
    return {0: False, 1: True}[int(str(value))]


def _day(value: object) -> date:
    return date.fromisoformat(str(value)[:10])


# How each type of column is kept, and how a stored value becomes one. Times stay the text that
# they are, since a rewritten one would be another record.
_TYPES: dict[str, tuple[pyarrow.DataType, Callable[[Any], Any]]] = {
    "text": (pyarrow.string(), str),
    "number": (pyarrow.float64(), float),
    "whole": (pyarrow.int64(), int),
    "yes_no": (pyarrow.bool_(), _yes_no),
    "date": (pyarrow.date32(), _day),
    "time": (pyarrow.string(), str),
    "month_day": (pyarrow.string(), str),
}


def _about(column: Column) -> dict[str, str]:
    return {"unit": column.unit, "type": column.type, "plain": column.plain}


def _geo(frame: gpd.GeoDataFrame) -> dict[str, Any]:
    shapes = frame.geometry.to_numpy()
    kinds = {shape.geom_type for shape in shapes if shape is not None and not shape.is_empty}
    about: dict[str, Any] = {
        "encoding": "WKB",
        "geometry_types": sorted(kinds),
        "crs": frame.crs.to_json_dict(),
    }
    if kinds:
        about["bbox"] = shapely.total_bounds(shapes).tolist()
    return {
        "version": GEOPARQUET,
        "primary_column": "geometry",
        "columns": {"geometry": about},
    }
