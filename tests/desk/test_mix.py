"""A load from a place's file: amounts, groups, limits with their sums, and what is refused."""

import csv
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import shapely

from tests.desk.test_bring_in import SOUTH, WEST, box, geojson
from turfmap.days.load_sheet import Equipment
from turfmap.days.quantities import quantity_of, rate
from turfmap.desk.area import area
from turfmap.desk.bring_in import bring_in
from turfmap.desk.due import due
from turfmap.desk.import_batch import Source
from turfmap.desk.mix import Asked, mix
from turfmap.desk.new import new
from turfmap.desk.protected import Overrides
from turfmap.foundations.errors import InputFaultsError

PLAIN = Overrides({})
NOTHING = Equipment()
DAY = date(2026, 9, 24)
BARRIER = {
    "name": "Barrier",
    "active_ingredients": "dithiopyr",
    "concentrations": "2 lb/gal",
    "formulation": "emulsifiable",
    "rate": "0.5 lb ai/acre",
    "rate_high": "0.5 lb ai/acre",
    "single_max": "0.5 lb/acre",
    "annual_max": "1.5 lb/acre",
    "label_year": "rolling_12_months",
    "pack": "2.5 gal",
    "water_in_depth_in": "0.5",
    "carrier_low": "20 gal/acre",
    "carrier_high": "60 gal/acre",
}
SURE = BARRIER | {"name": "Sure barrier", "rate": "1 qt/acre", "confirmed_on": "2026-02-01"}
FEED = {
    "name": "Feed",
    "formulation": "granular",
    "nitrogen_pct": "25",
    "rate": "0.9 lb N/1000 sq ft",
    "pack": "50 lb",
}
WRONG = [
    {
        "name": "A",
        "active_ingredients": "moonshine",
        "concentrations": "4 lb/gal",
        "formulation": "flowable",
        "rate": "3 oz/1000 sq ft",
        "pack": "50 lb",
    },
    {
        "name": "B",
        "active_ingredients": "atrazine",
        "concentrations": "4 lb/gal",
        "rate": "1.5 fl oz/1000 sq ft",
        "rate_low": "3 qt/acre",
        "single_max": "1 lb/acre",
        "annual_max": "0.5 lb/acre",
    },
    {"name": "C", "nitrogen_pct": "50", "phosphate_pct": "40", "potash_pct": "20"},
    {
        "name": "D",
        "active_ingredients": "2,4-D; dicamba",
        "concentrations": "4 lb/gal",
        "rate": "-1 pt/acre",
    },
    {"name": "D", "active_ingredients": "dicamba", "wind_low_mph": "12", "wind_high_mph": "10"},
    {"name": "E", "formulation": "liquid"},
]


def file(folder: Path, name: str, text: str) -> Source:
    path = folder / name
    path.write_text(text, "utf-8")
    return Source(path)


def rows(folder: Path, *products: dict[str, str]) -> Source:
    path = folder / "products.csv"
    names = dict.fromkeys(name for product in products for name in product)
    with path.open("w", encoding="utf-8", newline="") as out:
        writer = csv.DictWriter(out, list(names), restval="")
        writer.writeheader()
        writer.writerows(products)
    return Source(path)


@pytest.fixture
def place(tmp_path: Path) -> Path:
    path = tmp_path / "place.gpkg"
    new(path)
    lot = geojson(tmp_path / "lot.geojson", (box(0, 0, 3e-3), {"name": "Alder"}))
    bring_in(path, lot, layer_name="property")
    grasses = {"Front": "bermuda", "Back": "centipede", "Side": None, "Shade": "tall_fescue"}
    zones = [
        (
            box(5e-4 * index, 0),
            {"name": name, "kind": "turf", "species": grass, "overseeding": "none"},
        )
        for index, (name, grass) in enumerate(grasses.items())
    ]
    bring_in(path, geojson(tmp_path / "zones.geojson", *zones), layer_name="zone")
    bring_in(path, rows(tmp_path, BARRIER, SURE), layer_name="product")
    rates = "product,species,rate\nBarrier,centipede,0.25 lb ai/acre\n"
    bring_in(path, file(tmp_path, "rates.csv", rates), layer_name="product_rate")
    return path


