"""Slope of zones from rasters: tilts that are known, and all that may be wrong with a raster."""

import resource
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import rasterio
from pyproj import Transformer
from rasterio import Affine

from tests.desk.heights import heights, write_raster
from tests.desk.test_bring_in import SOUTH, WEST, box, geojson
from turfmap.desk.area import area
from turfmap.desk.bring_in import bring_in
from turfmap.desk.new import new
from turfmap.desk.protected import Overrides
from turfmap.desk.slope import SlopeAsked, area_with_slope
from turfmap.foundations.errors import InputFaultsError

PLAIN = Overrides({})


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("slope")
    path = folder / "place.gpkg"
    new(path)
    lot = geojson(folder / "lot.geojson", (box(0, 0, 1e-3), {"name": "Alder"}))
    bring_in(path, lot, layer_name="property")
    zones = geojson(folder / "zones.geojson", (box(0, 0), {"name": "Front", "kind": "turf"}))
    bring_in(path, zones, layer_name="zone")
    return path


def sloped(place: Path, raster: Path, unit: str = "m", **more: Any) -> dict[str, Any]:
    asked = SlopeAsked(raster, unit, **more)
    return area_with_slope(place, property_name=None, product=None, overrides=PLAIN, asked=asked)


def test_a_tilted_plane_has_its_tilt_and_its_surface(place: Path, tmp_path: Path) -> None:
    """10 % of slope has half a percent more surface: the root of 1 + 0.1 squared."""
    result = sloped(place, heights(tmp_path / "tilted.tif", east=0.06, north=-0.08))
    (zone,) = result["zones"]
    assert zone["slope"]["mean_pct"] == pytest.approx(10.0, abs=0.01)
    assert zone["slope"]["steepest_pct"] == pytest.approx(10.0, abs=0.05)
    assert [one["share"] for one in zone["slope"]["above"]] == [0.0, 0.0]
    assert zone["surface_m2"] / zone["gross_m2"] == pytest.approx(np.sqrt(1.01), rel=1e-5)
    assert zone["slope"]["known_share"] == pytest.approx(1.0)
    assert result["slope"]["raster"] == "tilted.tif"
    assert result["slope"]["cell_m"] == pytest.approx(1.0, rel=1e-6)


def test_feet_are_feet_and_the_unit_is_never_guessed(place: Path, tmp_path: Path) -> None:
    raster = heights(tmp_path / "tilted.tif", east=0.3281)
    (in_feet,) = sloped(place, raster, "ft")["zones"]
    assert in_feet["slope"]["mean_pct"] == pytest.approx(10.0, abs=0.01)
    with rasterio.open(raster, "r+") as made:
        made.units = ("ft",)
    with pytest.raises(InputFaultsError, match="says that its heights are in ft, and m was given"):
        sloped(place, raster, "m")


def test_a_vertical_system_in_feet_is_heeded_and_heights_stay_as_written(
    place: Path, tmp_path: Path
) -> None:
    """UTM zone 17 N with heights in US survey feet (EPSG:32617+6360): 0.3281 ft a metre is 10 %."""
    middle = Transformer.from_crs("EPSG:4326", "EPSG:32617", always_xy=True).transform(WEST, SOUTH)
    west, north = middle[0] - 100.0, middle[1] + 100.0
    rise = np.broadcast_to(0.3281 * np.arange(200, dtype=np.float32), (200, 200))
    raster = write_raster(
        tmp_path / "compound.tif",
        rise[None].copy(),
        crs="EPSG:32617+6360",
        transform=Affine(1.0, 0.0, west, 0.0, -1.0, north),
    )
    with pytest.raises(InputFaultsError, match="says that its heights are in ft, and m was given"):
        sloped(place, raster, "m")
    (zone,) = sloped(place, raster, "ft")["zones"]
    assert zone["slope"]["mean_pct"] == pytest.approx(10.0, abs=0.05)


def test_what_is_too_steep_is_taken_out_of_the_treatable(place: Path, tmp_path: Path) -> None:
    """West of 18 m the ground is level, east of it 30 % steep: the parts are told by geometry."""
    bumps = np.zeros((660, 660), np.float32)
    bumps[:] = 0.3 * np.maximum(np.arange(-330, 330) + 0.5 - 18.0, 0.0)
    raster = heights(tmp_path / "bank.tif", bumps=bumps)
    (flat,) = area(place, property_name=None, product=None, overrides=PLAIN)["zones"]
    (zone,) = sloped(place, raster, too_steep_pct=20.0)["zones"]
    width_m = flat["gross_m2"] / 44.36
    assert zone["too_steep_m2"] / zone["gross_m2"] == pytest.approx(1 - 18 / width_m, abs=0.02)
    assert zone["treatable_m2"] + zone["too_steep_m2"] == pytest.approx(flat["treatable_m2"])
    parts = ("obstacle_m2", "no_spray_m2", "too_steep_m2", "treatable_m2")
    assert sum(zone[part] for part in parts) == pytest.approx(zone["gross_m2"])
    assert zone["slope"]["above"][1]["share"] == pytest.approx(1 - 18 / width_m, abs=0.02)


