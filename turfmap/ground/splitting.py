"""An area cut in two or more by a line drawn across it."""

import numpy as np
import shapely

from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes, shape_array
from turfmap.ground.seams import GRID_M, SMALLEST_M2

# The ends of a line that was drawn up to an edge reach this much further, so that they cross it.
REACH_M = 0.1


def split_by_line(flat: shapely.Geometry, line: shapely.LineString) -> Shapes:
    """Cut an area along a line.

    Parameters
    ----------
    flat
        A valid polygon or multipolygon on a plane and the grid of `seams` [m].
    line
        A line on the same plane [m]; it may cross the area several times, pass through its holes,
        and end on a corner. What does not cross from side to side cuts nothing.

    Returns
    -------
    ndarray of object, shape (n,)
        Valid polygons, the largest first; together they are the area. They are no more than it
        had before if the line does not cross it. What would be smaller than `SMALLEST_M2` stays
        with the part that it shares its longest edge with.
    """
    parts = shapely.get_parts(flat)
    cut = [piece for part in parts for piece in _without_slivers(_cut(part, _longer(line)))]
    pieces = shape_array(cut)
    return pieces[np.argsort(-shapely.area(pieces), kind="stable")]


def _longer(line: shapely.LineString) -> shapely.LineString:
    corners = shapely.get_coordinates(shapely.remove_repeated_points(line))
    ends = [_beyond(corners[1], corners[0]), _beyond(corners[-2], corners[-1])]
    return shapely.LineString(np.vstack([ends[0], corners[1:-1], ends[1]]))


def _beyond(before: Floats, end: Floats) -> Floats:
    step = end - before
    found: Floats = end + step * (REACH_M / np.hypot(*step))
    return found


def _cut(part: shapely.Polygon, line: shapely.LineString) -> list[shapely.Geometry]:
    edges = shapely.union(shapely.boundary(part), line, grid_size=GRID_M)
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(edges)))
    inside = shapely.contains(part, shapely.point_on_surface(faces))
    return list(faces[inside])


def _area(piece: shapely.Geometry) -> float:
    return float(shapely.area(piece))


def _without_slivers(pieces: list[shapely.Geometry]) -> list[shapely.Geometry]:
    """Join pieces that are too small to be meant to their nearest neighbours, smallest first."""
    left = sorted(pieces, key=_area)
    while len(left) > 1 and _area(left[0]) <= SMALLEST_M2:
        small, *left = left
        edges = shapely.boundary(shape_array(left))
        shared = shapely.length(shapely.intersection(edges, shapely.boundary(small)))
        place = int(np.argmax(shared))
        left[place] = shapely.union(left[place], small, grid_size=GRID_M)
        left.sort(key=_area)
    return left
