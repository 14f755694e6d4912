"""I am here: the side of the edge against geodesic truth, distances against GEOS, and no way up."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import Geod, Transformer

from tests.ground.scenes import geodesic_distances_m, protected_features
from turfmap.foundations.shapes import shape_array
from turfmap.ground.here import (
    OUTSIDE,
    STOP,
    UNSURE,
    Edges,
    LocalPlane,
    Standing,
    edges_of,
    standing,
)
from turfmap.ground.nospray import no_spray_ground

LON, LAT = -84.0, 33.0
PLANE = LocalPlane(LON, LAT)
SETBACK_M = 25 * 0.3048
# Round no-spray ground is drawn 0.07 % too wide, never too narrow.
DRAWN_WIDE = 0.0008


def scene(seed: int, distance_m: float = SETBACK_M) -> tuple[np.ndarray, np.ndarray]:
    features = protected_features(np.random.default_rng(seed), LON, LAT)
    return features, no_spray_ground(features, np.full(len(features), distance_m))


def asked(
    lonlat: np.ndarray,
    ground: np.ndarray,
    *,
    accuracy_m: float = 0.0,
    margin_m: float = 0.0,
    is_surveyed: bool = True,
) -> Standing:
    together = edges_of(shapely.union_all(ground), PLANE)
    return standing(
        PLANE.flat(lonlat),
        [edges_of(each, PLANE) for each in ground],
        together,
        margin_m=np.full(len(ground), margin_m),
        accuracy_m=np.full(len(lonlat), accuracy_m),
        is_surveyed=is_surveyed,
    )


def test_a_degree_is_as_long_as_geodesics_say() -> None:
    """Against pyproj's geodesics, over a few metres about the origin."""
    east_m, north_m = PLANE.metres_per_degree()
    geod = Geod(ellps="WGS84")
    _, _, across = geod.inv(LON - 5e-5, LAT, LON + 5e-5, LAT)
    _, _, along = geod.inv(LON, LAT - 5e-5, LON, LAT + 5e-5)
    assert east_m * 1e-4 == pytest.approx(across, rel=1e-8)
    assert north_m * 1e-4 == pytest.approx(along, rel=1e-8)


def test_100_000_positions_are_on_the_side_that_geodesics_say_outside_2_cm() -> None:
    """Truth: the geodesic distance to the features themselves, not to anything that we drew."""
    features, ground = scene(7)
    rng = np.random.default_rng(7)
    lonlat = np.array([LON, LAT]) + rng.uniform(-1.5e-3, 1.5e-3, (100_000, 2))
    found = asked(lonlat, ground)
    area = shapely.get_type_id(features) == shapely.GeometryType.POLYGON
    apart = geodesic_distances_m(lonlat, shapely.GeometryCollection(features.tolist()))
    for pond in features[area]:
        apart[shapely.contains_xy(pond, *lonlat.T)] = 0.0
    assert found.is_inside[apart < SETBACK_M - 0.02].all()
    assert not found.is_inside[apart > SETBACK_M * (1 + DRAWN_WIDE) + 0.02].any()
    assert 1_000 < found.is_inside.sum() < 99_000
    assert set(found.state) == {STOP, OUTSIDE}


def test_distances_agree_with_geos_on_a_plane_of_its_own_within_2_cm_over_300_m() -> None:
    """GEOS on a transverse Mercator plane, through pyproj; the prototype's page was within 6 mm."""
    _, ground = scene(11)
    together = shapely.union_all(ground)
    rng = np.random.default_rng(11)
    lonlat = np.array([LON, LAT]) + rng.uniform(-2.7e-3, 2.7e-3, (2_000, 2))
    found = asked(lonlat, ground)
    to_plane = Transformer.from_crs(
        "EPSG:4326", f"+proj=tmerc +lat_0={LAT} +lon_0={LON} +ellps=WGS84", always_xy=True
    ).transform
    flat = shapely.transform(
        shapely.boundary(together), lambda xy: np.column_stack(to_plane(*xy.T))
    )
    points = shapely.points(np.column_stack(to_plane(*lonlat.T)))
    truth_m = shapely.distance(points, flat)
    inside = shapely.contains_xy(together, *lonlat.T)
    near = truth_m < 300.0
    assert (inside == found.is_inside)[truth_m > 0.02].all()
    outside = near & ~inside
    assert np.abs(found.distance_m - truth_m)[outside].max() < 0.02
    # From within, the way out of all of it.
    assert np.abs(found.distance_m - truth_m)[inside & near].max() < 0.02


