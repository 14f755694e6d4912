import numpy as np
import pytest
import shapely
from pyproj import Geod

from turfmap.views.label_places import label_places
from turfmap.views.packed_shapes import STEPS_PER_DEGREE

# About 85 m by 111 m at this latitude.
FIELD = shapely.box(-89.2, 40.1, -89.199, 40.101)


def test_a_label_stands_in_the_widest_place_and_knows_its_room() -> None:
    [centre], [room] = label_places([FIELD])
    longitude, latitude = np.array(centre) / STEPS_PER_DEGREE
    assert longitude == pytest.approx(-89.1995, abs=3e-5)
    # The room is half the narrower side, measured on the ellipsoid by pyproj.
    _, _, width_m = Geod(ellps="WGS84").inv(-89.2, latitude, -89.199, latitude)
    assert room / STEPS_PER_DEGREE * 111_200 == pytest.approx(width_m / 2, rel=0.03)


def test_a_label_keeps_clear_of_what_is_drawn_over_its_zone() -> None:
    west_half = shapely.box(-89.21, 40.0, -89.1995, 40.2)
    [centre], _ = label_places([FIELD], [west_half])
    assert centre[0] / STEPS_PER_DEGREE > -89.1995


def test_a_zone_that_is_wholly_covered_keeps_its_label() -> None:
    [centre], [room] = label_places([FIELD], [FIELD.buffer(1)])
    assert FIELD.contains(shapely.Point(np.array(centre) / STEPS_PER_DEGREE))
    assert room > 0


def test_shapes_without_ground_have_no_room() -> None:
    bow_tie = shapely.Polygon([(0, 0), (1, 1), (1, 0), (0, 1)])
    _, rooms = label_places([shapely.Polygon(), FIELD, bow_tie], [bow_tie])
    assert rooms[0] == 0
    assert rooms[1] > 0
