"""No-spray ground: everything within a setback of what is protected, never less.

A computed buffer is a polygon inside the true one: its arcs are chords. Here the arcs are drawn
outside the true ones instead, so that no point within the setback is ever left out.
"""

import numpy as np
import shapely

from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes

# Chords to a quarter circle. 32 costs little and covers 0.07 % too much.
QUARTER_SEGMENTS = 32

# GEOS rounds the number of chords of an arc, so a chord can span up to one and a half of its
# steps; the midpoint of that chord must still lie on the true circle. (The factor
# 1 / cos(pi / 4q) that is often given is enough for points only.)
CIRCUMSCRIBED = 1.0 / np.cos(1.5 * np.pi / (4 * QUARTER_SEGMENTS))

# Over a tile the plane's scale is out by less than this, always to the near side.
PLANE_SCALE = 1.0 + 1e-6

WGS84_SEMIMINOR_AXIS_M = 6_356_752.3

# Edges that are put back into lon/lat are straight there and not on the plane; cut to this
# length, the two lie less than the slack apart, up to 65 degrees of latitude.
LONGEST_EDGE_M = 50.0
SLACK_M = 1.5e-4


def reach(distance_m: Floats, longest_edge_m: Floats, latitude: Floats) -> Floats:
    """Return the radius to draw round a feature so that a true distance is covered.

    Parameters
    ----------
    distance_m
        Setback plus position margin, shape (n,) [m].
    longest_edge_m
        The longest edge of each feature, shape (n,) [m]. The file may mean a straight line in
        lon/lat or the shortest line on the ground; the radius covers both.
    latitude
        Where, shape (n,) [deg].
    """
    covered_m: Floats = distance_m * CIRCUMSCRIBED * PLANE_SCALE + SLACK_M
    return covered_m + sagitta(longest_edge_m, latitude)


def sagitta(edge_m: Floats, latitude: Floats) -> Floats:
    """Return how far a straight line in lon/lat departs from the shortest one [m].

    Notes
    -----
    L^2 tan(latitude) / 8 R, largest for an edge that runs east and west: 0.3 cm for 500 m at 33
    degrees, 1.3 m for 10 km.
    """
    limited = np.radians(np.minimum(np.abs(latitude), 89.0))
    departure_m: Floats = edge_m**2 * np.tan(limited) / (8.0 * WGS84_SEMIMINOR_AXIS_M)
    return departure_m


def longest_edges(flat: Shapes) -> Floats:
    """Return the longest edge of each shape on a plane, shape (n,) [m]; 0 for points."""
    xy, owner = shapely.get_coordinates(flat, return_index=True)
    steps = np.hypot(*np.diff(xy, axis=0).T)
    steps[owner[1:] != owner[:-1]] = 0.0
    longest = np.zeros(flat.size)
    np.maximum.at(longest, owner[:-1], steps)
    return longest


def drawn_round(flat: Shapes, radius_m: Floats) -> Shapes:
    """Return the ground within a radius of each shape on a plane.

    Parameters
    ----------
    flat
        Points, lines or areas on local planes, shape (n,) [m].
    radius_m
        From `reach`, shape (n,) [m].
    """
    found: Shapes = shapely.buffer(flat, radius_m, quad_segs=QUARTER_SEGMENTS)
    return found


def ready_to_publish(flat: Shapes) -> Shapes:
    """Cut long edges so that they may be put back into lon/lat."""
    found: Shapes = shapely.segmentize(flat, LONGEST_EDGE_M)
    return found
