"""What rasters said, kept in the place and shown again: columns, pictures, and what goes wrong."""

import base64
import json
import shutil
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import rasterio
import shapely
from rasterio.io import MemoryFile

from tests.desk.heights import heights, write_raster
from tests.desk.measured_place import BANK_M, CROWN, TO_LON_LAT, measured_place
from tests.desk.test_bring_in import SOUTH, WEST, geojson
from tests.views.read_page import PageReader
from turfmap.desk.bring_in import bring_in
from turfmap.desk.edits import apply_edits
from turfmap.desk.map import GroundAsked, map_file
from turfmap.desk.overlays import kept_overlays
from turfmap.desk.place import read_place
from turfmap.desk.protected import Overrides
from turfmap.desk.slope import SlopeAsked, area_and_keep, pictures_of
from turfmap.desk.sun import SunAsked, sun_and_keep
from turfmap.desk.sun_reckoning import Season
from turfmap.desk.undo import undo
from turfmap.foundations.definitions import map_layer
from turfmap.foundations.errors import InputFaultsError
from turfmap.store import geopackage

AS_OF = date(2026, 9, 24)
JUNE = Season(date(2026, 6, 21), date(2026, 6, 21))
TAKEN = date(2024, 3, 12)
pytestmark = pytest.mark.filterwarnings("ignore::rasterio.errors.NotGeoreferencedWarning")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return measured_place(tmp_path_factory.mktemp("measured"))


@pytest.fixture
def place(made: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(made, tmp_path / "place.gpkg"))


