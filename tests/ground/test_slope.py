"""Slopes against GDAL's own, planes of known tilt, and published coverage of cells."""

import subprocess
from pathlib import Path
from typing import Any

import matplotlib.cbook
import numpy as np
import pytest
import rasterio
import shapely
from exactextract import exact_extract
from exactextract.raster import NumPyRasterSource

from turfmap.foundations.grid import Grid, grid_over
from turfmap.foundations.shapes import shape_array
from turfmap.ground.coverage import coverage
from turfmap.ground.slope import SlopeSums, horn_slope, less_steep

GRID = Grid(lon=0.0, lat=0.0, west_m=0.0, north_m=5.0, cell_m=1.0, rows=5, columns=5)


def test_horn_as_gdal_has_it_on_real_ground() -> None:
    """``gdaldem slope -alg Horn -p`` of GDAL 3.6.2 on the elevations that matplotlib ships.

    Tennessee, 344 by 403 cells, laid on square cells of 30 m; run once, figures printed here.
    """
    ground: Any = matplotlib.cbook.get_sample_data("jacksboro_fault_dem.npz")
    with ground:
        found = 100.0 * horn_slope(ground["elevation"].astype(np.float32), 30.0)
    assert found[99, 99] == pytest.approx(GDAL_AT_100_100, abs=2e-5)
    assert found[200, 300] == pytest.approx(GDAL_AT_201_301, abs=2e-5)
    assert found.max() == pytest.approx(GDAL_STEEPEST, abs=2e-4)
    degrees = np.degrees(np.arctan(found.astype(float) / 100.0))
    assert degrees.mean() == pytest.approx(30.469284, abs=1e-5)


GDAL_AT_100_100, GDAL_AT_201_301, GDAL_STEEPEST = 20.429419, 28.43731, 200.52881


@pytest.mark.parametrize("cell_m", [1.0, 30.0])
def test_every_cell_is_as_gdaldem_of_this_machine_has_it(cell_m: float, tmp_path: Path) -> None:
    """``gdaldem slope -alg Horn -p`` over the whole of those elevations, but for their rim."""
    ground: Any = matplotlib.cbook.get_sample_data("jacksboro_fault_dem.npz")
    with ground:
        heights = ground["elevation"].astype(np.float32)
    heights *= cell_m / 30.0  # the same steepness on any cell
    rows, columns = heights.shape
    there, made = tmp_path / "heights.tif", tmp_path / "slope.tif"
    profile = {"driver": "GTiff", "dtype": "float32", "count": 1, "crs": "EPSG:32616"}
    with rasterio.open(
        there, "w", height=rows, width=columns,
        transform=rasterio.Affine(cell_m, 0.0, 7e5, 0.0, -cell_m, 4e6), **profile,
    ) as raster:  # fmt: skip
        raster.write(heights, 1)
    command = ["gdaldem", "slope", str(there), str(made), "-alg", "Horn", "-p", "-q"]
    subprocess.run(command, check=True)
    with rasterio.open(made) as raster:
        theirs = raster.read(1)[1:-1, 1:-1]
    np.testing.assert_allclose(100.0 * horn_slope(heights, cell_m), theirs, rtol=2e-4, atol=2e-3)


def test_a_plane_has_its_own_tilt_and_a_hole_in_it_has_none() -> None:
    """A gradient of 0.05 east and -0.08 north is steep by their hypotenuse, 9.43 %."""
    north, east = np.mgrid[20:0:-1, 0:20].astype(np.float32) * 2.0
    plane = 100.0 + 0.05 * east - 0.08 * north
    found = horn_slope(plane, 2.0)
    assert found.shape == (18, 18)
    assert found == pytest.approx(np.full((18, 18), np.hypot(0.05, 0.08)), rel=1e-4)
    plane[10, 10] = np.nan
    holed = horn_slope(plane, 2.0)
    assert np.isnan(holed).sum() == 9
    assert np.isnan(holed[8:11, 8:11]).all()


def test_cells_at_an_edge_count_in_part() -> None:
    """The first example of exactextract pages: the box covers 4 cells, which sum to 64."""
    boxes = shape_array([shapely.box(0.5, 0.5, 2.5, 2.5), None, shapely.box(8, 8, 9, 9)])
    found = coverage(boxes, GRID)
    values = np.arange(25.0)
    assert set(found.shape) == {0}
    assert found.share.sum() == pytest.approx(4.0)
    assert found.share @ values[found.cell] == pytest.approx(64.0)


