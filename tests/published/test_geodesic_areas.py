"""Plan areas against published geodesic polygons and handbook areas.

Sources, one for each figure below:

- geographiclib (PyPI), its own test of PolygonArea, "Planimeter" cases, and its ``Geodesic``.
- The unit square at the equator: printed by several geodesic planimeters; recomputed here.
- The L-shaped lot: geographiclib 2.1, Planimeter 2.1.2 and pyproj 3.7.2 agree.
"""

from itertools import pairwise

import numpy as np
import pytest
import shapely
from geographiclib.geodesic import Geodesic
from hypothesis import given, settings
from hypothesis import strategies as st

from turfmap.foundations.shapes import shape_array
from turfmap.foundations.units import acres, square_feet
from turfmap.ground.near import Things
from turfmap.ground.treatable import treatable

NOTHING = Things(np.empty(0, dtype=object), np.empty(0))


def area_m2(ring: list[tuple[float, float]]) -> float:
    return float(treatable(shape_array([shapely.Polygon(ring)]), NOTHING, NOTHING).gross_m2[0])


def geographiclib_area_m2(ring: list[tuple[float, float]]) -> float:
    polygon = Geodesic.WGS84.Polygon()
    for lon, lat in ring:
        polygon.AddPoint(lat, lon)
    return abs(float(polygon.Compute(False, True)[2]))


def test_l_shaped_lot() -> None:
    ring = [
        (-84.0, 33.0),
        (-83.9985, 33.0),
        (-83.9985, 33.0006),
        (-83.9991, 33.0006),
        (-83.9991, 33.0012),
        (-84.0, 33.0012),
    ]
    found_m2 = area_m2(ring)
    assert found_m2 == pytest.approx(14924.6004, rel=1e-6)
    assert acres(found_m2) == pytest.approx(3.68794908, rel=1e-6)
    assert square_feet(found_m2) == pytest.approx(160647.062, rel=1e-6)


def test_unit_square_at_the_equator() -> None:
    """12,308,778,361.4695 m2: far larger than any lawn, and still within a millionth."""
    square = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]
    assert area_m2(square) == pytest.approx(12_308_778_361.4695, rel=1e-6)


def test_flattening_by_web_mercator_would_fail_these_checks() -> None:
    """At 33 degrees north Web Mercator shows 42 % too much: the check must tell."""
    ring = np.array([(-84.0, 33.0), (-83.999, 33.0), (-83.999, 33.001), (-84.0, 33.001)])
    radius_m = 6_378_137.0
    x, y = np.radians(ring[:, 0]), np.log(np.tan(np.pi / 4 + np.radians(ring[:, 1]) / 2))
    mercator_m2 = shapely.Polygon(np.column_stack([x, y]) * radius_m).area
    assert mercator_m2 / area_m2([tuple(corner) for corner in ring]) == pytest.approx(
        1.4256, abs=2e-4
    )


@settings(max_examples=150, deadline=None)
@given(
    lon=st.floats(-180, 180),
    lat=st.floats(-70, 70),
    across_m=st.floats(5, 20_000),
    seed=st.integers(0, 2**32 - 1),
)
def test_every_zone_is_within_the_bound_of_its_geodesic_area(
    lon: float, lat: float, across_m: float, seed: int
) -> None:
    """|dA| <= 1e-6 A + 5e-4 m2 against geographiclib, anywhere, from a bed to a large farm."""
    rng = np.random.default_rng(seed)
    angle = np.sort(rng.uniform(0, 2 * np.pi, 24))
    radius = across_m / 2 * rng.uniform(0.4, 1.0, angle.size)
    east = radius * np.cos(angle) / (111_320 * np.cos(np.radians(lat)))
    north = radius * np.sin(angle) / 110_574
    ring = list(zip((lon + east).tolist(), (lat + north).tolist(), strict=True))
    if not shapely.Polygon(ring).is_valid:
        return
    wrapped = [((x + 180.0) % 360.0 - 180.0, y) for x, y in ring]
    if max(x for x, _ in wrapped) - min(x for x, _ in wrapped) > 180.0:
        wrapped = ring  # drawn across the antimeridian: kept in one piece, past 180
    expected_m2 = geographiclib_area_m2(ring)
    assert abs(area_m2(wrapped) - expected_m2) <= 1e-6 * expected_m2 + 5e-4


def test_closed_form_buffers() -> None:
    """A stadium and a rounded rectangle, by the Steiner formula A + P r + pi r^2.

    A straight 100 m line buffered by 25 ft (7.62 m): 1706.4147 m2; a 120 x 60 m rectangle:
    10125.6147 m2. Ours may be larger by the over-cover and never smaller.
    """
    degree_lat_m, degree_lon_m = 110_901.0, 93_455.0  # near 33 N, for drawing only
    line = shapely.LineString([(-84.05, 33.05), (-84.05 + 100 / degree_lon_m, 33.05)])
    box = shapely.box(-84.05, 33.05, -84.05 + 120 / degree_lon_m, 33.05 + 60 / degree_lat_m)
    zone = shapely.box(-84.06, 33.04, -84.03, 33.06)
    for feature in (line, box):
        ring_m2 = 0.0
        if feature.geom_type == "Polygon":
            ring_m2 = geographiclib_area_m2([(c[0], c[1]) for c in feature.exterior.coords[:-1]])
        perimeter_m = _length_m(feature) * (2.0 if feature.geom_type == "LineString" else 1.0)
        true_m2 = ring_m2 + perimeter_m * 7.62 + np.pi * 7.62**2
        found = treatable(
            shape_array([zone]), NOTHING, Things(shape_array([feature]), np.array([7.62]))
        )
        assert true_m2 <= found.no_spray_m2[0] <= true_m2 * 1.003


def _length_m(feature: shapely.Geometry) -> float:
    corners = shapely.get_coordinates(feature)
    steps = pairwise(corners)
    return float(sum(Geodesic.WGS84.Inverse(a[1], a[0], b[1], b[0])["s12"] for a, b in steps))
