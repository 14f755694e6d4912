"""Drawn ground against what handbooks work out by tape: widths, ovals, trapezoids.

Sources: University of Maryland Extension, bay-wise calculation example (widths every 10 ft);
University of Missouri, Calibration guidelines for home lawns (2010: trapezoid, oval); an article
on measuring a putting green (title only: the offset method is good to 5 %).

The shapes are laid on the ground at 33 N by our own plane and measured again as zones are.
"""

import numpy as np
import pytest
import shapely
from numpy.typing import ArrayLike

from turfmap.foundations import plane
from turfmap.foundations.shapes import shape_array
from turfmap.foundations.units import METRES_PER_FOOT, square_feet
from turfmap.ground.near import Things
from turfmap.ground.treatable import treatable

AT = np.array([[-84.0, 33.0]])
NOTHING = Things(np.empty(0, dtype=object), np.empty(0))


def drawn_sqft(corners_ft: ArrayLike) -> float:
    """Return the area of a zone with corners that many feet east and north of a place."""
    flat = shape_array([shapely.Polygon(np.asarray(corners_ft) * METRES_PER_FOOT)])
    zone = plane.unflatten(flat, AT)
    found = treatable(zone, NOTHING, NOTHING, rank=np.zeros(1))
    return square_feet(float(found.gross_m2[0]))


def test_strips_ten_feet_wide() -> None:
    """Maryland: "widths 40, 30, 50 ft every 10 ft": 1,200 sq ft."""
    widths = (40.0, 30.0, 50.0)
    right = [(width, 10.0 * (row + end)) for row, width in enumerate(widths) for end in (0, 1)]
    assert drawn_sqft([(0, 0), *right, (0, 30)]) == pytest.approx(1200.0, rel=1e-6)


def test_a_trapezoid() -> None:
    """Missouri: (A + B) / 2 x h; the sides are our own."""
    corners = [(0, 0), (50, 0), (30, 20), (0, 20)]
    assert drawn_sqft(corners) == pytest.approx((50.0 + 30.0) / 2.0 * 20.0, rel=1e-6)


def test_an_oval_and_its_offsets() -> None:
    """Missouri: an oval of 60 by 40 ft is 0.8 L W, "1,920 sq ft"; the ellipse is 1,885.

    The rule is 1.9 % high, and offsets every 10 ft are good to 5 %, as both sheets say of it.
    """
    turn = np.linspace(0.0, 2.0 * np.pi, 721)[:-1]
    found = drawn_sqft(np.column_stack((30.0 * np.cos(turn), 20.0 * np.sin(turn))))
    assert found == pytest.approx(np.pi / 4.0 * 60.0 * 40.0, rel=1e-4)
    assert found == pytest.approx(1920.0, rel=0.02)
    places = np.arange(-25.0, 30.0, 10.0)
    offsets = 40.0 * np.sqrt(1.0 - (places / 30.0) ** 2)
    assert found == pytest.approx(10.0 * offsets.sum(), rel=0.05)
