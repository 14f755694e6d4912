"""What must hold of every load: nothing lost in splitting, rounding or turning round."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from tests.days.book import product
from turfmap.days.amounts import area, measures, purchase, share, total, words
from turfmap.days.limits import CALENDAR, ROLLING, Applied, fullest_year
from turfmap.days.quantities import quantity_of, rate
from turfmap.days.tanks import tanks

# The first draw loads the unit registry.
UNHURRIED = settings(deadline=None)
RATES = some.sampled_from(["3 fl oz/1000 sq ft", "1.5 pt/acre", "0.5 lb ai/acre", "2 qt/acre"])
GROUND_M2 = some.floats(0.01, 1e6)


@UNHURRIED
@given(RATES, some.lists(GROUND_M2, min_size=1, max_size=12))
def test_splitting_a_zone_never_changes_the_total(text: str, parts_m2: list[float]) -> None:
    spread = product().product_for(rate(text, record="x"))
    assert spread is not None
    whole = total([area(part) for part in parts_m2]) * spread
    in_parts = total([area(part) * spread for part in parts_m2])
    assert share(in_parts, whole) == pytest.approx(1.0, rel=1e-12)


@UNHURRIED
@given(RATES, GROUND_M2)
def test_amounts_invert(text: str, ground_m2: float) -> None:
    spread = product().product_for(rate(text, record="x"))
    assert spread is not None
    back = (area(ground_m2) * spread / spread).to("meter ** 2").magnitude
    assert back == pytest.approx(ground_m2, rel=1e-12)
    active = product().active_within(product().actives[0], spread)
    assert active is not None
    again = product().product_for(
        rate(f"{active.to('lb / acre').magnitude:.17f} lb ai/acre", record="x")
    )
    assert again is not None
    assert share(again, spread) == pytest.approx(1.0, rel=1e-9)


@UNHURRIED
@given(RATES, GROUND_M2, some.floats(1.0, 500.0), some.floats(0.5, 5.0))
def test_tanks_hold_all_of_it_and_no_more(
    text: str, ground_m2: float, tank_gal: float, gal_per_1000: float
) -> None:
    spread = product().product_for(rate(text, record="x"))
    assert spread is not None
    carrier = quantity_of(gal_per_1000 / 1000.0, "gallon / foot ** 2")
    tank = quantity_of(tank_gal, "gallon")
    load = tanks(area(ground_m2), per_area=spread, carrier=carrier, tank=tank)
    assert 0.0 <= share(load.part_spray, tank) < 1.0
    poured = load.full * load.product_of_one + load.part_product
    assert share(poured, area(ground_m2) * spread) == pytest.approx(1.0, rel=1e-8)
    covered = load.full * load.area_of_one + load.part_area
    assert share(covered, area(ground_m2)) == pytest.approx(1.0, rel=1e-8)


def test_a_load_that_fills_its_tanks_has_no_part_tank() -> None:
    carrier = quantity_of(1.0, "gallon") / quantity_of(1000.0, "foot ** 2")
    ground, spread = quantity_of(3e5, "foot ** 2"), quantity_of(3.0, "fluid_ounce / acre")
    load = tanks(ground, per_area=spread, carrier=carrier, tank=quantity_of(100.0, "gallon"))
    assert (load.full, load.fillings) == (3, 3)
    assert load.part_spray.magnitude == 0.0
    # 0.3 / 0.1 is a hair less than 3 in binary numbers.
    small = quantity_of(0.1, "gallon")
    few = tanks(quantity_of(300.0, "foot ** 2"), per_area=spread, carrier=carrier, tank=small)
    assert few.fillings == 3


@UNHURRIED
@given(some.floats(1e-3, 1e4), some.floats(1e-2, 100.0))
def test_a_purchase_is_enough_and_never_a_pack_too_many(need_lb: float, pack_lb: float) -> None:
    need, pack = quantity_of(need_lb, "pound"), quantity_of(pack_lb, "pound")
    bought = purchase(need, pack)
    assert bought.packs is not None
    assert share(bought.amount, need) >= 1.0 - 1e-8
    assert (bought.packs - 1) * pack_lb < need_lb


def test_the_exact_amount_is_not_the_purchase() -> None:
    need = quantity_of(12.0, "pound")
    found = purchase(need, quantity_of(50.0, "pound"))
    assert (found.packs, measures(found.amount)["lb"]) == (1, 50.0)
    assert measures(need)["lb"] == pytest.approx(12.0, rel=1e-12)
    assert purchase(quantity_of(1.2, "ounce"), None).amount.to("ounce").magnitude == 2.0
    assert purchase(quantity_of(0.1, "gallon") * 3, quantity_of(0.1, "gallon")).packs == 3


def test_words_that_are_measured_out() -> None:
    assert words(quantity_of(11.25, "gallon")) == "11 gal 1 qt (42.6 L)"
    assert words(quantity_of(20.52, "fluid_ounce")) == "20.5 fl oz (607 mL)"
    assert words(quantity_of(7.06, "pound")) == "7 lb 1 oz (3.2 kg)"
    assert words(quantity_of(127.99, "fluid_ounce")) == "1 gal (3.79 L)"
    assert words(quantity_of(7057.0, "pound")) == "7,057.0 lb (3,201 kg)"


DAYS = some.integers(0, 1500).map(lambda day: date(2024, 1, 1) + timedelta(day))
VISITS = some.lists(
    some.builds(Applied, DAYS, some.floats(0.0, 3.0), some.just("visit")), max_size=12
)
YEARS = some.sampled_from([ROLLING, CALENDAR, None])


@UNHURRIED
@given(VISITS, some.builds(Applied, DAYS, some.floats(0.0, 3.0), some.just("more")), DAYS, YEARS)
def test_an_annual_sum_never_falls_when_something_more_was_applied(
    applied: list[Applied], more: Applied, day: date, year: str | None
) -> None:
    for on in (day, None):
        before = fullest_year(applied, 0.5, day=on, label_year=year)
        after = fullest_year([*applied, more], 0.5, day=on, label_year=year)
        assert after.total_lb_per_acre >= before.total_lb_per_acre - 1e-12


@UNHURRIED
@given(VISITS, DAYS, YEARS)
def test_no_day_given_is_the_worst_day(applied: list[Applied], day: date, year: str | None) -> None:
    if applied:
        worst = fullest_year(applied, 0.5, day=None, label_year=year).total_lb_per_acre
        assert (
            worst >= fullest_year(applied, 0.5, day=day, label_year=year).total_lb_per_acre - 1e-12
        )
