import pytest
import shapely
from pyproj import Geod

from turfmap.views.label_places import label_places

# About 85 m by 111 m at this latitude.
FIELD = shapely.box(-89.2, 40.1, -89.199, 40.101)


def test_a_label_stands_in_the_widest_place_and_knows_its_room() -> None:
    [(east, _)], [room] = label_places([FIELD])
    assert east == pytest.approx(500, abs=30)
    # The room is half the narrower side, measured on the ellipsoid by pyproj.
    ellipsoid = Geod(ellps="WGS84")
    _, _, width_m = ellipsoid.inv(-89.2, 40.1005, -89.199, 40.1005)
    _, _, height_m = ellipsoid.inv(-89.2, 40.1, -89.2, 40.101)
    assert room / 1000 * height_m == pytest.approx(width_m / 2, rel=0.03)


def test_a_label_keeps_clear_of_what_is_drawn_over_its_zone() -> None:
    west_half = shapely.box(-89.21, 40.0, -89.1995, 40.2)
    [(east, _)], _ = label_places([FIELD], [west_half])
    assert east > 500


def test_lines_and_points_cover_nothing() -> None:
    well, stream = FIELD.centroid, FIELD.boundary
    west_half = shapely.box(-89.21, 40.0, -89.1995, 40.2)
    assert label_places([FIELD], [well, stream, west_half]) == label_places([FIELD], [west_half])


def test_a_zone_that_is_wholly_covered_keeps_its_label() -> None:
    assert label_places([FIELD], [FIELD.buffer(1)]) == label_places([FIELD])


def test_shapes_without_ground_have_no_room() -> None:
    bow_tie = shapely.Polygon([(0, 0), (1, 1), (1, 0), (0, 1)])
    _, rooms = label_places([shapely.Polygon(), FIELD, bow_tie], [bow_tie])
    assert rooms[0] == 0
    assert rooms[1] > 0
