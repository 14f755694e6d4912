"""The floor: only the GEOS calls that the answer needs, on arrays that are already paired.

Made ready outside the clock: coordinates on the tile planes; the exact pairs (a zone and an
obstacle that meet; a zone and another that owns ground of it; a zone and a piece of a feature
within reach of each other); which blades go together; scales from plane to ground.

On the clock, once each:

- the obstacles of each zone, then the other zones that own ground of it: ``difference`` one after
  another (a union first costs 6 % more), ``area``;
- ``buffer`` of each piece that is near anything, once a tile;
- ``union_all`` of the pieces of each zone and feature that have more than one;
- ``difference`` feature after feature, and ``area`` after each: the treatable ground and what
  each feature takes;
- for zones near several features: ``intersection``, all that each takes, then ``difference``
  from it of every other, what it alone takes, and their ``area``.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

import numpy as np
import shapely

from tests.bench.measuring import Answer, Work, run_child
from tests.bench.region import CATEGORIES, METRES_A_DEGREE, Floats, Indices, Region, Shapes
from turfmap.foundations import plane

QUARTER_SEGMENTS = 32
CIRCUMSCRIBED = 1.0 / np.cos(1.5 * np.pi / (4 * QUARTER_SEGMENTS))
CORNERS_A_PIECE = 16

# Rows of equal length: each row's blades are joined into one.
Rows = Sequence[tuple[Indices, Indices]]


def bare(region: Region) -> Work:
    """Pair everything, and return the calls on the pairs."""
    origin = plane.origins(shapely.bounds(region.zones))
    flat = plane.flatten(region.zones, origin)
    scale = _scale(flat, origin)

    hard = _meeting(region.zones, region.obstacles, origin)
    owned = _owners(region, origin)
    near = _near(region, flat, origin)

    def work() -> Answer:
        left = flat.copy()
        for blades, zone, turns in (hard, owned):
            for turn in turns:
                left[zone[turn]] = shapely.difference(left[zone[turn]], blades[turn])
            shapely.area(left)
        drawn = shapely.buffer(near.pieces, near.radius_m, quad_segs=QUARTER_SEGMENTS)[near.place]
        blades = np.empty(near.zone.size, dtype=object)
        for pair, row in near.rows:
            blades[pair] = _joined(drawn, row)
        taken = np.zeros(near.zone.size)
        several = near.several
        reached = shapely.intersection(left[near.zone[several]], blades[several])
        for turn in near.turns:
            before = left[near.zone[turn]]
            after = shapely.difference(before, blades[turn])
            taken[turn] = shapely.area(before) - shapely.area(after)
            left[near.zone[turn]] = after
        shapely.area(reached)
        for which, other in near.others:
            reached[which] = shapely.difference(reached[which], blades[other])
        shapely.area(reached)
        lost_m2 = np.bincount(near.category, taken * scale[near.zone], len(CATEGORIES))
        return Answer(shapely.area(left) * scale, lost_m2.astype(np.float64), left)

    return work


@dataclass(frozen=True)
class Near:
    """Pairs of a zone and a feature near it, ordered by zone and feature.

    Attributes
    ----------
    zone, category
        Of each pair, shape (p,).
    pieces, radius_m
        Distinct pieces on their tile's plane, and how far they reach, shape (m,).
    place
        The piece of each pair of zone and piece, shape (q,).
    rows
        Which of those make up each pair of zone and feature.
    turns
        The first pair of every zone, then the second, and so on.
    several
        Pairs of the zones that have more than one, shape (k,).
    others
        Steps of (places in `several`, another pair of the same zone).
    """

    zone: Indices
    category: Indices
    pieces: Shapes
    radius_m: Floats
    place: Indices
    rows: Rows
    turns: list[Indices]
    several: Indices
    others: list[tuple[Indices, Indices]]


def _near(region: Region, flat: Shapes, origin: Floats) -> Near:
    zone, feature, pieces, place = _near_pieces(region, flat, origin)
    radius_m = np.zeros(pieces.size)
    radius_m[place] = region.distance_m[feature] * CIRCUMSCRIBED
    pair, first = np.unique(zone * region.protected.size + feature, return_index=True)
    pair_number = np.searchsorted(pair, zone * region.protected.size + feature)
    rows, zone, category = _rows(pair_number), zone[first], region.category[feature[first]]
    turn, company = _place_and_company(zone)
    several = np.flatnonzero(company > 1)
    others = []
    for step in range(1, int(company.max(initial=1))):
        now = np.flatnonzero(company[several] > step)
        row = several[now]
        others.append((now, row - turn[row] + (turn[row] + step) % company[row]))
    return Near(zone, category, pieces, radius_m, place, rows, _turns(zone), several, others)


def _meeting(
    zones: Shapes, things: Shapes, origin: Floats
) -> tuple[Shapes, Indices, list[Indices]]:
    """Return flat things that meet zones, these zones, and the rows to take turn by turn."""
    zone, thing = shapely.STRtree(things).query(zones, predicate="intersects")
    return plane.flatten(things[thing], origin[zone]), zone, _turns(zone)


def _owners(region: Region, origin: Floats) -> tuple[Shapes, Indices, list[Indices]]:
    """Return the same of the zones that own ground of others."""
    zone, owner = shapely.STRtree(region.zones).query(region.zones, predicate="intersects")
    owns = region.rank[owner] < region.rank[zone]
    owns |= (region.rank[owner] == region.rank[zone]) & (owner < zone)
    zone, owner = zone[owns], owner[owns]
    return plane.flatten(region.zones[owner], origin[zone]), zone, _turns(zone)


def _place_and_company(zone: Indices) -> tuple[Indices, Indices]:
    """Return each row's place among those of its zone, ascending, and how many the zone has."""
    _, start, count = np.unique(zone, return_index=True, return_counts=True)
    return np.arange(zone.size) - np.repeat(start, count), np.repeat(count, count)


