"""What is done to foreign shapes before anyone else sees them; validity is judged elsewhere.

Arrays in, arrays out; None stands for "no shape" throughout.
"""

from collections.abc import Callable
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from pyproj import Geod

Shapes = NDArray[np.object_]
Flags = NDArray[np.bool_]

# A walk round a lawn ends about where it began: a hand-held receiver's error (common practice,
# no source). A gap as long as half the line is no ring, however short.
CLOSING_M = 3.0
LARGEST_GAP = 0.5
WGS84 = Geod(ellps="WGS84")
COLLECTION = 7  # shapely's type ids
FAMILIES: dict[frozenset[int], Callable[..., Any]] = {
    frozenset({0, 4}): shapely.multipoints,
    frozenset({1, 2, 5}): shapely.multilinestrings,
    frozenset({3, 6}): shapely.multipolygons,
}


def not_finite(shapes: Shapes) -> Flags:
    """Flag shapes with a coordinate that is NaN or infinite."""
    coordinates, index = shapely.get_coordinates(shapes, return_index=True)
    return _flagged(len(shapes), index[~np.isfinite(coordinates).all(axis=1)])


def off_the_earth(shapes: Shapes) -> Flags:
    """Flag shapes with a longitude beyond ±180 or a latitude beyond ±90 [degrees]."""
    coordinates, index = shapely.get_coordinates(shapes, return_index=True)
    outside = ~(np.abs(coordinates) <= (180.0, 90.0)).all(axis=1)
    return _flagged(len(shapes), index[outside])


def of_one_kind(shapes: Shapes) -> tuple[Shapes, Flags]:
    """Turn collections of areas, lines or points into multi-shapes; flag those of mixed kinds."""
    plain = shapes.copy()
    mixed = np.zeros(len(shapes), dtype=bool)
    for number in np.flatnonzero(shapely.get_type_id(shapes) == COLLECTION):
        plain[number] = _of_one_kind(shapes[number])
        mixed[number] = plain[number] is None
    return plain, mixed


def closed_as_areas(shapes: Shapes) -> tuple[Shapes, int]:
    """Turn lines whose ends meet within 3 m (on the ellipsoid) into areas; return how many.

    A line of several parts becomes an area of several parts only if each of them closes.
    """
    areas = shapes.copy()
    lines = np.flatnonzero(np.isin(shapely.get_type_id(shapes), (1, 5)))
    parts, owner = shapely.get_parts(shapes[lines], return_index=True)
    closes = np.array([_closes(part) for part in parts], dtype=bool)
    whole = np.ones(len(lines), dtype=bool)
    np.logical_and.at(whole, owner, closes)
    for number in np.flatnonzero(whole):
        rings = [shapely.Polygon(part.coords) for part in parts[owner == number]]
        areas[lines[number]] = rings[0] if len(rings) == 1 else shapely.MultiPolygon(rings)
    return areas, int(whole.sum())


def _flagged(count: int, numbers: NDArray[np.intp]) -> Flags:
    flags = np.zeros(count, dtype=bool)
    flags[numbers] = True
    return flags


def _of_one_kind(collection: shapely.GeometryCollection) -> shapely.Geometry | None:
    parts = shapely.get_parts(collection)
    kinds = set(shapely.get_type_id(parts).tolist())
    for family, made in FAMILIES.items():
        if kinds <= family:
            # A multi-shape inside gives its parts; a ring or a single shape gives itself.
            multi: shapely.Geometry = made(shapely.get_parts(parts))
            return multi
    return None


def _closes(line: shapely.LineString) -> bool:
    lons, lats = shapely.get_coordinates(line).T
    if len({*zip(lons.tolist(), lats.tolist(), strict=True)}) < 3:
        return False
    _, _, gap_m = WGS84.inv(lons[0], lats[0], lons[-1], lats[-1])
    return bool(gap_m <= min(CLOSING_M, LARGEST_GAP * WGS84.line_length(lons, lats)))
