"""Hours of sun of a place: open sky by the almanac, a building's side, crowns, and what is said."""

import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from tests.desk.heights import heights
from tests.desk.test_bring_in import SOUTH, WEST, box, geojson
from turfmap.desk.bring_in import bring_in
from turfmap.desk.kept_measures import keep_hours
from turfmap.desk.new import new
from turfmap.desk.sun import SunAsked, sun
from turfmap.desk.sun_reckoning import Season
from turfmap.desk.undo import undo
from turfmap.foundations.errors import InputFaultsError
from turfmap.foundations.units import METRES_PER_FOOT
from turfmap.ground.sun import sun_positions
from turfmap.store import geopackage
from turfmap.store.foreign.reading import read_foreign

JUNE = Season(date(2026, 6, 21), date(2026, 6, 21))
DECEMBER = Season(date(2026, 12, 21), date(2026, 12, 21))
Added = Callable[..., None]


@pytest.fixture(scope="module")
def bare_place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sun")
    path = folder / "place.gpkg"
    new(path)
    lot = geojson(folder / "lot.geojson", (box(0, 0, 1e-3), {"name": "Alder"}))
    bring_in(path, lot, layer_name="property")
    front = {"name": "Front", "kind": "turf", "species": "bermuda", "shade": "full_sun"}
    zones = geojson(folder / "zones.geojson", (box(0, 0), front))
    bring_in(path, zones, layer_name="zone")
    return path


@pytest.fixture
def place(bare_place: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(bare_place, tmp_path / "place.gpkg"))


@pytest.fixture
def add(place: Path, tmp_path: Path) -> Added:
    def added(layer: str, shape: shapely.Geometry, **about: Any) -> None:
        file = geojson(tmp_path / f"{about['name']}.geojson", (shape, about))
        bring_in(place, file, layer_name=layer)

    return added


def hours(place: Path, season: Season = JUNE, **rasters: Path | None) -> dict[str, Any]:
    given = {"surface": None, "ground": None} | rasters
    asked = SunAsked(given["surface"], given["ground"], "m")
    result = sun(place, property_name=None, asked=asked, season=season)
    return {"zone": result["zones"][0], "said": " ".join(result["cautions"])} | result


def daylight_h(season: Season) -> float:
    _, elevation = sun_positions(season.first, longitude=WEST, latitude=SOUTH, step_h=0.25)
    return 0.25 * elevation.size


def test_level_ground_has_the_hours_of_the_day(place: Path, tmp_path: Path) -> None:
    found = hours(place, ground=heights(tmp_path / "level.tif"))
    assert found["zone"]["sun_hours"] == pytest.approx(daylight_h(JUNE))
    assert found["zone"]["shade_measured"] == "full_sun"
    assert found["zone"]["enough_sun"] is True
    assert found["about"]["scheme"]["name"]
    assert found["about"]["ground"]["raster"] == "level.tif"


def test_a_building_takes_sun_and_its_roof_is_no_lawn(
    place: Path, add: Added, tmp_path: Path
) -> None:
    """South of the zone stands a wall of house: dark in December, little missed in June."""
    ground = heights(tmp_path / "level.tif")
    house = shapely.box(WEST - 2e-4, SOUTH - 8e-5, WEST + 6e-4, SOUTH + 5e-5)
    add("obstacle", house, name="House", kind="building", height_m=9.0)
    june, december = hours(place, ground=ground), hours(place, DECEMBER, ground=ground)
    assert june["zone"]["sun_hours"] > 0.9 * daylight_h(JUNE)
    assert december["zone"]["sun_hours"] < 0.75 * daylight_h(DECEMBER)
    # The part of the zone under the roof would have no sun at all: it is left out.
    assert june["zone"]["tenth_has_under_h"] > 5.0


def test_more_crowns_never_bring_sun_and_too_little_is_told_with_what_would_live(
    place: Path, add: Added, tmp_path: Path
) -> None:
    ground = heights(tmp_path / "level.tif")
    before = hours(place, ground=ground)["zone"]["sun_hours"]
    add("canopy", box(0, 0, 3e-4), name="Oaks", height_m=15.0, deciduous=True)
    some = hours(place, ground=ground)
    add("canopy", box(-1e-4, 2e-4, 5e-4), name="Pines", height_m=22.0, deciduous=False)
    more = hours(place, ground=ground)
    assert before > some["zone"]["sun_hours"] > more["zone"]["sun_hours"]
    zone = more["zone"]
    assert zone["enough_sun"] is False
    assert zone["share_under_minimum"] > 0.5
    assert "Alder / Front: bermudagrass needs 8 hours of sun a day (unverified)" in more["said"]
    assert "Shade as tagged and as measured differ at Alder / Front" in more["said"]
    assert zone["shade_tagged"] == "full_sun" != zone["shade_measured"]
    fits = [one["minimum_sun_h"] <= zone["sun_hours"] for one in zone["would_live"]]
    assert all(fits)


