"""Estimates against a sheet worked out by hand; beds with their plants. All figures are our own."""

from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tests.desk.test_bring_in import box, geojson
from turfmap.days.money import margin_pct, money, price_of, rounded, shown
from turfmap.desk.area import area
from turfmap.desk.beds import Covering, beds
from turfmap.desk.bring_in import bring_in
from turfmap.desk.import_batch import Source
from turfmap.desk.new import new
from turfmap.desk.price import Wish, price
from turfmap.desk.protected import Overrides
from turfmap.foundations.errors import InputFaultsError

DAY = date(2026, 9, 24)
TABLES = {
    "product": (
        "name,active_ingredients,concentrations,formulation,rate\n"
        "Barrier,prodiamine,0.5 %,granular,2.5 lb/1000 sq ft\n"
    ),
    "rate_card": (
        "task,per,price,minimum,unit,product,minutes\n"
        "autumn_pre_emergent,1000_sq_ft,9.75,45.00,,Barrier,6\n"
        "aeration,1000_sq_ft,1.05,60,,,9\n"
        "soil_test,visit,35.00,,,,15\n"
        "pruning_foliage,unit,8.45,,shrub,,5\n"
    ),
    "own_cost": "item,price,per\nlabour,38.00,hour\ntravel,0.72,mile\nBarrier,61.50,50 lb\n",
    "bed_plant": (
        "property,zone,plant,how_many\nAlder,Bed,azalea,14\nAlder,Bed,lantana,6\nElm,Bed,azalea,1\n"
    ),
}


@pytest.fixture
def place(tmp_path: Path) -> Path:
    path = tmp_path / "place.gpkg"
    new(path)
    lot = geojson(tmp_path / "lot.geojson", (box(0, 0, 3e-3), {"name": "Alder", "client": "A & B"}))
    bring_in(path, lot, layer_name="property")
    zones = (
        (box(0, 0), {"name": "Front", "kind": "turf", "species": "bermuda"}),
        (box(1e-3, 0, 2e-4), {"name": "Bed", "kind": "bed", "bed_type": "old_wood_shrubs"}),
        (box(1.5e-3, 0, 2e-4), {"name": "Food", "kind": "bed", "bed_type": "vegetables"}),
    )
    bring_in(path, geojson(tmp_path / "zones.geojson", *zones), layer_name="zone")
    for name, text in TABLES.items():
        (tmp_path / f"{name}.csv").write_text(text)
        bring_in(path, Source(tmp_path / f"{name}.csv"), layer_name=name)
    return path


def priced(place: Path, **more: Any) -> dict[str, Any]:
    return price(place, Wish("Alder", DAY, units={"pruning_foliage": 7}, **more))


def sqft(place: Path, *kinds: str) -> Decimal:
    measured = area(place, property_name="Alder", product=None, overrides=Overrides({}))
    total = sum(zone["treatable_sqft"] for zone in measured["zones"] if zone["kind"] in kinds)
    return Decimal(round(total))


def test_an_estimate_is_what_a_hand_computed_sheet_says(place: Path) -> None:
    found = priced(place, miles=12.0, visits=2)
    lines = {line["task"]: line for line in found["lines"]}
    lawn = sqft(place, "turf")
    assert 17_000 < lawn < 18_500
    barrier = lines["autumn_pre_emergent"]
    assert barrier["quantity"] == str(lawn)
    assert Decimal(barrier["price"]) == rounded(lawn * Decimal("9.75") / 1000, 2)
    assert Decimal(barrier["labour"]) == rounded(lawn * 6 / 1000 * 38 / 60, 2)
    spread_lb = float(lawn) * 2.5 / 1000
    assert float(barrier["product"]) == pytest.approx(spread_lb / 50 * 61.5, abs=0.01)
    assert (lines["aeration"]["price"], lines["aeration"]["is_minimum"]) == ("60.00", True)
    assert lines["soil_test"]["price"] == "35.00"
    assert lines["pruning_foliage"]["price"] == "59.15"  # 7 x 8.45
    assert Decimal(found["total"]) == sum(Decimal(line["price"]) for line in found["lines"])
    assert found["travel"] == "17.28"  # 2 x 12 x 0.72
    costs = [line[name] for line in found["lines"] for name in ("labour", "product")]
    assert Decimal(found["cost"]) == sum(map(Decimal, costs)) + Decimal("17.28")
    assert Decimal(found["margin"]) == Decimal(found["total"]) - Decimal(found["cost"])


