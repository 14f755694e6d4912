"""Coordinate reference systems by the names that OGC's web standards give them.

References
----------
OGC 18-058r1, OGC API - Features - Part 2: Coordinate Reference Systems by Reference, clause 6: the
order of axes is the authority's (latitude first for EPSG:4326, longitude first for CRS84).
"""

import re
from functools import lru_cache

import numpy as np
import shapely
from pyproj import CRS, Transformer
from pyproj.exceptions import ProjError

from turfmap.desk.edit_faults import refused
from turfmap.foundations.errors import input_fault
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes

LON_LAT = CRS.from_epsg(4326)
CRS84 = "http://www.opengis.net/def/crs/OGC/1.3/CRS84"
_EPSG = "http://www.opengis.net/def/crs/EPSG/0/"
_NAMED = re.compile(rf"{re.escape(_EPSG)}([0-9]{{1,6}})")
# What is offered for every layer, besides the system that it is kept in.
OFFERED = (CRS84, f"{_EPSG}4326", f"{_EPSG}3857")
Box = tuple[float, float, float, float]


def uri_of(crs: CRS) -> str:
    """Return the name of a system that a layer is kept in; longitude first is CRS84."""
    if crs == LON_LAT:
        return CRS84  # a GeoPackage keeps x before y, whatever the authority's order is
    authority = crs.to_authority()
    return f"{_EPSG}{authority[1]}" if authority and authority[0] == "EPSG" else CRS84


def offered(kept: CRS) -> list[str]:
    """Return the names of the systems that a layer is offered in."""
    return list(dict.fromkeys([*OFFERED, uri_of(kept)]))


def check_offered(uri: str, kept: CRS, *, record: str) -> None:
    """Refuse a system that a layer is not offered in.

    Raises
    ------
    InputFaultsError
        With what is offered.
    """
    if uri not in offered(kept):
        raise input_fault(
            f"{uri[:200]!r} is no coordinate system of this layer",
            f"choose one of {', '.join(offered(kept))}",
            record=record,
        )


def outgoing(shapes: Shapes, kept: CRS, uri: str) -> Shapes:
    """Return shapes of a layer in the coordinates, and the order of axes, of a named system."""
    out = _moved(shapes, kept, _crs_of(uri))
    return _swapped(out) if _is_north_first(uri) else out


def incoming(shape: shapely.Geometry, uri: str, kept: CRS) -> shapely.Geometry:
    """Return a shape that came in a named system as its layer keeps it.

    Raises
    ------
    RefusedError
        If it lies where that system does not reach.
    """
    shapes = np.array([shape], dtype=object)
    moved = _moved(_swapped(shapes) if _is_north_first(uri) else shapes, _crs_of(uri), kept)
    if not np.isfinite(shapely.get_coordinates(moved)).all():
        raise refused("a corner lies where its coordinate system does not reach", "draw it again")
    inside: shapely.Geometry = moved[0]
    return inside


def incoming_boxes(box: Box, uri: str, kept: CRS) -> list[Box]:
    """Return a box of a named system as boxes in a layer's own coordinates.

    One that crosses the antimeridian (its west is greater than its east) becomes two.

    Raises
    ------
    InputFaultsError
        If it is no box, or lies off the system.
    """
    west, south, east, north = box
    if _is_north_first(uri):
        west, south, east, north = south, west, north, east
    crs = _crs_of(uri)
    if south > north or (west > east and not crs.is_geographic):
        raise input_fault("its first corner is not the lower left one", "swap them", record="bbox")
    parts = [(west, south, east, north)]
    if west > east:
        parts = [(west, south, 180.0, north), (-180.0, south, east, north)]
    if crs == kept:
        return parts
    try:
        moved = [_transformer(crs, kept).transform_bounds(*part) for part in parts]
    except ProjError:
        moved = []
    if not moved or not np.isfinite(moved).all():
        raise input_fault("it lies off its coordinate system", "choose another box", record="bbox")
    return moved


def _crs_of(uri: str) -> CRS:
    found = _NAMED.fullmatch(uri)
    return CRS.from_epsg(int(found[1]) if found else 4326)


def _is_north_first(uri: str) -> bool:
    """Tell whether an authority puts the northward axis first; CRS84 is longitude first."""
    if uri == CRS84:
        return False
    return bool(_crs_of(uri).axis_info[0].direction.lower() in {"north", "south"})


def _moved(shapes: Shapes, source: CRS, target: CRS) -> Shapes:
    if source == target:
        return shapes
    transformer = _transformer(source, target)

    def move(corners: Floats) -> Floats:
        return np.column_stack(transformer.transform(corners[:, 0], corners[:, 1]))

    moved: Shapes = shapely.transform(shapes, move)
    return moved


def _swapped(shapes: Shapes) -> Shapes:
    swapped: Shapes = shapely.transform(shapes, lambda corners: corners[:, ::-1])
    return swapped


@lru_cache(maxsize=16)
def _transformer(source: CRS, target: CRS) -> Transformer:
    return Transformer.from_crs(source, target, always_xy=True)
