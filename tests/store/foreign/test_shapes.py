"""Lines that are areas, collections that are multi-shapes, and what stays as it is."""

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from turfmap.store.foreign.shape_checks import (
    closed_as_areas,
    not_finite,
    of_one_kind,
    off_the_earth,
)

METRE = 1 / 110_900  # degrees of latitude at 33° N, near enough (110,574 + 1,110 sin² lat, derived)


def array(*shapes: BaseGeometry | None) -> NDArray[np.object_]:
    return np.array(shapes, dtype=object)


def walk(gap_m: float, size_m: float = 100.0, north: float = 33.0) -> shapely.LineString:
    """Walk round a square lot, ending short of the start."""
    size = size_m * METRE
    corners = [(0, 0), (size, 0), (size, size), (0, size), (0, gap_m * METRE)]
    return shapely.LineString([(x - 84, y + north) for x, y in corners])


@pytest.mark.parametrize(
    ("line", "kind"),
    [
        (walk(0), "Polygon"),
        (walk(2.9), "Polygon"),
        (walk(3.1), "LineString"),
        (walk(2.5, size_m=3), "Polygon"),
        (walk(-2.5, size_m=0.5), "LineString"),  # a short line, not a ring: the gap is most of it
        (shapely.LineString([(-84, 33), (-84, 33.001), (-84, 33)]), "LineString"),  # there and back
        (shapely.MultiLineString([walk(1), walk(1, north=34)]), "MultiPolygon"),
        (shapely.MultiLineString([walk(1), walk(9, north=34)]), "MultiLineString"),
        (shapely.Point(0, 0), "Point"),
    ],
)
def test_lines_whose_ends_meet_within_three_metres(line: BaseGeometry, kind: str) -> None:
    (found,), closed = closed_as_areas(array(line))
    assert found.geom_type == kind
    assert closed == (kind != line.geom_type)


def test_collections_of_one_kind_become_multi_shapes() -> None:
    square, line, point = shapely.box(0, 0, 1, 1), walk(9), shapely.Point(0, 0)
    collections: list[list[BaseGeometry]] = [
        [square, shapely.MultiPolygon([square])],
        [line, line.reverse()],
        [point],
        [square, point],
        [shapely.GeometryCollection([square])],
    ]
    shapes, mixed = of_one_kind(
        array(None, *(shapely.GeometryCollection(parts) for parts in collections))
    )
    kinds = [shape.geom_type for shape in shapes[1:4]]
    assert kinds == ["MultiPolygon", "MultiLineString", "MultiPoint"]
    assert mixed.tolist() == [False, False, False, False, True, True]
    assert shapes[1].area == 2, "overlapping parts are kept: validity is judged elsewhere"


def test_numbers_that_are_no_positions_are_flagged() -> None:
    shapes = array(None, shapely.Point(1, 2), shapely.LineString([(0, 0), (0, np.inf)]))
    assert not_finite(shapes).tolist() == [False, False, True]
    shapes = array(None, shapely.Point(180, -90), shapely.Point(180.1, 0), shapely.Point(0, np.nan))
    assert off_the_earth(shapes).tolist() == [False, False, True, True]


def test_no_shapes_at_all() -> None:
    nothing = array()
    assert closed_as_areas(nothing)[1] == 0
    assert len(of_one_kind(nothing)[0]) == len(not_finite(nothing)) == 0
