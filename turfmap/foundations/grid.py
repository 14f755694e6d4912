"""A grid of square cells on a plane: how a raster's ground is laid under drawn shapes."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from turfmap.foundations.plane import Floats
from turfmap.foundations.units import METRES_PER_FOOT

# Ways in which a raster's values are moved onto a grid, by their usual names.
RESAMPLING = ("bilinear", "cubic", "nearest", "average")
# What heights may be in [m]. (A US survey foot is two parts in a million longer than a foot.)
VERTICAL_UNITS = {"m": 1.0, "ft": METRES_PER_FOOT}


@dataclass(frozen=True)
class Grid:
    """Square cells, rows from north to south, columns from west to east.

    Attributes
    ----------
    lon, lat
        Origin of the plane, as `plane.flatten` takes it [deg].
    west_m, north_m
        The grid's north-west corner on the plane [m].
    cell_m
        Side of a cell [m].
    rows, columns
        How many cells there are.
    """

    lon: float
    lat: float
    west_m: float
    north_m: float
    cell_m: float
    rows: int
    columns: int

    @property
    def size(self) -> int:
        """How many cells there are in all."""
        return self.rows * self.columns

    @property
    def bounds_m(self) -> tuple[float, float, float, float]:
        """West, south, east and north on the plane [m]."""
        south_m = self.north_m - self.rows * self.cell_m
        return self.west_m, south_m, self.west_m + self.columns * self.cell_m, self.north_m

    def wider(self, cells: int) -> "Grid":
        """Return the grid with so many more cells on every side."""
        return replace(
            self,
            west_m=self.west_m - cells * self.cell_m,
            north_m=self.north_m + cells * self.cell_m,
            rows=self.rows + 2 * cells,
            columns=self.columns + 2 * cells,
        )

    def blocks(self, side: int) -> Iterator["Grid"]:
        """Yield parts of at most `side` by `side` cells that together are the grid."""
        for row in range(0, self.rows, side):
            for column in range(0, self.columns, side):
                yield replace(
                    self,
                    west_m=self.west_m + column * self.cell_m,
                    north_m=self.north_m - row * self.cell_m,
                    rows=min(side, self.rows - row),
                    columns=min(side, self.columns - column),
                )


def grid_over(bounds_m: Floats, *, cell_m: float, origin: Floats, reach_m: float = 0.0) -> Grid:
    """Return the grid that covers a box on a plane.

    Parameters
    ----------
    bounds_m
        West, south, east, north on the plane, shape (4,) [m].
    cell_m
        Side of a cell [m]. Corners lie on whole multiples of it, so that two grids of one plane
        share their cells.
    origin
        Longitude and latitude of the plane, shape (2,) [deg].
    reach_m
        How much further than the box it goes on every side [m].
    """
    west, south = np.floor((bounds_m[:2] - reach_m) / cell_m)
    east, north = np.ceil((bounds_m[2:] + reach_m) / cell_m)
    return Grid(
        lon=float(origin[0]),
        lat=float(origin[1]),
        west_m=float(west * cell_m),
        north_m=float(north * cell_m),
        cell_m=cell_m,
        rows=max(int(north - south), 1),
        columns=max(int(east - west), 1),
    )
