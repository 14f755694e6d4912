"""Which things are near which zones, told by boxes first and exactly afterwards."""

import numpy as np
import shapely
from numpy.typing import NDArray

from turfmap.foundations.plane import METRES_PER_DEGREE_AT_LEAST, Floats
from turfmap.foundations.shapes import Shapes, shape_array

Indices = NDArray[np.int64]

# Long lines are looked up in pieces, so that a zone meets only the stretch that is near it.
CORNERS_A_PIECE = 16


def near_pairs(zone_boxes: Floats, thing_boxes: Floats, reach_m: Floats) -> tuple[Indices, Indices]:
    """Return the pairs of zones and things whose boxes come within reach.

    Parameters
    ----------
    zone_boxes
        Lon/lat boxes, shape (n, 4) [deg]; NaN for a missing shape, which is near nothing.
    thing_boxes
        Lon/lat boxes, shape (m, 4) [deg].
    reach_m
        How far each thing reaches, shape (m,) [m].

    Returns
    -------
    zone, thing : ndarray of int, shape (p,)
        Indices of each pair, ordered by zone, then thing.
    """
    zones = np.flatnonzero(~np.isnan(zone_boxes[:, 0]))
    grown = _grown(thing_boxes, reach_m)
    things = np.flatnonzero(~np.isnan(grown[:, 0]))
    if not zones.size or not things.size:
        return np.empty(0, np.int64), np.empty(0, np.int64)
    # The same ground has longitudes 360 degrees apart on either side of the antimeridian.
    turns = [0.0]
    if zone_boxes[zones, 2].max() > 179.0 or grown[things, 2].max() > 179.0:
        turns = [-360.0, 0.0, 360.0]
    tree = shapely.STRtree(_as_shapes(grown[things]))
    found = []
    for turn in turns:
        shifted = zone_boxes[zones] + [turn, 0.0, turn, 0.0]
        found.append(tree.query(_as_shapes(shifted)))
    pairs = np.unique(np.concatenate(found, axis=1), axis=1)
    return zones[pairs[0]], things[pairs[1]]


def _as_shapes(boxes: Floats) -> Shapes:
    return shape_array(shapely.box(*boxes.T))


def _grown(boxes: Floats, reach_m: Floats) -> Floats:
    """Grow boxes by a distance, a little generously: the exact test comes later."""
    north_south = 1.01 * reach_m / METRES_PER_DEGREE_AT_LEAST
    furthest = np.maximum(np.abs(boxes[:, 1]), np.abs(boxes[:, 3])) + north_south
    # Near a pole every longitude is near.
    narrowing = np.cos(np.radians(np.minimum(furthest, 89.99)))
    east_west = np.minimum(north_south / narrowing, 180.0)
    grown: Floats = boxes + np.column_stack([-east_west, -north_south, east_west, north_south])
    return grown


def pieces(shapes: Shapes) -> tuple[Shapes, Indices]:
    """Cut collections into single shapes and long lines into short ones.

    Returns
    -------
    pieces : ndarray of object, shape (m,)
        Points, lines of at most 16 corners, and polygons.
    owner : ndarray of int, shape (m,)
        The shape each piece came from, ascending.
    """
    parts, owner = shapely.get_parts(shapes, return_index=True)
    is_long = shapely.get_type_id(parts) == shapely.GeometryType.LINESTRING
    is_long &= shapely.get_num_coordinates(parts) > CORNERS_A_PIECE
    if not is_long.any():
        return parts, owner
    cut = [_short_lines(line) for line in parts[is_long]]
    lengths = np.array([len(lines) for lines in cut])
    all_pieces = np.concatenate([parts[~is_long], *cut])
    all_owners = np.concatenate([owner[~is_long], np.repeat(owner[is_long], lengths)])
    order = np.argsort(all_owners, kind="stable")
    return all_pieces[order], all_owners[order]


def _short_lines(line: shapely.LineString) -> Shapes:
    corners = shapely.get_coordinates(line)
    starts = range(0, len(corners) - 1, CORNERS_A_PIECE - 1)
    return shape_array(
        [shapely.LineString(corners[start : start + CORNERS_A_PIECE]) for start in starts]
    )