@pytest.fixture(scope="module")
def kept(made: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the place with the slopes of the bank."""
    path = Path(shutil.copy(made, tmp_path_factory.mktemp("kept") / "place.gpkg"))
    keep_slopes(path, made.with_name("bank.tif"), taken=TAKEN)
    return path


def keep_slopes(place: Path, raster: Path, **more: Any) -> dict[str, Any]:
    asked = SlopeAsked(raster, more.pop("unit", "m"), **more)
    whole: dict[str, Any] = {"property_name": None, "product": None, "overrides": Overrides({})}
    return area_and_keep(place, **whole, asked=asked)


def zones(place: Path) -> dict[str, dict[str, Any]]:
    frame = geopackage.read_layer(place, "zone")
    return {row["name"]: row for row in frame.drop(columns="geometry").to_dict("records")}


def drawn(place: Path, **asked: Any) -> dict[str, Any]:
    out = place.with_name("map.html")
    result = map_file(place, as_of=AS_OF, out=out, **asked)
    data = json.loads(PageReader(out.read_text(encoding="utf-8")).data["map-data"])
    return {"data": data, "said": " ".join(result["cautions"]), "overlays": result["overlays"]}


def greys(picture: bytes) -> np.ndarray[Any, np.dtype[np.uint8]]:
    with MemoryFile(picture) as file, file.open(driver="PNG") as read:
        return np.asarray(read.read(1), np.uint8)


def test_slopes_are_kept_in_columns_with_their_raster_date_and_cells(
    made: Path, place: Path
) -> None:
    result = keep_slopes(place, made.with_name("bank.tif"), taken=TAKEN, too_steep_pct=20.0)
    assert result["kept"] == 2
    front, green = zones(place)["Front"], zones(place)["Green"]
    told = {zone["zone"]: zone for zone in result["zones"]}["Front"]
    assert front["slope_mean_pct"] == pytest.approx(told["slope"]["mean_pct"], abs=0.005)
    assert front["slope_max_pct"] == pytest.approx(told["slope"]["steepest_pct"], abs=0.005)
    assert front["surface_m2"] == pytest.approx(told["surface_m2"], abs=0.005)
    assert front["surface_m2"] > told["gross_m2"]
    # The bank's slope reaches a cell to each side, and into one more where cells are moved.
    assert 1.9 / 37.4 < front["slope_over_pct"] / 100.0 < 3.1 / 37.4
    assert (front["slope_limit_pct"], front["slope_known_pct"]) == (20.0, 100.0)
    assert (front["slope_raster"], front["slope_raster_date"]) == ("bank.tif", "2024-03-12")
    assert front["slope_resolution_m"] == pytest.approx(1.0, abs=0.005)
    assert front["slope_method"] == "Horn 1981, 3 by 3 cells; bilinear; heights in m"
    assert green["slope_raster"] is None
    assert np.isnan(green["slope_mean_pct"])
    # One change, which takes the pictures back with it.
    assert len(geopackage.read_layer(place, "overlay")) == 2
    undo(place, who="test")
    assert zones(place)["Front"]["slope_raster"] is None
    assert len(geopackage.read_layer(place, "overlay")) == 0


def test_a_second_measurement_takes_the_place_of_the_first(made: Path, place: Path) -> None:
    keep_slopes(place, made.with_name("bank.tif"))
    keep_slopes(place, made.with_name("level.tif"))
    assert zones(place)["Front"]["slope_mean_pct"] == pytest.approx(0.0, abs=0.01)
    frame = geopackage.read_layer(place, "overlay")
    assert sorted(frame["measure"]) == ["hillshade", "slope"]
    assert set(frame["raster"]) == {"level.tif"}
    undo(place, who="test")
    assert set(geopackage.read_layer(place, "overlay")["raster"]) == {"bank.tif"}


def test_the_bank_is_where_it_is_in_the_picture(made: Path, kept: Path) -> None:
    """PROJ says on which longitude the bank lies; the middle of its slope lies there."""
    (slope,) = [one for one in kept_overlays(kept, ["Alder"])[0] if one.measure == "slope"]
    picture = greys(slope.picture)
    west, _, east, north = slope.bounds
    assert (west, north) == pytest.approx((WEST, SOUTH + 1e-3), abs=1e-9)
    bank_lon, _ = TO_LON_LAT.transform(BANK_M, 50.0)
    expected = (bank_lon - west) / (east - west) * picture.shape[1]
    steepness = picture[20:80, :60].astype(float) - 1.0
    middles = steepness @ (np.arange(60) + 0.5) / steepness.sum(axis=1)
    # A pixel has the value of a cell whose middle is at most half a cell off.
    assert np.abs(middles - expected).max() <= 0.51
    assert picture[50, 60] == 1  # level, and known


def test_hours_are_kept_with_class_raster_and_season(made: Path, place: Path) -> None:
    asked = SunAsked(None, made.with_name("level.tif"), "m", taken=TAKEN)
    result = sun_and_keep(place, property_name=None, asked=asked, season=JUNE)
    assert result["kept"] == 2
    front, side = zones(place)["Front"], zones(place)["Side"]
    assert (front["sun_raster"], front["sun_raster_date"]) == ("level.tif", "2024-03-12")
    assert front["sun_method"] == (
        "Direct sun under a clear sky, 21 Jun 2026 to 21 Jun 2026, one day in 7, steps of 15 min;"
        " bilinear; heights in m"
    )
    assert front["sun_known_pct"] == 100.0
    assert front["shade_measured"] == "full_sun"
    assert (side["shade"], side["shade_measured"]) != ("full_sun", "full_sun")
    (hours,) = kept_overlays(place, ["Alder"])[0]
    picture = greys(hours.picture)
    assert hours.property == "Alder"
    picture, (west, south, east, north) = greys(hours.picture), hours.bounds

    def hours_at(lon: float, lat: float) -> float:
        column = int((lon - west) / (east - west) * picture.shape[1])
        row = int((north - lat) / (north - south) * picture.shape[0])
        return (float(picture[row, column]) - 1.0) * hours.step

    # 2 m to each side of the crown's west edge; it is solid, so that nobody under it has sun.
    edge, _, _, top = CROWN.bounds
    aside = 2.0 / 93_500.0
    assert hours_at(edge + aside, top - 1e-4) == pytest.approx(0.0, abs=0.01)
    assert hours_at(edge - aside, top - 1e-4) > 4.0
    assert hours_at(WEST + 3e-5, SOUTH + 3e-5) > 12.0


def test_the_map_shows_what_is_kept_or_measures_anew_and_keeps_nothing(
    made: Path, place: Path
) -> None:
    bare = drawn(place)
    assert "overlays" not in bare["data"]
    assert "measured" not in bare["data"]["zones"]
    keep_slopes(place, made.with_name("bank.tif"), taken=TAKEN)
    kept = drawn(place)["data"]
    pictures = kept["overlays"]["pictures"]
    assert sorted((one["measure"], one["property"]) for one in pictures) == [
        ("hillshade", "Alder"),
        ("slope", "Alder"),
    ]
    coded = pictures[0]["image"].removeprefix("data:image/png;base64,")
    assert len(coded) < 200_000
    assert greys(base64.b64decode(coded)).shape[0] > 100
    about = kept["overlays"]["abouts"][pictures[0]["about"]]
    assert "bank.tif, taken 12 Mar 2024, cells of 1 m (3.3 ft)" in about
    told = dict(zip(kept["zones"]["name"], kept["zones"]["measured"], strict=True))
    assert told["Green"] == []
    ((title, words),) = told["Front"]
    assert title == "Slope"
    assert "From bank.tif, taken 12 Mar 2024, cells of 1 m" in words
    asked = GroundAsked(slope=SlopeAsked(made.with_name("level.tif"), "m"))
    fresh = drawn(place, asked=asked)
    assert "level.tif, date not known" in " ".join(fresh["data"]["overlays"]["abouts"])
    assert "When level.tif was taken is not known" in fresh["said"]
    assert zones(place)["Front"]["slope_raster"] == "bank.tif"


def test_a_slope_of_another_outline_is_told(kept: Path, tmp_path: Path) -> None:
    """Half a zone cannot have the surface of all of it."""
    place = Path(shutil.copy(kept, tmp_path / "place.gpkg"))
    whole = geopackage.read_layer(place, "zone")
    front = whole[whole["name"] == "Front"].iloc[0]
    west, south, east, north = front.geometry.bounds
    half = shapely.box(west, south, (west + east) / 2.0, north)
    feature = {"type": "Feature", "geometry": json.loads(shapely.to_geojson(half))}
    edit = {"layer": "zone", "op": "merge", "id": front["id"], "feature": feature}
    apply_edits(place, [edit], who="test")
    zone = drawn(place, property_name="Alder")["data"]["zones"]
    told = dict(zip(zone["name"], zone["measured"], strict=True))
    assert "The zone's edge has been moved since" in told["Front"][0][1]
    assert "moved since" not in told["Side"][0][1]


def test_the_map_of_another_property_has_no_picture_of_this_one(kept: Path) -> None:
    assert drawn(kept, property_name="Birch")["overlays"] == 0
    assert len(kept_overlays(kept, ["Alder", "Birch"])[0]) == 2


def test_ground_without_heights_is_marked_as_not_known(place: Path, tmp_path: Path) -> None:
    raster = heights(tmp_path / "holed.tif")
    with rasterio.open(raster, "r+") as made:
        values = made.read(1)
        values[:, 350:] = -9999.0  # from 20 m east of the corner on
        made.write(values, 1)
    keep_slopes(place, raster)
    (slope,) = [one for one in kept_overlays(place, ["Alder"])[0] if one.measure == "slope"]
    picture = greys(slope.picture)
    assert (picture[5:-5, 2:15] == 1).all()
    assert (picture[5:-5, 25:-5] == 255).all()
    assert zones(place)["Front"]["slope_known_pct"] == pytest.approx(100 * 19 / 37.4, abs=3.0)


def test_what_cannot_be_used_is_refused_and_nothing_is_kept(place: Path, tmp_path: Path) -> None:
    far = write_raster(
        tmp_path / "far.tif",
        np.zeros((1, 50, 50), np.float32),
        crs="EPSG:32633",
        transform=rasterio.Affine(1, 0.0, 500_000, 0.0, -1, 5_000_000),
    )
    with pytest.raises(InputFaultsError, match="no heights under any of the zones"):
        keep_slopes(place, far)
    in_feet = heights(tmp_path / "feet.tif")
    with rasterio.open(in_feet, "r+") as made:
        made.units = ("ft",)
    out = place.with_name("map.html")
    with pytest.raises(InputFaultsError, match="says that its heights are in ft, and m was given"):
        map_file(place, as_of=AS_OF, out=out, asked=GroundAsked(slope=SlopeAsked(in_feet, "m")))
    with pytest.raises(InputFaultsError, match="no heights under any of the zones"):
        map_file(place, as_of=AS_OF, out=out, asked=GroundAsked(slope=SlopeAsked(far, "m")))
    assert not out.exists()
    assert len(geopackage.read_layer(place, "overlay")) == 0


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("image", "<script>"),
        ("image", base64.b64encode(b"\x89PNG\r\n\x1a\n" + bytes(60)).decode()),
        ("step", -1.0),
        ("raster_date", "yesterday"),
        ("pixel_m", None),
    ],
)
def test_a_picture_that_turfmap_did_not_write_is_left_out_and_told(
    kept: Path, tmp_path: Path, column: str, value: object
) -> None:
    place = Path(shutil.copy(kept, tmp_path / "place.gpkg"))
    with geopackage.editing(place) as connection:
        connection.execute(
            f"UPDATE overlay SET {column} = ? WHERE measure = 'slope'",  # noqa: S608
            (value,),
        )
    found, said = kept_overlays(place, ["Alder"])
    assert [one.measure for one in found] == ["hillshade"]
    assert "1 of the kept overlays are not as turfmap wrote them" in said[0]


def test_a_place_without_the_layer_gets_it_and_one_undo_takes_all_back(
    made: Path, place: Path
) -> None:
    """A file as layout 2 was: no overlays, no measured columns."""
    layer = map_layer("overlay")
    with geopackage.editing(place) as connection:
        connection.execute("DROP TABLE rtree_overlay_geom")
        connection.execute("DROP TABLE overlay")
        for told in ("geometry_columns", "extensions", "data_columns", "contents"):
            connection.execute(f"DELETE FROM gpkg_{told} WHERE table_name = 'overlay'")  # noqa: S608
        connection.execute(
            "DELETE FROM gpkg_data_column_constraints WHERE constraint_name LIKE 'overlay_%'"
        )
        for operation in ("insert", "update", "delete", "replace"):
            connection.execute(f"DROP TRIGGER zone_change_{operation}")
        connection.execute("ALTER TABLE zone DROP COLUMN slope_mean_pct")
        connection.execute("UPDATE gpkg_metadata SET metadata = 'turfmap file format 2'")
    keep_slopes(place, made.with_name("bank.tif"))
    assert len(geopackage.read_layer(place, layer.name)) == 2
    assert zones(place)["Front"]["slope_mean_pct"] > 0.0
    undo(place, who="test")
    assert len(geopackage.read_layer(place, layer.name)) == 0
    assert np.isnan(zones(place)["Front"]["slope_mean_pct"])


def test_pictures_follow_a_property_that_gets_another_name(made: Path, place: Path) -> None:
    keep_slopes(place, made.with_name("bank.tif"))
    frame = geopackage.read_layer(place, "property")
    identity = frame.loc[frame["name"] == "Alder", "id"].iloc[0]
    feature = {"properties": {"name": "Elder"}}
    edit = {"layer": "property", "op": "merge", "id": identity, "feature": feature}
    apply_edits(place, [edit], who="test")
    assert len(kept_overlays(place, ["Elder"])[0]) == 2


def test_large_ground_is_looked_at_block_by_block_and_shown_by_means(
    place: Path, tmp_path: Path
) -> None:
    """A park of 0.9 by 1.1 km has a million cells; its picture stays small, its slope is 10 %."""
    tilted = np.broadcast_to(0.1 * np.arange(1_500, dtype=np.float32), (1_500, 1_500))
    raster = write_raster(
        tmp_path / "wide.tif",
        tilted[None].copy(),
        crs="EPSG:32617",
        transform=rasterio.Affine(1.0, 0.0, 218_900.0, 0.0, -1.0, 3_656_400.0),
    )
    wide = shapely.box(WEST - 2e-3, SOUTH, WEST + 8e-3, SOUTH + 1e-2)
    park = {"name": "Park", "property": "Park", "kind": "turf"}
    bring_in(place, geojson(tmp_path / "park.geojson", (wide, park)), layer_name="zone")
    ground = read_place(place, property_name="Park", product=None, overrides=Overrides({}))
    slope, relief = pictures_of(ground, SlopeAsked(raster, "m"))
    picture = greys(slope.picture)
    assert 50_000 < picture.size <= 150_000
    assert slope.resolution_m == pytest.approx(1.0, rel=1e-3)
    assert slope.pixel_m > 2.0
    inside = picture[20:-20, 20:-20]
    known = inside[(inside > 0) & (inside < 255)]
    assert known.size > 0.5 * inside.size
    assert np.median((known - 1) * slope.step) == pytest.approx(10.0, abs=0.5)
    # Light from the north-west on ground that faces west at 10 %, by Lambert's cosine law.
    light = (np.sqrt(0.5) + 0.5 * 0.1) / np.sqrt(1.01)
    lit = greys(relief.picture)[20:-20, 20:-20]
    assert np.median(lit[(lit > 0) & (lit < 255)] - 1.0) * relief.step == pytest.approx(
        light, abs=0.01
    )