def load(place: Path, equipment: Equipment = NOTHING, **asked: Any) -> dict[str, Any]:
    usual = Asked(product="Barrier", properties=("Alder",), day=DAY)
    return mix(place, replace(usual, **asked), equipment=equipment, overrides=PLAIN)


def visited(place: Path, tmp_path: Path, *rows: str) -> None:
    heading = "property,zone,task,date,product,amount,amount_unit,area_treated_m2\n"
    text = heading + "".join(f"Alder,{row}\n" for row in rows)
    bring_in(place, file(tmp_path, "visits.csv", text), layer_name="visit")


def test_amounts_are_treatable_ground_times_the_rate(place: Path) -> None:
    """0.5 lb/acre of 2 lb/gal is a quart an acre; zones of one rate are one mix."""
    found = load(place)
    areas = area(place, property_name="Alder", product="Barrier", overrides=PLAIN)["zones"]
    ground = {zone["zone"]: zone["treatable_m2"] for zone in areas}
    first, second = found["loads"]
    assert [zone["zone"] for zone in first["zones"]] == ["Front", "Shade"]
    assert [zone["zone"] for zone in second["zones"]] == ["Back"]
    assert first["exact"]["gal"] == pytest.approx(
        (ground["Front"] + ground["Shade"]) / 4046.8564224 / 4.0, rel=1e-9
    )
    assert second["exact"]["gal"] == pytest.approx(ground["Back"] / 4046.8564224 / 8.0, rel=1e-9)
    (odd,) = found["left_out"]
    assert (odd["zone"], odd["why"]) == ("Side", ["its grass is not known"])
    assert (found["purchase"]["packs"], found["purchase"]["gal"]) == (1, pytest.approx(2.5))
    assert found["left_over"]["gal"] == pytest.approx(2.5 - found["exact"]["gal"])


def test_an_unconfirmed_product_is_planned_with_and_never_a_go(place: Path) -> None:
    found = load(place)
    assert not found["is_confirmed"]
    assert "confirm on the label" in found["asks"][0]
    assert "confirm on the label" in " ".join(found["cautions"])
    sure = load(place, product="Sure barrier")
    assert sure["is_confirmed"]
    assert sure["asks"] == []


def test_tanks_and_watering_in(place: Path) -> None:
    equipment = Equipment(
        rate("1 gal/1000sqft", record="x"), quantity_of(5.0, "gallon"), precipitation_in_per_h=0.5
    )
    one = load(place, equipment, zones=("Front",))["loads"][0]
    tanks = one["spray"]["tanks"]
    assert one["spray"]["volume"]["gal"] == pytest.approx(one["area_sqft"] / 1000.0)
    assert tanks["fillings"] == tanks["full"] + 1
    poured = tanks["full"] * tanks["each_full"]["product"]["ml"] + tanks["part"]["product"]["ml"]
    assert poured == pytest.approx(one["exact"]["ml"])
    assert one["spray"]["water"]["l"] == pytest.approx(
        one["spray"]["volume"]["l"] - one["exact"]["l"]
    )
    assert one["water_in"]["minutes"] == 60.0
    with pytest.raises(InputFaultsError, match="--carrier"):
        load(place, Equipment(tank=quantity_of(25.0, "gallon")))
    for volume, words in (
        ("1 gal/acre", "below the 20 gal/acre on the label"),
        ("80 gal/acre", "above the 60 gal/acre on the label"),
        ("1 lb/acre", "no volume for an area"),
    ):
        with pytest.raises(InputFaultsError, match=words):
            load(place, Equipment(rate(volume, record="x")))


