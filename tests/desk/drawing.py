"""A small place that is drawn on: a lot with lawns, beds, a pond, a stream, a shed and a well."""

from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from shapely.geometry.base import BaseGeometry

from turfmap.desk.edit_faults import plain_geometry
from turfmap.desk.edits import apply_edits
from turfmap.desk.new import new
from turfmap.store import geopackage

WEST, SOUTH = -84.05, 33.55
METRES_A_DEGREE = np.array([92_900.0, 110_900.0])


def on_earth(shape: BaseGeometry) -> BaseGeometry:
    """Put a drawing in metres onto the Earth, about to scale."""
    moved: BaseGeometry = shapely.transform(
        shape, lambda xy: np.array([WEST, SOUTH]) + xy / METRES_A_DEGREE
    )
    return moved


def box(west: float, south: float, east: float, north: float) -> BaseGeometry:
    """Draw a box, its sides metres from the corner of the lot."""
    return on_earth(shapely.box(west, south, east, north))


def feature(shape: BaseGeometry, **values: Any) -> dict[str, Any]:
    return {"type": "Feature", "geometry": plain_geometry(shape), "properties": values}


def create(layer: str, identity: str, shape: BaseGeometry, **values: Any) -> dict[str, Any]:
    return {
        "layer": layer,
        "op": "create",
        "id": identity,
        "feature": feature(shape, **({"name": identity} | values)),
    }


def replace(layer: str, identity: str, shape: BaseGeometry, **values: Any) -> dict[str, Any]:
    return create(layer, identity, shape, **values) | {"op": "replace"}


STREAM = on_earth(shapely.LineString([(-20, 75), (60, 82), (130, 78)]))
DRAWN = [
    create("property", "alder", box(0, 0, 100, 100), name="Alder", water_surveyed_on="2026-01-05"),
    create("property", "birch", box(100, 0, 200, 100), name="Birch"),
    create("zone", "front", box(5, 5, 50, 40), kind="turf", species="bermuda", property="Alder"),
    create("zone", "side", box(50, 5, 95, 40), kind="turf", species="tall_fescue"),
    create("zone", "back", box(5, 45, 95, 70), kind="turf", property="Alder"),
    create("zone", "border", box(40, 30, 60, 45), kind="bed", property="Alder"),
    create("zone", "next", box(105, 5, 195, 95), kind="turf", species="zoysia", property="Birch"),
    create("water", "pond", box(-30, 10, -4, 30), kind="pond", edge_known_by="surveyed"),
    create("water", "stream", STREAM, kind="stream", width_m=2.0, edge_known_by="gps"),
    create("sensitive_site", "well", on_earth(shapely.Point(98, 20)), kind="hives"),
    create("obstacle", "shed", box(20, 20, 26, 26), kind="building"),
    create("obstacle", "path", on_earth(shapely.LineString([(0, 10), (96, 12)])), width_m=1.2),
]


def drawn_place(path: Path) -> Path:
    """Make the place."""
    new(path)
    apply_edits(path, DRAWN, who="test", keep_overlaps=True)
    return path


def stored(path: Path, layer: str, identity: str) -> dict[str, Any]:
    """Return a row as a feature, as the editor has it."""
    frame: gpd.GeoDataFrame = geopackage.read_layer(path, layer)
    row = frame[frame["id"] == identity].iloc[0].to_dict()
    values = {
        name: value
        for name, value in row.items()
        if name not in {"fid", "id", "geometry"} and not pd.isna(value)
    }
    return feature(row["geometry"], **values) | {"id": identity}
