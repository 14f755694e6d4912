"""The work as turfmap does it: one small function for each way of asking."""

import numpy as np
import shapely

from tests.bench.measuring import Answer, Work, run_child
from tests.bench.region import CATEGORIES, Region
from turfmap.ground.edits import cut_again
from turfmap.ground.near import Things, obstacles_around, protected_around
from turfmap.ground.open_ground import open_ground, owned_by_others
from turfmap.ground.overlaps import overlaps
from turfmap.ground.treatable import Treatable, keep_clear, treatable


def full(region: Region) -> Work:
    """Cut every zone of the region."""
    obstacles, protected = _things(region)
    return lambda: _answer(treatable(region.zones, obstacles, protected, rank=region.rank), region)


def two_threads(region: Region) -> Work:
    """Cut every zone, two batches at a time."""
    obstacles, protected = _things(region)
    return lambda: _answer(
        treatable(region.zones, obstacles, protected, rank=region.rank, workers=2), region
    )


def published(region: Region) -> Work:
    """Put the treatable ground of a full run back into lon/lat."""
    found = treatable(region.zones, *_things(region), rank=region.rank)

    def work() -> Answer:
        answer = _answer(found, region)
        return Answer(answer.treatable_m2, answer.lost_m2, found.shapes())

    return work


def product_change(region: Region) -> Work:
    """Keep clear with setbacks asked anew; the open ground is known already."""
    obstacles, protected = _things(region)
    shared = overlaps(region.zones, region.rank)
    others = owned_by_others(region.zones, np.arange(region.zones.size), shared)
    known = open_ground(region.zones, obstacles_around(obstacles), others)
    return lambda: _answer(keep_clear(known, protected_around(protected)), region)


def one_edit(region: Region) -> Work:
    """Cut the edited zones, one after another; what surrounds them is ready to be looked up."""
    obstacles, protected = _things(region)
    hard, clear_of = obstacles_around(obstacles), protected_around(protected)
    neighbours = shapely.STRtree(region.zones)

    def cut(zone: int) -> Answer:
        chosen = np.array([zone])
        found = cut_again(
            region.zones, chosen, hard, clear_of, rank=region.rank, neighbours=neighbours
        )
        return _answer(found, region)

    cut(region.edited[0])  # the first call of all sets up libraries
    return lambda: _together([cut(zone) for zone in region.edited])


def _things(region: Region) -> tuple[Things, Things]:
    obstacles = Things(region.obstacles, np.zeros(region.obstacles.size))
    return obstacles, Things(region.protected, region.distance_m)


def _answer(found: Treatable, region: Region) -> Answer:
    category = region.category[found.losses.feature]
    lost_m2 = np.bincount(category, found.losses.lost_m2, len(CATEGORIES))
    return Answer(found.treatable_m2, lost_m2.astype(np.float64), found.flat)


def _together(found: list[Answer]) -> Answer:
    return Answer(
        np.concatenate([each.treatable_m2 for each in found]),
        np.sum([each.lost_m2 for each in found], axis=0),
        np.concatenate([each.ground for each in found]),
    )


if __name__ == "__main__":
    run_child(
        {way.__name__: way for way in (full, published, product_change, two_threads, one_edit)}
    )
