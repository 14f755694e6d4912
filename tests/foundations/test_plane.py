"""Local planes against PROJ's exact transverse Mercator and EPSG's definition of one."""

import numpy as np
import shapely
from hypothesis import given
from hypothesis import strategies as st
from pyproj import Geod, Transformer

from turfmap.foundations import plane
from turfmap.foundations.shapes import shape_array


@given(lon=st.floats(-180, 180), lat=st.floats(-75, 75), seed=st.integers(0, 2**32 - 1))
def test_flattening_agrees_with_the_exact_projection(lon: float, lat: float, seed: int) -> None:
    """To a hundredth of a micrometre within a tile; source: PROJ's Poder/Engsager tmerc."""
    rng = np.random.default_rng(seed)
    origin = np.array([[lon, lat]])
    points = origin + rng.uniform(-0.06, 0.06, (50, 2))
    line = shape_array([shapely.LineString(points)])
    flat = shapely.get_coordinates(plane.flatten(line, origin))
    exact = Transformer.from_pipeline(
        "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad"
        f" +step +proj=tmerc +lon_0={lon} +lat_0={lat} +k=1 +ellps=WGS84"
    )
    np.testing.assert_allclose(flat, np.column_stack(exact.transform(*points.T)), atol=1e-8)
    back = shapely.get_coordinates(plane.unflatten(plane.flatten(line, origin), origin))
    difference = back - points
    difference[:, 0] -= 360.0 * np.round(difference[:, 0] / 360.0)
    assert np.abs(difference).max() < 1e-13


@given(lon=st.floats(-180, 180), lat=st.floats(-70, 70), turn=st.floats(0, 360))
def test_a_metre_on_the_plane_is_a_metre_on_the_ground(lon: float, lat: float, turn: float) -> None:
    """Within a millionth, always to the long side, anywhere in a tile. Source: Geod (Karney)."""
    box = np.array([[lon, lat, lon, lat]])
    origin = plane.origins(box)
    east, north, _ = Geod(ellps="WGS84").fwd(lon, lat, turn, 100.0)
    step = shape_array([shapely.LineString([(lon, lat), (lon + (east - lon), north)])])
    length_m = shapely.length(plane.flatten(step, origin))[0]
    assert 100.0 * (1 - 1e-9) <= length_m <= 100.0 * (1 + 1e-6)


def test_a_zone_is_flattened_the_same_whatever_is_flattened_with_it() -> None:
    boxes = shape_array([shapely.box(x, 33.0, x + 1e-3, 33.001) for x in (-84.0, -83.7, 12.0)])
    origin = plane.origins(plane.bounds(boxes))
    together = plane.flatten(boxes, origin)
    alone = plane.flatten(boxes[1:2], origin[1:2])
    assert together[1].equals_exact(alone[0], 0.0)
