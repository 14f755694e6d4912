"""The ground in parts, each with all that reaches into it: cut apart, it is the same to the bit.

A zone is flattened on the plane of its own tile and cut by its own neighbours in their own order,
so nothing that it becomes depends on what else is cut with it.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import shapely

from turfmap.foundations import plane
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes
from turfmap.ground import nospray
from turfmap.ground.near import Indices, Things, as_diagonals, grown, near_pairs
from turfmap.ground.treatable import Treatable, treatable


@dataclass(frozen=True)
class GroundPart:
    """Some zones of a place and everything near them, complete in itself.

    Attributes
    ----------
    numbers
        Which of the zones asked for these are, in the whole, shape (k,).
    zones, rank
        These zones and those that may share ground with them, in the order of the whole.
    chosen
        Which of `zones` are asked for, ascending, shape (k,).
    obstacles, protected
        What lies within the halo, in the order of the whole.
    features
        What number each of `protected` has in the whole.
    """

    numbers: Indices
    zones: Shapes
    rank: Floats
    chosen: Indices
    obstacles: Things
    protected: Things
    features: Indices


def ground_parts(
    zones: Shapes,
    obstacles: Things,
    protected: Things,
    *,
    rank: Floats,
    chosen: Indices,
    size: int,
) -> Iterator[GroundPart]:
    """Yield the ground in parts of zones that lie together.

    Parameters
    ----------
    zones, obstacles, protected, rank, chosen
        As of `turfmap.ground.treatable.treatable`; at least one zone is chosen.
    size
        How many zones a part has at most.
    """
    boxes = plane.bounds(zones)
    around = shapely.STRtree(zones)
    hard, clear_of = _boxes_of(obstacles), _boxes_of(protected)
    halo_m = widest_reach_m(obstacles, protected)
    for numbers in lying_together(boxes[chosen], size):
        mine = chosen[numbers]
        near = np.unique(np.concatenate([mine, around.query(zones[mine])[1]]))
        box = _whole_box(boxes[mine], halo_m)
        in_reach = near_pairs(box, clear_of)[1]
        yield GroundPart(
            numbers,
            zones[near],
            rank[near],
            np.searchsorted(near, mine),
            _some(obstacles, near_pairs(box, hard)[1]),
            _some(protected, in_reach),
            in_reach,
        )


def cut_part(part: GroundPart) -> Treatable:
    """Cut the zones of a part, features numbered as in the whole."""
    found = treatable(
        part.zones, part.obstacles, part.protected, rank=part.rank, chosen=part.chosen
    )
    losses = replace(found.losses, feature=part.features[found.losses.feature])
    return replace(found, losses=losses)


def widest_reach_m(obstacles: Things, protected: Things) -> float:
    """Return the largest distance from which anything takes ground: how wide a halo must be [m]."""
    reach_m = nospray.reaches(protected.shapes, protected.radius_m)
    return float(max(np.max(reach_m, initial=0.0), np.max(obstacles.radius_m, initial=0.0)))


def lying_together(boxes: Floats, size: int) -> list[Indices]:
    """Cut shapes into lots that lie together: halved along the longer side, again and again.

    Parameters
    ----------
    boxes
        Lon/lat boxes, shape (n, 4) [deg]; one of NaN is put at 0, 0.
    size
        How many a lot has at most.

    Returns
    -------
    list of ndarray
        Numbers of the shapes of each lot, ascending.
    """
    middles = np.nan_to_num((boxes[:, :2] + boxes[:, 2:]) / 2.0)
    lots, waiting = [], [np.arange(len(boxes))]
    while waiting:
        lot = waiting.pop()
        if lot.size <= size:
            lots.append(np.sort(lot))
            continue
        axis = int(np.argmax(np.ptp(middles[lot], axis=0)))
        order = lot[np.argsort(middles[lot, axis], kind="stable")]
        waiting += [order[lot.size // 2 :], order[: lot.size // 2]]
    return lots


def _boxes_of(things: Things) -> shapely.STRtree:
    return shapely.STRtree(as_diagonals(plane.bounds(things.shapes)))


def _whole_box(boxes: Floats, halo_m: float) -> Floats:
    """Return the one box round some boxes and the halo, shape (1, 4) [deg]; NaN if all are NaN."""
    whole = np.fmin.reduce(boxes)[None]
    whole[:, 2:] = np.fmax.reduce(boxes)[None, 2:]
    return grown(whole, np.array([halo_m]))


def _some(things: Things, which: Indices) -> Things:
    return Things(things.shapes[which], things.radius_m[which])