def test_bare_crowns_let_winter_sun_through(place: Path, add: Added, tmp_path: Path) -> None:
    ground = heights(tmp_path / "level.tif")
    add("canopy", box(0, 0), name="Oaks", height_m=15.0, deciduous=True)
    assert hours(place, JUNE, ground=ground)["zone"]["sun_hours"] < 0.5
    winter = hours(place, DECEMBER, ground=ground)["zone"]["sun_hours"]
    assert winter == pytest.approx(0.44 * daylight_h(DECEMBER), rel=0.05)


def test_a_surface_and_the_same_things_drawn_give_the_same_hours(
    place: Path, add: Added, tmp_path: Path
) -> None:
    """A row of trees 12 m high in the raster, and the same row drawn on bare ground."""
    ground = heights(tmp_path / "level.tif")
    bumps = np.zeros((660, 660), np.float32)
    bumps[330 + 15 : 330 + 20, 330 - 40 : 330 + 80] = 12.0  # 15 to 20 m south of the corner
    surface = heights(tmp_path / "surface.tif", bumps=bumps)
    measured = hours(place, DECEMBER, surface=surface)["zone"]["sun_hours"]
    with_both = hours(place, DECEMBER, surface=surface, ground=ground)["zone"]["sun_hours"]
    per_m = 1.0 / (111_320.0 * np.cos(np.radians(SOUTH))), 1.0 / 110_900.0
    row = shapely.box(
        WEST - 40 * per_m[0], SOUTH - 20 * per_m[1], WEST + 80 * per_m[0], SOUTH - 15 * per_m[1]
    )
    add("canopy", row, name="Row", height_m=12.0)
    drawn = hours(place, DECEMBER, ground=ground)["zone"]["sun_hours"]
    assert measured < 0.97 * daylight_h(DECEMBER)
    assert with_both == pytest.approx(measured)
    # A raster's edges are softened over a cell when it is moved: 0.2 h of 1.7 h of shade.
    assert drawn == pytest.approx(measured, abs=0.25)


def test_who_stands_under_a_drawn_crown_is_not_on_its_top(
    place: Path, add: Added, tmp_path: Path
) -> None:
    add("canopy", box(0, 0), name="Oaks", height_m=15.0)
    found = hours(place, surface=heights(tmp_path / "level.tif"))
    assert found["zone"]["sun_hours"] < 0.5
    assert "Give --ground as well" in found["said"]


def test_what_is_missing_is_told(place: Path, add: Added, tmp_path: Path) -> None:
    add("canopy", box(0, 5e-4, 1e-4), name="Elms")
    add("canopy", shapely.Point(WEST, SOUTH), name="Lone pine", height_m=20.0)
    small = heights(tmp_path / "small.tif", half_m=60)
    found = hours(place, ground=small)
    assert "Without a height (column height_m), so they cast no shadow here: Elms" in found["said"]
    assert "Drawn as lines or points, so they cast no shadow here: Lone pine" in found["said"]
    assert "The raster ends near Alder" in found["said"]


def test_feet_are_feet(place: Path, tmp_path: Path) -> None:
    bumps = np.zeros((660, 660), np.float32)
    bumps[345:350, 290:410] = 12.0
    in_m = heights(tmp_path / "m.tif", bumps=bumps)
    in_ft = heights(tmp_path / "ft.tif", bumps=bumps / METRES_PER_FOOT)
    asked = SunAsked(in_ft, None, "ft")
    (zone,) = sun(place, property_name="Alder", asked=asked, season=DECEMBER)["zones"]
    assert zone["sun_hours"] == pytest.approx(
        hours(place, DECEMBER, surface=in_m)["zone"]["sun_hours"], abs=0.01
    )


def test_what_cannot_be_reckoned_is_refused(place: Path, tmp_path: Path) -> None:
    ground = heights(tmp_path / "level.tif")
    backwards = Season(date(2026, 9, 1), date(2026, 4, 1))
    with pytest.raises(InputFaultsError, match="is no season"):
        hours(place, backwards, ground=ground)
    with pytest.raises(InputFaultsError, match="none were given"):
        hours(place)


def test_hours_are_kept_in_the_zones_and_taken_back(place: Path, tmp_path: Path) -> None:
    found = hours(place, ground=heights(tmp_path / "level.tif"))
    assert keep_hours(place, found) == 1
    (row,) = geopackage.read_layer(place, "zone").to_dict("records")
    assert row["sun_hours"] == pytest.approx(daylight_h(JUNE), abs=0.01)
    assert (row["name"], row["shade"], row["species"]) == ("Front", "full_sun", "bermuda")
    undo(place, who="test")
    assert np.isnan(geopackage.read_layer(place, "zone")["sun_hours"].iloc[0])
    found["zones"][0]["id"] = "nobody"
    with pytest.raises(InputFaultsError, match="it has gone meanwhile"):
        keep_hours(place, found)


def test_hours_are_written_with_their_shapes(place: Path, tmp_path: Path) -> None:
    asked = SunAsked(None, heights(tmp_path / "level.tif"), "m")
    out = tmp_path / "sun.geojson"
    result = sun(place, property_name=None, asked=asked, season=JUNE, out=out)
    found = read_foreign(out)
    assert float(found.rows[0]["sun_hours"]) == pytest.approx(result["zones"][0]["sun_hours"])
    assert found.geometries[0].area == pytest.approx(box(0, 0).area)
