"""Figures of rasters in words: never rounded to none or to all, always with where they are from."""

from datetime import date

import pytest

from turfmap.views.measured_words import (
    class_words,
    degrees,
    from_words,
    share_words,
    slope_words,
    sun_words,
)


@pytest.mark.parametrize(
    ("slope_pct", "angle"), [(0.0, "0°"), (17.63, "10°"), (26.79, "15°"), (100.0, "45°")]
)
def test_degrees_are_the_arc_tangent(slope_pct: float, angle: str) -> None:
    """Tangents of 10 and 15 degrees are 0.1763 and 0.2679 in any table of them."""
    assert degrees(slope_pct) == angle


@pytest.mark.parametrize(
    ("share_pct", "said"),
    [(0.0, "none"), (0.04, "under 1 %"), (41.6, "42 %"), (99.7, "over 99 %"), (100.0, "all")],
)
def test_a_little_is_never_none_and_nearly_all_never_all(share_pct: float, said: str) -> None:
    assert share_words(share_pct) == said


def test_part_of_a_zone_is_told() -> None:
    told = slope_words(mean_pct=8.0, most_pct=None, over_pct=None, limit_pct=None, known_pct=60.0)
    assert told == "mean 8 % (5°). Known of 60 % of the zone."
    told = sun_words(hours=5.25, measured="partial shade", tagged="", known_pct=100.0)
    assert told == "5.2 hours of direct sun a day: partial shade."


def test_where_a_figure_comes_from_is_told_or_that_nobody_knows() -> None:
    assert from_words("dem.tif", date(2024, 3, 12), 10.0) == (
        "From dem.tif, taken 12 Mar 2024, cells of 10 m."
    )
    assert (
        from_words("dem.tif", None, 1.0) == "From dem.tif, date not known, cells of 1 m (3.3 ft)."
    )
    assert from_words(None, None, None) == "Not known what it was measured on."


def test_classes_have_their_numbers() -> None:
    assert class_words("slope", 26.79, None, "too much") == "over 27 % (15°): too much"
    assert class_words("sun", 0.0, 4.0, "deep shade") == "under 4 h a day: deep shade"
    assert class_words("sun", 8.0, None, "full sun") == "8 h a day or more: full sun"
