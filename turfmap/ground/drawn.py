"""Ground that a person drew, less what may not be treated."""

import numpy as np
import shapely

from turfmap.foundations import plane
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import area_parts, shape_array
from turfmap.ground.area import plan_areas
from turfmap.ground.treatable import Treatable


def drawn_areas(found: Treatable, drawn: shapely.Geometry) -> tuple[Floats, float]:
    """Return how much treatable ground of each zone lies within a drawing.

    Parameters
    ----------
    found
        The treatable ground of n zones.
    drawn
        A valid area in EPSG:4326.

    Returns
    -------
    treated_m2 : ndarray of float, shape (n,)
        Plan area on the ellipsoid of what was drawn in each zone, obstacles and no-spray ground
        subtracted [m2].
    drawn_m2 : float
        Of the drawing itself [m2].
    """
    zones = found.flat.size
    flat = plane.laid_flat(shape_array([drawn] * zones), found.origin)
    within = area_parts(shapely.intersection(found.flat, flat))
    whole = shape_array([drawn])
    origin = plane.origins(plane.bounds(whole))
    drawn_m2 = plan_areas(plane.laid_flat(whole, origin), origin[:, 1])
    return plan_areas(within, found.origin[:, 1]), float(np.sum(drawn_m2))
