"""``turfmap days``: what it prints, and what it says where something is missing."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.doors.test_cli import ROOT, turfmap
from turfmap.doors.cli import days
from turfmap.foundations.errors import InputFaultsError

LAWN = """name,property,kind,species,wkt
Front,Alder,turf,bermuda,"POLYGON ((-84 33, -83.9995 33, -83.9995 33.0005, -84 33.0005, -84 33))"
"""
ANSWER = "property,question,answer,answered_on\nAlder,overseeding,none,2026-09-01\n"
PRODUCT = "name,active_ingredients,concentrations,formulation,rate\n"
GRAIN = "Grain,prodiamine,0.2 %,granular,3 lb/1000 sq ft\n"
TRUCK = "truck,longitude,latitude,tanks,licences\nOne,-84.01,33.0,400 lb,applicator\n"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a place that holds one lawn, a product and an answer, and a truck."""
    folder = tmp_path_factory.mktemp("days")
    files = {"zone": LAWN, "client_answer": ANSWER, "product": PRODUCT + GRAIN}
    turfmap("new", "place.gpkg", cwd=folder)
    for layer, text in files.items():
        (folder / f"{layer}.csv").write_text(text, encoding="utf-8")
        turfmap("import", "place.gpkg", f"{layer}.csv", "--as", layer, cwd=folder)
    (folder / "trucks.csv").write_text(TRUCK, encoding="utf-8")
    return folder


ASKED = ("days", "place.gpkg", "--from", "2026-09-21", "--for", "1w", "--trucks", "trucks.csv")


def test_a_plan_is_printed_for_people_and_for_programs(folder: Path) -> None:
    found = json.loads(turfmap(*ASKED, "--effort", "50", "--json", cwd=folder).stdout)
    assert (found["from"], found["to"]) == ("2026-09-21", "2026-09-27")
    assert found["totals"]["served"] == 1
    printed = turfmap(*ASKED, "--effort", "50", cwd=folder).stdout
    assert "1 of 1 stops on 1 truck-days" in printed
    assert "Alder · Autumn pre-emergent" in printed
    assert "Estimated times" in printed


def test_a_plan_without_stops_says_so_and_what_is_wanted(folder: Path) -> None:
    """No empty tables; names with a comma are given so that they can be pasted."""
    (folder / "two.csv").write_text(
        PRODUCT + GRAIN.replace("Grain", '"Grain, fine"').replace("3 lb", "4 lb"), encoding="utf-8"
    )
    turfmap("new", "two.gpkg", cwd=folder)
    for layer in ("zone", "client_answer", "product"):
        turfmap("import", "two.gpkg", f"{layer}.csv", "--as", layer, cwd=folder)
    turfmap("import", "two.gpkg", "two.csv", "--as", "product", cwd=folder)
    asked = ("days", "two.gpkg", *ASKED[2:], "--effort", "50")
    printed = turfmap(*asked, cwd=folder).stdout
    assert "There is no stop to plan from 21 Sep 2026 to 27 Sep 2026" in printed
    assert "Truck" not in printed
    assert '--use autumn_pre_emergent="Grain" or "Grain, fine" (1 zone)' in printed


def test_a_plan_that_leaves_all_out_says_why_once_and_days_are_words(folder: Path) -> None:
    (folder / "wet.csv").write_text(
        "date,rain_mm\n" + "".join(f"2026-09-{day},20\n" for day in range(21, 28)), encoding="utf-8"
    )
    told = turfmap(*ASKED, "--effort", "50", "--json", cwd=folder).stdout
    (folder / "told.json").write_text(told, encoding="utf-8")
    more = ("--forecast", "wet.csv", "--announced", "told.json")
    printed = turfmap(*ASKED, "--effort", "50", *more, cwd=folder).stdout
    assert "None of 1 stops can be planned" in printed
    assert "Autumn pre-emergent: Alder. No hours fit to work in are forecast" in printed
    assert "Alder · Autumn pre-emergent: was 21 Sep 2026 (rain), left out" in printed


def test_a_folder_takes_every_view_of_the_plan(folder: Path) -> None:
    said = turfmap(*ASKED, "--effort", "50", "--out", "week", cwd=folder).stdout
    names = {path.name for path in (folder / "week").iterdir()}
    assert {"map.html", "list.html", "board.html", "calendar.ics", "routes.gpx"} < names
    assert all(f"week/{name}" in said for name in names)
    again = ("--announced", "week/plan.json", "--json")
    assert json.loads(turfmap(*ASKED, "--effort", "50", *again, cwd=folder).stdout)["moved"] == []


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (("--for", "soon"), "no length"),
        (("--task", "mowing_height"), "no time on site"),
        (("--use", "Grain"), "TASK=PRODUCT"),
        (("--roads", "trucks.csv"), "no extract"),
        (("--announced", "trucks.csv"), "not JSON"),
        (("--pdf",), "no folder to write to"),
        (("--out", "week", "--time-zone", "Mars/Olympus"), "no time zone"),
    ],
)
def test_what_is_not_understood_is_one_sentence(
    folder: Path, more: tuple[str, ...], words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(folder)
    with pytest.raises(InputFaultsError) as caught:
        days.command.main([*ASKED[1:], *more], standalone_mode=False)
    (fault,) = caught.value.faults
    assert words in str(fault)


def test_a_missing_library_names_the_extra() -> None:
    """In a process of its own, where the solver cannot be imported."""
    code = (
        "import sys; sys.modules['pyvrp'] = None; sys.argv = ['turfmap', *sys.argv[1:]];"
        " from turfmap.doors.cli.main import main; main()"
    )
    asked = [sys.executable, "-c", code, *ASKED]
    done = subprocess.run(asked, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert "pip install 'turfmap[days]'" in done.stderr
    assert done.stderr.count("\n") == 1
