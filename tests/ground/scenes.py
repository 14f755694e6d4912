"""Scenes for the ground tests, and distances measured by other means than ours."""

import numpy as np
import shapely
from numpy.typing import NDArray
from pyproj import Geod
from shapely.geometry.base import BaseGeometry

from turfmap.foundations.shapes import Shapes, shape_array

ELLIPSOID = Geod(ellps="WGS84")
Points = NDArray[np.float64]


def blob(rng: np.random.Generator, lon: float, lat: float, across_m: float) -> BaseGeometry:
    """Draw a closed, wavy, not convex shape, about `across_m` wide."""
    angle = np.sort(rng.uniform(0, 2 * np.pi, 40))
    radius = across_m / 2 * (0.6 + 0.4 * np.sin(3 * angle + rng.uniform(0, 6)) ** 2)
    east = radius * np.cos(angle) / (111_320 * np.cos(np.radians(lat)))
    north = radius * np.sin(angle) / 110_574
    drawn = shapely.Polygon(np.column_stack([lon + east, lat + north]))
    return shapely.make_valid(drawn, method="structure", keep_collapsed=False)


def protected_features(rng: np.random.Generator, lon: float, lat: float) -> Shapes:
    """Return a well, a winding stream, a stream of one long edge, and a pond, near one zone."""
    steps = np.cumsum(rng.normal(0, 1e-4, (30, 2)), axis=0)
    return shape_array(
        [
            shapely.Point(lon + rng.normal(0, 3e-4), lat + rng.normal(0, 3e-4)),
            shapely.LineString(steps + np.array([lon, lat])),
            shapely.LineString([(lon - 2e-3, lat + 3e-4), (lon + 2e-3, lat - 1e-4)]),
            blob(rng, lon + rng.normal(0, 5e-4), lat + rng.normal(0, 5e-4), 40.0),
        ]
    )


def points_within(rng: np.random.Generator, shape: BaseGeometry, count: int) -> Points:
    """Return random points of a shape, `count` of them thrown into its box."""
    if shape.is_empty:
        return np.empty((0, 2))
    west, south, east, north = shape.bounds
    points = rng.uniform((west, south), (east, north), (count, 2))
    shapely.prepare(shape)
    kept: Points = points[shapely.contains_xy(shape, points[:, 0], points[:, 1])]
    return kept


def geodesic_distances_m(points: Points, feature: BaseGeometry) -> Points:
    """Measure from points to the nearest of many points along a feature: never too short.

    They lie up to 22 mm apart, so the distance is too long by at most (11 mm)^2 / 2 d: under a
    tenth of a millimetre from half a metre on.
    """
    dense = shapely.get_coordinates(shapely.segmentize(feature, 2e-7))
    # Degrees of longitude are shorter than degrees of latitude: without this "nearest" is not.
    narrow = np.array([np.cos(np.radians(points[:, 1].mean())), 1.0]) if len(points) else 1.0
    tree = shapely.STRtree(shape_array(shapely.points(dense * narrow)))
    nearest = tree.nearest(shape_array(shapely.points(points * narrow)))
    _, _, distance_m = ELLIPSOID.inv(*points.T, *dense[nearest].T)
    return np.asarray(distance_m)
