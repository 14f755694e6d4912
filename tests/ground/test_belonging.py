"""Which property a zone lies in, broken shapes included."""

import pytest
import shapely

from turfmap.foundations.shapes import Shapes, shape_array
from turfmap.ground.belonging import lies_in

# Drawn across: two triangles that meet in the middle, west of it and east of it.
BOW_TIE = shapely.Polygon([(0, 0), (2, 2), (2, 0), (0, 2)])
WEST, NORTH = shapely.box(0.1, 0.9, 0.3, 1.1), shapely.box(0.9, 1.7, 1.1, 1.9)
LOTS = shape_array([shapely.box(5, 5, 6, 6), BOW_TIE])


@pytest.mark.parametrize(
    ("zones", "owners"),
    [
        (shape_array([WEST, NORTH, None]), [1, -1, -1]),
        (shape_array([BOW_TIE]), [1]),
    ],
)
def test_a_broken_line_holds_what_lies_in_its_mended_ground(
    zones: Shapes, owners: list[int]
) -> None:
    """As drawn, GEOS refuses: the premise of the test is stated with it."""
    with pytest.raises(shapely.errors.GEOSException, match="TopologyException"):
        shapely.intersection(shapely.box(-1, 0.5, 3, 1.5), BOW_TIE)
    assert lies_in(zones, LOTS).tolist() == owners
