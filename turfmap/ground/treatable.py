"""Treatable ground: the zone, less its obstacles, less the no-spray ground, every cause kept."""

from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
import shapely

from turfmap.foundations import plane
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes, area_parts, compact
from turfmap.ground.near import (
    Blades,
    Indices,
    Surroundings,
    Things,
    blades,
    obstacles_around,
    protected_around,
    turns,
)
from turfmap.ground.nospray import published
from turfmap.ground.open_ground import OpenGround, open_ground, owned_by_others
from turfmap.ground.overlaps import overlaps

# Zones are cut in batches, so that memory holds the working shapes of one batch only.
ZONES_A_BATCH = 512


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
    exclusive_m2
        Ground within this feature's reach and no other's [m2].
    flat
        The ground of `lost_m2` on the zone's plane [m]: over a zone these do not overlap, and
        together they are its no-spray ground.
    """

    zone: Indices
    feature: Indices
    lost_m2: Floats
    gross_lost_m2: Floats
    exclusive_m2: Floats
    flat: Shapes

    def at(self, rows: Indices) -> "Losses":
        """Return some of the rows."""
        return Losses(*(getattr(self, name)[rows] for name in _A_PAIR_EACH))


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
            losses=replace(losses.at(rows), zone=place[losses.zone[rows]]),
        )

    def shapes(self) -> Shapes:
        """Return the treatable ground in EPSG:4326, edges cut so that no setback is crossed."""
        return published(self.flat, self.origin)

    def lost_shapes(self) -> Shapes:
        """Return the ground of each loss in EPSG:4326, shape (p,)."""
        return published(self.losses.flat, self.origin[self.losses.zone])


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


# And once for every pair of a zone and a cause.
_A_PAIR_EACH = ("zone", "feature", "lost_m2", "gross_lost_m2", "exclusive_m2", "flat")


def treatable(
    zones: Shapes,
    obstacles: Things,
    protected: Things,
    *,
    rank: Floats | None = None,
    chosen: Indices | None = None,
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
    chosen
        Which zones are asked for, ascending, shape (k,); None: all. The others only own ground.
    workers
        How many threads may cut at once; the answer is the same, to the bit.

    Returns
    -------
    Treatable
        Areas, treatable shapes and losses of the zones asked for, in the order of `zones`.
    """
    asked = np.arange(zones.size) if chosen is None else chosen
    hard, clear_of = obstacles_around(obstacles), protected_around(protected)
    shared = overlaps(zones, np.zeros(zones.size) if rank is None else rank)

    def cut(batch: Indices) -> Treatable:
        mine = asked[batch]
        others = owned_by_others(zones, mine, shared)
        return keep_clear(open_ground(zones[mine], hard, others), clear_of)

    batches = list(_batches(plane.origins(plane.bounds(zones[asked]))))
    with ThreadPoolExecutor(workers) as pool:
        return joined(batches, list(pool.map(cut, batches)))


def _batches(origin: Floats) -> Iterator[Indices]:
    """Yield the zones tile by tile: those of one tile share what is drawn round their features."""
    order = np.lexsort(origin.T)
    for start in range(0, max(order.size, 1), ZONES_A_BATCH):
        yield order[start : start + ZONES_A_BATCH]


def keep_clear(ground: OpenGround, protected: Surroundings) -> Treatable:
    """Take the no-spray ground out of open ground, cause by cause."""
    found = blades(ground.flat, ground.boxes, ground.origin, protected)
    left, losses = _cut_in_order(ground, found)
    cut = np.unique(losses.zone)
    left[cut] = compact(left[cut])
    area = ground.area.copy()
    area[cut] = shapely.area(left[cut])
    lost = np.bincount(losses.zone, losses.lost_m2, left.size).astype(np.float64)
    return Treatable(
        gross_m2=ground.gross_m2,
        obstacle_m2=ground.obstacle_m2,
        no_spray_m2=lost,
        treatable_m2=area * ground.scale,
        shared_m2=ground.shared_m2,
        flat=left,
        origin=ground.origin,
        losses=losses,
    )


def _cut_in_order(ground: OpenGround, found: Blades) -> tuple[Shapes, Losses]:
    """Take each feature's ground from its zones, first features first."""
    zone, scale = found.zone, ground.scale[found.zone]
    turn, company = turns(zone)
    left = ground.flat.copy()
    lost, piece = np.zeros(zone.size), found.shape.copy()
    for each in range(int(turn.max(initial=-1)) + 1):
        now = np.flatnonzero(turn == each)
        before = left[zone[now]]
        piece[now] = area_parts(shapely.intersection(before, found.shape[now]))
        left[zone[now]] = area_parts(shapely.difference(before, found.shape[now]))
        lost[now] = (shapely.area(before) - shapely.area(left[zone[now]])) * scale[now]
    # A zone's only cause takes all that it reaches, and shares none of it.
    gross, exclusive = lost.copy(), lost.copy()
    several = np.flatnonzero(company > 1)
    reached = shapely.intersection(ground.flat[zone[several]], found.shape[several])
    gross[several] = shapely.area(reached) * scale[several]
    alone = _less_the_others(reached, found, several, turn, company)
    exclusive[several] = shapely.area(alone) * scale[several]
    takes = np.flatnonzero(gross > 0.0)
    return left, Losses(zone, found.thing, lost, gross, exclusive, piece).at(takes)


def _less_the_others(
    reached: Shapes, found: Blades, rows: Indices, turn: Indices, company: Indices
) -> Shapes:
    """Take from what each row reaches all that the other rows of its zone reach."""
    alone = area_parts(reached)
    start = rows - turn[rows]
    for step in range(1, int(company.max(initial=1))):
        now = np.flatnonzero(company[rows] > step)
        other = start[now] + (turn[rows[now]] + step) % company[rows[now]]
        alone[now] = area_parts(shapely.difference(alone[now], found.shape[other]))
    return alone


def joined(batches: Sequence[Indices], parts: Sequence[Treatable]) -> Treatable:
    """Put parts together again.

    Parameters
    ----------
    batches
        The numbers that each part's zones have in the whole: together 0 to n - 1.
    parts
        One for each batch.
    """
    order = np.concatenate(batches)
    back = np.empty(order.size, dtype=np.int64)
    back[order] = np.arange(order.size)

    columns = {
        name: np.concatenate([getattr(part, name) for part in parts])[back] for name in _A_ZONE_EACH
    }
    pairs = {
        name: np.concatenate([getattr(part.losses, name) for part in parts])
        for name in _A_PAIR_EACH
    }
    pairs["zone"] = np.concatenate(
        [batch[part.losses.zone] for batch, part in zip(batches, parts, strict=True)]
    )
    by_zone = np.lexsort((pairs["feature"], pairs["zone"]))
    return Treatable(**columns, losses=Losses(**pairs).at(by_zone))
