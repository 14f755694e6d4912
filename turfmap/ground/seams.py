"""Where zones meet: one line for both, the same corners on either side, nothing left between.

Work is done on one plane. Corners that were there keep their longitude and latitude to the bit
(`Sheet`), so that an edge which nobody touched never moves.
"""

from dataclasses import dataclass

import numpy as np
import shapely

from turfmap.foundations import plane
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes, area_parts, shape_array
from turfmap.ground.near import Indices

# Two edges that were meant to be one lie within this.
GAP_WIDTH_M = 0.5
# Smaller than this is the play of two lines along one edge.
SMALLEST_M2 = 0.1
# Corners closer than this are one corner.
SAME_CORNER_M = 0.001
# A corner this close to an edge is on it: far more than reckoning strays (1e-9 m), and too little
# to change an area.
ON_THE_EDGE_M = 1e-6
# The two ends of a narrow gap are closed this far inside it; they go back to corners this near.
END_PLAY_M = 0.003


@dataclass(frozen=True)
class Sheet:
    """Shapes on one plane that remember where their corners came from.

    Attributes
    ----------
    flat
        The shapes on the plane, shape (n,) [m].
    origin
        Longitude and latitude of the plane, shape (1, 2) [deg].
    known
        Longitude and latitude of every corner, by its place on the plane.
    """

    flat: Shapes
    origin: Floats
    known: dict[tuple[float, float], tuple[float, float]]

    def back(self, flat: Shapes) -> Shapes:
        """Put shapes back into EPSG:4326: old corners as they were, to the bit."""
        moved = plane.unflatten(flat, np.repeat(self.origin, flat.size, axis=0))
        lonlat = shapely.get_coordinates(moved)
        for index, (x, y) in enumerate(shapely.get_coordinates(flat).tolist()):
            lonlat[index] = self.known.get((x, y), tuple(lonlat[index]))
        found: Shapes = shapely.set_coordinates(moved, lonlat)
        return found


def sheet(shapes: Shapes) -> Sheet:
    """Lay shapes in EPSG:4326 on the plane of the first of them."""
    origin = plane.origins(plane.bounds(shapes[:1]))
    flat = plane.flatten(shapes, np.repeat(origin, shapes.size, axis=0))
    places = map(tuple, shapely.get_coordinates(flat).tolist())
    known = dict(zip(places, map(tuple, shapely.get_coordinates(shapes).tolist()), strict=True))
    return Sheet(flat, origin, known)


def narrow_gaps(flat: Shapes) -> Shapes:
    """Return ground between shapes that none of them has and that is narrower than a gap may be.

    Parameters
    ----------
    flat
        Valid areas on one plane, shape (n,) [m].

    Returns
    -------
    ndarray of object, shape (m,)
        Polygons of more than `SMALLEST_M2`. Open ground wider than `GAP_WIDTH_M` is never one.
    """
    whole = shapely.union_all(flat)
    # Closing fills what is narrower than the gap; mitred, so that corners come back.
    grown = shapely.buffer(whole, GAP_WIDTH_M / 2.0, join_style="mitre")
    closed = shapely.buffer(grown, -GAP_WIDTH_M / 2.0 - SAME_CORNER_M, join_style="mitre")
    parts = shape_array(shapely.get_parts(shapely.difference(closed, whole)))
    return parts[shapely.area(parts) > SMALLEST_M2]


def overlap_given(flat: Shapes, *, owner: int, loser: int) -> Shapes:
    """Give the ground that two shapes share to one of them.

    Parameters
    ----------
    flat
        Valid areas on one plane, shape (n,) [m].
    owner, loser
        The two.

    Returns
    -------
    ndarray of object, shape (n,)
        All shapes: the loser without the shared ground, the owner with what that leaves of the
        loser in slivers; and in all of them the corners of their neighbours, where they meet.
    """
    found = flat.copy()
    left = _parts(shapely.difference(flat[loser], flat[owner]))
    small = shapely.area(left) <= SMALLEST_M2
    found[loser] = shapely.union_all(left[~small])
    if small.any():
        pieces = shape_array([flat[owner], *left[small]])
        found[owner] = _area(shapely.union_all(pieces))
    return with_shared_corners(found, np.array([owner, loser]))


