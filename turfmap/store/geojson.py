"""GeoJSON out: RFC 7946, written whole beside its name and then moved there."""

import json
import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import shapely

from turfmap.foundations.errors import input_fault
from turfmap.foundations.shapes import Shapes


def write_geojson(path: Path, shapes: Shapes, properties: Sequence[Mapping[str, Any]]) -> None:
    """Write shapes in EPSG:4326 as a feature collection.

    Parameters
    ----------
    path
        Where to; an older file of that name is replaced at the last moment.
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
    text = json.dumps(
        {"type": "FeatureCollection", "features": features}, ensure_ascii=False, allow_nan=False
    )
    write_whole(path, text)


def _geometry(shape: shapely.Geometry | None) -> Any:
    return None if shape is None else json.loads(shapely.to_geojson(shape))


def write_whole(path: Path, text: str) -> None:
    """Write a text file so that a reader never sees half of it.

    Raises
    ------
    InputFaultsError
        If the file cannot be written.
    """
    making = path.with_name(f".{path.name}.{os.getpid()}.making")
    try:
        making.write_text(text, encoding="utf-8", newline="\n")
        making.replace(path)
    except OSError as error:
        raise input_fault(
            f"it cannot be written ({error.strerror})",
            "choose a folder that you may write to",
            file=str(path),
        ) from None
    finally:
        making.unlink(missing_ok=True)
