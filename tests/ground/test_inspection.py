"""Oddities: each kind is found where it is, and sound zones have none."""

import numpy as np
import pytest
import shapely

from turfmap.foundations.shapes import shape_array
from turfmap.ground.inspection import Oddity, oddities

M = 1e-5  # about a metre; for drawing only
LOT = shapely.box(-84, 33, -84 + 60 * M, 33 + 60 * M)

BOW_TIE = shapely.Polygon([(-84, 33), (-83.9999, 33.0001), (-83.9999, 33), (-84, 33.0001)])
STUTTERING = shapely.Polygon([(-84, 33), (-84, 33), (-83.9999, 33), (-83.9999, 33.0001)])


def box(west: float, south: float, east: float, north: float) -> shapely.Polygon:
    return shapely.box(-84 + west * M, 33 + south * M, -84 + east * M, 33 + north * M)


def found(*zones: shapely.Geometry | None) -> list[Oddity]:
    owner = np.zeros(len(zones), dtype=np.int64)
    rank = np.arange(len(zones), dtype=float)
    return oddities(shape_array(list(zones)), rank, owner, shape_array([LOT]))


def test_sound_neighbours_have_nothing_odd() -> None:
    """Zones that share an edge exactly, with a hole and a bed in it, are as they should be."""
    lawn = shapely.difference(box(0, 0, 20, 20), box(5, 5, 9, 9))
    assert found(lawn, box(5, 5, 9, 9), box(20, 0, 40, 20), box(50, 50, 59, 59)) == []


@pytest.mark.parametrize(
    ("problem", "zones"),
    [
        ("broken", [BOW_TIE]),
        ("no_ground", [None]),
        ("sliver", [box(0, 0, 30, 0.2)]),
        ("overlap", [box(0, 0, 20, 20), box(15, 0, 30, 20)]),
        ("over_the_line", [box(40, 0, 70, 20)]),
        ("gap", [box(0, 0, 20, 20), box(20.3, 0, 40, 20)]),
        ("repeated_corners", [STUTTERING]),
    ],
)
def test_each_oddity_is_found(problem: str, zones: list[shapely.Geometry | None]) -> None:
    assert [one.problem for one in found(*zones)] == [problem]


def test_the_shared_ground_is_drawn_and_measured() -> None:
    (one,) = found(box(0, 0, 20, 20), box(15, 0, 30, 20))
    assert (one.zone, one.other) == (1, 0)
    assert one.shape is not None
    expected = box(15, 0, 20, 20)
    assert shapely.symmetric_difference(one.shape, expected).area < 1e-6 * expected.area
    assert one.area_m2 == pytest.approx(5 * M * 93_455 * 20 * M * 110_901, rel=1e-2)