def test_what_a_cost_lacks_is_said_and_the_margin_is_not_known(place: Path) -> None:
    found = priced(place)
    assert (found["cost"], found["margin"], found["margin_pct"]) == (None, None, None)
    assert "miles" in " ".join(found["unknown"])
    with pytest.raises(InputFaultsError, match="--count pruning_foliage=N"):
        price(place, Wish("Alder", DAY))
    with pytest.raises(InputFaultsError, match="no such task"):
        price(place, Wish("Alder", DAY, tasks=("raking",)))


def test_the_client_sees_prices_and_no_costs(place: Path, tmp_path: Path) -> None:
    style = tmp_path / "style"
    style.mkdir()
    (style / "business.toml").write_text('currency = "USD"\n')
    found = priced(
        place, miles=12.0, out=tmp_path / "e", style=style, formats=("md", "pdf"), language="es"
    )
    assert found["files"] == ["001-a-b.md", "001-a-b.pdf"]
    text = (tmp_path / "e" / "001-a-b.md").read_text("utf-8")
    assert f"USD {Decimal(found['total']):,}" in text
    assert "Hola, A & B:" in text
    assert str(found["cost"]) not in text


@pytest.mark.parametrize("text", ["-1", "1,50", "$5", "1e3", "", "12.34567", "0x1"])
def test_what_is_no_price_is_refused(place: Path, tmp_path: Path, text: str) -> None:
    with pytest.raises(InputFaultsError, match="not a price"):
        money(text, record="x")


def test_money_is_rounded_halves_up_and_shown_with_its_code() -> None:
    """Binary fractions would give 2.67 for 2.675."""
    assert rounded(Decimal("2.675"), 2) == Decimal("2.68")
    found = price_of(Decimal("0.5"), Decimal("9.75"), minimum=None, decimals=2)
    assert (found.amount, found.is_minimum) == (Decimal("4.88"), False)
    assert shown(Decimal("1234.5"), "USD", 2) == "USD 1,234.50"
    assert shown(Decimal("1234.5"), None, 0) == "1,235"
    assert margin_pct(Decimal(0), Decimal(5)) is None


def test_beds_have_cover_edging_and_their_plants(place: Path) -> None:
    found = beds(place, as_of=date(2026, 11, 16), covering=Covering("pine_straw"))
    bed, food = found["beds"]
    side_m = bed["area_m2"] ** 0.5
    assert bed["edging_m"] == pytest.approx(4 * side_m, rel=0.02)
    assert bed["cover"]["to_buy"] == -(-bed["area_sqft"] // 35)
    assert food["cover"] is None  # nobody mulches a vegetable bed with straw unasked
    assert found["totals"]["cover"]["to_buy"] == bed["cover"]["to_buy"]
    azalea, lantana = bed["plants"]
    assert (azalea["blooms_on"], azalea["how_many"]) == ("old", 14)
    assert azalea["opens"] > "2027-03"  # after bloom (Arkansas Extension, B1)
    assert lantana["tender"]
    assert [one["plant"] for one in found["tender"]] == ["lantana"]
    assert any("Elm / Bed" in said for said in found["cautions"])
    assert "bed_mulch" in {task["task"] for task in bed["week"]}
    wider = beds(place, as_of=DAY, covering=Covering("pine_straw", bale_covers_sqft=70.0))
    assert wider["totals"]["cover"]["to_buy"] == -(-bed["area_sqft"] // 70)
    with pytest.raises(InputFaultsError, match="no material 'gravel'"):
        beds(place, as_of=DAY, covering=Covering("gravel"))
