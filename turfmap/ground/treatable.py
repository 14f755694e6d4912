"""Treatable ground: the zone, less its obstacles, less the no-spray ground, every cause kept."""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
import shapely

from turfmap.foundations import plane
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes, area_parts, grouped_union
from turfmap.ground.area import plan_areas
from turfmap.ground.near import (
    Blades,
    Indices,
    Surroundings,
    Things,
    blades,
    obstacles_around,
    protected_around,
)
from turfmap.ground.nospray import published
from turfmap.ground.overlaps import Overlaps, overlaps

# Zones are cut in batches, so that memory holds the working shapes of one batch only.
ZONES_A_BATCH = 4_096


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
    """

    zone: Indices
    shape: Shapes


@dataclass(frozen=True)
class Losses:
    """What each protected feature takes from each zone, one row a pair, shape (p,).

    Attributes
    ----------
    zone, feature
        Indices; rows are ordered by zone, then by the order of the features.
    lost_m2
        Ground taken that no earlier feature took [m2]: these sum to the zone's no-spray ground.
    gross_lost_m2
        All the ground within this feature's reach, shared or not [m2].
    """

    zone: Indices
    feature: Indices
    lost_m2: Floats
    gross_lost_m2: Floats


@dataclass(frozen=True)
class Treatable:
    """The parts of each zone, shape (n,): gross = obstacle + no-spray + treatable.

    Attributes
    ----------
    gross_m2, obstacle_m2, no_spray_m2, treatable_m2
        Plan areas on the ellipsoid [m2].
    shared_m2
        The part of `obstacle_m2` that another zone owns [m2].
    flat
        The treatable ground on the planes of `origin` [m].
    origin
        Longitude and latitude of each zone's plane, shape (n, 2) [deg].
    losses
        The no-spray ground by cause.
    """

    gross_m2: Floats
    obstacle_m2: Floats
    no_spray_m2: Floats
    treatable_m2: Floats
    shared_m2: Floats
    flat: Shapes
    origin: Floats
    losses: Losses

    def only(self, chosen: Indices) -> "Treatable":
        """Return the result for some of the zones, shape (k,), ascending."""
        place = np.full(self.gross_m2.size, -1, dtype=np.int64)
        place[chosen] = np.arange(chosen.size)
        losses = self.losses
        rows = np.flatnonzero(place[losses.zone] >= 0)
        kept = {name: getattr(self, name)[chosen] for name in _A_ZONE_EACH}
        return Treatable(
            **kept,
            losses=Losses(
                place[losses.zone[rows]],
                losses.feature[rows],
                losses.lost_m2[rows],
                losses.gross_lost_m2[rows],
            ),
        )

    def shapes(self) -> Shapes:
        """Return the treatable ground in EPSG:4326, edges cut so that no setback is crossed."""
        return published(self.flat, self.origin)


# What a result holds once for every zone.
_A_ZONE_EACH = (
    "gross_m2",
    "obstacle_m2",
    "no_spray_m2",
    "treatable_m2",
    "shared_m2",
    "flat",
    "origin",
)


def treatable(
    zones: Shapes,
    obstacles: Things,
    protected: Things,
    *,
    rank: Floats | None = None,
    workers: int = 1,
) -> Treatable:
    """Cut every zone by what lies near it.

    Parameters
    ----------
    zones
        Valid polygons or multipolygons in EPSG:4326, shape (n,); missing ones have no ground.
    obstacles
        Ground that is not treated. Its own edge, plus half its width.
    protected
        Features with setbacks, in the order in which shared ground is attributed.
    rank
        Ground that two zones share belongs to the one with the lower rank, shape (n,); of equal
        ones, and where no rank is given, to the first.
    workers
        How many threads may cut at once; the answer is the same, to the bit.

    Returns
    -------
    Treatable
        Areas, treatable shapes and losses, in the order of `zones`.
    """
    hard, clear_of = obstacles_around(obstacles), protected_around(protected)
    shared = overlaps(zones, np.zeros(zones.size) if rank is None else rank)

    def cut(batch: Indices) -> Treatable:
        return keep_clear(open_ground(zones[batch], hard, _others(zones, batch, shared)), clear_of)

    batches = list(_batches(plane.origins(plane.bounds(zones))))
    with ThreadPoolExecutor(workers) as pool:
        return _joined(batches, list(pool.map(cut, batches)), zones.size)


def _others(zones: Shapes, batch: Indices, shared: Overlaps) -> Others:
    """Return what others own of the zones of a batch, the zones counted within the batch."""
    local = np.full(zones.size, -1, dtype=np.int64)
    local[batch] = np.arange(batch.size)
    rows = np.flatnonzero(local[shared.loser] >= 0)
    rows = rows[np.argsort(local[shared.loser[rows]], kind="stable")]
    return Others(local[shared.loser[rows]], zones[shared.owner[rows]])


def _batches(origin: Floats) -> Iterator[Indices]:
    """Yield the zones tile by tile: those of one tile share what is drawn round their features."""
    order = np.lexsort(origin.T)
    for start in range(0, max(order.size, 1), ZONES_A_BATCH):
        yield order[start : start + ZONES_A_BATCH]


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
    flat = plane.flatten(plane.along_geodesics(zones, boxes), origin)
    gross = plan_areas(flat, origin[:, 1])
    on_plane = np.nan_to_num(shapely.area(flat))
    scale = np.divide(gross, on_plane, out=np.ones_like(gross), where=on_plane > 0.0)
    found = blades(flat, boxes, origin, obstacles)
    _take(flat, found.zone, found.shape)
    built_on = np.maximum(gross - np.nan_to_num(shapely.area(flat)) * scale, 0.0)
    _take(flat, others.zone, plane.flatten(others.shape, origin[others.zone]))
    obstacle = np.maximum(gross - np.nan_to_num(shapely.area(flat)) * scale, 0.0)
    return OpenGround(gross, obstacle, obstacle - built_on, flat, boxes, origin, scale)


def _take(flat: Shapes, zone: Indices, blade: Shapes) -> None:
    """Cut blades, ordered by zone, out of the flat zones in place."""
    together, zone = grouped_union(blade, zone)
    flat[zone] = area_parts(shapely.difference(flat[zone], together))


def keep_clear(ground: OpenGround, protected: Surroundings) -> Treatable:
    """Take the no-spray ground out of open ground, cause by cause."""
    found = blades(ground.flat, ground.boxes, ground.origin, protected)
    left, losses = _cut_in_order(ground, found)
    lost = np.bincount(losses.zone, losses.lost_m2, left.size).astype(np.float64)
    return Treatable(
        gross_m2=ground.gross_m2,
        obstacle_m2=ground.obstacle_m2,
        no_spray_m2=lost,
        treatable_m2=np.nan_to_num(shapely.area(left)) * ground.scale,
        shared_m2=ground.shared_m2,
        flat=left,
        origin=ground.origin,
        losses=losses,
    )


def _cut_in_order(ground: OpenGround, found: Blades) -> tuple[Shapes, Losses]:
    """Take each feature's ground from its zones, first features first."""
    zone, scale = found.zone, ground.scale
    left = ground.flat.copy()
    lost = np.zeros(zone.size)
    first = np.r_[True, zone[1:] != zone[:-1]][: zone.size]
    turn = np.arange(zone.size) - np.maximum.accumulate(np.where(first, np.arange(zone.size), 0))
    for each in range(int(turn.max(initial=-1)) + 1):
        now = np.flatnonzero(turn == each)
        before = shapely.area(left[zone[now]])
        left[zone[now]] = area_parts(shapely.difference(left[zone[now]], found.shape[now]))
        lost[now] = (before - shapely.area(left[zone[now]])) * scale[zone[now]]
    # What a zone's first feature takes is all that it reaches; for the others that is asked.
    gross = lost.copy()
    later = np.flatnonzero(turn > 0)
    reached = shapely.intersection(ground.flat[zone[later]], found.shape[later])
    gross[later] = shapely.area(reached) * scale[zone[later]]
    takes = gross > 0.0
    return left, Losses(zone[takes], found.thing[takes], lost[takes], gross[takes])


def _joined(batches: list[Indices], parts: list[Treatable], count: int) -> Treatable:
    """Put the parts of all batches back into the order of the zones."""
    order = np.concatenate(batches)
    back = np.empty(count, dtype=np.int64)
    back[order] = np.arange(count)

    columns = {
        name: np.concatenate([getattr(part, name) for part in parts])[back] for name in _A_ZONE_EACH
    }
    losses = [part.losses for part in parts]
    zone = np.concatenate([batch[loss.zone] for batch, loss in zip(batches, losses, strict=True)])
    feature = np.concatenate([loss.feature for loss in losses])
    by_zone = np.lexsort((feature, zone))
    return Treatable(
        **columns,
        losses=Losses(
            zone[by_zone],
            feature[by_zone],
            np.concatenate([loss.lost_m2 for loss in losses])[by_zone],
            np.concatenate([loss.gross_lost_m2 for loss in losses])[by_zone],
        ),
    )