def test_the_direction_leads_to_the_edge() -> None:
    """A step of the told distance along the told bearing lands on the edge (geodesic, 2 cm)."""
    _, ground = scene(5)
    lonlat = np.array([LON, LAT]) + np.random.default_rng(5).uniform(-8e-4, 8e-4, (300, 2))
    found = asked(lonlat, ground)
    lon, lat, _ = Geod(ellps="WGS84").fwd(
        lonlat[:, 0], lonlat[:, 1], found.towards_deg, found.distance_m
    )
    there = asked(np.column_stack([lon, lat]), ground)
    assert there.distance_m.max() < 0.02


def test_even_odd_takes_holes_and_separate_parts() -> None:
    ring = shapely.Point(0, 0).buffer(2e-4).difference(shapely.Point(0, 0).buffer(1e-4))
    edges = edges_of(shapely.union_all([ring, shapely.box(5e-4, 0, 6e-4, 1e-4)]), LocalPlane(0, 0))
    places = LocalPlane(0, 0).flat(np.array([[0, 0], [1.5e-4, 0], [5.5e-4, 5e-5], [4e-4, 0]]))
    assert edges.hold(places).tolist() == [False, True, True, False]


def test_nothing_drawn_is_no_edge_and_unknown_is_unsure() -> None:
    nothing = np.empty(0, dtype=object)
    lonlat = np.array([[LON, LAT]])
    assert asked(lonlat, nothing).state.tolist() == [OUTSIDE]
    assert np.isinf(asked(lonlat, nothing).distance_m).all()
    assert asked(lonlat, nothing, is_surveyed=False).state.tolist() == [UNSURE]
    assert asked(lonlat, nothing, accuracy_m=np.nan).state.tolist() == [UNSURE]
    assert asked(lonlat, nothing, accuracy_m=31.0).state.tolist() == [UNSURE]
    empty = Edges(np.empty((0, 2)), np.empty((0, 2)))
    assert not empty.hold(np.zeros((1, 2))).any()


@settings(max_examples=25, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    accuracy_m=st.floats(0, 40),
    worse_m=st.floats(0, 10),
    margin_m=st.floats(0, 5),
    wider_m=st.floats(0, 10),
)
def test_more_to_protect_wider_or_a_worse_position_never_leads_outside(
    seed: int, accuracy_m: float, worse_m: float, margin_m: float, wider_m: float
) -> None:
    features, ground = scene(seed)
    lonlat = np.array([LON, LAT]) + np.random.default_rng(seed).uniform(-1e-3, 1e-3, (200, 2))
    before = asked(lonlat, ground[:2], accuracy_m=accuracy_m, margin_m=margin_m)
    closed = before.state != OUTSIDE
    more = asked(lonlat, ground, accuracy_m=accuracy_m, margin_m=margin_m)
    wide_ground = no_spray_ground(features, np.full(len(features), SETBACK_M + wider_m))
    wide = asked(lonlat, wide_ground[:2], accuracy_m=accuracy_m, margin_m=margin_m)
    worse = asked(lonlat, ground[:2], accuracy_m=accuracy_m + worse_m, margin_m=margin_m)
    for changed in (more, wide, worse):
        assert (changed.state[closed] != OUTSIDE).all()
    # A stop stays one with more to protect, and with a wider setback.
    stop = before.state == STOP
    assert (more.state[stop] == STOP).all()
    assert (wide.state[stop] == STOP).all()


def test_a_feature_beside_it_with_a_better_known_edge_does_not_clear_a_position() -> None:
    """Each feature is judged by its own edge: the nearest alone would say outside here."""
    poor, good = (
        no_spray_ground(shape_array([shapely.Point(LON, LAT)]), np.array([5.0])),
        no_spray_ground(shape_array([shapely.Point(LON + 1.7e-4, LAT)]), np.array([5.0])),
    )
    ground = np.concatenate([poor, good])
    here = PLANE.flat(np.array([[LON + 1.0e-4, LAT]]))
    edges = [edges_of(each, PLANE) for each in ground]
    found = standing(
        here,
        edges,
        edges_of(shapely.union_all(ground), PLANE),
        margin_m=np.array([6.0, 0.0]),
        accuracy_m=np.array([1.0]),
        is_surveyed=True,
    )
    assert found.feature.tolist() == [1]  # the nearer one
    assert found.state.tolist() == [UNSURE]
