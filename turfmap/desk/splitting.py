"""A drawing cut in two by a line, and drawings that touch made into one."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from turfmap.desk.drawn_features import Feature, feature_of, invalid_faults, shape_of
from turfmap.desk.edit_faults import RefusedError, plain_geometry, refused
from turfmap.desk.mending import NEAR_M, replacement
from turfmap.desk.near_ground import grown
from turfmap.foundations import plane
from turfmap.foundations.shapes import Shapes, shape_array
from turfmap.ground.seams import SAME_CORNER_M, joined, sheet, with_corners
from turfmap.ground.splitting import split_by_line
from turfmap.store import geopackage
from turfmap.store.near_rows import near_rows

# Drawings joined at once; more is a slip.
MOST_JOINED = 50


def split(
    feature: Feature, line: object, *, path: Path | None = None, identity: str | None = None
) -> dict[str, Any]:
    """Cut an area along a line.

    Parameters
    ----------
    feature
        The area, a GeoJSON feature.
    line
        A GeoJSON feature or geometry.
    path
        The place, if the area is a zone of it: neighbours are to get the corners where the cut
        meets their edges. Nothing is written.
    identity
        The row that the area is of, if it is stored.

    Returns
    -------
    dict
        ``parts``: GeoJSON polygons, the largest first. Along the cut they have the same corners,
        and all others are where they were, to the bit. ``edits``: of neighbours that get corners,
        without etags.

    Raises
    ------
    RefusedError
        If either is no sound shape, or the line does not cross the area from side to side.
    InputFaultsError
        If the file cannot be read.
    """
    area = _sound_area(feature)
    across = shape_of(line)
    if shapely.get_type_id(across) != shapely.GeometryType.LINESTRING or not shapely.length(across):
        raise refused("what it is to be cut by is no line", "draw a line of two points or more")
    rows = [] if path is None else _neighbours(path, area, identity)
    laid = sheet(shape_array([area, across, *(row["geometry"] for row in rows)]))
    parts = split_by_line(laid.flat[0], laid.flat[1])
    if parts.size <= shapely.get_num_geometries(area):
        raise refused("the line must cross from side to side", "draw it right across", where=across)
    edits = [
        replacement(row, laid.back(shape_array(given))[0])
        for row, flat in zip(rows, laid.flat[2:], strict=True)
        if (given := _with_ends(flat, laid.flat[0], parts)) is not flat
    ]
    return {"parts": [plain_geometry(part) for part in laid.back(parts)], "edits": edits}


def _neighbours(path: Path, area: shapely.Geometry, identity: str | None) -> list[dict[str, Any]]:
    """Return the zones round an area; broken ones are left as they are."""
    boxes = grown(plane.bounds(shape_array(area)), NEAR_M)
    with geopackage.reading(path) as connection:
        near = near_rows(connection, "zone", boxes, file=str(path))
    rows: list[dict[str, Any]] = near[near["id"] != identity].to_dict("records")
    return [row for row in rows if row["geometry"] is not None and row["geometry"].is_valid]


def _with_ends(flat: shapely.Geometry, area: shapely.Geometry, parts: Shapes) -> shapely.Geometry:
    """Put the ends of a cut into a neighbour's edge, where they lie on it."""
    old = set(map(tuple, shapely.get_coordinates(area).tolist()))
    every = {*map(tuple, shapely.get_coordinates(parts).tolist())}
    new = np.array(sorted(every - old)).reshape(-1, 2)
    found = with_corners(flat, new, within_m=SAME_CORNER_M)
    return found if shapely.is_valid(found) else flat


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
