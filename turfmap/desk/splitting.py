"""A drawing cut in two by a line, and drawings that touch made into one."""

from collections.abc import Mapping, Sequence
from typing import Any

import shapely

from turfmap.desk.drawn_features import Feature, feature_of, invalid_faults, shape_of
from turfmap.desk.edit_faults import RefusedError, plain_geometry, refused
from turfmap.foundations.shapes import shape_array
from turfmap.ground.seams import joined, sheet
from turfmap.ground.splitting import split_by_line

# Drawings joined at once; more is a slip.
MOST_JOINED = 50


def split(feature: Feature, line: object) -> dict[str, Any]:
    """Cut an area along a line.

    Parameters
    ----------
    feature
        The area, a GeoJSON feature.
    line
        A GeoJSON feature or geometry.

    Returns
    -------
    dict
        ``parts``: GeoJSON polygons, the largest first. Along the cut they have the same corners,
        and all others are where they were, to the bit.

    Raises
    ------
    RefusedError
        If either is no sound shape, or the line does not cross the area from side to side.
    """
    area = _sound_area(feature)
    across = shape_of(line)
    if shapely.get_type_id(across) != shapely.GeometryType.LINESTRING or not shapely.length(across):
        raise refused("what it is to be cut by is no line", "draw a line of two points or more")
    laid = sheet(shape_array([area, across]))
    parts = split_by_line(laid.flat[0], laid.flat[1])
    if parts.size <= shapely.get_num_geometries(area):
        raise refused("the line must cross from side to side", "draw it right across", where=across)
    return {"parts": [plain_geometry(part) for part in laid.back(parts)]}


def merge(features: Sequence[Feature]) -> dict[str, Any]:
    """Make areas that touch along an edge into one.

    Parameters
    ----------
    features
        GeoJSON features of one layer, and of one kind; the first gives its identity and values.

    Returns
    -------
    dict
        ``feature``.

    Raises
    ------
    RefusedError
        If they are of different kinds, or do not touch along an edge.
    """
    if not 2 <= len(features) <= MOST_JOINED:
        raise refused(f"{len(features)} shapes cannot be joined", "choose two or more")
    shapes = shape_array([_sound_area(feature) for feature in features])
    values = [_values(feature) for feature in features]
    kinds = sorted({str(each.get("kind") or "") for each in values})
    if len(kinds) > 1:
        raise refused(
            f"they are of different kinds ({', '.join(kind or 'none' for kind in kinds)})",
            "join only what is treated alike",
            "definition",
            column="kind",
        )
    laid = sheet(shapes)
    whole = joined(laid.flat)
    if whole is None:
        raise refused("they do not touch along an edge", "mend the gap between them first")
    identity = features[0].get("id")
    named = identity if isinstance(identity, str) else None
    return {"feature": feature_of(laid.back(shape_array(whole))[0], values[0], named)}


def _values(feature: Feature) -> Mapping[str, Any]:
    values = feature.get("properties")
    return values if isinstance(values, Mapping) else {}


def _sound_area(feature: Feature) -> shapely.Geometry:
    shape = shape_of(feature)
    faults = invalid_faults(shape, "zone")
    if faults:
        raise RefusedError(faults)
    return shape
