"""Estimates against a sheet worked out by hand; beds with their plants. All figures are our own."""

import json
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tests.desk.test_bring_in import box, geojson
from turfmap.days.money import Currency, currency_of, margin_pct, money, price_of, rounded, shown
from turfmap.desk.beds import Covering, beds
from turfmap.desk.bring_in import bring_in
from turfmap.desk.business import Business
from turfmap.desk.import_batch import Source
from turfmap.desk.map import map_file
from turfmap.desk.new import new
from turfmap.desk.price import Wish, price
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


# Worked out by hand. The lawn is 1,658.2968 m2 by geographiclib, 17,849.76 sq ft, shown as 17,850.
# price: 17.85 x 9.75 = 174.0375; 17.85 x 1.05 = 18.74, least 60; 7 x 8.45 = 59.15.
# labour at 38.00: 17.85 x 6 min = 107.1 min; 17.85 x 9 min = 160.65 min, 101.745, halves up.
# product: 17.84976 x 2.5 lb = 44.6244 lb, of 50 lb for 61.50.
SHEET = {  # quantity, price, least price used, labour, product
    "autumn_pre_emergent": ("17850", "174.04", False, "67.83", "54.89"),
    "aeration": ("17850", "60.00", True, "101.75", "0.00"),
    "soil_test": ("1", "35.00", False, "9.50", "0.00"),
    "pruning_foliage": ("7", "59.15", False, "22.17", "0.00"),
}


def test_an_estimate_is_what_a_hand_computed_sheet_says(place: Path) -> None:
    """328.19 less 256.14 and 2 x 12 x 0.72 for the way is 54.77, 16.69 %."""
    found = priced(place, miles=12.0, visits=2)
    columns = ("quantity", "price", "is_minimum", "labour", "product")
    told = {line["task"]: tuple(line[name] for name in columns) for line in found["lines"]}
    assert told == SHEET
    assert (found["total"], found["travel"], found["cost"]) == ("328.19", "17.28", "273.42")
    assert (found["margin"], found["margin_pct"]) == ("54.77", "16.7")


def test_a_place_drawn_a_minute_ago_says_what_to_enter_and_then_has_its_price(
    tmp_path: Path,
) -> None:
    path = tmp_path / "new.gpkg"
    new(path)
    zones = geojson(tmp_path / "z.geojson", (box(0, 0), {"name": "Front", "kind": "turf"}))
    bring_in(path, zones, layer_name="zone", property_name="Rowan")
    with pytest.raises(InputFaultsError, match="--as rate_card, a table with the columns task"):
        price(path, Wish("Rowan", DAY))
    card = tmp_path / "card.csv"
    card.write_text("task,per,price\nbed_mulch,1000_sq_ft,60\n")
    bring_in(path, Source(card), layer_name="rate_card")
    with pytest.raises(InputFaultsError, match="no work for the kinds of zones"):
        price(path, Wish("Rowan", DAY))
    card.write_text("task,per,price,minutes\nautumn_pre_emergent,1000_sq_ft,9.75,6\n")
    bring_in(path, Source(card), layer_name="rate_card")
    found = price(path, Wish("Rowan", DAY, out=tmp_path / "e", formats=("md",)))
    assert found["total"] == "174.04"
    assert "its product is not in the rate card" in " ".join(found["unknown"])
    assert "174.04" in (tmp_path / "e" / "001-rowan.md").read_text("utf-8")


# As glibc's locale data give them, from memory; the codes and decimals are those of ISO 4217.
LOCALES = {
    "C": ("", 127, Currency()),
    "en_US": ("USD ", 2, Currency("USD", 2)),
    "es_MX": ("MXN ", 2, Currency("MXN", 2)),
    "ja_JP": ("JPY ", 0, Currency("JPY", 0)),
    "odd": ("US$ ", 2, Currency()),
}


@pytest.mark.parametrize("name", LOCALES)
def test_the_machine_s_locale_says_the_currency(name: str) -> None:
    symbol, decimals, wanted = LOCALES[name]
    found = currency_of({"int_curr_symbol": symbol, "int_frac_digits": decimals})
    assert found == wanted


def test_a_business_s_own_currency_comes_before_the_machine_s() -> None:
    yen = Currency("JPY", 0)
    assert Business().money_in(yen) == yen
    assert Business(currency="USD").money_in(yen) == Currency("USD", 2)
    assert Business(decimals=3).money_in(yen) == Currency("JPY", 3)


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
        place,
        miles=12.0,
        local=Currency("JPY", 0),
        out=tmp_path / "e",
        style=style,
        formats=("md", "pdf"),
        language="es",
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


def test_a_bed_s_plants_stand_on_the_map_in_words(place: Path) -> None:
    """Azalea: "right after bloom and before mid-June" (Arkansas Extension, B1)."""
    result = map_file(place, as_of=DAY, out=place.with_name("map.html"))
    page = (place.with_name("map.html")).read_text("utf-8")
    data = json.loads(page.partition('id="map-data">')[2].partition("</script>")[0])
    told = dict(zip(data["zones"]["name"], data["zones"]["plants"], strict=True))
    assert result["zones"] == 3
    assert [plant for plant, _ in told["Bed"]] == ["14 azalea", "6 lantana"]
    azalea, lantana = (words for _, words in told["Bed"])
    assert "blooms on old wood; prune: right after bloom and before mid-June" in azalea
    assert "Frost kills its tops." in lantana
    assert "Frost" not in azalea
    assert told["Front"] == []


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
    # "Right after bloom and before mid-June" (Arkansas Extension, B1).
    assert "2027-03" < azalea["opens"] < azalea["closes"] == "2027-06-15"
    late = beds(place, as_of=date(2027, 6, 20))["beds"][0]["plants"][0]
    assert (late["closes"], late["state"]) == ("2027-06-15", "missed")
    assert lantana["tender"]
    assert [one["plant"] for one in found["tender"]] == ["lantana"]
    assert any("Elm / Bed" in said for said in found["cautions"])
    assert "bed_mulch" in {task["task"] for task in bed["week"]}
    wider = beds(place, as_of=DAY, covering=Covering("pine_straw", bale_covers_sqft=70.0))
    assert wider["totals"]["cover"]["to_buy"] == -(-bed["area_sqft"] // 70)
    with pytest.raises(InputFaultsError, match="no material 'gravel'"):
        beds(place, as_of=DAY, covering=Covering("gravel"))
