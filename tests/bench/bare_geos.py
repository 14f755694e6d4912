"""The floor: only the GEOS calls that the answer needs, on arrays that are already paired.

Made ready outside the clock: coordinates on the tile planes; the exact pairs (a zone and an
obstacle that meet; a zone and a piece of a feature within reach of each other); which blades go
together, sorted; scales from plane to ground.

On the clock, once each:

- ``union_all`` of the obstacles of each zone that meets more than one, ``difference``, ``area``;
- ``buffer`` of each piece that is near anything, once a tile;
- ``union_all`` of the pieces of each zone and feature that have more than one;
- ``intersection`` and ``area`` for each zone and feature: all that a feature takes;
- ``difference`` feature after feature, and ``area``: the treatable ground.
"""

from collections.abc import Sequence

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

    zone, obstacle = shapely.STRtree(region.obstacles).query(region.zones, predicate="intersects")
    obstacle_blades = plane.flatten(region.obstacles[obstacle], origin[zone])
    obstacle_rows = _rows(zone)

    zone, feature, flat_pieces, place = _near_pieces(region, flat, origin)
    radius_m = region.distance_m[feature] * CIRCUMSCRIBED
    piece_radius_m = np.zeros(flat_pieces.size)
    piece_radius_m[place] = radius_m
    pair, start = np.unique(zone * region.protected.size + feature, return_index=True)
    pair_rows, pair_zone, category = _rows(pair, numbered=True), zone[start], region.category[feature[start]]
    turns = _turns(pair_zone)

    def work() -> Answer:
        open_ground = flat.copy()
        for whose, row in obstacle_rows:
            open_ground[whose] = shapely.difference(flat[whose], _joined(obstacle_blades, row))
        drawn = shapely.buffer(flat_pieces, piece_radius_m, quad_segs=QUARTER_SEGMENTS)[place]
        blades = np.empty(pair.size, dtype=object)
        for which, row in pair_rows:
            blades[which] = _joined(drawn, row)
        taken = shapely.area(shapely.intersection(open_ground[pair_zone], blades))
        left = open_ground
        for turn in turns:
            left[pair_zone[turn]] = shapely.difference(left[pair_zone[turn]], blades[turn])
        lost_m2 = np.bincount(category, taken * scale[pair_zone], len(CATEGORIES))
        return Answer(shapely.area(left) * scale, lost_m2.astype(np.float64), left)

    return work


def _joined(blades: Shapes, row: Indices) -> Shapes:
    together: Shapes = blades[row[:, 0]] if row.shape[1] == 1 else shapely.union_all(blades[row], axis=1)
    return together


def _rows(group: Indices, *, numbered: bool = False) -> Rows:
    """Sort the places of equal groups into rows, those of one length together.

    Returns pairs (group, places), shapes (n,) and (n, length); groups by number if asked for.
    """
    order = np.argsort(group, kind="stable")
    distinct, start, count = np.unique(group[order], return_index=True, return_counts=True)
    names = np.arange(distinct.size) if numbered else distinct
    return [
        (names[count == length], order[start[count == length, None] + np.arange(length)])
        for length in np.unique(count)
    ]


def _turns(zone: Indices) -> list[Indices]:
    """Return the first pair of every zone, then the second, and so on; zones are ascending."""
    _, start, count = np.unique(zone, return_index=True, return_counts=True)
    turn = np.arange(zone.size) - np.repeat(start, count)
    return [np.flatnonzero(turn == each) for each in range(int(turn.max(initial=-1)) + 1)]


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
    near = shapely.dwithin(flat[zone], flat_pieces[place], radius_m[piece])  # type: ignore[call-overload]
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
