"""Treatable ground: every part accounted for, no point within a setback left treatable."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.ground.scenes import (
    ELLIPSOID,
    blob,
    geodesic_distances_m,
    points_within,
    protected_features,
)
from turfmap.foundations.shapes import shape_array
from turfmap.ground.near import Things
from turfmap.ground.nospray import no_spray_ground
from turfmap.ground.treatable import Treatable, treatable

NOTHING = Things(np.empty(0, dtype=object), np.empty(0))
PLACES = st.tuples(st.floats(-179.5, 179.5), st.floats(-60, 60))


def parts_sum_to_gross(found: Treatable) -> None:
    parts = found.obstacle_m2 + found.no_spray_m2 + found.treatable_m2
    np.testing.assert_allclose(parts, found.gross_m2, rtol=1e-9, atol=1e-9)


@settings(max_examples=25, deadline=None)
@given(place=PLACES, seed=st.integers(0, 2**32 - 1), distance_m=st.floats(0.5, 60))
def test_no_point_within_the_setback_is_treatable(
    place: tuple[float, float], seed: int, distance_m: float
) -> None:
    """Judged by geodesic distance on random points, 25 x 5,000 of them (issue: >= 100,000)."""
    rng = np.random.default_rng(seed)
    zone = blob(rng, *place, 150.0)
    features = protected_features(rng, *place)
    found = treatable(
        shape_array([zone]), NOTHING, Things(features, np.full(features.size, distance_m))
    )
    parts_sum_to_gross(found)
    points = points_within(rng, found.shapes()[0], 5_000)
    for feature in features:
        assert geodesic_distances_m(points, feature).min(initial=np.inf) >= distance_m


def test_a_million_points() -> None:
    """Treatable points of many scenes, each measured to each feature: none is too near."""
    rng = np.random.default_rng(2026)
    judged = 0
    while judged < 1_000_000:
        lon, lat = rng.uniform(-179, 179), rng.uniform(-60, 60)
        features = protected_features(rng, lon, lat)
        reach_m = rng.uniform(1, 30, features.size)
        zone = shape_array([blob(rng, lon, lat, 150.0)])
        left = treatable(zone, NOTHING, Things(features, reach_m)).shapes()[0]
        points = points_within(rng, left, 20_000)
        for feature, distance_m in zip(features, reach_m, strict=True):
            assert geodesic_distances_m(points, feature).min(initial=np.inf) >= distance_m
        judged += len(points)


def test_over_cover_stays_below_three_in_a_thousand() -> None:
    """Every corner of a drawn setback is at least the distance away and at most 0.3 % more."""
    feature = shape_array([shapely.Point(-84.0, 33.0)])
    ground = no_spray_ground(feature, np.array([7.62]))[0]
    corners = shapely.get_coordinates(shapely.segmentize(ground, 1e-6))
    _, _, distance_m = ELLIPSOID.inv(*np.full((len(corners), 2), [-84.0, 33.0]).T, *corners.T)
    assert distance_m.min() >= 7.62
    assert distance_m.max() <= 7.62 * 1.003


def test_obstacle_and_no_spray_ground_do_not_count_twice() -> None:
    """A shed that stands within the setback of a pond is obstacle, once."""
    zone = shapely.box(-84.0, 33.0, -83.999, 33.001)
    shed = shapely.box(-83.9995, 33.0, -83.9994, 33.0001)
    pond = shapely.box(-83.9996, 32.9999, -83.9993, 33.0)
    found = treatable(
        shape_array([zone]),
        Things(shape_array([shed]), np.zeros(1)),
        Things(shape_array([pond]), np.full(1, 20.0)),
    )
    alone = treatable(shape_array([zone]), NOTHING, Things(shape_array([pond]), np.full(1, 20.0)))
    parts_sum_to_gross(found)
    assert found.no_spray_m2[0] < alone.no_spray_m2[0]
    assert found.no_spray_m2[0] + found.obstacle_m2[0] == pytest.approx(
        alone.no_spray_m2[0], rel=1e-9
    )


def test_shared_ground_goes_to_the_first_cause_and_the_losses_sum() -> None:
    """Two wells close together: the second takes only what the first left, gross tells all."""
    zone = shapely.box(-84.0, 33.0, -83.999, 33.001)
    wells = shape_array([shapely.Point(-83.9995, 33.0005), shapely.Point(-83.9994, 33.0005)])
    found = treatable(shape_array([zone]), NOTHING, Things(wells, np.array([15.0, 15.0])))
    losses = found.losses
    assert losses.feature.tolist() == [0, 1]
    assert losses.lost_m2.sum() == pytest.approx(found.no_spray_m2[0], rel=1e-12)
    assert losses.gross_lost_m2[0] == pytest.approx(losses.gross_lost_m2[1], rel=1e-9)
    assert losses.lost_m2[1] < 0.6 * losses.gross_lost_m2[1]
    pieces = found.lost_shapes()
    assert shapely.intersection(*pieces).area == pytest.approx(0.0, abs=1e-16)
    assert shapely.area(pieces).sum() == pytest.approx(
        zone.area * found.no_spray_m2[0] / found.gross_m2[0], rel=1e-6
    )
    # Of two, what the second takes after the first is what only the second reaches.
    assert losses.exclusive_m2[1] == pytest.approx(losses.lost_m2[1], rel=1e-9)
    assert losses.exclusive_m2[0] == pytest.approx(losses.exclusive_m2[1], rel=1e-6)


@pytest.mark.parametrize("hole_reversed", [False, True])
@pytest.mark.parametrize("shell_reversed", [False, True])
def test_winding_never_changes_an_area(shell_reversed: bool, hole_reversed: bool) -> None:
    """A lot with a pond hole, four windings: 5389.4586 m2.

    Source: geographiclib (PolygonArea), each ring by itself, shell less hole. A geodesic area
    that trusts the winding gives 7047.75 or its negative instead.
    """
    shell = [(-83.9995, 33.0), (-83.9985, 33.0), (-83.9985, 33.0006), (-83.9995, 33.0006)]
    hole = [(-83.9992, 33.0002), (-83.9988, 33.0002), (-83.9988, 33.0004), (-83.9992, 33.0004)]
    lot = shapely.Polygon(
        shell[::-1] if shell_reversed else shell, [hole[::-1] if hole_reversed else hole]
    )
    found = treatable(shape_array([lot]), NOTHING, NOTHING)
    assert found.gross_m2[0] == pytest.approx(5389.4586, rel=1e-6)


def test_missing_and_empty_zones_have_no_ground() -> None:
    zones = shape_array([None, shapely.Polygon(), shapely.box(-84.0, 33.0, -83.999, 33.001)])
    found = treatable(zones, NOTHING, Things(shape_array([None]), np.array([10.0])))
    assert found.gross_m2[:2].tolist() == [0.0, 0.0]
    assert found.treatable_m2[2] == found.gross_m2[2] > 0.0


def test_the_other_side_of_the_antimeridian_is_near() -> None:
    """A well at 179.9999 E keeps a lawn at 179.9999 W from being sprayed."""
    zone = shapely.box(-179.9999, -17.0, -179.9990, -16.9991)
    well = shapely.Point(179.9999, -16.9995)
    found = treatable(shape_array([zone]), NOTHING, Things(shape_array([well]), np.array([40.0])))
    assert found.no_spray_m2[0] > 100.0


@settings(max_examples=30, deadline=None)
@given(seed=st.integers(0, 2**32 - 1), extra_m=st.floats(0.1, 30))
def test_more_care_never_gives_more_ground(seed: int, extra_m: float) -> None:
    """A wider setback, or one more thing to protect, never makes more ground treatable."""
    rng = np.random.default_rng(seed)
    zone = shape_array([blob(rng, -84.0, 33.0, 120.0)])
    features = protected_features(rng, -84.0, 33.0)
    reach = np.full(features.size, 10.0)
    narrow = treatable(zone, NOTHING, Things(features, reach)).treatable_m2[0]
    wide = treatable(zone, NOTHING, Things(features, reach + extra_m)).treatable_m2[0]
    fewer = treatable(zone, NOTHING, Things(features[:-1], reach[:-1])).treatable_m2[0]
    assert wide <= narrow + 1e-9
    assert narrow <= fewer + 1e-9


def test_each_zone_is_cut_as_if_it_were_alone() -> None:
    """Order and company change nothing, to the last bit."""
    rng = np.random.default_rng(7)
    zones = shape_array([blob(rng, -84.0 + i * 1.1e-3, 33.0, 90.0) for i in range(12)])
    features = protected_features(rng, -83.996, 33.0)
    protected = Things(features, np.array([12.0, 8.0, 5.0, 20.0]))
    together = treatable(zones, NOTHING, protected).treatable_m2
    backwards = treatable(zones[::-1], NOTHING, protected).treatable_m2[::-1]
    alone = [treatable(zones[i : i + 1], NOTHING, protected).treatable_m2[0] for i in range(12)]
    assert together.tolist() == backwards.tolist() == alone


def test_ground_drawn_twice_is_treated_once() -> None:
    """A bed inside a lawn, and two lawns that overlap: every square metre has one owner."""
    lawn = shapely.box(-84.0, 33.0, -83.999, 33.001)
    bed = shapely.box(-83.9996, 33.0004, -83.9994, 33.0006)
    next_lawn = shapely.box(-83.9992, 33.0, -83.998, 33.001)
    zones = shape_array([lawn, bed, next_lawn])
    rank = np.array([2.0, 1.0, 2.0])
    found = treatable(zones, NOTHING, NOTHING, rank=rank)
    parts_sum_to_gross(found)
    whole = treatable(shape_array([shapely.union_all(zones)]), NOTHING, NOTHING)
    assert found.treatable_m2.sum() == pytest.approx(whole.gross_m2[0], rel=1e-6)
    assert found.treatable_m2[1] == found.gross_m2[1]
    assert found.shared_m2[0] == pytest.approx(found.gross_m2[1], rel=1e-9)
    assert found.treatable_m2[2] < found.gross_m2[2]


def test_zones_that_only_touch_share_nothing() -> None:
    zones = shape_array([shapely.box(0, 0, 1e-3, 1e-3), shapely.box(1e-3, 0, 2e-3, 1e-3)])
    assert treatable(zones, NOTHING, NOTHING).shared_m2.tolist() == [0.0, 0.0]
