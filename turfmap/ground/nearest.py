"""Which of some points is nearest to each of some places, and how far."""

import numpy as np
from numpy.typing import NDArray
from pyproj import Geod

from turfmap.foundations.plane import Floats


def nearest(places: Floats, points: Floats) -> tuple[NDArray[np.intp], Floats]:
    """Return the nearest point to each place, along the ellipsoid.

    Parameters
    ----------
    places
        Longitude and latitude [deg], shape (places, 2); NaN where not known.
    points
        The same, shape (points, 2), at least one.

    Returns
    -------
    index : numpy.ndarray
        Which point, shape (places,); of equally near ones the first; -1 where the place is not
        known.
    distance_m : numpy.ndarray
        How far [m], shape (places,); NaN where the place is not known.
    """
    lon, lat = (np.repeat(places[:, axis], len(points)) for axis in (0, 1))
    lon_there, lat_there = (np.tile(points[:, axis], len(places)) for axis in (0, 1))
    known = np.isfinite(lon) & np.isfinite(lat)
    distance_m = np.full(len(lon), np.nan)
    _, _, distance_m[known] = Geod(ellps="WGS84").inv(
        lon[known], lat[known], lon_there[known], lat_there[known]
    )
    apart = distance_m.reshape(len(places), len(points))
    is_known = np.isfinite(apart).all(axis=1)
    index = np.where(is_known, np.argmin(np.nan_to_num(apart, nan=np.inf), axis=1), -1)
    return index, np.where(is_known, apart[np.arange(len(places)), index], np.nan)
