"""The commands that read rasters: what they print, and one sentence for what is missing."""

import importlib
import json
import shutil
import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from tests.desk.heights import heights
from tests.desk.test_bring_in import box, geojson
from turfmap.desk.bring_in import bring_in
from turfmap.desk.new import new
from turfmap.doors.cli.main import main

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("rasters")
    path = folder / "place.gpkg"
    new(path)
    lot = geojson(folder / "lot.geojson", (box(0, 0, 1e-3), {"name": "Alder"}))
    bring_in(path, lot, layer_name="property")
    front = {"name": "Front", "kind": "turf", "species": "bermuda"}
    bring_in(path, geojson(folder / "zone.geojson", (box(0, 0), front)), layer_name="zone")
    heights(folder / "level.tif", east=0.25)
    return path


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    def ran(*arguments: object) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["turfmap", *map(str, arguments)])
        with pytest.raises(SystemExit) as ended:
            main()
        said = capsys.readouterr()
        return int(ended.value.code or 0), said.out, said.err

    return ran


def test_area_with_slope_prints_it_for_people_and_programs(run: Run, place: Path) -> None:
    raster = place.with_name("level.tif")
    asked = ("area", place, "--with-slope", raster, "--vertical-unit", "m", "--too-steep", "20%")
    status, printed, _ = run(*asked)
    assert status == 0
    assert "Slopes, rise over run, from level.tif" in printed
    assert "25.0 %" in printed
    status, printed, _ = run(*asked, "--json")
    (zone,) = json.loads(printed)["zones"]
    assert zone["treatable_m2"] == pytest.approx(0.0, abs=1e-6)
    assert zone["slope"]["above"][0]["share"] == pytest.approx(1.0)


def test_the_vertical_unit_is_asked_for_and_idle_options_are_refused(run: Run, place: Path) -> None:
    status, _, said = run("area", place, "--with-slope", place.with_name("level.tif"))
    assert (status, "in metres or feet" in said) == (2, True)
    status, _, said = run("area", place, "--too-steep", "20%")
    assert (status, "it does nothing without --with-slope" in said) == (2, True)
    status, _, said = run(
        "area", place, "--with-slope", place, "--vertical-unit", "m", "--too-steep", "steep"
    )
    assert (status, "is not a number" in said) == (2, True)


def test_sun_prints_hours_classes_and_their_scheme(run: Run, place: Path) -> None:
    asked = ("sun", place, "--ground", place.with_name("level.tif"), "--vertical-unit", "m")
    season = ("--from", "2026-06-21", "--to", "2026-06-21", "--step", "30min")
    status, printed, _ = run(*asked, *season)
    assert status == 0
    assert "Direct sun under a clear sky, 21 Jun 2026 to 21 Jun 2026" in printed
    assert "enough" in printed
    assert "Classes by: Georgia garden page" in printed
    status, _, said = run(*asked, *season[:-1], "3h")
    assert (status, "from 1 to 60 minutes" in said) == (2, True)


def test_what_is_kept_is_told_and_shown_on_the_map(run: Run, place: Path, tmp_path: Path) -> None:
    mine = Path(shutil.copy(place, tmp_path / "place.gpkg"))
    raster = ("--vertical-unit", "m", "--raster-date", "2024-03-12", "--keep")
    level = place.with_name("level.tif")
    status, printed, _ = run("area", mine, "--with-slope", level, *raster)
    assert status == 0
    assert "taken 12 Mar 2024" in printed
    assert "Kept in the place: slopes (zones: 1)" in printed
    season = ("--from", "2026-06-21", "--to", "2026-06-21", "--step", "1h")
    status, printed, _ = run("sun", mine, "--ground", level, *raster, *season)
    assert (status, "Kept in the place: hours (zones: 1)" in printed) == (0, True)
    drawn = ("map", mine, "--as-of", "2026-09-24", "--out", tmp_path / "map.html", "--json")
    status, printed, _ = run(*drawn)
    assert (status, json.loads(printed)["overlays"]) == (0, 3)
    status, printed, _ = run(*drawn[:-1], "--with-slope", level, "--vertical-unit", "m")
    assert (status, "is not known: give --raster-date" in printed) == (0, True)


def test_options_that_need_a_raster_are_refused_without_one(
    run: Run, place: Path, tmp_path: Path
) -> None:
    out = tmp_path / "map.html"
    drawn = ("map", place, "--as-of", "2026-09-24", "--out", out)
    for asked in (
        ("area", place, "--keep"),
        ("area", place, "--raster-date", "2024-03-12"),
        (*drawn, "--vertical-unit", "m"),
    ):
        status, _, said = run(*asked)
        assert (status, "it does nothing without --with-slope" in said) == (2, True)
    level = place.with_name("level.tif")
    status, _, said = run(*drawn, "--with-slope", level)
    assert (status, "in metres or feet" in said) == (2, True)
    status, _, said = run(*drawn, "--with-slope", tmp_path / "no.tif", "--vertical-unit", "m")
    assert (status, "there is no such file" in said) == (2, True)
    assert not out.exists()


def test_draft_says_what_it_needs(run: Run, place: Path) -> None:
    status, _, said = run("draft", place)
    assert (status, "--picture and --out" in said) == (2, True)
    status, _, said = run("draft", place, "--accept", 3)
    assert (status, "give --drafts and --name" in said) == (2, True)
    raster = place.with_name("level.tif")
    status, _, said = run("draft", place, "--picture", raster, "--out", "d.geojson", "--bands", "1")
    assert (status, "does not name three or four bands" in said) == (2, True)
    status, _, said = run("draft", place, "--picture", raster, "--out", "d.geojson")
    assert (status, "1 bands, and none of number 2" in said) == (2, True)


@pytest.mark.parametrize(
    ("library", "extra"),
    [("rasterio", "picture"), ("exactextract", "picture"), ("pvlib", "weather")],
)
def test_a_missing_extra_is_one_sentence(
    run: Run, place: Path, monkeypatch: pytest.MonkeyPatch, library: str, extra: str
) -> None:
    real = importlib.import_module

    def without(name: str, package: str | None = None) -> ModuleType:
        if name.partition(".")[0] == library:
            raise ImportError(name)
        return real(name, package)

    for module in ("store.raster_library", "ground.coverage", "ground.sun"):
        monkeypatch.setattr(f"turfmap.{module}.import_module", without)
    given: tuple[Any, ...] = ("--ground", place.with_name("level.tif"), "--vertical-unit", "m")
    season = ("--from", "2026-06-21", "--to", "2026-06-21")
    status, _, said = run("sun", place, *given, *season)
    assert status == 2
    assert f"pip install turfmap[{extra}]" in said
    assert len(said.strip().splitlines()) == 1