def test_zone_figures_are_those_of_exactextract_on_real_ground() -> None:
    """Its own mean, maximum and frequencies over the heights that matplotlib ships, as slopes."""
    ground: Any = matplotlib.cbook.get_sample_data("jacksboro_fault_dem.npz")
    with ground:
        steepness = horn_slope(ground["elevation"].astype(np.float32), 30.0)
    rows, columns = steepness.shape
    grid = Grid(0.0, 0.0, west_m=0.0, north_m=30.0 * rows, cell_m=30.0, rows=rows, columns=columns)
    rng = np.random.default_rng(5)
    middles = rng.uniform(1_500.0, 30.0 * min(rows, columns) - 1_500.0, (12, 2))
    zones = [
        shapely.Point(*xy).buffer(rng.uniform(20.0, 1_200.0)) - shapely.Point(*xy).buffer(8.0)
        for xy in middles
    ]
    raster = NumPyRasterSource(steepness.astype(float), *grid.bounds_m)
    features = [
        {"type": "Feature", "properties": {}, "geometry": shapely.geometry.mapping(zone)}
        for zone in zones
    ]
    asked = ["mean", "values", "coverage"]
    for zone, one in zip(zones, exact_extract(raster, features, asked), strict=True):
        truth = one["properties"]
        sums = SlopeSums(np.array([0.5]))
        sums.add(zone, grid, steepness)
        found = sums.found(zone.area)
        steep = truth["coverage"][truth["values"] > 0.5].sum() / truth["coverage"].sum()
        assert found["mean_pct"] == pytest.approx(100.0 * truth["mean"], rel=1e-5)
        assert sums.shares_above() == [pytest.approx(steep, abs=1e-6)]
        inside = truth["values"][truth["coverage"] >= 0.5]
        if inside.size:
            assert found["steepest_pct"] == pytest.approx(100.0 * inside.max(), rel=1e-6)


def test_shares_above_a_limit_and_the_surface_of_a_roof() -> None:
    """Left half level, right half at 45 degrees: surface 1 and the root of 2."""
    steepness = np.zeros((5, 5), np.float32)
    steepness[:, 3:] = 1.0
    sums = SlopeSums(np.array([0.2, 1.5]))
    sums.add(shapely.box(1.0, 0.0, 5.0, 5.0), GRID, steepness)
    found = sums.found(200.0)
    assert sums.shares_above() == [pytest.approx(0.5), pytest.approx(0.0)]
    assert found["mean_pct"] == pytest.approx(50.0)
    assert found["steepest_pct"] == pytest.approx(100.0)
    assert found["surface_m2"] == pytest.approx(100.0 * (1.0 + np.sqrt(2.0)))


def test_a_wall_that_an_edge_just_touches_is_not_the_steepest_place() -> None:
    steepness = np.zeros((5, 5), np.float32)
    steepness[:, 4] = 3.0
    sums = SlopeSums(np.array([0.2]))
    sums.add(shapely.box(0.0, 0.0, 4.2, 5.0), GRID, steepness)
    assert sums.found(1.0)["steepest_pct"] == 0.0


def test_ground_of_unknown_slope_has_no_figures() -> None:
    sums = SlopeSums(np.array([0.2]))
    sums.add(shapely.box(0, 0, 5, 5), GRID, np.full((5, 5), np.nan, np.float32))
    assert sums.found(25.0) == {
        "known_share": 0.0,
        "mean_pct": None,
        "steepest_pct": None,
        "surface_m2": None,
    }
    assert sums.shares_above() == [None]


def test_blocks_make_up_the_grid_and_steep_ground_is_taken_out() -> None:
    grid = grid_over(np.array([-3.2, 0.0, 4.1, 9.9]), cell_m=0.5, origin=np.zeros(2))
    parts = list(grid.blocks(7))
    assert sum(part.size for part in parts) == grid.size
    assert shapely.union_all([shapely.box(*part.bounds_m) for part in parts]).area == pytest.approx(
        shapely.box(*grid.bounds_m).area
    )
    left = less_steep(
        shape_array([shapely.box(0, 0, 4, 4)]), shape_array([shapely.box(3, 0, 9, 9)])
    )
    assert left[0].area == pytest.approx(12.0)
