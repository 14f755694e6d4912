"""Pictures lie on a Mercator map where their ground is: held to PROJ's own EPSG:3857."""

import numpy as np
import pytest
import shapely
from pyproj import Transformer

from turfmap.foundations.grid import Grid, grid_over
from turfmap.ground.map_pixels import (
    cells_of,
    coarser,
    cut_to,
    laid_on,
    lies_within,
    map_pixels,
)
from turfmap.store.raster_windows import plane_crs

TO_MERCATOR = Transformer.from_crs("EPSG:4326", "EPSG:3857", always_xy=True)
# Half the side of the square map of EPSG:3857, by its definition pi times 6,378,137 m.
HALF_M = np.pi * 6_378_137.0
PLACES = [(-84.0, 33.0), (151.2, -33.9), (10.7, 59.9), (-0.0003, 0.0002)]


@pytest.mark.parametrize(("lon", "lat"), PLACES)
def test_pixels_are_square_in_epsg_3857_and_cover_the_box(lon: float, lat: float) -> None:
    box = np.array([lon, lat, lon + 0.0021, lat + 0.0013])
    pixels = map_pixels(box, pixel_m=0.7)
    west, south, east, north = pixels.bounds
    assert west == pytest.approx(box[0], abs=1e-12)
    assert north == pytest.approx(box[3], abs=1e-12)
    assert east >= box[2] - 1e-12
    assert south <= box[1] + 1e-12
    left, bottom = TO_MERCATOR.transform(west, south)
    right, top = TO_MERCATOR.transform(east, north)
    assert (right - left) / pixels.columns == pytest.approx((top - bottom) / pixels.rows, rel=1e-7)
    x, y = TO_MERCATOR.transform(*(one[3, 5] for one in pixels.middles()))
    side_m = pixels.side * 2.0 * HALF_M
    assert x == pytest.approx(left + 5.5 * side_m, abs=1e-5)
    assert y == pytest.approx(top - 3.5 * side_m, abs=1e-5)


@pytest.mark.parametrize(("lon", "lat"), PLACES)
def test_each_pixel_has_the_value_measured_within_half_a_cell_of_it(lon: float, lat: float) -> None:
    """Cells that hold their own place; PROJ tells where on their plane each pixel is."""
    origin = np.array([lon + 0.04, lat + 0.03])  # a property far from the middle of its tile
    to_plane = Transformer.from_crs("EPSG:4326", plane_crs(*map(float, origin)), always_xy=True)
    east_m, north_m = to_plane.transform([lon, lon + 0.002], [lat, lat + 0.0015])
    box_m = np.array([east_m[0], north_m[0], east_m[1], north_m[1]])
    grid = grid_over(box_m, cell_m=0.5, origin=origin, reach_m=20.0)
    rows, columns = np.mgrid[: grid.rows, : grid.columns]
    held_x = grid.west_m + (columns + 0.5) * grid.cell_m
    held_y = grid.north_m - (rows + 0.5) * grid.cell_m
    pixels = map_pixels(np.array([lon, lat, lon + 0.002, lat + 0.0015]), pixel_m=0.8)
    # Less one constant each, so that float32 keeps a millimetre.
    found_x, found_y = (
        laid_on(pixels, (held - box_m[at]).astype(np.float32), grid) + box_m[at]
        for at, held in ((0, held_x), (1, held_y))
    )
    true_x, true_y = to_plane.transform(*pixels.middles())
    assert np.abs(found_x - true_x).max() <= 0.2501
    assert np.abs(found_y - true_y).max() <= 0.2501


def grid(rows: int, columns: int) -> Grid:
    return Grid(0.0, 0.0, west_m=10.0, north_m=50.0, cell_m=2.0, rows=rows, columns=columns)


def test_cells_are_laid_together_by_the_mean_of_what_is_known() -> None:
    values = np.array(
        [[1, 2, 3, 4, 9], [5, np.nan, 7, 8, 9], [9, 9, np.nan, np.nan, 1]], np.float32
    )
    found, wider = coarser(values, grid(3, 5), cells=2)
    assert found == pytest.approx(
        np.array([[8 / 3, 5.5, 9.0], [9.0, np.nan, 1.0]]), nan_ok=True, rel=1e-6
    )
    assert (wider.cell_m, wider.rows, wider.columns) == (4.0, 2, 3)
    assert (wider.west_m, wider.north_m) == (10.0, 50.0)
    assert cells_of(4, grid(3, 5)) == 2
    assert cells_of(15, grid(3, 5)) == 1


def test_a_cut_keeps_the_place_of_its_cells() -> None:
    values = np.arange(48, dtype=np.float32).reshape(6, 8)
    found, part = cut_to(values, grid(6, 8), np.array([13.0, 43.0, 17.0, 47.0]))
    assert found.tolist() == [[9, 10, 11], [17, 18, 19], [25, 26, 27]]
    assert part.bounds_m == (12.0, 42.0, 18.0, 48.0)


def test_pixels_of_other_ground_are_told_apart() -> None:
    box = np.array([-84.0, 33.0, -83.999, 33.001])
    pixels = map_pixels(box, pixel_m=1.0)
    half = shapely.box(-84.0, 33.0, -83.9995, 33.001)
    assert lies_within(pixels, half).mean() == pytest.approx(0.5, abs=0.02)
