"""Arrays of shapes: what missing, empty and broken ones mean, decided once.

Missing is None: area 0, near nothing. Empty is a shape without points: the same. Broken (a
bow-tie, a ring outside its shell) is repaired before anything is measured, and reported.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

Shapes = NDArray[np.object_]

_ONE_AREA, _SEVERAL_AREAS = shapely.GeometryType.POLYGON, shapely.GeometryType.MULTIPOLYGON


@dataclass(frozen=True)
class Repair:
    """What was done to one broken shape.

    Attributes
    ----------
    index
        Its place in the array.
    problem
        What was wrong, in GEOS' words and with the place ("Self-intersection[-84 33]").
    parts_before, parts_after
        How many separate pieces it had and has.
    lost
        True if nothing was left of it.
    """

    index: int
    problem: str
    parts_before: int
    parts_after: int
    lost: bool


def shape_array(shapes: object) -> Shapes:
    """Return shapes as an object array, shape (n,)."""
    return np.atleast_1d(np.asarray(shapes, dtype=object))


def is_present(shapes: Shapes) -> NDArray[np.bool_]:
    """Tell which shapes are neither missing nor empty."""
    present: NDArray[np.bool_] = ~(shapely.is_missing(shapes) | shapely.is_empty(shapes))
    return present


def is_area(shapes: Shapes) -> NDArray[np.bool_]:
    """Tell which shapes are polygons or multipolygons."""
    kind = shapely.get_type_id(shapes)
    areas: NDArray[np.bool_] = (kind == _ONE_AREA) | (kind == _SEVERAL_AREAS)
    return areas


def repaired(shapes: Shapes) -> tuple[Shapes, list[Repair]]:
    """Mend broken shapes and say what was mended.

    Areas are rebuilt ring by ring: each ring is made valid by itself, holes are taken out of their
    shell, parts are joined, and lines and points that a collapsed ring leaves are dropped. (GEOS'
    own repair makes ground of a hole that lies outside its shell, or, by line work, loses ground
    that two rings share.)

    Returns
    -------
    shapes : ndarray of object, shape (n,)
        Valid shapes; those that were valid are the same objects.
    repairs : list of Repair
        One for each shape that was changed.
    """
    broken = np.flatnonzero(~shapely.is_valid(shapes) & is_present(shapes))
    if not broken.size:
        return shapes, []
    mended = shapes.copy()
    mended[broken] = [_rebuilt(shape) for shape in shapes[broken]]
    repairs = [
        Repair(
            index=int(index),
            problem=shapely.is_valid_reason(shapes[index]),
            parts_before=int(shapely.get_num_geometries(shapes[index])),
            parts_after=int(shapely.get_num_geometries(mended[index])),
            lost=bool(shapely.is_empty(mended[index])),
        )
        for index in broken
    ]
    return mended, repairs


def _rebuilt(shape: shapely.Geometry) -> shapely.Geometry:
    if not is_area(shape_array(shape))[0]:
        return shapely.make_valid(shape, method="structure", keep_collapsed=False)
    parts = []
    for part in shapely.get_parts(shape):
        rings = shape_array([shapely.polygons(ring) for ring in shapely.get_rings(part)])
        sound = shapely.make_valid(rings, method="structure", keep_collapsed=False)
        parts.append(shapely.difference(sound[0], shapely.union_all(sound[1:])))
    return shapely.union_all(shape_array(parts))


def as_line(shape: shapely.Geometry) -> shapely.Geometry:
    """Return the line through a shape's corners, or its point: where it is, if it has no area."""
    corners = shapely.get_coordinates(shape)
    distinct = np.unique(corners, axis=0)
    return shapely.Point(corners[0]) if len(distinct) == 1 else shapely.LineString(corners)


def area_parts(shapes: Shapes) -> Shapes:
    """Keep only what has area: touching shapes intersect in points and lines as well."""
    mixed = np.flatnonzero(~is_area(shapes) & is_present(shapes))
    if not mixed.size:
        return shapes
    kept = shapes.copy()
    for index in mixed:
        parts = shape_array(shapely.get_parts(shapes[index]))
        kept[index] = shapely.union_all(parts[is_area(parts)])
    return kept


def compact(shapes: Shapes) -> Shapes:
    """Return copies without the spare room that GEOS leaves in its results (a quarter)."""
    copies: Shapes = shapely.force_2d(shapes)
    return copies


def grouped_union(shapes: Shapes, groups: NDArray[np.int64]) -> tuple[Shapes, NDArray[np.int64]]:
    """Join the shapes of each group, neighbours in pairs, all groups at once.

    Parameters
    ----------
    shapes
        Valid shapes, shape (n,).
    groups
        The group of each shape, ascending, shape (n,).

    Returns
    -------
    joined : ndarray of object, shape (m,)
        One shape a group.
    groups : ndarray of int, shape (m,)
        Which group each belongs to, ascending.
    """
    while True:
        starts = np.flatnonzero(np.r_[True, groups[1:] != groups[:-1]][: groups.size])
        if starts.size == groups.size:
            return shapes, groups
        rank = np.arange(groups.size) - np.repeat(starts, np.diff(np.r_[starts, groups.size]))
        left = rank % 2 == 0
        has_right = np.flatnonzero(left & np.r_[~left[1:], False])
        merged = shapes.copy()
        merged[has_right] = shapely.union(shapes[has_right], shapes[has_right + 1])
        shapes, groups = merged[left], groups[left]
