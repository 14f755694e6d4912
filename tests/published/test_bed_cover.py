"""Straw and mulch for beds against printed figures.

Sources: a garden article (600 sq ft of bark, 2 in deep); a mulch coverage table; a pine-needle
sheet and a garden chart, which differ on what a bale covers, so that it is a setting.
"""

import pytest

from turfmap.days.bed_cover import bales, loose

SQFT_M2 = 0.3048**2


def test_bark_for_600_square_feet() -> None:
    """Garden article: 600 sq ft at 2 in are "3.70 cu yd", and 4 are bought."""
    found = loose(600.0 * SQFT_M2, depth_in=2.0)
    assert found.cubic_yards == pytest.approx(3.70, abs=0.005)
    assert (found.to_buy, found.unit) == (4, "cubic yard")


@pytest.mark.parametrize(("depth_in", "sqft"), [(1, 324), (2, 162), (3, 108), (4, 81), (5, 64.8)])
def test_a_cubic_yard_is_bought_as_one(depth_in: float, sqft: float) -> None:
    """Coverage table: that is what a yard covers; a foot more needs a second one."""
    assert loose(sqft * SQFT_M2, depth_in=depth_in).to_buy == 1
    assert loose((sqft + 1.0) * SQFT_M2, depth_in=depth_in).to_buy == 2


def test_what_lies_there_already_is_taken_off() -> None:
    """3 in with 1 in there is the 2 in of the article; enough there needs nothing."""
    assert loose(600.0 * SQFT_M2, depth_in=3.0, there_in=1.0).to_buy == 4
    assert loose(600.0 * SQFT_M2, depth_in=2.0, there_in=2.5).to_buy == 0
    assert loose(162.0 * SQFT_M2, depth_in=2.0, bag_cu_ft=2.0).to_buy == 14  # 27 / 2, rounded up


def test_bales_by_what_one_covers() -> None:
    """Pine-needle sheet: "about 35 sq ft" a bale at 2 to 3 in; the chart: 50 to 70."""
    bed_m2 = 700.0 * SQFT_M2
    counts = [bales(bed_m2, covers_sqft=covers).to_buy for covers in (35, 50, 70)]
    assert counts == [20, 14, 10]
    assert bales(bed_m2 + SQFT_M2, covers_sqft=35.0).to_buy == 21
