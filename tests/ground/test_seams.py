"""Overlaps and gaps mended: the same corners on either side, nothing lost, nothing between."""

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import affinity

from tests.ground.test_splitting import a_wavy_area
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes, shape_array
from turfmap.ground.area import plan_areas
from turfmap.ground.overlaps import overlaps
from turfmap.ground.seams import (
    SAME_CORNER_M,
    SMALLEST_M2,
    gap_given,
    joined,
    narrow_gaps,
    on_grid,
    overlap_given,
    sheet,
    with_corners,
)

SQUARE = shapely.box(0.0, 0.0, 10.0, 10.0)


def corners(shape: shapely.Geometry) -> set[tuple[float, float]]:
    return {(float(x), float(y)) for x, y in shapely.get_coordinates(shape)}


def no_ground_twice(flat: Shapes) -> bool:
    return overlaps(flat, np.zeros(flat.size)).owner.size == 0


def same_corners_where_they_meet(flat: Shapes) -> None:
    """No corner of one lies on an edge of another without being a corner of it, too."""
    for index, shape in enumerate(flat):
        for other in np.delete(np.arange(flat.size), index):
            lone = np.array(sorted(corners(flat[other]) - corners(shape)))
            if lone.size:
                away = shapely.distance(shapely.boundary(shape), shapely.points(lone))
                assert away.min() > 1e-6


def test_an_overlap_of_two_squares() -> None:
    """By hand: 10 m squares 2 m over one another share 20 m2."""
    flat = shape_array([SQUARE, shapely.box(8.0, 0.0, 18.0, 10.0)])
    left = overlap_given(flat, owner=0, loser=1)
    assert shapely.area(left).tolist() == [100.0, 80.0]
    right = overlap_given(flat, owner=1, loser=0)
    assert shapely.area(right).tolist() == [80.0, 100.0]
    shared = {(10.0, 0.0), (10.0, 10.0)}
    assert shared <= corners(left[0]) and shared <= corners(left[1])


def test_a_corner_goes_into_the_neighbours_edge() -> None:
    """A bed pushed into the long edge of a lawn: the lawn gives way or gets the bed's corners."""
    flat = shape_array([SQUARE, shapely.box(9.0, 4.0, 12.0, 6.0)])
    given = overlap_given(flat, owner=0, loser=1)
    assert {(10.0, 4.0), (10.0, 6.0)} <= corners(given[0])
    same_corners_where_they_meet(given)


def test_a_third_zone_gets_the_corners_as_well() -> None:
    """Where the cut ends on an edge that a third zone shares, that has the corner too."""
    below = shapely.box(0.0, -5.0, 20.0, 0.0)
    flat = shape_array([SQUARE, shapely.box(8.0, 0.0, 18.0, 10.0), below])
    given = overlap_given(flat, owner=0, loser=1)
    assert (10.0, 0.0) in corners(given[2])
    same_corners_where_they_meet(given)
    assert given[2].area == below.area


def test_slivers_of_the_loser_go_with_the_overlap() -> None:
    """A strip 5 mm wide that is left on the far side is no zone."""
    flat = shape_array([shapely.box(0, 0, 10, 10), shapely.box(-0.005, 0, 14, 10)])
    given = overlap_given(flat, owner=0, loser=1)
    assert given[1].geom_type == "Polygon"
    assert shapely.area(given).sum() == pytest.approx(140.05, abs=1e-9)
    assert no_ground_twice(given)


def test_a_narrow_gap_goes_to_one() -> None:
    """By hand: 0.3 m between two squares of 10 m is 3 m2; two metres between them is no gap."""
    flat = shape_array([SQUARE, shapely.box(10.3, 0.0, 20.3, 10.0)])
    (gap,) = narrow_gaps(flat)
    filled = gap_given(flat, gap, owner=1)
    assert shapely.area(filled) == pytest.approx([100.0, 103.0], abs=1e-9)
    assert shapely.get_num_coordinates(filled[1]) <= 8
    same_corners_where_they_meet(filled)
    assert narrow_gaps(filled).size == 0
    assert narrow_gaps(shape_array([SQUARE, shapely.box(12.0, 0.0, 22.0, 10.0)])).size == 0


def test_joining_needs_an_edge() -> None:
    beside, at_a_corner = shapely.box(10, 3, 20, 7), shapely.box(10, 10, 20, 20)
    whole = joined(shape_array([SQUARE, beside]))
    assert whole is not None
    assert shapely.get_num_geometries(whole) == 1 and shapely.area(whole) == 140.0
    assert joined(shape_array([SQUARE, at_a_corner])) is None
    assert joined(shape_array([SQUARE, shapely.box(11, 0, 20, 10)])) is None


def test_corners_put_in_move_nothing() -> None:
    """A corner on an edge goes in once and in its place; one beside it, or there already, not."""
    ring = shapely.difference(SQUARE, shapely.box(4, 4, 6, 6))
    new = np.array([(3.0, 0.0), (7.0, 0.0), (5.0, 4.0), (5.0, 5.0), (0.0, 0.0), (3.0, 0.5)])
    found = with_corners(ring, new)
    assert corners(found) - corners(ring) == {(3.0, 0.0), (7.0, 0.0), (5.0, 4.0)}
    assert shapely.area(found) == ring.area and shapely.is_valid(found)
    assert with_corners(found, new) is found
    several = shapely.union(ring, shapely.box(20, 0, 30, 10))
    more = np.append(new, [[25.0, 10.0]], axis=0)
    assert len(corners(with_corners(several, more)) - corners(several)) == 4


