"""``turfmap mix`` and ``turfmap calibrate``: what is printed, and what ends with status 2."""

import json
from pathlib import Path

import pytest

from tests.doors.test_cli import turfmap

LAWN = """name,property,kind,species,overseeding,wkt
Front,Alder,turf,bermuda,none,"POLYGON ((-84 33, -83.9995 33, -83.9995 33.0005, -84 33))"
"""
PRODUCT = """name,active_ingredients,concentrations,rate,annual_max,pack
Barrier,dithiopyr,2 lb/gal,1 qt/acre,1.5 lb/acre,2.5 gal
"""
VISIT = """property,zone,task,date,product
Alder,Front,spring_pre_emergent,2026-03-03,Barrier
"""
MIX = ("mix", "place.gpkg", "--property", "Alder", "--product", "Barrier")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("mix")
    turfmap("new", "place.gpkg", cwd=folder)
    for name, text in (("zone", LAWN), ("product", PRODUCT), ("visit", VISIT)):
        (folder / f"{name}.csv").write_text(text)
        turfmap("import", "place.gpkg", f"{name}.csv", "--as", name, cwd=folder)
    return folder


def test_a_load_for_people_and_for_programs(folder: Path) -> None:
    more = ("--on", "2028-03-01", "--carrier", "1 gal/1000sqft", "--tank", "100gal")
    found = json.loads(turfmap(*MIX, *more, "--json", cwd=folder).stdout)
    (one,) = found["loads"]
    assert one["exact"]["qt"] == pytest.approx(one["acres"], rel=1e-9)
    assert one["spray"]["tanks"]["fillings"] == 1
    shown = turfmap(*MIX, *more, cwd=folder).stdout
    assert one["exact"]["words"] in shown
    assert "confirm on the label" in shown
    assert "= 0.5 lb per acre in the 12 months to 1 Mar 2028 (at most 1.5)" in " ".join(
        shown.split()
    )


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ((), ["how much dithiopyr was put down on 3 Mar 2026 (Barrier) is not known"]),
        (("--rate", "7 pt/acre", "--on", "2028-03-01"), ["1.75 (this load) = 1.75 lb per acre"]),
        (("--rate", "3 oz/acre"), ["an ounce by weight is not a fluid ounce"]),
        (
            ("--rate", "0 qt/acre", "--tank", "-3gal", "--carrier", "x", "--precipitation", "5"),
            ["--rate", "--tank", "--carrier", "--precipitation"],
        ),
    ],
)
def test_a_load_that_must_not_be_mixed(
    folder: Path, more: tuple[str, ...], said: list[str]
) -> None:
    done = turfmap(*MIX, *more, cwd=folder, status=2)
    assert done.stdout == ""
    assert [words for words in said if words not in done.stderr] == []


def test_calibration(folder: Path) -> None:
    nozzle = ("calibrate", "nozzle", "--speed", "5 mph", "--width", "222in", "--flow", "3.75 gpm")
    assert "20.07 gal/acre" in turfmap(*nozzle, cwd=folder).stdout
    course = ("calibrate", "course", "--width", "20in", "--caught", "20 fl oz", "--seconds", "35")
    assert json.loads(turfmap(*course, "--json", cwd=folder).stdout)["gallons_per_acre"] == 20.0
    runs = ("--run", "10=0.4 lb/100 sq ft", "--run", "14=0.6 lb/100 sq ft")
    spreader = ("calibrate", "spreader", "--wanted", "5 lb/1000sqft", *runs)
    assert "Try 12" in turfmap(*spreader, cwd=folder).stdout
    pans = ("--pan", "-10ft=0", "--pan", "-5ft=5", "--pan", "0ft=10", "--pan", "4ft=6")
    swath = ("calibrate", "swath", *pans)
    assert "set the row of pans out wider" in turfmap(*swath, cwd=folder).stdout
    wide = turfmap(*swath, "--pan", "10ft=0", "--json", cwd=folder)
    # Half of 10 lies at 5 ft left, and a sixth of the way from 4 ft to 10 ft on the right.
    assert json.loads(wide.stdout)["swath_ft"] == pytest.approx(10.0)


@pytest.mark.parametrize(
    "arguments",
    [
        ("nozzle", "--width", "20in"),
        ("nozzle", "--width", "0in", "--flow", "1 gpm", "--speed", "3 mph"),
        ("nozzle", "--width", "20in", "--flow", "1 gpm", "--speed", "-3 mph"),
        ("course", "--width", "20in", "--seconds", "nan"),
        ("spreader", "--wanted", "5 gal/acre", "--run", "1=1 lb/100 sq ft"),
        ("spreader", "--wanted", "5 lb/acre", "--run", "x=1 lb/100 sq ft"),
        ("swath", "--pan", "4ft=6", "--pan", "-4ft=6"),
        ("swath", "--pan", "0ft=6", "--pan", "0ft=5"),
        ("swath", "--pan", "0ft=nan"),
        ("swath", "--pan", "far=1"),
    ],
)
def test_calibration_refuses_what_cannot_be(folder: Path, arguments: tuple[str, ...]) -> None:
    turfmap("calibrate", *arguments, cwd=folder, status=2)
