"""Missing, empty and broken shapes: decided once, and never changed without a word."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from turfmap.foundations.shapes import grouped_union, is_present, repaired, shape_array

BIG = shapely.box(0, 0, 40, 40)


def test_missing_and_empty_are_neither_present_nor_repaired() -> None:
    shapes = shape_array([None, shapely.Polygon(), shapely.box(0, 0, 1, 1)])
    assert is_present(shapes).tolist() == [False, False, True]
    assert repaired(shapes) == (shapes, [])


@pytest.mark.parametrize(
    ("shape", "area", "parts"),
    [
        # A bow-tie has no signed area; both of its halves are kept (buffer(0) keeps one).
        (shapely.Polygon([(0, 0), (40, 40), (40, 0), (0, 40)]), 800.0, 2),
        # A shell within a shell joins it; the repair by line work would cut a hole.
        (shapely.MultiPolygon([shapely.box(0, 0, 40, 40), shapely.box(10, 10, 20, 20)]), 1600.0, 1),
        (shapely.MultiPolygon([shapely.box(0, 0, 40, 40), shapely.box(20, 0, 60, 40)]), 2400.0, 1),
        # A hole that lies outside is no hole, and no ground either.
        (shapely.Polygon(BIG.exterior, [shapely.box(50, 0, 60, 9).exterior]), 1600.0, 1),
        # A hole that lies half outside takes the other half.
        (shapely.Polygon(BIG.exterior, [shapely.box(30, 0, 60, 9).exterior]), 1510.0, 1),
    ],
)
def test_repairs_keep_all_the_ground(shape: shapely.Geometry, area: float, parts: int) -> None:
    """Areas by hand; the cases are those at which the usual repairs differ."""
    mended, (repair,) = repaired(shape_array([shape]))
    assert mended[0].is_valid
    assert mended[0].area == pytest.approx(area)
    assert (repair.parts_after, repair.lost) == (parts, False)


def test_a_shape_without_ground_is_told_as_lost() -> None:
    spike = shapely.Polygon([(0, 0), (10, 0), (0, 0), (0, 0)])
    _, (repair,) = repaired(shape_array([spike]))
    assert repair.lost


@given(groups=st.lists(st.integers(0, 4), max_size=30).map(sorted), seed=st.integers(0, 99))
def test_joining_in_pairs_is_joining_at_once(groups: list[int], seed: int) -> None:
    rng = np.random.default_rng(seed)
    corners = rng.uniform(0, 9, (len(groups), 2))
    shapes = shape_array([shapely.box(x, y, x + 2, y + 2) for x, y in corners])
    joined, of = grouped_union(shapes, np.array(groups, dtype=np.int64))
    assert of.tolist() == sorted(set(groups))
    for shape, group in zip(joined, of, strict=True):
        at_once = shapely.union_all(shapes[np.array(groups) == group])
        assert shape.symmetric_difference(at_once).area == pytest.approx(0, abs=1e-9)