def gap_given(flat: Shapes, gap: shapely.Geometry, *, owner: int) -> Shapes:
    """Give the ground of a gap to one of the shapes round it.

    Parameters
    ----------
    flat
        Valid areas on one plane, all that lie round the gap, shape (n,) [m].
    gap
        From `narrow_gaps`.
    owner
        Who gets it.
    """
    corners = shapely.multipoints(shapely.get_coordinates(flat))
    snapped = shapely.snap(gap, corners, END_PLAY_M)
    whole = shapely.union_all(flat)
    ground = shapely.difference(snapped if shapely.is_valid(snapped) else gap, whole)
    found = flat.copy()
    found[owner] = _area(shapely.union_all(shape_array([flat[owner], ground])))
    return with_shared_corners(found, np.array([owner]))


def with_shared_corners(flat: Shapes, changed: Indices) -> Shapes:
    """Put corners of neighbours into edges that they lie on, between changed shapes and all others.

    Parameters
    ----------
    flat
        Areas on one plane, shape (n,) [m].
    changed
        Which of them were changed; others only get corners of these.
    """
    found = flat.copy()
    everyone = np.arange(flat.size)
    for index in everyone:
        others = everyone if index in changed else changed
        others = others[others != index]
        near = others[shapely.dwithin(flat[others], flat[index], SAME_CORNER_M)]
        found[index] = with_corners(flat[index], shapely.get_coordinates(flat[near]))
    return found


def with_corners(flat: shapely.Geometry, corners: Floats) -> shapely.Geometry:
    """Put corners into the edges of an area that they lie on.

    Parameters
    ----------
    flat
        A polygon or multipolygon on a plane [m].
    corners
        Places on the plane, shape (m, 2) [m]; those that lie on no edge, or are a corner already,
        are left out.
    """
    there = np.unique(corners, axis=0)
    close = shapely.dwithin(shapely.boundary(flat), shapely.points(there), ON_THE_EDGE_M)
    own = set(map(tuple, shapely.get_coordinates(flat).tolist()))
    new = np.array([each for each in there[close].tolist() if tuple(each) not in own])
    if not new.size:
        return flat
    parts = [
        shapely.Polygon(
            _ring_with(part.exterior, new), [_ring_with(hole, new) for hole in part.interiors]
        )
        for part in shapely.get_parts(flat)
    ]
    return parts[0] if len(parts) == 1 else shapely.MultiPolygon(parts)


def _ring_with(ring: shapely.LinearRing, new: Floats) -> Floats:
    corners = shapely.get_coordinates(ring)
    edges = shape_array(shapely.linestrings(np.stack([corners[:-1], corners[1:]], axis=1)))
    points = shape_array(shapely.points(new))
    edge, point = shapely.STRtree(edges).query(points, predicate="dwithin", distance=ON_THE_EDGE_M)[
        ::-1
    ]
    along = shapely.line_locate_point(edges[edge], points[point])
    inside = (along > 0.0) & (along < shapely.length(edges[edge]))
    edge, point, along = edge[inside], point[inside], along[inside]
    order = np.lexsort((along, edge))
    whole: Floats = np.insert(corners, edge[order] + 1, new[point[order]], axis=0)
    return whole


def joined(flat: Shapes) -> shapely.Geometry | None:
    """Join shapes that meet along edges into one area; None if they do not all hang together."""
    sewn = with_shared_corners(flat, np.arange(flat.size))
    whole = _area(shapely.union_all(sewn))
    return whole if shapely.get_num_geometries(whole) == 1 else None


def _area(shape: shapely.Geometry) -> shapely.Geometry:
    found: shapely.Geometry = area_parts(shape_array(shape))[0]
    parts = shapely.get_parts(found)
    return parts[0] if len(parts) == 1 else found


def _parts(shape: shapely.Geometry) -> Shapes:
    found: Shapes = shape_array(shapely.get_parts(area_parts(shape_array(shape))))
    return found
