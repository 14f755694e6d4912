"""Due on the desk: a place read, judged and explained."""

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import shapely

from tests.desk.test_bring_in import box, geojson
from turfmap.desk.bring_in import bring_in
from turfmap.desk.due import due
from turfmap.desk.import_batch import Source
from turfmap.desk.new import new
from turfmap.foundations.errors import InputFaultsError
from turfmap.foundations.shapes import shape_array
from turfmap.store import geopackage
from turfmap.store.geometry_blob import to_blobs

AS_OF = date(2026, 9, 24)
LAWN = {"kind": "turf", "species": "bermuda", "irrigated": "yes"}


@pytest.fixture
def place(tmp_path: Path) -> Path:
    path = tmp_path / "place.gpkg"
    new(path)
    lots = geojson(
        tmp_path / "lots.geojson",
        (box(0, 0, 1e-3), {"name": "Alder"}),
        (box(2e-3, 0, 1e-3), {"name": "Birch"}),
    )
    bring_in(path, lots, layer_name="property")
    zones = geojson(
        tmp_path / "zones.geojson",
        (box(0, 0), {"name": "Front", **LAWN}),
        (box(5e-4, 5e-4), {"name": "Back", **LAWN}),
        (box(2e-3, 0), {"name": "Front", **LAWN}),
        (box(2.5e-3, 5e-4), {"name": "Wood", "kind": "woods"}),
    )
    bring_in(path, zones, layer_name="zone")
    table(path, "client_answer", "property,zone,question,answer", "Alder,,overseeding,none")
    table(
        path,
        "client_answer",
        "property,zone,question,answer,date",
        "Alder,Back,overseeding,planned,2026-10-20",
    )
    return path


def table(path: Path, layer: str, *lines: str) -> None:
    file = path.parent / f"{layer}.csv"
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    bring_in(path, Source(file), layer_name=layer)


def states(path: Path, task: str = "autumn_pre_emergent", **how: Any) -> dict[str, str]:
    found = due(path, **{"as_of": AS_OF, **how})
    return {
        f"{zone['property']} / {zone['zone']}": one["state"]
        for zone in found["zones"]
        for one in zone["tasks"]
        if one["task"] == task
    }


def test_answers_reach_the_zones_that_they_are_for(place: Path) -> None:
    assert states(place) == {"Alder / Front": "due", "Alder / Back": "held", "Birch / Front": "ask"}


def test_visits_are_read(place: Path) -> None:
    table(place, "visit", "property,zone,task,date", "Alder,Front,autumn_pre_emergent,2026-09-20")
    assert states(place)["Alder / Front"] == "done"


def test_every_zone_is_in_the_answer_in_the_order_of_the_file_and_as_plain_data(
    place: Path,
) -> None:
    found = due(place, as_of=AS_OF)
    assert [zone["zone"] for zone in found["zones"]] == ["Front", "Back", "Front", "Wood"]
    assert found["zones"][-1]["tasks"] == []
    assert json.loads(json.dumps(found, allow_nan=False)) == found
    assert found["as_of"] == "2026-09-24"


def test_one_property_and_one_zone(place: Path) -> None:
    assert list(states(place, property_name="Birch")) == ["Birch / Front"]
    assert list(states(place, why="Alder / Back")) == ["Alder / Back"]
    assert list(states(place, why="Back")) == ["Alder / Back"]
    assert list(states(place, why="Front", property_name="Birch")) == ["Birch / Front"]
    with pytest.raises(InputFaultsError, match=r"2 zones 'Front'.*Alder / Front; Birch / Front"):
        states(place, why="Front")
    explained = due(place, as_of=AS_OF, why="Alder / Back")
    assert explained["zones"][0]["tasks"][0]["why"]
    with pytest.raises(InputFaultsError, match=r"no property 'Cedar'.*Alder"):
        states(place, property_name="Cedar")
    with pytest.raises(InputFaultsError, match=r"no zone 'Side'.*Alder / Back"):
        states(place, why="Side")


