"""From cells on a local plane to the pixels of a picture that lies straight on a Mercator map."""

from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from turfmap.foundations import plane
from turfmap.foundations.grid import Grid
from turfmap.foundations.plane import Floats

Values = NDArray[np.float32]
Shown = NDArray[np.bool_]
# A circle of latitude at the equator, on the sphere that web maps use [m].
EQUATOR_M = 2.0 * np.pi * plane.WGS84_SEMIMAJOR_AXIS_M


@dataclass(frozen=True)
class MapPixels:
    """Square pixels on a spherical Mercator map, rows from north to south.

    Attributes
    ----------
    west, north
        The north-west corner, as shares of the square map: 0 to 1 from west to east and from
        north to south.
    side
        Side of a pixel, as a share of the square map.
    rows, columns
        How many pixels there are.
    """

    west: float
    north: float
    side: float
    rows: int
    columns: int

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """West, south, east and north [deg]."""
        west, east = longitude(np.array([self.west, self.west + self.columns * self.side]))
        north, south = latitude(np.array([self.north, self.north + self.rows * self.side]))
        return float(west), float(south), float(east), float(north)

    def middles(self) -> tuple[Floats, Floats]:
        """Return longitude and latitude of each pixel's middle, shape (rows, columns) [deg]."""
        lon = longitude(self.west + self.side * (np.arange(self.columns) + 0.5).astype(np.float64))
        lat = latitude(self.north + self.side * (np.arange(self.rows) + 0.5).astype(np.float64))
        across, down = np.meshgrid(lon, lat)
        return across, down


def longitude(across: Floats) -> Floats:
    """Return the longitude of places on the square map, 0 in the west [deg]."""
    return (across - 0.5) * 360.0


def latitude(down: Floats) -> Floats:
    """Return the latitude of places on the square map, 0 in the north [deg]."""
    found: Floats = np.degrees(np.arctan(np.sinh(np.pi * (1.0 - 2.0 * down))))
    return found


def map_pixels(bounds: Floats, *, pixel_m: float) -> MapPixels:
    """Return the pixels that cover a box.

    Parameters
    ----------
    bounds
        West, south, east, north, shape (4,) [deg].
    pixel_m
        Side of a pixel on the ground [m].
    """
    west, south, east, north = bounds
    left, right = west / 360.0 + 0.5, east / 360.0 + 0.5
    top, bottom = (
        0.5 - np.arcsinh(np.tan(np.radians(one))) / (2.0 * np.pi) for one in (north, south)
    )
    side = pixel_m / (EQUATOR_M * np.cos(np.radians((south + north) / 2.0)))
    return MapPixels(
        west=float(left),
        north=float(top),
        side=float(side),
        rows=max(int(np.ceil((bottom - top) / side)), 1),
        columns=max(int(np.ceil((right - left) / side)), 1),
    )


def laid_on(pixels: MapPixels, values: Values, grid: Grid) -> Values:
    """Return the value of the cell that each pixel's middle lies in; NaN outside the grid.

    Parameters
    ----------
    pixels
        What is wanted, no larger than the cells if none is to be missed.
    values
        One a cell, shape (grid.rows, grid.columns).
    grid
        Where the cells lie.

    Returns
    -------
    ndarray of float32, shape (pixels.rows, pixels.columns)
        So each value stands where it was measured, to half a cell each way.
    """
    lon, lat = pixels.middles()
    points = np.asarray(shapely.points(lon.ravel(), lat.ravel()), dtype=object)
    origin = np.broadcast_to(np.array([grid.lon, grid.lat]), (points.size, 2))
    east_m, north_m = shapely.get_coordinates(plane.flatten(points, origin)).T
    column = np.floor((east_m - grid.west_m) / grid.cell_m).astype(np.int64)
    row = np.floor((grid.north_m - north_m) / grid.cell_m).astype(np.int64)
    inside = (column >= 0) & (column < grid.columns) & (row >= 0) & (row < grid.rows)
    found = np.full(points.size, np.nan, dtype=np.float32)
    found[inside] = values[row[inside], column[inside]]
    return found.reshape(pixels.rows, pixels.columns)


def lies_within(pixels: MapPixels, ground: shapely.Geometry) -> Shown:
    """Tell which pixels have their middle on some ground in EPSG:4326."""
    shapely.prepare(ground)
    lon, lat = pixels.middles()
    within: Shown = shapely.contains_xy(ground, lon, lat)
    return within


def cells_of(pixels_at_most: int, grid: Grid) -> int:
    """Return how many cells to lay together each way, so that no more than so many are left."""
    return max(int(np.ceil(np.sqrt(grid.size / pixels_at_most))), 1)


def coarser(values: Values, grid: Grid, *, cells: int) -> tuple[Values, Grid]:
    """Lay so many cells together each way; each new one has the mean of what is known.

    Parameters
    ----------
    values
        One a cell, shape (grid.rows, grid.columns); NaN where unknown.
    cells
        How many each way. At the south and east edges the last may be fewer.
    """
    if cells == 1:
        return values, grid
    rows, columns = -(-grid.rows // cells), -(-grid.columns // cells)
    more = ((0, rows * cells - grid.rows), (0, columns * cells - grid.columns))
    padded = np.pad(values, more, constant_values=np.nan).reshape(rows, cells, columns, cells)
    known = np.isfinite(padded)
    count = known.sum(axis=(1, 3))
    total = np.where(known, padded, 0.0).sum(axis=(1, 3))
    mean = np.divide(total, count, out=np.full(total.shape, np.nan), where=count > 0)
    wider = replace(grid, cell_m=grid.cell_m * cells, rows=rows, columns=columns)
    return mean.astype(np.float32), wider


def cut_to(values: Values, grid: Grid, bounds_m: Floats) -> tuple[Values, Grid]:
    """Return the cells that touch a box on the grid's plane, and where they lie.

    Parameters
    ----------
    values
        One a cell, shape (grid.rows, grid.columns).
    bounds_m
        West, south, east, north, shape (4,) [m].
    """
    west, south, east, north = bounds_m
    first = max(int((west - grid.west_m) // grid.cell_m), 0)
    last = min(int(np.ceil((east - grid.west_m) / grid.cell_m)), grid.columns)
    top = max(int((grid.north_m - north) // grid.cell_m), 0)
    bottom = min(int(np.ceil((grid.north_m - south) / grid.cell_m)), grid.rows)
    return values[top:bottom, first:last], replace(
        grid,
        west_m=grid.west_m + first * grid.cell_m,
        north_m=grid.north_m - top * grid.cell_m,
        rows=max(bottom - top, 0),
        columns=max(last - first, 0),
    )