def test_a_load_over_a_limit_is_refused_with_the_sum(place: Path, tmp_path: Path) -> None:
    """0.6 gal of 2 lb/gal on an acre are 1.2 lb; with 0.5 that is above 1.5 in twelve months."""
    visited(place, tmp_path, "Front,spring_pre_emergent,2026-03-03,Barrier,0.6,gal,4046.8564224")
    with pytest.raises(InputFaultsError) as told:
        load(place)
    (fault,) = told.value.faults
    assert "1.2 (3 Mar 2026, Barrier) + 0.5 (this load) = 1.7 lb per acre" in str(fault)
    assert "Alder / Front" in str(fault)
    assert load(place, zones=("Shade", "Alder / Back"), properties=())["loads"]
    assert load(place, day=date(2027, 3, 4))["loads"]
    with pytest.raises(InputFaultsError, match="days from the load, and 60 must lie between"):
        load(place, day=date(2026, 4, 1), rate=rate("0.1 lb ai/acre", record="x"))


@pytest.mark.parametrize(
    "visit",
    [
        "Front,spring_pre_emergent,2026-03-03,Barrier,,,",
        "Front,spring_pre_emergent,2026-03-03,Barrier,0.1,gal,",
        ",spring_pre_emergent,2026-03-03,dithiopyr,,,",
        "Front,spring_pre_emergent,2026-03-03,,,,",
        "Front,aeration,2026-03-03,Something else,1,gal,4000",
    ],
)
def test_an_amount_that_is_not_known_is_never_nothing(
    place: Path, tmp_path: Path, visit: str
) -> None:
    visited(place, tmp_path, visit)
    with pytest.raises(InputFaultsError, match=r"how much dithiopyr .* is not known"):
        load(place)
    assert load(place, day=date(2028, 1, 1))["loads"]


def test_a_rate_above_the_label_or_in_the_wrong_kind_is_refused(place: Path) -> None:
    with pytest.raises(InputFaultsError) as told:
        load(place, zones=("Front",), rate=rate("0.6 lb ai/acre", record="x"))
    said = str(told.value)
    assert "0.6 lb ai/acre is above the label's 0.5 lb ai/acre" in said
    assert "0.6 lb of dithiopyr an acre is above the 0.5 allowed at once" in said
    with pytest.raises(InputFaultsError, match="an ounce by weight is not a fluid ounce"):
        load(place, rate=rate("3 oz/1000 sq ft", record="x"))


def test_a_fertiliser_feeds_by_its_nitrogen_and_needs_no_known_grass(
    place: Path, tmp_path: Path
) -> None:
    """0.9 lb of N from 25 % is 3.6 lb of product; the zone's grass is not asked."""
    bring_in(place, rows(tmp_path, FEED), layer_name="product")
    found = load(place, product="Feed")
    (one,) = found["loads"]
    assert len(one["zones"]) == 4
    assert one["nutrients"]["nitrogen_lb_per_1000_sq_ft"] == pytest.approx(0.9)
    assert one["exact"]["lb"] == pytest.approx(3.6 * one["area_sqft"] / 1000.0)
    assert found["purchase"]["lb"] == 50.0 * found["purchase"]["packs"]
    assert "Alder / Back: no feeding of it is listed for September" in " ".join(found["cautions"])
    with pytest.raises(InputFaultsError, match="spread dry"):
        load(place, Equipment(rate("1 gal/acre", record="x")), product="Feed")


