"""No-spray ground of distances that hold downwind only: where the wind can carry drops from.

Drops that leave a place drift towards where the wind goes. They can reach a feature from every
place from which some bearing of the wind, within a stated arc, meets it within the distance. That
is the feature with a sector of a circle, open towards where the wind comes from, put at every one
of its points: its Minkowski sum with the sector. Like every setback it is never less than that.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray

from turfmap.foundations import plane
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes, grouped_union, shape_array
from turfmap.ground.nospray import PLANE_SCALE, drawn_round, published, reaches

ALL_ROUND_DEG = 360.0
# Sums with a convex piece are hulls; a sector wider than half a circle is not convex.
WIDEST_PIECE_DEG = 90.0
# Sides of the polygon that stands for the circle: 0.02 % outside it at the corners.
SIDE_DEG = 2.5
# North on a tile's plane and true north differ by less than this, up to 65 degrees of latitude.
NORTH_DEG = 0.1

Indices = NDArray[np.int64]


@dataclass(frozen=True)
class Wind:
    """Where the wind comes from.

    Attributes
    ----------
    from_deg
        Bearing that it comes from, clockwise from north [deg].
    arc_deg
        The full width of the bearings that it may swing through [deg]; 360 is all round.
    """

    from_deg: float
    arc_deg: float

    @property
    def is_all_round(self) -> bool:
        """Whether it may blow from anywhere."""
        return self.arc_deg + 2.0 * NORTH_DEG >= ALL_ROUND_DEG


def downwind_no_spray(shapes: Shapes, wind: Wind, distance_m: Floats, around_m: Floats) -> Shapes:
    """Return the ground from which the wind reaches each feature within a distance.

    Parameters
    ----------
    shapes
        Points, lines or areas in EPSG:4326, shape (m,).
    wind
        Where it comes from, and how wide it swings.
    distance_m
        The distance that holds downwind, shape (m,) [m].
    around_m
        What is kept all round whatever the wind: the position margin and half the width of what
        is drawn as a line, shape (m,) [m].

    Returns
    -------
    ndarray of object, shape (m,)
        Areas in EPSG:4326; inside the all-round ground of `distance_m` plus `around_m`.
    """
    origin = np.nan_to_num(plane.origins(plane.bounds(shapes)))
    flat = plane.laid_flat(shapes, origin)
    whole = drawn_round(flat, reaches(shapes, distance_m + around_m))
    if not wind.is_all_round:
        reached = reached_from(flat, wind, distance_m * PLANE_SCALE)
        whole = shapely.intersection(whole, drawn_round(reached, reaches(shapes, around_m)))
    return published(whole, origin)


def reached_from(flat: Shapes, wind: Wind, distance_m: Floats) -> Shapes:
    """Return the ground on a plane from which the wind reaches each shape within a distance.

    Parameters
    ----------
    flat
        Points, lines or areas on local planes, shape (n,) [m].
    wind
        Less than all round.
    distance_m
        Shape (n,) [m].

    Notes
    -----
    For an area A and a sector S with its tip at 0, A + S is A together with (edge of A) + S: the
    way from a point of A to a point outside crosses the edge. For an edge it is the hull of S at
    both ends.
    """
    single, owner = shapely.get_parts(flat, return_index=True)
    kind = shapely.get_type_id(single)
    is_area, is_point = kind == shapely.GeometryType.POLYGON, kind == shapely.GeometryType.POINT
    lines, of_line = shapely.get_parts(
        np.where(is_area, shapely.boundary(single), single)[~is_point], return_index=True
    )
    ends, of_end = _edges(lines)
    xy = shapely.get_coordinates(single[is_point])
    ends = np.concatenate([ends, np.stack([xy, xy], axis=1)])
    owners = np.concatenate([owner[~is_point][of_line][of_end], owner[is_point]])
    sums = [_hulls(ends, piece, distance_m[owners]) for piece in _pieces(wind)]
    everything = np.concatenate([*sums, single])
    owner = np.concatenate([*[owners] * len(sums), owner])
    order = np.argsort(owner, kind="stable")
    united, which = grouped_union(everything[order], owner[order])
    found = np.full(flat.size, None, dtype=object)
    found[which] = united
    return found


def _edges(lines: Shapes) -> tuple[Floats, Indices]:
    """Return both ends of every edge, shape (e, 2, 2), and the line that each is of."""
    xy, owner = shapely.get_coordinates(lines, return_index=True)
    ends = np.stack([xy[:-1], xy[1:]], axis=1) if len(xy) else np.empty((0, 2, 2))
    same = owner[:-1] == owner[1:]
    return ends[same], owner[:-1][same]


def _pieces(wind: Wind) -> list[Floats]:
    """Return the sector of radius 1 in convex pieces, tip first, arcs outside the true one."""
    width = wind.arc_deg + 2.0 * NORTH_DEG
    count = int(np.ceil(width / WIDEST_PIECE_DEG))
    cuts = wind.from_deg + np.linspace(-width / 2.0, width / 2.0, count + 1)
    return [np.concatenate([np.zeros((1, 2)), _arc(start, end)]) for start, end in pairwise(cuts)]


def _arc(start_deg: float, end_deg: float) -> Floats:
    """Return the corners of an arc, on sides of one polygon round the circle of radius 1.

    However wide the arc, its sides are those of that polygon, so that a wider arc holds a
    narrower one to the last bit.
    """
    first, last = np.floor(start_deg / SIDE_DEG) + 1.0, np.ceil(end_deg / SIDE_DEG)
    between = np.arange(first, last) * SIDE_DEG
    bearing = np.concatenate([[start_deg], between, [end_deg]])
    off_middle = bearing - (np.floor(bearing / SIDE_DEG) + 0.5) * SIDE_DEG
    corners: Floats = (
        np.column_stack([np.sin(np.radians(bearing)), np.cos(np.radians(bearing))])
        / np.cos(np.radians(off_middle))[:, None]
    )
    return corners


def _hulls(ends: Floats, piece: Floats, distance_m: Floats) -> Shapes:
    """Return the hull of a piece at both ends of every edge."""
    scaled = distance_m[:, None, None, None] * piece[None, None]
    corners = (ends[:, :, None] + scaled).reshape(len(ends), -1, 2)
    return shape_array(shapely.convex_hull(shapely.linestrings(corners)))
