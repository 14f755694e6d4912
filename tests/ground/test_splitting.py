"""Splitting by a line: parts make up the whole, and lines that do not cross cut nothing."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry.base import BaseGeometry

from turfmap.foundations.shapes import shape_array
from turfmap.ground.seams import SMALLEST_M2, on_grid, sheet
from turfmap.ground.splitting import split_by_line

LAWN = shapely.box(0.0, 0.0, 20.0, 10.0)


def areas(shape: BaseGeometry, *corners: tuple[float, float]) -> list[float]:
    parts = split_by_line(shape, shapely.LineString(corners))
    return [round(float(area), 6) for area in shapely.area(parts)]


def test_plain_cuts() -> None:
    """Areas by hand: a lawn of 20 m by 10 m."""
    assert areas(LAWN, (5, -1), (5, 11)) == [150.0, 50.0]
    assert areas(LAWN, (5, 0), (5, 10)) == [150.0, 50.0]  # drawn just up to the edges
    assert areas(LAWN, (0, 0), (20, 10)) == [100.0, 100.0]  # from corner to corner
    assert areas(LAWN, (5, 0.05), (5, 9.95)) == [150.0, 50.0]  # five centimetres short
    assert areas(LAWN, (20, 0), (10, 5), (20, 10)) == [150.0, 50.0]


def test_what_does_not_cross_cuts_nothing() -> None:
    assert areas(LAWN, (5, 2), (5, 8)) == [200.0]
    assert areas(LAWN, (5, -1), (5, 8)) == [200.0]
    assert areas(LAWN, (-5, -1), (25, -1)) == [200.0]
    assert areas(LAWN, (0, 0), (20, 0)) == [200.0]  # along an edge


def test_several_crossings_and_holes() -> None:
    """A line in and out of a U, and one through a hole; areas by hand."""
    u = shapely.difference(LAWN, shapely.box(5, 4, 15, 10))
    assert areas(u, (-1, 7), (21, 7)) == [110.0, 15.0, 15.0]
    ring = shapely.difference(LAWN, shapely.box(8, 3, 12, 7))
    assert areas(ring, (10, -1), (10, 11)) == [92.0, 92.0]
    # Up to the hole and no further: the ring is still one piece.
    assert areas(ring, (10, -1), (10, 3)) == [184.0]
    # From side to side beside the hole.
    assert areas(ring, (-1, 9), (21, 9)) == [164.0, 20.0]


def test_no_sliver_is_left() -> None:
    """A line a millimetre inside an edge would leave 0.02 m2: that stays with its neighbour.

    A tongue that hangs together with its part is no sliver.
    """
    assert areas(LAWN, (-1, 0.001), (21, 0.001)) == [200.0]
    assert areas(LAWN, (-1, 0.001), (10, 0.001), (10, 11)) == [100.01, 99.99]


def test_parts_of_a_multipolygon_stay_parts() -> None:
    two = shapely.MultiPolygon([LAWN, shapely.box(30, 0, 40, 10)])
    assert areas(two, (35, -1), (35, 11)) == [200.0, 50.0, 50.0]


wavy = st.integers(0, 2**32 - 1)


@given(wavy)
@settings(max_examples=60, deadline=None)
def test_parts_are_the_whole(seed: int) -> None:
    """Any wavy area with a hole, any zigzag: valid, disjoint, the same ground within 1e-6 m2."""
    rng = np.random.default_rng(seed)
    (area,), line = on_grid(shape_array(a_wavy_area(rng))), a_zigzag(rng)
    parts = split_by_line(area, line)
    assert shapely.is_valid(parts).all()
    assert float(shapely.area(parts).sum()) == pytest.approx(float(area.area), abs=1e-6)
    assert float(shapely.area(shapely.union_all(parts))) == pytest.approx(
        float(area.area), abs=1e-6
    )
    if parts.size > 1:
        assert shapely.area(parts).min() > SMALLEST_M2


@given(wavy)
@settings(max_examples=30, deadline=None)
def test_old_corners_keep_their_bits(seed: int) -> None:
    """In longitude and latitude: every corner that was there is there still, to the bit."""
    rng = np.random.default_rng(seed)
    on_earth = [
        shapely.transform(one, lambda xy: np.array([-84.0, 33.5]) + xy / [92_900.0, 110_900.0])
        for one in (a_wavy_area(rng), a_zigzag(rng))
    ]
    laid = sheet(shape_array(on_earth))
    parts = laid.back(split_by_line(laid.flat[0], laid.flat[1]))
    corners = {tuple(each) for each in shapely.get_coordinates(on_earth[0]).tolist()}
    assert corners <= {tuple(each) for each in shapely.get_coordinates(parts).tolist()}
    # Along the cut both sides have the same corners: in pairs they meet in lines, never in ground.
    meeting = shapely.intersection(parts[:, None], parts[None, :])
    np.fill_diagonal(meeting, None)
    assert not (shapely.area(meeting) > 0.0).any()


def a_wavy_area(rng: np.random.Generator) -> BaseGeometry:
    corners = int(rng.integers(5, 60))
    angle = 2 * np.pi * (np.arange(corners) + 0.5 * rng.random(corners)) / corners
    radius = 40.0 * (1.0 + 0.3 * np.sin(3 * angle + rng.uniform(0, 6)))
    shell = shapely.Polygon(np.column_stack([radius * np.cos(angle), radius * np.sin(angle)]))
    hole = shapely.Point(rng.uniform(-8, 8, 2)).buffer(float(rng.uniform(2, 6)))
    return shapely.difference(shell, hole)


def a_zigzag(rng: np.random.Generator) -> shapely.LineString:
    steps = int(rng.integers(2, 7))
    x = np.linspace(-70.0, 70.0, steps)
    turned = rng.uniform(0, 2 * np.pi)
    xy = np.column_stack([x, rng.uniform(-25.0, 25.0, steps)])
    spin = np.array([[np.cos(turned), np.sin(turned)], [-np.sin(turned), np.cos(turned)]])
    return shapely.LineString(xy @ spin)
