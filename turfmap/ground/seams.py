"""Where zones meet: one line for both, the same corners on either side, nothing left between.

Work is done on one plane. Corners that were there keep their longitude and latitude to the bit
(`Sheet`), so that an edge which nobody touched never moves.
"""

from dataclasses import dataclass

import numpy as np
import shapely

from turfmap.foundations import plane
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes, area_parts, repaired, shape_array
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
# Shapes are cut and joined on a grid this fine, on which GEOS cannot go wrong.
STEPS_A_METRE = 1e8
GRID_M = 1.0 / STEPS_A_METRE
# About a centimetre: a zone whose edge runs along a gap is no further from it.
BESIDE_DEGREES = 1e-7
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
    known: dict[tuple[int, int], tuple[float, float]]

    def back(self, flat: Shapes) -> Shapes:
        """Put shapes back into EPSG:4326: old corners as they were, to the bit."""
        moved = plane.unflatten(flat, np.repeat(self.origin, flat.size, axis=0))
        lonlat = shapely.get_coordinates(moved)
        for index, place in enumerate(_places(flat)):
            lonlat[index] = self.known.get(place, tuple(lonlat[index]))
        found: Shapes = shapely.set_coordinates(moved, lonlat)
        return found


def sheet(shapes: Shapes) -> Sheet:
    """Lay shapes in EPSG:4326 on the plane of the first of them, their corners on the grid."""
    origin = plane.origins(plane.bounds(shapes[:1]))
    flat = plane.flatten(shapes, np.repeat(origin, shapes.size, axis=0))
    lonlat = map(tuple, shapely.get_coordinates(shapes).tolist())
    known = dict(zip(_places(flat), lonlat, strict=True))
    return Sheet(repaired(on_grid(flat))[0], origin, known)


def on_grid(flat: Shapes) -> Shapes:
    """Put the corners of shapes on a plane on the grid on which they are cut and joined."""
    xy = np.rint(shapely.get_coordinates(flat) * STEPS_A_METRE) / STEPS_A_METRE
    found: Shapes = shapely.set_coordinates(flat.copy(), xy)
    return found


def _places(flat: Shapes) -> list[tuple[int, int]]:
    """Return the place of each corner on the grid."""
    steps = np.rint(shapely.get_coordinates(flat) * STEPS_A_METRE).astype(np.int64)
    return [(east, north) for east, north in steps.tolist()]


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
    whole = shapely.union_all(flat, grid_size=GRID_M)
    # Closing fills what is narrower than the gap; mitred, so that corners come back.
    grown = shapely.buffer(whole, GAP_WIDTH_M / 2.0, join_style="mitre")
    closed = shapely.buffer(grown, -GAP_WIDTH_M / 2.0 - SAME_CORNER_M, join_style="mitre")
    parts = shape_array(shapely.get_parts(shapely.difference(closed, whole, grid_size=GRID_M)))
    return parts[shapely.area(parts) > SMALLEST_M2]


def beside(zones: Shapes, gap: shapely.Geometry | None) -> Indices:
    """Return which zones share an edge with a gap: to touch it at one corner is not enough.

    Parameters
    ----------
    zones
        Valid areas in EPSG:4326, shape (n,); missing ones are beside nothing.
    gap
        The ground between them, in EPSG:4326.
    """
    near = np.flatnonzero(shapely.dwithin(zones, gap, BESIDE_DEGREES))
    round_it = shapely.buffer(gap, BESIDE_DEGREES)
    along = shapely.length(shapely.intersection(shapely.boundary(zones[near]), round_it))
    return near[along > 10.0 * BESIDE_DEGREES]


def overlap_given(flat: Shapes, *, owner: int, loser: int) -> Shapes:
    """Give the ground that two shapes share to one of them.

    Parameters
    ----------
    flat
        Valid areas on one plane and its grid, shape (n,) [m].
    owner, loser
        The two.

    Returns
    -------
    ndarray of object, shape (n,)
        All shapes: the loser without the shared ground, the owner with what that leaves of the
        loser in slivers; and in all of them the corners of their neighbours, where they meet.
    """
    two = np.array([owner, loser])
    found = flat.copy()
    # First the corners, then the cut: lines a hair apart would cross anywhere.
    found[two] = _sewn(flat[two])
    left = _parts(shapely.difference(found[loser], found[owner], grid_size=GRID_M))
    small = shapely.area(left) <= SMALLEST_M2
    found[loser] = shapely.union_all(left[~small], grid_size=GRID_M)
    if small.any():
        found[owner] = _whole(shape_array([found[owner], *left[small]]))
    return with_shared_corners(found, two)


def gap_given(flat: Shapes, gap: shapely.Geometry, *, owner: int) -> Shapes:
    """Give the ground of a gap to one of the shapes round it.

    Parameters
    ----------
    flat
        Valid areas on one plane and its grid, all that lie round the gap, shape (n,) [m].
    gap
        From `narrow_gaps`.
    owner
        Who gets it.
    """
    corners = shapely.multipoints(shapely.get_coordinates(flat))
    snapped = shapely.snap(gap, corners, END_PLAY_M)
    ends_meet = snapped if shapely.is_valid(snapped) else gap
    whole = shapely.union_all(flat, grid_size=GRID_M)
    ground = shapely.difference(ends_meet, whole, grid_size=GRID_M)
    found = flat.copy()
    found[owner] = _whole(shape_array([flat[owner], ground]))
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


