"""Flat ground in metres: a local transverse Mercator plane for every tile of the map.

A plane touches the ellipsoid along the meridian through the middle of its tile with scale 1, so
that over a tile a metre on the plane is a metre on the ground to less than one part in a million.
(Web Mercator would be 42 % off in area at 33 degrees north, a UTM zone 0.08 %.)

All tiles are flattened in one call: a transverse Mercator plane depends on its origin only
through the difference in longitude and a constant taken off the northing.
"""

from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from pyproj import Geod, Transformer

from turfmap.foundations.shapes import Shapes, is_area, repaired, shape_array

Floats = NDArray[np.float64]

TILE_DEGREES = 0.1
RADIANS_PER_DEGREE = np.pi / 180.0
WGS84_SEMIMAJOR_AXIS_M = 6_378_137.0
WGS84_ECCENTRICITY_SQUARED = 0.006_694_379_990_141_316
# A degree of latitude is never shorter than this (at the equator), WGS 84.
METRES_PER_DEGREE_AT_LEAST = 110_574.0

# A straight edge on the plane is the shortest line on the ground to far better than we measure,
# unless it is longer than this.
LONGEST_STRAIGHT_EDGE_M = 5_000.0

# The series of "+approx" is good to well under a micrometre this close to its meridian, at a
# third of the cost; tests hold it against the exact algorithm.
_PIPELINE = "+proj=tmerc +approx +lat_0=0 +lon_0=0 +k=1 +ellps=WGS84"


@lru_cache(maxsize=1)
def _transverse_mercator() -> Transformer:
    return Transformer.from_pipeline(_PIPELINE)


def bounds(shapes: Shapes) -> Floats:
    """Return lon/lat boxes (west, south, east, north), shape (n, 4) [deg].

    A shape that crosses the antimeridian gets a box that goes on past 180 degrees. NaN for missing
    and empty shapes.
    """
    boxes: Floats = shapely.bounds(shapes)
    for index in np.flatnonzero(boxes[:, 2] - boxes[:, 0] > 180.0):
        lon = shapely.get_coordinates(shapes[index])[:, 0]
        unwrapped = np.where(lon < 0.0, lon + 360.0, lon)
        boxes[index, 0], boxes[index, 2] = unwrapped.min(), unwrapped.max()
    return boxes


def unwrapped(shapes: Shapes) -> Shapes:
    """Return shapes that cross the antimeridian in one piece, their longitudes past 180 degrees.

    A ring that jumps from 180 to -180 is broken to every library; drawn on to 181 it is whole.
    """
    boxes = shapely.bounds(shapes)
    across = np.flatnonzero(boxes[:, 2] - boxes[:, 0] > 180.0)
    if not across.size:
        return shapes
    whole = shapes.copy()
    lonlat = shapely.get_coordinates(whole[across])
    lonlat[lonlat[:, 0] < 0.0, 0] += 360.0
    whole[across] = shapely.set_coordinates(whole[across].copy(), lonlat)
    return whole


def origins(boxes: Floats) -> Floats:
    """Return the origin of each shape's plane: the centre of the tile its box is centred in.

    Parameters
    ----------
    boxes
        Lon/lat boxes, shape (n, 4) [deg].

    Returns
    -------
    ndarray of float, shape (n, 2)
        Longitude and latitude [deg]. It depends on nothing but the shape's own box, so that one
        edited shape is flattened exactly as in a run over everything.
    """
    middle = (boxes[:, :2] + boxes[:, 2:]) / 2.0
    centre: Floats = (np.floor(middle / TILE_DEGREES) + 0.5) * TILE_DEGREES
    return centre


def along_geodesics(shapes: Shapes, boxes: Floats) -> Shapes:
    """Put points on very long edges, so that they follow the shortest line on the ground.

    Parameters
    ----------
    shapes
        Valid areas in EPSG:4326, shape (n,).
    boxes
        Their boxes from `bounds`, shape (n, 4) [deg].

    Returns
    -------
    ndarray of object, shape (n,)
        The same shapes; only those more than 5 km across are looked at.
    """
    across_m = (boxes[:, 2:] - boxes[:, :2]).max(axis=1) * METRES_PER_DEGREE_AT_LEAST
    wide = np.flatnonzero(across_m > LONGEST_STRAIGHT_EDGE_M)
    if not wide.size:
        return shapes
    followed = shapes.copy()
    for index in wide:
        parts = [
            shapely.Polygon(_followed(part.exterior), [_followed(hole) for hole in part.interiors])
            for part in shapely.get_parts(shapes[index])
        ]
        followed[index] = shapely.multipolygons(shape_array(parts))
    return followed


