"""GeoJSON out: RFC 7946, written whole beside its name and then moved there."""

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import shapely

from turfmap.foundations.shapes import Shapes
from turfmap.store.written_files import JSON_MARK, write_whole


def write_geojson(path: Path, shapes: Shapes, properties: Sequence[Mapping[str, Any]]) -> None:
    """Write shapes in EPSG:4326 as a feature collection.

    Parameters
    ----------
    path
        Where to; an older file of ours of that name is replaced at the last moment.
    shapes
        Geometries, longitude first, shape (n,). Rings are wound as RFC 7946 3.1.6 asks.
    properties
        What goes with each, n mappings.

    Raises
    ------
    InputFaultsError
        If the file cannot be written.
    """
    wound = shapely.orient_polygons(shapes)
    features = [
        {"type": "Feature", "geometry": _geometry(shape), "properties": dict(about)}
        for shape, about in zip(wound, properties, strict=True)
    ]
    # A foreign member (RFC 7946 6.1), by which we know our own files again.
    collection = {"type": "FeatureCollection", "made_by": "turfmap", "features": features}
    text = json.dumps(collection, ensure_ascii=False, allow_nan=False)
    write_whole(path, text, mark=JSON_MARK, endings=(".geojson", ".json"))


def _geometry(shape: shapely.Geometry | None) -> Any:
    return None if shape is None else json.loads(shapely.to_geojson(shape))