def test_unknown_ground_is_told_and_never_reckoned_as_gentle(place: Path, tmp_path: Path) -> None:
    raster = heights(tmp_path / "holed.tif")
    with rasterio.open(raster, "r+") as made:
        values = made.read(1)
        values[:, 340:] = -9999.0  # from 10 m east of the corner on
        made.write(values, 1)
    result = sloped(place, raster, too_steep_pct=20.0)
    (zone,) = result["zones"]
    assert 0.15 < zone["slope"]["known_share"] < 0.35
    assert zone["too_steep_m2"] / zone["gross_m2"] == pytest.approx(
        1 - zone["slope"]["known_share"], abs=0.01
    )
    assert any(
        "no heights under all or part of Alder / Front" in said for said in result["cautions"]
    )


def test_a_raster_elsewhere_is_refused_in_words(place: Path, tmp_path: Path) -> None:
    raster = write_raster(
        tmp_path / "far.tif",
        np.zeros((1, 50, 50), np.float32),
        crs="EPSG:32633",
        transform=Affine(1, 0.0, 500_000, 0.0, -1, 5_000_000),
    )
    with pytest.raises(InputFaultsError, match="no heights under any of the zones"):
        sloped(place, raster)


def test_what_is_no_raster_is_refused_in_words(place: Path, tmp_path: Path) -> None:
    with pytest.raises(InputFaultsError, match="there is no such file"):
        sloped(place, tmp_path / "none.tif")
    text = tmp_path / "text.tif"
    text.write_text("heights")
    with pytest.raises(InputFaultsError, match="cannot be read as a raster"):
        sloped(place, text)
    # A virtual raster names other files to read, whatever its own name says.
    real = heights(tmp_path / "real.tif")
    virtual = tmp_path / "virtual.tif"
    virtual.write_text(
        '<VRTDataset rasterXSize="660" rasterYSize="660">'
        '<VRTRasterBand dataType="Float32" band="1">'
        f"<SimpleSource><SourceFilename>{real}</SourceFilename></SimpleSource></VRTRasterBand>"
        "</VRTDataset>"
    )
    with pytest.raises(InputFaultsError, match="cannot be read as a raster"):
        sloped(place, virtual)


def test_cells_of_degrees_are_moved_to_metres_first(place: Path, tmp_path: Path) -> None:
    """The same tilt on a grid of longitude and latitude, where a degree is not a degree."""
    step, count = 1e-5, 160
    lon = WEST - 4e-4 + step * (np.arange(count) + 0.5)
    east_m = (lon - WEST) * 111_320.0 * np.cos(np.radians(SOUTH))
    tilted = np.broadcast_to(0.1 * east_m, (count, count)).astype(np.float32)
    raster = write_raster(
        tmp_path / "degrees.tif",
        tilted[None].copy(),
        crs="EPSG:4326",
        transform=Affine(step, 0.0, WEST - 4e-4, 0.0, -step, SOUTH + 1.2e-3),
    )
    (zone,) = sloped(place, raster)["zones"]
    assert zone["slope"]["mean_pct"] == pytest.approx(10.0, abs=0.1)


def test_a_huge_raster_costs_no_more_memory_than_the_ground_asked_for(
    place: Path, tmp_path: Path
) -> None:
    """20,000 by 20,000 cells are 1.6 GB; a sparse tiled file of them is read by the window."""
    half = 10_000
    path = tmp_path / "huge.tif"
    with rasterio.open(
        path, "w", driver="GTiff", width=2 * half, height=2 * half, count=1, dtype="float32",
        crs=rasterio.open(heights(tmp_path / "small.tif")).crs, tiled=True, SPARSE_OK=True,
        transform=Affine(1.0, 0.0, -half, 0.0, -1.0, half), nodata=-9999.0, compress="deflate",
    ) as made:  # fmt: skip
        window = rasterio.windows.Window(half - 128, half - 128, 512, 256)
        rise = np.broadcast_to(0.1 * np.arange(512, dtype=np.float32), (256, 512))
        made.write(rise, 1, window=window)
    assert path.stat().st_size < 20_000_000
    sloped(place, heights(tmp_path / "warm.tif"))
    before_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    (zone,) = sloped(place, path)["zones"]
    grown_mb = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before_kb) / 1024.0
    assert zone["slope"]["mean_pct"] == pytest.approx(10.0, abs=0.05)
    assert grown_mb < 150.0