def test_rates_by_target(place: Path, tmp_path: Path) -> None:
    """Where a label's rates differ by target, one is asked for; no other rate stands in for it."""
    text = (
        "product,species,target,rate\nSure barrier,bermuda,crabgrass,1 pt/acre\n"
        "Sure barrier,bermuda,goosegrass,1.5 pt/acre\n"
    )
    bring_in(place, file(tmp_path, "targets.csv", text), layer_name="product_rate")
    with pytest.raises(InputFaultsError, match="name one of crabgrass, goosegrass"):
        load(place, product="Sure barrier")
    found = load(place, product="Sure barrier", target="goosegrass")
    assert [one["rate"] for one in found["loads"]] == ["1.5 pt/acre"]
    assert [zone["zone"] for zone in found["loads"][0]["zones"]] == ["Front"]
    shade = next(one for one in found["left_out"] if one["zone"] == "Shade")
    assert "no label rate" in shade["why"][0]


def test_a_liquid_feed_is_measured_by_volume_where_its_weight_is_known(
    place: Path, tmp_path: Path
) -> None:
    """1 lb of N from 20 % is 5 lb of product; at 10 lb a gallon that is half a gallon."""
    feed = {"name": "Wet", "formulation": "solution", "nitrogen_pct": "20"}
    heavy = feed | {"weight_lb_per_gal": "10", "rate": "1 lb N/1000 sq ft"}
    bring_in(place, rows(tmp_path, heavy), layer_name="product")
    one = load(place, product="Wet", zones=("Front",))["loads"][0]
    assert one["exact"]["gal"] == pytest.approx(0.5 * one["area_sqft"] / 1000.0)
    assert one["nutrients"]["nitrogen_lb_per_1000_sq_ft"] == pytest.approx(1.0)


def test_rates_by_volume_and_by_weight_are_never_summed(place: Path, tmp_path: Path) -> None:
    wrong = file(tmp_path, "r.csv", "product,species,rate\nBarrier,zoysia,3 oz/acre\n")
    with pytest.raises(InputFaultsError, match="an ounce by weight is not a fluid ounce"):
        bring_in(place, wrong, layer_name="product_rate")
    vague = {"name": "Vague", "active_ingredients": "dithiopyr"}
    bring_in(place, rows(tmp_path, vague), layer_name="product")
    both = "product,species,rate\nVague,bermuda,3 oz/acre\nVague,centipede,3 fl oz/acre\n"
    bring_in(place, file(tmp_path, "b.csv", both), layer_name="product_rate")
    with pytest.raises(InputFaultsError, match="are of different kinds"):
        load(place, product="Vague")
    alone = load(place, product="Vague", zones=("Front",))
    assert "how much the load gives is not known" in " ".join(alone["asks"])


def test_a_day_is_mixed_for_where_its_work_is_due(place: Path, tmp_path: Path) -> None:
    """Barrier serves the autumn pre-emergent: what `due` says on the day is what is mixed for."""
    bring_in(
        place,
        geojson(tmp_path / "far.geojson", (box(1e-2, 0), {"name": "Elm"})),
        layer_name="property",
    )
    asked = {"kind": "turf", "species": "bermuda", "property": "Elm"}
    zones = (
        (box(1e-2, 0), asked | {"name": "Asked", "overseeding": "none"}),
        (box(1.1e-2, 0), asked | {"name": "Not asked"}),
    )
    bring_in(place, geojson(tmp_path / "elm.geojson", *zones), layer_name="zone")
    judged = {
        (zone["property"], zone["zone"]): {task["task"]: task["state"] for task in zone["tasks"]}
        for zone in due(place, as_of=DAY)["zones"]
    }
    due_there = {
        zone for zone, tasks in judged.items() if tasks.get("autumn_pre_emergent") == "due"
    }
    assert ("Elm", "Asked") in due_there
    assert ("Elm", "Not asked") not in due_there
    found = load(place, properties=())
    mixed = {(zone["property"], zone["zone"]) for one in found["loads"] for zone in one["zones"]}
    assert mixed == due_there
    waiting = {(one["property"], one["zone"]): one["why"] for one in found["left_out"]}
    assert "Autumn pre-emergent: " in waiting["Elm", "Not asked"][0]
    both = load(place, properties=("Alder", "Elm"))["loads"]
    assert {zone["property"] for one in both for zone in one["zones"]} == {"Alder", "Elm"}
    (one,) = load(place, properties=("Elm",), task="autumn_pre_emergent")["loads"]
    assert [zone["zone"] for zone in one["zones"]] == ["Asked"]
    with pytest.raises(InputFaultsError, match="nothing of this is due on the day"):
        load(place, properties=(), day=date(2026, 6, 24))


