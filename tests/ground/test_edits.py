"""One edit: only what it touches is cut again, and the bits are those of a run over everything."""

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from tests.ground.scenes import blob
from turfmap.foundations.shapes import Shapes, shape_array
from turfmap.ground.edits import cut_again, touched_by_feature, touched_by_zone
from turfmap.ground.near import Indices, Things, obstacles_around, protected_around
from turfmap.ground.treatable import Treatable, treatable

RNG = np.random.default_rng(11)


def around(index: int, across_m: float) -> BaseGeometry:
    """Draw a zone at its place in rows of eight, so wide that some neighbours overlap."""
    return blob(RNG, -84.0 + 7e-4 * (index % 8), 33.0 + 6e-4 * (index // 8), across_m)


def somewhere() -> tuple[float, float]:
    lon, lat = RNG.uniform((-84.0, 33.0), (-83.994, 33.003))
    return float(lon), float(lat)


ZONES = shape_array([around(index, 80.0) for index in range(40)])
RANK = RNG.integers(1, 4, ZONES.size).astype(float)
SHEDS = Things(shape_array([blob(RNG, *somewhere(), 15.0) for _ in range(25)]), np.zeros(25))
WELLS = Things(shape_array([shapely.Point(somewhere()) for _ in range(9)]), RNG.uniform(5, 30, 9))


def same_as_full(full: Treatable, part: Treatable, chosen: Indices) -> None:
    for name in ("gross_m2", "obstacle_m2", "no_spray_m2", "treatable_m2", "shared_m2"):
        assert getattr(part, name).tolist() == getattr(full, name)[chosen].tolist()
    assert shapely.to_wkb(part.flat).tolist() == shapely.to_wkb(full.flat[chosen]).tolist()
    wanted = full.only(chosen).losses
    assert part.losses.lost_m2.tolist() == wanted.lost_m2.tolist()
    assert part.losses.feature.tolist() == wanted.feature.tolist()


def again(zones: Shapes, chosen: Indices, wells: Things) -> Treatable:
    return cut_again(
        zones,
        chosen,
        obstacles_around(SHEDS),
        protected_around(wells),
        rank=RANK,
        neighbours=shapely.STRtree(zones),
    )


@pytest.mark.parametrize("index", [0, 13, 27, 39])
def test_a_redrawn_zone(index: int) -> None:
    """Zones that it does not touch keep their figures; the others are as in a full run."""
    before = treatable(ZONES, SHEDS, WELLS, rank=RANK)
    zones = ZONES.copy()
    zones[index] = around(index, 95.0)
    after = treatable(zones, SHEDS, WELLS, rank=RANK)
    touched = touched_by_zone(ZONES[index], zones[index], zones)
    assert index in touched
    assert touched.size < zones.size / 2
    same_as_full(after, again(zones, touched, WELLS), touched)
    left_alone = np.setdiff1d(np.arange(zones.size), touched)
    same_as_full(after, before.only(left_alone), left_alone)


def test_a_moved_well() -> None:
    before = treatable(ZONES, SHEDS, WELLS, rank=RANK)
    moved = WELLS.shapes.copy()
    moved[4] = shapely.Point(-83.9971, 33.0011)
    wells = Things(moved, WELLS.radius_m)
    after = treatable(ZONES, SHEDS, wells, rank=RANK)
    old, new = (Things(each.shapes[4:5], each.radius_m[4:5]) for each in (WELLS, wells))
    touched = touched_by_feature(old, new, ZONES)
    assert 0 < touched.size < ZONES.size / 2
    same_as_full(after, again(ZONES, touched, wells), touched)
    left_alone = np.setdiff1d(np.arange(ZONES.size), touched)
    same_as_full(after, before.only(left_alone), left_alone)


def test_two_threads_give_the_same_bits() -> None:
    one = treatable(ZONES, SHEDS, WELLS, rank=RANK)
    two = treatable(ZONES, SHEDS, WELLS, rank=RANK, workers=2)
    same_as_full(one, two, np.arange(ZONES.size))