def _turns(zone: Indices) -> list[Indices]:
    """Return the first row of every zone, then the second, and so on."""
    turn, _ = _place_and_company(zone)
    return [np.flatnonzero(turn == each) for each in range(int(turn.max(initial=-1)) + 1)]


def _joined(blades: Shapes, row: Indices) -> Shapes:
    """Join the blades of each row, by the cheapest call for their number."""
    if row.shape[1] == 1:
        return blades[row[:, 0]]
    if row.shape[1] == 2:
        return shapely.union(blades[row[:, 0]], blades[row[:, 1]])
    return cast(Shapes, shapely.union_all(blades[row], axis=1))


def _rows(group: Indices) -> Rows:
    """Sort the places of equal groups into rows, those of one length together.

    Returns pairs (group, places), shapes (n,) and (n, length).
    """
    order = np.argsort(group, kind="stable")
    distinct, start, count = np.unique(group[order], return_index=True, return_counts=True)
    return [
        (distinct[count == length], order[start[count == length, None] + np.arange(length)])
        for length in np.unique(count)
    ]


def _near_pieces(
    region: Region, flat: Shapes, origin: Floats
) -> tuple[Indices, Indices, Shapes, Indices]:
    """Return pairs (zone, feature), the distinct flat pieces, and which piece each pair has."""
    pieces, owner = _pieces(region.protected)
    radius_m = region.distance_m[owner] * CIRCUMSCRIBED
    reach = 1.05 * radius_m[:, None] / METRES_A_DEGREE
    boxes = shapely.bounds(pieces) + np.hstack([-reach, reach])
    zone, piece = shapely.STRtree(shapely.box(*boxes.T)).query(region.zones)
    keys = np.column_stack([piece, origin[zone]])
    distinct, place = np.unique(keys, axis=0, return_inverse=True)
    flat_pieces = plane.flatten(pieces[distinct[:, 0].astype(np.int64)], distinct[:, 1:])
    near = shapely.dwithin(flat[zone], flat_pieces[place], radius_m[piece])
    kept, place = np.unique(place[near], return_inverse=True)
    return zone[near], owner[piece[near]], flat_pieces[kept], place


def _pieces(features: Shapes) -> tuple[Shapes, Indices]:
    """Cut lines into pieces of 16 corners."""
    pieces, owner = [], []
    for index, feature in enumerate(features):
        cut = [feature]
        if feature.geom_type == "LineString":
            xy = shapely.get_coordinates(feature)
            starts = range(0, len(xy) - 1, CORNERS_A_PIECE - 1)
            cut = [shapely.LineString(xy[start : start + CORNERS_A_PIECE]) for start in starts]
        pieces += cut
        owner += [index] * len(cut)
    return np.array(pieces, dtype=object), np.array(owner)


def _scale(flat: Shapes, origin: Floats) -> Floats:
    """Return what a square metre of the plane is on the ground, in the middle of each zone."""
    west, _, east, _ = shapely.bounds(flat).T
    scale: Floats = 1.0 - ((west + east) / 2.0 / plane.mean_radius(origin[:, 1])) ** 2
    return scale


if __name__ == "__main__":
    run_child({"bare": bare})
