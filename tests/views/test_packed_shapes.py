from typing import Any

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from turfmap.views.packed_shapes import LINE, POINT, RING, STEPS_PER_DEGREE, packed_shapes

SQUARE = shapely.box(-89.2, 40.1, -89.1, 40.2)
HOLED = SQUARE.difference(shapely.Point(-89.15, 40.15).buffer(0.01))
PATH = shapely.LineString([(-89.3, 40.1), (-89.2, 40.15), (-89.2, 40.2)])
WELL = shapely.Point(-89.123456789, 40.987654321)


def unpacked(columns: dict[str, Any]) -> list[list[tuple[int, np.ndarray[Any, Any]]]]:
    corners = np.cumsum(np.reshape(columns["steps"], (-1, 2)), axis=0) / STEPS_PER_DEGREE
    lines = iter(np.split(corners, np.cumsum(columns["sizes"])[:-1]))
    kinds = iter(columns["kinds"])
    return [[(next(kinds), next(lines)) for _ in range(count)] for count in columns["parts"]]


def test_each_shape_keeps_every_corner_and_its_kind() -> None:
    square, path, well = unpacked(packed_shapes([SQUARE, PATH, WELL]))
    assert [kind for kind, _ in (*square, *path, *well)] == [RING, LINE, POINT]
    np.testing.assert_allclose(square[0][1], shapely.get_coordinates(SQUARE)[:-1], atol=5.1e-8)
    np.testing.assert_allclose(path[0][1], shapely.get_coordinates(PATH), atol=5.1e-8)
    np.testing.assert_allclose(well[0][1], [[-89.1234568, 40.9876543]], atol=5.1e-8)


def test_the_area_of_a_shape_with_holes_comes_back_by_the_even_odd_rule() -> None:
    [rings] = unpacked(packed_shapes([HOLED]))
    outer, hole = (shapely.Polygon(xy) for _, xy in rings)
    assert outer.symmetric_difference(hole).area == pytest.approx(HOLED.area, rel=1e-6)


def test_collections_inside_collections_are_opened() -> None:
    nested = shapely.GeometryCollection([WELL, shapely.GeometryCollection([SQUARE, PATH])])
    [parts] = unpacked(packed_shapes([nested]))
    assert sorted(kind for kind, _ in parts) == [POINT, LINE, RING]


@pytest.mark.parametrize("nothing", [shapely.Polygon(), shapely.GeometryCollection(), None])
def test_nothing_has_no_parts_and_moves_no_other_shape(nothing: BaseGeometry) -> None:
    columns = packed_shapes([SQUARE, nothing, WELL])
    assert columns["parts"] == [1, 0, 1]
    assert unpacked(columns)[2][0][0] == POINT


def test_no_shapes_make_empty_columns() -> None:
    assert packed_shapes([]) == {"parts": [], "kinds": [], "sizes": [], "steps": []}