def test_a_weather_file_beats_the_weather_in_the_place(place: Path) -> None:
    table(place, "weather", "station,date,air_min_c,air_max_c", "Mill,2026-09-24,20,30")
    own = due(place, as_of=AS_OF)["cautions"]
    assert any("Mill" in caution for caution in own)
    file = place.parent / "cold.csv"
    days = [f"2026-09-{day:02},{10 if day > 24 else 15},25,0" for day in range(1, 31)]
    file.write_text("date,air_min_c,air_max_c,rain_mm\n" + "\n".join(days) + "\n")
    later = date(2026, 9, 30)
    assert states(place, as_of=later, weather_file=file)["Alder / Front"] == "missed"
    cautions = due(place, as_of=later, weather_file=file)["cautions"]
    assert not any("Mill" in caution for caution in cautions)


def test_what_another_program_wrote_wrongly_is_a_fault_not_a_guess(place: Path) -> None:
    """A desktop GIS that ignores the allowed values can write anything."""
    with geopackage.editing(place) as connection:
        connection.execute("UPDATE client_answer SET answered_on = 'last spring'")
    with pytest.raises(InputFaultsError, match="last spring"):
        due(place, as_of=AS_OF)


def test_a_property_line_broken_in_another_program_stops_nothing(place: Path) -> None:
    """A bow-tie whose western triangle still holds the front of Alder."""
    before = states(place)
    west, south, side = box(0, 0).bounds[0], box(0, 0).bounds[1], 1e-3
    corners = [(0, -1), (2, 2), (2, -1), (0, 2)]
    line = shapely.Polygon([(west + side * x, south + side * y) for x, y in corners])
    (blob,) = to_blobs(shape_array([shapely.MultiPolygon([line])]), srs_id=4326)
    with geopackage.editing(place) as connection:
        connection.execute("UPDATE property SET geom = ? WHERE name = 'Alder'", (blob,))
        connection.execute("UPDATE zone SET property = NULL WHERE name = 'Front'")
    assert states(place)["Alder / Front"] == before["Alder / Front"]
    more = geojson(place.parent / "more.geojson", (box(1e-4, 4e-4, 1e-4), {"name": "Side", **LAWN}))
    bring_in(place, more, layer_name="zone")
    assert "Alder / Side" in states(place)


def test_an_empty_place_has_nothing_due(tmp_path: Path) -> None:
    path = tmp_path / "empty.gpkg"
    new(path)
    assert due(path, as_of=AS_OF)["zones"] == []


@pytest.mark.parametrize("year", [1, 9999])
def test_a_day_out_of_all_reason_is_refused(place: Path, year: int) -> None:
    with pytest.raises(InputFaultsError, match="not a day of work"):
        due(place, as_of=date(year, 12, 31))


def test_a_zone_without_a_shape_is_a_question(place: Path) -> None:
    with geopackage.editing(place) as connection:
        connection.execute("UPDATE zone SET geom = NULL WHERE property = 'Birch'")
    assert states(place)["Birch / Front"] == "ask"


def test_what_visits_put_down_counts_towards_the_annual_limit(place: Path) -> None:
    """Prodiamine: at most 1.5 lb per acre a year (table active_ingredient, from memory).

    2 lb of a 65 percent product on an acre are 1.3 lb; 0.33, the least of one application, pass it.
    """
    assert "Borne by bermudagrass when labelled: prodiamine" in reasons(place)
    table(
        place,
        "product",
        "name,active_ingredients,concentrations,formulation",
        "Grain,prodiamine,65 %,dispersible_granule",
    )
    heading = "property,zone,task,date,product,amount,amount_unit,area_treated_m2"
    acre = 4046.8564224
    table(place, "visit", heading, f"Alder,Front,spring_pre_emergent,2026-02-20,Grain,2,lb,{acre}")
    assert "annual limit of 1.5 lb per acre is reached (1.3 lb per acre" in reasons(place)


