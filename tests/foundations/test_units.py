"""Units: exact factors, the international acre, and text that is not a distance."""

import pytest

from turfmap.foundations import units
from turfmap.foundations.errors import InputFaultsError


def test_the_acre_is_the_international_one() -> None:
    """1 lb/1000 sq ft is 43.56 lb/acre, by definition of the acre as 43,560 square feet.

    Source: NIST SP 811, B.8 (from memory). With pint's own acre, the US survey acre, it would be
    43.56017424.
    """
    quantity = units.registry().Quantity
    rate = quantity(1.0, "pound") / quantity(1000.0, "foot**2")
    assert rate.to("pound / acre").magnitude == pytest.approx(43.56, rel=1e-12)
    assert units.acres(units.SQUARE_METRES_PER_ACRE) == 1.0
    assert pytest.approx(4046.8564224, rel=1e-15) == units.SQUARE_METRES_PER_ACRE


@pytest.mark.parametrize(
    ("text", "distance_m"),
    [("25ft", 7.62), ("25 feet", 7.62), ("7.62 m", 7.62), ("10 yd", 9.144), ("1,000 ft", 304.8)],
)
def test_distances_as_people_type_them(text: str, distance_m: float) -> None:
    assert units.metres(text, record="--margin") == pytest.approx(distance_m, rel=1e-12)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "25",
        "ft",
        "25 lb",
        "25 ft**2",
        "-1 ft",
        "1e9 m",
        "nan m",
        "inf m",
        "9**9**9 m",
        "5 ft; x",
    ],
)
def test_anything_else_is_refused_in_a_sentence(text: str) -> None:
    """Nothing is evaluated: pint would take 9**9**9 for a sum to do."""
    with pytest.raises(InputFaultsError, match="--margin"):
        units.metres(text, record="--margin")


def test_words_for_people() -> None:
    assert units.distance_words(7.62) == "25 ft"
    assert units.distance_words(7.62 + 3.0) == "34.8 ft"
    assert units.area_words(4046.8564224) == "43,560 sq ft (1.00 ac)"
    # A hundredth of an acre is 435.6 sq ft; below, acres would say 0.00 or 0.01.
    assert units.area_words(435.7 * 0.3048**2) == "436 sq ft (0.01 ac)"
    assert units.area_words(435.5 * 0.3048**2) == "436 sq ft"


@pytest.mark.parametrize("text", ["7,6m", "2,5 ft", "0,125 m", "1,00 ft", "1.250,5 m", "1,2,3 ft"])
def test_a_decimal_comma_is_refused_and_never_multiplies(text: str) -> None:
    """Read as thousands, 7,6 m would be 76 m."""
    with pytest.raises(InputFaultsError, match=r"--margin.*write a decimal point"):
        units.metres(text, record="--margin")
    assert units.number("1,234,567.5", record="n") == 1_234_567.5
