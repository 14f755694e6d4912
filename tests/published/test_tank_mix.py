"""Rates, tank mixes, orders and water against printed worked examples, units by `pint`.

Sources: slides on the 1/128 method; Oklahoma State University-OKC, Calibrating Application
Equipment (2013); the PNW handbooks' weights and measures; MD0173 Pesticides in the military;
Turfgrass Mathematics Review (certification worksheet); a plant-watering page (1 in on 1,000 sq ft);
an older 4 lb/gal atrazine label. Each answer is met within the rounding of its print.
"""

import pytest
from pint import DimensionalityError

from tests.days.book import product
from turfmap.days.products import lb_per_acre, limit_of_active
from turfmap.days.quantities import quantity_of, rate
from turfmap.days.tanks import tanks
from turfmap.days.watering_in import minutes, volume_over


def of_rate(text: str, unit: str) -> float:
    return float(rate(text, record="test").per_area.to(unit).magnitude)


def test_a_quart_an_acre_at_40_gallons() -> None:
    """1/128 slides: 1 qt/A at 40 GPA is 0.8 fl oz (24 mL) in each gallon, and that is 1/40 acre."""
    one = tanks(
        quantity_of(1.0, "acre"),
        per_area=rate("1 qt/acre", record="test").per_area,
        carrier=rate("40 gal/acre", record="test").per_area,
        tank=quantity_of(1.0, "gallon"),
    )
    assert one.full == 40
    assert one.product_of_one.to("fluid_ounce").magnitude == pytest.approx(0.8, rel=1e-12)
    assert one.product_of_one.to("milliliter").magnitude == pytest.approx(24.0, abs=0.5)
    assert one.area_of_one.to("acre").magnitude == pytest.approx(1 / 40, rel=1e-12)


def test_acres_and_thousands() -> None:
    """Oklahoma State: 3.6 pt/A is 1.3 fl oz/1000; 40 gal/A is 0.92 gal/1000; 25 A: 11.25 gal."""
    per_thousand = 1000.0 * of_rate("3.6 pt/acre", "fluid_ounce / foot ** 2")
    assert per_thousand == pytest.approx(1.3, abs=0.05)
    assert 1000.0 * of_rate("40 gal/A", "gallon / foot ** 2") == pytest.approx(0.92, abs=0.005)
    ordered = rate("3.6 pt/acre", record="test").per_area * quantity_of(25.0, "acre")
    assert ordered.to("gallon").magnitude == pytest.approx(11.25, rel=1e-12)


def test_a_pound_a_thousand_is_43_56_an_acre() -> None:
    """By definition of the acre (NIST SP 811, from memory)."""
    assert of_rate("1 lb/1000 sq ft", "pound / acre") == pytest.approx(43.56, rel=1e-12)
    assert of_rate("1 gal/acre", "liter / hectare") == pytest.approx(9.353956, rel=1e-6)
    assert of_rate("1 fl oz/1000 sq ft", "liter / hectare") == pytest.approx(3.183268, rel=1e-6)


@pytest.mark.parametrize(
    ("lb_ai", "lb_per_gal", "printed_pt"), [(1.0, 4.0, 2.0), (1.5, 3.34, 3.6), (0.75, 3.0, 2.0)]
)
def test_active_ingredient_to_pints(lb_ai: float, lb_per_gal: float, printed_pt: float) -> None:
    """Weights and measures: pints an acre = 8 x lb ai an acre / lb in a gallon."""
    spray = product(concentrations=f"{lb_per_gal} lb/gal")
    found = spray.product_for(rate(f"{lb_ai} lb ai/acre", record="test"))
    assert found is not None
    assert found.to("pint / acre").magnitude == pytest.approx(printed_pt, abs=0.05)


def test_active_ingredient_to_grams_of_a_dry_product() -> None:
    """Weights and measures: 1 lb ai/A of a 65 % product is 16 g for 1,000 sq ft."""
    dry = product(concentrations="65 %", formulation="wettable_powder")
    found = dry.product_for(rate("1 lb ai/acre", record="test"))
    assert found is not None
    assert 1000.0 * found.to("gram / foot ** 2").magnitude == pytest.approx(16.0, abs=0.5)


def test_a_season_limit_of_the_product_itself() -> None:
    """Foramsulfuron (H8): 4.4 to 26.2 fl oz/A are 0.1 to 0.6 fl oz/1000; 54.5 a season are 1.25.

    A limit by volume is one of the product: its active ingredient follows from what it holds.
    """
    for per_acre, printed in ((4.4, 0.1), (26.2, 0.6), (54.5, 1.25)):
        found = 1000.0 * of_rate(f"{per_acre} fl oz/acre", "fluid_ounce / foot ** 2")
        assert found == pytest.approx(printed, abs=0.005)
    spray = product(
        active_ingredients="foramsulfuron", concentrations="2 lb/gal", annual_max="54.5 fl oz/acre"
    )
    limit = limit_of_active(spray, spray.actives[0], spray.actives[0].annual_max)
    assert limit is not None
    assert lb_per_acre(limit) == pytest.approx(2.0 * 54.5 / 128.0, rel=1e-12)


def test_an_older_label_of_atrazine_breaks_the_present_cap() -> None:
    """Older 4 lb/gal turf label: 3 tablespoons/1000 = 1.5 fl oz = 2.04 lb ai/A; now 1.0 (H3)."""
    spray = product(active_ingredients="atrazine", concentrations="4 lb/gal")
    per_area = rate("3 tbsp/1000 sq ft", record="test").per_area
    assert 1000.0 * per_area.to("fluid_ounce / foot ** 2").magnitude == pytest.approx(1.5)
    mass = spray.active_within(spray.actives[0], per_area)
    assert mass is not None
    assert lb_per_acre(mass) == pytest.approx(2.04, abs=0.005)


def test_an_inch_of_water() -> None:
    """Turfgrass Mathematics: 1 in on an acre is 27,154 gal or 3,630 cu ft; 1,000 sq ft: 623 gal."""
    acre = volume_over(quantity_of(1.0, "acre"), depth_in=1.0)
    assert acre.to("gallon").magnitude == pytest.approx(27154.0, abs=0.5)
    assert acre.to("foot ** 3").magnitude == pytest.approx(3630.0, rel=1e-12)
    thousand = volume_over(quantity_of(1000.0, "foot ** 2"), depth_in=1.0)
    assert thousand.to("gallon").magnitude == pytest.approx(623.0, abs=0.5)
    assert minutes(0.5, rate_in_per_h=0.5) == 60.0


@pytest.mark.parametrize(
    ("depth_in", "printed_sqft"),
    [(1.0, 324.0), (2.0, 162.0), (3.0, 108.0), (4.0, 81.0), (5.0, 64.8)],
)
def test_what_a_cubic_yard_of_mulch_covers(depth_in: float, printed_sqft: float) -> None:
    """A mulch coverage table; a garden article: 600 sq ft at 2 in are 3.70 cu yd."""
    yard = volume_over(quantity_of(printed_sqft, "foot ** 2"), depth_in=depth_in)
    assert yard.to("yard ** 3").magnitude == pytest.approx(1.0, rel=1e-12)
    bed = volume_over(quantity_of(600.0, "foot ** 2"), depth_in=2.0)
    assert bed.to("yard ** 3").magnitude == pytest.approx(3.70, abs=0.005)


def test_an_ounce_is_not_a_fluid_ounce() -> None:
    with pytest.raises(DimensionalityError):
        quantity_of(1.0, "fluid_ounce") + quantity_of(1.0, "ounce")
