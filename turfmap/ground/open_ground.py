"""Open ground: the zone less its obstacles and less what another zone owns."""

from dataclasses import dataclass

import numpy as np
import shapely

from turfmap.foundations import plane
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes, area_parts, compact, grouped_union
from turfmap.ground.area import plane_areas, scales
from turfmap.ground.near import Indices, Surroundings, blades, turns
from turfmap.ground.overlaps import Overlaps

# A zone is cut this often at most; if it has more blades, some are joined first.
MOST_CUTS = 16


@dataclass(frozen=True)
class OpenGround:
    """Zones less their obstacles, shape (n,): what a change of product leaves as it is.

    Attributes
    ----------
    gross_m2, obstacle_m2
        Plan areas on the ellipsoid [m2].
    shared_m2
        The part of `obstacle_m2` that another zone owns [m2].
    flat
        The zones without their obstacles and others' ground, on the planes of `origin` [m].
    boxes
        Lon/lat boxes of the zones, shape (n, 4) [deg].
    origin
        Longitude and latitude of each zone's plane, shape (n, 2) [deg].
    area
        Their areas on the planes, shape (n,) [m2].
    scale
        What a square metre of each zone's plane is on the ground; the same for all its parts, so
        that the parts sum to the whole.
    """

    gross_m2: Floats
    obstacle_m2: Floats
    shared_m2: Floats
    flat: Shapes
    boxes: Floats
    origin: Floats
    area: Floats
    scale: Floats


@dataclass(frozen=True)
class Others:
    """Ground that other zones own: one row a pair, ordered by zone, shape (p,).

    Attributes
    ----------
    zone
        The zone that it is taken from.
    shape
        The zone that owns it, in EPSG:4326.
    among
        The same zone's place among the zones that are cut, -1 if it is not one of them.
    """

    zone: Indices
    shape: Shapes
    among: Indices


def owned_by_others(zones: Shapes, batch: Indices, shared: Overlaps) -> Others:
    """Return what others own of the zones of a batch, the zones counted within the batch."""
    local = np.full(zones.size, -1, dtype=np.int64)
    local[batch] = np.arange(batch.size)
    rows = np.flatnonzero(local[shared.loser] >= 0)
    rows = rows[np.argsort(local[shared.loser[rows]], kind="stable")]
    owner = shared.owner[rows]
    return Others(local[shared.loser[rows]], zones[owner], local[owner])


def open_ground(zones: Shapes, obstacles: Surroundings, others: Others) -> OpenGround:
    """Take the obstacles, and what other zones own, out of zones.

    Parameters
    ----------
    zones
        Valid areas in EPSG:4326, shape (n,).
    obstacles
        From `near.obstacles_around`.
    others
        Ground that other zones own.
    """
    boxes = plane.bounds(zones)
    origin = np.nan_to_num(plane.origins(boxes))
    flat = plane.laid_flat(plane.along_geodesics(zones, boxes), origin)
    area = plane_areas(flat)
    scale = scales(flat, area, origin[:, 1])
    gross = area * scale
    owned = _flat_others(flat, origin, others)
    found = blades(flat, boxes, origin, obstacles)
    _take(flat, area, found.zone, found.shape)
    built_on = np.maximum(gross - area * scale, 0.0)
    _take(flat, area, others.zone, owned)
    obstacle = np.maximum(gross - area * scale, 0.0)
    return OpenGround(gross, obstacle, obstacle - built_on, flat, boxes, origin, area, scale)


def _flat_others(flat: Shapes, origin: Floats, others: Others) -> Shapes:
    """Return what others own on the plane of the zone that it is taken from."""
    owned = flat[others.among]  # flattened already, if it is one of the zones of the same tile
    elsewhere = (origin[others.among] != origin[others.zone]).any(axis=1) | (others.among < 0)
    away = others.shape[elsewhere]
    away = plane.along_geodesics(away, plane.bounds(away))
    owned[elsewhere] = plane.laid_flat(away, origin[others.zone[elsewhere]])
    return owned


def _take(flat: Shapes, area: Floats, zone: Indices, blade: Shapes) -> None:
    """Cut blades, ordered by zone, out of the flat zones, in place; keep their areas true.

    One after the other, which costs less than joining them first, for a join pays for all of a
    blade and a cut only for what lies in the zone. Where a zone has very many they are joined.
    """
    turn, _ = turns(zone)
    blade, group = grouped_union(*_sorted(blade, zone * MOST_CUTS + turn % MOST_CUTS))
    zone, turn = np.divmod(group, MOST_CUTS)
    for each in range(int(turn.max(initial=-1)) + 1):
        now = np.flatnonzero(turn == each)
        flat[zone[now]] = area_parts(shapely.difference(flat[zone[now]], blade[now]))
    cut = np.unique(zone)
    flat[cut] = compact(flat[cut])
    area[cut] = shapely.area(flat[cut])


def _sorted(shapes: Shapes, groups: Indices) -> tuple[Shapes, Indices]:
    order = np.argsort(groups, kind="stable")
    return shapes[order], groups[order]
