"""Where a position stands to no-spray ground: the same sums as the crew page does, step by step.

No-spray ground is drawn before (`turfmap.ground.nospray`); here it is only measured. The plane is
affine in longitude and latitude, so that edges that are straight there stay straight.

References
----------
Radii of curvature of the ellipsoid (meridian and prime vertical): any textbook of geodesy, from
memory; WGS 84 constants as in `turfmap.foundations.plane`.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from turfmap.foundations.plane import (
    WGS84_ECCENTRICITY_SQUARED,
    WGS84_SEMIMAJOR_AXIS_M,
    Floats,
)

Marks = NDArray[np.bool_]

STOP, UNSURE, OUTSIDE = "stop", "unsure", "outside"
# A position known no better than this says nothing about a lawn.
COARSE_M = 30.0
# Positions times edges measured at once: they fit in a processor's cache (measured).
PAIRS_A_BATCH = 25_000


@dataclass(frozen=True)
class LocalPlane:
    """Metres east and north of an origin, from longitude and latitude [deg]."""

    longitude: float
    latitude: float

    def metres_per_degree(self) -> tuple[float, float]:
        """Return what a degree of longitude and one of latitude measure at the origin [m]."""
        phi = np.radians(self.latitude)
        root = np.sqrt(1.0 - WGS84_ECCENTRICITY_SQUARED * np.sin(phi) ** 2)
        across = WGS84_SEMIMAJOR_AXIS_M / root
        along = WGS84_SEMIMAJOR_AXIS_M * (1.0 - WGS84_ECCENTRICITY_SQUARED) / root**3
        return float(across * np.cos(phi) * np.pi / 180.0), float(along * np.pi / 180.0)

    def flat(self, lonlat: Floats) -> Floats:
        """Return places east and north of the origin, shape (n, 2) [m]."""
        east_m, north_m = self.metres_per_degree()
        moved = lonlat - [self.longitude, self.latitude]
        moved[:, 0] -= 360.0 * np.round(moved[:, 0] / 360.0)
        found: Floats = moved * [east_m, north_m]
        return found


@dataclass(frozen=True)
class Edges:
    """The edges of an area on a plane: both ends of each, shape (e, 2) [m].

    An area without ground has no edges.
    """

    start: Floats
    end: Floats

    def hold(self, xy: Floats) -> Marks:
        """Tell which positions lie inside, by the even-odd rule over all rings, shape (n,)."""
        found = np.zeros(len(xy), dtype=np.bool_)
        for rows in _batches(len(xy), len(self.start)):
            east, north = xy[rows, :1], xy[rows, 1:]
            spans = (self.start[:, 1] > north) != (self.end[:, 1] > north)
            rise = self.end[:, 1] - self.start[:, 1]
            run = self.end[:, 0] - self.start[:, 0]
            share = (north - self.start[:, 1]) / np.where(rise == 0.0, 1.0, rise)
            crossed = spans & (east < run * share + self.start[:, 0])
            found[rows] = crossed.sum(axis=1) % 2 == 1
        return found

    def nearest(self, xy: Floats) -> tuple[Floats, Floats]:
        """Return the distance to the nearest edge, shape (n,), and the place on it [m]."""
        distance_m, place = np.full(len(xy), np.inf), np.full((len(xy), 2), np.nan)
        if not len(self.start):
            return distance_m, place
        (x, y), (along_x, along_y) = self.start.T, (self.end - self.start).T
        squared = along_x**2 + along_y**2
        squared[squared == 0.0] = 1.0
        for rows in _batches(len(xy), len(x)):
            east, north = xy[rows, :1] - x, xy[rows, 1:] - y
            share = np.clip((east * along_x + north * along_y) / squared, 0.0, 1.0)
            east -= share * along_x
            north -= share * along_y
            best = (east**2 + north**2).argmin(axis=1)
            each = np.arange(len(best))
            away = np.column_stack([east[each, best], north[each, best]])
            distance_m[rows] = np.hypot(*away.T)
            place[rows] = xy[rows] - away
        return distance_m, place


def edges_of(shape: BaseGeometry | None, plane: LocalPlane) -> Edges:
    """Return the edges of all rings of an area in EPSG:4326."""
    rings = shapely.get_rings(shapely.get_parts(shape)) if shape is not None else np.empty(0)
    lonlat, owner = shapely.get_coordinates(rings, return_index=True)
    xy = plane.flat(lonlat)
    same = owner[:-1] == owner[1:]
    return Edges(xy[:-1][same], xy[1:][same])


def _batches(positions: int, edges: int) -> list[slice]:
    step = max(PAIRS_A_BATCH // max(edges, 1), 1)
    return [slice(at, at + step) for at in range(0, positions, step)]


@dataclass(frozen=True)
class Standing:
    """How positions stand to no-spray ground, shape (n,).

    Attributes
    ----------
    state
        ``stop``, ``unsure`` or ``outside``.
    is_inside
        Whether no-spray ground holds the position as it was reported.
    distance_m
        To its edge [m]: the way out where it is inside; infinite where none is drawn.
    towards_deg
        Bearing to that place on the edge [deg]; NaN where none is drawn.
    feature
        The feature that the answer is of; -1 where none is drawn.
    """

    state: NDArray[np.str_]
    is_inside: Marks
    distance_m: Floats
    towards_deg: Floats
    feature: NDArray[np.int64]


def standing(
    xy: Floats,
    features: Sequence[Edges],
    together: Edges,
    *,
    margin_m: Floats,
    accuracy_m: Floats,
    is_surveyed: bool,
) -> Standing:
    """Tell how positions stand to no-spray ground.

    Parameters
    ----------
    xy
        Positions on the plane, shape (n, 2) [m].
    features
        The no-spray ground of each protected feature, setback and margin in it.
    together
        All of it as one: a way out of one feature's ground may lead into another's.
    margin_m
        How well each feature's edge is known, shape (f,) [m].
    accuracy_m
        How well each position is known, shape (n,) [m]; NaN where nobody knows.
    is_surveyed
        Whether somebody has looked for what is protected here.

    Notes
    -----
    Every feature is judged by its own edge, so that one more feature, a wider setback or a worse
    accuracy never makes "outside" of anything else.
    """
    count = len(features), len(xy)
    held = np.array([each.hold(xy) for each in features], dtype=np.bool_).reshape(count)
    measured = [each.nearest(xy) for each in features]
    apart = np.array([one for one, _ in measured], dtype=np.float64).reshape(count)
    reach = np.nan_to_num(accuracy_m, nan=np.inf) + margin_m[:, None]
    is_inside: Marks = np.logical_or.reduce(held, axis=0)
    is_stop: Marks = np.logical_or.reduce(held & (apart > reach), axis=0)
    is_near: Marks = np.logical_or.reduce(held | (apart <= reach), axis=0)
    is_unsure = is_near | np.isnan(accuracy_m) | (not is_surveyed)
    is_coarse = accuracy_m > COARSE_M
    state = np.select([is_coarse, is_stop, is_unsure], [UNSURE, STOP, UNSURE], OUTSIDE)
    feature = _feature(held, apart)
    distance_m, place = np.full(len(xy), np.inf), np.full((len(xy), 2), np.nan)
    distance_m[is_inside], place[is_inside] = together.nearest(xy[is_inside])
    for row in np.flatnonzero(~is_inside & (feature >= 0)):
        distance_m[row] = apart[feature[row], row]
        place[row] = measured[feature[row]][1][row]
    east, north = (place - xy).T
    bearing = np.degrees(np.arctan2(east, north)) % 360.0
    return Standing(state, is_inside, distance_m, bearing, feature)


def _feature(held: Marks, apart: Floats) -> NDArray[np.int64]:
    """Return the feature that each answer is of: the deepest around it, else the nearest."""
    if not len(held):
        return np.full(held.shape[1], -1, dtype=np.int64)
    deepest = np.where(held, apart, -1.0).argmax(axis=0)
    found: NDArray[np.int64] = np.where(held.any(axis=0), deepest, apart.argmin(axis=0))
    return found
