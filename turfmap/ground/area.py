"""How big a shape is: plan area on the ellipsoid.

Plan area is what a map shows; ground on a slope has more surface (10 % of slope: 0.5 %).
"""

import numpy as np
import shapely
from numpy.typing import NDArray

from turfmap.foundations.plane import Floats, mean_radius
from turfmap.foundations.shapes import Shapes


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

    Notes
    -----
    The scale of a transverse Mercator plane at x metres from its meridian is k = 1 + x^2 / 2 R^2,
    so the area is the integral of 1/k^2 = 1 - x^2 / R^2. By Green's theorem that is a sum over
    edges, exact for straight ones: dy [(x1 + x2)/2 - (x1 + x2)(x1^2 + x2^2) / 12 R^2].

    References
    ----------
    Snyder, Map Projections: A Working Manual, USGS Professional Paper 1395 (1987), equation 8-8
    (scale of the transverse Mercator projection). From memory.
    """
    rings, ring_owner, sign = _rings(flat)
    xy, ring = shapely.get_coordinates(rings, return_index=True)
    if not ring.size:
        return np.zeros(flat.shape)
    # Ring by ring from its own first point, so that large coordinates cost no digits.
    same_ring = ring[1:] == ring[:-1]
    x1, x2 = xy[:-1, 0], xy[1:, 0]
    dy = np.where(same_ring, xy[1:, 1] - xy[:-1, 1], 0.0)
    radius_squared = mean_radius(latitude)[ring_owner][ring[:-1]] ** 2
    edges = dy * (x1 + x2) * (0.5 - (x1 * x1 + x2 * x2) / (12.0 * radius_squared))
    ring_areas = np.abs(np.bincount(ring[:-1], weights=edges, minlength=rings.size))
    areas: Floats = np.bincount(ring_owner, sign * ring_areas, flat.size).astype(np.float64)
    return areas


def _rings(flat: Shapes) -> tuple[Shapes, NDArray[np.int64], Floats]:
    """Return all rings, whose they are, and +1 for shells, -1 for holes."""
    polygons, owner = shapely.get_parts(flat, return_index=True)
    rings, polygon = shapely.get_rings(polygons, return_index=True)
    first = np.r_[True, polygon[1:] != polygon[:-1]][: polygon.size]
    return rings, owner[polygon], np.where(first, 1.0, -1.0)
