"""Zones cut out of each other touch by a hair: valid as drawn, they may cross once laid flat.

GEOS stops at such shapes ("side location conflict"). They come from real work: one zone cut back
to its neighbour, parts that meet in one corner. The shapes are made up; what must hold is that
every answer comes, and that the parts of each zone make up the whole.
"""

import numpy as np
import pytest
import shapely

from turfmap.foundations import plane
from turfmap.foundations.plane import Floats
from turfmap.foundations.shapes import Shapes, shape_array
from turfmap.ground.inspection import drawn_twice, gaps, over_the_line
from turfmap.ground.near import Things
from turfmap.ground.treatable import treatable

MIDDLE = np.array([-82.9, 33.5])
DEGREES_PER_M = 1.0 / 111_000.0


def on_earth(xy_m: Floats) -> Floats:
    """Return longitude and latitude of places about the middle, near enough to draw with."""
    lonlat: Floats = MIDDLE + xy_m * DEGREES_PER_M
    return lonlat


def blob(rng: np.random.Generator) -> shapely.Geometry:
    """Return a star-shaped area of up to 80 m across."""
    corners = rng.integers(4, 12)
    angle = np.sort(rng.uniform(0.0, 2.0 * np.pi, corners))
    radius_m = rng.uniform(5.0, 40.0, corners)
    around = radius_m[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    drawn = shapely.Polygon(on_earth(rng.uniform(-20.0, 20.0, 2) + around))
    return shapely.make_valid(drawn)


def cut_to_each_other(rng: np.random.Generator) -> Shapes:
    """Return zones of which each later one was cut back to those before it."""
    zones: list[shapely.Geometry] = []
    for _ in range(5):
        left = blob(rng)
        for other in zones:
            left = shapely.difference(left, other)
        parts = [one for one in shapely.get_parts(left) if one.geom_type == "Polygon"]
        if parts:
            zones.append(shapely.multipolygons(parts))
    return shape_array(zones)


@pytest.mark.parametrize("seed", range(40))
def test_zones_that_touch_by_a_hair_are_measured(seed: int) -> None:
    zones = cut_to_each_other(np.random.default_rng(seed))
    assert shapely.is_valid(zones).all()
    rank = np.zeros(zones.size)
    drive = shapely.LineString(on_earth(np.array([[-30.0, 0.0], [30.0, 3.0]])))
    well = shapely.Point(MIDDLE)
    lot = shapely.box(*on_earth(np.array([-15.0, -15.0])), *on_earth(np.array([15.0, 15.0])))

    found = treatable(
        zones,
        Things(shape_array([drive]), np.array([1.5])),
        Things(shape_array([well]), np.array([8.0])),
        rank=rank,
    )
    parts = found.obstacle_m2 + found.no_spray_m2 + found.treatable_m2
    np.testing.assert_allclose(parts, found.gross_m2, rtol=1e-9, atol=1e-6)
    assert all(one.problem == "overlap" and one.area_m2 < 1.0 for one in drawn_twice(zones, rank))
    gaps(zones, np.zeros(zones.size, dtype=np.int64))
    over_the_line(zones, np.zeros(zones.size, dtype=np.int64), shape_array([lot]))


def test_what_laying_flat_would_leave_nothing_of_stays() -> None:
    """A protected speck, drawn as an area or a line, is still there to be kept clear of."""
    near = MIDDLE + np.array([[0.0, 0.0], [1.5e-14, 0.0], [0.0, 1.5e-14]])
    specks = shape_array([shapely.polygons(near), shapely.linestrings(near[:2])])
    flat = plane.laid_flat(specks, np.repeat(MIDDLE[None], 2, axis=0))
    assert not shapely.is_empty(flat).any()
