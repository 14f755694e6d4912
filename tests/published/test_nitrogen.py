"""Fertiliser against printed worked examples: nitrogen to product, bags rounded up, P and K.

Sources: Turfgrass Mathematics Review (certification worksheet); University of Nebraska, lawn
fertiliser calculator; a worked example after Purdue (16-8-8); University of Massachusetts, Rotary
spreader calibration procedures (20-5-10).
"""

import pytest

from tests.days.book import product
from turfmap.days.amounts import purchase, total
from turfmap.days.load_sheet import Equipment, load_sheet
from turfmap.days.mixes import Book, Wish, mixed
from turfmap.days.products import Product
from turfmap.days.quantities import quantity_of, rate

ACRE_M2 = 4046.8564224


def fertiliser(analysis: str) -> Product:
    nitrogen, phosphate, potash = analysis.split("-")
    return product(
        active_ingredients=None,
        concentrations=None,
        formulation="granular",
        nitrogen_pct=nitrogen,
        phosphate_pct=phosphate,
        potash_pct=potash,
    )


@pytest.mark.parametrize(
    ("analysis", "wanted", "printed_lb_per_1000"),
    [("25-0-0", 0.9, 3.6), ("28-0-0", 1.0, 3.57), ("16-8-8", 0.75, 4.69), ("20-5-10", 1.0, 5.0)],
)
def test_product_for_nitrogen(analysis: str, wanted: float, printed_lb_per_1000: float) -> None:
    per_area = fertiliser(analysis).product_for(rate(f"{wanted} lb N/1000 sq ft", record="test"))
    assert per_area is not None
    found = 1000.0 * per_area.to("pound / foot ** 2").magnitude
    assert found == pytest.approx(printed_lb_per_1000, abs=0.005)


@pytest.mark.parametrize(
    ("analysis", "wanted", "area_sqft", "printed_lb", "rounding"),
    [("28-0-0", 1.0, 6000.0, 21.42, 0.02), ("16-8-8", 0.75, 8000.0, 37.5, 0.05)],
)
def test_product_for_a_lawn(
    analysis: str, wanted: float, area_sqft: float, printed_lb: float, rounding: float
) -> None:
    """Nebraska: 6,000 x 3.57 = 21.42 (21.43 unrounded). After Purdue: 37.5 lb for 8,000 sq ft."""
    per_area = fertiliser(analysis).product_for(rate(f"{wanted} lb N/1000 sq ft", record="test"))
    assert per_area is not None
    found = (per_area * quantity_of(area_sqft, "foot ** 2")).to("pound").magnitude
    assert found == pytest.approx(printed_lb, abs=rounding)


def test_bags_are_rounded_up_and_the_exact_amount_stays() -> None:
    """Worksheet: 0.9 lb N from 25 % on 45 acres in 50 lb bags: 7,057 lb, 142 bags (141.1)."""
    per_area = fertiliser("25-0-0").product_for(rate("0.9 lb N/1000 sq ft", record="test"))
    assert per_area is not None
    exact = total([per_area * quantity_of(45.0, "acre")])
    bought = purchase(exact, quantity_of(50.0, "pound"))
    assert exact.to("pound").magnitude == pytest.approx(7057.0, abs=0.5)
    assert exact.to("pound").magnitude / 50.0 == pytest.approx(141.1, abs=0.05)
    assert bought.packs == 142
    assert bought.amount.to("pound").magnitude == pytest.approx(7100.0)


def test_nutrients_of_a_load() -> None:
    """Worksheet: 1,250 lb of 5-10-20 hold 62.5 N, 125 P2O5 and 250 K2O."""
    one = fertiliser("5-10-20")
    per_area = quantity_of(1250.0, "pound / acre")
    found = [
        one.nutrient_within(f"{name}_pct", per_area) for name in ("nitrogen", "phosphate", "potash")
    ]
    assert [
        part is not None and part.to("pound / acre").magnitude for part in found
    ] == pytest.approx([62.5, 125.0, 250.0])


def test_phosphorus_and_potassium_are_told_beside_their_oxides() -> None:
    """Worksheet: 1,250 lb of 5-10-20: "62.5 N, 125 P2O5, 55 P" by P = 0.44 P2O5.

    The potassium is lost in the copy that was read: by its own rule, K = 0.83 K2O, 207.5 (derived).
    Here they stand in a load of 1,250 lb on one acre.
    """
    feed = fertiliser("5-10-20")
    zone = {"property": "A", "name": "B", "kind": "turf", "species": None, "treatable_m2": ACRE_M2}
    wish = Wish(feed, rate("1250 lb/acre", record="test"))
    (load,) = load_sheet(mixed([zone], wish, Book({})), feed, Equipment())["loads"]
    acre = {name: 43.56 * per_thousand for name, per_thousand in load["nutrients"].items()}
    assert acre == pytest.approx(
        {
            "nitrogen_lb_per_1000_sq_ft": 62.5,
            "phosphate_lb_per_1000_sq_ft": 125.0,
            "phosphorus_lb_per_1000_sq_ft": 55.0,
            "potash_lb_per_1000_sq_ft": 250.0,
            "potassium_lb_per_1000_sq_ft": 207.5,
        }
    )
