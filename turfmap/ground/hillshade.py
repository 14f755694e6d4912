"""Relief as light shows it: how bright each cell is under a sun that stands still."""

import numpy as np

from turfmap.ground.slope import Heights

# The light of maps: from the north-west, so that hills look like hills, half way up.
AZIMUTH_DEG = 315.0
ALTITUDE_DEG = 45.0


def hillshade(
    height_m: Heights,
    cell_m: float,
    *,
    azimuth_deg: float = AZIMUTH_DEG,
    altitude_deg: float = ALTITUDE_DEG,
) -> Heights:
    """Return the light on each cell that has eight neighbours.

    Parameters
    ----------
    height_m
        Heights, rows from north to south, shape (r, c) [m]; NaN where unknown.
    cell_m
        Side of a cell, the same both ways [m].
    azimuth_deg, altitude_deg
        Where the light comes from: from north by east, and above the horizon [deg].

    Returns
    -------
    ndarray of float32, shape (r - 2, c - 2)
        The cosine between the ground's normal and the light, 0 where it turns away [1]; NaN where
        any of the nine heights is unknown.

    References
    ----------
    B. K. P. Horn, Hill shading and the reflectance map, Proceedings of the IEEE 69(1), 1981.
    """
    z = height_m
    west = z[:-2, :-2] + 2.0 * z[1:-1, :-2] + z[2:, :-2]
    east = z[:-2, 2:] + 2.0 * z[1:-1, 2:] + z[2:, 2:]
    north = z[:-2, :-2] + 2.0 * z[:-2, 1:-1] + z[:-2, 2:]
    south = z[2:, :-2] + 2.0 * z[2:, 1:-1] + z[2:, 2:]
    to_east, to_north = (east - west) / (8.0 * cell_m), (north - south) / (8.0 * cell_m)
    azimuth, altitude = np.radians([azimuth_deg, altitude_deg])
    towards = np.cos(altitude) * (np.sin(azimuth) * to_east + np.cos(azimuth) * to_north)
    light = (np.sin(altitude) - towards) / np.sqrt(1.0 + to_east**2 + to_north**2)
    # The middle of a neighbourhood counts too, as for the slope.
    light = np.where(np.isnan(z[1:-1, 1:-1]), np.nan, np.maximum(light, 0.0))
    bright: Heights = light.astype(np.float32)
    return bright