def _sewn(flat: Shapes) -> Shapes:
    """Make lines of shapes that were meant to be one line the same, corner by corner.

    The corners of the first are where they were; those of others move to them.
    """
    found = flat.copy()
    for index in range(1, flat.size):
        before = shape_array(shapely.points(shapely.get_coordinates(found[:index])))
        _keep_if_sound(found, index, _on_corners(found[index], before))
    for index in range(flat.size):
        others = shapely.get_coordinates(np.delete(found, index))
        _keep_if_sound(found, index, with_corners(found[index], others, within_m=SAME_CORNER_M))
    return found


def _keep_if_sound(shapes: Shapes, index: int, shape: shapely.Geometry) -> None:
    if shapely.is_valid(shape):
        shapes[index] = shape


def _on_corners(flat: shapely.Geometry, corners: Shapes) -> shapely.Geometry:
    """Move corners of an area to those that they were meant to be."""
    own = shapely.get_coordinates(flat)
    points = shape_array(shapely.points(own))
    nearest = shapely.STRtree(corners).nearest(points)
    near = np.flatnonzero(shapely.distance(points, corners[nearest]) <= SAME_CORNER_M)
    own[near] = shapely.get_coordinates(corners[nearest[near]])
    moved: shapely.Geometry = shapely.set_coordinates(shape_array(flat).copy(), own)[0]
    return moved


def with_corners(
    flat: shapely.Geometry, corners: Floats, *, within_m: float = ON_THE_EDGE_M
) -> shapely.Geometry:
    """Put corners into the edges of an area that they lie on.

    Parameters
    ----------
    flat
        A polygon or multipolygon on a plane [m].
    corners
        Places on the plane, shape (m, 2) [m]; those that lie on no edge, or are a corner already,
        are left out.
    within_m
        How near an edge is on it.
    """
    there = np.unique(corners, axis=0)
    points = shape_array(shapely.points(there)).reshape(-1)
    own = shape_array(shapely.points(shapely.get_coordinates(flat)))
    # By trees: a shape may have very many corners.
    on_edges = _near(points, _edges(shapely.get_rings(shapely.get_parts(flat))), within_m)
    new = there[np.setdiff1d(on_edges, _near(points, own, within_m))]
    if not len(new):
        return flat
    parts = [
        shapely.Polygon(
            _ring_with(part.exterior, new, within_m),
            [_ring_with(hole, new, within_m) for hole in part.interiors],
        )
        for part in shapely.get_parts(flat)
    ]
    return parts[0] if len(parts) == 1 else shapely.MultiPolygon(parts)


def _ring_with(ring: shapely.LinearRing, new: Floats, within_m: float) -> Floats:
    corners = shapely.get_coordinates(ring)
    edges = _edges(shape_array(ring))
    points = shape_array(shapely.points(new))
    tree = shapely.STRtree(edges)
    point, edge = tree.query(points, predicate="dwithin", distance=within_m)
    along = shapely.line_locate_point(edges[edge], points[point])
    inside = (along > 0.0) & (along < shapely.length(edges[edge]))
    edge, point, along = edge[inside], point[inside], along[inside]
    order = np.lexsort((along, edge))
    whole: Floats = np.insert(corners, edge[order] + 1, new[point[order]], axis=0)
    return whole


def _edges(rings: Shapes) -> Shapes:
    """Return every edge of some rings as a line of its own."""
    xy, ring = shapely.get_coordinates(rings, return_index=True)
    within = np.flatnonzero(ring[1:] == ring[:-1])
    return shape_array(shapely.linestrings(np.stack([xy[within], xy[within + 1]], axis=1)))


def _near(points: Shapes, shapes: Shapes, within_m: float) -> Indices:
    """Return which points are near any of some shapes."""
    found = shapely.STRtree(shapes).query(points, predicate="dwithin", distance=within_m)
    return np.unique(found[0])


def joined(flat: Shapes) -> shapely.Geometry | None:
    """Join shapes that meet along edges into one area; None if they do not all hang together."""
    whole = _whole(_sewn(flat))
    return whole if shapely.get_num_geometries(whole) == 1 else None


def _whole(flat: Shapes) -> shapely.Geometry:
    """Join areas; a polygon where they hang together."""
    found = area_parts(shape_array(shapely.union_all(flat, grid_size=GRID_M)))[0]
    parts = shapely.get_parts(found)
    whole: shapely.Geometry = parts[0] if len(parts) == 1 else found
    return whole


def _parts(shape: shapely.Geometry) -> Shapes:
    found: Shapes = shape_array(shapely.get_parts(area_parts(shape_array(shape))))
    return found
