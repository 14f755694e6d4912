import base64
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry.base import BaseGeometry

from turfmap.views.packed_shapes import LINE, POINT, RING, STEPS_PER_DEGREE, packed_shapes, sixes

SQUARE = shapely.box(-89.2, 40.1, -89.1, 40.2)
HOLED = SQUARE.difference(shapely.Point(-89.15, 40.15).buffer(0.01))
PATH = shapely.LineString([(-89.3, 40.1), (-89.2, 40.15), (-89.2, 40.2)])
NONE = np.zeros(0, dtype=np.int64)
WELL = shapely.Point(-89.123456789, 40.987654321)


def whole_numbers(packed: dict[str, Any]) -> list[int]:
    """Read rows of base 64 letters with Python's own decoder: four letters are three bytes."""
    far = dict(zip(np.cumsum(packed["far_at"]).tolist(), packed["far"], strict=True))
    numbers = []
    for place, letters in enumerate(zip(*packed["near"], strict=True)):
        low, high = (int.from_bytes(base64.b64decode("AAA" + letter), "big") for letter in letters)
        folded = low + high * 64 + far.get(place, 0) * 4096
        numbers.append(-(folded + 1) // 2 if folded % 2 else folded // 2)
    return numbers


def unpacked(columns: dict[str, Any]) -> list[list[tuple[int, np.ndarray[Any, Any]]]]:
    steps = np.reshape(whole_numbers(columns["steps"]), (-1, 2))
    corners = np.cumsum(steps, axis=0) / STEPS_PER_DEGREE
    lines = iter(np.split(corners, np.cumsum(columns["sizes"])[:-1]))
    kinds = iter(columns["kinds"])
    return [[(next(kinds), next(lines)) for _ in range(count)] for count in columns["parts"]]


@given(st.lists(st.integers(-(2**31) + 1, 2**31 - 1)))
def test_whole_numbers_come_back_from_their_letters(numbers: list[int]) -> None:
    assert whole_numbers(sixes(np.array(numbers, dtype=np.int64))) == numbers


def test_each_shape_keeps_every_corner_and_its_kind() -> None:
    square, path, well = unpacked(packed_shapes([SQUARE, PATH, WELL]))
    assert [kind for kind, _ in (*square, *path, *well)] == [RING, LINE, POINT]
    np.testing.assert_allclose(
        square[0][1], shapely.get_coordinates(SQUARE)[:-1], rtol=0, atol=1.01e-7
    )
    np.testing.assert_allclose(path[0][1], shapely.get_coordinates(PATH), rtol=0, atol=1.01e-7)
    np.testing.assert_allclose(well[0][1], [[-89.123456789, 40.987654321]], rtol=0, atol=1.01e-7)


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
    assert sixes(NONE) == {"near": ["", ""], "far_at": [], "far": []}
    assert packed_shapes([]) == {"parts": [], "kinds": [], "sizes": [], "steps": sixes(NONE)}
