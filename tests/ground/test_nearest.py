"""The nearest point along the ellipsoid."""

import numpy as np
import pytest

from turfmap.ground.nearest import nearest


def test_distances_are_those_of_the_ellipsoid_and_the_nearest_wins() -> None:
    """A degree of longitude on the equator of WGS 84 is 111319.49 m, of latitude there 110574.39.

    Both follow from the axes of the ellipsoid (the second from the meridian's arc, as published).
    """
    points = np.array([[1.0, 0.0], [0.0, 1.0], [5.0, 5.0]])
    index, distance_m = nearest(np.array([[0.0, 0.0], [2.0, 0.0]]), points)
    assert index.tolist() == [1, 0]
    assert distance_m == pytest.approx([110574.39, 111319.49], abs=0.01)


def test_a_place_that_nobody_knows_has_none_and_of_equally_near_ones_the_first_counts() -> None:
    points = np.array([[1.0, 0.0], [-1.0, 0.0]])
    index, distance_m = nearest(np.array([[np.nan, 0.0], [0.0, 0.0]]), points)
    assert index.tolist() == [-1, 0]
    assert np.isnan(distance_m[0])
    index, distance_m = nearest(np.empty((0, 2)), points)
    assert (len(index), len(distance_m)) == (0, 0)
