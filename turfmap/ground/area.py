"""How big a shape is: plan area on the ellipsoid.

Plan area is what a map shows; ground on a slope has more surface (10 % of slope: 0.5 %).
"""

import numpy as np
import shapely

from turfmap.foundations.plane import Floats, mean_radius
from turfmap.foundations.shapes import Shapes

# Across less than this, one scale for the whole shape is right to 3 parts in 100 million.
NARROW_M = 500.0


def plan_areas(flat: Shapes, latitude: Floats) -> Floats:
    """Return the area on the ellipsoid of shapes on local planes.

    Parameters
    ----------
    flat
        Valid polygons or multipolygons from `foundations.plane.flatten`, shape (n,) [m].
    latitude
        Latitude of each plane's origin, shape (n,) [deg].

    Returns
    -------
    ndarray of float, shape (n,)
        Area [m2]; 0 for missing and empty shapes. Winding does not matter.
    """
    on_plane = plane_areas(flat)
    return on_plane * scales(flat, on_plane, latitude)


def plane_areas(flat: Shapes) -> Floats:
    """Return the area of shapes on their planes, shape (n,) [m2]; 0 for missing ones."""
    areas: Floats = np.nan_to_num(shapely.area(flat))
    return areas


def scales(flat: Shapes, on_plane: Floats, latitude: Floats) -> Floats:
    """Return what a square metre of each shape's plane is on the ellipsoid.

    Parameters
    ----------
    flat
        As in `plan_areas`, shape (n,) [m].
    on_plane
        Their `plane_areas`, shape (n,) [m2].
    latitude
        Latitude of each plane's origin, shape (n,) [deg].

    Notes
    -----
    The scale of a transverse Mercator plane at x metres from its meridian is k = 1 + x^2 / 2 R^2,
    so the area is the integral of 1/k^2 = 1 - x^2 / R^2. For a narrow shape x is taken in its
    middle; for a wide one the integral is summed over its edges.

    References
    ----------
    Snyder, Map Projections: A Working Manual, USGS Professional Paper 1395 (1987), equation 8-8
    (scale of the transverse Mercator projection). From memory.
    """
    west, _, east, _ = np.nan_to_num(shapely.bounds(flat)).T
    radius_squared = mean_radius(latitude) ** 2
    scale: Floats = 1.0 - ((west + east) / 2.0) ** 2 / radius_squared
    for index in np.flatnonzero((east - west > NARROW_M) & (on_plane > 0.0)):
        area = sum(
            _ring_area(part.exterior, radius_squared[index])
            - sum(_ring_area(hole, radius_squared[index]) for hole in part.interiors)
            for part in shapely.get_parts(flat[index])
        )
        scale[index] = area / on_plane[index]
    return scale


def _ring_area(ring: shapely.LinearRing, radius_squared: float) -> float:
    """Integrate 1 - x^2 / R^2 over the inside of a ring.

    By Green's theorem a sum over edges, exact for straight ones:
    dy [(x1 + x2)/2 - (x1 + x2)(x1^2 + x2^2) / 12 R^2].
    """
    x, y = shapely.get_coordinates(ring).T
    x1, x2 = x[:-1], x[1:]
    edges = np.diff(y) * (x1 + x2) * (0.5 - (x1 * x1 + x2 * x2) / (12.0 * radius_squared))
    return abs(float(edges.sum()))
