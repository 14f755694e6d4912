"""The scenario is what its script makes, and sound as a drawing."""

import csv
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pvlib
import pytest
import shapely
from shapely.geometry import shape

from turfmap.days.plan.trucks import truck_of
from turfmap.foundations.checks import checked_rows
from turfmap.foundations.definitions import map_layer, table
from turfmap.store.trucks import read_trucks

ROOT = Path(__file__).parents[2]
SCENARIO = ROOT / "demo" / "scenario"
DATA = sorted(path.name for path in SCENARIO.iterdir() if path.suffix in {".csv", ".geojson"})


def features(layer: str) -> tuple[list[dict[str, Any]], "np.ndarray[Any, Any]"]:
    found = json.loads((SCENARIO / f"{layer}.geojson").read_text("utf-8"))["features"]
    shapes = np.array([shape(feature["geometry"]) for feature in found], dtype=object)
    return [feature["properties"] for feature in found], shapes


def rows(layer: str) -> list[dict[str, Any]]:
    file = SCENARIO / f"{layer}.csv"
    if file.exists():
        return list(csv.DictReader(file.read_text("utf-8").splitlines()))
    return features(layer)[0]


def overlaps(shapes: "np.ndarray[Any, Any]") -> list[tuple[int, int]]:
    pairs = shapely.STRtree(shapes).query(shapes, predicate="intersects").T
    shared = shapely.area(shapely.intersection(shapes[pairs[:, 0]], shapes[pairs[:, 1]]))
    return [(a, b) for (a, b), area in zip(pairs, shared, strict=True) if a < b and area > 0]


def test_every_run_makes_the_same_bytes(tmp_path: Path) -> None:
    # Another hash seed and no UTF-8 mode: neither order of sets nor the locale may show.
    surroundings = dict(os.environ, PYTHONHASHSEED="7", LC_ALL="C")
    command = [sys.executable, "-m", "demo.make", str(tmp_path)]
    subprocess.run(command, cwd=ROOT, env=surroundings, check=True)

    assert sorted(path.name for path in tmp_path.iterdir()) == DATA
    for name in DATA:
        assert (tmp_path / name).read_bytes() == (SCENARIO / name).read_bytes(), name


@pytest.mark.parametrize("layer", ["property", "zone"])
def test_areas_do_not_overlap_one_another(layer: str) -> None:
    names, shapes = features(layer)
    assert shapely.is_valid(shapes).all()
    found = [(names[a]["name"], names[b]["name"]) for a, b in overlaps(shapes)]
    assert found == []


def test_every_zone_lies_in_its_property_and_every_property_has_zones() -> None:
    properties, outlines = features("property")
    outline = {row["name"]: ring for row, ring in zip(properties, outlines, strict=True)}
    zones, shapes = features("zone")
    outside = [
        (row["property"], row["name"])
        for row, zone in zip(zones, shapes, strict=True)
        if not outline[row["property"]].covers(zone)
    ]
    assert outside == []
    assert {row["property"] for row in zones} == outline.keys()
    assert len(outline) == 61  # the estate and sixty clients


def test_rings_turn_as_rfc_7946_says() -> None:
    # RFC 7946, section 3.1.6: exterior rings counterclockwise, holes clockwise.
    for layer in ("property", "zone"):
        for polygon in features(layer)[1]:
            assert polygon.exterior.is_ccw
            assert not any(hole.is_ccw for hole in polygon.interiors)


NO_LAYERS = {"trucks.csv", "weather.csv"}


@pytest.mark.parametrize("name", [name for name in DATA if name not in NO_LAYERS])
def test_rows_are_as_their_layer_declares(name: str) -> None:
    layer = map_layer(name.partition(".")[0])
    found = rows(layer.name)
    typed_in = {name for name, column in layer.columns.items() if not column.measured}
    assert set(found[0]) == typed_in
    records = [f"row {number}" for number in range(len(found))]
    _, faults = checked_rows(found, layer, file=name, records=records)
    assert [str(fault) for of_row in faults for fault in of_row] == []


def test_trucks_are_read_without_a_fault() -> None:
    file = SCENARIO / "trucks.csv"
    trucks = [truck_of(row, file="trucks.csv", record="") for row in read_trucks(file)]
    assert [truck.name for truck in trucks] == ["Truck 1", "Truck 2"]
    assert all(truck.tanks and "applicator" in truck.licences for truck in trucks)


def test_answers_and_actives_are_ones_that_the_tables_know() -> None:
    allowed = {row["question"]: row["answers"].split(";") for row in table("question").rows}
    for row in rows("client_answer"):
        assert row["answer"] in allowed[row["question"]]
        assert bool(row["date"]) == (row["answer"] in {"planned", "done"})
    known = {row["active_ingredient"] for row in table("active_ingredient").rows}
    for row in rows("product"):
        parts = row["active_ingredients"].split(";")
        assert {part.strip() for part in parts if part} <= known
        assert not row["confirmed_on"]


def test_the_estate_holds_what_the_demo_is_to_show() -> None:
    water = {row["kind"] for row in rows("water")}
    assert water >= {"pond", "stream", "well", "drain_inlet"}
    sites = {row["kind"] for row in rows("sensitive_site")}
    assert sites >= {"hives", "kitchen_garden", "playground", "pet_area", "neighbour_request"}
    species = {row["species"] for row in rows("zone") if row["property"] == "Larkspur Hollow"}
    assert species >= {"bermuda", "zoysia", "centipede", "st_augustine", "tall_fescue", None}
    # Hives next door: outside the property line.
    names, shapes = features("sensitive_site")
    hives = shapes[[row["name"] for row in names].index("Hives next door")]
    assert not features("property")[1][0].covers(hives)


def test_temperatures_are_those_of_the_typical_year() -> None:
    # Reference: pvlib's own reader of the same file (the script reads it with `csv`).
    source = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    hourly, _ = pvlib.iotools.read_tmy3(str(source), coerce_year=2026, map_variables=True)
    # Stamps are at the end of the hour; a minute earlier lies in the day they belong to.
    local = hourly["temp_air"].tz_localize(None).shift(freq="-1min")
    by_day = {row["date"]: row for row in rows("weather")}
    june = local[local.index.strftime("%m-%d") == "06-15"]
    assert float(by_day["2026-06-15"]["air_max_f"]) == pytest.approx(
        june.max() * 1.8 + 32, abs=0.05
    )
    assert float(by_day["2026-06-15"]["air_min_f"]) == pytest.approx(
        june.min() * 1.8 + 32, abs=0.05
    )
    assert (min(by_day), max(by_day), len(by_day)) == ("2025-10-01", "2026-12-31", 457)
    assert all("rain" not in name for name in by_day["2026-06-15"])
