"""Rates and amounts as people write them; and what no label prints, refused in a sentence."""

import pytest

from turfmap.days.quantities import amount, concentration, rate, volume
from turfmap.foundations.errors import InputFaultsError


@pytest.mark.parametrize(
    ("text", "same"),
    [
        ("3 fl oz/1000sqft", "3 fluid ounces per 1,000 square feet"),
        ("1.5 pt/acre", "0.1875 Gallons / A"),
        ("0.5 lbs/1000 sq. ft.", "21.78 lb/ac"),
        ("1 kg/ha", "0.1 g/m2"),
    ],
)
def test_two_ways_to_write_one_rate(text: str, same: str) -> None:
    one, other = (rate(words, record="x").per_area.to_base_units() for words in (text, same))
    assert one.magnitude == pytest.approx(other.magnitude, rel=1e-12)
    assert one.units == other.units


def test_a_rate_says_what_it_is_of() -> None:
    texts = ("1 lb ai/acre", "1 lb ae/acre", "1 lb N/1000 sq ft", "1 lb product/acre", "1 lb/acre")
    assert [rate(text, record="x").of for text in texts] == [
        "active",
        "active",
        "nitrogen",
        "product",
        "",
    ]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "3 oz",
        "3 oz/",
        "oz/acre",
        "-1 oz/acre",
        "0 oz/acre",
        "3 oz/0 acre",
        "1e9 lb/acre",
        "999999 lb/acre",
        "9**9 oz/acre",
        "nan oz/acre",
        "3 fl oz ai/acre",
        "3 ft/acre",
        "3 oz/oz",
        "1 lb/acre; 2 lb/acre",
        "1" * 500 + " oz/acre",
    ],
)
def test_what_is_no_rate(text: str) -> None:
    with pytest.raises(InputFaultsError, match="--rate"):
        rate(text, record="--rate")


@pytest.mark.parametrize("text", ["", "4", "150 %", "0 %", "-4 lb/gal", "4 lb/acre", "900 lb/gal"])
def test_what_is_no_concentration(text: str) -> None:
    with pytest.raises(InputFaultsError, match="concentrations"):
        concentration(text, record="concentrations")


@pytest.mark.parametrize("text", ["-5 gal", "0 gal", "inf gal", "50 lb", "1000000 gal", "gal"])
def test_what_is_no_tank(text: str) -> None:
    with pytest.raises(InputFaultsError, match="--tank"):
        volume(text, record="--tank")


def test_amounts_with_their_units() -> None:
    assert amount("2,000 lb", record="x").to("ton").magnitude == pytest.approx(1.0)
    assert amount("100gal", record="x").to("liter").magnitude == pytest.approx(378.5411784)


@pytest.mark.parametrize("text", ["2,5 oz/1000 sq ft", "3 oz/10,00 sq ft"])
def test_a_decimal_comma_is_refused(text: str) -> None:
    """Read as thousands, 2,5 oz would be ten times the rate."""
    with pytest.raises(InputFaultsError, match="write a decimal point"):
        rate(text, record="rate")
    with pytest.raises(InputFaultsError, match="write a decimal point"):
        concentration("6,5 %", record="concentration")
    assert (
        rate("3 oz/1,000 sq ft", record="rate").per_area
        == rate("3 oz/1000 sq ft", record="rate").per_area
    )