def test_what_is_not_there_is_said(place: Path) -> None:
    for asked, words in (
        ({"product": "moonshine"}, "no product or active ingredient"),
        ({"product": "dithiopyr"}, "only a product can be measured out"),
        ({"zones": ("Roof", "Front")}, "no zone 'Roof'"),
        ({"properties": (), "day": None}, "neither --property nor --zone nor --on"),
        ({"properties": ("Alder", "Elm")}, "no property 'Elm'"),
        ({"task": "raking"}, "no task 'raking'"),
        ({"task": "aeration", "day": None}, "on which day"),
        ({"target": "crabgrass"}, "no rate for 'crabgrass'"),
        ({"zones": ("Side",)}, "its grass is not known"),
    ):
        with pytest.raises(InputFaultsError, match=words):
            load(place, **asked)


def test_all_faults_of_a_product_file_at_once(place: Path, tmp_path: Path) -> None:
    with pytest.raises(InputFaultsError) as told:
        bring_in(place, rows(tmp_path, *WRONG), layer_name="product")
    said = [str(fault) for fault in told.value.faults]
    for record, words in (
        ("A", "'moonshine' is no active ingredient"),
        ("A", "rate '3 oz/1000 sq ft' is by weight"),
        ("A", "pack '50 lb' is by weight"),
        ("B", "single_max of atrazine is above its annual_max"),
        ("B", "rate gives 2.042 lb of atrazine an acre, above its single_max of 1"),
        ("C", "N, P2O5 and K2O sum to 110 %"),
        ("D", "concentrations holds 1 values for 2 active ingredients"),
        ("D", "'-1 pt/acre' is not above zero"),
        ("D", "in the file twice"),
        ("D", "wind_low_mph is above wind_high_mph"),
        ("B", "rate_low is above rate"),
        ("E", "it says nothing of what it holds"),
    ):
        assert [one for one in said if f"({record})" in one and words in one], words
    assert len(load(place)["loads"]) == 2


def test_a_labels_own_setback_and_its_reductions(place: Path, tmp_path: Path) -> None:
    """They add, and come off the label's distance: 100 ft less 25 and 15 % are 60 ft.

    The general working distance still holds where it is larger.
    """
    pond = shapely.box(WEST - 2e-4, SOUTH, WEST - 1e-5, SOUTH + 4e-4)
    bring_in(
        place,
        geojson(tmp_path / "w.geojson", (pond, {"name": "P", "kind": "pond"})),
        layer_name="water",
    )
    heading = "product,category,distance_ft,reductions\n"
    own = file(tmp_path, "own.csv", f"{heading}Barrier,pond,100,hood=25; hedge=15\n")
    bring_in(place, own, layer_name="product_setback")
    for product, reductions, distance_ft in (
        ("Barrier", {}, 60.0),
        ("Barrier", {"hood": 30.0}, 55.0),
        ("Barrier", {"calm": 70.0}, 25.0),
        ("Sure barrier", {}, 25.0),
    ):
        result = area(
            place, property_name=None, product=product, overrides=Overrides({}, None, reductions)
        )
        assert result["setbacks"][0]["distance_m"] == pytest.approx(distance_ft * 0.3048)
    bad = file(tmp_path, "bad.csv", f"{heading}Nobody,moat,10,hood=120\n")
    with pytest.raises(InputFaultsError) as told:
        bring_in(place, bad, layer_name="product_setback")
    assert "hood=120" in str(told.value)
    assert "no product 'Nobody'" in str(told.value)