def _followed(ring: shapely.LinearRing) -> Floats:
    ellipsoid = Geod(ellps="WGS84")
    corners = shapely.get_coordinates(ring)
    _, _, edge_m = ellipsoid.inv(*corners[:-1].T, *corners[1:].T)
    pieces = []
    for start, end, length_m in zip(corners[:-1], corners[1:], edge_m, strict=True):
        between = int(length_m // LONGEST_STRAIGHT_EDGE_M)
        pieces.append(start[None])
        if between:
            points = ellipsoid.npts(start[0], start[1], end[0], end[1], between)
            pieces.append(np.array(points))
    return np.concatenate([*pieces, corners[-1:]])


def flatten(shapes: Shapes, origin: Floats) -> Shapes:
    """Move shapes from lon/lat to the planes of the given origins.

    Parameters
    ----------
    shapes
        Shapely geometries in EPSG:4326, longitude first, shape (n,).
    origin
        Longitude and latitude of each shape's plane, shape (n, 2) [deg].

    Returns
    -------
    ndarray of object, shape (n,)
        The same shapes, coordinates east and north of the origin [m].
    """
    lonlat, owner = shapely.get_coordinates(shapes, return_index=True)
    moved = shapes.copy()
    if owner.size:
        # In place, column by column: this is done to every corner of a region.
        east, north = lonlat[:, 0], lonlat[:, 1]
        east -= origin[:, 0][owner]
        if np.abs(east).max() > 180.0:
            east -= 360.0 * np.round(east / 360.0)
        lonlat *= RADIANS_PER_DEGREE
        east[:], north[:] = _transverse_mercator().transform(east, north, radians=True)
        north -= _northing_of(origin[:, 1])[owner]
        shapely.set_coordinates(moved, lonlat)
    return moved


def laid_flat(shapes: Shapes, origin: Floats) -> Shapes:
    """Move shapes to planes as `flatten` does, and keep areas sound, to be cut and joined there.

    Rounding on the way may lay a corner that touched an edge a hair across it. GEOS may then stop
    or, worse, go on; such an area is rebuilt ring by ring, which changes nothing that can be seen.
    What a rebuilding would leave nothing of stays as it is: it may be a well to be kept clear of.
    """
    flat = flatten(shapes, origin)
    mended, repairs = repaired(flat)
    kept = [one.index for one in repairs if one.lost or not is_area(flat[one.index])]
    mended[kept] = flat[kept]
    return mended


def unflatten(shapes: Shapes, origin: Floats) -> Shapes:
    """Move shapes from the planes of the given origins back to lon/lat; inverse of `flatten`."""
    xy, owner = shapely.get_coordinates(shapes, return_index=True)
    moved = shapes.copy()
    if owner.size:
        north = xy[:, 1] + _northing_of(origin[:, 1])[owner]
        inverse = _transverse_mercator().transform
        lon, lat = inverse(xy[:, 0], north, direction="INVERSE", radians=True)
        lon, lat = lon / RADIANS_PER_DEGREE + origin[:, 0][owner], lat / RADIANS_PER_DEGREE
        lon -= 360.0 * np.round(lon / 360.0)
        shapely.set_coordinates(moved, np.column_stack([lon, lat]))
    return moved


def _northing_of(latitude: Floats) -> Floats:
    """Return the meridian arc from the equator to each latitude [m]."""
    distinct, place = np.unique(latitude, return_inverse=True)
    forward = _transverse_mercator().transform
    _, northing = forward(np.zeros_like(distinct), distinct * RADIANS_PER_DEGREE, radians=True)
    return np.asarray(northing)[place]


def mean_radius(latitude: Floats) -> Floats:
    """Return the Gaussian mean radius of curvature of the ellipsoid at latitudes [deg] [m]."""
    sine_squared = np.sin(np.radians(latitude)) ** 2
    along_parallel = 1.0 - WGS84_ECCENTRICITY_SQUARED * sine_squared
    radius_m: Floats = (
        WGS84_SEMIMAJOR_AXIS_M * np.sqrt(1.0 - WGS84_ECCENTRICITY_SQUARED) / along_parallel
    )
    return radius_m
