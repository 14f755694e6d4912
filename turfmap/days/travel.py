"""Driving times and miles between places, behind one small interface; no network is ever asked.

By road where a road graph is at hand; else estimated from straight lines, biased upward: a truck
that is told too long is early, one that is told too short is late.
"""

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from turfmap.days.plan.problem import METRES_PER_MILE, Travel
from turfmap.foundations.definitions import Row, table

Floats = NDArray[np.float64]

SECONDS_PER_HOUR = 3_600.0
# Mean radius of the IUGG; a sphere is within 0.6 % of the ellipsoid.
EARTH_RADIUS_M = 6_371_008.8


class TravelTimes(Protocol):
    """Anything that knows how long it takes from place to place."""

    def between(self, lon_lat: Floats) -> Travel:
        """Return driving times and distances between places, shape (places, 2) [deg]."""
        ...


class EstimatedTimes:
    """Straight lines times a published factor, at one careful speed."""

    def __init__(self) -> None:
        (self.row,) = (row for row in table("circuity").rows if row["use"] == "estimate")

    def between(self, lon_lat: Floats) -> Travel:
        """Return estimated driving times; see `TravelTimes`."""
        metres = straight_m(lon_lat, lon_lat) * float(self.row["factor"])
        return Travel(
            _whole_seconds(metres / metres_per_second(float(self.row["speed_mph"]))),
            np.rint(metres).astype(np.int64),
            plane_m(lon_lat),
            basis=_estimate_words(self.row),
            source=str(self.row["source"]),
            is_estimated=True,
        )


def _estimate_words(row: Row) -> str:
    return (
        f"Estimated times: {row['factor']:g} times the straight line at {row['speed_mph']:g} mph;"
        " give a road extract with --roads for times by road."
    )


def straight_m(here: Floats, there: Floats) -> Floats:
    """Return straight distances on the ground [m], shape (here, there), by the haversine formula.

    Parameters
    ----------
    here, there
        Longitude and latitude [deg], shape (n, 2).
    """
    lon, lat = (np.radians(here[:, axis])[:, None] for axis in (0, 1))
    lon_there, lat_there = (np.radians(there[:, axis])[None] for axis in (0, 1))
    half = (
        np.sin((lat_there - lat) / 2.0) ** 2
        + np.cos(lat) * np.cos(lat_there) * np.sin((lon_there - lon) / 2.0) ** 2
    )
    found: Floats = 2.0 * EARTH_RADIUS_M * np.arcsin(np.sqrt(np.clip(half, 0.0, 1.0)))
    return found


def plane_m(lon_lat: Floats) -> Floats:
    """Return places on a plane that is true enough to tell which are near [m], shape (n, 2)."""
    if not len(lon_lat):
        return np.zeros((0, 2))
    middle = np.radians(float(np.mean(lon_lat[:, 1])))
    scale = np.radians(1.0) * EARTH_RADIUS_M * np.array([np.cos(middle), 1.0])
    found: Floats = (lon_lat - lon_lat.mean(axis=0)) * scale
    return found


def metres_per_second(speed_mph: float) -> float:
    """Return a speed [mph] in metres per second."""
    return speed_mph * METRES_PER_MILE / SECONDS_PER_HOUR


def _whole_seconds(seconds: Floats) -> NDArray[np.int64]:
    found: NDArray[np.int64] = np.ceil(seconds).astype(np.int64)
    return found
