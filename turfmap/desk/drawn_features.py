"""A feature as the editor sends it: read, bounded, and judged by itself."""

import json
import math
import re
from collections.abc import Mapping
from typing import Any

import numpy as np
import shapely

from turfmap.desk.edit_faults import FaultRow, plain_fault, plain_geometry, refused
from turfmap.foundations.checks import checked_rows
from turfmap.foundations.definitions import Row, map_layer
from turfmap.foundations.shapes import is_area, is_present, shape_array

Feature = Mapping[str, Any]

MOST_CORNERS = 100_000
# RFC 7946 knows more; collections are never drawn.
TYPES = {"Point", "MultiPoint", "LineString", "MultiLineString", "Polygon", "MultiPolygon"}
_PLACE = re.compile(r"\[(-?[\d.e+-]+) (-?[\d.e+-]+)\]")


def shape_of(feature: object) -> shapely.Geometry:
    """Read the shape of a GeoJSON feature, or of a bare geometry.

    Returns
    -------
    shapely.Geometry
        In EPSG:4326, without heights; whether it is valid has not been judged.

    Raises
    ------
    RefusedError
        If it is no GeoJSON shape of finite positions on the Earth.
    """
    geometry = feature
    if isinstance(feature, Mapping) and feature.get("type") == "Feature":
        geometry = feature.get("geometry")
    if not isinstance(geometry, Mapping) or geometry.get("type") not in TYPES:
        raise refused("it has no shape", "draw it")
    plain = {"type": geometry["type"], "coordinates": geometry.get("coordinates")}
    try:
        read = shapely.from_geojson(json.dumps(plain, allow_nan=False))
    except (shapely.errors.GEOSException, TypeError, ValueError, RecursionError):
        raise refused("its shape is not GeoJSON", "draw it again") from None
    shape: shapely.Geometry = shapely.force_2d(read)
    corners = shapely.get_coordinates(shape)
    if not len(corners):
        raise refused("its shape is empty", "draw it")
    if len(corners) > MOST_CORNERS:
        raise refused(f"it has more than {MOST_CORNERS:,} corners", "draw it in parts")
    if not (np.abs(corners) <= (180.0, 90.0)).all():
        raise refused("a corner lies off the Earth", "draw it again")
    return shape


def invalid_faults(shape: shapely.Geometry, layer_name: str) -> list[FaultRow]:
    """Find what is wrong with a shape by itself, for the layer that it is to go to."""
    wanted = map_layer(layer_name).geometry
    single = shape_array(shape)
    if not is_present(single)[0]:
        return [plain_fault("it has no shape", "draw it", "invalid")]
    if wanted == "area" and not is_area(single)[0]:
        return [plain_fault("it is not an area", "draw its whole edge", "invalid")]
    if wanted == "point" and shapely.get_type_id(shape) != shapely.GeometryType.POINT:
        return [plain_fault("it is not a point", "mark it with one point", "invalid")]
    if not shapely.is_valid(shape):
        reason = shapely.is_valid_reason(shape)
        return [
            plain_fault(
                _in_words(reason),
                "move the corners there so that its edge does not cross or touch itself",
                "invalid",
                where=_place(reason),
            )
        ]
    return []


def _in_words(reason: str) -> str:
    words = {
        "Self-intersection": "its edge crosses itself",
        "Ring Self-intersection": "its edge touches itself",
        "Hole lies outside shell": "a hole lies outside it",
        "Nested holes": "one hole lies in another",
        "Nested shells": "one part lies in another",
        "Interior is disconnected": "holes cut it apart",
        "Too few points in geometry component": "it has too few corners",
        "Duplicate Rings": "a ring is drawn twice",
    }
    name = reason.partition("[")[0]
    return words.get(name, f"its shape is broken ({name.lower()})")


def _place(reason: str) -> shapely.Geometry | None:
    """Return the place that GEOS names in its reason ("Self-intersection[-84 33]")."""
    found = _PLACE.search(reason)
    if found is None:
        return None
    lon, lat = map(float, found.groups())
    return shapely.Point(lon, lat) if math.isfinite(lon) and math.isfinite(lat) else None


def row_of_feature(feature: Feature, layer_name: str) -> Row:
    """Return a feature's values as its layer declares them; what does not fit is None.

    For measuring while it is drawn: whether a row may be saved is judged when it is saved.
    """
    given = feature.get("properties")
    values = given if isinstance(given, Mapping) else {}
    plain = {
        name: value for name, value in values.items() if isinstance(value, str | int | float | bool)
    }
    rows, _ = checked_rows([plain], map_layer(layer_name), file="", records=[""])
    return {
        name: value.isoformat() if hasattr(value, "isoformat") else value
        for name, value in rows[0].items()
    }


def feature_of(
    shape: shapely.Geometry, properties: Mapping[str, Any], identity: str | None
) -> dict[str, Any]:
    """Return a feature as GeoJSON."""
    named = {} if identity is None else {"id": identity}
    return {
        "type": "Feature",
        **named,
        "geometry": plain_geometry(shape),
        "properties": dict(properties),
    }
