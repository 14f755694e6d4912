"""Where the letters of a zone go: the widest bare place inside it."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray


def label_places(
    geometries: Sequence[shapely.Geometry | None], covers: Sequence[shapely.Geometry] = ()
) -> tuple[list[list[int]], list[int]]:
    """Return where a label sits inside each area, and how much room it has there.

    Parameters
    ----------
    geometries
        Areas in WGS 84 longitude and latitude [degree], or None.
    covers
        What is drawn over them; a label keeps clear of it where it can.

    Returns
    -------
    places : list of [east, north]
        The point inside that lies farthest from the edge, as thousandths of the way over the
        area's bounds; [0, 0] without one.
    rooms : list of int
        How far it lies from the edge, in thousandths of the height of the bounds.
    """
    areas = np.asarray(geometries, dtype=object)
    places, rooms = np.zeros((len(areas), 2)), np.zeros(len(areas))
    solid = shapely.area(areas) > 0
    if solid.any():
        bounds = shapely.bounds(areas[solid])
        centres, radii = _widest_places(_uncovered(areas[solid], np.asarray(covers, dtype=object)))
        spans = bounds[:, 2:] - bounds[:, :2]
        places[solid] = (centres - bounds[:, :2]) / spans
        rooms[solid] = radii / spans[:, 1]
    return _thousandths(places), _thousandths(rooms)


def _uncovered(areas: NDArray[np.object_], covers: NDArray[np.object_]) -> NDArray[np.object_]:
    """Return what is left of each area under the covers; all of it where nothing would be."""
    types = shapely.get_type_id(covers)
    is_area = np.isin(types, (shapely.GeometryType.POLYGON, shapely.GeometryType.MULTIPOLYGON))
    sound = covers[is_area & shapely.is_valid(covers)]
    area_of, cover_of = shapely.STRtree(sound).query(areas, predicate="intersects")
    order = np.argsort(area_of, kind="stable")
    places, starts = np.unique(area_of[order], return_index=True)
    left = areas.copy()
    for place, over in zip(places, np.split(cover_of[order], starts[1:]), strict=False):
        if shapely.is_valid(areas[place]):
            bare = areas[place].difference(shapely.union_all(sound[over]))
            left[place] = bare if bare.area > 0 else areas[place]
    return left


def _widest_places(
    areas: NDArray[np.object_],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    # A degree of longitude is shorter than one of latitude: squeezed, so that circles are round.
    squeeze = np.cos(np.radians(shapely.bounds(areas)[:, [1, 3]].mean(axis=1)))
    corners, of_area = shapely.get_coordinates(areas, return_index=True)
    corners[:, 0] *= squeeze[of_area]
    flat = shapely.set_coordinates(areas.copy(), corners)
    # To a fortieth of the size is enough for a label, and quick.
    tolerance = np.maximum(shapely.length(shapely.envelope(flat)) / 160, 1e-9)
    radii = shapely.maximum_inscribed_circle(flat, tolerance=tolerance)
    centres = shapely.get_coordinates(shapely.get_point(radii, 0))
    centres[:, 0] /= squeeze
    return centres, shapely.length(radii)


def _thousandths(parts: NDArray[np.float64]) -> list[Any]:
    whole: list[Any] = np.rint(parts * 1000).astype(np.int64).tolist()
    return whole