def test_the_product_book_reaches_the_season(place: Path) -> None:
    """Of prodiamine the table allows 1.5 lb per acre a year (memory), this invented label 0.9.

    1 lb of a 65 percent product on an acre are 0.65 lb; 0.33 more, the least, pass 0.9.
    """
    table(
        place,
        "product",
        "name,active_ingredients,concentrations,formulation,annual_max,reseed_wk",
        "Grain,prodiamine,65 %,dispersible_granule,0.9 lb/acre,30",
    )
    heading = "property,zone,task,date,product,amount,amount_unit,area_treated_m2"
    acre = 4046.8564224
    table(place, "visit", heading, f"Alder,,spring_pre_emergent,2026-03-20,Grain,1,lb,{acre}")
    assert "annual limit of 0.9 lb per acre by your product book, Grain is reached" in reasons(
        place
    )
    back = due(place, as_of=date(2026, 10, 16), why="Alder / Back")["zones"][0]["tasks"]
    (sowing,) = (one for one in back if one["task"] == "overseeding")
    assert sowing["state"] == "due"  # 30 weeks passed on 16 October
    early = due(place, as_of=date(2026, 10, 15), why="Alder / Back")["zones"][0]["tasks"]
    (sowing,) = (one for one in early if one["task"] == "overseeding")
    assert sowing["state"] == "held"
    assert "20 Mar 2026: prodiamine (your product book, Grain)" in sowing["holds"][0]


def test_an_answer_without_its_day_is_told_with_what_to_do(place: Path) -> None:
    (said,) = (line for line in due(place, as_of=AS_OF)["cautions"] if "answered_on" in line)
    assert "Alder" in said
    assert "Give their rows that day, or ask again" in said
    back = due(place, as_of=AS_OF, why="Alder / Back")["zones"][0]["tasks"]
    (task,) = (one for one in back if one["task"] == "autumn_pre_emergent")
    assert "give that row its answered_on" in task["holds"][0]


def reasons(path: Path, task: str = "autumn_pre_emergent") -> str:
    zone = due(path, as_of=AS_OF)["zones"][0]
    return " ".join(*(one["reasons"] for one in zone["tasks"] if one["task"] == task))


def test_what_is_supposed_is_told_and_never_written(place: Path) -> None:
    before = place.read_bytes()
    assert states(place, what_if=[("overseed", "2026-10-10")])["Alder / Front"] == "held"
    found = due(place, as_of=AS_OF, what_if=[("overseed", "2026-10-10"), ("rain", "0")])
    assert found["what_if"] == [
        "overseeding is answered planned for 10 Oct 2026",
        "no rain fell in the 14 days up to 24 Sep 2026",
    ]
    assert found["cautions"][0].startswith("What if: overseeding is answered planned")
    assert place.read_bytes() == before
    assert states(place)["Alder / Front"] == "due"


def test_a_forecast_is_joined_and_said_to_be_one(place: Path) -> None:
    """Three nights of 10 degC (50 F) ahead close the pre-emergent, from the third of them on."""
    days = [f"2026-09-{day:02},20,30,0" for day in range(1, 25)]
    record = place.parent / "record.csv"
    record.write_text("date,air_min_c,air_max_c,rain_mm\n" + "\n".join(days) + "\n")
    ahead = [f"2026-09-{day:02},10,22,0" for day in range(25, 29)]
    forecast = place.parent / "forecast.csv"
    forecast.write_text("date,air_min_c,air_max_c,rain_mm\n" + "\n".join(ahead) + "\n")
    closes = {}
    for name, given in (("none", None), ("ahead", forecast)):
        found = due(place, as_of=AS_OF, weather_file=record, forecast_file=given)
        (task,) = (
            one for one in found["zones"][0]["tasks"] if one["task"] == "autumn_pre_emergent"
        )
        closes[name] = task["closes"], any("forecast for" in line for line in task["reasons"])
    assert closes == {"none": ("2026-10-05", False), "ahead": ("2026-09-27", True)}


def test_shade_and_measured_sun_reach_the_season(tmp_path: Path) -> None:
    """Bermudagrass wants full sun (sources S1; S2)."""
    path = tmp_path / "shade.gpkg"
    new(path)
    lawns = geojson(
        tmp_path / "z.geojson",
        (box(0, 0), {"name": "Oak", **LAWN, "shade": "deep_shade"}),
        (box(1e-3, 0), {"name": "Measured", **LAWN, "sun_hours": 3.5}),
        (box(2e-3, 0), {"name": "Open", **LAWN, "shade": "full_sun"}),
    )
    bring_in(path, lawns, layer_name="zone", property_name="Alder")
    said = {
        zone["zone"]: any("Too little sun" in line for line in task["reasons"])
        for zone in due(path, as_of=AS_OF)["zones"]
        for task in zone["tasks"]
        if task["task"] == "mowing_height"
    }
    assert said == {"Oak": True, "Measured": True, "Open": False}