seeds = st.integers(0, 2**32 - 1)


def three_on_earth(seed: int) -> Shapes:
    """Three wavy zones that overlap, about 80 m across, near one another."""
    rng = np.random.default_rng(seed)
    apart = rng.uniform(45.0, 70.0)
    middles = [(0.0, 0.0), (apart, 0.0), (apart / 2, apart)]
    drawn = [affinity.translate(a_wavy_area(rng), *middle) for middle in middles]
    return shape_array([shapely.transform(one, onto_the_earth) for one in drawn])


def onto_the_earth(xy: Floats) -> Floats:
    lonlat: Floats = np.array([-84.05, 33.55]) + xy / [92_900.0, 110_900.0]
    return lonlat


@given(seeds)
@settings(max_examples=40, deadline=None)
def test_any_overlap_is_settled(seed: int) -> None:
    """Put back to longitude and latitude: no overlap, valid, area of both kept within 1e-6 m2."""
    zones = three_on_earth(seed)
    laid = sheet(zones)
    # Lines nearer than a millimetre are made one, which moves them: not what this is about.
    for one, other in ((0, 1), (1, 0)):
        at = shapely.points(shapely.get_coordinates(laid.flat[one]))
        assume(shapely.distance(laid.flat[other].boundary, at).min() > SAME_CORNER_M)
    together = shapely.union(laid.flat[0], laid.flat[1])
    flat = overlap_given(laid.flat, owner=0, loser=1)
    assert shapely.area(flat[:2]).sum() == pytest.approx(float(together.area), abs=1e-6)
    back = laid.back(flat)
    assert shapely.is_valid(back).all()
    assert no_ground_twice(back[:2])
    # Measured afresh from longitude and latitude, as every run over the file does.
    again = sheet(back)
    origin = np.repeat(again.origin[:, 1], 3)
    assert plan_areas(again.flat, origin)[:2].sum() == pytest.approx(
        plan_areas(shape_array(together), origin[:1])[0], abs=1e-6
    )
    same_corners_where_they_meet(flat[:2])
    parts = shapely.get_parts(flat[:2])
    assert shapely.area(parts).min() > SMALLEST_M2


@given(seeds, st.floats(0.05, 0.4))
@settings(max_examples=40, deadline=None)
def test_any_gap_is_filled(seed: int, width_m: float) -> None:
    """A wavy zone cut in two with a narrow strip between: the strip goes to one, whole."""
    rng = np.random.default_rng(seed)
    whole = a_wavy_area(rng)
    strip = shapely.LineString([(-80, rng.uniform(-9, 9)), (80, rng.uniform(-9, 9))])
    left = shapely.get_parts(shapely.difference(whole, strip.buffer(width_m / 2, cap_style="flat")))
    flat = on_grid(shape_array(list(left[shapely.area(left) > 50.0])))
    before = float(shapely.area(flat).sum())
    found = narrow_gaps(flat)
    gap = found[int(np.argmax(shapely.area(found)))]
    owner = int(np.argmin(shapely.distance(flat, gap)))
    filled = gap_given(flat, gap, owner=owner)
    assert shapely.is_valid(filled).all()
    assert no_ground_twice(filled)
    # Its ends were closed a millimetre inside; they are put back to the corners there.
    gained = float(shapely.area(filled).sum()) - before
    assert gained == pytest.approx(float(gap.area), abs=0.01 * width_m + 1e-6)
    same_corners_where_they_meet(filled)
    assert not shapely.intersects(narrow_gaps(filled), shapely.point_on_surface(gap)).any()


@given(seeds)
@settings(max_examples=60, deadline=None)
def test_edges_that_lie_on_one_line_are_no_trouble(seed: int) -> None:
    """Boxes on a grid of degrees: their common edges are not quite so on a plane."""
    rng = np.random.default_rng(seed)
    west_south = rng.integers(0, 6, (3, 2)) * 1e-4 + [-84.05, 33.55]
    sides = rng.integers(2, 6, (3, 2)) * 1e-4
    zones = shape_array(shapely.box(*west_south.T, *(west_south + sides).T))
    laid = sheet(zones)
    flat = overlap_given(laid.flat, owner=0, loser=1)
    back = laid.back(flat)
    assert shapely.is_valid(back).all()
    assert shapely.area(shapely.intersection(back[0], back[1])) < 1e-18
    parts = shapely.get_parts(flat[:2])
    assert (shapely.area(parts) > SMALLEST_M2).all()
    together = shapely.area(shapely.union(laid.flat[0], laid.flat[1]))
    # Parallels are not straight on a plane: 50 m of one bulges by 3e-5 m, and lines nearer than a
    # millimetre are made one.
    assert shapely.area(flat[:2]).sum() == pytest.approx(float(together), abs=2e-3)
