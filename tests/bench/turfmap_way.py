"""The work as turfmap does it: one small function for each way of asking."""

from concurrent.futures import ThreadPoolExecutor
from functools import partial

import numpy as np

from tests.bench.measuring import Answer, Work, run_child
from tests.bench.region import CATEGORIES, Region
from turfmap.ground.treatable import Things, Treatable, treatable


def full(region: Region) -> Work:
    """Cut every zone of the region."""
    obstacles, protected = _things(region)
    return lambda: _answer(treatable(region.zones, obstacles, protected), region)


def published(region: Region) -> Work:
    """Put the treatable ground of a full run back into lon/lat."""
    found = treatable(region.zones, *_things(region))

    def work() -> Answer:
        answer = _answer(found, region)
        return Answer(answer.treatable_m2, answer.lost_m2, found.shapes())

    return work


def product_change(region: Region) -> Work:
    """Cut every zone again for another product, whose setbacks are half as large again."""
    obstacles, protected = _things(region)
    other = Things(protected.shapes, 1.5 * protected.radius_m)
    # Nothing of an earlier run can be used yet: this is a full run.
    return lambda: _answer(treatable(region.zones, obstacles, other), region)


def two_threads(region: Region) -> Work:
    """Cut the first half of the zones in one thread, the second in another."""
    obstacles, protected = _things(region)
    halves = np.array_split(region.zones, 2)

    def work() -> Answer:
        with ThreadPoolExecutor(2) as pool:
            cut = partial(treatable, obstacles=obstacles, protected=protected)
            found = [_answer(half, region) for half in pool.map(cut, halves)]
        return _together(found)

    return work


def one_edit(region: Region) -> Work:
    """Cut the edited zones, one after another."""
    obstacles, protected = _things(region)

    def cut(zone: int) -> Answer:
        return _answer(treatable(region.zones[zone : zone + 1], obstacles, protected), region)

    cut(region.edited[0])  # the first call of all sets up libraries
    return lambda: _together([cut(zone) for zone in region.edited])


def _things(region: Region) -> tuple[Things, Things]:
    obstacles = Things(region.obstacles, np.zeros(region.obstacles.size))
    return obstacles, Things(region.protected, region.distance_m)


def _answer(found: Treatable, region: Region) -> Answer:
    category = region.category[found.losses.feature]
    lost_m2 = np.bincount(category, found.losses.gross_lost_m2, len(CATEGORIES))
    return Answer(found.treatable_m2, lost_m2.astype(np.float64), found.flat)


def _together(found: list[Answer]) -> Answer:
    return Answer(
        np.concatenate([each.treatable_m2 for each in found]),
        np.sum([each.lost_m2 for each in found], axis=0),
        np.concatenate([each.ground for each in found]),
    )


if __name__ == "__main__":
    run_child({way.__name__: way for way in (full, published, product_change, two_threads, one_edit)})
